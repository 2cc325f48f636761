"""One small file that appears whole or not at all.

Takes a path and its bytes. Theory: docs/theory/files.md. Tests: tests/files/test_whole.py.
"""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from firstsheet.engine.errors import OutputError

__all__ = ["write_whole"]


def write_whole(path: Path, content: bytes, *, original: Path | None = None) -> None:
    """Write beside, flush to the disk, then take the final name.

    Parameters
    ----------
    path
        Final name; an earlier file of that name is replaced.
    original
        A picture that must never be replaced.

    Raises
    ------
    OutputError
        If it would replace the original, or could not be written.
    """
    if original is not None and path.exists() and original.exists() and path.samefile(original):
        raise OutputError(
            f"{path} is the picture itself.",
            "An original is never written to.",
            "Choose another name.",
            "original-in-target",
        )
    temporary = ""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        with os.fdopen(handle, "wb") as out:
            out.write(content)
            out.flush()
            os.fsync(out.fileno())
        Path(temporary).chmod(0o644)
        Path(temporary).replace(path)
    except OSError as error:
        raise OutputError(
            f"{path} could not be written ({error.strerror}).",
            "Nothing was left under that name.",
            "Make room, or choose another place.",
            "not-written",
        ) from error
    finally:
        if temporary:
            Path(temporary).unlink(missing_ok=True)
