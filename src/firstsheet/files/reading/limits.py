"""Limits told, not met: decompression bombs, absurd sizes, room for temporary files.

Takes claims of a header; raises with the sum shown. Theory: docs/theory/opening.md.
Tests: tests/files/test_open_rules.py.
"""

from __future__ import annotations

from firstsheet.engine.errors import RefusedPictureError

__all__ = ["BOMB_BYTES", "BOMB_RATIO", "MOST_PIXELS", "check_claim", "check_spool"]

BOMB_BYTES = 256 << 20  # below this even a lying header does no harm
BOMB_RATIO = 300  # photographs pack at most about 60 to 1; common practice, no source
MOST_PIXELS = 16_000_000_000
_SPARE_BYTES = 64 << 20


def check_claim(
    name: str, width: int, height: int, decoded_bytes: int, file_bytes: int, *, allow_bomb: bool
) -> None:
    """Refuse a small file that claims absurdly many pixels, unless the person insists."""
    pixels = width * height
    if pixels == 0:
        raise RefusedPictureError(
            f"{name} claims {width} × {height} pixels.",
            "There is nothing to print.",
            "Save the picture again from its source.",
            "no-pixels",
        )
    ratio = decoded_bytes / max(1, file_bytes)
    bomb = decoded_bytes > BOMB_BYTES and ratio > BOMB_RATIO
    if (bomb or pixels > MOST_PIXELS) and not allow_bomb:
        limit = f"{MOST_PIXELS / 1e9:.0f} gigapixels"
        raise RefusedPictureError(
            f"{name} has {file_bytes / 1e6:,.2f} MB and claims {width:,} × {height:,} pixels: "
            f"{pixels / 1e9:,.2f} gigapixels, {decoded_bytes / 1e6:,.0f} MB unpacked, "
            f"{ratio:,.0f} times the file.",
            f"A photograph never packs more than {BOMB_RATIO} times"
            + (f", and more than {limit} are not opened" if pixels > MOST_PIXELS else "")
            + "; this may be made to fill the memory and the disk.",
            "If you trust the file and have the room, allow it.",
            "decompression-bomb",
            "--answer decompression-bomb=open",
        )


def check_spool(name: str, needed_bytes: int) -> None:
    """Refuse when the disk for temporary files has no room for the unpacked rows."""
    import shutil
    import tempfile  # most pictures need neither

    folder = tempfile.gettempdir()
    free = shutil.disk_usage(folder).free
    if needed_bytes + _SPARE_BYTES > free:
        raise RefusedPictureError(
            f"{name} must be unpacked once into a temporary file of "
            f"{needed_bytes / 1e6:,.0f} MB; {folder} has {free / 1e6:,.0f} MB free.",
            "It cannot be read row by row where it lies.",
            "Make room, point TMPDIR at a larger disk, or save the picture as an uncompressed "
            "TIFF.",
            "no-room-to-unpack",
        )
