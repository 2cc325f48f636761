"""Planted losses on the three built-in papers, and papers compared, through the whole job.

What each patch truly loses is worked out here from the floating-point chain: CIEDE2000 between
neighbouring grains of its texture, printed over wanted, and another library's Oklab. None of the
engine's own scales, weights and cells take part.
"""

from __future__ import annotations

import json
import re
import warnings
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
import tifffile

from firstsheet.cms.build import space_profile
from firstsheet.cms.chain import build_chain
from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.records.losses import RegionLoss
from firstsheet.jobs.answers import CompareAnswer, LossesAnswer
from firstsheet.jobs.losses import compare_papers, losses_by_region
from firstsheet.store.stocks import get_stock, stock_profile_bytes

PAPERS = ("chalk-matte", "harbour-gloss", "tidings-newsprint")
SCHEMAS = Path(__file__).parents[2] / "docs" / "schema"
SIDE, GRAIN = 192, 4
# place -> sRGB colour, texture as a share of it, and whether all papers must harm it
PATCHES: dict[str, tuple[tuple[float, float, float], float]] = {
    "upper left": ((0.02, 0.05, 0.75), 0.12),  # deep blue: beyond every paper
    "top centre": ((0.62, 0.48, 0.40), 0.05),  # dull: within every paper
    "upper right": ((0.95, 0.10, 0.30), 0.06),  # vivid red
    "lower left": ((0.05, 0.05, 0.05), 0.50),  # drawing near black
    "foot centre": ((0.80, 0.62, 0.20), 0.08),  # ochre: moves, and keeps its steps on gloss
}
ROWS, COLUMNS = {"u": 32, "t": 32, "l": 480, "f": 480}, {"left": 64, "centre": 504, "right": 944}


def quiet(_doing: str, _share: float) -> None:
    """Progress nobody listens to."""


def never() -> None:
    """Nobody stops."""


def corner(place: str) -> tuple[int, int]:
    return ROWS[place[0]], COLUMNS[place.split()[1]]


