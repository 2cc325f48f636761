"""What a file really is, told by its first bytes, never by its name.

Takes the first kilobytes and the path; gives a Kind or refuses. Signatures: TIFF 6.0
section 2 and the BigTIFF design note; PNG (W3C, third edition) section 5.2; ITU-T T.81
annex B; RFC 9649 (WebP). Tests: tests/files/test_open_rules.py.
"""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from firstsheet.engine.errors import RefusedPictureError

__all__ = ["Kind", "raw_refusal", "recognise"]

Kind = Literal["TIFF", "PNG", "JPEG", "WebP"]

# Signatures of camera makers' own raw files: (offset, bytes). Written as hexadecimal, for
# several of them spell a maker's name.
_RAW_MARKS: tuple[tuple[int, bytes], ...] = (
    (0, bytes.fromhex("49495500")),
    (0, bytes.fromhex("4949524f")),
    (0, bytes.fromhex("49495253")),
    (0, bytes.fromhex("4d4d4f52")),
    (0, bytes.fromhex("46554a4946494c4d4343442d524157")),
    (0, bytes.fromhex("464f5662")),
    (0, bytes.fromhex("004d524d")),
    (4, bytes.fromhex("6674797063727820")),
    (6, bytes.fromhex("4845415043434452")),
    (8, bytes.fromhex("435202")),
)

# Pictures of kinds this program does not read: (offset, bytes, how people call it).
_OTHER_KINDS: tuple[tuple[int, bytes, str], ...] = (
    (0, b"GIF8", "a GIF"),
    (0, b"BM", "a BMP"),
    (0, b"8BPS", "a layered editing file"),
    (0, b"%PDF", "a PDF"),
    (0, b"\0\0\0\x0cjP  ", "a JPEG 2000"),
    (0, b"\xff\x4f\xff\x51", "a JPEG 2000 stream"),
    (0, b"\xff\x0a", "a JPEG XL"),
    (0, b"\0\0\0\x0cJXL ", "a JPEG XL"),
    (0, b"\x76\x2f\x31\x01", "an OpenEXR"),
    (0, b"#?RADIANCE", "an RGBE"),
    (4, b"ftypheic", "an HEIF"),
    (4, b"ftypheix", "an HEIF"),
    (4, b"ftypmif1", "an HEIF"),
    (4, b"ftypavif", "an AVIF"),
    (0, b"<svg", "an SVG drawing"),
    (0, b"<?xml", "an XML file"),
)


def recognise(head: bytes, path: Path) -> Kind:
    """Kind of the file whose first bytes are `head` (at least 16, where it has them).

    Raises
    ------
    RefusedPictureError
        If it is a camera's raw file, a picture of a kind not read here, or no picture.
    """
    if any(head[at : at + len(mark)] == mark for at, mark in _RAW_MARKS):
        raise raw_refusal(path)
    if head[:4] in (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"):
        return "TIFF"
    if head[:8] == b"\x89PNG\r\n\x1a\n":
        return "PNG"
    if head[:3] == b"\xff\xd8\xff":
        return "JPEG"
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return "WebP"
    for at, mark, name in _OTHER_KINDS:
        if head[at : at + len(mark)] == mark:
            raise RefusedPictureError(
                f"{path.name} is {name} file.",
                "This kind is not read here.",
                "Save it as a 16-bit TIFF with its profile, and use that.",
                "kind-not-read",
            )
    raise RefusedPictureError(
        f"{path.name} does not begin like a TIFF, PNG, JPEG or WebP file.",
        "It is no picture, or its beginning is damaged.",
        "Name a picture, or copy the file again from where it came from.",
        "not-a-picture",
    )


def raw_refusal(path: Path) -> RefusedPictureError:
    """Refusal of a camera's raw file."""
    return RefusedPictureError(
        f"{path.name} is a camera's raw file: sensor readings, not yet a picture.",
        "How it looks is decided when it is rendered, and that is not done here.",
        "Render it in the program you develop with, save a 16-bit TIFF with its profile, "
        "and use that.",
        "raw-camera-file",
    )
