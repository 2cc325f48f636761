"""The demo's photographs of Merrowick, written as 16-bit TIFF with their profiles.

Takes a folder; gives the pictures that lie in it afterwards. A picture that is already there,
whole and of this version, is left alone. Nothing appears under its name before it is whole.
Theory: docs/theory/harbour.md. Tests: tests/harbour/test_pictures.py.
"""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.cms.build import grey_profile, space_profile
from firstsheet.engine.streams import Progress, StopCheck
from harbour.scenes import SCENES, Scene

__all__ = ["DemoPicture", "make_pictures"]

EDITION = 2  # raise it when the same scene gives other pixels
_RECORD = "merrowick.json"


@dataclass(frozen=True, kw_only=True)
class DemoPicture:
    """One photograph of the invented town."""

    name: str
    path: Path
    words: str  # what it shows, and what it is good for
    secret: str  # what is wrong with it; empty when nothing is


def make_pictures(
    folder: Path, progress: Progress, stop: StopCheck, *, divisor: int = 1, only: str = ""
) -> list[DemoPicture]:
    """Make every photograph that is not there yet.

    Parameters
    ----------
    folder
        Where they go; made if missing.
    progress, stop
        Told what is being done and the share done; asked between bands whether to go on.
    divisor
        Makes each side that many times smaller, for tests and quick looks.
    only
        The name of one picture, when only that is wanted.

    Raises
    ------
    StoppedError
        From `stop`; pictures finished before stay.
    """
    folder.mkdir(parents=True, exist_ok=True)
    record = _read_record(folder)
    made = []
    scenes = [scene for scene in SCENES if only in ("", scene.name)]
    weights = [scene.weight for scene in scenes]
    for number, scene in enumerate(scenes):
        path = folder / f"{scene.name}.tif"
        key = f"{scene.name} {EDITION} {divisor}"
        start, share = sum(weights[:number]) / sum(weights), scene.weight / sum(weights)
        if not (path.is_file() and record.get(key) == _digest(path)):

            def step(
                done: float, start: float = start, share: float = share, name: str = scene.name
            ) -> None:
                stop()
                progress(f"photographing {name}", start + share * done)

            pixels = scene.photograph(divisor, step)
            record[key] = _write_whole(path, pixels, scene)
            _write_record(folder, record)
        made.append(DemoPicture(name=scene.name, path=path, words=scene.words, secret=scene.secret))
    progress("photographs ready", 1.0)
    return made


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _read_record(folder: Path) -> dict[str, str]:
    try:
        found = json.loads((folder / _RECORD).read_text("utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def _write_record(folder: Path, record: dict[str, str]) -> None:
    part = folder / f".{_RECORD}.{os.getpid()}.part"
    part.write_text(json.dumps(record, indent=1, sort_keys=True) + "\n", "utf-8")
    part.replace(folder / _RECORD)


def _write_whole(path: Path, pixels: NDArray[np.uint16], scene: Scene) -> str:
    """Write beside the final name, then rename; gives the SHA-256."""
    import tifffile

    grey = pixels.shape[-1] == 1
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    options: dict[str, Any] = {
        "photometric": "minisblack" if grey else "rgb",
        "iccprofile": grey_profile(scene.space) if grey else space_profile(scene.space),
        "resolution": (scene.tag_ppi, scene.tag_ppi),
        "resolutionunit": "inch",
        "software": "firstsheet harbour",
        "description": scene.words,
        "metadata": None,
        "rowsperstrip": 64,
    }
    try:
        tifffile.imwrite(part, pixels[..., 0] if grey else pixels, **options)
        with part.open("rb+") as file:
            os.fsync(file.fileno())
        digest = _digest(part)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
    return digest
