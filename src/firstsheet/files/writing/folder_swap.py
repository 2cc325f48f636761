"""Renames that leave no gap: exchange two folders, or take a name only if it is free.

Linux offers `renameat2`, macOS `renamex_np`; both are reached through ctypes. Elsewhere the
caller falls back on two renames. Tests: tests/files/test_folder.py.
"""

from __future__ import annotations

import ctypes
import errno
import os
import sys
from pathlib import Path

__all__ = ["exchange", "rename_to_free_name"]

_AT_FDCWD = -100  # linux/fcntl.h
_EXCHANGE = {"linux": 2, "darwin": 2}  # RENAME_EXCHANGE in linux/fs.h; RENAME_SWAP in sys/stdio.h
_ONLY_NEW = {"linux": 1, "darwin": 4}  # RENAME_NOREPLACE; RENAME_EXCL


def exchange(first: Path, second: Path) -> bool:
    """Swap two names at one instant; False where the system or file system cannot."""
    return _special_rename(first, second, _EXCHANGE)


def rename_to_free_name(source: Path, target: Path) -> None:
    """Rename, never over something that appeared meanwhile.

    Raises
    ------
    FileExistsError
        If the name was taken.
    """
    if _special_rename(source, target, _ONLY_NEW):
        return
    if os.path.lexists(target):
        raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(target))
    source.rename(target)


def _special_rename(first: Path, second: Path, flags: dict[str, int]) -> bool:
    system = str(sys.platform)
    if system not in flags:
        return False
    old, new, flag = os.fsencode(first), os.fsencode(second), ctypes.c_uint(flags[system])
    try:
        library = ctypes.CDLL(None, use_errno=True)
        if system == "linux":
            return int(library.renameat2(_AT_FDCWD, old, _AT_FDCWD, new, flag)) == 0
        return int(library.renamex_np(old, new, flag)) == 0
    except (AttributeError, OSError):
        return False
