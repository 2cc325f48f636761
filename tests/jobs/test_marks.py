"""`check` with marks, from a file to the drawn picture."""

from pathlib import Path

import numpy as np
import pytest
import skimage
import tifffile
from PIL import Image

from firstsheet.cms.build import space_profile
from firstsheet.engine.errors import OutputError
from firstsheet.jobs.answers import CheckAnswer
from firstsheet.jobs.check import check_picture


def _quiet(*_: object) -> None:
    """Nobody listens."""


def _scan(folder: Path) -> Path:
    """A sky of 16 bit with one dark speck at 200.5, 300.5 px, stored turned by flag 6."""
    rng = np.random.default_rng(1)
    upright = np.full((500, 640, 3), 0.6) + 0.004 * rng.standard_normal((500, 640, 3))
    upright[298:303, 198:203] = 0.1
    stored = np.rot90(upright)
    path = folder / "sky.tif"
    tifffile.imwrite(
        path, np.round(np.clip(stored, 0, 1) * 65535).astype(np.uint16), photometric="rgb",
        iccprofile=space_profile("srgb"), extratags=[(274, 3, 1, 6, True)], metadata=None,
    )  # fmt: skip
    return path


def _check(path: Path, marks: Path) -> CheckAnswer:
    return check_picture(path, marks=marks, film="35mm", progress=_quiet, stop=_quiet)


def test_a_speck_is_placed_in_the_upright_picture_and_drawn(tmp_path: Path) -> None:
    target = tmp_path / "marks.png"

    answer = _check(_scan(tmp_path), target)

    (place,) = answer.marks
    assert (place.x_px, place.y_px) == pytest.approx((200.5, 300.5), abs=0.7)
    assert place.x_mm == pytest.approx(200.5 / 640 * 36, abs=0.2)
    assert answer.marks_file == str(target)
    assert answer.dust_words.startswith("May be dust or scratches: 1 dark speck.")
    drawn = np.asarray(Image.open(target).convert("L")).astype(int)
    ground = drawn[28 + 100, 28 + 400]
    assert abs(drawn[28 + 320, 28 + 400] - ground) < 12
    assert np.abs(drawn[28 + 285 : 28 + 318, 28 + 183 : 28 + 220] - ground).max() > 90


def test_the_picture_itself_is_never_drawn_over(tmp_path: Path) -> None:
    path = _scan(tmp_path)
    before = path.read_bytes()

    with pytest.raises(OutputError, match="is the picture itself"):
        _check(path, path)

    assert path.read_bytes() == before


def test_check_says_that_a_jpeg_was_saved_twice(tmp_path: Path) -> None:
    data = Path(skimage.__file__).parent / "data" / "camera.png"
    path = tmp_path / "twice.jpg"
    Image.open(data).convert("RGB").save(tmp_path / "once.jpg", quality=60)
    Image.open(tmp_path / "once.jpg").save(path, quality=90)

    detail = check_picture(path, read_as="srgb", progress=_quiet, stop=_quiet).detail

    assert detail is not None
    assert detail.double_jpeg is not None
    assert detail.double_jpeg.first_quality == pytest.approx(60, abs=2)
    assert "saved as JPEG at least twice" in detail.sentences[-1]
