"""The small picture for lists, read back by Pillow."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from firstsheet.cms.build import space_profile
from firstsheet.files.writing.small_jpeg import small_jpeg


@pytest.mark.parametrize(
    ("shape", "size"), [((500, 750), (320, 213)), ((750, 250), (107, 320)), ((20, 30), (30, 20))]
)
def test_it_is_small_tagged_and_shows_the_picture(
    shape: tuple[int, int], size: tuple[int, int]
) -> None:
    srgb = np.empty((*shape, 3), np.uint8)
    srgb[:] = (200, 90, 30)
    srgb[: shape[0] // 2] = (30, 60, 170)

    with Image.open(io.BytesIO(small_jpeg(srgb, profile=space_profile("srgb")))) as picture:
        assert picture.format == "JPEG"
        assert picture.size == size
        assert picture.info["icc_profile"] == space_profile("srgb")
        pixels = np.asarray(picture, dtype=np.int64)
    assert np.abs(pixels[size[1] // 8, size[0] // 2] - (30, 60, 170)).max() <= 6
    assert np.abs(pixels[size[1] * 7 // 8, size[0] // 2] - (200, 90, 30)).max() <= 6
