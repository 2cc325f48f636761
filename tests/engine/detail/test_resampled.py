"""Enlargements are found with their factor; nothing untouched is accused."""

import numpy as np
import pytest
from scanmaker import ScanSpec, make_scan, true_factor  # type: ignore[import-not-found]

from firstsheet.engine.detail.enlargement import enlarged
from firstsheet.engine.detail.survey import choose_tiles
from firstsheet.engine.records.detail import EnlargedFacts


def _facts(plane: np.ndarray) -> EnlargedFacts:
    height, width = plane.shape
    return enlarged(choose_tiles(width, height, lambda t, b, le, r: plane[t:b, le:r]))


@pytest.mark.slow
@pytest.mark.parametrize("kernel", ["bilinear", "bicubic", "lanczos"])
@pytest.mark.parametrize("factor", [1.5, 1.9, 2.0, 2.1, 3.2])
def test_an_enlargement_is_found_with_its_factor(factor: float, kernel: str) -> None:
    spec = ScanSpec(seed=5, factor=factor, kernel=kernel)
    facts = _facts(make_scan(spec))
    assert facts.verdict == "enlarged"
    assert facts.factor == pytest.approx(true_factor(spec), rel=0.01)
    assert facts.confidence >= 0.8


@pytest.mark.parametrize(
    "spec",
    [
        ScanSpec(seed=5, factor=1.9, sharpen_gain=1.0),
        ScanSpec(seed=5, factor=1.5, bits=8),
        ScanSpec(seed=5, factor=1.9, lens_sigma_px=1.0, scanner_sigma_px=0.8),
        ScanSpec(seed=5, factor=2.7, scene="texture"),
        ScanSpec(seed=5, factor=1.7, scene="sky"),
    ],
    ids=["sharpened", "eight-bit", "soft", "texture", "sky"],
)
def test_it_is_found_after_other_treatment_too(spec: ScanSpec) -> None:
    facts = _facts(make_scan(spec))
    assert facts.verdict == "enlarged"
    assert facts.factor == pytest.approx(true_factor(spec), rel=0.01)


@pytest.mark.slow
def test_nothing_untouched_or_made_smaller_is_called_enlarged() -> None:
    # Chance, colour filters, compression, sharpening, softness, reductions: 40 pictures here,
    # many more in tools/derive_enlarged.py.
    rng = np.random.default_rng(7)
    accused = []
    for index in range(40):
        spec = ScanSpec(
            seed=1000 + index,
            size_px=224,
            scene=("town", "texture", "town", "sky")[index % 4],
            lens_sigma_px=float(rng.uniform(0.2, 1.6)),
            scanner_sigma_px=float(rng.uniform(0.2, 1.2)),
            grain=float(rng.choice([0.0, 0.01, 0.03])),
            demosaic=index % 6 == 0,
            factor=float(rng.uniform(0.55, 0.95)) if index % 3 == 0 else 1.0,
            kernel=("bilinear", "bicubic", "lanczos")[index % 3],
            sharpen_gain=float(rng.choice([0.0, 0.8])),
            jpeg_quality=int(rng.integers(60, 98)) if index % 5 == 0 else None,
            bits=(8, 16)[index % 2],
        )
        if _facts(make_scan(spec)).verdict == "enlarged":
            accused.append(spec)
    assert accused == []


def test_a_colour_filter_pattern_is_not_called_an_enlargement() -> None:
    facts = _facts(make_scan(ScanSpec(seed=3, scene="texture", demosaic=True)))
    assert facts.verdict in ("cannot tell", "no sign")
    assert facts.factor is None


def test_a_slight_resampling_is_told_without_a_factor() -> None:
    facts = _facts(make_scan(ScanSpec(seed=5, factor=1.2)))
    assert (facts.verdict, facts.factor) == ("maybe enlarged", None)


def test_a_tiny_picture_says_nothing() -> None:
    facts = _facts(make_scan(ScanSpec(size_px=96)))
    assert facts.verdict == "cannot tell"


def test_a_flat_picture_says_nothing_strange() -> None:
    facts = _facts(np.full((200, 300), 50.0, np.float32))
    assert facts.verdict != "enlarged"


def test_of_the_packaged_photographs_only_the_doubled_one_is_accused() -> None:
    # scikit-image's picture of the moon holds every pixel four times: 256 doubled to 512.
    from skimage import data

    moon = data.moon()
    assert np.array_equal(moon[::2, ::2], moon[1::2, 1::2])
    for name in ("moon", "camera", "brick", "grass", "gravel", "astronaut", "coffee", "retina"):
        picture = getattr(data, name)()
        grey = picture if picture.ndim == 2 else picture[..., 1]
        facts = _facts((grey / 255 * 100).astype(np.float32))
        assert (facts.verdict == "enlarged") == (name == "moon"), name
        if name == "moon":
            assert facts.factor == pytest.approx(2.0, rel=0.01)
