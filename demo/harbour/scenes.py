"""What is photographed: four views of Merrowick, each with its light, lens and film.

Takes nothing; gives SCENES in the order they are shown. Tests: tests/harbour/test_pictures.py.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.spaces import GREYS, SPACES
from harbour.film import Film, develop_rows, soften, tone_curve
from harbour.light import Mood
from harbour.mesh import MeshBuilder
from harbour.raster import Camera
from harbour.render import Step, in_bands, render
from harbour.resize import enlarge
from harbour.shed import add_shed
from harbour.sky import SkyRecipe
from harbour.town import (
    add_basin,
    add_fleet,
    add_pier_light,
    add_quay_gear,
    add_stairs,
    add_town,
)

__all__ = ["SCENES", "Scene"]


@dataclass(frozen=True, kw_only=True)
class Scene:
    """One photograph and how it was taken."""

    name: str
    words: str
    secret: str
    build: Callable[[MeshBuilder], None]
    camera: Camera
    mood: Mood
    sky: SkyRecipe
    film: Film
    space: str  # working space, or reading of grey
    tag_ppi: int
    weight: float  # seconds it takes, about
    sharp_from_m: float = 0.0  # nearer than this the lens blurs
    sharp_to_m: float = math.inf
    enlarged: float = 1.0

    def photograph(self, divisor: int, step: Step) -> NDArray[np.uint16]:
        """Take and develop it, each side `divisor` times smaller than its full size."""
        builder = MeshBuilder()
        self.build(builder)
        camera = self.camera.scaled(divisor)
        light, far = render(
            builder.build(), camera, self.mood, self.sky, lambda done: step(0.8 * done)
        )
        blend = np.zeros(far.shape, np.float32)
        if self.sharp_to_m < math.inf or self.sharp_from_m > 0:
            behind = np.clip(1 - self.sharp_to_m / far, 0, 0.5) * 2
            before = np.clip(self.sharp_from_m / far - 1, 0, 1)
            blend = np.maximum(behind, before).astype(np.float32)
        del far
        film = replace(self.film, lens_px=max(self.film.lens_px / divisor, 0.35))
        small = np.maximum(light[4::8, 4::8] - 0.9, 0).clip(0, 6)
        glow = soften(np.ascontiguousarray(small), camera.width_px / 8 * 0.012)
        encoding = SPACES[self.space] if film.grey is None else GREYS[self.space]
        curve = tone_curve(film, encoding.curve.encode)
        channels = 3 if film.grey is None else 1
        out = np.empty((*light.shape[:2], channels), np.uint16)

        def work(top: int, bottom: int) -> None:
            out[top:bottom] = develop_rows(light, blend, glow, film, curve, top, bottom)

        in_bands(camera.height_px, work, lambda done: step(0.8 + 0.2 * done))
        if self.enlarged > 1:
            out = enlarge(out, self.enlarged, in_bands)
        return out


def _quay(m: MeshBuilder) -> None:
    add_basin(m)
    add_stairs(m)
    add_quay_gear(m)
    add_fleet(m)
    add_town(m)


def _masts(m: MeshBuilder) -> None:
    add_basin(m)
    add_fleet(m, far_boats=9)
    add_town(m, left=False)


def _shed(m: MeshBuilder) -> None:
    add_shed(m)
    add_fleet(m, near=False, far_boats=9)
    add_town(m, left=False)


def _pier(m: MeshBuilder) -> None:
    add_basin(m, quay=False)
    add_pier_light(m, 5.0, 52.0)
    add_fleet(m, near=False, far_boats=4)
    add_town(m, left=False, far=False)


# azimuth and height of the sun, radians
_DAY_SUN = (2.2, 0.52)
_BACK_SUN = (0.30, 0.40)
_SHED_SUN = (0.42, 0.62)
_EVENING = (-1.15, 0.16)
_BLUE_SKY = SkyRecipe(
    zenith=(0.085, 0.20, 0.60),
    horizon=(0.52, 0.64, 0.82),
    glow=(1.0, 0.8, 0.55),
    cloud_light=(1.55, 1.46, 1.36),
    cloud_dark=(0.42, 0.46, 0.55),
    cover=0.45,
    sun_azimuth=_DAY_SUN[0],
    sun_height=_DAY_SUN[1],
)

FERRY_STAIRS = Scene(
    name="ferry-stairs",
    words="The ferry stairs at Merrowick: brick, rigging, an orange hull under a blue cover.",
    secret="",
    build=_quay,
    camera=Camera(
        at=(1.9, -1.5, 3.5), heading=-0.16, focal=0.86, rise=0.46, width_px=5616, height_px=3744
    ),
    mood=Mood(
        sun_azimuth=_DAY_SUN[0],
        sun_height=_DAY_SUN[1],
        sun=(3.0, 2.45, 1.75),
        sky_gain=0.75,
        bounce=(0.10, 0.11, 0.12),
        haze=(0.42, 0.52, 0.66),
        haze_length=900.0,
        wave=0.10,
        water=(0.012, 0.03, 0.03),
        centre=(4, 32, 3),
        reach=48,
        sky_reach=60,
    ),
    sky=_BLUE_SKY,
    film=Film(exposure=1.0, grain=0.020),
    space="a98-rgb",
    tag_ppi=240,
    weight=10,
)

MASTS = Scene(
    name="masts-against-light",
    words="Masts and rigging against the light, on black-and-white film.",
    secret="",
    build=_masts,
    camera=Camera(
        at=(1.4, 6.0, 1.9), heading=0.10, focal=0.95, rise=0.80, width_px=4560, height_px=4560
    ),
    mood=Mood(
        sun_azimuth=_BACK_SUN[0],
        sun_height=_BACK_SUN[1],
        sun=(3.4, 2.9, 2.2),
        sky_gain=0.55,
        bounce=(0.05, 0.055, 0.06),
        haze=(0.75, 0.74, 0.72),
        haze_length=620.0,
        wave=0.14,
        water=(0.012, 0.022, 0.024),
        centre=(4, 32, 3),
        reach=48,
        sky_reach=60,
    ),
    sky=SkyRecipe(
        zenith=(0.075, 0.17, 0.50),
        horizon=(0.62, 0.66, 0.72),
        glow=(2.2, 2.0, 1.7),
        cloud_light=(1.7, 1.6, 1.5),
        cloud_dark=(0.11, 0.12, 0.15),
        cover=0.64,
        cloud_size=1.3,
        field=260,
        middle=0.1,
        sun_azimuth=_BACK_SUN[0],
        sun_height=_BACK_SUN[1],
    ),
    film=Film(
        exposure=0.92, contrast=1.5, half=0.68, grain=0.030, grey=(0.50, 0.42, 0.08), lens_px=0.7
    ),
    space="grey-gamma-2.2",
    tag_ppi=72,
    weight=8,
)

BOAT_SHED = Scene(
    name="boat-shed",
    words="Inside the boat shed: a hull on trestles, dark boards, the harbour beyond the doors.",
    secret="",
    build=_shed,
    camera=Camera(
        at=(1.75, 0.5, 3.65), heading=-0.20, focal=0.92, rise=0.56, width_px=4000, height_px=5120
    ),
    mood=Mood(
        sun_azimuth=_SHED_SUN[0],
        sun_height=_SHED_SUN[1],
        sun=(3.6, 2.9, 2.0),
        sky_gain=5.0,
        bounce=(0.052, 0.041, 0.032),
        haze=(0.60, 0.66, 0.72),
        haze_length=600.0,
        wave=0.10,
        water=(0.012, 0.03, 0.03),
        centre=(0, 6, 4),
        reach=14,
        sky_reach=13,
        rounds=6,
        windows=((-0.75, 0.75), (1.2, 1.95)),
        up_range=(-0.05, 0.62),
        seen_sky=0.10,
    ),
    sky=replace(
        _BLUE_SKY,
        sun_azimuth=_SHED_SUN[0],
        sun_height=_SHED_SUN[1],
        cover=0.5,
        horizon=(0.75, 0.80, 0.86),
        field=230,
        zenith=(0.13, 0.26, 0.62),
    ),
    film=Film(
        exposure=4.2, contrast=1.16, half=0.80, white=14.0, grain=0.024, glow=0.09, lens_px=0.8
    ),
    space="display-p3",
    tag_ppi=300,
    weight=10,
    sharp_to_m=24.0,
)

PIER_LIGHT = Scene(
    name="pier-light",
    words="The pier light at evening, from the small camera.",
    secret="Taken with 8 million pixels and enlarged 1.75 times: the file holds no more detail.",
    build=_pier,
    camera=Camera(
        at=(-1.0, 4.0, 2.6), heading=0.14, focal=1.05, rise=0.60, width_px=3456, height_px=2304
    ),
    mood=Mood(
        sun_azimuth=_EVENING[0],
        sun_height=_EVENING[1],
        sun=(3.6, 2.05, 0.95),
        sky_gain=0.7,
        bounce=(0.06, 0.06, 0.08),
        haze=(0.72, 0.52, 0.42),
        haze_length=900.0,
        wave=0.16,
        water=(0.010, 0.024, 0.032),
        centre=(10, 40, 3),
        reach=52,
        sky_reach=60,
        rounds=6,
    ),
    sky=SkyRecipe(
        zenith=(0.055, 0.14, 0.40),
        horizon=(1.15, 0.66, 0.36),
        glow=(1.6, 0.8, 0.3),
        cloud_light=(1.7, 0.95, 0.60),
        cloud_dark=(0.26, 0.22, 0.32),
        cover=0.50,
        cloud_size=1.1,
        field=290,
        middle=0.1,
        sun_azimuth=_EVENING[0],
        sun_height=_EVENING[1],
    ),
    film=Film(exposure=1.0, grain=0.016, lens_px=0.7),
    space="srgb",
    tag_ppi=300,
    weight=6,
    enlarged=1.75,
)

SCENES: tuple[Scene, ...] = (FERRY_STAIRS, MASTS, BOAT_SHED, PIER_LIGHT)
