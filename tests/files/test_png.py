"""PNG files, read back by readers we did not write."""

from __future__ import annotations

import hashlib
import struct
import zlib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import pyvips
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from PIL import Image, ImageCms

from firstsheet.files.writing.png import write_png8, write_png16

SRGB = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def photo(height: int, width: int, dtype: str) -> np.ndarray[Any, np.dtype[Any]]:
    y, x = np.mgrid[0:height, 0:width]
    grain = np.random.default_rng(1).normal(0, 0.01, (height, width, 3))
    waves = [np.sin(x / 90 + k) * np.cos(y / 70 - k) * 0.4 + 0.5 for k in range(3)]
    scaled = (np.stack(waves, -1) + grain).clip(0, 1) * np.iinfo(dtype).max
    pixels: np.ndarray[Any, np.dtype[Any]] = scaled.astype(dtype)
    return pixels


def chunks(path: Path) -> list[tuple[bytes, bytes]]:
    """Kind and data of each chunk, checksums verified (PNG, section 5.3)."""
    data = path.read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    found, place = [], 8
    while place < len(data):
        (length,) = struct.unpack_from(">I", data, place)
        kind, body = data[place + 4 : place + 8], data[place + 8 : place + 8 + length]
        (check,) = struct.unpack_from(">I", data, place + 8 + length)
        assert check == zlib.crc32(kind + body)
        found.append((kind, body))
        place += 12 + length
    return found


def test_16_bit_pixels_come_back_exactly(tmp_path: Path) -> None:
    pixels = photo(700, 301, "uint16")

    write_png16(tmp_path / "proof.png", pixels, SRGB)

    image = pyvips.Image.new_from_file(str(tmp_path / "proof.png"), fail_on="error")
    assert image.interpretation == "rgb16"
    np.testing.assert_array_equal(image.numpy(), pixels)
    assert image.get("icc-profile-data") == SRGB


def test_8_bit_pixels_come_back_exactly_in_two_readers(tmp_path: Path) -> None:
    pixels = photo(700, 301, "uint8")

    write_png8(tmp_path / "map.png", pixels, SRGB, ppi=360, text={"Title": "ferry"})

    with Image.open(tmp_path / "map.png") as image:
        np.testing.assert_array_equal(np.asarray(image), pixels)
        assert image.info["icc_profile"] == SRGB
        assert image.info["Title"] == "ferry"
        assert image.info["dpi"] == pytest.approx((360, 360), abs=0.02)  # whole pixels per metre
    np.testing.assert_array_equal(
        pyvips.Image.new_from_file(str(tmp_path / "map.png")).numpy(), pixels
    )


@settings(max_examples=40)
@given(
    hnp.arrays(
        st.sampled_from([np.uint8, np.uint16]),
        st.one_of(
            hnp.array_shapes(min_dims=2, max_dims=2, max_side=9),
            st.tuples(st.integers(1, 9), st.integers(1, 9), st.just(3)),
        ),
    )
)
def test_any_small_picture_comes_back(
    tmp_path_factory: pytest.TempPathFactory, pixels: np.ndarray[Any, np.dtype[Any]]
) -> None:
    path = tmp_path_factory.mktemp("png") / "any.png"
    write = write_png8 if pixels.dtype == np.uint8 else write_png16

    write(path, pixels, None)

    seen = pyvips.Image.new_from_file(str(path), fail_on="error").numpy()
    np.testing.assert_array_equal(seen.reshape(pixels.shape), pixels)


def test_chunks_stand_in_the_order_of_the_standard(tmp_path: Path) -> None:
    """IHDR first, iCCP and pHYs before IDAT, IEND last (PNG, section 5.6)."""
    write_png16(tmp_path / "a.png", photo(900, 400, "uint16"), SRGB, ppi=300, text={"Title": "x"})

    kinds = [kind for kind, _ in chunks(tmp_path / "a.png")]
    assert kinds[0] == b"IHDR"
    assert kinds[-1] == b"IEND"
    assert kinds.count(b"IDAT") > 1
    assert kinds.index(b"iCCP") < kinds.index(b"IDAT")
    assert kinds.index(b"pHYs") < kinds.index(b"IDAT")
    body = dict(chunks(tmp_path / "a.png"))
    assert struct.unpack(">IIB", body[b"pHYs"]) == (11811, 11811, 1)  # 300 / 0.0254


def test_the_same_pixels_give_the_same_bytes(tmp_path: Path) -> None:
    pixels = photo(900, 400, "uint16")
    for name in ("one.png", "two.png"):
        write_png16(tmp_path / name, pixels, SRGB, text={"Title": "ferry"})

    sums = {hashlib.sha256((tmp_path / n).read_bytes()).digest() for n in ("one.png", "two.png")}
    assert len(sums) == 1


def test_an_existing_file_is_not_replaced(tmp_path: Path) -> None:
    (tmp_path / "a.png").write_bytes(b"kept")
    with pytest.raises(FileExistsError):
        write_png8(tmp_path / "a.png", photo(8, 8, "uint8"), None)
    assert (tmp_path / "a.png").read_bytes() == b"kept"


def test_words_outside_latin_1_are_kept(tmp_path: Path) -> None:
    write_png8(
        tmp_path / "a.png", photo(8, 8, "uint8"), None, text={"Title": "Лодка", "Author": "é"}
    )

    with Image.open(tmp_path / "a.png") as image:
        assert image.info == {"Title": "Лодка", "Author": "é"}


def test_filters_make_a_smooth_picture_much_smaller(tmp_path: Path) -> None:
    slope = np.zeros((300, 300, 3), np.uint16) + (np.arange(300, dtype=np.uint16) * 37)[:, None]

    write_png16(tmp_path / "a.png", slope, None)

    assert (tmp_path / "a.png").stat().st_size < slope.nbytes / 50


@pytest.mark.parametrize("shape", [(4,), (4, 4, 4), (0, 4, 3)])
def test_what_is_no_picture_is_refused(tmp_path: Path, shape: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match="a PNG here is"):
        write_png8(tmp_path / "a.png", np.zeros(shape, np.uint8), None)


@pytest.mark.parametrize("keyword", ["", "x" * 80])
def test_a_keyword_the_standard_forbids_is_refused(tmp_path: Path, keyword: str) -> None:
    """Keywords have 1 to 79 bytes (PNG, section 11.3.3.2)."""
    with pytest.raises(ValueError, match="no PNG keyword"):
        write_png8(tmp_path / "a.png", photo(4, 4, "uint8"), None, text={keyword: "x"})
