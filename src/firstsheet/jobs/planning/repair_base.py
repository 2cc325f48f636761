"""The repairs of a picture on a table: fields, figures and proposals, each measured once.

Takes what the table remembers; gives what a plan with repairs needs.
Tests: tests/jobs/test_repaired_prints.py.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from typing import Any

from numpy.typing import NDArray

from firstsheet.engine.loss.regions.find import RegionMap
from firstsheet.engine.loss.repair.field import field_of
from firstsheet.engine.loss.repair.place import Needs
from firstsheet.engine.loss.repair.reach import Paper
from firstsheet.engine.loss.repair.record import RepairField
from firstsheet.engine.records import RepairWish, Stock, Ticket
from firstsheet.engine.records.repair import RepairFacts
from firstsheet.engine.streams import Progress, StopCheck
from firstsheet.jobs.planning.cache import MeasurementCache
from firstsheet.jobs.planning.colour_path import ColourPath
from firstsheet.jobs.planning.parts import Box
from firstsheet.jobs.planning.repairs import Ground, measured_repairs, proposed_repairs, seen_by

__all__ = ["RepairGround", "repair_ground", "without_repairs"]


def without_repairs(ticket: Ticket) -> Ticket:
    """The same wish with nothing repaired."""
    return ticket.model_copy(update={"repairs": ()}) if ticket.repairs else ticket


@dataclass(frozen=True, eq=False, kw_only=True)
class RepairGround:
    """One picture on one paper, where its repairs are asked about.

    Takes `key` for all that way and picture part depend on.
    """

    memory: MeasurementCache
    key: Hashable
    way: ColourPath
    reduced: NDArray[Any]
    box: Box
    floor_de00: float
    stop: StopCheck

    def fields(self, wishes: tuple[RepairWish, ...]) -> tuple[RepairField, ...]:
        """The wishes ready for pixels."""
        return tuple(self._field(one) for one in wishes)

    def _field(self, wish: RepairWish) -> RepairField:
        def work() -> RepairField:
            return field_of(wish, *self._seen())

        return self.memory.once(("repair", self.key, wish.model_dump_json()), work)

    def _seen(self) -> tuple[Paper, Needs]:
        def work() -> tuple[Paper, Needs]:
            return seen_by(self.way.wanted_lab(self.reduced, self.stop), self.way)

        return self.memory.once(("repair places", self.key), work)

    def facts(
        self, wishes: tuple[RepairWish, ...], *, width_mm: float, distance_mm: float
    ) -> tuple[tuple[RepairFacts, ...], RegionMap]:
        """What they do in a print of a width, seen from a distance; and its regions then."""
        fields = self.fields(wishes)
        names = tuple(one.model_dump_json() for one in wishes)
        key = ("repair facts", self.key, self.box, names, round(width_mm, 3), distance_mm)
        return self.memory.once(
            key, lambda: measured_repairs(self._ground(width_mm, distance_mm), wishes, fields)
        )

    def proposals(
        self, *, width_mm: float, distance_mm: float, progress: Progress
    ) -> tuple[RepairFacts, ...]:
        """The smallest repairs of what truly loses."""
        key = ("proposals", self.key, self.box, round(width_mm, 3), distance_mm)
        return self.memory.once(
            key,
            lambda: proposed_repairs(self._ground(width_mm, distance_mm), progress),
            turn="proposing",
        )

    def _ground(self, width_mm: float, distance_mm: float) -> Ground:
        return Ground.measured(
            self.way,
            self.reduced,
            self.box,
            mm_per_px=width_mm / (self.box[2] - self.box[0]),
            distance_mm=distance_mm,
            floor_de00=self.floor_de00,
            seen=self._seen(),
            stop=self.stop,
        )


def repair_ground(
    way: ColourPath,
    stock: Stock,
    reduced: NDArray[Any],
    box: Box,
    *,
    memory: MeasurementCache,
    stop: StopCheck,
) -> RepairGround:
    """Where the repairs of a picture on a stock are asked about; nothing is measured yet."""
    assert stock.facts is not None
    chain = way.chain
    return RepairGround(
        memory=memory,
        key=(stock.facts.profile.sha256, chain.intent, chain.black_point),
        way=way,
        reduced=reduced,
        box=box,
        floor_de00=stock.facts.floor_p99_de00,
        stop=stop,
    )
