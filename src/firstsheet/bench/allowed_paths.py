"""Which files the bench may open: those in the folders the person allowed at start.

Takes typed paths; gives real ones, or a refusal. Links are followed before they are judged, so
none leads outside. Tests: tests/web/test_guard.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from firstsheet.bench.answers import PathEntry
from firstsheet.engine.errors import FirstsheetError

__all__ = ["NotAllowedError", "Places"]

_PICTURES = {".tif", ".tiff", ".png", ".jpg", ".jpeg", ".webp"}
_MOST_ENTRIES = 200


class NotAllowedError(FirstsheetError):
    """The path lies outside the folders that were allowed."""


class Places:
    """The allowed folders and files."""

    def __init__(self, allowed: Sequence[Path], *, unnamed: Sequence[Path] = ()) -> None:
        """Allow folders and files; those `unnamed` as well, of which no refusal speaks."""
        self._named = tuple(dict.fromkeys(one.resolve() for one in allowed))
        self._roots = tuple(dict.fromkeys((*self._named, *(one.resolve() for one in unnamed))))

    @property
    def roots(self) -> tuple[Path, ...]:
        """The allowed folders and files, links resolved."""
        return self._roots

    def allow(self, root: Path) -> None:
        """Allow one more; only the program itself does so, for uploads and what it made."""
        self._roots = tuple(dict.fromkeys((*self._roots, root.resolve())))

    def real(self, typed: str) -> Path:
        """The file a typed path means.

        Raises
        ------
        NotAllowedError
            If it lies outside, does not exist, or is no plain file or folder.
        """
        path = Path(typed)
        if "\0" in typed or not typed.strip() or ".." in path.parts:
            raise self._refusal(typed)
        candidates = [path] if path.is_absolute() else [root / path for root in self._folders()]
        for candidate in candidates:
            try:
                real = candidate.resolve(strict=True)
            except (OSError, RuntimeError):
                continue
            if self.holds(real) and (real.is_file() or real.is_dir()):
                return real
        raise self._refusal(typed)

    def holds(self, real: Path) -> bool:
        """Whether a resolved path lies inside."""
        return any(real == root or root in real.parents for root in self._roots)

    def _folders(self) -> list[Path]:
        return [root for root in self._roots if root.is_dir()]

    def _refusal(self, typed: str) -> NotAllowedError:
        names = ", ".join(str(root) for root in self._named) or "none"
        return NotAllowedError(
            f"“{typed[:200]}” is not in a folder this page may open, or is not there.",
            "Nothing was opened.",
            f"Allowed are: {names}. Start the bench with a further folder, or drop the file here.",
            "not-allowed",
        )

    def matches(self, typed: str) -> tuple[PathEntry, ...]:
        """What a path could go on to, folders first; every allowed place for an empty text."""
        if not typed.strip():
            return tuple(entry for root in self._roots if (entry := _entry(root)) is not None)
        ends_open = typed.endswith(("/", "\\"))
        path = Path(typed)
        try:
            if ends_open:
                folder, begin = self.real(typed), ""
            elif path.is_absolute() or len(path.parts) > 1:
                folder, begin = self.real(str(path.parent)), path.name
            else:
                return self._everywhere(typed)
        except NotAllowedError:
            return self._everywhere(typed) if not path.is_absolute() else ()
        return self._inside(folder, begin)

    def _everywhere(self, begin: str) -> tuple[PathEntry, ...]:
        found: list[PathEntry] = []
        for root in self._folders():
            found += self._inside(root, begin)
        return tuple(found[:_MOST_ENTRIES])

    def _inside(self, folder: Path, begin: str) -> tuple[PathEntry, ...]:
        if not folder.is_dir():
            return ()
        entries = []
        try:
            names = sorted(folder.iterdir(), key=lambda one: one.name.lower())
        except OSError:
            return ()
        for path in names:
            if path.name.startswith(".") or begin.lower() not in path.name.lower():
                continue
            try:
                inside = self.holds(path.resolve(strict=True))
            except (OSError, RuntimeError):
                continue
            entry = _entry(path) if inside else None
            if entry is not None:
                entries.append(entry)
        entries.sort(key=lambda one: (one.kind != "folder", one.name.lower()))
        return tuple(entries[:_MOST_ENTRIES])


def _entry(path: Path) -> PathEntry | None:
    try:
        if path.is_dir():
            return PathEntry(path=str(path), name=path.name or str(path), kind="folder")
        suffix = path.suffix.lower()
        if suffix not in _PICTURES and suffix != ".toml":
            return None
        return PathEntry(
            path=str(path),
            name=path.name,
            kind="ticket" if suffix == ".toml" else "picture",
            size=path.stat().st_size,
        )
    except OSError:
        return None
