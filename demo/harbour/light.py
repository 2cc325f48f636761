"""Sun, sky, air and water: what light reaches the camera from each pixel.

Takes a mesh and a mood; gives linear colours. The sun casts shadows through a height map seen
from it; the sky lights through as many height maps as it has directions, of which each pixel
asks a few at random. Water mirrors a second, mirrored view, broken by waves.
Theory: docs/theory/harbour.md. Tests: tests/harbour/test_light.py.
"""

from __future__ import annotations

import math
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from harbour.compiled import THREADS, compiled
from harbour.mesh import Mesh, frame_along
from harbour.noise import chance, four_chances, gradient_noise, smooth_step
from harbour.raster import height_map
from harbour.sky import SkyDome, look_up
from harbour.surface import HILL, ROPE, WATER, surface

__all__ = ["Light", "Mood", "light_for", "shade"]

Floats = NDArray[np.float64]
SHADOW_CELLS = 3072
SKY_CELLS = 320
# which of 16 directions a pixel of a 4 by 4 block asks for: B. Bayer's
# order (IEEE ICC 1973), shuffled from block to block
_ORDER = np.array([0, 8, 2, 10, 12, 4, 14, 6, 3, 11, 1, 9, 15, 7, 13, 5])


@dataclass(frozen=True, kw_only=True)
class Mood:
    """Time and weather of one picture; colours linear, in the picture's own primaries."""

    sun_azimuth: float  # radians, 0 is +y, positive to the right
    sun_height: float  # radians above the horizon
    sun: tuple[float, float, float]
    sky_gain: float
    bounce: tuple[float, float, float]  # light from all sides that nothing shades
    haze: tuple[float, float, float]
    haze_length: float  # metres to 63 % haze
    wave: float  # slope of the ripples
    water: tuple[float, float, float]
    centre: tuple[float, float, float]  # middle of the shaded region
    reach: float  # half width of the shaded region, metres
    sky_reach: float
    rounds: int = (
        4  # sky questions per pixel; a block of 16 pixels asks 16 times as many directions
    )
    windows: tuple[tuple[float, float], ...] = ()  # azimuths the sky is let in from; none = all
    seen_sky: float = 1.0  # share of the sky that shiny things find to reflect
    up_range: tuple[float, float] = (0.0, 1.0)  # sines of the heights it is let in from


class Light(NamedTuple):
    """Everything the shading kernel reads about light."""

    sun_to: Floats  # (3,)
    sun_rgb: Floats
    sun_frame: Floats  # (1, 3, 3) column, row, height axes
    sun_map: NDArray[np.float32]
    sky_to: Floats  # (k, 3)
    sky_rgb: Floats  # (k, 3) already divided by the density of picks
    sky_frame: Floats  # (k, 3, 3)
    sky_map: NDArray[np.float32]  # (k, n, n)
    centre: Floats
    scale: Floats  # cells per metre: sun, sky
    bounce: Floats
    haze: Floats
    numbers: Floats  # haze length, wave slope, rounds, seen sky
    water: Floats
    dome: NDArray[np.float32]  # (rows, columns, 3)
    dome_range: Floats


def _frame(to: Floats) -> Floats:
    """Column, row and height directions of a map seen along a light."""
    return np.ascontiguousarray(np.stack(frame_along(to)))


def _sky_directions(mood: Mood) -> tuple[Floats, float]:
    """Evenly spread directions, and the solid angle they stand for over pi."""
    windows = mood.windows or ((-math.pi, math.pi),)
    k = 16 * mood.rounds
    i = np.arange(k) + 0.5
    low, high = mood.up_range
    up = low + (high - low) * i / k
    widths = np.array([right - left for left, right in windows])
    ends = np.cumsum(widths)
    along = (i * 0.6180340) % 1.0 * ends[-1]  # golden section: even at every height
    which = np.searchsorted(ends, along)
    start = np.array([left for left, _ in windows])
    around = start[which] + along - (ends - widths)[which]
    flat = np.sqrt(np.maximum(1 - up**2, 0))
    to = np.stack([flat * np.sin(around), flat * np.cos(around), up], axis=1)
    return to, float(ends[-1] * (high - low) / math.pi)


