"""What a scan of the film would have to be.

Takes a film format and a wished size; gives samples per inch, pixels and bytes.
Needed spi = print ppi × print mm ÷ film mm. Frame sizes are common practice, no source.
Theory: docs/theory/rescan.md. Tests: tests/engine/test_rescan.py.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Mapping
from types import MappingProxyType

from firstsheet.engine.errors import TicketError
from firstsheet.engine.records.plan import RescanAnswer
from firstsheet.engine.units import MM_PER_INCH, parse_length_mm, plain_number

__all__ = ["FILM_FORMATS", "HOLDS_SPI", "parse_film", "rescan", "scan_bytes"]

# Image area, long side first, mm.
FILM_FORMATS: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "35mm": (36.0, 24.0),
        "6x4.5": (56.0, 41.5),
        "6x6": (56.0, 56.0),
        "6x7": (69.5, 56.0),
        "6x9": (84.0, 56.0),
        "4x5in": (120.0, 95.0),  # the sheet is 127 x 101.6; its holder covers the rim
    }
)
_OTHER_NAMES = {
    "35": "35mm",
    "135": "35mm",
    "24x36": "35mm",
    "36x24": "35mm",
    "24x36mm": "35mm",
    "645": "6x4.5",
    "4.5x6": "6x4.5",
    "7x6": "6x7",
    "9x6": "6x9",
    "4x5": "4x5in",
    "5x4": "4x5in",
    "5x4in": "4x5in",
}
HOLDS_SPI = 4000.0  # good film behind a good lens, 35 mm; common practice, no source


def parse_film(text: str) -> tuple[str, float, float]:
    """Read a film format or a frame in mm: name, long side, short side.

    >>> parse_film("6×7"), parse_film("56x70mm")
    (('6x7', 69.5, 56.0), ('70x56mm', 70.0, 56.0))
    """
    plain = re.sub(r"[\s]+", "", text.lower()).replace("×", "x").replace(",", ".")
    plain = plain.removesuffix("cm") if re.match(r"^6x[0-9.]+cm$", plain) else plain
    name = _OTHER_NAMES.get(plain, plain)
    if name in FILM_FORMATS:
        return name, *FILM_FORMATS[name]
    match = re.match(r"^([0-9.]+)(mm|cm|in)?x([0-9.]+)(mm|cm|in)$", plain)
    if match is None:
        near = difflib.get_close_matches(plain, FILM_FORMATS, n=3, cutoff=0.4)
        raise TicketError(
            f"“{text}” is not a film format that is known here.",
            "How fine the film must be scanned cannot be said.",
            f"Perhaps {', '.join(near or FILM_FORMATS)}? A frame in mm does as well: 56x70mm.",
            "unknown-film",
        )
    sides = (
        parse_length_mm(match[1] + (match[2] or match[4])),
        parse_length_mm(match[3] + match[4]),
    )
    return f"{max(sides):g}x{min(sides):g}mm", max(sides), min(sides)


def scan_bytes(width_px: int, height_px: int, *, channels: int = 3, bits: int = 16) -> int:
    """Bytes of an uncompressed scan.

    >>> scan_bytes(3000, 2200)
    39600000
    """
    return width_px * height_px * channels * bits // 8


def rescan(
    film: str,
    *,
    width_mm: float | None = None,
    height_mm: float | None = None,
    ppi: float = 300.0,
    file_px: tuple[int, int] | None = None,
    used_share: tuple[float, float] = (1.0, 1.0),
    channels: int = 3,
) -> RescanAnswer:
    """Work out the scan that a print of this size wants.

    Parameters
    ----------
    film
        A key of FILM_FORMATS, or a frame such as `56x70mm`.
    width_mm, height_mm
        The printed picture. One side is enough: the frame's shape gives the other.
    ppi
        What the print is to have on paper.
    file_px
        The present file, upright, if there is one: width and height.
    used_share
        The part of the file's width and height that is printed, 0 to 1, after cropping.
    channels
        3 for colour, 1 for grey.

    Raises
    ------
    TicketError
        If the film is unknown, or no side of the print is given.
    """
    name, long_mm, short_mm = parse_film(film)
    if width_mm is None and height_mm is None:
        raise TicketError(
            "No print size is given.",
            "How fine the film must be scanned depends on it.",
            "Give a width or a height.",
            "no-print-size",
            "--width 381mm",
        )
    upright = _lies_upright(width_mm, height_mm, file_px)
    frame_width, frame_height = (short_mm, long_mm) if upright else (long_mm, short_mm)
    used_width, used_height = frame_width * used_share[0], frame_height * used_share[1]
    enlargement = max(
        (width_mm or 0.0) / used_width,
        (height_mm or 0.0) / used_height,
    )
    needed_spi = ppi * enlargement
    width_px, height_px = (
        math.floor(side / MM_PER_INCH * needed_spi + 1e-6) for side in (frame_width, frame_height)
    )
    present_spi = 0.0 if file_px is None else _present_spi(file_px, frame_width, frame_height)
    is_limit = file_px is not None and present_spi < needed_spi * 0.995
    return RescanAnswer(
        film=name,
        frame_width_mm=frame_width,
        frame_height_mm=frame_height,
        needed_spi=round(needed_spi, 1),
        width_px=width_px,
        height_px=height_px,
        bytes_8bit=scan_bytes(width_px, height_px, channels=channels, bits=8),
        bytes_16bit=scan_bytes(width_px, height_px, channels=channels, bits=16),
        present_spi=round(present_spi, 1),
        present_is_limit=is_limit,
        sentence=_sentence(name, needed_spi, ppi, enlargement, present_spi, is_limit),
    )


def _lies_upright(
    width_mm: float | None, height_mm: float | None, file_px: tuple[int, int] | None
) -> bool:
    """Whether the frame stands upright: as the file does, or else as the print does."""
    if file_px is not None:
        return file_px[1] > file_px[0]
    return width_mm is not None and height_mm is not None and height_mm > width_mm


def _present_spi(file_px: tuple[int, int], frame_width: float, frame_height: float) -> float:
    """The lower of the two directions: a scan cut narrower than the frame is told as it is."""
    return min(
        file_px[0] / frame_width * MM_PER_INCH,
        file_px[1] / frame_height * MM_PER_INCH,
    )


def _sentence(
    name: str,
    needed_spi: float,
    ppi: float,
    enlargement: float,
    present_spi: float,
    is_limit: bool,
) -> str:
    times = plain_number(enlargement)
    start = (
        f"{times} times enlarged from {name} film at {plain_number(ppi, 0)} ppi, the print wants "
        f"a scan at {needed_spi:.0f} spi"
    )
    if present_spi == 0:
        end = "."
    elif is_limit:
        gain = needed_spi / present_spi
        end = (
            f"; the present file has about {present_spi:.0f} spi, so the file is the limit: a "
            f"rescan at {needed_spi:.0f} spi gives {gain:.1f} times the pixels a side."
        )
    else:
        end = f"; the present file has about {present_spi:.0f} spi: enough pixels for this print."
    if needed_spi > HOLDS_SPI * 1.02:
        end += (
            f" Film rarely holds detail beyond about {HOLDS_SPI:.0f} spi (common practice, no "
            "source), so such a scan would be mostly grain: print smaller, or accept it softer."
        )
    return start + end
