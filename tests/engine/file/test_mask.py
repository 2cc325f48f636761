"""Suspicions about film: made negatives trigger, photographs and warm scenes do not."""

from typing import Any

import numpy as np
import pytest
from skimage import data
from skimage.filters import gaussian

from firstsheet.engine.file.mask import MASK_ASKS_FROM, film_border_percent, mask_confidence

PHOTOGRAPHS = ["astronaut", "chelsea", "coffee", "rocket"]
# Densities of the clear film (red, green, blue), within what makers print for such film; the
# exact figures are from memory. Contrast of the film: 0.5 to 0.65, the usual gamma.
FILMS = [((0.25, 0.65, 0.95), 0.6), ((0.30, 0.75, 1.05), 0.6), ((0.25, 0.62, 0.90), 0.5)]
WARM = [(1, 0.8, 0.6), (1, 0.7, 0.4), (1, 0.6, 0.3), (1, 0.5, 0.2)]


def encode(linear: Any, bits: int = 8) -> Any:
    """Codes (sRGB) of linear light (IEC 61966-2-1), written apart from the code under test."""
    light = np.clip(linear, 0, 1)
    encoded = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.round(encoded * (2**bits - 1)).astype(np.int64)


def decode(codes: Any) -> Any:
    encoded = np.asarray(codes) / 255
    return np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)


def histograms(codes: Any, bits: int = 8) -> Any:
    return [np.bincount(codes[..., c].ravel(), minlength=2**bits) for c in range(3)]


def negative(name: str, base: tuple[float, float, float], gamma: float) -> Any:
    """Linear light through a negative of a photograph: density rises with log exposure."""
    exposure = np.log10(np.maximum(decode(getattr(data, name)()[..., :3]), 1e-3)) + 3.0
    density = np.array(base) + gamma * 0.9 * np.maximum(exposure - 0.6, 0.0)
    return 0.9 * 10.0 ** (min(base) - density)


def noise(number: int, size_px: float, amount: float) -> Any:
    plane = gaussian(np.random.default_rng(number).normal(size=(300, 300)), size_px)
    return plane * (amount / plane.std())


def sunset() -> Any:
    rise = np.clip(np.linspace(0, 1, 300)[:, None] + noise(1, 15, 0.06), 0, 1)
    sky = np.stack([0.15 + 0.85 * rise, 0.08 + 0.55 * rise**2, 0.18 - 0.12 * rise], axis=-1)
    sky[230:] = sky[230:] * 0.03 + 0.002
    return encode(sky)


def hazy_sunset() -> Any:
    rise = np.clip(np.linspace(0, 1, 300)[:, None] + noise(2, 20, 0.1), 0, 1)
    return encode(np.stack([0.25 + 0.7 * rise, 0.1 + 0.4 * rise, 0.05 + 0.1 * rise], axis=-1))


def brick(mortar: bool, warmth: float) -> Any:
    wall = np.ones((300, 300, 3)) * [0.35, 0.17, 0.11]
    wall *= np.exp(noise(3, 6, 0.25) + noise(4, 1, 0.15))[..., None]
    wall *= np.exp(np.stack([noise(5, 8, 0.05), noise(6, 8, 0.08), noise(7, 8, 0.1)], axis=-1))
    if mortar:
        joint = (np.arange(300) % 30 < 4)[:, None] | (np.arange(300) % 60 < 4)[None]
        wall[joint] = np.array([0.4, 0.37, 0.33]) * np.exp(noise(8, 1, 0.2))[joint][:, None]
    return encode(wall * [1, warmth, warmth**2])


def autumn_leaves() -> Any:
    hue = noise(9, 8, 1.0)
    leaf = np.stack([0.4 + 0.1 * hue, 0.18 + 0.08 * np.clip(hue, -1.5, 3), 0.03 + 0 * hue], -1)
    return encode(np.clip(leaf, 0.002, 1) * np.exp(noise(10, 4, 0.5))[..., None])


def orange_tarpaulin() -> Any:
    """One material in deep folds: a wide range of tones, always the same balance."""
    return encode(np.array([0.2, 0.09, 0.045]) * np.exp(noise(3, 20, 0.35))[..., None])


