"""The door: a file is looked at before it is opened, and opened for reading only.

Takes a path; gives a ByteReader that any number of threads may read from at any offset.
Theory: docs/theory/opening.md. Tests: tests/files/test_open_rules.py, test_open_rows.py.
"""

from __future__ import annotations

import contextlib
import os
import stat
import threading
from pathlib import Path

from firstsheet.engine.errors import RefusedPictureError

__all__ = ["ByteReader", "open_for_reading"]


class ByteReader:
    """A file open for reading, with reads at any offset from any thread.

    Holds one descriptor; nothing is mapped, so what was read does not stay in the process.
    """

    def __init__(self, path: Path, descriptor: int) -> None:
        self.path = path
        self._descriptor = descriptor
        self._lock = threading.Lock()
        self._open = True
        status = os.fstat(descriptor)
        self.size_bytes = status.st_size
        self.stamp = (status.st_size, status.st_mtime_ns)

    def read_into(self, offset: int, target: memoryview) -> int:
        """Fill `target` from `offset` on; gives the number of bytes really read."""
        view = target.cast("B")
        done = 0
        while done < len(view):
            got = self._read_once(offset + done, view[done:])
            if got == 0:
                break
            done += got
        return done

    def read_at(self, offset: int, count: int) -> bytes:
        """Up to `count` bytes from `offset` on; fewer where the file ends."""
        count = max(0, min(count, self.size_bytes - offset))
        if offset < 0 or count == 0:
            return b""
        if hasattr(os, "pread") and self._open:
            data = os.pread(self._descriptor, count, offset)
            if len(data) == count:
                return data
        buffer = bytearray(count)
        got = self.read_into(offset, memoryview(buffer))
        return bytes(buffer[:got])

    def read_pieces(self, first: int, stride: int, target: memoryview, pieces: int) -> int:
        """Fill `target` with equal pieces that lie `stride` bytes apart; gives the whole ones.

        Hundreds of short reads make a tile, so each is one call where the platform has it.
        """
        view = target.cast("B")
        length = len(view) // pieces
        if not (hasattr(os, "preadv") and self._open):
            for piece in range(pieces):
                part = view[piece * length : (piece + 1) * length]
                if self.read_into(first + piece * stride, part) < length:
                    return piece
            return pieces
        preadv, descriptor = os.preadv, self._descriptor
        for piece in range(pieces):
            begin, offset = piece * length, first + piece * stride
            part = view[begin : begin + length]
            if preadv(descriptor, (part,), offset) != length and (
                self.read_into(offset, part) < length
            ):
                return piece
        return pieces

    def unchanged_since_opening(self) -> bool:
        """Whether size and time of change are what they were, by name and by descriptor."""
        try:
            named = self.path.stat()
        except OSError:
            return False
        held = os.fstat(self._descriptor)
        return all((s.st_size, s.st_mtime_ns) == self.stamp for s in (named, held))

    def close(self) -> None:
        """Give the descriptor back; closing twice is harmless."""
        with self._lock:
            if self._open:
                self._open = False
                os.close(self._descriptor)

    def _read_once(self, offset: int, view: memoryview) -> int:
        if not self._open:
            raise ValueError("the picture was closed")
        if hasattr(os, "preadv"):
            return os.preadv(self._descriptor, [view], offset)
        with self._lock:  # platforms without positioned reads
            os.lseek(self._descriptor, offset, os.SEEK_SET)
            part = os.read(self._descriptor, len(view))
        view[: len(part)] = part
        return len(part)


def open_for_reading(path: Path) -> ByteReader:
    """Open an ordinary, non-empty file for reading.

    Raises
    ------
    RefusedPictureError
        If there is no such file, it is not an ordinary file, it is empty, or it may not
        be read.
    """
    try:
        mode = path.stat().st_mode
    except (FileNotFoundError, NotADirectoryError):
        raise RefusedPictureError(
            f"There is no file {path}.",
            "Nothing was opened.",
            "Check the name and the folder.",
            "missing-file",
        ) from None
    except (OSError, ValueError) as error:
        raise _unreadable(path, error) from error
    if stat.S_ISDIR(mode):
        raise RefusedPictureError(
            f"{path} is a folder.",
            "A folder has no pixels.",
            "Name one picture inside it.",
            "is-a-folder",
        )
    if not stat.S_ISREG(mode):
        raise RefusedPictureError(
            f"{path} is not an ordinary file but a pipe, socket or device.",
            "It cannot be read twice, so it could not be checked before printing.",
            "Save the picture as a file and name that.",
            "not-an-ordinary-file",
        )
    flags = os.O_RDONLY | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_BINARY", 0)
    try:
        descriptor = os.open(path, flags | getattr(os, "O_NONBLOCK", 0))
    except OSError as error:
        raise _unreadable(path, error) from error
    reader = ByteReader(path, descriptor)
    if reader.size_bytes == 0:
        with contextlib.suppress(OSError):
            reader.close()
        raise RefusedPictureError(
            f"{path} holds 0 bytes.",
            "The picture was never written, or was lost in copying.",
            "Copy it again from where it came from.",
            "empty-file",
        )
    return reader


def _unreadable(path: Path, error: Exception) -> RefusedPictureError:
    if isinstance(error, PermissionError):
        return RefusedPictureError(
            f"{path} may not be read by this user.",
            "Nothing was opened.",
            "Give yourself the right to read it, or copy it to a folder of your own.",
            "no-permission",
        )
    reason = getattr(error, "strerror", None) or str(error)
    return RefusedPictureError(
        f"{path} could not be opened: {reason}.",
        "Nothing was read.",
        "Check the name and the disk it lies on.",
        "unreadable",
    )
