"""A folder that appears whole or not at all.

Takes the folder's final name and the bytes it will need; gives a hidden staging folder beside
it. What is written there is flushed to the disk and then renamed. A lock beside the target keeps
a second process out; what a killed process left is swept by the next one.
Theory: docs/theory/files.md. Tests: tests/files/test_folder.py, test_folder_faults.py.
"""

from __future__ import annotations

import contextlib
import errno
import json
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

from firstsheet.engine.errors import OutputError
from firstsheet.engine.units import bytes_words
from firstsheet.files.writing.folder_lock import FolderLock
from firstsheet.files.writing.folder_swap import exchange, rename_to_free_name

__all__ = ["CONTENTS_FILE", "free_bytes", "whole_folder"]

CONTENTS_FILE = ".firstsheet.json"  # names and sizes of what we wrote: only that may give way
_PART = ".firstsheet-part"
_OLD = ".firstsheet-old"
_LOCK = ".firstsheet-lock"
_SPARE_BYTES = 8 * 2**20  # kept free for directories, journals and the job's small files
_FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
_DENIED = {errno.EACCES, errno.EPERM, errno.EROFS}


@contextlib.contextmanager
def whole_folder(
    target: Path,
    *,
    needed_bytes: int,
    replace: bool,
    original: Path | None = None,
    durable: bool = True,
) -> Iterator[Path]:
    """Give a staging folder that becomes `target` when the block ends well.

    Parameters
    ----------
    target
        Final name. Its parents are made where missing. It may be absent, empty, or (with
        `replace`) an earlier folder of ours that holds nothing else.
    needed_bytes
        What will be written, bytes; compared with the free disk first.
    replace
        Whether an earlier folder of ours may give way. The old one stands until the new is whole.
    original
        A picture that must never be lost; refused if it lies inside `target`.
    durable
        Flush everything to the disk before the name appears, so that a power cut leaves it whole
        too. Without it the folder is still whole after a kill, a crash or a full disk.

    Yields
    ------
    Path
        A hidden folder on the same file system.

    Raises
    ------
    OutputError
        Nothing half done stands under the final name. Any other exception of the block is
        passed on after the staging folder is removed.
    """
    target = Path(os.path.realpath(target))
    _refuse_unnameable(target)
    made = _make_parents(target)
    finished = False
    try:
        with FolderLock(_beside(target, _LOCK), target):
            _recover(target)
            _refuse_foreign(target, replace=replace, original=original)
            _sweep_left_overs(target)
            _check_free(target, needed_bytes)
            staging = _beside(target, _PART)
            try:
                staging.mkdir()
                yield staging
                _write_contents(staging)
                if durable:
                    _flush_tree(staging)
                _refuse_foreign(target, replace=replace, original=original)  # things may have come
                _put_in_place(staging, target, durable=durable)
                finished = True
            except OSError as error:
                raise _explain(error, target, needed_bytes) from error
            finally:
                if not finished:
                    shutil.rmtree(staging, ignore_errors=True)
    finally:
        if not finished:
            _remove_empty(made)


def free_bytes(target: Path) -> int:
    """Free bytes of the file system where `target` lies or will lie."""
    place = Path(os.path.realpath(target))
    while not place.exists():
        place = place.parent
    return shutil.disk_usage(place).free


def _beside(target: Path, ending: str) -> Path:
    """A hidden neighbour of the target, short enough for every file system."""
    name = target.name.encode()[:180].decode(errors="ignore")
    return target.with_name(f".{name}{ending}")


_LONGEST_NAME_BYTES = 255  # of the usual file systems


def _refuse_unnameable(target: Path) -> None:
    """Refuse a target that can have no folder beside it: the root, or a name too long."""
    if target.name and len(os.fsencode(target.name)) <= _LONGEST_NAME_BYTES:
        return
    what = f"has a name of {len(os.fsencode(target.name))} bytes" if target.name else "is the root"
    raise OutputError(
        f"{str(target)[:80]} {what}.",
        "No folder of that name can be made there.",
        "Choose another place or a shorter name.",
        "bad-target",
        "--out FOLDER",
    )


def _make_parents(target: Path) -> list[Path]:
    """Make missing parents; give those that were made, deepest first."""
    missing = [place for place in target.parents if not place.exists()]
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        _remove_empty(missing)
        raise _explain(error, target, 0) from error
    return missing


def _remove_empty(folders: list[Path]) -> None:
    for folder in folders:
        with contextlib.suppress(OSError):
            folder.rmdir()


def _recover(target: Path) -> None:
    """Put an old folder back that a killed process had moved aside."""
    old = _beside(target, _OLD)
    if old.is_dir() and not target.exists():
        old.rename(target)


def _sweep_left_overs(target: Path) -> None:
    """Remove what killed processes left beside the target; what is locked is in use."""
    for left in target.parent.glob(f".*{_PART}"):
        lock_path = left.with_name(left.name.removesuffix(_PART) + _LOCK)
        if left == _beside(target, _PART):
            shutil.rmtree(left, ignore_errors=True)
        elif left.is_dir() and not left.is_symlink():
            with contextlib.suppress(OutputError), FolderLock(lock_path, left):
                shutil.rmtree(left, ignore_errors=True)
    old = _beside(target, _OLD)
    if old.is_dir() and target.exists():
        shutil.rmtree(old, ignore_errors=True)