@pytest.mark.parametrize("name", PHOTOGRAPHS)
@pytest.mark.parametrize(("base", "gamma"), FILMS)
def test_a_negative_made_of_a_photograph_is_suspected(
    name: str, base: tuple[float, float, float], gamma: float
) -> None:
    light = negative(name, base, gamma)

    assert mask_confidence(histograms(encode(light))) >= MASK_ASKS_FROM
    assert mask_confidence(histograms(encode(light, 16), 16)) >= MASK_ASKS_FROM


def test_a_negative_in_linear_codes_is_suspected_too() -> None:
    codes = np.round(negative("astronaut", *FILMS[0]) * 65535).astype(np.int64)

    assert mask_confidence(histograms(codes, 16), gamma=1.0) >= MASK_ASKS_FROM


def test_the_holder_s_black_does_not_hide_a_negative() -> None:
    codes = encode(negative("coffee", *FILMS[0]))
    codes[:30] = 0

    assert mask_confidence(histograms(codes)) >= MASK_ASKS_FROM


@pytest.mark.parametrize("name", [*PHOTOGRAPHS, "retina", "hubble_deep_field", "colorwheel"])
def test_photographs_are_not_suspected_in_daylight_or_warm_light(name: str) -> None:
    picture = getattr(data, name)()[::2, ::2, :3]

    assert mask_confidence(histograms(picture)) < 0.2
    for warmth in WARM:
        warm = encode(decode(picture) * warmth)
        assert mask_confidence(histograms(warm)) < 0.2, f"{name} in light {warmth}"


@pytest.mark.parametrize(
    "codes",
    [
        sunset(),
        hazy_sunset(),
        brick(mortar=True, warmth=1.0),
        brick(mortar=False, warmth=1.0),
        brick(mortar=True, warmth=0.7),
        brick(mortar=False, warmth=0.75),
        autumn_leaves(),
        orange_tarpaulin(),
    ],
    ids=[
        *("sunset", "haze", "brick", "bare-brick", "warm-brick", "warm-bare-brick"),
        *("leaves", "tarpaulin"),
    ],
)
def test_orange_scenes_are_not_suspected(codes: Any) -> None:
    assert mask_confidence(histograms(codes)) < 0.5


def test_a_black_and_white_negative_has_no_mask() -> None:
    grey = encode(negative("astronaut", (0.3, 0.3, 0.3), 0.6).mean(axis=-1, keepdims=True))

    assert mask_confidence(histograms(np.repeat(grey, 3, axis=-1))) == 0.0


def test_too_few_pixels_tell_nothing_and_three_channels_are_needed() -> None:
    assert mask_confidence([np.ones(256)] * 3) == 0.0
    with pytest.raises(ValueError, match="R, G and B are needed"):
        mask_confidence([np.ones(256)])


@pytest.mark.parametrize("tone", [0.0, 1.0], ids=["black holder", "bright film edge"])
def test_an_even_frame_around_a_photograph_is_measured(tone: float) -> None:
    grey = data.astronaut()[..., 1] / 255 * 0.9 + 0.06
    framed = np.full((562, 572), tone)
    framed[25:537, 30:542] = grey

    expected = (1 - 512 * 512 / framed.size) * 100
    assert film_border_percent(framed) == pytest.approx(expected, abs=1.0)


@pytest.mark.parametrize("name", [*PHOTOGRAPHS, "hubble_deep_field"])
def test_photographs_without_a_frame_have_none(name: str) -> None:
    assert film_border_percent(getattr(data, name)()[..., 1] / 255) == 0.0


def test_a_night_sky_on_one_side_is_no_frame() -> None:
    grey = data.coffee()[..., 1] / 255
    grey[:60] = 0.0

    assert film_border_percent(grey) == 0.0


def test_a_flat_or_tiny_picture_has_no_frame() -> None:
    assert film_border_percent(np.zeros((100, 100))) == 0.0
    assert film_border_percent(np.ones((4, 4))) == 0.0
