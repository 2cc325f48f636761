"""Every choice that is offered as a button does what its sentence says: the plan is another."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import tifffile

from firstsheet.cms.build import space_profile
from firstsheet.engine.records import Ticket
from firstsheet.engine.records.plan import Plan
from firstsheet.jobs.planning.open_picture import OpenPicture
from firstsheet.store.stocks import get_stock, stock_profile_bytes
from firstsheet.store.ticket_changes import changed_ticket
from firstsheet.store.tickets import ticket_from_options

PAPER = stock_profile_bytes(get_stock("chalk-matte"))
OTHER_PAPER = stock_profile_bytes(get_stock("harbour-gloss"))

# code of a finding: the wish that brings it about
WISHES: dict[str, dict[str, object]] = {
    "no-black-point": {"black_point": False},
    "picture-in-margin": {"width": "146mm", "sheet": "A6"},
    "picture-off-sheet": {"width": "160mm", "sheet": "A6"},
    "border-not-even": {"border": "even", "width": "120mm", "sheet": "13x19in"},
    "sides-do-not-add-up": {"border": "20mm 20mm 60mm 20mm", "width": "90mm", "sheet": "A5"},
    "no-room-in-border": {
        "stock": "harbour-gloss",
        "width": "136mm",
        "sheet": "A6",
        "ruler": True,
        "key": True,
    },
    "no-room-for-ruler": {"width": "140mm", "sheet": "A6", "ruler": True},
    "no-room-for-key": {"width": "140mm", "sheet": "A6", "key": True},
    "too-few-pixels": {"width": "200mm"},
    "cropped": {"shape": "1:1", "width": "60mm"},
    "enlarged": {"width": "120mm", "allow_enlarge": True},
    "own-pixels": {"width": "120mm"},
    "raster-too-fine": {"width": "5mm", "ppi": "2000", "sheet": "A6"},
    "big-tiff": {"width": "800mm", "sheet": "A0", "ppi": "720", "allow_enlarge": True},
}


def quiet(*_words: object) -> None:
    """Nobody listens, nobody stops."""


def plan_of(table: OpenPicture, ticket: Ticket) -> Plan:
    return table.prepare(ticket, stocks_dir=None, progress=quiet, stop=quiet).plan


def try_choices(ticket: Ticket, code: str) -> int:
    """Apply each choice of a finding that sets lines; gives how many there were."""
    with OpenPicture.open(ticket, progress=quiet, stop=quiet) as table:
        plan = plan_of(table, ticket)
    found = [one for one in plan.findings if one.code == code]
    assert found, [one.code for one in plan.findings]
    tried = 0
    for one in found:
        for changes in (choice.change for choice in one.choices):
            if not changes:
                continue
            after, slips = changed_ticket(ticket, changes)
            assert not slips, changes
            with OpenPicture.open(after, progress=quiet, stop=quiet) as table:
                other = plan_of(table, after)
            assert other.digest != plan.digest
            assert one not in other.findings, changes
            tried += 1
    return tried


@pytest.mark.slow
@pytest.mark.parametrize("code", WISHES)
def test_a_choice_takes_its_finding_away(code: str, make_scan: Callable[..., Path]) -> None:
    path = make_scan("small.tif", 480, 320)
    ticket = ticket_from_options(
        None, picture=str(path), **{"stock": "chalk-matte", **WISHES[code]}
    )
    assert try_choices(ticket, code) > 0


@pytest.mark.slow
def test_a_picture_in_another_printer_s_colours_offers_both_ways_out(tmp_path: Path) -> None:
    path = tmp_path / "converted.tif"
    codes = np.full((80, 120, 3), 30_000, np.uint16)
    tag = [(34675, "B", None, OTHER_PAPER, True)]
    tifffile.imwrite(path, codes, photometric="rgb", extratags=tag)
    ticket = ticket_from_options(picture=str(path), stock="chalk-matte", width="20mm")
    assert try_choices(ticket, "output-profile") == 2


@pytest.mark.slow
def test_a_reading_that_is_not_needed_can_be_left_out(make_scan: Callable[..., Path]) -> None:
    path = make_scan("tagged.tif", 120, 80)
    wish = {"picture": str(path), "stock": "chalk-matte", "width": "20mm", "read_as": "a98-rgb"}
    assert try_choices(ticket_from_options(None, **wish), "read-as-not-needed") == 1


@pytest.mark.slow
def test_clear_parts_can_lie_on_black(tmp_path: Path) -> None:
    path = tmp_path / "clear.tif"
    codes = np.full((80, 120, 4), 200, np.uint8)
    codes[:, :60, 3] = 90
    tag = [(34675, "B", None, space_profile("srgb"), True)]
    tifffile.imwrite(path, codes, photometric="rgb", extrasamples=["unassalpha"], extratags=tag)
    ticket = ticket_from_options(picture=str(path), stock="chalk-matte", width="20mm")
    assert try_choices(ticket, "partly-clear") == 1


@pytest.mark.slow
def test_unequal_resolution_can_be_declared_square(tmp_path: Path) -> None:
    path = tmp_path / "fax.tif"
    codes = np.full((80, 120, 3), 30_000, np.uint16)
    tag = [(34675, "B", None, space_profile("srgb"), True)]
    tifffile.imwrite(path, codes, photometric="rgb", resolution=(200, 100), extratags=tag)
    ticket = ticket_from_options(picture=str(path), stock="chalk-matte", width="20mm")
    assert try_choices(ticket, "unequal-resolution") == 1
