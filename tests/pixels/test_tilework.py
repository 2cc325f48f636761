"""Tiles from stored codes to bytes, held to Little CMS in floating point and to the standards."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from firstsheet.cms.build import grey_profile, space_profile
from firstsheet.cms.chain import Chain, build_chain
from firstsheet.cms.link import paper_link, proof_link, source_colour
from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.colour.lab import lab_to_xyz, xyz_to_lab
from firstsheet.engine.colour.spaces import SPACES
from firstsheet.engine.records import Intent
from firstsheet.pixels.lossmap import SCALE_TOP_DE00
from firstsheet.pixels.scale import scale_colour
from firstsheet.pixels.tilecolours import Screen
from firstsheet.pixels.tilework import TileColours
from firstsheet.store.stocks import get_stock, stock_profile_bytes


def chain_of(
    stock: str = "harbour-gloss", intent: Intent = "relative", grey: bool = False
) -> Chain:
    return build_chain(
        source_profile=grey_profile("grey-gamma-2.2") if grey else space_profile("a98-rgb"),
        colour_model="grey" if grey else "rgb",
        paper_profile=stock_profile_bytes(get_stock(stock)),
        intent=intent,
        black_point=intent != "absolute",
    )


def tiles(chain: Chain, threads: int = 2) -> TileColours:
    parts = source_colour(chain), paper_link(chain), proof_link(chain)
    return TileColours(*parts, threads=threads)


def noise(channels: int = 3, dtype: Any = np.uint16) -> NDArray[Any]:
    top = np.iinfo(dtype).max + 1
    return np.random.default_rng(8).integers(0, top, (70, 411, channels)).astype(dtype)


def on_screen(lab: NDArray[Any], white_xyz: NDArray[np.float64] | None = None) -> NDArray[Any]:
    """Codes 0..255 by the formulas, not rounded."""
    xyz = lab_to_xyz(lab)
    if white_xyz is not None:
        xyz = xyz * white_xyz / np.array([0.9642, 1.0, 0.8249])  # ICC.1:2022, 6.3.2.2
    return np.clip(SPACES["display-p3"].from_xyz_d50(xyz), 0, 1) * 255


@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
@pytest.mark.parametrize("grey", [False, True])
def test_wanted_colour_is_that_of_little_cms(dtype: Any, grey: bool) -> None:
    chain = chain_of(grey=grey)
    codes = noise(1 if grey else 3, dtype)

    shown = tiles(chain).wanted_bytes(codes, Screen())

    truth = on_screen(chain.wanted_lab(codes / np.iinfo(dtype).max))
    assert np.abs(shown - truth).max() < 0.65


@pytest.mark.parametrize("stock", ["chalk-matte", "harbour-gloss", "tidings-newsprint"])
@pytest.mark.parametrize("intent", ["perceptual", "relative", "absolute"])
def test_the_proof_is_that_of_little_cms(stock: str, intent: Intent) -> None:
    """Largest step that is allowed: a rounding, and 0.03 ΔE00 of the link (test_colours)."""
    chain = chain_of(stock, intent)
    codes, white = noise(), chain.paper_white_xyz

    shown = tiles(chain).proof_bytes(codes, Screen(white_xyz=white))

    truth = on_screen(chain.printed_lab(chain.device(codes / 65535.0)), white)
    assert np.abs(shown - truth).max() < 1.0
    assert np.abs(shown - truth).mean() < 0.27  # a quarter is what rounding costs


def test_the_loss_is_ciede2000_of_what_little_cms_says() -> None:
    chain = chain_of("chalk-matte")
    codes = noise()

    shown = tiles(chain).loss_bytes(codes, floor_de00=0.5)

    wanted = chain.wanted_lab(codes / 65535.0)
    de00 = delta_e_2000(wanted, chain.printed_lab(chain.device(codes / 65535.0)))
    share = np.where(de00 < 0.5, 0.0, np.minimum(de00 / SCALE_TOP_DE00, 1.0))
    clear = np.abs(de00 - 0.5) > 0.05  # at the floor itself the scale jumps
    assert np.abs(shown - scale_colour(share) * 255)[clear].max() < 2.0
    assert np.ptp(shown.astype(int), axis=(0, 1)).max() > 100


def test_a_print_tile_shows_the_codes_of_the_print_file() -> None:
    chain = chain_of()
    device = noise()

    shown = tiles(chain).printed_bytes(device, Screen())

    assert np.abs(shown - on_screen(chain.printed_lab(device / 65535.0))).max() < 0.8


def test_what_was_turned_upright_is_read_as_it_stands() -> None:
    codes, colours = noise(), tiles(chain_of())
    turned = codes[::-1].transpose(1, 0, 2)

    shown = colours.proof_bytes(turned, Screen())

    np.testing.assert_array_equal(
        shown, colours.proof_bytes(codes, Screen())[::-1].transpose(1, 0, 2)
    )


def test_threads_change_no_byte() -> None:
    chain, codes = chain_of(), noise()
    one, many = (tiles(chain, n).loss_bytes(codes, floor_de00=0.0) for n in (1, 5))
    np.testing.assert_array_equal(one, many)


def test_shares_give_the_tile_of_their_codes() -> None:
    """What comes from a floating-point file is not rounded first, and ends at the same bytes."""
    chain, codes = chain_of(), noise()
    whole = tiles(chain).proof_bytes(codes, Screen()).astype(int)
    shares = tiles(chain).proof_bytes((codes / 65535.0).astype(np.float32), Screen())
    assert np.abs(whole - shares).max() <= 1


def test_curves_of_the_channels_may_differ() -> None:
    """A source whose three curves are powers of their own, written out here."""
    chain = chain_of("chalk-matte")
    parts = source_colour(chain), paper_link(chain), proof_link(chain)
    powers = (1.4, 1.9, 2.5)
    codes = noise()
    steps = np.linspace(0.0, 1.0, 65536)
    odd = replace(parts[0], decode=np.stack([steps**power for power in powers]))

    shown = TileColours(odd, *parts[1:]).wanted_bytes(codes, Screen())

    light = np.stack([(codes[..., c] / 65535.0) ** powers[c] for c in range(3)], axis=-1)
    assert parts[0].to_xyz is not None
    truth = on_screen(xyz_to_lab(light @ parts[0].to_xyz.T))
    assert np.abs(shown - truth).max() < 0.65
