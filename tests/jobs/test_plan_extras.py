"""Steps of a gradient through the chain of a print, from the file to the plan."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile

from firstsheet.cms.build import space_profile
from firstsheet.jobs.plan import plan_print


def _quiet(*_: object) -> None:
    """Nobody listens."""


def _ramp(folder: Path, bits: int) -> Path:
    """A sky that grows lighter downwards by 60 codes of 8 bits over 960 rows."""
    level = np.linspace(120.0, 180.0, 960)[:, None, None] * np.ones((960, 1200, 3)) / 255.0
    full = 2**bits - 1
    codes = np.round(level * full).astype(np.uint8 if bits == 8 else np.uint16)
    path = folder / f"sky-{bits}.tif"
    tifffile.imwrite(path, codes, photometric="rgb", iccprofile=space_profile("srgb"))
    return path


@pytest.mark.parametrize("bits", [8, 16])
def test_a_gradient_of_eight_bits_goes_in_steps_on_the_print_and_one_of_sixteen_does_not(
    tmp_path: Path, bits: int
) -> None:
    options = {"stock": "chalk-matte", "width": "300mm"}

    plan = plan_print(
        _ramp(tmp_path, bits), options, stocks_dir=None, out=None, ticket_out=None,
        progress=_quiet, stop=_quiet,
    ).plan  # fmt: skip

    found = [one for one in plan.findings if one.code == "steps-on-paper"]
    assert len(found) == (1 if bits == 8 else 0)
    if found:
        assert found[0].figures["run_mm"] == pytest.approx(16 * 300 / 1200, rel=0.05)
        assert 0.1 < float(found[0].figures["printed_de00"]) < 1.0


def _hue_staircase(folder: Path, colour: Any) -> Path:
    """Equal L* and chroma; the hue goes from 50 to 90 degrees, one degree every 24 px, 16 bits.

    The colours are turned into codes by colour-science, not by our own arithmetic.
    """
    hue = np.radians(50.0 + np.arange(960) // 24)
    lab = np.stack([np.full(960, 60.0), 30 * np.cos(hue), 30 * np.sin(hue)], axis=-1)
    d50 = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"]
    rgb = colour.XYZ_to_sRGB(colour.Lab_to_XYZ(lab, d50), illuminant=d50)
    assert rgb.min() > 0
    assert rgb.max() < 1
    codes = np.round(rgb * 65535).astype(np.uint16)
    picture = np.broadcast_to(codes[None], (640, 960, 3)).copy()
    path = folder / "hues.tif"
    tifffile.imwrite(path, picture, photometric="rgb", iccprofile=space_profile("srgb"))
    return path


@pytest.mark.parametrize("stock", ["chalk-matte", "harbour-gloss", "tidings-newsprint"])
def test_steps_of_hue_at_equal_lightness_come_out_as_high_as_the_paper_shows_them(
    tmp_path: Path, stock: str, colour_science: Any
) -> None:
    from firstsheet.cms.chain import build_chain
    from firstsheet.store.stocks import get_stock, stock_profile_bytes

    picture = _hue_staircase(tmp_path, colour_science)

    plan = plan_print(
        picture, {"stock": stock, "width": "240mm"}, stocks_dir=None, out=None, ticket_out=None,
        progress=_quiet, stop=_quiet,
    ).plan  # fmt: skip

    (found,) = [one for one in plan.findings if one.code == "steps-on-paper"]
    profile = stock_profile_bytes(get_stock(stock))
    chain = build_chain(
        source_profile=space_profile("srgb"), colour_model="rgb", paper_profile=profile,
        intent=plan.colour.intent, black_point=plan.colour.black_point,
    )  # fmt: skip
    stairs = tifffile.imread(picture)[0, ::24] / 65535
    on_paper = np.asarray(chain.printed_lab(chain.device(stairs)))
    whole = colour_science.delta_E(on_paper[1:], on_paper[:-1], method="CIE 2000")
    level = on_paper.copy()
    level[:, 0] = 60
    of_colour = colour_science.delta_E(level[1:], level[:-1], method="CIE 2000")
    for heights, figure in ((whole, "printed_de00"), (of_colour, "colour_de00")):
        assert heights.max() < 1.35 * heights.min()  # so that any square of the picture will do
        assert 0.99 * heights.min() < float(found.figures[figure]) < 1.01 * heights.max()
    assert found.figures["run_mm"] == pytest.approx(24 * 240 / 960, rel=0.02)
    assert "nearly all of it colour" in found.found
