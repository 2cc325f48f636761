"""One writer per folder: a lock the system releases by itself when a process dies.

Takes the lock file's path; gives a context that holds it. `flock` on POSIX, a byte range on
Windows. Tests: tests/files/test_folder_faults.py.
"""

from __future__ import annotations

import contextlib
import errno
import os
import sys
from pathlib import Path
from types import TracebackType

from firstsheet.engine.errors import OutputError

__all__ = ["FolderLock"]

_BUSY = {errno.EAGAIN, errno.EACCES, errno.EDEADLK}


class FolderLock:
    """Hold a lock file while a folder is written; the file goes when the work is done.

    Raises
    ------
    OutputError
        If another process holds it, or the folder may not be written to.
    """

    def __init__(self, path: Path, target: Path) -> None:
        self._path, self._target = path, target
        self._handle = -1

    def __enter__(self) -> FolderLock:
        """Take the lock at once or refuse; never wait."""
        while True:
            self._handle = self._open()
            try:
                _lock(self._handle)
            except OSError as error:
                os.close(self._handle)
                raise self._explain(error) from error
            if self._still_ours():  # else its last holder removed the file under our hands
                return self
            os.close(self._handle)

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Remove the lock file while still holding it, then let go."""
        if os.name == "posix":
            with contextlib.suppress(OSError):
                self._path.unlink()
            os.close(self._handle)
        else:
            os.close(self._handle)
            with contextlib.suppress(OSError):
                self._path.unlink()

    def _open(self) -> int:
        try:
            return os.open(self._path, os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0), 0o644)
        except OSError as error:
            raise OutputError(
                f"Nothing can be written in {self._path.parent}: {os.strerror(error.errno or 0)}.",
                "No file was changed.",
                "Choose a folder you may write to, or change its permissions.",
                "output-not-writable",
            ) from error

    def _still_ours(self) -> bool:
        held = os.fstat(self._handle)
        try:
            named = self._path.stat()
        except FileNotFoundError:
            return False
        return (held.st_dev, held.st_ino) == (named.st_dev, named.st_ino)

    def _explain(self, error: OSError) -> OutputError:
        if error.errno in _BUSY:
            return OutputError(
                f"Another Firstsheet is writing here: {self._target}.",
                "Two at once would mix their files, so this one wrote nothing.",
                "Wait until the other has finished, or choose another folder.",
                "output-in-use",
            )
        return OutputError(
            f"The file system of {self._path.parent} cannot lock files: "
            f"{os.strerror(error.errno or 0)}.",
            "Two processes at once could mix their files there, so nothing was written.",
            "Choose a folder on a local disk and copy the finished folder afterwards.",
            "output-cannot-lock",
        )


if sys.platform == "win32":
    import msvcrt

    def _lock(handle: int) -> None:
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _lock(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
