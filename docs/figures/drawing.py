"""What all figures share: one look, axes, curves, points, labels and legends, as plain SVG.

Takes numbers in the units of their axes; gives the text of an SVG. Coordinates are rounded, so
the same numbers give the same bytes. Nothing here knows a formula. Tests: tests/docs/.
"""

from __future__ import annotations

import base64
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Any, Final

import numpy as np
from look import (
    ACCENT,
    FAINT,
    GREY,
    INK,
    PALE,
    SECOND,
    WIDE,
    Anchor,
    Axis,
    Look,
    Mark,
    ticks,
)  # fmt: skip
from numpy.typing import ArrayLike, NDArray
from PIL import Image

__all__ = [
    "ACCENT",
    "FAINT",
    "GREY",
    "INK",
    "PALE",
    "SECOND",
    "WIDE",
    "Axis",
    "Drawing",
    "Look",
    "Mark",
    "Panel",
    "ticks",
]

_LETTER_PX: Final = 6.3  # mean width of a figure of 12 px


def _n(value: float) -> str:
    """A coordinate, rounded to a tenth of a pixel."""
    return f"{round(float(value), 1) + 0.0:g}"


@dataclass(slots=True)
class Drawing:
    """One figure; parts are added in the order in which they lie over each other."""

    high_px: float
    wide_px: float = WIDE
    parts: list[str] = field(default_factory=list)
    panels: int = 0

    def panel(
        self,
        left: float,
        top: float,
        wide: float,
        high: float,
        *,
        x: Axis,
        y: Axis,
        title: str = "",
    ) -> Panel:
        """A pair of axes with its inner rectangle at a place."""
        self.panels += 1
        made = Panel(self, left, top, wide, high, x, y, f"p{self.panels}")
        made.frame(title)
        return made

    def text(
        self,
        x: float,
        y: float,
        words: str,
        *,
        anchor: Anchor = "start",
        colour: str = INK,
        bold: bool = False,
        turned: bool = False,
        halo: bool = False,
    ) -> None:
        """Words with their baseline at a place."""
        weight = ' font-weight="600"' if bold else ""
        place = "" if anchor == "start" else f' text-anchor="{anchor}"'
        turn = f' transform="rotate(-90 {_n(x)} {_n(y)})"' if turned else ""
        around = ' stroke="#fff" stroke-width="3" paint-order="stroke"' if halo else ""
        self.parts.append(
            f'<text x="{_n(x)}" y="{_n(y)}" fill="{colour}"{place}{weight}{turn}{around}>'
            f"{escape(words)}</text>"
        )

    def line(self, xs: Iterable[float], ys: Iterable[float], look: Look, extra: str = "") -> None:
        """A line through places of the drawing."""
        pairs = zip(xs, ys, strict=True)
        at = " ".join(f"{_n(x)},{_n(y)}" for x, y in pairs)
        self.parts.append(f'<polyline points="{at}" {look.tag}{extra}/>')

    def area(
        self, xs: Iterable[float], ys: Iterable[float], fill: str = PALE, extra: str = ""
    ) -> None:
        """A filled shape."""
        at = " ".join(f"{_n(x)},{_n(y)}" for x, y in zip(xs, ys, strict=True))
        self.parts.append(f'<polygon points="{at}" fill="{fill}"{extra}/>')

    def box(
        self, left: float, top: float, wide: float, high: float, fill: str, stroke: str = "none"
    ) -> None:
        """A rectangle."""
        self.parts.append(
            f'<rect x="{_n(left)}" y="{_n(top)}" width="{_n(wide)}" height="{_n(high)}" '
            f'fill="{fill}" stroke="{stroke}"/>'
        )

    def mark(self, x: float, y: float, mark: Mark, colour: str = INK, extra: str = "") -> None:
        """One point."""
        outline = f'fill="#fff" stroke="{colour}" stroke-width="1.3"{extra}'
        if mark in ("ring", "dot"):
            shape = f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{3.4 if mark == "ring" else 2:g}" '
            paint = outline if mark == "ring" else f'fill="{colour}"{extra}'
            self.parts.append(f"{shape}{paint}/>")
        elif mark == "square":
            place = f'x="{_n(x - 3)}" y="{_n(y - 3)}" width="6" height="6"'
            self.parts.append(f"<rect {place} {outline}/>")
        elif mark == "triangle":
            corners = ((0, -4), (3.7, 3), (-3.7, 3))
            at = " ".join(f"{_n(x + dx)},{_n(y + dy)}" for dx, dy in corners)
            self.parts.append(f'<polygon points="{at}" {outline}/>')
        else:
            path = (
                f"M{_n(x - 3)} {_n(y - 3)}L{_n(x + 3)} {_n(y + 3)}"
                f"M{_n(x - 3)} {_n(y + 3)}L{_n(x + 3)} {_n(y - 3)}"
            )
            self.parts.append(f'<path d="{path}" stroke="{colour}" stroke-width="1.4"{extra}/>')

    def picture(
        self,
        encoded: NDArray[Any],
        left: float,
        top: float,
        wide: float,
        high: float,
        *,
        jpeg: int | None = None,
        smooth: bool = True,
    ) -> None:
        """Pixels, (h, w) or (h, w, 3), 0 to 1, packed into the drawing."""
        codes = (np.clip(encoded, 0.0, 1.0) * 255.0 + 0.5).astype(np.uint8)
        packed = io.BytesIO()
        if jpeg is None:
            Image.fromarray(codes).save(packed, "PNG", optimize=True)
        else:
            Image.fromarray(codes).save(packed, "JPEG", quality=jpeg)
        kind = "png" if jpeg is None else "jpeg"
        data = base64.b64encode(packed.getvalue()).decode()
        place = f'x="{_n(left)}" y="{_n(top)}" width="{_n(wide)}" height="{_n(high)}"'
        look = "" if smooth else ' style="image-rendering:pixelated"'
        self.parts.append(
            f'<image {place} preserveAspectRatio="none"{look} '
            f'href="data:image/{kind};base64,{data}"/>'
        )

    def svg(self) -> str:
        """The whole figure."""
        head = (
            '<svg xmlns="http://www.w3.org/2000/svg" '
            f'viewBox="0 0 {_n(self.wide_px)} {_n(self.high_px)}" '
            f'width="{_n(self.wide_px)}" height="{_n(self.high_px)}" '
            'font-family="sans-serif" font-size="12">'
        )
        ground = '<rect width="100%" height="100%" fill="#fff"/>'
        return "\n".join([head, ground, *self.parts, "</svg>"]) + "\n"


