"""From a wish to a field: what a repair does to one picture on one paper.

Takes a wish, the picture in CIELAB and what the paper shows of colours; gives the field.
Theory: docs/theory/repairs.md. Tests: tests/engine/loss/repair/test_propose_repairs.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from numpy.typing import NDArray

from firstsheet.engine.loss.repair.colours import colour_repair
from firstsheet.engine.loss.repair.grid import shift_grid
from firstsheet.engine.loss.repair.place import Needs, place_mask, places_in_need
from firstsheet.engine.loss.repair.reach import Paper, Printed
from firstsheet.engine.loss.repair.record import RepairField
from firstsheet.engine.records.repair import RepairKind, RepairWish

__all__ = ["field_of", "repair_field"]

# Nodes along an axis, by measured error: docs/theory/repairs.md. Deep blues bend most.
_SIDES: Final[Mapping[RepairKind, int]] = {"chroma": 65, "shadow": 33, "highlight": 33}


def repair_field(wish: RepairWish, *, picture_lab: NDArray[Any], printed: Printed) -> RepairField:
    """Make a wish ready for pixels; the same wish on the same picture gives the same field.

    Parameters
    ----------
    wish
        From the ticket.
    picture_lab
        (h, w, 3), the whole upright picture, small, as it means it.
    printed
        What the paper shows, relative to its white, of colours the picture means:
        (..., 3) to (..., 3).
    """
    return field_of(wish, Paper(printed), places_in_need(picture_lab, printed))


def field_of(wish: RepairWish, paper: Paper, needs: Needs) -> RepairField:
    """The same, where paper and picture were looked at before."""
    repair = colour_repair(wish, paper)
    shift = shift_grid(repair.mapped, _SIDES[wish.kind], repair.might_change)
    mask = place_mask(needs, wish.box, belongs=repair.belongs, mapped=repair.mapped)
    return RepairField(shift, mask)
