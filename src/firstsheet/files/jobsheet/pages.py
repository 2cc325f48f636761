"""The job sheet: pages to stand beside the printer with.

Takes a plan and a small proof; gives a vector PDF, A4, the same bytes every time. The first page
is what one needs at the dialog; the second what one ticks, waits for and files.
Docs: docs/jobsheet.md. Tests: tests/files/test_jobsheet.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.loss.regions.outline import Outline
from firstsheet.engine.records import Finding, Weight
from firstsheet.engine.records.plan import Plan
from firstsheet.files.jobsheet.drawing import Box, draw_sheet
from firstsheet.files.jobsheet.regions import draw_places, other_findings, places_height
from firstsheet.files.jobsheet.repairs import (
    Swatches,
    draw_repair,
    repair_height,
    swatch_note,
)
from firstsheet.files.jobsheet.typesetting import ACCENT, BOLD, HAIR, INK, MM, QUIET, WASH, Pen
from firstsheet.files.jobsheet.words import (
    Row,
    after_printing,
    before_printing,
    cautions,
    drying,
    headline,
    identity,
    is_order,
    loss_rows,
    settings,
    size_line,
)

__all__ = ["write_job_sheet"]

_WIDE, _HIGH = 210 * MM, 297 * MM  # ISO 216 A4
_SIDE, _TOP, _FOOT = 16 * MM, 15 * MM, 15 * MM
_WIDTH = _WIDE - 2 * _SIDE
_GUTTER = 9 * MM
_HALF = (_WIDTH - _GUTTER) / 2
_BODY, _SECOND, _SMALL = 9.3, 8.9, 8.0  # first page, second page, what is fine
_VERDICT_LINES = 6
_ORDER: dict[Weight, int] = {"stop": 0, "caution": 1, "fine": 2}


def write_job_sheet(
    path: Path,
    *,
    plan: Plan,
    proof_srgb: NDArray[np.uint8] | None = None,
    outlines: Sequence[Outline] = (),
    swatches: Sequence[Swatches] = (),
) -> None:
    """Write the job sheet of a plan.

    Parameters
    ----------
    path
        Where the PDF goes; must not exist.
    plan
        The whole plan.
    proof_srgb
        The proofed picture, (H, W, 3) 8-bit sRGB; drawn small in its place on the sheet.
    outlines
        Lines round the plan's regions, in their order.
    swatches
        Colours of the plan's repairs, in their order; without them only numbers stand there.
    """
    from reportlab.pdfgen.canvas import Canvas

    canvas = Canvas(None, pagesize=(_WIDE, _HIGH), invariant=1, pageCompression=1)
    title = f"{_kind(plan)}: {headline(plan)}"
    canvas.setTitle(title)
    canvas.setCreator(plan.made_by)
    canvas.setProducer(plan.made_by)
    canvas.setAuthor("")
    canvas.setSubject(f"plan {plan.digest[:16]}")
    pen = Pen(canvas)
    pages = _Pages(pen, plan)
    _first_page(pages, plan, proof_srgb)
    _second_page(pages, plan, proof_srgb, outlines, swatches)
    pages.end()
    with path.open("xb") as file:
        file.write(canvas.getpdfdata())


def _kind(plan: Plan) -> str:
    return "Order sheet" if is_order(plan) else "Job sheet"


class _Pages:
    """A cursor that goes down the page and on to the next."""

    def __init__(self, pen: Pen, plan: Plan) -> None:
        self.pen, self.plan, self.number = pen, plan, 1
        self.y = _HIGH - _TOP
        self._foot()

    def room(self, height: float) -> None:
        """Begin a new page unless this much fits above the foot."""
        if self.y - height < _FOOT + 4 * MM:
            self.turn()

    def turn(self) -> None:
        self.pen.canvas.showPage()
        self.number += 1
        self.y = _HIGH - _TOP
        self._foot()

    def end(self) -> None:
        if self.pen.changed_letters:
            words = (
                "Letters this sheet has no type for are set in Latin, or as ¤; plan.json has the "
                "name as it is written."
            )
            self.pen.text(_SIDE, _FOOT, words, size=6.5, grey=QUIET)
        self.pen.canvas.showPage()

    def _foot(self) -> None:
        words = f"{headline(self.plan)} · plan {self.plan.digest[:12]} · {self.plan.made_by}"
        y = _FOOT - 5 * MM
        self.pen.text(
            _SIDE, y, self.pen.fit(words, width=_WIDTH - 60, size=6.5), size=6.5, grey=QUIET
        )
        right = _WIDE - _SIDE
        self.pen.text(right, y, f"page {self.number}", size=6.5, grey=QUIET, align="right")


def _first_page(pages: _Pages, plan: Plan, proof_srgb: NDArray[np.uint8] | None) -> None:
    pen, y = pages.pen, pages.y
    pen.canvas.setFillColorRGB(*ACCENT)
    pen.canvas.rect(_SIDE, y + 1, 11 * MM, 1.6, stroke=0, fill=1)
    pen.text(_SIDE, y - 9, _kind(plan), size=9, grey=QUIET)
    name = pen.fit(headline(plan), width=_WIDTH, size=23)
    pen.text(_SIDE, y - 37, name, size=23)
    y = pen.paragraph(_SIDE, y - 55, size_line(plan), width=_WIDTH, size=10)
    for line in pen.lines(plan.verdict, width=_WIDTH, size=10)[:_VERDICT_LINES]:
        pen.text(_SIDE, y - 1, line, size=10, grey=QUIET)
        y -= 13.6
    rows = settings(plan)
    label = 34 * MM
    table = _table_height(pen, rows, label, _WIDTH) + 9 * MM
    bottom = _FOOT + 5 * MM + table
    top = y - 1 * MM
    draw_sheet(pen, Box(_SIDE, bottom + 3 * MM, _WIDTH, top - bottom - 3 * MM), plan, proof_srgb)
    y = _heading(pen, _SIDE, bottom - 4 * MM, _WIDTH, _dialog_title(plan))
    _table(pen, _SIDE, y, _WIDTH, rows, label)


def _dialog_title(plan: Plan) -> str:
    return "What the lab is asked for" if is_order(plan) else "At the print dialog"


def _second_page(
    pages: _Pages,
    plan: Plan,
    proof_srgb: NDArray[np.uint8] | None,
    outlines: Sequence[Outline],
    swatches: Sequence[Swatches],
) -> None:
    pages.turn()
    pen, top = pages.pen, pages.y
    right = _SIDE + _HALF + _GUTTER
    y = _heading(pen, _SIDE, top, _HALF, _before_title(plan))
    y = _ticks(pen, _SIDE, y, before_printing(plan))
    if is_order(plan):
        left_end, y = y, _heading(pen, right, top, _HALF, "When it arrives")
        y = _ticks(pen, right, y, after_printing(plan)) - 3 * MM
    else:
        y = _heading(pen, _SIDE, y - 3 * MM, _HALF, "When it is out")
        left_end, y = _ticks(pen, _SIDE, y, after_printing(plan)), top
    if waits := drying(plan):
        y = _heading(pen, right, y, _HALF, "Drying")
        for words in waits:
            grey = QUIET if words.startswith("(") else INK
            y = pen.paragraph(right, y, words, width=_HALF, size=_SECOND, grey=grey) - 1.6
        y -= 3 * MM
    if plan.loss is not None:
        y = _heading(pen, right, y, _HALF, "What the paper takes away")
        y = _bands(pen, right, y, plan.loss.bands_percent)
        y = _table(
            pen, right, y, _HALF, loss_rows(plan), 29 * MM, ruled=False, size=_SECOND, gap=2.4
        )
    pages.y = min(left_end, y) - 5 * MM
    _places(pages, plan, proof_srgb, outlines)
    _repairs(pages, plan, swatches)
    _findings(pages, other_findings(plan))
    _foot_blocks(pages, plan)


def _places(
    pages: _Pages,
    plan: Plan,
    proof_srgb: NDArray[np.uint8] | None,
    outlines: Sequence[Outline],
) -> None:
    """Where the paper truly takes something, outlined and in words."""
    if plan.regions is None:
        return
    pen, drawn = pages.pen, bool(outlines) and proof_srgb is not None
    pages.room(places_height(pen, plan, width=_WIDTH, drawn=drawn) + 14 * MM)
    top = _heading(pen, _SIDE, pages.y, _WIDTH, "Where the print shows less than the file") + 6
    y = draw_places(pen, _SIDE, top, plan, width=_WIDTH, outlines=outlines, proof_srgb=proof_srgb)
    pages.y = y - 3 * MM


def _repairs(pages: _Pages, plan: Plan, swatches: Sequence[Swatches]) -> None:
    """What was repaired, before and after; no repair is parted by the foot of a page."""
    pen = pages.pen
    for number, facts in enumerate(plan.repairs, start=1):
        colours = swatches[number - 1] if swatches else None
        height = repair_height(pen, facts, width=_WIDTH)
        pages.room(height + (20 * MM if number == 1 else 0.0))
        if number == 1:
            top = _heading(pen, _SIDE, pages.y, _WIDTH, "Repairs in this print")
            note = swatch_note(plan)
            pages.y = pen.paragraph(_SIDE, top, note, width=_WIDTH, size=7.6, grey=QUIET) + 3
        pages.y = draw_repair(pen, _SIDE, pages.y, number, facts, colours, width=_WIDTH)
    if plan.repairs:
        pages.y -= 2 * MM


def _before_title(plan: Plan) -> str:
    return "Before ordering" if is_order(plan) else "Before pressing print"


def _foot_blocks(pages: _Pages, plan: Plan) -> None:
    """Identity on the left, cautions on the right."""
    pen = pages.pen
    rows = identity(plan)
    pages.room(_table_height(pen, rows, 30 * MM, _HALF, size=7.6, gap=1.4) + 10 * MM)
    right = _SIDE + _HALF + _GUTTER
    y = _heading(pen, _SIDE, pages.y, _HALF, "Made from")
    left_end = _table(pen, _SIDE, y, _HALF, rows, 30 * MM, ruled=False, size=7.6, gap=1.4)
    y = _heading(pen, right, pages.y, _HALF, "Care")
    for words in cautions():
        y = pen.paragraph(right, y, words, width=_HALF, size=7.6) - 1.4
    pages.y = min(left_end, y) - 5 * MM
    _log(pages)


def _log(pages: _Pages) -> None:
    """Lines to fill in by hand, where the page has room for them."""
    pen, y = pages.pen, pages.y
    line = 9 * MM
    count = min(4, int((y - _FOOT - 15 * MM) / line))
    if count < 2:
        return
    y = _heading(pen, _SIDE, y, _WIDTH, "Sheets made")
    columns = (
        ("date", 30),
        ("sheet", 20),
        ("ruler, mm", 24),
        ("judged under", 36),
        ("remarks", 68),
    )
    x = _SIDE
    for name, width_mm in columns:
        pen.text(x, y + 2, name, size=7.6, grey=QUIET)
        x += width_mm * MM
    pen.canvas.setStrokeGray(HAIR)
    pen.canvas.setLineWidth(0.4)
    for index in range(1, count + 1):
        x = _SIDE
        for _, width_mm in columns:
            pen.canvas.line(x, y - index * line + 4, x + (width_mm - 3) * MM, y - index * line + 4)
            x += width_mm * MM


def _heading(pen: Pen, x: float, y: float, width: float, words: str) -> float:
    """A quiet heading over a hairline; gives the first baseline below."""
    pen.text(x, y - 8, words, size=9.6, font=BOLD)
    pen.canvas.setStrokeGray(HAIR)
    pen.canvas.setLineWidth(0.5)
    pen.canvas.line(x, y - 13, x + width, y - 13)
    return y - 25


def _table_height(
    pen: Pen, rows: Sequence[Row], label: float, width: float, size: float = _BODY, gap: float = 4.6
) -> float:
    lines = sum(len(pen.lines(row.value, width=width - label, size=size)) for row in rows)
    return lines * size * 1.36 + len(rows) * gap


def _table(
    pen: Pen,
    x: float,
    y: float,
    width: float,
    rows: Sequence[Row],
    label: float,
    *,
    ruled: bool = True,
    size: float = _BODY,
    gap: float = 4.6,
) -> float:
    """Labels left, values right, a hairline between rows."""
    for index, row in enumerate(rows):
        pen.text(x, y, row.label, size=size, grey=QUIET)
        y = pen.paragraph(x + label, y, row.value, width=width - label, size=size)
        if ruled and index < len(rows) - 1:
            pen.canvas.setStrokeGray(0.88)
            pen.canvas.setLineWidth(0.4)
            pen.canvas.line(x, y + size * 1.36 - 4.6, x + width, y + size * 1.36 - 4.6)
        y -= gap
    return y


def _ticks(pen: Pen, x: float, y: float, lines: Sequence[str]) -> float:
    """Lines with an empty square to tick."""
    for words in lines:
        pen.canvas.setStrokeGray(INK)
        pen.canvas.setLineWidth(0.7)
        pen.canvas.rect(x, y - 1.2, 7.6, 7.6, stroke=1, fill=0)
        y = pen.paragraph(x + 14, y, words, width=_HALF - 14, size=_SECOND) - 3
    return y


def _bands(pen: Pen, x: float, y: float, shares: Sequence[float]) -> float:
    """Share of the picture in each band of colour difference, as bars of one length scale."""
    names = ("below 1", "1 to 2", "2 to 5", "5 to 10", "above 10")
    start, length = x + 29 * MM, _HALF - 29 * MM - 32
    for name, share in zip(names, shares, strict=True):
        pen.text(x, y, f"{name} ΔE00", size=7.6, grey=QUIET)
        pen.canvas.setFillGray(WASH)
        pen.canvas.rect(start, y - 0.6, length, 6, stroke=0, fill=1)
        pen.canvas.setFillGray(0.55)
        pen.canvas.rect(start, y - 0.6, length * min(share, 100) / 100, 6, stroke=0, fill=1)
        right = start + length + 32
        pen.text(right, y, f"{share:.1f} %", size=7.6, align="right")
        y -= 10.6
    return y - 3


def _findings(pages: _Pages, findings: Sequence[Finding]) -> None:
    """Every finding, weightiest first, with its weight as a word and a shape."""
    pen = pages.pen
    if not findings:
        return
    pages.room(25 * MM)
    pages.y = _heading(pen, _SIDE, pages.y, _WIDTH, "What was found")
    text_x = _SIDE + 19 * MM
    width = _WIDTH - 19 * MM
    for finding in sorted(findings, key=lambda one: _ORDER[one.weight]):
        size = _SMALL if finding.weight == "fine" else _SECOND
        words = f"{finding.found} {finding.consequence}"
        lines = [
            line
            for part in (words, *(one.text for one in finding.choices))
            for line in pen.lines(part, width=width - 9, size=size)
        ]
        pages.room(len(lines) * size * 1.36)
        y = pages.y
        _shape(pen.canvas, _SIDE + 4, y + 2.8, finding.weight)
        pen.text(_SIDE + 12, y, finding.weight, size=size, font=BOLD)
        y = pen.paragraph(text_x, y, words, width=width, size=size)
        for choice in finding.choices:
            pen.text(text_x, y, "–", size=size, grey=QUIET)
            y = pen.paragraph(text_x + 9, y, choice.text, width=width - 9, size=size, grey=QUIET)
        pages.y = y - 2.6
    pages.y -= 3 * MM


def _shape(canvas: Any, x: float, y: float, weight: Weight) -> None:
    """As on the page: barred square for stop, half-filled lozenge for caution, ring for fine."""
    canvas.setStrokeGray(INK)
    canvas.setFillGray(INK)
    canvas.setLineWidth(0.9)
    if weight == "stop":
        canvas.rect(x - 3.6, y - 3.6, 7.2, 7.2, stroke=1, fill=1)
        canvas.setStrokeGray(1.0)
        canvas.setLineWidth(1.6)
        canvas.line(x - 2.2, y, x + 2.2, y)
    elif weight == "caution":
        for right, fill in ((x + 4, 0), (x, 1)):  # the whole, then its left half
            path = canvas.beginPath()
            path.moveTo(x, y + 4)
            path.lineTo(x - 4, y)
            path.lineTo(x, y - 4)
            path.lineTo(right, y)
            path.close()
            canvas.drawPath(path, stroke=1, fill=fill)
    else:
        canvas.circle(x, y, 3, stroke=1, fill=0)
