"""The regions in the plan: as `losses` and `compare` tell them, and remembered for the bench."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile

from firstsheet.cms.build import space_profile
from firstsheet.engine.loss.regions.ranking import best_usual
from firstsheet.engine.records import Ticket
from firstsheet.jobs.losses import papers_on
from firstsheet.jobs.planning.open_picture import OpenPicture

PAPERS = ("chalk-matte", "harbour-gloss", "tidings-newsprint")


def quiet(_doing: str, _share: float) -> None:
    """Progress nobody listens to."""


def never() -> None:
    """Nobody stops."""


@pytest.fixture
def quay(tmp_path: Path) -> Path:
    """Textured deep blue, a skin-like wall, an even grey, and a sky that is white at the top."""
    rng = np.random.default_rng(4)
    picture = np.full((360, 540, 3), 0.5)
    picture[60:200, 40:240] = (0.02, 0.05, 0.75)
    picture[60:200, 300:500] = (0.80, 0.58, 0.47)
    picture[240:340, 40:500] = (0.04, 0.04, 0.04)
    picture *= 1.0 + 0.12 * rng.normal(0.0, 1.0, (90, 135)).repeat(4, 0).repeat(4, 1)[..., None]
    picture[:30, :270] = 1.0
    path = tmp_path / "quay.tif"
    codes = (np.clip(picture, 0.0, 1.0) * 65535.0 + 0.5).astype(np.uint16)
    tags = [(34675, "B", None, space_profile("srgb"), True)]
    tifffile.imwrite(path, codes, photometric="rgb", rowsperstrip=64, extratags=tags)
    return path


def wish(path: Path, stock: str, intent: str = "auto") -> Ticket:
    ticket = Ticket(picture=str(path), stock=stock)
    size = ticket.print.model_copy(update={"width_mm": 270.0, "sheet": "A3"})
    colour = ticket.colour.model_copy(update={"intent": intent})
    return ticket.model_copy(update={"print": size, "colour": colour})


def test_plan_and_comparison_agree_on_every_paper(quay: Path) -> None:
    with OpenPicture.open(wish(quay, PAPERS[0]), progress=quiet, stop=never) as table:
        compared = papers_on(
            table, wish(quay, PAPERS[0]), stocks_dir=None, progress=quiet, stop=never
        )
        for stock in PAPERS:
            plan = table.measure(
                wish(quay, stock), stocks_dir=None, progress=quiet, stop=never
            ).plan
            rows = [row for row in compared.rows if row.stock == stock]
            assert plan.loss is not None
            assert plan.regions is not None
            by_intent = {one.intent: one for one in plan.loss.intents}

            assert plan.loss.recommended == best_usual(rows).intent, stock
            assert plan.colour.intent == plan.loss.recommended
            chosen = next(row for row in rows if row.intent == plan.colour.intent)
            assert plan.regions.lost_total == pytest.approx(chosen.lost_total, abs=1e-9)
            assert by_intent[chosen.intent].truly_lost_percent == pytest.approx(chosen.hurt_percent)
            assert "edge-melts" in [one.code for one in plan.findings], stock


def test_another_size_and_distance_are_planned_at_once_as_they_would_be_measured(
    quay: Path,
) -> None:
    first = wish(quay, "chalk-matte", "relative")
    place = first.place.model_copy(update={"distance_mm": 650.0})
    size = first.print.model_copy(update={"width_mm": 250.0})
    other = first.model_copy(update={"place": place, "print": size})
    with OpenPicture.open(first, progress=quiet, stop=never) as table:
        before = table.measure(first, stocks_dir=None, progress=quiet, stop=never).plan
        quick = table.plan_from_cache(other, stocks_dir=None)
    with OpenPicture.open(other, progress=quiet, stop=never) as table:
        measured = table.measure(other, stocks_dir=None, progress=quiet, stop=never).plan

    assert quick is not None
    assert quick.plan.digest == measured.digest
    assert before.regions is not None
    assert measured.regions is not None
    assert measured.regions.distance_mm == 650.0
    edges = [one.regions.ends.edge.top_mm for one in (before, measured) if one.regions]
    assert edges == pytest.approx([135.0, 125.0], abs=1.0)  # half the top lies at bare paper


def test_colours_that_move_are_no_alarm_once_the_places_are_known(quay: Path) -> None:
    with OpenPicture.open(wish(quay, "tidings-newsprint"), progress=quiet, stop=never) as table:
        plan = table.measure(
            wish(quay, "tidings-newsprint"), stocks_dir=None, progress=quiet, stop=never
        ).plan
    weights = {one.code: one.weight for one in plan.findings}

    assert weights["colour-lost"] == "fine"
    assert weights["regions-lose"] == "caution"


def long_numbers(value: Any, path: str) -> list[str]:
    """Where a number of a plan has more than four decimals."""
    if isinstance(value, dict):
        return [one for key in value for one in long_numbers(value[key], f"{path}.{key}")]
    if isinstance(value, list):
        return [one for inner in value for one in long_numbers(inner, path)]
    if isinstance(value, float) and abs(value * 1e4 - round(value * 1e4)) > 1e-6:
        return [f"{path} {value!r}"]
    return []


def test_figures_of_what_the_paper_takes_can_be_read(quay: Path) -> None:
    with OpenPicture.open(wish(quay, PAPERS[0]), progress=quiet, stop=never) as table:
        seen = table.measure(wish(quay, PAPERS[0]), stocks_dir=None, progress=quiet, stop=never)
    plan = json.loads(seen.plan.model_dump_json())

    assert plan["regions"]["regions"]
    assert long_numbers(plan["regions"], "regions") == []
    assert long_numbers(plan["loss"], "loss") == []