def planted() -> np.ndarray:
    rng = np.random.default_rng(5)
    picture = np.full((704, 1200, 3), 0.6)
    for place, (colour, share) in PATCHES.items():
        top, left = corner(place)
        grains = rng.normal(0.0, 1.0, (SIDE // GRAIN, SIDE // GRAIN))
        texture = np.repeat(np.repeat(grains, GRAIN, 0), GRAIN, 1)[..., None]
        picture[top : top + SIDE, left : left + SIDE] = np.array(colour) * (1.0 + share * texture)
    clipped: np.ndarray = np.clip(picture, 0.0, 1.0)
    return clipped


def write(path: Path, picture: np.ndarray) -> Path:
    codes = (picture * 65535.0 + 0.5).astype(np.uint16)
    tags = [(34675, "B", None, space_profile("srgb"), True)]
    tifffile.imwrite(path, codes, photometric="rgb", rowsperstrip=64, extratags=tags)
    return path


@pytest.fixture(scope="module")
def scan(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write(tmp_path_factory.mktemp("planted") / "quay.tif", planted())


@lru_cache(maxsize=8)
def losses_of(source: Path, stock: str, **options: Any) -> LossesAnswer:
    wish = {"stock": stock, "width": "300mm", "sheet": "A3", **options}
    return losses_by_region(source, wish, stocks_dir=None, progress=quiet, stop=never)


@dataclass(frozen=True)
class Truth:
    """What a patch loses, by the floating-point chain."""

    kept: float
    lost_de00: float  # mean step lost between neighbouring grains
    turn_degrees: float


def truth_of(stock: str, place: str) -> Truth:
    chain = build_chain(
        source_profile=space_profile("srgb"),
        colour_model="rgb",
        paper_profile=stock_profile_bytes(get_stock(stock)),
        intent="relative",
        black_point=True,
    )
    top, left = corner(place)
    grains = planted()[top : top + SIDE : GRAIN, left : left + SIDE : GRAIN]
    wanted, printed = chain.wanted_lab(grains), chain.printed_lab(chain.device(grains))
    steps = [float(delta_e_2000(lab[:, 1:], lab[:, :-1]).mean()) for lab in (wanted, printed)]
    hues = [oklab_hue(lab.mean(axis=(0, 1))) for lab in (wanted, printed)]
    turn = (hues[1] - hues[0] + 180.0) % 360.0 - 180.0
    return Truth(steps[1] / steps[0], steps[0] - steps[1], turn)


def oklab_hue(lab: np.ndarray) -> float:
    with warnings.catch_warnings():  # its import warns of missing plotting parts
        warnings.simplefilter("ignore")
        import colour
    d50, d65 = np.array([0.3457, 0.3585]), np.array([0.3127, 0.3290])
    xyz = colour.chromatic_adaptation(
        colour.Lab_to_XYZ(lab, d50), colour.xy_to_XYZ(d50), colour.xy_to_XYZ(d65),
        method="Von Kries", transform="Bradford",
    )  # fmt: skip
    _, a, b = colour.XYZ_to_Oklab(xyz)
    return float(np.degrees(np.arctan2(b, a)))


def region_at(answer: LossesAnswer, place: str) -> RegionLoss | None:
    """The largest region told there."""
    assert answer.losses is not None
    here = [one for one in answer.losses.regions if one.place == place]
    return max(here, key=lambda one: one.area_percent, default=None)


@pytest.mark.slow
@pytest.mark.parametrize("stock", PAPERS)
def test_planted_losses_are_told_as_the_exact_chain_has_them(scan: Path, stock: str) -> None:
    answer = losses_of(scan, stock)

    for place in PATCHES:
        truth, region = truth_of(stock, place), region_at(answer, place)
        if truth.kept < 0.7 and truth.lost_de00 > 0.95:  # a visible step between grains
            assert region is not None, place
            assert region.weight == "caution", place
            assert {"flattened", "black"} & set(region.kinds), place
        if truth.kept > 0.77 and abs(truth.turn_degrees) < 6.0:
            assert region is None or region.weight == "fine", place
        if region is not None and region.modelling_kept is not None:
            # CIEDE2000 turns its axes in blue, the engine's weights do not
            limit = 0.1 if place == "upper left" else 0.045
            assert region.modelling_kept == pytest.approx(truth.kept, abs=limit), place
        if region is not None and "hue" in region.kinds:
            assert region.hue_turn_degrees == pytest.approx(truth.turn_degrees, abs=0.3), place


@pytest.mark.slow
@pytest.mark.parametrize("stock", PAPERS)
def test_the_ranking_is_that_of_what_is_truly_lost(scan: Path, stock: str) -> None:
    answer = losses_of(scan, stock)
    assert answer.losses is not None
    told = [one.place for one in answer.losses.regions if one.weight == "caution"]
    assert told[0] == "upper left"  # the deep blue: flattened most, and turned besides
    assert answer.losses.regions[0].hue_toward == "violet"
    flattened = [place for place in dict.fromkeys(told) if "left" not in place or "low" in place]
    truths = {place: truth_of(stock, place).lost_de00 for place in flattened if place in PATCHES}

    if "lower left" in truths and "upper right" in truths:
        lighter = told.index("upper right") < told.index("lower left")
        assert lighter == (truths["upper right"] > truths["lower left"])


def test_a_large_shift_that_keeps_its_steps_is_fine_on_newsprint(scan: Path) -> None:
    ochre = region_at(losses_of(scan, "tidings-newsprint"), "foot centre")

    assert ochre is not None
    assert ochre.mean_de00 > 8.0
    assert (ochre.weight, ochre.kinds) == ("fine", ("moved",))
    assert ochre.words.endswith("nothing to do.")


def test_nothing_to_do_is_said_of_a_picture_within_the_paper(tmp_path: Path) -> None:
    rng = np.random.default_rng(8)
    dull = np.array([0.62, 0.6, 0.5]) + rng.normal(0.0, 0.02, (400, 600, 1))
    answer = losses_of(write(tmp_path / "dull.tif", dull), "harbour-gloss")

    assert answer.losses is not None
    assert answer.losses.nothing_to_do
    assert answer.verdict.startswith("Nothing to do")


def test_a_white_sky_melts_into_the_border_by_its_length(tmp_path: Path) -> None:
    picture = np.full((400, 600, 3), 0.5)
    picture[:100, :300] = 1.0
    answer = losses_of(write(tmp_path / "sky.tif", picture), "harbour-gloss", width="300mm")
    assert answer.losses is not None
    edge = answer.losses.ends.edge

    assert edge.top_mm == pytest.approx(150.0, abs=1.0)
    assert edge.left_mm == pytest.approx(50.0, abs=1.0)
    assert edge.right_mm == edge.bottom_mm == 0.0
    assert answer.losses.ends.white_percent == pytest.approx(12.5, abs=0.2)
    assert answer.losses.ends.white_largest_mm2 == pytest.approx(150.0 * 50.0, rel=0.02)
    assert "edge-melts" in [one.code for one in answer.findings]


def test_a_grey_picture_is_checked_for_the_papers_drift(tmp_path: Path) -> None:
    ramp = np.repeat(np.linspace(0.0, 1.0, 600)[None, :, None], 400, axis=0).repeat(3, axis=2)
    answer = losses_of(write(tmp_path / "grey.tif", ramp), "chalk-matte")

    assert answer.tone is not None
    assert answer.tone.kind == "neutral"
    assert answer.greys is not None
    assert answer.greys.words.startswith("Printed greys")
    assert losses_of(write(tmp_path / "colour.tif", planted()), "chalk-matte").greys is None


def test_a_file_in_printer_colours_is_not_judged(tmp_path: Path) -> None:
    source = tmp_path / "printed.tif"
    tags = [(34675, "B", None, stock_profile_bytes(get_stock("chalk-matte")), True)]
    codes = np.full((200, 300, 3), 30_000, dtype=np.uint16)
    tifffile.imwrite(source, codes, photometric="rgb", extratags=tags)
    answer = losses_of(source, "chalk-matte")

    assert answer.losses is None
    assert answer.verdict.startswith("Cannot tell")


@lru_cache(maxsize=2)
def comparison(source: Path, **options: Any) -> CompareAnswer:
    wish = {"width": "300mm", "sheet": "A3", **options}
    return compare_papers(source, wish, stocks_dir=None, progress=quiet, stop=never)


@pytest.mark.slow
def test_papers_are_ranked_by_what_this_picture_loses(scan: Path) -> None:
    answer = comparison(scan)
    relative = [row.stock for row in answer.rows if row.intent == "relative"]

    assert len(answer.rows) == 12
    assert relative == ["harbour-gloss", "chalk-matte", "tidings-newsprint"]
    assert answer.rows[0].place == 1
    assert all(row.reason for row in answer.rows)
    assert answer.verdict.startswith("Harbour Gloss 260, ")


@pytest.mark.slow
def test_the_comparison_tells_the_figures_that_losses_tells(scan: Path) -> None:
    rows = {(row.stock, row.intent): row for row in comparison(scan).rows}
    for stock in PAPERS:
        alone = losses_of(scan, stock).losses
        assert alone is not None
        row = rows[stock, "relative"]

        assert row.lost_total == pytest.approx(alone.lost_total)
        assert row.hurt_percent == pytest.approx(alone.hurt_percent)
        assert row.modelling_kept == pytest.approx(alone.modelling_kept)


@pytest.mark.slow
def test_intents_that_print_alike_are_recognised(tmp_path: Path) -> None:
    white = np.ones((200, 300, 3))
    rows = [
        row
        for row in comparison(write(tmp_path / "white.tif", white)).rows
        if row.stock == "harbour-gloss"
    ]
    by_intent = {row.intent: row for row in rows}

    assert by_intent["relative"].same_as is None
    assert by_intent["perceptual"].same_as == "relative"
    assert by_intent["perceptual"].place == by_intent["relative"].place
    assert "the same as relative colorimetric" in by_intent["perceptual"].reason


@pytest.mark.slow
def test_answers_fit_their_schemas(scan: Path) -> None:
    for name, answer in (
        ("losses-answer", losses_of(scan, "chalk-matte")),
        ("compare-answer", comparison(scan)),
    ):
        schema = json.loads((SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8"))
        jsonschema.validate(json.loads(answer.model_dump_json()), schema)


def test_losses_are_shown_in_words_with_their_figures(
    scan: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from firstsheet.cli.show_losses import show_losses

    show_losses(losses_of(scan, "chalk-matte"))
    shown = " ".join(capsys.readouterr().out.split())

    assert "quay.tif on Chalk Matte 310, relative." in shown
    assert "▲ 1 deep vivid blue, upper left, 4 % of the picture: only" in shown
    assert "toward violet. L* 2" in shown
    assert re.search(r"· \d (orange|yellow)", shown)  # the ochre, told to be left alone
    assert "nothing to do." in shown
    assert "seen from 50 cm" in shown


@pytest.mark.slow
def test_a_comparison_is_shown_in_order_with_its_reasons(
    scan: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from firstsheet.cli.show_losses import show_compare

    answer = comparison(scan)
    show_compare(answer)
    shown = " ".join(capsys.readouterr().out.split())

    assert "quay.tif at 300 × 176 mm" in shown
    for row in answer.rows:
        assert f"{row.place}. {row.title}, {row.intent}: {row.reason}" in shown