def light_for(mesh: Mesh, mood: Mood, dome: SkyDome) -> Light:
    """Cast every shadow of a scene once."""
    azimuth, height = mood.sun_azimuth, mood.sun_height
    sun_to = np.array(
        [
            math.sin(azimuth) * math.cos(height),
            math.cos(azimuth) * math.cos(height),
            math.sin(height),
        ]
    )
    centre = np.asarray(mood.centre, dtype=np.float64)
    sun_scale = SHADOW_CELLS / (2 * mood.reach)
    casts = np.isin(mesh.material, [HILL, WATER], invert=True)
    # a cell of the sky's maps is too coarse for ropes and small things
    large = casts & (mesh.material != ROPE) & (np.ptp(mesh.position, axis=1).max(axis=1) > 0.25)
    casters, blockers = mesh.position[casts], mesh.position[large]
    sun_map = np.full((SHADOW_CELLS, SHADOW_CELLS), -1e9, np.float32)
    sun_frame = _frame(sun_to)
    sky_to, share = _sky_directions(mood)
    sky_scale = SKY_CELLS / (2 * mood.sky_reach)
    count = len(sky_to)
    sky_map = np.full((count, SKY_CELLS, SKY_CELLS), -1e9, np.float32)
    frames = np.stack([_frame(to) for to in sky_to])
    with ThreadPoolExecutor(THREADS) as pool:
        jobs = [pool.submit(height_map, casters, sun_frame, centre, sun_scale, sun_map)]
        jobs += [
            pool.submit(height_map, blockers, frames[j], centre, sky_scale, sky_map[j])
            for j in range(count)
        ]
        for job in jobs:
            job.result()
    rgb = np.stack([dome.mean_towards(to) for to in sky_to]) * (mood.sky_gain * share)
    return Light(
        sun_to,
        np.asarray(mood.sun),
        sun_frame[None],
        sun_map[None],
        sky_to,
        rgb,
        frames,
        sky_map,
        centre,
        np.array([sun_scale, sky_scale]),
        np.asarray(mood.bounce),
        np.asarray(mood.haze),
        np.array([mood.haze_length, mood.wave, float(mood.rounds), mood.seen_sky]),
        np.asarray(mood.water),
        dome.picture,
        dome.range,
    )


@compiled
def _open_to(
    x: float, y: float, z: float, frame: Any, cells: Any, j: int, scale: float, slack: float,
    ja: float, jb: float,
) -> bool:  # fmt: skip
    """Is nothing higher towards light `j`? `ja`, `jb` shift the place sideways, metres."""
    a = x * frame[j, 0, 0] + y * frame[j, 0, 1] + z * frame[j, 0, 2] + ja
    b = x * frame[j, 1, 0] + y * frame[j, 1, 1] + z * frame[j, 1, 2] + jb
    h = x * frame[j, 2, 0] + y * frame[j, 2, 1] + z * frame[j, 2, 2]
    rows, columns = cells.shape[1], cells.shape[2]
    column = int(a * scale + columns / 2)
    row = int(b * scale + rows / 2)
    if column < 0 or row < 0 or column >= columns or row >= rows:
        return True
    return bool(h + slack >= cells[j, row, column])


@compiled
def _lobe(cosine: float, sharpness: float) -> float:
    """Highlight around the mirror direction, the exponential near form of a cosine power."""
    away = (1.0 - cosine) * sharpness
    return math.exp(-away) if away < 12.0 else 0.0


@compiled
def _ripple(x: float, y: float, pixel: float) -> tuple[float, float]:
    """Slopes of the water along x and y; ripples finer than a pixel are left out."""
    sx, sy = 0.0, 0.0
    size, strength = 2.6, 0.55
    for octave in range(5):
        keep = 1 - smooth_step(0.15, 0.6, pixel / size)
        if keep > 0:
            f = 1.0 / size
            a, b = x * f * 0.75 + 0.35 * y * f, y * f * 1.25 - 0.2 * x * f
            calm = 0.55 + 0.9 * smooth_step(-0.3, 0.4, gradient_noise(x * 0.12, y * 0.09, 131))
            sx += calm * keep * strength * gradient_noise(a + 3.7 * octave, b, 132 + octave)
            sy += calm * keep * strength * gradient_noise(a, b + 5.3 * octave, 142 + octave)
        size *= 0.45
        strength *= 0.72
    return sx, sy


