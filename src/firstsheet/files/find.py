"""Finding a file by its content, wherever it lies now.

Takes its SHA-256 and size and folders to look in; gives its path. Only files of the very size are
read. Tests: tests/files/test_find.py.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from pathlib import Path

from firstsheet.engine.errors import RefusedPictureError
from firstsheet.engine.streams import StopCheck
from firstsheet.files.hashing import sha256_of

__all__ = ["find_by_content", "is_content"]


def is_content(path: Path, sha256: str, size_bytes: int) -> bool:
    """Whether a path is a file of this size and SHA-256."""
    try:
        return path.stat().st_size == size_bytes and sha256_of(path) == sha256
    except (OSError, RefusedPictureError):
        return False


def find_by_content(
    sha256: str, size_bytes: int, folders: Iterable[tuple[Path, bool]], stop: StopCheck
) -> Path | None:
    """The first file of this content.

    Parameters
    ----------
    folders
        Where to look, and whether in the folders inside too. Hidden folders, links to folders and
        what may not be read are passed over.
    """
    seen: set[Path] = set()
    for folder, deep in folders:
        for path in _files(folder, deep=deep):
            stop()
            if path not in seen and is_content(path, sha256, size_bytes):
                return path
            seen.add(path)
    return None


def _files(folder: Path, *, deep: bool) -> Iterator[Path]:
    for place, inside, names in os.walk(folder):
        inside[:] = sorted(one for one in inside if deep and not one.startswith("."))
        for name in sorted(names):
            yield Path(place) / name
