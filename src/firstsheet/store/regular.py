"""Files that are files: pipes, devices and folders are told before anything waits on them.

Takes a path; gives its size. Tests: tests/store/test_regular.py.
"""

from __future__ import annotations

import stat
from pathlib import Path

__all__ = ["regular_size"]


def regular_size(path: Path) -> int:
    """Size of a regular file, bytes.

    Raises
    ------
    OSError
        If there is none, or it is a pipe, a device or a folder; its `strerror` says which.
    """
    facts = path.stat()
    kind = next((words for test, words in _KINDS if test(facts.st_mode)), "")
    if kind:
        raise OSError(0, f"it is {kind}, not a file", str(path))
    return facts.st_size


_KINDS = (
    (stat.S_ISDIR, "a folder"),
    (stat.S_ISFIFO, "a pipe"),
    (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a device"),
    (stat.S_ISSOCK, "a socket"),
)
