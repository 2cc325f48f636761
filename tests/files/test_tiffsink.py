"""Uncompressed print files, read back by readers we did not write."""

from __future__ import annotations

import hashlib
import os
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import pyvips
import tifffile
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

import firstsheet
from firstsheet.engine.errors import OutputError
from firstsheet.files.writing import tiff as tiffsink
from firstsheet.files.writing.tiff import open_tiff_sink
from firstsheet.files.writing.tiff_tags import exact_rational

PROFILE = bytes(range(256)) * 5 + b"odd"
CHANNELS = {"minisblack": 1, "rgb": 3, "separated": 4, "cielab": 3}


def noise(height: int, width: int, channels: int, bits: int) -> np.ndarray[Any, np.dtype[Any]]:
    dtype = np.uint8 if bits == 8 else np.uint16
    random = np.random.default_rng(20)
    return random.integers(0, 2**bits, (height, width, channels), dtype=dtype)


def save(path: Path, pixels: np.ndarray[Any, np.dtype[Any]], **options: Any) -> Path:
    height, width, channels = pixels.shape
    settings: dict[str, Any] = {
        "width_px": width,
        "height_px": height,
        "channels": channels,
        "bits": pixels.itemsize * 8,
        "ppi": 360.0,
        "profile": PROFILE,
    }
    with open_tiff_sink(path, **(settings | options)) as sink:
        for top in range(0, height, 37):
            sink.write(top, pixels[top : top + 37])
    return path


@pytest.mark.parametrize("big", [False, True])
@pytest.mark.parametrize("bits", [8, 16])
@pytest.mark.parametrize("kind", ["minisblack", "rgb", "separated", "cielab"])
def test_two_other_readers_find_the_same_pixels(
    tmp_path: Path, kind: str, bits: int, big: bool
) -> None:
    pixels = noise(101, 67, CHANNELS[kind], bits)

    path = save(tmp_path / "print.tif", pixels, photometric=kind, big=big, rows_per_strip=16)

    with tifffile.TiffFile(path) as file:
        assert file.is_bigtiff is big
        assert file.byteorder == "<"
        page = file.pages[0]
        assert page.photometric.name == kind.upper()
        if kind != "cielab":
            np.testing.assert_array_equal(page.asarray().reshape(pixels.shape), pixels)
    if kind != "cielab":  # libvips shows Lab as floating point
        seen = pyvips.Image.new_from_file(str(path), fail_on="error").numpy()
        np.testing.assert_array_equal(seen.reshape(pixels.shape), pixels)


LAB = np.array([[[50.0, 0, 0], [100, 0, 0], [20, -60, 40], [70, 90, -100]]])


def lab_file(path: Path, bits: int) -> Path:
    shares = (LAB + np.array([0, 128, 128])) / np.array([100, 255, 255])
    pixels = np.rint(shares * (2**bits - 1)).astype(f"u{bits // 8}")
    return save(path, pixels, photometric="cielab")


def test_16_bit_lab_colours_are_the_same_in_another_reader(tmp_path: Path) -> None:
    image = pyvips.Image.new_from_file(str(lab_file(tmp_path / "print.tif", 16)))

    assert image.interpretation == "labs"
    np.testing.assert_allclose(image.colourspace("lab").numpy(), LAB, atol=0.01)


def test_8_bit_lab_colours_are_stored_signed(tmp_path: Path) -> None:
    """TIFF 6.0 section 23: L* 0 to 255, a* and b* as two's complement; Pillow shows them raw."""
    with Image.open(lab_file(tmp_path / "print.tif", 8)) as image:
        assert image.mode == "LAB"
        raw = np.asarray(image)

    np.testing.assert_allclose(raw[..., 0] / 2.55, LAB[..., 0], atol=0.2)
    np.testing.assert_array_equal(raw[..., 1:].astype(np.int8), LAB[..., 1:])


@pytest.mark.parametrize("kind", ["minisblack", "rgb", "separated"])
def test_a_third_reader_finds_the_same_8_bit_pixels(tmp_path: Path, kind: str) -> None:
    pixels = noise(101, 67, CHANNELS[kind], 8)

    path = save(tmp_path / "print.tif", pixels, photometric=kind)

    with Image.open(path) as image:
        assert image.mode == {"minisblack": "L", "rgb": "RGB", "separated": "CMYK"}[kind]
        np.testing.assert_array_equal(np.asarray(image).reshape(pixels.shape), pixels)