@dataclass(frozen=True, slots=True)
class Panel:
    """A pair of axes; everything is given in their units and cut at their frame."""

    on: Drawing
    left: float
    top: float
    wide: float
    high: float
    x: Axis
    y: Axis
    name: str

    def at(self, xs: ArrayLike, ys: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Places on the drawing of values on both axes."""
        across = self.left + self.x.share(xs) * self.wide
        down = self.top + (1.0 - self.y.share(ys)) * self.high
        return np.atleast_1d(across), np.atleast_1d(down)

    def frame(self, title: str) -> None:
        """Grid, axes, their numbers and titles."""
        on, right, bottom = self.on, self.left + self.wide, self.top + self.high
        on.parts.append(
            f'<clipPath id="{self.name}"><rect x="{_n(self.left)}" y="{_n(self.top)}" '
            f'width="{_n(self.wide)}" height="{_n(self.high)}"/></clipPath>'
        )
        thin = Look(FAINT, 1.0)
        for value, words in self.x.labels():
            (at,), _ = self.at(value, self.y.low)
            on.line((at, at), (self.top, bottom), thin)
            on.text(at, bottom + 16, words, anchor="middle", colour=GREY)
        for value, words in self.y.labels():
            _, (at,) = self.at(self.x.low, value)
            on.line((self.left, right), (at, at), thin)
            on.text(self.left - 7, at + 4, words, anchor="end", colour=GREY)
        on.line((self.left, self.left, right), (self.top, bottom, bottom), Look(GREY, 1.0))
        on.text(self.left + self.wide / 2, bottom + 35, self.x.title, anchor="middle")
        if self.y.title:
            longest = max((len(words) for _, words in self.y.labels()), default=0)
            aside = self.left - 16 - _LETTER_PX * longest
            on.text(aside, self.top + self.high / 2, self.y.title, anchor="middle", turned=True)
        if title:
            on.text(self.left, self.top - 10, title, bold=True)

    @property
    def cut(self) -> str:
        """Attribute that keeps a part inside the frame."""
        return f' clip-path="url(#{self.name})"'

    def curve(self, xs: ArrayLike, ys: ArrayLike, look: Look | None = None) -> None:
        """A line through values."""
        self.on.line(*self.at(xs, ys), look or Look(), self.cut)

    def steps(self, edges: ArrayLike, heights: ArrayLike, look: Look | None = None) -> None:
        """A staircase: heights between edges, one edge more than heights."""
        at = np.repeat(np.asarray(edges, dtype=np.float64), 2)[1:-1]
        self.curve(at, np.repeat(np.asarray(heights, dtype=np.float64), 2), look)

    def points(self, xs: ArrayLike, ys: ArrayLike, mark: Mark = "ring", colour: str = INK) -> None:
        """Single values, as published or measured elsewhere."""
        for x, y in zip(*self.at(xs, ys), strict=True):
            self.on.mark(float(x), float(y), mark, colour)

    def between(self, xs: ArrayLike, low: ArrayLike, high: ArrayLike, fill: str = PALE) -> None:
        """The area between two curves over the same places."""
        across, down = self.at(xs, np.broadcast_to(np.asarray(low), np.shape(xs)))
        _, up = self.at(xs, np.broadcast_to(np.asarray(high), np.shape(xs)))
        self.on.area([*across, *across[::-1]], [*down, *up[::-1]], fill, self.cut)

    def level(self, y: float, look: Look | None = None) -> None:
        """A line across at one height."""
        self.curve((self.x.low, self.x.high), (y, y), look or Look(GREY, 1.0, "4 3"))

    def upright(self, x: float, look: Look | None = None) -> None:
        """A line down at one place."""
        self.curve((x, x), (self.y.low, self.y.high), look or Look(GREY, 1.0, "4 3"))

    def label(
        self,
        x: float,
        y: float,
        words: str,
        *,
        anchor: Anchor = "start",
        colour: str = INK,
        dx: float = 0.0,
        dy: float = 0.0,
    ) -> None:
        """Words at a value, moved by so many pixels, with a white rim to keep lines off."""
        (across,), (down,) = self.at(x, y)
        self.on.text(across + dx, down + dy, words, anchor=anchor, colour=colour, halo=True)

    def legend(
        self, rows: Sequence[tuple[Look | tuple[Mark, str], str]], dx: float, dy: float
    ) -> None:
        """Samples of lines and marks with their words, from a place within the frame on down."""
        left, top = self.left + dx, self.top + dy
        for row, (look, words) in enumerate(rows):
            y = top + 17 * row
            if isinstance(look, Look):
                self.on.line((left, left + 26), (y, y), look)
            else:
                self.on.mark(left + 13, y, *look)
            self.on.text(left + 32, y + 4, words, halo=True)
