"""Another engine on the same profiles: the ICC's own reference code (iccDEV).

It is asked with linear interpolation from Lab and for ink, by tetrahedra from RGB: its
tetrahedral reading of four inputs differs by design.
"""

from pathlib import Path

import iccdev
import numpy as np
import pytest
from numpy.typing import NDArray

from firstsheet.cms.build import space_profile
from firstsheet.cms.chain import build_chain, decode_lab
from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.records import Intent

pytestmark = pytest.mark.needs_tool
NAMES = ("glossy", "matte", "newsprint")
THEIR_INTENT: dict[Intent, iccdev.RenderingIntent] = {
    "perceptual": iccdev.RenderingIntent.Perceptual,
    "relative": iccdev.RenderingIntent.RelativeColorimetric,
    "absolute": iccdev.RenderingIntent.AbsoluteColorimetric,
}


def theirs(
    values: NDArray[np.float64],
    intent: Intent,
    *steps: tuple[Path, iccdev.Interpolation],
    lab: bool,
) -> NDArray[np.float64]:
    end = iccdev.ColorSpace.Lab if lab else iccdev.ColorSpace.Unknown
    with iccdev.IccCmm(iccdev.ColorSpace.Unknown, end, True) as cmm:
        for path, interpolation in steps:
            cmm.attach(str(path), intent=THEIR_INTENT[intent], interp=interpolation)
        cmm.begin()
        result = np.asarray(cmm.apply_ndarray(values.astype(np.float32)), dtype=np.float64)
    return decode_lab(result) if lab else result


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("intent", ["relative", "absolute"])
def test_what_a_paper_shows(
    papers: dict[str, bytes], srgb: bytes, tmp_path: Path, name: str, intent: Intent
) -> None:
    path = tmp_path / "paper.icc"
    path.write_bytes(papers[name])
    device = np.random.default_rng(1).random((3000, 3))
    chain = build_chain(
        source_profile=srgb, colour_model="rgb", paper_profile=papers[name],
        intent="relative", black_point=False,
    )  # fmt: skip
    ours = chain.printed_lab(device) if intent == "relative" else chain.printed_lab_absolute(device)
    lab = theirs(device, intent, (path, iccdev.Interpolation.Tetrahedral), lab=True)
    assert delta_e_2000(lab, ours).max() <= 0.02


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("intent", ["relative", "absolute", "perceptual"])
@pytest.mark.parametrize("space", ["srgb", "prophoto-rgb"])
def test_what_goes_to_the_printer(
    papers: dict[str, bytes], tmp_path: Path, name: str, intent: Intent, space: str
) -> None:
    paper, source = tmp_path / "paper.icc", tmp_path / "source.icc"
    paper.write_bytes(papers[name])
    source.write_bytes(space_profile(space))
    rgb = np.random.default_rng(2).random((3000, 3))
    # The reference code brings black onto the version 4 reference medium by itself, as the
    # version 4 perceptual intent asks: that is our compensation.
    chain = build_chain(
        source_profile=space_profile(space), colour_model="rgb", paper_profile=papers[name],
        intent=intent, black_point=intent == "perceptual" and name == "glossy",
    )  # fmt: skip
    linear = iccdev.Interpolation.Linear
    device = theirs(rgb, intent, (source, linear), (paper, linear), lab=False)
    gap = delta_e_2000(chain.printed_lab(device), chain.printed_lab(chain.device(rgb)))
    assert gap.max() <= 0.03


@pytest.mark.parametrize("intent", ["relative", "absolute", "perceptual"])
def test_what_goes_to_a_press(press: bytes, srgb: bytes, tmp_path: Path, intent: Intent) -> None:
    paper, source = tmp_path / "press.icc", tmp_path / "source.icc"
    paper.write_bytes(press)
    source.write_bytes(srgb)
    rgb = np.random.default_rng(3).random((3000, 3))
    chain = build_chain(
        source_profile=srgb, colour_model="rgb", paper_profile=press,
        intent=intent, black_point=False,
    )  # fmt: skip
    linear = iccdev.Interpolation.Linear
    device = theirs(rgb, intent, (source, linear), (paper, linear), lab=False)
    gap = delta_e_2000(chain.printed_lab(device), chain.printed_lab(chain.device(rgb)))
    assert gap.max() <= 0.03


def test_ink_read_by_another_rule_stays_within_its_known_difference(
    press: bytes, srgb: bytes, tmp_path: Path
) -> None:
    path = tmp_path / "press.icc"
    path.write_bytes(press)
    ink = np.random.default_rng(4).random((3000, 4))
    chain = build_chain(
        source_profile=srgb, colour_model="rgb", paper_profile=press,
        intent="relative", black_point=False,
    )  # fmt: skip
    lab = theirs(ink, "relative", (path, iccdev.Interpolation.Linear), lab=True)
    gap = delta_e_2000(lab, chain.printed_lab(ink))
    assert gap.mean() <= 0.2  # multilinear against tetrahedra between the same nodes
    assert gap.max() <= 1.5
