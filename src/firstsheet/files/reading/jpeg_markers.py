"""The marker segments of a JPEG stream: frame, tables, profile, metadata.

Takes bytes; gives what the markers say, nothing decoded. Standards: ITU-T T.81 annex B
(markers), T.871 (JFIF density), ICC.1 annex B.4 (profile in parts), EXIF 2.32 4.7,
XMP part 3 1.1.3, CIPA DC-007 (multi-picture). Tests: tests/files/test_open_metadata.py.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass, field

__all__ = ["JpegMarkers", "quantisation_tables", "read_markers"]

_XMP = b"http://ns.adobe.com/xap/1.0/\0"
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
_LOSSLESS = frozenset({0xC3, 0xC7, 0xCB, 0xCF})


@dataclass(slots=True)
class JpegMarkers:
    """What stands before the first scan."""

    width: int = 0
    height: int = 0
    bits: int = 0
    components: int = 0
    sampling: tuple[tuple[int, int], ...] = ()
    progressive: bool = False
    lossless: bool = False
    arithmetic: bool = False
    tables: tuple[tuple[int, ...], ...] = ()
    icc: bytes | None = None
    icc_problem: str = ""
    exif: bytes | None = None
    xmp: bytes | None = None
    resources: bytes = b""
    ppi: tuple[float, float] | None = None
    several_pictures: bool = False
    scan_at: int = 0
    icc_parts: dict[int, bytes] = field(default_factory=dict)
    icc_total: int = 0

    @property
    def chroma_sampling(self) -> str | None:
        """Chroma sampling in the usual notation; None for grey."""
        if self.components < 3:
            return None
        across = max(h for h, _ in self.sampling) // max(1, self.sampling[1][0])
        down = max(v for _, v in self.sampling) // max(1, self.sampling[1][1])
        names = {(1, 1): "4:4:4", (2, 1): "4:2:2", (2, 2): "4:2:0", (1, 2): "4:4:0"}
        names |= {(4, 1): "4:1:1", (4, 2): "4:1:0"}
        return names.get((across, down), f"{across}x{down}")


def read_markers(data: bytes) -> JpegMarkers:
    """Walk the marker segments up to the first scan; stops quietly where they end."""
    found = JpegMarkers()
    tables: dict[int, tuple[int, ...]] = {}
    at = 2
    while at + 4 <= len(data):
        if data[at] != 0xFF:
            break
        marker = data[at + 1]
        if marker == 0xFF:
            at += 1
            continue
        if marker == 0x01 or 0xD0 <= marker <= 0xD8:
            at += 2
            continue
        size = struct.unpack_from(">H", data, at + 2)[0]
        body = data[at + 4 : at + 2 + size]
        if marker == 0xDA:
            found.scan_at = at
            break
        if marker in _FRAMES and len(body) >= 6 and not found.components:
            _frame(found, marker, body)
        elif marker == 0xDB:
            tables.update(_tables_in(body))
        elif 0xE0 <= marker <= 0xEF:
            _application(found, marker, body)
        at += 2 + max(2, size)
    found.tables = tuple(tables[key] for key in sorted(tables))
    _join_profile(found)
    return found


def quantisation_tables(stream: bytes) -> tuple[tuple[int, ...], ...]:
    """The tables of a stream that may hold nothing else, each in zigzag order."""
    return read_markers(stream).tables if stream[:2] == b"\xff\xd8" else ()


def _frame(found: JpegMarkers, marker: int, body: bytes) -> None:
    found.bits = body[0]
    found.height, found.width, found.components = struct.unpack_from(">HHB", body, 1)
    found.progressive = marker in (0xC2, 0xC6, 0xCA, 0xCE)
    found.lossless = marker in _LOSSLESS
    found.arithmetic = marker >= 0xC9
    factors = body[6 : 6 + 3 * found.components]
    found.sampling = tuple((f >> 4 or 1, f & 15 or 1) for f in factors[1::3])
    if len(found.sampling) < found.components:
        found.components = 0


def _tables_in(body: bytes) -> dict[int, tuple[int, ...]]:
    found = {}
    at = 0
    while at < len(body):
        wide, number = body[at] >> 4, body[at] & 15
        size = 128 if wide else 64
        values = body[at + 1 : at + 1 + size]
        if len(values) < size:
            break
        found[number] = struct.unpack(">64H", values) if wide else tuple(values)
        at += 1 + size
    return found


def _application(found: JpegMarkers, marker: int, body: bytes) -> None:
    if marker == 0xE0 and body[:5] == b"JFIF\0" and len(body) >= 12:
        unit, x, y = struct.unpack_from(">BHH", body, 7)
        if unit in (1, 2):
            scale = 1.0 if unit == 1 else 2.54
            found.ppi = (x * scale, y * scale)
    elif marker == 0xE1 and body[:6] == b"Exif\0\0" and found.exif is None:
        found.exif = body
    elif marker == 0xE1 and body.startswith(_XMP) and found.xmp is None:
        found.xmp = body[len(_XMP) :]
    elif marker == 0xE2 and body[:12] == b"ICC_PROFILE\0" and len(body) > 14:
        found.icc_parts[body[12]] = body[14:]
        found.icc_total = body[13]
    elif marker == 0xE2 and body[:4] == b"MPF\0":
        found.several_pictures = True
    elif marker == 0xED and body[:14] == b"Photoshop 3.0\0":
        found.resources += body[14:]


def _join_profile(found: JpegMarkers) -> None:
    """Join the profile's parts; a missing part leaves the profile broken, and is told."""
    if not found.icc_parts:
        return
    found.icc = b"".join(found.icc_parts[key] for key in sorted(found.icc_parts))
    missing = set(range(1, found.icc_total + 1)) - set(found.icc_parts)
    if missing:
        found.icc_problem = f"{len(missing)} of its {found.icc_total} parts are missing"
