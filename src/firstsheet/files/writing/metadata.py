"""What of a picture's metadata goes on into its print file.

Takes EXIF (a small TIFF of its own), XMP and IPTC as bytes; gives TIFF tags. The orientation is
cleared because rows are turned; what describes the old pixels is left out and named.
Source: Exif 2.32 (CIPA DC-008-2019), section 4.6. Tests: tests/files/test_tiffsink_metadata.py.
"""

from __future__ import annotations

import re
import struct
from dataclasses import dataclass

from firstsheet.files.writing.tiff_tags import Tag

__all__ = ["Carried", "carried_tags", "left_out"]

_UNIT_BYTES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8}
_SWAP = {3: 2, 8: 2, 4: 4, 9: 4, 11: 4, 5: 4, 10: 4, 12: 8}  # bytes turned round together
_MAIN = {270, 271, 272, 306, 315, 33432}  # description make model date artist copyright
_EXIF, _PLACE = 34665, 34853
_OLD_PIXELS = {40961: "colour space flag", 40962: "pixel width", 40963: "pixel height"}
_UNMOVABLE = {37500: "maker's note", 40965: "interoperability record"}
_LIMIT = 1000  # entries in one directory; more is damage
_TURNED = re.compile(rb"(tiff:Orientation(?:>|=[\"']))[2-8](?=[<\"'])")


@dataclass(frozen=True, slots=True)
class Carried:
    """Metadata of the source as bytes; empty where the source has none."""

    exif: bytes = b""  # with or without the `Exif` mark in front
    xmp: bytes = b""
    iptc: bytes = b""


def carried_tags(metadata: Carried) -> list[Tag]:
    """TIFF tags for everything that may be kept."""
    tags = _exif_tags(metadata.exif)[0]
    if metadata.xmp:
        tags.append(Tag(700, 1, _TURNED.sub(rb"\g<1>1", metadata.xmp)))
    if metadata.iptc:
        tags.append(Tag(33723, 7, metadata.iptc))
    return tags


def left_out(metadata: Carried) -> tuple[str, ...]:
    """What the print file will not carry, in words."""
    return _exif_tags(metadata.exif)[1]


def _exif_tags(exif: bytes) -> tuple[list[Tag], tuple[str, ...]]:
    """Entries to keep, and the names of what is dropped."""
    data = exif.removeprefix(b"Exif\0\0")
    if not data:
        return [], ()
    try:
        order = {b"II": "<", b"MM": ">"}[data[:2]]
        magic, first = struct.unpack_from(order + "HI", data, 2)
        if magic != 42:
            raise ValueError(magic)
        main = _entries(data, first, order)
    except (KeyError, ValueError, struct.error):
        return [], ("EXIF record (damaged)",)
    kept = [Tag(number, kind, value) for number, kind, value in main if number in _MAIN]
    dropped: list[str] = []
    for pointer in (_EXIF, _PLACE):
        for number, kind, value in main:
            if number == pointer:
                inner = _inner(data, int.from_bytes(value[:4], "little"), order, dropped)
                if inner:
                    kept.append(Tag(pointer, kind, value, children=inner))
    return kept, tuple(dropped)


def _inner(data: bytes, at: int, order: str, dropped: list[str]) -> tuple[Tag, ...]:
    try:
        entries = _entries(data, at, order)
    except (ValueError, struct.error):
        dropped.append("EXIF part (damaged)")
        return ()
    unwanted = _OLD_PIXELS | _UNMOVABLE
    dropped += [unwanted[number] for number, _, _ in entries if number in unwanted]
    return tuple(Tag(*entry) for entry in entries if entry[0] not in unwanted)


def _entries(data: bytes, at: int, order: str) -> list[tuple[int, int, bytes]]:
    """Number, kind and little-endian value of each entry of a directory; damaged ones are left."""
    (count,) = struct.unpack_from(order + "H", data, at)
    if count > _LIMIT:
        raise ValueError(count)
    found: dict[int, tuple[int, int, bytes]] = {}
    for index in range(count):
        place = at + 2 + 12 * index
        number, kind, values = struct.unpack_from(order + "HHI", data, place)
        length = _UNIT_BYTES.get(kind, 0) * values
        if length > 4:
            (start,) = struct.unpack_from(order + "I", data, place + 8)
        else:
            start = place + 8
        if length > 0 and start + length <= len(data):
            found.setdefault(
                number, (number, kind, _little(data[start : start + length], kind, order))
            )
    return sorted(found.values())


def _little(value: bytes, kind: int, order: str) -> bytes:
    """The same values in little-endian order."""
    step = _SWAP.get(kind, 1)
    if order == "<" or step == 1:
        return value
    return b"".join(value[i : i + step][::-1] for i in range(0, len(value), step))
