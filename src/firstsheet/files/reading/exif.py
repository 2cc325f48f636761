"""Directories of tags, as TIFF files and EXIF blocks hold them, read and rebuilt.

Takes bytes; gives entries with their raw values. Every offset and count is checked against
the bytes present. Standards: TIFF 6.0 section 2; EXIF 2.32 (CIPA DC-008) section 4.6.
Tests: tests/files/test_open_metadata.py.
"""

from __future__ import annotations

import struct
from collections.abc import Callable, Mapping
from dataclasses import dataclass

__all__ = ["Entry", "ExifBlock", "build_block", "read_block", "read_directory"]

ReadAt = Callable[[int, int], bytes]

_SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4}
_BIG_SIZES = {16: 8, 17: 8, 18: 8}
_CODES = {1: "B", 3: "H", 4: "I", 6: "b", 8: "h", 9: "i", 11: "f", 12: "d", 13: "I", 16: "Q"}
_MOST_VALUE_BYTES = 16 << 20
_MOST_ENTRIES = 4096

EXIF_POINTER, GPS_POINTER, INTEROP_POINTER = 34665, 34853, 40965


@dataclass(frozen=True, slots=True)
class Entry:
    """One tag: its type, its count and its value as stored."""

    tag: int
    kind: int
    count: int
    raw: bytes
    order: str  # `<` or `>`

    def numbers(self) -> tuple[float, ...]:
        """The values as numbers; rationals are divided, a zero divisor gives 0."""
        if self.kind in (5, 10):
            code = "I" if self.kind == 5 else "i"
            flat = struct.unpack(f"{self.order}{self.count * 2}{code}", self.raw)
            pairs = zip(flat[::2], flat[1::2], strict=True)
            return tuple(top / under if under else 0.0 for top, under in pairs)
        if self.kind not in _CODES:
            return ()
        return struct.unpack(f"{self.order}{self.count}{_CODES[self.kind]}", self.raw)

    def number(self) -> float | None:
        """The first value, or None."""
        values = self.numbers()
        return values[0] if values else None

    def text(self) -> str:
        """The value as text, cut at the first zero byte."""
        return self.raw.split(b"\0", 1)[0].decode("utf-8", "replace").strip()


@dataclass(frozen=True, slots=True)
class ExifBlock:
    """The directories of an EXIF block: main, thumbnail, exif, gps, interoperability."""

    order: str
    main: Mapping[int, Entry]
    thumbnail: Mapping[int, Entry]
    exif: Mapping[int, Entry]
    gps: Mapping[int, Entry]
    interop: Mapping[int, Entry]
    thumbnail_jpeg: bytes = b""


def read_directory(
    read_at: ReadAt, offset: int, order: str, *, big: bool = False
) -> tuple[dict[int, Entry], int]:
    """Entries of the directory at `offset`, and the offset of the next one (0 = last).

    Entries that point outside the bytes, or are absurdly large, are left out.
    """
    count_size, entry_size, word = (8, 20, "Q") if big else (2, 12, "I")
    head = read_at(offset, count_size)
    if len(head) < count_size:
        return {}, 0
    number = struct.unpack(f"{order}{'Q' if big else 'H'}", head)[0]
    number = min(number, _MOST_ENTRIES)
    body = read_at(offset + count_size, number * entry_size)
    word_size = struct.calcsize(word)
    entries: dict[int, Entry] = {}
    for start in range(0, len(body) - entry_size + 1, entry_size):
        tag, kind, count = struct.unpack_from(f"{order}HH{word}", body, start)
        size = (_SIZES.get(kind) or (_BIG_SIZES.get(kind) if big else None) or 0) * count
        if not 0 < size <= _MOST_VALUE_BYTES:
            continue
        field = body[start + entry_size - word_size : start + entry_size]
        raw = field[:size]
        if size > word_size:
            raw = read_at(struct.unpack(f"{order}{word}", field)[0], size)
        if len(raw) == size:
            entries.setdefault(tag, Entry(tag, kind, count, raw, order))
    tail = read_at(offset + count_size + number * entry_size, word_size)
    following = struct.unpack(f"{order}{word}", tail)[0] if len(tail) == word_size else 0
    return entries, following


def read_block(data: bytes) -> ExifBlock | None:
    """Read an EXIF block, with or without its `Exif` prefix; None when it is not one."""
    if data[:6] == b"Exif\0\0":
        data = data[6:]
    order = {b"II*\0": "<", b"MM\0*": ">"}.get(data[:4])
    if order is None or len(data) < 8:
        return None

    def read_at(offset: int, count: int) -> bytes:
        return data[offset : offset + count] if offset >= 0 else b""

    def below(parent: Mapping[int, Entry], pointer: int) -> dict[int, Entry]:
        where = parent[pointer].number() if pointer in parent else None
        return read_directory(read_at, int(where), order)[0] if where else {}

    main, following = read_directory(read_at, struct.unpack(f"{order}I", data[4:8])[0], order)
    thumbnail = read_directory(read_at, following, order)[0] if following else {}
    exif = below(main, EXIF_POINTER)
    start = thumbnail[513].number() if 513 in thumbnail else None
    length = thumbnail[514].number() if 514 in thumbnail else None
    jpeg = read_at(int(start), int(length)) if start and length else b""
    return ExifBlock(
        order=order,
        main=main,
        thumbnail=thumbnail,
        exif=exif,
        gps=below(main, GPS_POINTER),
        interop=below(exif, INTEROP_POINTER),
        thumbnail_jpeg=jpeg,
    )


def build_block(
    order: str,
    main: Mapping[int, Entry],
    exif: Mapping[int, Entry],
    gps: Mapping[int, Entry],
    interop: Mapping[int, Entry],
) -> bytes:
    """Lay directories out as one EXIF block, beginning with the byte-order mark.

    Values are copied byte for byte; only the pointers between directories are new.
    """
    head = b"II*\0" if order == "<" else b"MM\0*"
    parts: list[bytes] = []
    end = 8

    def place(entries: Mapping[int, Entry], pointers: Mapping[int, int]) -> int:
        nonlocal end
        kept = {tag: entry for tag, entry in entries.items() if tag not in _POINTERS}
        for tag, target in pointers.items():
            if target:
                kept[tag] = Entry(tag, 4, 1, struct.pack(f"{order}I", target), order)
        if not kept:
            return 0
        start = end
        values_at = start + 2 + 12 * len(kept) + 4
        lines, values = [], b""
        for tag in sorted(kept):
            entry = kept[tag]
            field = entry.raw.ljust(4, b"\0")
            if len(entry.raw) > 4:
                field = struct.pack(f"{order}I", values_at + len(values))
                values += entry.raw + b"\0" * (len(entry.raw) % 2)
            lines.append(struct.pack(f"{order}HHI", tag, entry.kind, entry.count) + field)
        block = struct.pack(f"{order}H", len(kept)) + b"".join(lines) + b"\0\0\0\0" + values
        parts.append(block)
        end = start + len(block)
        return start

    interop_at = place(interop, {})
    exif_at = place(exif, {INTEROP_POINTER: interop_at})
    gps_at = place(gps, {})
    main_at = place(main, {EXIF_POINTER: exif_at, GPS_POINTER: gps_at})
    if not main_at:
        return b""
    return head + struct.pack(f"{order}I", main_at) + b"".join(parts)


_POINTERS = frozenset({EXIF_POINTER, GPS_POINTER, INTEROP_POINTER})
