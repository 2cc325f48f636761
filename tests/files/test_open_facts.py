"""The facts pass against counts made with NumPy and SciPy on the whole picture."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import makers  # type: ignore[import-not-found]
import numpy as np
import pytest
from scipy import ndimage

from firstsheet.engine.records import PictureFacts
from firstsheet.files.reading import measure as facts_room
from firstsheet.files.reading.measure import measure
from firstsheet.files.reading.opening import OpenedPicture, open_picture
from firstsheet.files.reading.patches import largest_patch


def facts_of(path: Path, **options: Any) -> PictureFacts:
    with open_picture(path, **options) as opened:
        return opened.facts


@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
@pytest.mark.parametrize("channels", [1, 3])
def test_histograms_are_those_of_the_whole_picture(
    tmp_path: Path, dtype: Any, channels: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(facts_room, "_BAND_BYTES", 7000)
    pixels = makers.noise(dtype, channels, height=700)
    path = makers.write_tiff(tmp_path / "a.tif", pixels)

    with open_picture(path) as opened:
        counts = measure(opened.source).histograms
    for channel in range(channels):
        expected = np.bincount(pixels[:, :, channel].ravel(), minlength=np.iinfo(dtype).max + 1)
        np.testing.assert_array_equal(counts[channel], expected)


def test_shares_ranges_and_levels_are_counted(tmp_path: Path) -> None:
    pixels = makers.noise(np.uint16, height=700)
    pixels[:70, :, 0] = 65535
    pixels[:35, :, 2] = 0
    pixels[..., 1] = pixels[..., 1] // 2 + 100

    red, green, blue = facts_of(makers.write_tiff(tmp_path / "a.tif", pixels)).channels

    assert [red.name, green.name, blue.name] == ["R", "G", "B"]
    assert red.clipped_high_percent == pytest.approx((pixels[..., 0] == 65535).mean() * 100)
    assert blue.clipped_low_percent == pytest.approx((pixels[..., 2] == 0).mean() * 100)
    assert (green.lowest, green.highest) == (pixels[..., 1].min(), pixels[..., 1].max())
    assert green.levels_used == len(np.unique(pixels[..., 1]))


def blobs(height: int, width: int, seed: int) -> Any:
    """Irregular patches, some touching only by a corner."""
    field = ndimage.gaussian_filter(np.random.default_rng(seed).normal(size=(height, width)), 3)
    return field > field.std() * 0.9


@pytest.mark.parametrize("seed", range(4))
def test_in_a_small_picture_the_largest_patch_is_exact(tmp_path: Path, seed: int) -> None:
    pixels = makers.noise(np.uint16, height=300, width=400) // 2 + 1000
    mask = blobs(300, 400, seed)
    pixels[mask, 1] = 65535
    labels, number = ndimage.label(mask, structure=np.ones((3, 3)))
    sizes = ndimage.sum_labels(mask, labels, range(1, number + 1))

    green = facts_of(makers.write_tiff(tmp_path / "a.tif", pixels)).channels[1]

    assert number > 3
    assert green.largest_high_patch_percent == pytest.approx(sizes.max() / mask.size * 100)
    assert green.largest_low_patch_percent == 0


@pytest.mark.parametrize("band_bytes", [40_000, 6 << 20])
def test_in_a_large_picture_the_patch_is_right_to_a_cell_along_its_edge(
    tmp_path: Path, band_bytes: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(facts_room, "_BAND_BYTES", band_bytes)
    pixels = makers.noise(np.uint8, 1, height=1500, width=1800) // 2 + 40
    pixels[200:900, 300:1000] = 255
    pixels[1200:1300, 1300:1700] = 0
    pixels[::97, ::89] = 0  # single pixels are no patch

    only = facts_of(makers.write_tiff(tmp_path / "a.tif", pixels)).channels[0]

    cell = 4  # 1800 / 512 rounded up
    for found, high, wide in (
        (only.largest_high_patch_percent, 700, 700),
        (only.largest_low_patch_percent, 100, 400),
    ):
        edge = 2 * (high + wide) * cell
        assert found / 100 * pixels.size == pytest.approx(high * wide, abs=edge)


def test_a_winding_patch_is_one_patch() -> None:
    cells = np.zeros((101, 101), np.int32)
    cells[::4] = 1
    cells[2::8, :] = 0
    for number, row in enumerate(range(0, 97, 4)):
        cells[row : row + 5, 100 if number % 2 == 0 else 0] = 1

    _, number = ndimage.label(cells, structure=np.ones((3, 3)))
    assert number == 1
    assert largest_patch(cells, np.ones_like(cells, np.int64)) == pytest.approx(
        cells.sum() / cells.size * 100
    )


@pytest.mark.parametrize("seed", range(6))
def test_patches_of_noise_are_those_scipy_labels(seed: int) -> None:
    random = np.random.default_rng(seed)
    cells = (random.random((37 + seed, 53)) < 0.25 + 0.05 * seed).astype(np.int32)
    area = np.ones_like(cells, np.int64)

    labels, number = ndimage.label(cells, structure=np.ones((3, 3)))
    sizes = np.bincount(labels.ravel())[1:]
    assert number > 1
    assert largest_patch(cells, area) == pytest.approx(sizes.max() / cells.size * 100)


def test_256_levels_in_16_bits_are_seen_and_their_top_counts_as_clipped(tmp_path: Path) -> None:
    eight = makers.noise(np.uint8, height=300, width=400).astype(np.uint16)
    eight[:100] = 255

    repeated = facts_of(makers.write_tiff(tmp_path / "a.tif", eight * 257))
    shifted = facts_of(makers.write_tiff(tmp_path / "b.tif", eight << 8))

    for found in (repeated, shifted):
        assert (found.bits, found.true_bits) == (16, 8)
        assert "sixteen-bit-is-eight" in {one.code for one in found.findings}
        assert found.channels[0].clipped_high_percent == pytest.approx(33.6, abs=0.3)
        assert found.channels[0].largest_high_patch_percent == pytest.approx(33.4, abs=0.3)


def test_a_comb_is_seen(tmp_path: Path) -> None:
    stretched = (makers.noise(np.uint8, 1, height=300, width=400) // 2) * 2

    found = facts_of(makers.write_tiff(tmp_path / "a.tif", stretched // 2 * 2 + 1))

    assert found.true_bits in (7, 8)
    assert found.channels[0].levels_used == 128


def test_jpeg_quality_and_sampling_are_those_it_was_saved_with(tmp_path: Path) -> None:
    path = tmp_path / "a.jpg"
    for quality, subsampling, words in ((95, 0, "4:4:4"), (80, 1, "4:2:2"), (60, 2, "4:2:0")):
        path.write_bytes(
            makers.jpeg_bytes(makers.slope(), quality=quality, subsampling=subsampling)
        )
        found = facts_of(path)
        assert (found.jpeg_quality, found.chroma_sampling) == (quality, words)


def test_quality_inside_a_tiff_is_read_as_well(tmp_path: Path) -> None:
    path = makers.write_tiff(
        tmp_path / "a.tif", makers.slope(), compression="jpeg", compressionargs={"level": 85}
    )

    assert facts_of(path).jpeg_quality == 85


def test_a_frame_of_film_holder_is_noticed(tmp_path: Path) -> None:
    pixels = makers.noise(np.uint16, height=600, width=800) // 2 + 9000
    pixels[:30] = pixels[-30:] = 300
    pixels[:, :40] = pixels[:, -40:] = 300

    found = facts_of(makers.write_tiff(tmp_path / "a.tif", pixels))

    inner = 540 * 720 / (600 * 800)
    assert found.film_border_percent == pytest.approx((1 - inner) * 100, abs=1)


def test_clear_pixels_are_counted(tmp_path: Path) -> None:
    pixels = makers.noise(np.uint8, 4)
    pixels[:, :, 3] = 255
    pixels[:10, :, 3] = 7
    path = makers.write_tiff(tmp_path / "a.tif", pixels, extrasamples=["unassalpha"])

    assert facts_of(path).alpha_clear_percent == pytest.approx(10 / 61 * 100)


def test_facts_of_a_damaged_picture_cover_its_real_rows_only(tmp_path: Path) -> None:
    pixels = makers.noise(np.uint8, 1, height=400) // 2
    pixels[200:] = 255
    path = makers.write_tiff(tmp_path / "a.tif", pixels, compression="deflate", rowsperstrip=10)
    makers.cut(path, 0.4)

    with open_picture(path, inspect_only=True) as opened:
        stop = next(one for one in opened.facts.findings if one.weight == "stop")
        assert int(stop.figures["valid_rows"]) <= 200
        assert opened.facts.channels[0].clipped_high_percent == 0


def test_everything_small_is_said_of_a_named_picture(tmp_path: Path) -> None:
    path = makers.with_profile(tmp_path / "Steg.TIF", makers.srgb_profile(), compression="lzw")

    with open_picture(path) as opened:
        assert isinstance(opened, OpenedPicture)
        found = opened.facts
    assert (found.format, found.compression, found.suffix) == ("TIFF", "lzw", ".tif")
    assert (found.width_px, found.height_px, found.bits, found.colour_model) == (83, 61, 16, "rgb")
    assert found.size_bytes == path.stat().st_size
    assert found.profile is not None
    assert found.profile.colour_space == "RGB"
