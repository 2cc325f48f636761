"""Edges that melt, skin-like colours and greys planted on the three built-in papers.

The truth is worked out from the floating-point chain by another library: CIEDE2000 from bare paper,
CIE94 without lightness, distance in a* and b*. The limits are those of docs/theory/regions.md.
"""

from __future__ import annotations

import warnings
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
import tifffile

from firstsheet.cms.build import space_profile
from firstsheet.cms.chain import build_chain
from firstsheet.engine.records import Intent
from firstsheet.jobs.answers import LossesAnswer
from firstsheet.jobs.losses import losses_by_region
from firstsheet.store.stocks import get_stock, stock_profile_bytes

with warnings.catch_warnings():  # its import warns of missing plotting parts
    warnings.simplefilter("ignore")
    import colour

PAPERS = ("chalk-matte", "harbour-gloss", "tidings-newsprint")
WIDE, HIGH = 600, 400  # at 300 mm, half a millimetre each
EDGE_CODES = (1.0, 0.97, 0.95, 0.93, 0.90)  # along the top edge, 60 mm each
SKIN = {
    "upper left": (0.87, 0.67, 0.56),
    "top centre": (0.70, 0.48, 0.38),
    "upper right": (0.45, 0.28, 0.21),
    "lower left": (0.95, 0.78, 0.68),
    "foot centre": (0.90, 0.55, 0.42),
}
AT = {"left": 40, "centre": 250, "right": 460, "upper": 30, "top": 30, "lower": 270, "foot": 270}
SIDE = 100


def grey_picture() -> np.ndarray:
    """A ramp under a sky of five steps."""
    picture = np.tile(np.linspace(0.0, 0.85, WIDE), (HIGH, 1))
    picture[:100] = np.repeat(EDGE_CODES, WIDE // len(EDGE_CODES))
    return picture[..., None].repeat(3, axis=2)


def skin_picture() -> np.ndarray:
    picture = np.full((HIGH, WIDE, 3), 0.6)
    for place, code in SKIN.items():
        row, column = place.split()
        picture[AT[row] : AT[row] + SIDE, AT[column] : AT[column] + SIDE] = code
    return picture


@pytest.fixture(scope="module")
def scans(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("shifts")
    tags = [(34675, "B", None, space_profile("srgb"), True)]
    for name, picture in (("sky", grey_picture()), ("faces", skin_picture())):
        codes = (picture * 65535.0 + 0.5).astype(np.uint16)
        tifffile.imwrite(folder / f"{name}.tif", codes, photometric="rgb", extratags=tags)
    return {"sky": folder / "sky.tif", "faces": folder / "faces.tif"}


@lru_cache(maxsize=12)
def told(source: Path, stock: str, intent: Intent = "relative") -> LossesAnswer:
    wish = {"stock": stock, "width": "300mm", "sheet": "A3", "intent": intent}
    return losses_by_region(
        source, wish, stocks_dir=None, progress=lambda *_: None, stop=lambda: None
    )


def seen(
    stock: str, codes: np.ndarray, intent: Intent = "relative"
) -> tuple[np.ndarray, np.ndarray]:
    """Wanted and printed, (n, 3), by the exact chain."""
    chain = build_chain(
        source_profile=space_profile("srgb"),
        colour_model="rgb",
        paper_profile=stock_profile_bytes(get_stock(stock)),
        intent=intent,
        black_point=intent == "relative",
    )
    return chain.wanted_lab(codes[None])[0], chain.printed_lab(chain.device(codes[None]))[0]


def greys(codes: np.ndarray) -> np.ndarray:
    return codes[:, None].repeat(3, axis=1)


@pytest.mark.slow
@pytest.mark.parametrize("stock", PAPERS)
def test_as_much_edge_melts_as_prints_within_two_of_bare_paper(
    scans: dict[str, Path], stock: str
) -> None:
    _, printed = seen(stock, greys(np.array(EDGE_CODES)))
    away = colour.delta_E(printed, [100.0, 0.0, 0.0], method="CIE 2000")
    assert 0 < (away <= 2.0).sum() < len(EDGE_CODES)
    losses = told(scans["sky"], stock).losses
    assert losses is not None
    edge = losses.ends.edge

    assert edge.top_mm == pytest.approx(60.0 * (away <= 2.0).sum(), abs=1.0)
    assert edge.left_mm == pytest.approx(50.0 if away[0] <= 2.0 else 0.0, abs=1.0)
    assert edge.right_mm == edge.bottom_mm == 0.0


@pytest.mark.slow
@pytest.mark.parametrize("stock", PAPERS)
def test_skin_like_places_are_told_where_hue_and_chroma_move(
    scans: dict[str, Path], stock: str
) -> None:
    wanted, printed = seen(stock, np.array(list(SKIN.values())))
    level = printed.copy()
    level[:, 0] = wanted[:, 0]
    moved = colour.delta_E(wanted, level, method="CIE 1994")
    assert np.abs(moved - 3.5).min() > 0.5  # none is a matter of opinion
    losses = told(scans["faces"], stock).losses
    assert losses is not None
    found = {one.place for one in losses.regions if "skin-like" in one.kinds}

    assert found == {place for place, one in zip(SKIN, moved, strict=True) if one >= 3.5}


def test_some_paper_moves_skin_and_some_leaves_it(scans: dict[str, Path]) -> None:
    kinds = {}
    for stock in ("harbour-gloss", "tidings-newsprint"):
        losses = told(scans["faces"], stock).losses
        assert losses is not None
        kinds[stock] = [one for one in losses.regions if "skin-like" in one.kinds]

    assert not kinds["harbour-gloss"]
    assert len(kinds["tidings-newsprint"]) == 3


@pytest.mark.slow
@pytest.mark.parametrize("intent", ["relative", "absolute"])
@pytest.mark.parametrize("stock", PAPERS)
def test_greys_drift_as_far_as_the_exact_chain_moves_them(
    scans: dict[str, Path], stock: str, intent: Intent
) -> None:
    """By absolute colorimetric the paper's own tint is fought, and its greys take a cast."""
    wanted, printed = seen(stock, greys(np.linspace(0.0, 1.0, 256)), intent)
    shift = np.hypot(*(printed - wanted)[wanted[:, 0] >= 10.0, 1:].T)
    axis = told(scans["sky"], stock, intent).greys
    assert axis is not None

    assert axis.largest_shift == pytest.approx(shift.max(), abs=0.15 + 0.05 * shift.max())
    assert axis.neutral == (axis.largest_shift < 1.0)
