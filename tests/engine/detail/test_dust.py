"""Dust planted on made scans is found, and what belongs to the scene is left alone.

Truth: dustmaker.py. Real photographs: those scikit-image carries (for false marks only).
"""

from pathlib import Path

import numpy as np
import pytest
import skimage
from dustmaker import Planted, plant  # type: ignore[import-not-found]
from numpy.typing import NDArray
from PIL import Image
from scanmaker import (  # type: ignore[import-not-found]
    ScanSpec,
    blur,
    decode,
    make_encoded,
    make_scan,
)

from firstsheet.engine.colour.lab import y_to_lightness
from firstsheet.engine.detail.dust.search import find_dust
from firstsheet.engine.detail.survey import Plane, Read
from firstsheet.engine.records.detail import DustFacts, Mark

Floats = NDArray[np.float64]
SIZE = 640
SCENES = [("sky", 0.0), ("sky", 0.01), ("sky", 0.03)]


def _reader(plane: Plane) -> Read:
    def read(top: int, bottom: int, left: int, right: int) -> Plane:
        return plane[top:bottom, left:right]

    return read


def _light(encoded: Floats) -> Plane:
    return np.asarray(y_to_lightness(decode(encoded)), dtype=np.float32)


def _look(plane: Plane) -> DustFacts:
    return find_dust(plane.shape[1], plane.shape[0], _reader(plane))


def _on(mark: Mark, piece: Planted) -> bool:
    across = piece.left - 3 <= mark.x_px <= piece.right + 3
    return bool(across and piece.top - 3 <= mark.y_px <= piece.bottom + 3)


@pytest.mark.parametrize(("scene", "grain"), SCENES)
@pytest.mark.parametrize("bright", [True, False])
def test_most_planted_dust_is_found_where_the_picture_is_even_and_nothing_else(
    scene: str, grain: float, bright: bool
) -> None:
    rng = np.random.default_rng(11)
    spec = ScanSpec(seed=21, size_px=SIZE, scene=scene, grain=grain)

    spoiled, planted = plant(make_encoded(spec), rng, 14, bright=bright)
    facts = _look(_light(spoiled))

    found = [piece for piece in planted if any(_on(mark, piece) for mark in facts.marks)]
    assert len(found) >= 0.7 * len(planted)
    assert all(any(_on(mark, piece) for piece in planted) for mark in facts.marks)


def test_place_size_and_kind_of_a_speck_and_a_hair_are_right() -> None:
    encoded = np.full((SIZE, SIZE), 0.6)
    encoded[298:303, 198:203] = 0.1
    angle = np.linspace(0.0, 1.6, 400)
    y, x = (100 + 60 * np.sin(angle)).round(), (400 + 60 * np.cos(angle)).round()
    encoded[y.astype(int), x.astype(int)] = 0.95
    encoded[y.astype(int), x.astype(int) + 1] = 0.95

    speck, hair = sorted(_look(_light(blur(encoded, 0.6))).marks, key=lambda one: one.x_px)

    assert (speck.kind, hair.kind) == ("dark speck", "hair")
    assert (speck.x_px, speck.y_px) == pytest.approx((200.5, 300.5), abs=0.6)
    assert speck.length_px == pytest.approx(5.0, abs=1.5)
    assert hair.length_px == pytest.approx(1.6 * 60, rel=0.25)
    assert hair.width_px < 4
    assert speck.height_l < 0 < hair.height_l


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("scene", ["town", "texture", "sky"])
def test_untouched_scans_get_no_mark(scene: str, seed: int) -> None:
    rng = np.random.default_rng(seed)
    spec = ScanSpec(
        seed=700 + seed,
        size_px=512,
        scene=scene,
        grain=float(rng.choice([0.0, 0.01, 0.03])),
        lens_sigma_px=float(rng.uniform(0.3, 1.5)),
    )

    assert _look(make_scan(spec)).marks == ()


def test_stars_on_a_night_sky_are_not_taken_for_dust() -> None:
    rng = np.random.default_rng(5)
    linear = np.full((SIZE, SIZE), 0.01)
    places = rng.integers(10, SIZE - 10, (60, 2))
    linear[places[:, 0], places[:, 1]] += rng.uniform(1, 40, 60)
    light = blur(linear, 1.1) * (1 + 0.02 * rng.standard_normal(linear.shape))

    assert _look(np.asarray(y_to_lightness(np.clip(light, 0, 1)), np.float32)).marks == ()


def _sky(grain: float = 0.01) -> Floats:
    return np.asarray(make_encoded(ScanSpec(seed=4, size_px=SIZE, scene="sky", grain=grain)))


def test_rigging_before_an_even_sky_is_not_taken_for_scratches() -> None:
    encoded = _sky()
    encoded[400:] = 0.1
    encoded[120:400, 320:326] = 0.15  # a mast
    for reach in (-150, -90, 70, 140):  # stays, from the mast's top to the deck
        along = np.linspace(0, 1, 2000)
        y, x = (125 + 275 * along).astype(int), (322 + reach * along).astype(int)
        encoded[y, x] = 0.2
        encoded[y, x + 1] = 0.2

    assert _look(_light(blur(encoded, 0.7))).marks == ()


def test_a_torn_rim_between_two_tones_is_not_taken_for_a_hair() -> None:
    rng = np.random.default_rng(8)
    encoded = _sky()
    encoded[:, 300:] *= 0.9
    for top in range(20, 600, 60):
        encoded[top : top + int(rng.integers(15, 40)), 300:302] = 0.95

    assert _look(_light(blur(encoded, 0.7))).marks == ()


def test_letters_are_not_taken_for_dust() -> None:
    page = Path(skimage.__file__).parent / "data" / "page.png"
    codes = np.asarray(Image.open(page).convert("L")).astype(np.float64) / 255.0

    assert _look(_light(codes)).marks == ()


@pytest.mark.parametrize(
    "name",
    [
        "astronaut.png", "brick.png", "camera.png", "chelsea.png", "coffee.png", "grass.png",
        "gravel.png", "hubble_deep_field.jpg", "motorcycle_left.png", "rocket.jpg", "text.png",
    ],
)  # fmt: skip
def test_packaged_photographs_get_no_mark(name: str) -> None:
    picture = Image.open(Path(skimage.__file__).parent / "data" / name).convert("RGB")
    encoded = np.asarray(picture).astype(np.float64) @ (0.2126, 0.7152, 0.0722) / 255.0

    assert _look(_light(encoded)).marks == ()


def test_a_picture_that_is_texture_all_over_cannot_be_told() -> None:
    facts = _look(make_scan(ScanSpec(seed=2, size_px=512, scene="texture")))

    assert facts.told == "cannot tell"
    assert facts.looked_percent < 2


def test_an_even_picture_without_dust_is_told_so() -> None:
    facts = _look(_light(_sky()))

    assert facts.told == "none"
    assert facts.looked_percent > 95


def test_every_row_is_read_once_in_bands_before_any_patch() -> None:
    plane, asked = _light(_sky()), []

    def read(top: int, bottom: int, left: int, right: int) -> Plane:
        asked.append((top, bottom, left, right))
        return plane[top:bottom, left:right]

    find_dust(SIZE, SIZE, read)

    assert asked == [(top, min(top + 256, SIZE), 0, SIZE) for top in range(0, SIZE, 256)]


def test_a_tiny_picture_cannot_be_told() -> None:
    plane = np.full((40, 40), 50, np.float32)

    assert _look(plane).told == "cannot tell"