def test_tags_say_resolution_profile_program_and_upright(tmp_path: Path) -> None:
    path = save(tmp_path / "print.tif", noise(20, 30, 3, 16), ppi=299.7, description="plan ab12")

    with tifffile.TiffFile(path) as file:
        tags = file.pages[0].tags
        assert tags["XResolution"].value == tags["YResolution"].value == (2997, 10)
        assert tags["ResolutionUnit"].value == 2  # inch, TIFF 6.0 section 8
        assert tags["Orientation"].value == 1
        assert tags["Software"].value == f"Firstsheet {firstsheet.__version__}"
        assert tags["ImageDescription"].value == "plan ab12"
        assert tags["InterColorProfile"].value == PROFILE
        assert "DateTime" not in tags
        numbers = [tag.code for tag in tags]
        assert numbers == sorted(numbers)  # TIFF 6.0 section 2: ascending
    with Image.open(path.with_name("print.tif")) as image:
        assert image.info["dpi"] == pytest.approx((299.7, 299.7), abs=1e-6)
        assert image.info["icc_profile"] == PROFILE
    seen = pyvips.Image.new_from_file(str(path))
    assert seen.get("xres") * 25.4 == pytest.approx(299.7, abs=1e-4)  # single precision there
    assert seen.get("icc-profile-data") == PROFILE


@pytest.mark.parametrize("kind", ["rgb", "separated"])
def test_cmyk_names_its_inks_and_rgb_does_not(tmp_path: Path, kind: str) -> None:
    path = save(tmp_path / "print.tif", noise(5, 5, CHANNELS[kind], 16), photometric=kind)

    with tifffile.TiffFile(path) as file:
        assert (332 in file.pages[0].tags) is (kind == "separated")  # TIFF 6.0 section 16


def test_a_whole_sheet_has_the_bytes_the_arithmetic_says(tmp_path: Path) -> None:
    """13 × 19 in at 360 ppi, RGB 16-bit: 192,067,200 bytes (exact arithmetic)."""
    width, height = 4680, 6840
    path = tmp_path / "print.tif"
    with open_tiff_sink(
        path, width_px=width, height_px=height, channels=3, bits=16, ppi=360, profile=None
    ) as sink:
        band = np.zeros((456, width, 3), np.uint16)
        for top in range(0, height, 456):
            sink.write(top, band)

    with tifffile.TiffFile(path) as file:
        page = file.pages[0]
        assert sum(page.databytecounts) == 192_067_200
        assert page.dataoffsets[0] + 192_067_200 == path.stat().st_size
        assert len(page.dataoffsets) > 1
        assert max(page.databytecounts) <= 4 * 10**6


def test_order_and_threads_do_not_change_the_bytes(tmp_path: Path) -> None:
    pixels = noise(997, 83, 3, 16)
    tops = list(range(0, 997, 13))

    def made(name: str, order: list[int], threads: int) -> str:
        path = tmp_path / name
        with (
            open_tiff_sink(
                path, width_px=83, height_px=997, channels=3, bits=16, ppi=300, profile=PROFILE
            ) as sink,
            ThreadPoolExecutor(threads) as pool,
        ):
            list(pool.map(lambda top: sink.write(top, pixels[top : top + 13]), order))
        return hashlib.sha256(path.read_bytes()).hexdigest()

    assert made("a.tif", tops, 1) == made("b.tif", tops[::-1], 2)
    np.testing.assert_array_equal(tifffile.imread(tmp_path / "a.tif"), pixels)


def test_rows_that_are_no_contiguous_array_are_written_right(tmp_path: Path) -> None:
    pixels = noise(64, 32, 3, 16)
    path = tmp_path / "print.tif"
    with open_tiff_sink(
        path, width_px=16, height_px=64, channels=3, bits=16, ppi=300, profile=None
    ) as sink:
        sink.write(0, pixels[:, ::2])

    np.testing.assert_array_equal(tifffile.imread(path), pixels[:, ::2])


def open_small(path: Path, **options: Any) -> Any:
    shape = {"width_px": 4, "height_px": 6, "channels": 3, "bits": 8}
    return open_tiff_sink(path, ppi=300, profile=None, **(shape | options))


