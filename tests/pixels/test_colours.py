"""The kernels' way of a small picture onto paper, held to the floating-point ICC engine."""

from __future__ import annotations

import numpy as np
import pytest

from firstsheet.cms.build import grey_profile, space_profile
from firstsheet.cms.chain import build_chain
from firstsheet.cms.link import paper_link, proof_link, source_colour
from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.records import Intent
from firstsheet.pixels.colours import PrintColours
from firstsheet.store.stocks import get_stock, stock_profile_bytes

STOCKS = ("chalk-matte", "harbour-gloss", "tidings-newsprint")
INTENTS: tuple[Intent, ...] = ("perceptual", "relative", "saturation", "absolute")


@pytest.mark.parametrize("stock", STOCKS)
@pytest.mark.parametrize("intent", INTENTS)
def test_printed_colour_is_that_of_little_cms_in_floating_point(stock: str, intent: Intent) -> None:
    """Chain: Little CMS, float64, unoptimised, stage by stage."""
    chain = build_chain(
        source_profile=space_profile("a98-rgb"),
        colour_model="rgb",
        paper_profile=stock_profile_bytes(get_stock(stock)),
        intent=intent,
        black_point=intent != "absolute",
    )
    colours = PrintColours(source_colour(chain), paper_link(chain), proof_link(chain), threads=2)
    picture = np.random.default_rng(3).random((90, 70, 3))

    wanted, device = colours.wanted_lab(picture), colours.device(picture)
    printed = colours.printed_lab(device)

    true_device = chain.device(picture)
    assert delta_e_2000(wanted, chain.wanted_lab(picture)).max() < 0.01
    assert np.abs(device / 65535.0 - true_device).max() < 5e-4
    assert delta_e_2000(printed, chain.printed_lab(true_device)).max() < 0.03


def test_grey_pictures_go_the_same_way() -> None:
    chain = build_chain(
        source_profile=grey_profile("grey-gamma-2.2"),
        colour_model="grey",
        paper_profile=stock_profile_bytes(get_stock("harbour-gloss")),
        intent="relative",
        black_point=True,
    )
    colours = PrintColours(source_colour(chain), paper_link(chain), proof_link(chain))
    ramp = np.linspace(0.0, 1.0, 256)[None, :, None]

    printed = colours.printed_lab(colours.device(ramp))

    assert delta_e_2000(printed, chain.printed_lab(chain.device(ramp))).max() < 0.03


def test_the_number_of_threads_changes_nothing() -> None:
    chain = build_chain(
        source_profile=space_profile("srgb"),
        colour_model="rgb",
        paper_profile=stock_profile_bytes(get_stock("chalk-matte")),
        intent="relative",
        black_point=True,
    )
    picture = np.random.default_rng(4).random((131, 57, 3))
    parts = (source_colour(chain), paper_link(chain), proof_link(chain))

    one, many = (PrintColours(*parts, threads=n).device(picture) for n in (1, 5))

    np.testing.assert_array_equal(one, many)
