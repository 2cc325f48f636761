"""Enlargements saved as JPEG are told with their factor; what was never enlarged is not accused.

How often, over hundreds of pictures that set no limit: docs/theory/true-detail.md.
"""

import io

import numpy as np
import pytest
from PIL import Image
from scanmaker import ScanSpec, make_scan, true_factor  # type: ignore[import-not-found]

from firstsheet.engine.detail.enlargement import enlarged
from firstsheet.engine.detail.resampled import by_rhythm
from firstsheet.engine.detail.survey import Survey, choose_tiles
from firstsheet.engine.records.detail import EnlargedFacts


def _survey(plane: np.ndarray) -> Survey:
    height, width = plane.shape
    return choose_tiles(width, height, lambda t, b, le, r: plane[t:b, le:r])


def _facts(plane: np.ndarray) -> EnlargedFacts:
    return enlarged(_survey(plane))


@pytest.mark.parametrize(
    "spec",
    [
        ScanSpec(seed=21, factor=2.4, scene="texture", jpeg_quality=75),
        ScanSpec(seed=22, factor=1.9, scene="texture", jpeg_quality=90, kernel="lanczos"),
        ScanSpec(seed=23, factor=3.3, jpeg_quality=88, kernel="bilinear"),
        ScanSpec(seed=24, factor=2.7, jpeg_quality=92, sharpen_gain=0.8),
    ],
    ids=["texture-75", "texture-90", "town-88", "sharpened-92"],
)
def test_an_enlargement_saved_as_jpeg_is_told_with_its_factor(spec: ScanSpec) -> None:
    facts = _facts(make_scan(spec))

    assert facts.verdict == "enlarged"
    assert facts.factor == pytest.approx(true_factor(spec), rel=0.01)
    assert facts.confidence >= 0.8


def test_the_mirror_images_tell_what_the_rhythm_no_longer_can() -> None:
    survey = _survey(make_scan(ScanSpec(seed=21, factor=2.4, scene="texture", jpeg_quality=75)))

    assert by_rhythm(survey).verdict != "enlarged"
    assert enlarged(survey).told_by == "mirror images"


@pytest.mark.parametrize("factor", [2.0, 4.0])
def test_a_doubling_is_told_although_it_beats_with_the_blocks(factor: float) -> None:
    facts = _facts(make_scan(ScanSpec(seed=9, size_px=512, factor=factor, jpeg_quality=97)))

    assert facts.verdict == "enlarged"
    assert facts.factor == pytest.approx(factor, rel=0.01)


@pytest.mark.slow
def test_blocks_that_were_made_smaller_with_the_picture_are_not_taken_for_an_enlargement() -> None:
    # The rhythm alone calls this one enlarged by 1.4.
    spec = ScanSpec(
        seed=3104023, size_px=768, scene="texture", lens_sigma_px=0.38969532373573174, grain=0.0,
        scanner_sigma_px=0.31402300760058693, electronic=0.001, factor=0.872546294031995,
        kernel="lanczos", sharpen_gain=1.2, first_jpeg_quality=63, jpeg_quality=97, bits=8,
    )  # fmt: skip
    survey = _survey(make_scan(spec))

    assert by_rhythm(survey).verdict == "enlarged"
    assert enlarged(survey).verdict != "enlarged"


@pytest.mark.slow
def test_no_jpeg_that_was_never_enlarged_is_accused() -> None:
    rng = np.random.default_rng(17)
    accused = []
    for index in range(32):
        smaller = index % 2 == 1
        spec = ScanSpec(
            seed=5000 + index,
            size_px=256,
            scene=("town", "texture", "texture", "sky")[index // 2 % 4],
            lens_sigma_px=float(rng.uniform(0.2, 1.6)),
            grain=float(rng.choice([0.0, 0.01, 0.03])),
            factor=float(rng.uniform(0.5, 0.95)) if smaller else 1.0,
            anti_alias=index % 4 == 1,
            demosaic=index % 8 == 0,
            sharpen_gain=float(rng.choice([0.0, 0.8])),
            first_jpeg_quality=int(rng.integers(60, 98)) if index % 8 in (3, 6) else None,
            jpeg_quality=int(rng.integers(60, 99)),
        )
        if _facts(make_scan(spec)).verdict == "enlarged":
            accused.append(spec)
    assert accused == []


@pytest.mark.slow
@pytest.mark.parametrize("quality", [70, 88, 97])
def test_packaged_photographs_saved_as_jpeg_are_not_accused(quality: int) -> None:
    from skimage import data

    for name in ("camera", "brick", "grass", "gravel", "astronaut", "coffee", "chelsea", "rocket"):
        picture = getattr(data, name)()
        buffer = io.BytesIO()
        Image.fromarray(picture).convert("L").save(buffer, "JPEG", quality=quality)
        grey = np.asarray(Image.open(buffer)).astype(np.float32)
        assert _facts(grey / 2.55).verdict != "enlarged", name


def test_a_tiny_picture_is_left_to_the_rhythm() -> None:
    assert _facts(make_scan(ScanSpec(size_px=96))).verdict == "cannot tell"


def test_images_of_images_are_not_taken_for_a_slighter_enlargement() -> None:
    # In a clean file they go together at the rate 1 - r too: ×3.46 was once called ×1.41.
    spec = ScanSpec(
        seed=810000399, size_px=256, scene="texture", lens_sigma_px=0.68570306003184,
        scanner_sigma_px=0.5656324098794991, factor=3.446706772173637, kernel="lanczos",
    )  # fmt: skip
    facts = _facts(make_scan(spec))

    assert facts.factor is None or facts.factor == pytest.approx(true_factor(spec), rel=0.02)


@pytest.mark.slow
@pytest.mark.parametrize(
    "spec",
    [
        ScanSpec(
            seed=7800100004, size_px=1280, factor=2.475, kernel="lanczos", lens_sigma_px=0.8,
            grain=0.03, scanner_sigma_px=0.265, jpeg_quality=92,
        ),
        ScanSpec(
            seed=7800100012, size_px=1280, factor=3.824, kernel="bilinear", lens_sigma_px=0.287,
            grain=0.03, scanner_sigma_px=0.67, sharpen_gain=1.2, jpeg_quality=90, scene="sky",
        ),
    ],
    ids=["town", "sky"],
)  # fmt: skip
def test_in_a_large_picture_a_strong_line_is_believed_beside_lines_of_chance(
    spec: ScanSpec,
) -> None:
    facts = _facts(make_scan(spec))

    assert facts.verdict == "enlarged"
    assert facts.factor == pytest.approx(true_factor(spec), rel=0.01)


@pytest.mark.slow
def test_skirts_of_the_blocks_own_lines_do_not_cast_suspicion_on_a_large_jpeg() -> None:
    spec = ScanSpec(
        seed=7800100019, size_px=1280, kernel="bilinear", lens_sigma_px=0.269, grain=0.03,
        scanner_sigma_px=0.897, electronic=0.004, jpeg_quality=85,
    )  # fmt: skip

    assert _facts(make_scan(spec)).verdict in ("no sign", "cannot tell")
