"""What a TIFF page says beside its pixels, and its EXIF as a block that travels.

Takes a page of the parser and the open file; gives Metadata. Standards: TIFF 6.0 section 8;
EXIF 2.32 section 4.6 (tag levels); tags 700 XMP, 33723 IPTC, 34377 image resources,
34675 ICC. Tests: tests/files/test_open_metadata.py.
"""

from __future__ import annotations

from typing import Any

from firstsheet.files.reading.byte_reader import ByteReader
from firstsheet.files.reading.exif import (
    EXIF_POINTER,
    GPS_POINTER,
    INTEROP_POINTER,
    Entry,
    ExifBlock,
    build_block,
    read_directory,
)
from firstsheet.files.reading.metadata import (
    Metadata,
    camera,
    colour_flag,
    iptc_in_resources,
    orientation,
    resolution,
    taken,
)

__all__ = ["tiff_metadata"]

# Tags of the main directory that describe the picture and not how this file stores it.
_TRAVELLING = frozenset(
    {270, 271, 272, 274, 282, 283, 296, 305, 306, 315, 316, 33432, 36867}
    | {18246, 18249, 40091, 40092, 40093, 40094, 40095}
)


def tiff_metadata(reader: ByteReader, page: Any, order: str, *, big: bool) -> Metadata:
    """Read the page's directory again, for the raw bytes of its tags."""

    def below(parent: dict[int, Entry], pointer: int) -> dict[int, Entry]:
        where = parent[pointer].number() if pointer in parent else None
        return read_directory(reader.read_at, int(where), order, big=big)[0] if where else {}

    entries, _ = read_directory(reader.read_at, int(page.offset), order, big=big)
    exif = below(entries, EXIF_POINTER)
    block = ExifBlock(
        order=order,
        main={tag: entry for tag, entry in entries.items() if tag in _TRAVELLING},
        thumbnail={},
        exif=exif,
        gps=below(entries, GPS_POINTER),
        interop=below(exif, INTEROP_POINTER),
    )
    x, y = resolution(entries)
    iptc = entries[33723].raw if 33723 in entries else None
    if iptc is None and 34377 in entries:
        iptc = iptc_in_resources(entries[34377].raw)
    return Metadata(
        icc=entries[34675].raw if 34675 in entries else None,
        exif=_travelling_block(block) or None,
        xmp=entries[700].raw if 700 in entries else None,
        iptc=iptc,
        orientation=orientation(entries),
        ppi_x=x,
        ppi_y=y,
        colour_flag=colour_flag(block),
        camera=camera(entries),
        taken=taken(block),
    )


def _travelling_block(block: ExifBlock) -> bytes:
    """An EXIF block, if the file says more than its resolution and orientation."""
    telling = set(block.main) - {274, 282, 283, 296}
    if not (telling or block.exif or block.gps):
        return b""
    narrow = {16: 4, 17: 9, 18: 4}  # BigTIFF's wide types have no place in EXIF

    def kept(entries: Any) -> dict[int, Entry]:
        return {tag: entry for tag, entry in entries.items() if entry.kind not in narrow}

    return build_block(
        block.order, kept(block.main), kept(block.exif), kept(block.gps), kept(block.interop)
    )
