"""What is truly lost, place by place: a small proof with numbered lines, and the places in words.

Takes a plan, the outlines of its regions and a small proof; draws on a page of the job sheet.
Tests: tests/files/test_jobsheet_regions.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.loss.regions.findings import of_no_place
from firstsheet.engine.loss.regions.outline import Outline
from firstsheet.engine.records import Finding
from firstsheet.engine.records.plan import Plan
from firstsheet.files.jobsheet.drawing import Box, small_jpeg
from firstsheet.files.jobsheet.typesetting import BOLD, HAIR, INK, MM, QUIET, Pen

__all__ = ["MOST_TOLD", "draw_places", "other_findings", "places_height", "places_told"]

MOST_TOLD = 5
_WIDEST, _HIGHEST = 76 * MM, 62 * MM  # of the small proof
_GAP = 6 * MM
_SIZE, _LINE, _BETWEEN = 8.4, 1.36, 3.4
_NUMBER = 5 * MM  # room for the number before a sentence
_TOLD_WHOLE = ("regions-lose", "nothing-truly-lost")  # findings that say what stands here


def places_told(plan: Plan) -> list[tuple[str, str]]:
    """Number and sentence of up to five places, then what is true of no one place."""
    losses = plan.regions
    if losses is None:
        return []
    hurt = [one for one in losses.regions if one.weight == "caution"]
    told = [
        (str(number), one.words[0].upper() + one.words[1:])
        for number, one in enumerate(hurt[:MOST_TOLD], start=1)
    ]
    if not told:
        told.append(("", losses.verdict))
    if len(hurt) > MOST_TOLD:
        told.append(("", f"{len(hurt) - MOST_TOLD} more places lose less."))
    return [*told, *(("", words) for words in of_no_place(plan.findings))]


def other_findings(plan: Plan) -> tuple[Finding, ...]:
    """The findings that places and repairs do not tell already."""
    told = {f"repair-{number}" for number in range(1, len(plan.repairs) + 1)}
    if plan.regions is not None:
        told.update(_TOLD_WHOLE)
    return tuple(one for one in plan.findings if one.code not in told)


def places_height(pen: Pen, plan: Plan, *, width: float, drawn: bool) -> float:
    """How high the section will be, without its heading."""
    left, high = _proof_size(plan) if drawn else (0.0, 0.0)
    return max(high, _words_height(pen, plan, width - left - (_GAP if drawn else 0.0)))


def draw_places(
    pen: Pen,
    x: float,
    top: float,
    plan: Plan,
    *,
    width: float,
    outlines: Sequence[Outline],
    proof_srgb: NDArray[np.uint8] | None,
) -> float:
    """Draw the section; gives the first free height below."""
    told = places_told(plan)
    count = sum(1 for number, _ in told if number)
    left = x
    bottom = top
    if proof_srgb is not None and outlines and count:
        wide, high = _proof_size(plan)
        picture = Box(x, top - high, wide, high)
        pen.canvas.drawImage(small_jpeg(proof_srgb), *picture)
        pen.canvas.setStrokeGray(HAIR)
        pen.canvas.setLineWidth(0.4)
        pen.canvas.rect(*picture, stroke=1, fill=0)
        for outline in outlines[:count]:
            _outline(pen.canvas, picture, outline)
        for place, outline in enumerate(outlines[:count], start=1):
            _tag(pen, picture, outline, place)
        left, bottom = x + wide + _GAP, top - high
    y = top - _SIZE
    for number, words in told:
        if number:
            pen.text(left, y, number, size=_SIZE, font=BOLD)
        grey = INK if number else QUIET
        room = x + width - left - _NUMBER
        y = pen.paragraph(left + _NUMBER, y, words, width=room, size=_SIZE, grey=grey) - _BETWEEN
    return min(y, bottom - 4 * MM)


def _proof_size(plan: Plan) -> tuple[float, float]:
    shape = plan.size.width_mm / plan.size.height_mm
    wide = min(_WIDEST, _HIGHEST * shape)
    return wide, wide / shape


def _words_height(pen: Pen, plan: Plan, width: float) -> float:
    return sum(
        len(pen.lines(words, width=width - _NUMBER, size=_SIZE)) * _SIZE * _LINE + _BETWEEN
        for _, words in places_told(plan)
    )


def _outline(canvas: Any, picture: Box, outline: Outline) -> None:
    """A light line with a dark rim, seen on any colour and without colour vision."""
    path = canvas.beginPath()
    for loop in outline.loops:
        places = [
            (picture.left + a * picture.width, picture.top - b * picture.height) for a, b in loop
        ]
        path.moveTo(*places[0])
        for at in places[1:]:
            path.lineTo(*at)
        path.close()
    canvas.saveState()
    canvas.setLineJoin(1)
    for grey, line_width in ((0.1, 1.5), (1.0, 0.7)):
        canvas.setStrokeGray(grey)
        canvas.setLineWidth(line_width)
        canvas.drawPath(path, stroke=1, fill=0)
    canvas.restoreState()


def _tag(pen: Pen, picture: Box, outline: Outline, number: int) -> None:
    across, down = outline.number_at
    x, y = picture.left + across * picture.width, picture.top - down * picture.height
    pen.canvas.setFillGray(1.0)
    pen.canvas.setStrokeGray(0.25)
    pen.canvas.setLineWidth(0.5)
    pen.canvas.circle(x, y, 4.6, stroke=1, fill=1)
    pen.text(x, y - 2.4, str(number), size=6.8, font=BOLD, align="centre")
