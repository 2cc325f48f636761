"""Type for the job sheet: fonts, greys, runs of letters, lines that fit a width.

Takes text in any script; gives drawn text. Latin is Helvetica, signs the standard Symbol font,
Greek and Cyrillic are set in Latin letters, Chinese, Japanese and Korean in a font of the reader's
own. Nothing is embedded, so the bytes are the same on every machine.
Tests: tests/files/test_jobsheet_type.py.
"""

from __future__ import annotations

import functools
import re
import unicodedata
from collections.abc import Callable
from typing import Any

from firstsheet.files.jobsheet.latin import in_latin

__all__ = ["ACCENT", "BOLD", "HAIR", "INK", "MM", "PLAIN", "QUIET", "WASH", "Pen"]

MM = 72 / 25.4  # points
INK, QUIET, HAIR, WASH = 0.13, 0.42, 0.76, 0.95  # greys, R = G = B
ACCENT = (0.20, 0.36, 0.38)  # the one muted colour
PLAIN, BOLD = "Helvetica", "Helvetica-Bold"
_SIGNS = "Δ→←≤≥≠−″′∞√≈"
_EAST, _HANGUL = "HeiseiKakuGo-W5", "HYGothic-Medium"
_UNKNOWN = "¤"
_GAPS = re.compile(r"[ \t\n]+")  # a no-break space is no place to break a line
_UNITS = re.compile(r"(?<=\d) (?=(?:%|mm|cm|m|ppi|lux)(?:\W|$))")  # stay with their number


class Pen:
    """Draws text on a canvas; `changed_letters` tells whether some letter was set otherwise."""

    def __init__(self, canvas: Any) -> None:
        self.canvas = canvas
        self.changed_letters = False
        self._known: set[str] = set()

    def text(
        self,
        x: float,
        y: float,
        words: str,
        *,
        size: float,
        font: str = PLAIN,
        grey: float = INK,
        align: str = "left",
    ) -> float:
        """Draw one line with its baseline at y; gives its width in points."""
        runs = self._runs(words, font)
        width = sum(self._run_width(run, name, size) for name, run in runs)
        x -= {"left": 0.0, "centre": width / 2, "right": width}[align]
        self.canvas.setFillGray(grey)
        for name, run in runs:
            self.canvas.setFont(name, size)
            self.canvas.drawString(x, y, run)
            x += self._run_width(run, name, size)
        return width

    def width(self, words: str, *, size: float, font: str = PLAIN) -> float:
        """Width of a line in points."""
        return sum(self._run_width(run, name, size) for name, run in self._runs(words, font))

    def lines(self, words: str, *, width: float, size: float, font: str = PLAIN) -> list[str]:
        """Break text into lines no wider than `width` points."""
        out, line = [], ""
        for word in _GAPS.split(_UNITS.sub("\u00a0", words).strip()):
            longer = f"{line} {word}".strip()
            if self.width(longer, size=size, font=font) <= width:
                line = longer
                continue
            if line:
                out.append(line)
            line = word
            while self.width(line, size=size, font=font) > width and len(line) > 1:
                cut = self._longest(
                    len(line) - 1, width, size, font, functools.partial(_first, line)
                )
                out.append(line[:cut])
                line = line[cut:]
        return [*out, line] if line else out

    def paragraph(
        self,
        x: float,
        y: float,
        words: str,
        *,
        width: float,
        size: float,
        font: str = PLAIN,
        grey: float = INK,
        leading: float = 1.36,
    ) -> float:
        """Draw lines from baseline y downwards; gives the baseline below the last one."""
        for line in self.lines(words, width=width, size=size, font=font):
            self.text(x, y, line, size=size, font=font, grey=grey)
            y -= size * leading
        return y

    def fit(self, words: str, *, width: float, size: float, font: str = PLAIN) -> str:
        """Shorten the middle of a line until it fits."""
        if self.width(words, size=size, font=font) <= width:
            return words

        def shorter(keep: int) -> str:
            return words[: keep - keep // 2] + "…" + words[len(words) - keep // 2 :]

        return shorter(self._longest(len(words) - 1, width, size, font, shorter))

    def _longest(
        self, most: int, width: float, size: float, font: str, words_of: Callable[[int], str]
    ) -> int:
        """The largest count, at least 1, whose words fit the width."""
        low, high = 1, max(1, most)
        while low < high:
            middle = (low + high + 1) // 2
            if self.width(words_of(middle), size=size, font=font) <= width:
                low = middle
            else:
                high = middle - 1
        return low

    def _run_width(self, run: str, font: str, size: float) -> float:
        return float(self.canvas.stringWidth(run, font, size))

    def _runs(self, words: str, font: str) -> list[tuple[str, str]]:
        """Split into (font, letters) so that every letter has a glyph."""
        if words.isascii() and words.isprintable():
            return [(font, words)]
        runs: list[tuple[str, str]] = []
        for letter in self._settable(words):
            name, shown = self._font_for(letter, font)
            if runs and runs[-1][0] == name:
                runs[-1] = (name, runs[-1][1] + shown)
            else:
                runs.append((name, shown))
        return runs

    def _settable(self, words: str) -> str:
        """The words with every letter that has a Latin stand-in replaced, signs left alone."""
        whole = unicodedata.normalize("NFC", words)
        if whole.isascii():
            return whole
        parts = re.split(f"([{_SIGNS}])", whole)
        latin = "".join(part if part in _SIGNS else in_latin(part) for part in parts)
        self.changed_letters = self.changed_letters or latin != whole
        return latin

    def _font_for(self, letter: str, font: str) -> tuple[str, str]:
        if unicodedata.category(letter) in ("Cc", "Cf", "Zl", "Zp"):
            return font, " "
        if _fits(letter, "cp1252"):
            return font, letter
        if letter in _SIGNS:
            return "Symbol", letter
        for name, encoding in ((_EAST, "shift_jis"), (_HANGUL, "euc_kr")):
            if _fits(letter, encoding):
                return self._ready(name), letter
        if "\u4e00" <= letter <= "\u9fff":
            return self._ready("STSong-Light"), letter
        self.changed_letters = True
        return font, _UNKNOWN

    def _ready(self, name: str) -> str:
        """Register a font of the reader's own once."""
        if name not in self._known:
            from reportlab.pdfbase import pdfmetrics
            from reportlab.pdfbase.cidfonts import UnicodeCIDFont

            pdfmetrics.registerFont(UnicodeCIDFont(name))
            self._known.add(name)
        return name


def _first(words: str, count: int) -> str:
    return words[:count]


@functools.cache
def _fits(letter: str, encoding: str) -> bool:
    try:
        letter.encode(encoding)
    except UnicodeEncodeError:
        return False
    return True