def test_a_row_that_comes_twice_is_refused(tmp_path: Path) -> None:
    sink = open_small(tmp_path / "print.tif")
    sink.write(0, np.zeros((3, 4, 3), np.uint8))
    with pytest.raises(ValueError, match="came twice"):
        sink.write(2, np.zeros((2, 4, 3), np.uint8))
    sink.abandon()


def test_a_row_that_never_came_is_told(tmp_path: Path) -> None:
    sink = open_small(tmp_path / "print.tif")
    sink.write(0, np.zeros((3, 4, 3), np.uint8))
    with pytest.raises(ValueError, match="row 3 was never written"):
        sink.close()


@pytest.mark.parametrize(
    "rows",
    [np.zeros((1, 5, 3), np.uint8), np.zeros((1, 4, 3), np.uint16), np.zeros((7, 4, 3), np.uint8)],
)
def test_rows_that_do_not_fit_are_refused(
    tmp_path: Path, rows: np.ndarray[Any, np.dtype[Any]]
) -> None:
    sink = open_small(tmp_path / "print.tif")
    with pytest.raises(ValueError, match=r"do not fit|lie outside"):
        sink.write(0, rows)
    sink.abandon()


@pytest.mark.skipif(os.name != "posix", reason="permissions of POSIX")
def test_the_print_file_has_the_permissions_of_any_new_file(tmp_path: Path) -> None:
    (tmp_path / "any").write_text("x")

    path = save(tmp_path / "print.tif", noise(4, 4, 3, 8))

    assert path.stat().st_mode == (tmp_path / "any").stat().st_mode


def test_an_error_inside_the_block_comes_through_unchanged(tmp_path: Path) -> None:
    with pytest.raises(KeyboardInterrupt), open_small(tmp_path / "print.tif"):
        raise KeyboardInterrupt


def test_an_existing_file_is_not_overwritten(tmp_path: Path) -> None:
    (tmp_path / "print.tif").write_text("an original")
    with pytest.raises(FileExistsError):
        open_small(tmp_path / "print.tif")
    assert (tmp_path / "print.tif").read_text() == "an original"


def test_a_plain_tiff_past_4_gib_is_refused_before_it_is_begun(tmp_path: Path) -> None:
    """Baseline TIFF has 32-bit offsets: 4,294,967,296 bytes (TIFF 6.0 section 2)."""
    with pytest.raises(OutputError) as caught:
        open_small(tmp_path / "print.tif", width_px=40_000, height_px=18_000, bits=16)

    assert caught.value.code == "needs-big-tiff"
    assert "print.tif would be 4.32 GB; a plain TIFF ends at 4.29 GB." in caught.value.found


def test_a_big_tiff_past_4_gib_reaches_its_last_row(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Sparse: only the last rows are written, then the directory's places are checked."""
    monkeypatch.setattr(tiffsink, "_reserve", os.ftruncate)
    path = tmp_path / "print.tif"
    sink = open_small(path, width_px=40_000, height_px=18_000, bits=16, big=True)
    last = noise(2, 40_000, 3, 16)
    sink.write(17_998, last)
    sink.abandon()

    with tifffile.TiffFile(path) as file:
        page = file.pages[0]
        assert page.dataoffsets[-1] > 2**32
        tail = np.fromfile(path, "<u2", offset=page.dataoffsets[-1])
        assert page.databytecounts[-1] == tail.nbytes
        np.testing.assert_array_equal(tail[-last.size :].reshape(last.shape), last)
        assert -(-18_000 // page.rowsperstrip) == len(page.dataoffsets)
    path.unlink()


@given(st.floats(min_value=20, max_value=5000))
def test_any_resolution_is_kept_closer_than_a_pixel_over_a_kilometre(ppi: float) -> None:
    above, below = exact_rational(ppi)

    assert 0 < below < 2**32
    assert 0 < above < 2**32
    assert abs(Fraction(above, below) - Fraction(ppi)) <= Fraction(ppi) / 10**8


@given(st.integers(1, 20_000), st.integers(1, 400))
def test_a_quotient_of_pixels_and_inches_is_kept_exactly(px: int, inches: int) -> None:
    assert Fraction(*exact_rational(px / inches)) == Fraction(px, inches)
