"""Every format, packing and layout gives the pixels that another reader sees."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Any

import makers  # type: ignore[import-not-found]
import numpy as np
import pytest
import pyvips
import tifffile
from numpy.typing import NDArray
from PIL import Image

from firstsheet.engine.errors import RefusedPictureError
from firstsheet.files.reading import forward as source_forward
from firstsheet.files.reading.opening import open_picture

PACKINGS = [None, "lzw", "deflate", "packbits", "zstd", "lzma"]
LAYOUTS: list[dict[str, Any]] = [
    {"rowsperstrip": 17},
    {"rowsperstrip": 61},
    {"rowsperstrip": 1},
    {"tile": (16, 32)},
    {"tile": (64, 96)},
]


def seen(path: Path, **options: Any) -> NDArray[Any]:
    """All rows, read whole and again in uneven bands, which must agree."""
    with open_picture(path, **options) as opened:
        source = opened.source
        whole = source.rows(0, source.height_px)
        edges = [0, 1, 2, 19, 33, 34, source.height_px]
        pairs = itertools.pairwise(edges)
        bands = [source.rows(a, b) for a, b in pairs if a < b <= source.height_px]
        assert whole.dtype == source.dtype
        assert whole.shape == (source.height_px, source.width_px, source.channels)
        assert whole.flags.c_contiguous
        np.testing.assert_array_equal(np.concatenate(bands), whole)
        return whole


@pytest.mark.parametrize("byteorder", ["<", ">"])
@pytest.mark.parametrize("planar", ["contig", "separate"])
@pytest.mark.parametrize("layout", LAYOUTS, ids=str)
@pytest.mark.parametrize("packing", PACKINGS)
def test_16_bit_tiff_reads_as_the_parsers_own_whole_file_reader_does(
    tmp_path: Path, packing: str | None, layout: dict[str, Any], planar: str, byteorder: str
) -> None:
    path = makers.write_tiff(
        tmp_path / "a.tif",
        makers.noise(),
        compression=packing,
        planarconfig=planar,
        byteorder=byteorder,
        **layout,
    )

    expected = tifffile.imread(path)
    if planar == "separate":
        expected = np.moveaxis(expected, 0, 2)
    np.testing.assert_array_equal(seen(path), expected)


@pytest.mark.parametrize("predictor", [False, True])
@pytest.mark.parametrize("layout", LAYOUTS, ids=str)
@pytest.mark.parametrize("packing", [None, "lzw", "deflate", "packbits"])
@pytest.mark.parametrize("channels", [1, 3])
def test_8_bit_tiff_reads_as_pillow_reads_it(
    tmp_path: Path, channels: int, packing: str | None, layout: dict[str, Any], predictor: bool
) -> None:
    if predictor and packing in (None, "packbits"):
        pytest.skip("predictors go with LZW and deflate")
    pixels = makers.noise(np.uint8, channels)
    path = makers.write_tiff(
        tmp_path / "a.tif", pixels, compression=packing, predictor=predictor, **layout
    )

    with Image.open(path) as picture:
        expected = np.array(picture).reshape(pixels.shape)
    np.testing.assert_array_equal(seen(path), expected)


@pytest.mark.parametrize("predictor", [False, True])
@pytest.mark.parametrize("layout", LAYOUTS, ids=str)
@pytest.mark.parametrize("packing", [None, "lzw", "deflate"])
@pytest.mark.parametrize("channels", [1, 3])
def test_16_bit_tiff_reads_as_libvips_reads_it(
    tmp_path: Path, channels: int, packing: str | None, layout: dict[str, Any], predictor: bool
) -> None:
    if predictor and packing is None:
        pytest.skip("predictors go with LZW and deflate")
    path = makers.write_tiff(
        tmp_path / "a.tif",
        makers.noise(np.uint16, channels),
        compression=packing,
        predictor=predictor,
        **layout,
    )

    expected = pyvips.Image.tiffload(str(path), fail_on="error").numpy()
    np.testing.assert_array_equal(seen(path), expected.reshape(61, 83, channels))


@pytest.mark.parametrize("byteorder", ["<", ">"])
@pytest.mark.parametrize("predictor", [False, True])
@pytest.mark.parametrize("packing", [None, "deflate", "zstd"])
@pytest.mark.parametrize("kind", [np.float16, np.float32, np.float64])
def test_float_tiff_reads_as_32_bit_floats(
    tmp_path: Path, kind: Any, packing: str | None, predictor: bool, byteorder: str
) -> None:
    if predictor and packing is None:
        pytest.skip("predictors go with packed data")
    pixels = makers.noise(kind)
    path = makers.write_tiff(
        tmp_path / "a.tif",
        pixels,
        compression=packing,
        predictor=predictor,
        byteorder=byteorder,
    )

    np.testing.assert_array_equal(seen(path, read_as="srgb"), pixels.astype(np.float32))


def test_a_bigtiff_reads_like_any_other(tmp_path: Path) -> None:
    pixels = makers.noise()
    path = makers.write_tiff(tmp_path / "a.tif", pixels, bigtiff=True, compression="deflate")

    assert path.read_bytes()[:3] == b"II+"
    np.testing.assert_array_equal(seen(path), pixels)


@pytest.mark.parametrize("layout", [{"rowsperstrip": 16}, {"tile": (32, 32)}], ids=str)
@pytest.mark.parametrize("photometric", ["rgb", "ycbcr", "minisblack"])
def test_jpeg_inside_tiff_reads_as_libvips_reads_it(
    tmp_path: Path, photometric: str, layout: dict[str, Any]
) -> None:
    channels = 1 if photometric == "minisblack" else 3
    path = makers.write_tiff(
        tmp_path / "a.tif",
        makers.slope(channels),
        compression="jpeg",
        photometric=photometric,
        **layout,
    )

    expected = pyvips.Image.tiffload(str(path), fail_on="error").numpy()
    difference = seen(path).astype(int) - expected.reshape(61, 83, channels)
    assert np.abs(difference).max() <= 1


@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
def test_white_is_zero_grey_is_turned(tmp_path: Path, dtype: Any) -> None:
    pixels = makers.noise(dtype, 1)
    path = makers.write_tiff(tmp_path / "a.tif", pixels, photometric="miniswhite")

    np.testing.assert_array_equal(seen(path), np.iinfo(dtype).max - pixels)


@pytest.mark.parametrize("deep", [False, True])
def test_a_palette_is_expanded_as_pillow_expands_it(tmp_path: Path, deep: bool) -> None:
    path, colours = makers.palette_tiff(tmp_path / "a.tif", deep=deep)

    np.testing.assert_array_equal(seen(path), colours)
    with Image.open(path) as picture:
        by_pillow = np.array(picture.convert("RGB"))
    np.testing.assert_array_equal(seen(path) >> (8 if deep else 0), by_pillow)


@pytest.mark.parametrize("packing", [None, "group4", "packbits", "tiff_lzw"])
def test_one_bit_line_art_becomes_black_and_white(tmp_path: Path, packing: str | None) -> None:
    path, greys = makers.one_bit_tiff(tmp_path / "a.tif", packing)

    np.testing.assert_array_equal(seen(path), greys)


@pytest.mark.parametrize("bits", [2, 4, 10, 12, 14])
def test_odd_depths_are_spread_over_the_whole_range(tmp_path: Path, bits: int) -> None:
    top = 2**bits - 1
    codes = np.random.default_rng(3).integers(0, top + 1, (61, 80, 1), dtype=np.uint16)
    kept = codes.astype(np.uint8 if bits <= 8 else np.uint16)
    path = makers.write_tiff(tmp_path / "a.tif", kept, bitspersample=bits)

    full = 255 if bits <= 8 else 65535
    np.testing.assert_array_equal(seen(path), np.floor(codes.astype(float) * full / top + 0.5))


@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
@pytest.mark.parametrize("channels", [1, 2, 3, 4])
def test_png_reads_the_samples_written_by_hand(tmp_path: Path, channels: int, dtype: Any) -> None:
    pixels = makers.noise(dtype, channels)
    if channels in (2, 4):
        pixels[:, :, -1] = np.iinfo(dtype).max
    path = makers.write_png(tmp_path / "a.png", pixels)

    colours = channels - (channels in (2, 4))
    np.testing.assert_array_equal(seen(path), pixels[:, :, :colours])


@pytest.mark.parametrize("mode", ["1", "L", "P", "RGB"])
def test_png_reads_as_pillow_reads_it(tmp_path: Path, mode: str) -> None:
    path = tmp_path / "a.png"
    Image.fromarray(makers.noise(np.uint8)).convert(mode).save(path)

    with Image.open(path) as picture:
        plain = picture.convert("RGB" if mode == "P" else "L" if mode == "1" else mode)
        expected = np.array(plain).reshape(61, 83, -1)
    np.testing.assert_array_equal(seen(path), expected)


def test_an_interlaced_png_reads_as_pillow_reads_it(tmp_path: Path) -> None:
    path = tmp_path / "a.png"
    pixels = makers.noise(np.uint8)
    pyvips.Image.new_from_array(pixels).pngsave(str(path), interlace=True)

    np.testing.assert_array_equal(seen(path), pixels)


@pytest.mark.parametrize("progressive", [False, True])
@pytest.mark.parametrize("subsampling", [0, 1, 2])
@pytest.mark.parametrize("channels", [1, 3, 4])
def test_jpeg_reads_as_pillow_reads_it(
    tmp_path: Path, channels: int, subsampling: int, progressive: bool
) -> None:
    if channels != 3 and subsampling:
        pytest.skip("only colour is sampled coarser")
    path = tmp_path / "a.jpg"
    path.write_bytes(
        makers.jpeg_bytes(makers.slope(channels), subsampling=subsampling, progressive=progressive)
    )
    read_as = {"read_as": press(tmp_path)} if channels == 4 else {}

    with Image.open(path) as picture:
        expected = np.array(picture).reshape(61, 83, channels)
    if channels == 4:  # Pillow turns the ink values of files with an APP14 marker; 0 is no ink here
        assert_inks_agree(seen(path, **read_as), expected)
    else:
        np.testing.assert_array_equal(seen(path, **read_as), expected)


def assert_inks_agree(ours: NDArray[Any], pillows: NDArray[Any]) -> None:
    assert np.abs(ours.astype(int) - pillows).max() <= 1


def press(folder: Path) -> str:
    """A press profile's file, to name what the inks mean."""
    path = folder / "press.icc"
    path.write_bytes(makers.cmyk_profile())
    return str(path)


