"""Pictures dropped on the page, streamed to the disk.

Takes a name and chunks of bytes; gives a file in the uploads folder, whole or not at all, never
more than the disk holds. Tests: tests/web/test_bench_frames.py.
"""

from __future__ import annotations

import contextlib
import os
import re
import secrets
import shutil
from pathlib import Path
from typing import BinaryIO

from firstsheet.bench.allowed_paths import NotAllowedError
from firstsheet.engine.errors import OutputError
from firstsheet.engine.units import bytes_words

__all__ = ["Upload", "safe_name"]

_SPARE_BYTES = 256 * 2**20  # left free on the disk
_CHECK_EVERY_BYTES = 64 * 2**20
_LONGEST_NAME = 120
_KINDS = (".tif", ".tiff", ".png", ".jpg", ".jpeg", ".webp")


def safe_name(name: str) -> str:
    """The last part of a name with nothing in it that could lead elsewhere.

    Raises
    ------
    NotAllowedError
        If it is no picture's name.
    """
    last = re.split(r"[/\\]", name)[-1]
    clean = re.sub(r"[^\w .,()+-]", "_", last).strip(" .")
    stem, suffix = os.path.splitext(clean)  # noqa: PTH122  # a name, not a path
    if suffix.lower() not in _KINDS or not stem.strip("._ "):
        raise NotAllowedError(
            f"{last[:80]!r} is not the name of a picture that can be opened.",
            "Nothing was stored.",
            "Drop a TIFF, PNG, JPEG or WebP.",
            "not-a-picture",
        )
    return stem.lstrip(".")[:_LONGEST_NAME] + suffix


class Upload:
    """One file on its way in."""

    def __init__(self, folder: Path, name: str, announced_bytes: int | None) -> None:
        self._folder, self._name = folder, safe_name(name)
        self._path = folder / f".{secrets.token_hex(8)}.part"
        self._file: BinaryIO | None = None
        self._done, self._checked = 0, 0
        folder.mkdir(parents=True, exist_ok=True)
        self._check_room(announced_bytes or 0)

    def _check_room(self, needed_bytes: int) -> None:
        free = shutil.disk_usage(self._folder).free - _SPARE_BYTES
        if needed_bytes > free:
            raise OutputError(
                f"{self._name} has {bytes_words(needed_bytes)}; the disk has "
                f"{bytes_words(max(0, free))} to spare.",
                "Nothing of it was kept.",
                "Make room, or open the picture from where it lies instead of dropping it.",
                "disk-full",
            )

    def write(self, chunk: bytes) -> None:
        """Take the next bytes.

        Raises
        ------
        OutputError
            If the disk is full; nothing is kept then.
        """
        try:
            if self._file is None:
                self._file = self._path.open("xb")
            self._file.write(chunk)
        except OSError as error:
            self.abandon()
            raise OutputError(
                f"{self._name} could not be stored ({error.strerror}).",
                "Nothing of it was kept.",
                "Make room, or open the picture from where it lies.",
                "disk-full",
            ) from error
        self._done += len(chunk)
        if self._done - self._checked > _CHECK_EVERY_BYTES:
            self._checked = self._done
            try:
                self._check_room(0 if shutil.disk_usage(self._folder).free > _SPARE_BYTES else 1)
            except OutputError:
                self.abandon()
                raise

    def finish(self) -> Path:
        """Give the file its name; a free one where it is taken."""
        if self._file is None:
            self._file = self._path.open("xb")
        self._file.close()
        stem, suffix = os.path.splitext(self._name)  # noqa: PTH122
        target = self._folder / self._name
        count = 2
        while True:
            try:
                os.link(self._path, target)
                break
            except FileExistsError:
                target = self._folder / f"{stem} ({count}){suffix}"
                count += 1
            except OSError:  # no hard links on this disk
                self._path.replace(target)
                return target
        self._path.unlink()
        return target

    def abandon(self) -> None:
        """Leave nothing."""
        if self._file is not None:
            with contextlib.suppress(OSError):
                self._file.close()
        self._path.unlink(missing_ok=True)
