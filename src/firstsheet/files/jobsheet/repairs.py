"""Repairs on the job sheet: three swatches for each, as meant, unrepaired and repaired, in words.

Takes a plan and the swatches' colours; draws blocks that stay whole on a page.
Tests: tests/files/test_jobsheet_repairs.py.
"""

from __future__ import annotations

from firstsheet.engine.records.plan import Plan
from firstsheet.engine.records.repair import RepairFacts
from firstsheet.engine.units import lab_words
from firstsheet.files.jobsheet.typesetting import HAIR, MM, QUIET, Pen

__all__ = ["Swatches", "draw_repair", "repair_height", "swatch_note"]

Colour = tuple[float, float, float]
Swatches = tuple[Colour, Colour, Colour]  # meant, unrepaired, repaired: encoded sRGB, 0..1

_NAMES = ("as meant", "unrepaired", "repaired")
_WIDE, _HIGH = 25.5 * MM, 9.5 * MM  # of one swatch; they touch, so that the edge tells
_GAP = 6 * MM
_SIZE, _SMALL, _LINE = 8.4, 6.8, 1.36
_BELOW = 4.2 * MM  # between repairs


def repair_height(pen: Pen, facts: RepairFacts, *, width: float) -> float:
    """How high one repair's block is."""
    words = len(pen.lines(_told(1, facts), width=width - _left(), size=_SIZE)) * _SIZE * _LINE
    swatches = _HIGH + 2 * _SMALL * _LINE + 2
    return max(words, swatches) + _BELOW


def draw_repair(
    pen: Pen,
    x: float,
    top: float,
    number: int,
    facts: RepairFacts,
    swatches: Swatches | None,
    *,
    width: float,
) -> float:
    """Draw one repair; gives the first free height below.

    Parameters
    ----------
    swatches
        None leaves them bare, with their numbers.
    """
    canvas = pen.canvas
    labs = (facts.wanted_lab, facts.before_lab, facts.after_lab)
    bottom = top - _HIGH
    for at, (name, lab) in enumerate(zip(_NAMES, labs, strict=True)):
        left = x + at * _WIDE
        if swatches is not None:
            canvas.setFillColorRGB(*swatches[at])
            canvas.rect(left, bottom, _WIDE, _HIGH, stroke=0, fill=1)
        y = bottom - _SMALL * _LINE
        pen.text(left, y, name, size=_SMALL, grey=QUIET)
        pen.text(left, y - _SMALL * _LINE, lab_words(lab), size=_SMALL)
    canvas.setStrokeGray(HAIR)
    canvas.setLineWidth(0.3)
    canvas.rect(x, bottom, 3 * _WIDE, _HIGH, stroke=1, fill=0)
    words = _told(number, facts)
    pen.paragraph(x + _left(), top - _SIZE, words, width=width - _left(), size=_SIZE)
    return top - repair_height(pen, facts, width=width)


def swatch_note(plan: Plan) -> str:
    """What the swatches can tell, and where the places themselves are shown."""
    shown = f" {plan.output.repairs_file} shows the places themselves." if plan.loss else ""
    return (
        "Means of each place, shown as the small proof is, paper white as white; judge colours "
        f"on the proof itself.{shown} The original is not touched."
    )


def _left() -> float:
    return 3 * _WIDE + _GAP


def _told(number: int, facts: RepairFacts) -> str:
    return f"Repair {number}: {facts.sentence}"
