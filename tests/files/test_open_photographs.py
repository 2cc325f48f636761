"""Real photographs of a scientific package: every kind of profile there is in the wild.

Pictures: scikit-image's packaged data, read where they lie and never copied.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import skimage
from PIL import Image

from firstsheet.engine.records import PictureFacts
from firstsheet.files.reading.opening import open_picture

DATA = Path(skimage.__file__).parent / "data"


def facts_of(name: str) -> PictureFacts:
    with open_picture(DATA / name) as opened:
        return opened.facts


@pytest.mark.parametrize(
    "name",
    sorted(path.name for path in DATA.iterdir() if path.suffix in (".png", ".jpg")),
)
def test_every_packaged_picture_opens_with_the_pixels_pillow_sees(name: str) -> None:
    with open_picture(DATA / name, read_as=None) as opened, Image.open(DATA / name) as picture:
        ours = opened.source.rows(0, opened.source.height_px)
        if opened.facts.alpha == "partly-clear" or ours.dtype != np.uint8:
            return
        plain = picture.convert({1: "L", 3: "RGB"}[ours.shape[2]])
        theirs = np.array(plain).reshape(ours.shape)
    np.testing.assert_array_equal(ours, theirs)


def test_an_srgb_profile_is_found_where_it_is() -> None:
    for name, ppi in (("astronaut.png", 300), ("chelsea.png", None)):
        found = facts_of(name)
        assert found.profile is not None
        assert "srgb" in found.profile.description.lower()
        assert found.read_as == ""
        if ppi:
            assert found.tag_ppi_x == pytest.approx(ppi, abs=0.1)


def test_a_photograph_without_a_profile_is_read_as_srgb() -> None:
    found = facts_of("coffee.png")

    assert found.profile is None
    assert found.read_as == "srgb"
    assert found.tag_ppi_x == pytest.approx(96, abs=0.1)
    assert "untagged-rgb" in {one.code for one in found.findings}


def test_a_wide_gamut_profile_is_used_as_it_is() -> None:
    found = facts_of("rocket.jpg")

    assert found.profile is not None
    assert "srgb" not in found.profile.description.lower()
    assert found.read_as == ""
    codes = {one.code for one in found.findings}
    assert "untagged-rgb" not in codes
    assert "broken-profile" not in codes


def test_a_screens_profile_is_told() -> None:
    found = facts_of("color.png")

    assert found.profile is not None
    assert found.profile.kind == "screen"
    assert "screen-profile" in {one.code for one in found.findings}


def test_a_grey_page_carries_its_dot_gain_curve() -> None:
    found = facts_of("page.png")

    assert found.colour_model == "grey"
    assert found.profile is not None
    assert found.profile.colour_space == "GRAY"
    assert found.read_as == ""
