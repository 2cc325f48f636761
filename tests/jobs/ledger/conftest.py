"""One small print, made once, and copies of the ledger that remembers it."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest
import tifffile

from firstsheet.cms.build import space_profile
from firstsheet.jobs.make import make_print

WISH = {"stock": "chalk-matte", "width": "60mm", "sheet": "110x80mm", "distance": "40cm"}


class Made(NamedTuple):
    """Where picture, print and ledger lie."""

    scan: Path
    folder: Path
    ledger: Path


def quay(path: Path) -> Path:
    """A small 16-bit picture: sky, water, a vivid hull, some grain."""
    rng = np.random.default_rng(11)
    down, across = np.mgrid[0:640, 0:900] / 640.0
    picture = np.stack([0.4 + 0.3 * down, 0.55 + 0.2 * down, 0.8 - 0.2 * down], axis=-1)
    picture[(down > 0.6) & (across < 0.7)] = (0.06, 0.15, 0.6)
    picture += rng.normal(0.0, 0.01, picture.shape)
    codes = (np.clip(picture, 0.0, 1.0) * 65535.0 + 0.5).astype(np.uint16)
    path.parent.mkdir(parents=True, exist_ok=True)
    tag = (34675, "B", None, space_profile("srgb"), True)
    tifffile.imwrite(path, codes, photometric="rgb", rowsperstrip=64, extratags=[tag])
    return path


@pytest.fixture(scope="session")
def made_once(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """The print itself; tests leave it as it is."""
    place = tmp_path_factory.mktemp("quay")
    made = Made(quay(place / "scans/quay.tif"), place / "print", place / "ledger.sqlite3")
    make_print(
        made.scan,
        WISH,
        out=made.folder,
        replace=False,
        stocks_dir=None,
        progress=lambda _doing, _share: None,
        stop=lambda: None,
        ledger=made.ledger,
    )
    return made


@pytest.fixture
def ledger(made_once: Made, tmp_path: Path) -> Path:
    """A ledger of its own that remembers the print."""
    return Path(shutil.copy(made_once.ledger, tmp_path / "ledger.sqlite3"))
