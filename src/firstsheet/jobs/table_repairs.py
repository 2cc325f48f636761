"""The repairs of a picture on a table: fields, figures and proposals, each measured once.

Takes what the table remembers; gives what a plan with repairs needs.
Tests: tests/jobs/test_repaired_prints.py.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass
from typing import Any, Protocol

from numpy.typing import NDArray

from firstsheet.engine.bands import StopCheck
from firstsheet.engine.records import RepairWish, Stock, Ticket
from firstsheet.engine.regions.find import RegionMap
from firstsheet.engine.repair.factrecord import RepairFacts
from firstsheet.engine.repair.record import RepairField
from firstsheet.jobs.repairs import Ground, fields_of, measured_repairs, proposed_repairs
from firstsheet.jobs.ways import Way

__all__ = ["RepairGround", "repair_ground", "without_repairs"]

Box = tuple[int, int, int, int]


class Remember(Protocol):
    """What a table does for work that is to be done once."""

    def __call__(self, key: Hashable, work: Callable[[], Any], *, aside: bool = False) -> Any:
        """Give what is remembered under the key, or do the work and remember it."""


def without_repairs(ticket: Ticket) -> Ticket:
    """The same wish with nothing repaired."""
    return ticket.model_copy(update={"repairs": ()}) if ticket.repairs else ticket


@dataclass(frozen=True, eq=False, kw_only=True)
class RepairGround:
    """One picture on one paper, where its repairs are asked about.

    Takes `key` for all that way and picture part depend on.
    """

    remember: Remember
    key: Hashable
    way: Way
    reduced: NDArray[Any]
    box: Box
    floor_de00: float
    stop: StopCheck

    def fields(self, wishes: tuple[RepairWish, ...]) -> tuple[RepairField, ...]:
        """The wishes ready for pixels."""
        return tuple(self._field(one) for one in wishes)

    def _field(self, wish: RepairWish) -> RepairField:
        def work() -> RepairField:
            whole_lab = self.way.wanted_lab(self.reduced, self.stop)
            return fields_of((wish,), whole_lab, self.way)[0]

        made: RepairField = self.remember(("repair", self.key, wish.model_dump_json()), work)
        return made

    def facts(
        self, wishes: tuple[RepairWish, ...], *, width_mm: float, distance_mm: float
    ) -> tuple[tuple[RepairFacts, ...], RegionMap]:
        """What they do in a print of a width, seen from a distance; and its regions then."""
        fields = self.fields(wishes)
        names = tuple(one.model_dump_json() for one in wishes)
        key = ("repair facts", self.key, self.box, names, round(width_mm, 3), distance_mm)
        told: tuple[tuple[RepairFacts, ...], RegionMap] = self.remember(
            key, lambda: measured_repairs(self._ground(width_mm, distance_mm), wishes, fields)
        )
        return told

    def proposals(self, *, width_mm: float, distance_mm: float) -> tuple[RepairFacts, ...]:
        """The smallest repairs of what truly loses."""
        key = ("proposals", self.key, self.box, round(width_mm, 3), distance_mm)
        told: tuple[RepairFacts, ...] = self.remember(
            key, lambda: proposed_repairs(self._ground(width_mm, distance_mm)), aside=True
        )
        return told

    def _ground(self, width_mm: float, distance_mm: float) -> Ground:
        return Ground.measured(
            self.way,
            self.reduced,
            self.box,
            mm_per_px=width_mm / (self.box[2] - self.box[0]),
            distance_mm=distance_mm,
            floor_de00=self.floor_de00,
            stop=self.stop,
        )


def repair_ground(
    way: Way, stock: Stock, reduced: NDArray[Any], box: Box, *, remember: Remember, stop: StopCheck
) -> RepairGround:
    """Where the repairs of a picture on a stock are asked about; nothing is measured yet."""
    assert stock.facts is not None
    chain = way.chain
    return RepairGround(
        remember=remember,
        key=(stock.facts.profile.sha256, chain.intent, chain.black_point),
        way=way,
        reduced=reduced,
        box=box,
        floor_de00=stock.facts.floor_p99_de00,
        stop=stop,
    )
