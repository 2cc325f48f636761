"""A small made scan with a profile, and jobs that answer quietly."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import tifffile
from numpy.typing import NDArray

from firstsheet.cms.build import space_profile


def quiet(_doing: str, _share: float) -> None:
    """Progress nobody listens to."""


def never() -> None:
    """Nobody stops."""


def made_picture(width_px: int, height_px: int) -> NDArray[np.uint16]:
    """Sky, a vivid hull, deep shadow with texture, an edge: a little of everything."""
    rng = np.random.default_rng(7)
    down, across = np.mgrid[0:height_px, 0:width_px].astype(np.float64)
    down /= height_px
    across /= width_px
    picture = np.stack([0.45 + 0.3 * down, 0.6 + 0.25 * down, 0.85 + 0.1 * down], axis=-1)
    picture[down > 0.55] = (0.12, 0.1, 0.09)
    hull = (down > 0.4) & (down < 0.7) & (across > 0.2) & (across < 0.5)
    picture[hull] = (0.05, 0.12, 0.7)
    tarpaulin = (down > 0.45) & (down < 0.65) & (across > 0.6) & (across < 0.8)
    picture[tarpaulin] = (0.9, 0.3, 0.05)
    picture += rng.normal(0.0, 0.01, picture.shape)
    codes: NDArray[np.uint16] = (np.clip(picture, 0.0, 1.0) * 65535.0 + 0.5).astype(np.uint16)
    return codes


def write_scan(path: Path, codes: NDArray[np.uint16], profile: bytes | None) -> Path:
    """Write a made scan as TIFF with its profile."""
    tags = [] if profile is None else [(34675, "B", None, profile, True)]
    kind = "rgb" if codes.ndim == 3 else "minisblack"
    tifffile.imwrite(path, codes, photometric=kind, rowsperstrip=64, extratags=tags)
    return path


@pytest.fixture
def scan(tmp_path: Path) -> Path:
    """A 1200 × 900 scan in sRGB."""
    return write_scan(tmp_path / "ferry stairs.tif", made_picture(1200, 900), space_profile("srgb"))


@pytest.fixture
def make_scan(tmp_path: Path) -> Callable[..., Path]:
    """Make further scans."""

    def make(name: str, width_px: int, height_px: int, space: str | None = "srgb") -> Path:
        profile = None if space is None else space_profile(space)
        return write_scan(tmp_path / name, made_picture(width_px, height_px), profile)

    return make


@pytest.fixture(scope="module")
def buoy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A picture with a planted loss."""
    from planted import write_buoy  # type: ignore[import-not-found]  # found by pytest

    return Path(write_buoy(tmp_path_factory.mktemp("buoy") / "buoy.tif"))
