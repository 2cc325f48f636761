"""Film: the curve, the blur, the grain, and careless enlarging."""

import numpy as np
import pytest
from PIL import Image

from firstsheet.engine.colour.spaces import SPACES
from harbour.film import CURVE_STEPS, Film, develop_rows, soften, tone_curve
from harbour.render import in_bands
from harbour.resize import enlarge

PLAIN = Film(exposure=1.0, grain=0.0, glow=0.0, vignette=0.0, lens_px=0.4)
ENCODE = SPACES["a98-rgb"].curve.encode


def develop(light: float, film: Film, side: int = 96) -> np.ndarray:
    picture = np.full((side, side, 3), light, np.float32)
    blend, glow = np.zeros((side, side), np.float32), np.zeros((12, 12, 3), np.float32)
    return develop_rows(picture, blend, glow, film, tone_curve(film, ENCODE), 0, side)


def test_half_the_light_constant_gives_half_the_tone() -> None:
    # Naka and Rushton 1966: x = k gives one half, whatever the exponent
    for contrast in (0.8, 1.15, 1.6):
        film = Film(exposure=1.0, contrast=contrast, half=0.25, white=1e9)
        curve = tone_curve(film, lambda tone: tone)

        assert curve[round(np.sqrt(0.25) * CURVE_STEPS)] == pytest.approx(0.5, abs=1e-3)


def test_the_curve_rises_from_black_to_white() -> None:
    curve = tone_curve(PLAIN, ENCODE)

    assert curve[0] == 0.0
    assert (np.diff(curve[: 3 * CURVE_STEPS]) > 0).all()
    assert curve[-1] == 1.0


def test_a_flat_field_is_developed_to_the_curve() -> None:
    curve = tone_curve(PLAIN, ENCODE)
    light = (400 / CURVE_STEPS) ** 2

    assert develop(light, PLAIN) == pytest.approx(curve[400] * 65535, abs=2)


def test_grain_is_strongest_in_the_middle_and_has_no_bias() -> None:
    film = Film(exposure=1.0, grain=0.02, glow=0.0, vignette=0.0)
    dark, middle, light = (develop(x, film).astype(float) for x in (0.002, 0.2, 8.5))
    clean = develop(0.2, PLAIN).astype(float)

    assert middle.std() > 1.5 * dark.std()
    assert middle.std() > 3 * light.std()
    assert middle.mean() == pytest.approx(clean.mean(), abs=0.003 * 65535)
    assert 0.5 * 0.02 < middle.std() / 65535 < 2 * 0.02


def test_bands_are_developed_like_the_whole() -> None:
    rng = np.random.default_rng(1)
    picture = rng.random((120, 80, 3), dtype=np.float32)
    blend = rng.random((120, 80), dtype=np.float32)
    glow = rng.random((15, 10, 3), dtype=np.float32)
    film = Film(exposure=1.0)
    curve = tone_curve(film, ENCODE)

    whole = develop_rows(picture, blend, glow, film, curve, 0, 120)
    part = develop_rows(picture, blend, glow, film, curve, 40, 70)

    assert (whole[40:70] == part).all()


def test_blur_keeps_the_light() -> None:
    picture = np.zeros((61, 61, 1), np.float32)
    picture[30, 30] = 1.0
    out = soften(picture, 3.0)[..., 0].astype(float)
    spread = (out.sum(axis=0) * (np.arange(61) - 30.0) ** 2).sum()

    assert out.sum() == pytest.approx(1.0, abs=1e-5)
    assert np.sqrt(spread) == pytest.approx(3.0, rel=0.03)


def test_enlarging_is_that_of_pillow() -> None:
    rng = np.random.default_rng(5)
    picture = rng.integers(8000, 50000, (40, 60, 1)).astype(np.uint16)

    ours = enlarge(picture, 1.75, in_bands)[..., 0]
    theirs = np.asarray(
        Image.fromarray(picture[..., 0].astype(np.float32)).resize(
            (105, 70), Image.Resampling.BICUBIC
        )
    )

    assert ours.shape == (70, 105)
    assert ours[6:-6, 6:-6] == pytest.approx(theirs[6:-6, 6:-6], abs=1.0)
