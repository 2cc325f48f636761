"""What a file says of itself beside its pixels: profile, EXIF, XMP, IPTC, flags and tags.

Takes raw blocks found by the format openers; gives a Metadata record. Blocks are kept as
bytes, to be carried over. Standards: EXIF 2.32 (CIPA DC-008), DCF 2.0 option colour space,
XMP part 3 (ISO 16684-1), IPTC-IIM 4.2 in image resource 0x0404.
Theory: docs/theory/opening.md. Tests: tests/files/test_open_metadata.py.
"""

from __future__ import annotations

import struct
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from firstsheet.files.reading.exif import Entry, ExifBlock, read_block

__all__ = ["ColourFlag", "Metadata", "iptc_in_resources", "jpeg_size", "metadata_from_blocks"]

ColourFlag = Literal["", "srgb", "a98-rgb", "uncalibrated"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Metadata:
    """Blocks as bytes (None when absent) and the few facts read from them.

    `exif` is a self-contained block beginning with its byte-order mark; JPEG writers put
    `Exif` and two zero bytes before it. `iptc` is the bare IIM stream.
    """

    icc: bytes | None = None
    exif: bytes | None = None
    xmp: bytes | None = None
    iptc: bytes | None = None
    orientation: int | None = None  # as the flag says, sensible or not
    ppi_x: float | None = None
    ppi_y: float | None = None
    colour_flag: ColourFlag = ""
    camera: str = ""
    taken: str = ""
    thumbnail_px: tuple[int, int] | None = None


def metadata_from_blocks(
    *,
    icc: bytes | None = None,
    exif: bytes | None = None,
    xmp: bytes | None = None,
    iptc: bytes | None = None,
    ppi: tuple[float, float] | None = None,
) -> Metadata:
    """Read the facts out of the blocks; the container's own resolution goes first."""
    block = read_block(exif) if exif else None
    if exif and exif[:6] == b"Exif\0\0":
        exif = exif[6:]
    if block is None:
        x, y = ppi or (None, None)
        return Metadata(icc=icc or None, xmp=xmp or None, iptc=iptc or None, ppi_x=x, ppi_y=y)
    x, y = ppi or resolution(block.main)
    return Metadata(
        icc=icc or None,
        exif=exif,
        xmp=xmp or None,
        iptc=iptc or None,
        orientation=orientation(block.main),
        ppi_x=x,
        ppi_y=y,
        colour_flag=colour_flag(block),
        camera=camera(block.main),
        taken=taken(block),
        thumbnail_px=jpeg_size(block.thumbnail_jpeg),
    )


def orientation(entries: Mapping[int, Entry]) -> int | None:
    """The orientation flag as stored, or None."""
    value = entries[274].number() if 274 in entries else None
    return None if value is None else int(value)


def resolution(entries: Mapping[int, Entry]) -> tuple[float | None, float | None]:
    """Pixels per inch across and down; None where the tags say nothing usable."""
    unit = entries[296].number() if 296 in entries else 2
    per_inch = {2: 1.0, 3: 2.54}.get(int(unit or 0))
    found: list[float | None] = []
    for tag in (282, 283):
        value = entries[tag].number() if tag in entries else None
        usable = per_inch is not None and value is not None and 0 <= value < 1e6
        found.append(float(value) * per_inch if usable and value is not None and per_inch else None)
    return found[0], found[1]


def colour_flag(block: ExifBlock) -> ColourFlag:
    """The colour-space flag, with the interoperability index that DCF 2.0 adds to it."""
    value = block.exif[0xA001].number() if 0xA001 in block.exif else None
    index = block.interop[1].text() if 1 in block.interop else ""
    if value == 1:
        return "srgb"
    if value == 2 or (value == 65535 and index == "R03"):
        return "a98-rgb"
    return "uncalibrated" if value == 65535 else ""


def camera(entries: Mapping[int, Entry]) -> str:
    """Make and model as the file has them, the make not said twice."""
    make, model = (entries[tag].text() if tag in entries else "" for tag in (271, 272))
    if model.lower().startswith(make.lower()):
        return model
    return f"{make} {model}".strip()


def taken(block: ExifBlock) -> str:
    """When it was taken, `YYYY-MM-DD HH:MM:SS`, as the file has it."""
    for entries, tag in ((block.exif, 36867), (block.exif, 36868), (block.main, 306)):
        text = entries[tag].text() if tag in entries else ""
        if len(text) >= 10 and text[:4].isdigit():
            return text[:10].replace(":", "-") + text[10:]
    return ""


def iptc_in_resources(resources: bytes) -> bytes | None:
    """The IIM stream inside a block of image resources (number 0x0404), or None."""
    at = 0
    while resources[at : at + 4] == b"8BIM" and at + 12 <= len(resources):
        number = struct.unpack_from(">H", resources, at + 4)[0]
        name = resources[at + 6] + 1
        start = at + 6 + name + name % 2
        if start + 4 > len(resources):
            return None
        size = struct.unpack_from(">I", resources, start)[0]
        if number == 0x0404:
            return resources[start + 4 : start + 4 + size] or None
        at = start + 4 + size + size % 2
    return None


def jpeg_size(data: bytes) -> tuple[int, int] | None:
    """Width and height of a JPEG stream, from its frame header; None when there is none."""
    at = 2
    while data[:2] == b"\xff\xd8" and at + 9 <= len(data) and data[at] == 0xFF:
        marker = data[at + 1]
        if 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):
            height, width = struct.unpack_from(">HH", data, at + 5)
            return width, height
        at += 2 + int(struct.unpack_from(">H", data, at + 2)[0])
    return None
