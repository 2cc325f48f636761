"""The picture's levels: the file's own pixels turned upright, and true light when halved."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from numpy.typing import NDArray

from firstsheet.bench.levels import TILE_PX, Levels, level_size
from firstsheet.cms.build import space_profile
from firstsheet.cms.chain import build_chain
from firstsheet.cms.link import source_colour
from firstsheet.files.reading.glance import glance_at
from firstsheet.files.reading.opening import open_picture
from firstsheet.store.stocks import get_stock, stock_profile_bytes

COLOUR = source_colour(
    build_chain(
        source_profile=space_profile("srgb"),
        colour_model="rgb",
        paper_profile=stock_profile_bytes(get_stock("chalk-matte")),
        intent="relative",
        black_point=False,
    )
)
# TIFF 6.0, Orientation (274): where row 0 and column 0 of what is stored lie
UPRIGHT = {
    1: lambda a: a,
    2: lambda a: a[:, ::-1],
    3: lambda a: a[::-1, ::-1],
    4: lambda a: a[::-1],
    5: lambda a: a.transpose(1, 0, 2),
    6: lambda a: np.rot90(a, -1),
    7: lambda a: a[::-1, ::-1].transpose(1, 0, 2),
    8: lambda a: np.rot90(a, 1),
}


def never() -> None:
    """Nobody stops."""


def write(path: Path, codes: NDArray[Any], orientation: int = 1, **more: Any) -> Path:
    tags = [
        (34675, "B", None, space_profile("srgb"), True),
        (274, "H", 1, orientation, True),
    ]
    tifffile.imwrite(path, codes, photometric="rgb", extratags=tags, **more)
    return path


@contextmanager
def levels_of(path: Path, folder: Path) -> Iterator[Levels]:
    with open_picture(path) as opened:
        levels = Levels(opened, COLOUR, folder)
        try:
            yield levels
        finally:
            levels.close()


def noise(width_px: int = 700, height_px: int = 530) -> NDArray[np.uint16]:
    rng = np.random.default_rng(2)
    return rng.integers(0, 65536, (height_px, width_px, 3)).astype(np.uint16)


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("packed", [False, True])
def test_the_finest_level_is_the_file_turned_upright(
    orientation: int, packed: bool, tmp_path: Path
) -> None:
    codes = noise()
    more = {"compression": "deflate", "rowsperstrip": 32} if packed else {}
    path = write(tmp_path / "turned.tif", codes, orientation, **more)
    truth = UPRIGHT[orientation](codes)
    with levels_of(path, tmp_path) as levels:
        assert (levels.height_px, levels.width_px) == truth.shape[:2]
        for left, top, width, height in ((0, 0, 60, 40), (333, 77, 90, 120)):
            found, final = levels.block(levels.zmax, left, top, width, height)
            part = truth[top : top + height, left : left + width] / 65535.0
            np.testing.assert_allclose(found, part, atol=1e-6)
            assert final


@pytest.mark.parametrize("orientation", [1, 6])
def test_the_glance_is_upright_too(orientation: int, tmp_path: Path) -> None:
    codes = noise(90, 60)
    path = write(tmp_path / "turned.tif", codes, orientation)
    glance = glance_at(path, long_side_px=400)
    np.testing.assert_allclose(glance.codes, UPRIGHT[orientation](codes) / 65535.0, atol=1e-6)


def test_a_fine_checker_keeps_its_light_when_halved(tmp_path: Path) -> None:
    """Half the light of white is code 0.7354 by the curve of IEC 61966-2-1."""
    down, across = np.mgrid[0:600, 0:1200]
    checker = np.where((down + across) % 2, 65535, 0).astype(np.uint16)
    path = write(tmp_path / "checker.tif", np.repeat(checker[..., None], 3, axis=2))
    with levels_of(path, tmp_path) as levels:
        assert levels.build(never)
        for z in range(levels.zmax):
            size = level_size(1200, 600, levels.zmax - z)
            found, final = levels.block(z, 8, 8, min(100, size[0] - 16), min(40, size[1] - 16))
            assert final
            assert np.abs(found - 0.7354).max() < 2e-3


def test_until_a_level_is_there_it_is_made_from_the_file_alike(tmp_path: Path) -> None:
    path = write(tmp_path / "noise.tif", noise(1100, 800), 6)
    with levels_of(path, tmp_path) as levels:
        z = levels.zmax - 1
        early, final = levels.block(z, 40, 50, 200, 300)
        assert not final
        levels.build(never)
        late, final = levels.block(z, 40, 50, 200, 300)
        assert final
        np.testing.assert_allclose(early, late, atol=2 / 65535)


def test_the_coarsest_level_is_one_tile(tmp_path: Path) -> None:
    path = write(tmp_path / "wide.tif", noise(2100, 300))
    with levels_of(path, tmp_path) as levels:
        assert max(level_size(2100, 300, levels.zmax)) <= TILE_PX
        assert max(level_size(2100, 300, levels.zmax - 1)) > TILE_PX


def test_building_stops_and_leaves_no_file(tmp_path: Path) -> None:
    from firstsheet.engine.errors import StoppedError

    def stop() -> None:
        raise StoppedError("It was stopped.", "", "", "stopped")

    folder = tmp_path / "levels"
    path = write(tmp_path / "noise.tif", noise(1100, 800))
    with levels_of(path, folder) as levels:
        with pytest.raises(StoppedError):
            levels.build(stop)
        assert levels.level(1) is None
    assert list(folder.iterdir()) == []
