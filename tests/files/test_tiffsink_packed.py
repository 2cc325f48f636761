"""Compressed print files, read back by readers we did not write."""

from __future__ import annotations

import hashlib
import random
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, Literal

import numpy as np
import pytest
import pyvips
import tifffile
from PIL import Image

from firstsheet.files.writing.strips import StripStore, pack_strip
from firstsheet.files.writing.tiff import open_tiff_sink

Packing = Literal["lzw", "deflate"]
PACKINGS: tuple[Packing, ...] = ("lzw", "deflate")


def ramp(height: int, width: int, channels: int, bits: int) -> np.ndarray[Any, np.dtype[Any]]:
    """A grainy slope that wraps round, so that differences wrap too."""
    y, x = np.mgrid[0:height, 0:width]
    grain = np.random.default_rng(3).normal(0, 4, (height, width, channels))
    wave = (y * 700.0 + x * 300.0)[..., None] + grain
    pixels: np.ndarray[Any, np.dtype[Any]] = (wave % 2**bits).astype(f"u{bits // 8}")
    return pixels


def save(
    path: Path,
    pixels: np.ndarray[Any, np.dtype[Any]],
    packing: Packing,
    *,
    band: int = 7,
    shuffle: int | None = None,
    threads: int = 1,
    **options: Any,
) -> Path:
    height, width, channels = pixels.shape
    tops = list(range(0, height, band))
    if shuffle is not None:
        random.Random(shuffle).shuffle(tops)
    with (
        open_tiff_sink(
            path,
            width_px=width,
            height_px=height,
            channels=channels,
            bits=pixels.itemsize * 8,
            ppi=300,
            profile=b"profile",
            compression=packing,
            rows_per_strip=10,
            **options,
        ) as sink,
        ThreadPoolExecutor(threads) as pool,
    ):
        list(pool.map(lambda top: sink.write(top, pixels[top : top + band]), tops))
    return path


@pytest.mark.parametrize("big", [False, True])
@pytest.mark.parametrize("bits", [8, 16])
@pytest.mark.parametrize("packing", PACKINGS)
def test_other_readers_find_the_same_pixels(
    tmp_path: Path, packing: Packing, bits: int, big: bool
) -> None:
    pixels = ramp(103, 61, 3, bits)

    path = save(tmp_path / "print.tif", pixels, packing, big=big, shuffle=1)

    with tifffile.TiffFile(path) as file:
        page = file.pages[0]
        assert page.compression == {"lzw": 5, "deflate": 8}[packing]  # as TIFF numbers them
        assert page.predictor == 2
        assert file.is_bigtiff is big
        np.testing.assert_array_equal(page.asarray(), pixels)
    seen = pyvips.Image.new_from_file(str(path), fail_on="error").numpy()
    np.testing.assert_array_equal(seen, pixels)
    if bits == 8:
        with Image.open(path) as image:
            np.testing.assert_array_equal(np.asarray(image), pixels)


@pytest.mark.parametrize("packing", PACKINGS)
def test_order_bands_and_threads_do_not_change_the_bytes(tmp_path: Path, packing: Packing) -> None:
    pixels = ramp(203, 41, 3, 16)
    ways: list[dict[str, Any]] = [
        {"band": 10},
        {"band": 203},
        {"band": 1, "shuffle": 5, "threads": 2},
        {"band": 17, "shuffle": 6, "threads": 2},
    ]

    made = {
        hashlib.sha256(save(tmp_path / f"{i}.tif", pixels, packing, **way).read_bytes()).hexdigest()
        for i, way in enumerate(ways)
    }

    assert len(made) == 1


def test_strips_that_wait_beyond_the_bound_go_through_the_spill_file(tmp_path: Path) -> None:
    pixels = ramp(100, 50, 3, 16)
    path, spill = tmp_path / "strips", tmp_path / "strips.spill"
    with path.open("w+b") as file:
        store = StripStore(
            file.fileno(),
            start=0,
            compression="deflate",
            rows_per_strip=10,
            height_px=100,
            spill=spill,
            waiting_bytes=3000,
        )
        for top in range(90, 0, -10):
            store.write(top, pixels[top : top + 10])
        assert spill.exists()
        store.write(0, pixels[:10])
        places, counts, _ = store.finish()
        store.close()

    assert not spill.exists()
    data = path.read_bytes()
    assert places == sorted(places)
    for index, (place, count) in enumerate(zip(places, counts, strict=True)):
        strip = pixels[index * 10 : index * 10 + 10]
        assert data[place : place + count] == pack_strip(strip, "deflate")


def test_deflate_makes_a_slope_smaller(tmp_path: Path) -> None:
    pixels = np.zeros((200, 300, 3), np.uint16) + np.arange(300, dtype=np.uint16)[:, None] * 50

    path = save(tmp_path / "print.tif", pixels, "deflate")

    assert path.stat().st_size < pixels.nbytes / 20


def test_a_missing_strip_is_told(tmp_path: Path) -> None:
    sink = open_tiff_sink(
        tmp_path / "print.tif",
        width_px=4,
        height_px=30,
        channels=3,
        bits=8,
        ppi=300,
        profile=None,
        compression="lzw",
        rows_per_strip=10,
    )
    sink.write(10, np.zeros((20, 4, 3), np.uint8))
    with pytest.raises(ValueError, match="row 0 was never written"):
        sink.close()