def _check_free(target: Path, needed_bytes: int) -> None:
    free = free_bytes(target)
    if free < needed_bytes + _SPARE_BYTES:
        raise OutputError(
            f"The disk of {target.parent} has {bytes_words(free)} free; this folder needs "
            f"{bytes_words(needed_bytes)} and {bytes_words(_SPARE_BYTES)} to spare.",
            "The files would break off before the end, so nothing was begun.",
            f"Free {bytes_words(needed_bytes + _SPARE_BYTES - free)} there, or choose a folder on "
            "another disk.",
            "disk-too-small",
        )


def _refuse_foreign(target: Path, *, replace: bool, original: Path | None) -> None:
    """Let only an absent, an empty, or (with leave) an earlier folder of ours give way."""
    if original is not None and target in Path(os.path.realpath(original)).parents:
        raise OutputError(
            f"The original {original.name} lies inside {target}.",
            "Replacing that folder would remove the original, so nothing was written.",
            "Choose another folder for the print.",
            "original-inside-output",
        )
    if not target.exists():
        return
    if not target.is_dir():
        raise OutputError(
            f"{target} exists and is a file, not a folder.",
            "It was left untouched and nothing was written.",
            "Choose another name for the folder.",
            "output-is-a-file",
        )
    present = sorted(entry.name for entry in target.iterdir())
    if not present:
        return
    foreign = _foreign_names(target, present)
    if foreign:
        shown = ", ".join(foreign[:3]) + (f" and {len(foreign) - 3} more" if foreign[3:] else "")
        raise OutputError(
            f"{target} holds what Firstsheet did not write there: {shown}.",
            "Replacing the folder would lose that, so it was left untouched.",
            "Choose another folder, or move those files out of it.",
            "output-holds-other-files",
        )
    if not replace:
        raise OutputError(
            f"{target} already holds an earlier print of Firstsheet.",
            "It was left untouched and nothing was written.",
            "Choose another folder, or allow the earlier one to be replaced.",
            "output-exists",
        )


def _foreign_names(target: Path, present: list[str]) -> list[str]:
    """Names in the folder that are not ours, or whose size is no longer what we wrote."""
    try:
        contents = json.loads((target / CONTENTS_FILE).read_bytes())
        ours, sizes = contents["made_by"] == "firstsheet", dict(contents["bytes"])
    except (OSError, ValueError, KeyError, TypeError):
        return present
    if not ours:
        return present
    found = {
        path.relative_to(target).as_posix(): path.lstat().st_size
        for path in target.rglob("*")
        if path.is_symlink() or not path.is_dir()
    }
    found.pop(CONTENTS_FILE, None)
    return sorted(name for name, size in found.items() if sizes.get(name) != size)


def _write_contents(staging: Path) -> None:
    """List names and sizes, so that a later run knows what is ours to replace."""
    sizes = {
        path.relative_to(staging).as_posix(): path.stat().st_size
        for path in sorted(staging.rglob("*"))
        if path.is_file()
    }
    text = json.dumps({"made_by": "firstsheet", "bytes": sizes}, indent=1, sort_keys=True)
    (staging / CONTENTS_FILE).write_text(text + "\n", encoding="utf-8", newline="\n")


def _flush_tree(folder: Path) -> None:
    """Ask the disk to keep every file and folder before the name appears."""
    for path in sorted(folder.rglob("*"), reverse=True):
        if path.is_file():
            _flush(path)
    if os.name == "posix":
        for path in [*(p for p in folder.rglob("*") if p.is_dir()), folder]:
            _flush(path)


def _flush(path: Path) -> None:
    writable = os.O_RDWR if path.is_file() else os.O_RDONLY
    handle = os.open(path, writable | getattr(os, "O_BINARY", 0))
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _put_in_place(staging: Path, target: Path, *, durable: bool) -> None:
    """Give the staging folder its final name; an old folder leaves only after that."""
    if target.is_dir() and any(target.iterdir()):
        if exchange(staging, target):
            shutil.rmtree(staging, ignore_errors=True)
        else:
            old = _beside(target, _OLD)
            target.rename(old)
            try:
                staging.rename(target)
            except OSError:
                old.rename(target)
                raise
            shutil.rmtree(old, ignore_errors=True)
    else:
        if target.is_dir():
            target.rmdir()
        rename_to_free_name(staging, target)
    if durable and os.name == "posix":
        _flush(target.parent)


def _explain(error: OSError, target: Path, needed_bytes: int) -> OSError | OutputError:
    """Turn the disk's refusal into words; anything else passes as it is."""
    if error.errno in _FULL:
        free = free_bytes(target)
        return OutputError(
            f"The disk of {target.parent} is full, or does not take a file this large: "
            f"{bytes_words(needed_bytes)} were planned, {bytes_words(free)} are free now.",
            "What had been written was removed; an earlier folder still stands as it was.",
            "Free some room there, or choose a folder on another disk.",
            "disk-full",
        )
    here = os.fspath(target.parent)
    ours = error.filename is None or os.fspath(error.filename).startswith(here)
    if ours and (
        error.errno in _DENIED or isinstance(error, (FileExistsError, NotADirectoryError))
    ):
        return OutputError(
            f"Nothing can be written at {target}: {os.strerror(error.errno or 0)}.",
            "No file was changed.",
            "Choose a folder you may write to, or change its permissions.",
            "output-not-writable",
        )
    return error