@compiled
def shade(
    index: Any, top: int, mesh: Any, light: Any, edge: Any, place: Any, cam: Any,
    axes: Any, lens: Any, mirror: Any, mirror_far: Any, mirrored: bool, out: Any, far: Any,
) -> None:  # fmt: skip
    """Fill `out` (rows, width, 3) with light and `far` with metres to what is seen.

    `place` gives the row of `edge` for each triangle of the mesh. `mirror` is the mirrored view
    (any size; one pixel means none) and `mirror_far` its distances.
    """
    # every array by name and every number by index: slices inside the loop would count references
    position, normal, uv, tangent, materials, tints, parameters = mesh
    (
        sun_to, sun, sun_frame, sun_map, sky_to, sky_rgb, sky_frame, sky_map, centre, scale,
        bounce, haze, numbers, water, dome, dome_range,
    ) = light  # fmt: skip
    rows, width = index.shape
    f, cx, cy = lens[0], lens[1], lens[2]
    st = (sun_to[0], sun_to[1], sun_to[2])
    picks = int(numbers[2])
    for iy in range(rows):
        for x in range(width):
            y = iy + top
            jx, jy, j2, j3 = four_chances(x, y, 901)
            px, py = x + jx, y + jy
            t = index[iy, x]
            a, b = (px - cx) / f, (cy - py) / f
            dx = axes[0, 0] * a + axes[1, 0] * b + axes[2, 0]
            dy = axes[0, 1] * a + axes[1, 1] * b + axes[2, 1]
            dz = axes[0, 2] * a + axes[1, 2] * b + axes[2, 2]
            length = math.sqrt(dx * dx + dy * dy + dz * dz)
            if t < 0:
                if mirrored:
                    dz = -dz
                r, g, bl = look_up(dome, dome_range, dx / length, dy / length, dz / length)
                out[iy, x, 0], out[iy, x, 1], out[iy, x, 2] = r, g, bl
                far[iy, x] = 4000.0
                continue
            o = place[t]
            b0 = edge[o, 0] * px + edge[o, 1] * py + edge[o, 2]
            b1 = edge[o, 3] * px + edge[o, 4] * py + edge[o, 5]
            b2 = edge[o, 6] * px + edge[o, 7] * py + edge[o, 8]
            total = b0 + b1 + b2
            b0, b1, b2 = b0 / total, b1 / total, b2 / total
            wx = b0 * position[t, 0, 0] + b1 * position[t, 1, 0] + b2 * position[t, 2, 0]
            wy = b0 * position[t, 0, 1] + b1 * position[t, 1, 1] + b2 * position[t, 2, 1]
            wz = b0 * position[t, 0, 2] + b1 * position[t, 1, 2] + b2 * position[t, 2, 2]
            nx = b0 * normal[t, 0, 0] + b1 * normal[t, 1, 0] + b2 * normal[t, 2, 0]
            ny = b0 * normal[t, 0, 1] + b1 * normal[t, 1, 1] + b2 * normal[t, 2, 1]
            nz = b0 * normal[t, 0, 2] + b1 * normal[t, 1, 2] + b2 * normal[t, 2, 2]
            u = b0 * uv[t, 0, 0] + b1 * uv[t, 1, 0] + b2 * uv[t, 2, 0]
            v = b0 * uv[t, 0, 1] + b1 * uv[t, 1, 1] + b2 * uv[t, 2, 1]
            # towards the eye; the mirrored view looks from under the water
            vx, vy, vz = cam[0] - wx, cam[1] - wy, cam[2] - wz
            if mirrored:
                vz = -cam[2] - wz
            d = math.sqrt(vx * vx + vy * vy + vz * vz)
            vx, vy, vz = vx / d, vy / d, vz / d
            n = 1.0 / max(math.sqrt(nx * nx + ny * ny + nz * nz), 1e-9)
            nx, ny, nz = nx * n, ny * n, nz * n
            if nx * vx + ny * vy + nz * vz < 0:
                nx, ny, nz = -nx, -ny, -nz
            gx, gy, gz = nx, ny, nz
            pixel = d / f
            material = materials[t]
            # place for shadow questions, lifted off the surface, relative to the centre
            lift = 0.02 + 0.0012 * d
            ox = wx + gx * lift - centre[0]
            oy = wy + gy * lift - centre[1]
            oz = wz + gz * lift - centre[2]
            if material == WATER:
                sx, sy = _ripple(wx, wy, pixel)
                slope = numbers[1]
                nx, ny, nz = -sx * slope, -sy * slope, 1.0
                n = 1.0 / math.sqrt(nx * nx + ny * ny + 1.0)
                nx, ny, nz = nx * n, ny * n, nz * n
                c = max(nx * vx + ny * vy + nz * vz, 0.02)
                rx, ry, rz = 2 * c * nx - vx, 2 * c * ny - vy, 2 * c * nz - vz
                rz = max(rz, 0.01)
                r, g, bl = look_up(dome, dome_range, rx, ry, rz)
                if mirror.shape[0] > 1:
                    r, g, bl = _mirror_at(
                        mirror, mirror_far, wx, wy, rx, ry, rz, cam, axes, lens, width, r, g, bl
                    )
                fresnel = 0.02 + 0.98 * (1 - c) ** 5
                sunny = 0.0
                ja, jb = 0.06 * (j2 - 0.5), 0.06 * (j3 - 0.5)
                if _open_to(ox, oy, oz, sun_frame, sun_map, 0, scale[0], 0.05, ja, jb):
                    sunny = 1.0
                glint = _lobe(rx * st[0] + ry * st[1] + rz * st[2], 700.0) * 60.0 * sunny
                body = 0.55 + 0.45 * sunny
                out_r = water[0] * body * (1 - fresnel) + r * fresnel + glint * sun[0]
                out_g = water[1] * body * (1 - fresnel) + g * fresnel + glint * sun[1]
                out_b = water[2] * body * (1 - fresnel) + bl * fresnel + glint * sun[2]
            else:
                ux, uy, uz = tangent[t, 0, 0], tangent[t, 0, 1], tangent[t, 0, 2]
                tx, ty, tz = tangent[t, 1, 0], tangent[t, 1, 1], tangent[t, 1, 2]
                tint = (tints[t, 0], tints[t, 1], tints[t, 2])
                extra = (
                    parameters[t, 0], parameters[t, 1], parameters[t, 2], parameters[t, 3],
                    parameters[t, 4], parameters[t, 5],
                )  # fmt: skip
                view = (
                    vx * ux + vy * uy + vz * uz,
                    vx * tx + vy * ty + vz * tz,
                    vx * nx + vy * ny + vz * nz,
                )
                sunwards = (
                    st[0] * ux + st[1] * uy + st[2] * uz,
                    st[0] * tx + st[1] * ty + st[2] * tz,
                    st[0] * nx + st[1] * ny + st[2] * nz,
                )
                ar, ag, ab, du, dv, shine, lit = surface(
                    material, u, v, wz, tint, extra, view, sunwards, pixel
                )
                nx -= du * ux + dv * tx
                ny -= du * uy + dv * ty
                nz -= du * uz + dv * tz
                n = 1.0 / max(math.sqrt(nx * nx + ny * ny + nz * nz), 1e-9)
                nx, ny, nz = nx * n, ny * n, nz * n
                facing = nx * st[0] + ny * st[1] + nz * st[2]
                shadow = 0.0
                if facing > 0 and gx * st[0] + gy * st[1] + gz * st[2] > -0.05:
                    ja, jb = 0.09 * (j2 - 0.5), 0.09 * (j3 - 0.5)
                    for _ in range(2):  # two points across from each other
                        if _open_to(ox, oy, oz, sun_frame, sun_map, 0, scale[0], 0.03, ja, jb):
                            shadow += 0.5
                        ja, jb = -ja, -jb
                    shadow *= lit
                sky_r, sky_g, sky_b = 0.0, 0.0, 0.0
                _, _, ja, jb = four_chances(x, y, 933)
                ja, jb = 0.30 * (ja - 0.5), 0.30 * (jb - 0.5)
                shuffle = int(16 * chance(x >> 2, y >> 2, 935))
                own = _ORDER[(y & 3) * 4 + (x & 3)] ^ shuffle
                for k in range(picks):
                    j = 16 * k + own
                    ja, jb = -jb, ja
                    cosine = nx * sky_to[j, 0] + ny * sky_to[j, 1] + nz * sky_to[j, 2]
                    if cosine <= 0:
                        continue
                    if _open_to(ox, oy, oz, sky_frame, sky_map, j, scale[1], 0.12, ja, jb):
                        sky_r += sky_rgb[j, 0] * cosine
                        sky_g += sky_rgb[j, 1] * cosine
                        sky_b += sky_rgb[j, 2] * cosine
                sky_r, sky_g, sky_b = sky_r / picks, sky_g / picks, sky_b / picks
                under = 0.65 - 0.35 * nz
                direct = facing * shadow if facing > 0 else 0.0
                out_r = ar * (sun[0] * direct + sky_r + bounce[0] * under)
                out_g = ag * (sun[1] * direct + sky_g + bounce[1] * under)
                out_b = ab * (sun[2] * direct + sky_b + bounce[2] * under)
                if shine > 0.035:
                    c = max(nx * vx + ny * vy + nz * vz, 0.0)
                    rx, ry, rz = 2 * c * nx - vx, 2 * c * ny - vy, 2 * c * nz - vz
                    fresnel = shine * (0.04 + 0.96 * (1 - c) ** 5)
                    along = rx * st[0] + ry * st[1] + rz * st[2]
                    spot = 0.0
                    if shadow > 0:
                        spot = _lobe(along, 60.0) * 0.9 + _lobe(along, 400.0) * 3.0 * shine
                        spot *= shine * shadow
                    r, g, bl = 0.03, 0.04, 0.04
                    if rz > 0:
                        r, g, bl = look_up(dome, dome_range, rx, ry, rz)
                        r, g, bl = r * numbers[3], g * numbers[3], bl * numbers[3]
                        if rz < 0.25:  # low: houses and hills rather than sky
                            w = 0.35 + 2.6 * rz
                            r, g, bl = r * w, g * w, bl * w
                    out_r += fresnel * r + spot * sun[0]
                    out_g += fresnel * g + spot * sun[1]
                    out_b += fresnel * bl + spot * sun[2]
            air = math.exp(-d / numbers[0])
            out[iy, x, 0] = out_r * air + haze[0] * (1 - air)
            out[iy, x, 1] = out_g * air + haze[1] * (1 - air)
            out[iy, x, 2] = out_b * air + haze[2] * (1 - air)
            far[iy, x] = d


