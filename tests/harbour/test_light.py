"""Light: directions of the sky, shadows, the dome."""

import math
from dataclasses import replace

import numpy as np
import pytest

from harbour.light import Mood, light_for
from harbour.mesh import MeshBuilder
from harbour.raster import Camera
from harbour.render import render
from harbour.sky import SkyRecipe, look_up, paint_sky
from harbour.surface import WHITEWASH

EVEN = SkyRecipe(
    zenith=(1, 1, 1), horizon=(1, 1, 1), glow=(0, 0, 0), cloud_light=(1, 1, 1),
    cloud_dark=(1, 1, 1), cover=0.0,
)  # fmt: skip
MOOD = Mood(
    sun_azimuth=0.0, sun_height=math.pi / 4, sun=(0, 0, 0), sky_gain=1.0, bounce=(0, 0, 0),
    haze=(0, 0, 0), haze_length=1e9, wave=0.1, water=(0, 0, 0), centre=(0, 5, 0), reach=20,
    sky_reach=20,
)  # fmt: skip
DOWN = Camera(at=(0.0, -6.0, 4.0), heading=0.0, focal=1.0, rise=0.2, width_px=120, height_px=120)


def test_an_even_sky_is_even_in_every_direction() -> None:
    dome = paint_sky(EVEN)

    for x, y, z in ((0, 0, 1), (1, 0, 0), (-0.6, 0.0, 0.8), (0, -1, 0)):
        assert look_up(dome.picture, dome.range, x, y, z) == pytest.approx((1, 1, 1), abs=1e-3)


def test_clouds_cover_more_with_more_cover() -> None:
    white = replace(EVEN, zenith=(0, 0, 0), horizon=(0, 0, 0))
    few, many = (float(paint_sky(replace(white, cover=c)).picture.mean()) for c in (0.3, 0.7))

    assert 0 < few < many < 1


def test_the_directions_of_the_sky_add_up_to_a_flat_field_of_one() -> None:
    # irradiance of a level plane under an even sky of radiance 1 is pi: Lambert's cosine law
    mesh = MeshBuilder()
    mesh.quad((-1, 1, 0.5), (2, 0, 0), (0, 2, 0), WHITEWASH, (1, 1, 1))
    light = light_for(mesh.build(), MOOD, paint_sky(EVEN))
    share = light.sky_rgb[:, 0] * light.sky_to[:, 2]

    assert share.mean() == pytest.approx(1.0, abs=0.02)
    assert np.linalg.norm(light.sky_to, axis=1) == pytest.approx(1.0)


def test_a_wall_throws_its_shadow_as_long_as_the_sun_says() -> None:
    m = MeshBuilder()
    m.quad((-30, -30, 0), (60, 0, 0), (0, 60, 0), WHITEWASH, (0.5, 0.5, 0.5))
    m.quad((-30, 8, 0), (60, 0, 0), (0, 0, 3), WHITEWASH, (0.5, 0.5, 0.5))
    mood = replace(MOOD, sun=(1.0, 1.0, 1.0), sky_gain=0.0)  # behind the wall, 45 degrees high

    light, far = render(m.build(), DOWN, mood, EVEN, lambda _: None, water=False)

    def ground(y: float) -> float:
        row = round(0.2 * 120 + 120 * 4.0 / (y + 6.0))
        return float(np.median(light[row, 40:80, 1]))

    assert ground(4.0) > 0.2  # 4 m before the wall: lit
    assert ground(6.0) < 0.02  # 2 m before it: in the shadow of 3 m
    assert far.min() > 0


def test_open_ground_reflects_what_falls_on_it() -> None:
    m = MeshBuilder()
    m.quad((-60, -60, 0), (120, 0, 0), (0, 120, 0), WHITEWASH, (0.5, 0.5, 0.5))

    light, _ = render(m.build(), DOWN, MOOD, EVEN, lambda _: None, water=False)

    # albedo 0.5 (weathered by a tenth or two) under an even sky of 1
    assert light[80:, :, 1].mean() == pytest.approx(0.5, abs=0.08)
