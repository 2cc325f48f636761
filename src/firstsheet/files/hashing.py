"""Who a file is: its SHA-256.

Takes paths; gives hexadecimal digests. Theory: docs/theory/opening.md.
Tests: tests/files/test_open_hashing.py.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

from firstsheet.engine.errors import RefusedPictureError
from firstsheet.engine.streams import Progress, StopCheck
from firstsheet.files.reading.byte_reader import ByteReader, open_for_reading

__all__ = ["sha256_of", "sha256_of_reader", "unchanged"]

_BLOCK_BYTES = 4 << 20


def sha256_of(
    path: str | Path, progress: Progress | None = None, stop: StopCheck | None = None
) -> str:
    """SHA-256 of a file's bytes, hexadecimal, in bounded memory.

    Raises
    ------
    RefusedPictureError
        If the file cannot be read.
    """
    reader = open_for_reading(Path(path))
    try:
        return sha256_of_reader(reader, progress, stop)
    finally:
        reader.close()


def sha256_of_reader(
    reader: ByteReader, progress: Progress | None = None, stop: StopCheck | None = None
) -> str:
    """SHA-256 of an open file; the hash runs outside the interpreter lock."""
    digest = hashlib.sha256()
    block = memoryview(bytearray(_BLOCK_BYTES))
    done = 0
    while True:
        got = reader.read_into(done, block)
        digest.update(block[:got])
        done += got
        if stop is not None:
            stop()
        if progress is not None:
            progress("reading the file", min(1.0, done / reader.size_bytes))
        if got < _BLOCK_BYTES:
            return digest.hexdigest()


def unchanged(path: str | Path, sha256: str) -> bool:
    """Whether the file at `path` still has this SHA-256; a missing file has changed."""
    try:
        return sha256_of(path) == sha256
    except RefusedPictureError:
        return False
