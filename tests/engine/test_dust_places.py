"""Places of dust on film and print, and the words for them."""

import numpy as np
import pytest
from PIL import Image, ImageOps

from firstsheet.engine.detail.dust.places import (
    count_words,
    dust_findings,
    dust_sentence,
    mark_places,
    print_places,
    upright_box,
)
from firstsheet.engine.records import PictureFacts
from firstsheet.engine.records.detail import DustFacts, Mark
from firstsheet.engine.records.plan import SizePlan


def _facts(orientation: int = 1, width: int = 4000, height: int = 3000) -> PictureFacts:
    turned = (height, width) if orientation >= 5 else (width, height)
    return PictureFacts(
        path="a.tif", sha256="", size_bytes=1, format="TIFF", compression="none", page=1, pages=1,
        stored_width_px=width, stored_height_px=height, orientation=orientation,
        width_px=turned[0], height_px=turned[1], colour_model="rgb", bits=16,
        sample_format="uint", true_bits=16,
    )  # fmt: skip


def _mark(x: float, y: float, kind: str = "hair", length: float = 40.0) -> Mark:
    return Mark(
        kind=kind, x_px=x, y_px=y, left_px=int(x) - 20, top_px=int(y) - 2, right_px=int(x) + 20,
        bottom_px=int(y) + 2, length_px=length, width_px=3.0, height_l=-12.0, confidence=0.8,
    )  # fmt: skip


def _dust(*marks: Mark) -> DustFacts:
    told = "found" if marks else "none"
    return DustFacts(marks=marks, count=len(marks), looked_percent=55.0, left_out=0, told=told)


def _size(
    left: float = 0.0, top: float = 0.0, width: float = 4000, height: float = 3000
) -> SizePlan:
    return SizePlan(
        crop_left_px=left, crop_top_px=top, crop_width_px=width, crop_height_px=height,
        crop_loss_percent=0.0, crop_loss_mm=(0, 0, 0, 0), width_px=1, height_px=1, ppi=360,
        width_mm=width / 10, height_mm=height / 10, effective_ppi=254, scale=1.0, enlarged=False,
        resample="none", verdicts=(),
    )  # fmt: skip


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_box_turns_as_pillow_turns_the_picture(orientation: int) -> None:
    stored = np.zeros((30, 50), np.uint8)
    stored[4:9, 20:23] = 255  # left 20, top 4, right 23, bottom 9
    picture = Image.fromarray(stored)
    picture.getexif()[274] = orientation
    upright = np.asarray(ImageOps.exif_transpose(picture))
    rows, columns = np.nonzero(upright)

    box = upright_box((20, 4, 23, 9), orientation, 50, 30)

    assert box == (columns.min(), rows.min(), columns.max() + 1, rows.max() + 1)


def test_places_on_film_are_pixels_by_the_samples_per_inch() -> None:
    (place,) = mark_places(_dust(_mark(1000, 500)), _facts(), spi=2540)

    assert (place.x_mm, place.y_mm, place.length_mm) == (10.0, 5.0, 0.4)
    assert place.words == "dark hair, 0.4 mm, upper left, at 10.0, 5.0 mm (1000, 500 px)"


def test_without_film_only_pixels_are_named() -> None:
    (place,) = mark_places(_dust(_mark(3900, 2900, "dark speck", 6)), _facts())

    assert place.x_mm is None
    assert place.words == "dark speck, 6 px, lower right, at 3900, 2900 px"


def test_places_on_the_print_count_from_the_crop_and_what_is_cut_off_is_left_out() -> None:
    dust = _dust(_mark(1000, 500), _mark(100, 2000))

    (place,) = print_places(dust, _facts(), _size(left=400, top=100, width=3000, height=2000))

    assert (place.number, place.x_mm, place.y_mm) == (1, 60.0, 40.0)


def test_a_turned_picture_has_its_places_turned() -> None:
    (place,) = mark_places(_dust(_mark(1000, 500)), _facts(6), spi=2540)

    assert (place.x_px, place.y_px) == (2500.0, 1000.0)
    assert place.place == "upper right"


def test_the_finding_names_count_and_places_and_removes_nothing() -> None:
    dust = _dust(_mark(1000, 500), _mark(3000, 2000, "dark speck", 8))

    (found,) = dust_findings(dust, _facts(), _size())

    assert found.code == "dust-candidates"
    assert found.found == (
        "May be dust or scratches: 1 dark speck and 1 hair. The worst: dark hair, 4 mm, upper "
        "left, at 100.0, 50.0 mm (1000, 500 px); dark speck, 0.8 mm, lower right, at 300.0, "
        "200.0 mm (3000, 2000 px)."
    )
    assert "nothing is removed here" in found.choices[0].text
    assert found.figures["count"] == 2


def test_dust_outside_the_crop_or_too_small_on_the_print_is_no_finding() -> None:
    small = _mark(1000, 500, "dark speck", 0.5)

    assert dust_findings(_dust(_mark(100, 100)), _facts(), _size(left=2000, width=1000)) == ()
    assert dust_findings(_dust(small), _facts(), _size()) == ()
    assert dust_findings(None, _facts(), _size()) == ()


def test_the_sentence_says_over_how_much_of_the_picture_it_could_tell() -> None:
    places = mark_places(_dust(_mark(1000, 500), _mark(9, 9)), _facts())

    assert count_words(places) == "2 hairs"
    assert dust_sentence(_dust(*[_mark(1, 1)] * 2), places) == (
        "May be dust or scratches: 2 hairs. Only the 55 % of the picture that are even enough "
        "were searched."
    )
    assert dust_sentence(_dust(), ()) == (
        "None seen in the 55 % of the picture that are even enough to tell."
    )
    unable = _dust().model_copy(update={"told": "cannot tell"})
    assert dust_sentence(unable, ()).startswith("Whether there is dust cannot be told")