@pytest.mark.parametrize("planar", ["contig", "separate"])
@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
def test_cmyk_tiff_with_a_profile_is_read_as_inks(tmp_path: Path, dtype: Any, planar: str) -> None:
    pixels = makers.noise(dtype, 4)
    path = makers.write_tiff(
        tmp_path / "a.tif",
        pixels,
        photometric="separated",
        planarconfig=planar,
        iccprofile=makers.cmyk_profile(),
    )

    np.testing.assert_array_equal(seen(path), pixels)
    with open_picture(path) as opened:
        assert opened.facts.colour_model == "cmyk"
        assert opened.profile_bytes == makers.cmyk_profile()
        assert [one.name for one in opened.facts.channels] == list("CMYK")
        assert "cmyk-tagged" in {one.code for one in opened.facts.findings}


@pytest.mark.parametrize("lossless", [False, True])
@pytest.mark.parametrize("channels", [3, 4])
def test_webp_reads_as_pillow_reads_it(tmp_path: Path, channels: int, lossless: bool) -> None:
    path = tmp_path / "a.webp"
    pixels = makers.noise(np.uint8, channels)
    pixels[:, :, 3:] = 255
    Image.fromarray(pixels).save(path, lossless=lossless, quality=90)

    with Image.open(path) as picture:
        expected = np.array(picture.convert("RGB"))
    np.testing.assert_array_equal(seen(path), expected)


