"""True detail takes the place of the pixels where it is sure, and only there."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy import ndimage

from firstsheet.engine.detail.findings import detail_findings, true_ppi
from firstsheet.engine.detail.verdict import analyse
from firstsheet.engine.records.detail import DetailFacts
from firstsheet.engine.records.plan import SizePlan
from firstsheet.engine.sizing.size import distance_verdicts

Picture = np.ndarray[tuple[int, ...], np.dtype[np.float64]]


def scene(height_px: int, width_px: int, blur_px: float) -> Picture:
    """Tilted edges of many contrasts under fine noise, L*."""
    rng = np.random.default_rng(5)
    down, across = np.mgrid[0:height_px, 0:width_px].astype(np.float64)
    picture = np.full((height_px, width_px), 55.0)
    for _ in range(60):
        angle, at = rng.uniform(0, np.pi), rng.uniform(-0.4, 0.4)
        side = np.cos(angle) * (across / width_px - 0.5) + np.sin(angle) * (down / height_px - 0.5)
        picture += np.where(side > at, 1.0, -1.0) * rng.uniform(-9, 9)
    soft = ndimage.gaussian_filter(picture, blur_px)
    return np.asarray(np.clip(soft + rng.normal(0, 0.5, soft.shape), 0, 100))


def analysed(picture: Picture) -> DetailFacts:
    height, width = picture.shape
    return analyse(width, height, lambda t, b, left, r: picture[t:b, left:r].astype(np.float32))


def enlarged(picture: Picture, factor: float) -> Picture:
    """SciPy's cubic spline, an enlargement we did not write."""
    return np.asarray(ndimage.zoom(picture, factor, order=3))


@pytest.fixture(scope="module")
def honest() -> DetailFacts:
    return analysed(scene(1400, 2000, 0.45))


@pytest.fixture(scope="module")
def blown_up() -> DetailFacts:
    return analysed(enlarged(scene(700, 1000, 0.7), 2.0))


def a_size(effective: float, less: float | None) -> SizePlan:
    return SizePlan(
        crop_left_px=0, crop_top_px=0, crop_width_px=2000, crop_height_px=1400,
        crop_loss_percent=0, crop_loss_mm=(0, 0, 0, 0), width_px=2000, height_px=1400,
        ppi=effective, width_mm=2000 / effective * 25.4, height_mm=1400 / effective * 25.4,
        effective_ppi=effective, true_ppi=less, scale=1, enlarged=False, resample="none",
        verdicts=distance_verdicts(less or effective, 500),
    )  # fmt: skip


@pytest.mark.slow
def test_an_enlarged_file_is_judged_by_what_it_was(blown_up: DetailFacts) -> None:
    less = true_ppi(blown_up, 300.0)

    assert less is not None
    assert less == pytest.approx(150.0, rel=0.15)


@pytest.mark.slow
def test_an_untouched_file_is_judged_by_its_pixels(honest: DetailFacts) -> None:
    assert true_ppi(honest, 300.0) is None
    assert detail_findings(honest, a_size(300.0, None)) == ()


def test_without_a_measurement_the_pixels_stand() -> None:
    assert true_ppi(None, 300.0) is None


@pytest.mark.slow
def test_the_finding_says_both_numbers_and_where_to_go(blown_up: DetailFacts) -> None:
    size = a_size(300.0, true_ppi(blown_up, 300.0))
    (found,) = detail_findings(blown_up, size)

    assert found.weight == "caution"
    assert "of true detail, not 300" in found.consequence
    assert any("240 ppi of true detail" in choice.text for choice in found.choices)
    width_mm = float(found.choices[1].change["print.width"].removesuffix(" mm"))
    assert width_mm == pytest.approx(2000 * 0.5 / 240 * 25.4, rel=0.15)


@pytest.mark.slow
def test_a_low_confidence_changes_nothing(blown_up: DetailFacts) -> None:
    unsure: Callable[[], DetailFacts] = lambda: blown_up.model_copy(  # noqa: E731
        update={"share_confidence": 0.5}
    )

    assert true_ppi(unsure(), 300.0) is None