@compiled
def _mirror_at(
    mirror: Any, mirror_far: Any, wx: float, wy: float, rx: float, ry: float, rz: float, cam: Any,
    axes: Any, lens: Any, width: int, r: float, g: float, b: float,
) -> tuple[float, float, float]:  # fmt: skip
    """What a ray leaving the water meets, found in the mirrored view; else the sky given."""
    ratio = mirror.shape[1] / width
    away = 30.0
    row, column = -1, -1
    own = math.sqrt((cam[0] - wx) ** 2 + (cam[1] - wy) ** 2 + cam[2] ** 2)
    for _ in range(3):
        qx, qy, qz = wx + rx * away - cam[0], wy + ry * away - cam[1], -rz * away - cam[2]
        forward = axes[2, 0] * qx + axes[2, 1] * qy + axes[2, 2] * qz
        if forward < 0.1:
            return r, g, b
        right = axes[0, 0] * qx + axes[0, 1] * qy + axes[0, 2] * qz
        up = axes[1, 0] * qx + axes[1, 1] * qy + axes[1, 2] * qz
        column = int((lens[1] + lens[0] * right / forward) * ratio)
        row = int((lens[2] - lens[0] * up / forward) * ratio)
        if row < 0 or row >= mirror.shape[0]:
            return r, g, b
        column = min(max(column, 0), mirror.shape[1] - 1)
        away = max(mirror_far[row, column] - own, 0.05)
    return mirror[row, column, 0], mirror[row, column, 1], mirror[row, column, 2]
