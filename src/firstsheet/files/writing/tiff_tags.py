"""TIFF headers and directories, as bytes.

Takes tags as numbers, types and values; gives a little-endian directory for a known place in the
file. Classic (32-bit offsets) and BigTIFF (64-bit). Sources: TIFF 6.0 (1992) section 2; BigTIFF
design as registered with libtiff. Theory: docs/theory/files.md. Tests: tests/files/test_tiff*.py.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

__all__ = ["Layout", "Tag", "exact_rational", "header", "lay_out", "text_tag"]

BYTE, ASCII, SHORT, LONG, RATIONAL, UNDEFINED, LONG8 = 1, 2, 3, 4, 5, 7, 16
_UNIT_BYTES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 16: 8}
_CODES = {BYTE: "B", SHORT: "H", LONG: "I", LONG8: "Q"}


@dataclass(frozen=True, slots=True)
class Tag:
    """One directory entry: `data` is little-endian, `children` a directory it points to."""

    number: int
    kind: int
    data: bytes
    children: tuple[Tag, ...] = ()

    @classmethod
    def numbers(cls, number: int, kind: int, values: Sequence[int]) -> Tag:
        """An entry of whole numbers."""
        return cls(number, kind, struct.pack(f"<{len(values)}{_CODES[kind]}", *values))

    @property
    def count(self) -> int:
        """How many values the entry holds."""
        return len(self.data) // _UNIT_BYTES[self.kind]


@dataclass(frozen=True, slots=True)
class Layout:
    """A directory with its long values behind it, for one place in the file."""

    data: bytes
    value_at: dict[int, int]  # tag number -> where its value lies in the file


def text_tag(number: int, text: str) -> Tag:
    """A text entry, NUL-terminated. UTF-8: the same bytes as ASCII where ASCII suffices."""
    return Tag(number, ASCII, text.replace("\0", " ").encode("utf-8") + b"\0")


def exact_rational(value: float | Fraction) -> tuple[int, int]:
    """Two 32-bit whole numbers whose quotient is the value, exactly where that is possible.

    Examples
    --------
    >>> exact_rational(360.0), exact_rational(299.7), exact_rational(1000 / 3)
    ((360, 1), (2997, 10), (1000, 3))
    """
    whole = value if isinstance(value, Fraction) else _short_fraction(value)
    limit = 2**32 - 1
    denominator = min(limit, int(limit / max(whole, Fraction(1))))
    whole = whole.limit_denominator(denominator)
    return whole.numerator, whole.denominator


def _short_fraction(value: float) -> Fraction:
    """The simplest fraction that is this very double, else the double itself."""
    decimal = Fraction(repr(value))
    simple = decimal.limit_denominator(100_000)
    return simple if float(simple) == value else decimal


def header(*, big: bool, directory_at: int) -> bytes:
    """The first bytes of a little-endian file: 8, or 16 for BigTIFF."""
    if big:
        return struct.pack("<2sHHHQ", b"II", 43, 8, 0, directory_at)
    return struct.pack("<2sHI", b"II", 42, directory_at)


def lay_out(tags: Sequence[Tag], *, start: int, big: bool) -> Layout:
    """Put a directory at `start`, its long values and child directories behind it.

    The size depends only on the tags' kinds and counts, so it may be laid out twice: once to
    learn its length, once with the final offsets.
    """
    entry_bytes, inline = (20, 8) if big else (12, 4)
    ordered = sorted(tags, key=lambda tag: tag.number)
    head = (8 if big else 2) + entry_bytes * len(ordered) + (8 if big else 4)
    entries, behind, value_at = [], bytearray(), {}
    for index, tag in enumerate(ordered):
        place = start + (8 if big else 2) + index * entry_bytes + (12 if big else 8)
        data, count = tag.data, tag.count
        if tag.children:
            behind += b"\0" * (-len(behind) % 8)
            at = start + head + len(behind)
            behind += lay_out(tag.children, start=at, big=big).data
            data, count = at.to_bytes(8 if big else 4, "little"), 1
        elif len(data) > inline:
            behind += b"\0" * (-len(behind) % 8)
            place = start + head + len(behind)
            behind += data
            data = place.to_bytes(8 if big else 4, "little")
        value_at[tag.number] = place
        entries.append(
            struct.pack("<HHQ" if big else "<HHI", tag.number, tag.kind, count)
            + data.ljust(inline, b"\0")
        )
    counted = struct.pack("<Q" if big else "<H", len(ordered))
    no_next = b"\0" * (8 if big else 4)
    return Layout(b"".join([counted, *entries, no_next, bytes(behind)]), value_at)