def test_lab_tiffs_come_out_in_one_encoding(tmp_path: Path) -> None:
    # L* 50, a* 10, b* -20 by TIFF 6.0 section 23 (two's complement) and by the ICC encodings
    # (a* and b* offset by 128; 65280 is L* 100 in 16 bits).
    stored: dict[tuple[str, Any], tuple[int, int, int]] = {
        ("cielab", np.uint8): (128, 10, 236),
        ("icclab", np.uint8): (128, 138, 108),
        ("cielab", np.uint16): (32768, 2560, 65536 - 5120),
        ("icclab", np.uint16): (32640, 138 * 256, 108 * 256),
    }
    for (photometric, dtype), codes in stored.items():
        pixels = np.full((61, 83, 3), codes, dtype)
        path = makers.write_tiff(tmp_path / "a.tif", pixels, photometric=photometric)

        scaled = seen(path)[0, 0] / np.iinfo(dtype).max
        lab = scaled * (100, 255, 255) - (0, 128, 128)
        assert lab == pytest.approx((50, 10, -20), abs=0.2 if dtype == np.uint8 else 0.003)


@pytest.mark.parametrize("mode", ["L", "RGB", "RGBA", "P"])
def test_what_the_first_reader_cannot_begin_the_second_reads_and_that_is_said(
    tmp_path: Path, mode: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.png"
    pixels = makers.noise(np.uint8, 4)
    pixels[:, :, 3] = 255
    Image.fromarray(pixels).convert(mode).save(path)
    expected = seen(path)

    def refuse(*_: object, **__: object) -> None:
        raise pyvips.Error("no loader")

    monkeypatch.setattr(source_forward, "vips_open", refuse)
    with open_picture(path) as opened:
        ours = opened.source.rows(0, 61)
        assert "second-reader" in {one.code for one in opened.facts.findings}
    np.testing.assert_array_equal(ours, np.broadcast_to(expected, ours.shape))


def test_sixteen_bit_png_is_never_given_to_a_reader_that_drops_bits(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = makers.write_png(tmp_path / "a.png", makers.noise(np.uint16))

    def refuse(*_: object, **__: object) -> None:
        raise pyvips.Error("no loader")

    monkeypatch.setattr(source_forward, "vips_open", refuse)
    with pytest.raises(RefusedPictureError, match="no loader"):
        open_picture(path)


def test_stray_bytes_before_a_restart_marker_cost_no_pixel(tmp_path: Path) -> None:
    path = tmp_path / "a.jpg"
    data = makers.jpeg_bytes(makers.slope(), restart_marker_blocks=4)
    path.write_bytes(data)
    expected = seen(path)
    for marker in (b"\xff\xd1", b"\xff\xd3"):
        at = data.index(marker, data.index(b"\xff\xda"))
        data = data[:at] + b"\x12\x34\x56" + data[at:]
    path.write_bytes(data)

    with pytest.raises(pyvips.Error, match="extraneous"):
        pyvips.Image.jpegload(str(path), fail_on="warning").avg()
    np.testing.assert_array_equal(seen(path), expected)
