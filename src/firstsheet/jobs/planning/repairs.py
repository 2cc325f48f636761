"""Repairs of one picture on one paper: made ready for pixels, measured, proposed.

Takes wishes and the small picture; gives fields, figures and proposals. Nothing is remembered
here; `jobs.planning.open_picture` does that. Tests: tests/jobs/test_repaired_prints.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.errors import TicketError
from firstsheet.engine.findings import choice, finding
from firstsheet.engine.loss.regions.cells import (
    PrintedCells,
    WantedCells,
    printed_cells,
    wanted_cells,
)
from firstsheet.engine.loss.regions.find import RegionMap, find_regions
from firstsheet.engine.loss.repair.facts import (
    repair_area,
    repair_facts,
    rounded_wish,
    shows_gain,
)
from firstsheet.engine.loss.repair.field import field_of
from firstsheet.engine.loss.repair.place import Needs, places_in_need
from firstsheet.engine.loss.repair.propose import OUTSIDE_MAX, OUTSIDE_MEAN, propose_repairs
from firstsheet.engine.loss.repair.reach import Paper
from firstsheet.engine.loss.repair.record import RepairField
from firstsheet.engine.loss.repair.words import NO_WAY_BACK
from firstsheet.engine.records import Finding, RepairWish, Ticket
from firstsheet.engine.records.repair import RepairFacts
from firstsheet.engine.streams import Progress, StopCheck
from firstsheet.jobs.planning.colour_path import ColourPath, RepairedPath, Unrepaired
from firstsheet.jobs.planning.losses import greys_through
from firstsheet.jobs.planning.parts import cut

if TYPE_CHECKING:
    from firstsheet.pixels.repairs import Lies

__all__ = [
    "Ground",
    "chosen_repairs",
    "measured_repairs",
    "printed_fraction",
    "proposed_repairs",
    "repair_findings",
    "seen_by",
]


def printed_fraction(box: tuple[int, int, int, int], shape: tuple[int, ...]) -> Lies:
    """Left, top, width, height of the printed part, shares of the whole reduced picture."""
    left, top, right, bottom = box
    height, width = shape[:2]
    return left / width, top / height, (right - left) / width, (bottom - top) / height


@dataclass(frozen=True, eq=False, kw_only=True)
class Ground:
    """The print without repairs, on which they are measured."""

    way: ColourPath
    small: NDArray[Any]  # the printed part of the reduced picture, codes
    seen: tuple[Paper, Needs]  # paper and whole picture as fields are made for them
    lies: Lies
    wanted_lab: NDArray[Any]
    printed_lab: NDArray[Any]
    wanted: WantedCells
    found: RegionMap
    floor_de00: float
    black_l: float
    stop: StopCheck

    @classmethod
    def measured(
        cls,
        way: ColourPath,
        reduced: NDArray[Any],
        box: tuple[int, int, int, int],
        *,
        mm_per_px: float,
        distance_mm: float,
        floor_de00: float,
        seen: tuple[Paper, Needs],
        stop: StopCheck,
    ) -> Ground:
        """Measure the print without repairs.

        Parameters
        ----------
        way
            Onto the paper, without repairs.
        reduced, box
            The whole upright picture, small, and the part that is printed.
        seen
            From `seen_by`, for that way and the whole picture.
        """
        small = np.ascontiguousarray(cut(reduced, box))
        wanted_lab = way.wanted_lab(small, stop)
        printed_lab = way.printed_lab(small, stop)
        _, greys = greys_through(small.shape[-1], way, stop)
        black_l = float(greys[:, 0].min())
        stop()
        wanted = wanted_cells(wanted_lab, mm_per_px=mm_per_px, distance_mm=distance_mm)
        found = find_regions(wanted, printed_lab, floor_de00=floor_de00, black_l=black_l)
        return cls(
            way=way,
            small=small,
            seen=seen,
            lies=printed_fraction(box, reduced.shape),
            wanted_lab=wanted_lab,
            printed_lab=printed_lab,
            wanted=wanted,
            found=found,
            floor_de00=floor_de00,
            black_l=black_l,
            stop=stop,
        )

    @cached_property
    def before(self) -> PrintedCells:
        """The cells of the print without repairs."""
        return self.cells(self.printed_lab)

    def printed_with(self, fields: Sequence[RepairField]) -> NDArray[Any]:
        """The print with these repairs."""
        self.stop()
        way = RepairedPath(self.way, tuple(fields))
        known = Unrepaired(self.wanted_lab, self.printed_lab)
        return way.printed_lab(self.small, self.stop, self.lies, known)

    def printed_by(self, wish: RepairWish) -> NDArray[Any]:
        """The print with one repair."""
        return self.printed_with((field_of(wish, *self.seen),))

    def facts(
        self,
        wish: RepairWish,
        field: RepairField,
        *,
        after: PrintedCells,
        alone_lab: NDArray[Any],
    ) -> RepairFacts:
        """One repair in figures; `after` with all of them, `alone_lab` with this one alone."""
        return repair_facts(
            wish,
            repair_area(wish, field, self.found, self.wanted, self.lies),
            wanted=self.wanted,
            before=self.before,
            after=after,
            printed_lab=self.printed_lab,
            alone_lab=alone_lab,
        )

    def cells(self, shown: NDArray[Any]) -> PrintedCells:
        """The cells of a print of this picture."""
        return printed_cells(self.wanted, shown, black_l=self.black_l)


def seen_by(whole_lab: NDArray[Any], way: ColourPath) -> tuple[Paper, Needs]:
    """A paper, and where it takes something of a whole upright picture."""
    return Paper(way.printed_of), places_in_need(whole_lab, way.printed_of)


def measured_repairs(
    ground: Ground, wishes: Sequence[RepairWish], fields: Sequence[RepairField]
) -> tuple[tuple[RepairFacts, ...], RegionMap]:
    """What all the wishes together do in each of their places, and what is still lost then."""
    together = ground.printed_with(fields)
    after = ground.cells(together)
    told = tuple(
        ground.facts(
            wish,
            field,
            after=after,
            alone_lab=together if len(fields) == 1 else ground.printed_with((field,)),
        )
        for wish, field in zip(wishes, fields, strict=True)
    )
    still = find_regions(
        ground.wanted, together, floor_de00=ground.floor_de00, black_l=ground.black_l
    )
    return told, still


def proposed_repairs(ground: Ground, progress: Progress) -> tuple[RepairFacts, ...]:
    """The smallest repair of each place that truly loses, each measured alone.

    Tried and told are one print: that of the wish as the ticket will hold it. So the figures are
    those of the plan when the repair is taken.
    """
    paper, needs = ground.seen

    def shown(wish: RepairWish) -> NDArray[Any]:
        return ground.printed_by(rounded_wish(wish, ground.lies))

    def watch(share: float) -> None:
        ground.stop()
        progress("Looking for repairs", share)

    told = []
    for tried, alone in propose_repairs(
        ground.found,
        wanted=ground.wanted,
        picture_lab=ground.wanted_lab,
        printed_lab=ground.printed_lab,
        paper=paper,
        near=needs.near(ground.wanted.shape, ground.lies),
        shown=shown,
        floor_de00=ground.floor_de00,
        black_l=ground.black_l,
        watch=watch,
    ):
        wish = rounded_wish(tried, ground.lies)
        facts = ground.facts(
            wish, field_of(wish, *ground.seen), after=ground.cells(alone), alone_lab=alone
        )
        calm = facts.outside_mean_de00 <= OUTSIDE_MEAN and facts.outside_max_de00 <= OUTSIDE_MAX
        if calm and shows_gain(facts):
            told.append(facts)
    return tuple(told)


def chosen_repairs(text: str, proposals: Sequence[RepairFacts]) -> tuple[RepairWish, ...]:
    """The repairs that `--repair 1,3` names; `none` names no repair.

    Raises
    ------
    TicketError
        If it is neither, or there is no such number.
    """
    words = text.replace(",", " ").split()
    if words == ["none"]:
        return ()
    count = len(proposals)
    known = (
        "There is nothing to repair: no proposal helps this print."
        if not count
        else f"Name repairs by numbers from 1 to {count}, or none."
    )
    numbers = [int(one) if one.isascii() and one.isdigit() else 0 for one in words]
    if not numbers or any(not 1 <= one <= count for one in numbers):
        made = "1 repair is" if count == 1 else f"{count} repairs are"
        raise TicketError(
            f"{text!r} names no repair of this print; {made} proposed.",
            "The command was not run.",
            known,
            "no-such-repair",
            "--repair none, or the numbers that firstsheet losses lists",
        )
    return tuple(proposals[one - 1].wish for one in dict.fromkeys(numbers))


def repair_findings(
    ticket: Ticket, facts: Sequence[RepairFacts], *, carried: bool
) -> tuple[Finding, ...]:
    """What the plan says of its repairs, each with the way to take it back.

    Parameters
    ----------
    carried
        Whether the print file can carry them.
    """
    from firstsheet.store.repair_tables import repairs_text

    if not ticket.repairs:
        return ()
    if not carried:
        return (
            finding(
                code=NO_WAY_BACK.code,
                weight="stop",
                found=NO_WAY_BACK.found,
                consequence=NO_WAY_BACK.consequence,
                choices=(choice(NO_WAY_BACK.choice, {"repair": ""}),),
            ),
        )
    found = []
    for at, one in enumerate(facts):
        rest = (*ticket.repairs[:at], *ticket.repairs[at + 1 :])
        found.append(
            finding(
                code=f"repair-{at + 1}",
                weight="fine",
                found=f"Repair {at + 1} in this print: {one.sentence}",
                consequence="The original is not touched; only this print is repaired.",
                choices=(choice("Undo this repair.", {"repair": repairs_text(rest)}),),
                figures={
                    "kept_before": one.kept_before if one.kept_before is not None else -1.0,
                    "kept_after": one.kept_after if one.kept_after is not None else -1.0,
                    "outside_mean_de00": one.outside_mean_de00,
                    "outside_max_de00": one.outside_max_de00,
                },
            )
        )
    return tuple(found)
