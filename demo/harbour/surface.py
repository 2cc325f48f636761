"""What things are made of: colour, relief and shine at one point of a surface.

Takes a material, surface coordinates in metres and the width of a pixel there; gives linear
colour, the slope of the relief along u and v, shine, and how much sun gets into recesses.
Tests: tests/harbour/test_surface.py.
"""

from __future__ import annotations

import math
from typing import Any

from harbour.compiled import compiled
from harbour.noise import chance, fbm, gradient_noise, smooth_step

__all__ = [
    "BRICK", "CANVAS", "GRAVEL", "HILL", "HULL", "IRON", "LAMP", "PAVING", "PLASTER", "ROOF",
    "ROPE", "STONE", "TARP", "VARNISH", "WATER", "WHITEWASH", "WOOD", "surface",
]  # fmt: skip

WATER, BRICK, PLASTER, STONE, PAVING, ROOF, HULL, TARP, WOOD = range(9)
VARNISH, ROPE, CANVAS, IRON, HILL, LAMP, WHITEWASH, GRAVEL = range(9, 17)

Look = tuple[float, float, float, float, float, float, float]  # r g b, slopes u v, shine, sun


@compiled
def _brick(u: float, v: float, tint: Any, pixel: float) -> Look:
    """Stretcher bond, 225 by 75 mm with mortar."""
    row = math.floor(v / 0.075)
    along = u / 0.225 + 0.5 * (int(row) & 1)
    column = math.floor(along)
    fu, fv = along - column, v / 0.075 - row
    edge_u, edge_v = min(fu, 1 - fu) * 0.225, min(fv, 1 - fv) * 0.075
    rough = fbm(u * 60, v * 60, 2, 11)
    edge = min(edge_u, edge_v) + 0.002 * rough
    face = smooth_step(0.003, 0.008, edge)
    face = face + (0.85 - face) * smooth_step(0.012, 0.05, pixel)
    which = chance(int(row), int(column), 12)
    fire = 0.62 + 0.62 * which * which + 0.22 * rough
    dark = 0.45 if chance(int(row), int(column), 13) > 0.93 else 1.0
    warm = 0.85 + 0.3 * chance(int(row), int(column), 14)
    weather = 1.0 + 0.5 * fbm(u * 0.45, v * 0.3, 4, 15) + 0.25 * fbm(u * 3.1, v * 0.5, 3, 16)
    weather = max(weather, 0.3)
    mortar = 0.36 * weather
    r = mortar + face * (tint[0] * fire * dark * warm * weather - mortar)
    g = mortar * 0.93 + face * (tint[1] * fire * dark * weather - mortar * 0.93)
    b = mortar * 0.82 + face * (tint[2] * fire * dark * weather - mortar * 0.82)
    lip = (1 - smooth_step(0.002, 0.009, edge)) * (1 - smooth_step(0.004, 0.02, pixel))
    du = (0.9 if fu < 0.5 else -0.9) * lip if edge_u < edge_v else 0.0
    dv = (0.9 if fv < 0.5 else -0.9) * lip if edge_v <= edge_u else 0.0
    return r, g, b, du + 0.25 * rough, dv, 0.02, 1.0


@compiled
def _stone(u: float, v: float, z: float, tint: Any, pixel: float, block: float) -> Look:
    """Rough ashlar; near the water wet, dark and green."""
    height = 0.42 * block
    row = math.floor(v / height)
    length = (0.75 + 0.5 * chance(int(row), 3, 21)) * block
    along = u / length + chance(int(row), 5, 22)
    column = math.floor(along)
    fu, fv = along - column, v / height - row
    grain = fbm(u * 9, v * 9, 4, 23)
    edge = min(min(fu, 1 - fu) * length, min(fv, 1 - fv) * height) + 0.012 * grain
    face = smooth_step(0.004, 0.020, edge)
    tone = 0.75 + 0.4 * chance(int(row), int(column), 24) + 0.5 * grain
    warm = 1.0 + 0.12 * (chance(int(row), int(column), 25) - 0.5)
    tone *= 1.0 + 0.45 * fbm(u * 0.35, v * 0.8, 3, 26)
    joint = 0.28 + 0.72 * face
    r, g, b = tint[0] * tone * warm * joint, tint[1] * tone * joint, tint[2] * tone / warm * joint
    shine = 0.03
    tide = z + 0.22 * fbm(u * 0.8, v * 0.4, 3, 27)
    if tide < 1.25:
        wet = 1 - smooth_step(0.75, 1.25, tide)
        weed = (1 - smooth_step(0.25, 0.75, tide)) * smooth_step(-0.25, 0.2, grain + 0.15)
        keep = 1 - 0.62 * wet
        r, g, b = r * keep, g * keep, b * keep
        r += weed * (0.030 - r) * 0.85
        g += weed * (0.055 - g) * 0.85
        b += weed * (0.012 - b) * 0.85
        shine += 0.12 * wet
    detail = 1 - smooth_step(0.006, 0.03, pixel)
    h = 0.9 * detail
    du = h * (gradient_noise(u * 14 + 0.3, v * 14, 28) + 0.6 * gradient_noise(u * 39, v * 39, 29))
    dv = h * (gradient_noise(u * 14, v * 14 + 9.3, 30) + 0.6 * gradient_noise(u * 39, v * 39, 31))
    lip = (1 - face) * detail
    return r, g, b, du * 0.5 + lip * (0.5 - fu), dv * 0.5 + lip * (1.4 - 2.8 * fv), shine, 1.0


@compiled
def _opening(
    u: float, v: float, p: Any, view: tuple[float, float, float], sun: tuple[float, float, float]
) -> tuple[int, float, float, float]:
    """Look into a row of recessed windows.

    Gives 0 wall, 1 reveal, 2 sill, 3 frame, 4 glass; where in the pane; and sun 0 or 1.
    """
    pitch_u, pitch_v, width, height = p[0], p[1], p[2], p[3]
    if width <= 0.0 or v < p[5] or u < p[4]:
        return 0, 0.0, 0.0, 1.0
    cu, cv = math.floor((u - p[4]) / pitch_u), math.floor((v - p[5]) / pitch_v)
    lu, lv = u - p[4] - cu * pitch_u, v - p[5] - cv * pitch_v
    if -0.06 < lu < width + 0.06 and -0.11 < lv < 0.0:
        return 2, lu, lv, 1.0
    if lu < 0 or lu > width or lv < 0 or lv > height:
        return 0, 0.0, 0.0, 1.0
    deep = 0.13
    su, sv = lu - view[0] / max(view[2], 0.08) * deep, lv - view[1] / max(view[2], 0.08) * deep
    if su < 0 or su > width or sv < 0 or sv > height:
        return 1, lu, lv, 0.35
    lit = 1.0
    if sun[2] > 0.02:
        tu, tv = su + sun[0] / sun[2] * deep, sv + sun[1] / sun[2] * deep
        if tu < 0 or tu > width or tv < 0 or tv > height:
            lit = 0.0
    bar_u = abs(su - width / 2)
    bar_v = abs((sv / (height / 3)) - math.floor(sv / (height / 3) + 0.5)) * height / 3
    rim = min(min(su, width - su), min(sv, height - sv))
    if rim < 0.055 or bar_u < 0.022 or bar_v < 0.014:
        return 3, su, sv, lit
    return 4, su, sv, lit


@compiled
def _wall(
    material: int, u: float, v: float, tint: Any, p: Any, view: Any, sun: Any, pixel: float
) -> Look:
    """Brick or plaster with windows in it."""
    kind, lu, lv, lit = _opening(u, v, p, view, sun)
    if kind == 4:
        pane = chance(int(u / p[0] * 1.0 + 40), int(v / p[1] + 40), 41)
        curtain = 0.32 if pane > 0.72 and lv > 0.35 * p[3] else 0.012
        fold = 0.8 + 0.4 * gradient_noise(lu * 22, 0.3, 42)
        wave = 0.012 * gradient_noise(lu * 3, lv * 3, 43)
        c = curtain * (fold if curtain > 0.1 else 1.0)
        return c, c * 0.97, c * 0.88, wave + 0.03 * (pane - 0.5), wave, 0.9, lit
    if kind == 3:
        worn = 0.62 + 0.18 * fbm(u * 20, v * 6, 2, 44)
        return worn, worn * 0.98, worn * 0.92, 0.0, 0.0, 0.06, lit
    if kind == 2:
        c = 0.42 + 0.2 * fbm(u * 8, v * 8, 3, 45)
        return c, c * 0.97, c * 0.9, 0.0, 0.8 if lv > -0.03 else -0.2, 0.03, 1.0
    if material == BRICK:
        r, g, b, du, dv, shine, _ = _brick(u, v, tint, pixel)
    else:
        tone = 1.0 + 0.30 * fbm(u * 0.5, v * 0.35, 4, 46) + 0.10 * fbm(u * 7, v * 7, 3, 47)
        streak = 1.0 - 0.35 * smooth_step(0.05, 0.5, fbm(u * 2.6, v * 0.16, 3, 48))
        bare = smooth_step(0.30, 0.36, fbm(u * 0.9 + 5, v * 0.9, 4, 49))
        tone *= streak
        r = tint[0] * tone + bare * (0.34 - tint[0] * tone)
        g = tint[1] * tone + bare * (0.30 - tint[1] * tone)
        b = tint[2] * tone + bare * (0.25 - tint[2] * tone)
        du, dv = (
            0.22 * gradient_noise(u * 17, v * 17, 50),
            0.22 * gradient_noise(u * 17, v * 17, 51),
        )
        shine = 0.02
    foot = 0.55 + 0.45 * smooth_step(0.0, 0.9, v + 0.3 * gradient_noise(u, 0.0, 52))
    lit2 = 0.55 if kind == 1 else 1.0
    return r * foot * lit2, g * foot * lit2, b * foot * lit2, du, dv, shine, lit


@compiled
def _hull(u: float, z: float, tint: Any, p: Any, pixel: float) -> Look:
    """Painted planks: boot top at p[0], a light stripe above, red-brown below, rust and wear."""
    plank = z / 0.135
    fv = plank - math.floor(plank)
    seam = (1 - smooth_step(0.0, 0.10, min(fv, 1 - fv))) * (1 - smooth_step(0.006, 0.03, pixel))
    run = smooth_step(0.12, 0.5, fbm(u * 3.2, z * 0.35, 4, 61)) * smooth_step(0.2, 0.9, z)
    fade = 1.0 + 0.16 * fbm(u * 1.1, z * 1.4, 4, 62)
    r, g, b = tint[0] * fade, tint[1] * fade, tint[2] * fade
    shine = 0.5
    line = p[0] + 0.012 * gradient_noise(u * 1.5, 1.0, 63)
    if z < line:
        slime = smooth_step(-0.1, 0.35, fbm(u * 2, z * 4, 3, 64) + 0.25 - z)
        r, g, b = 0.10 - 0.07 * slime, 0.028 + 0.012 * slime, 0.022 - 0.008 * slime
        shine = 0.15
    elif z < line + p[1]:
        r, g, b = 0.72 * fade, 0.70 * fade, 0.64 * fade
    wear = smooth_step(0.30, 0.42, fbm(u * 5, z * 9, 4, 65))
    r += run * 0.35 * (0.16 - r) + wear * 0.5 * (0.20 - r)
    g += run * 0.35 * (0.075 - g) + wear * 0.5 * (0.16 - g)
    b += run * 0.35 * (0.03 - b) + wear * 0.5 * (0.12 - b)
    k = 1 - 0.45 * seam
    dv = 1.1 * (fv - 0.5) * seam + 0.035 * gradient_noise(u * 4, z * 8, 66)
    return (
        r * k,
        g * k,
        b * k,
        0.03 * gradient_noise(u * 2.4, z * 5, 67),
        dv,
        shine * (1 - wear),
        1.0,
    )


@compiled
def _tarp(u: float, v: float, tint: Any, pixel: float) -> Look:
    """Coated cloth with folds, a weave, seams and eyelets."""
    fold = 0.42 * gradient_noise(u * 1.7 + 0.8 * v, v * 0.7, 71)
    fold += 0.35 * gradient_noise(u * 4.3, v * 1.6 + u, 72)
    cross = 0.35 * gradient_noise(u * 1.2, v * 3.1 - 0.6 * u, 73)
    cross += 0.25 * gradient_noise(u * 3.7 + v, v * 5.1, 74)
    fine = 1 - smooth_step(0.0012, 0.005, pixel)
    weave = fine * 0.10 * (math.sin(u * 1500) + math.sin(v * 1500))
    seam = abs(u / 1.4 - math.floor(u / 1.4 + 0.5)) * 1.4
    k = 1.0 + 0.14 * fbm(u * 2, v * 2, 4, 75) + weave - 0.35 * (1 - smooth_step(0.004, 0.012, seam))
    dust = smooth_step(0.1, 0.6, fbm(u * 1.3, v * 1.3, 4, 76)) * 0.05
    return (
        tint[0] * k + dust, tint[1] * k + dust, tint[2] * k + dust * 0.9,
        fold + weave, cross + weave, 0.16, 1.0,
    )  # fmt: skip


@compiled
def _wood(u: float, v: float, tint: Any, pixel: float, wide: float, shine: float) -> Look:
    """Planks along u with grain, gaps and nails."""
    row = math.floor(v / wide)
    fv = v / wide - row
    shift = 7.0 * chance(int(row), 1, 81)
    grain = fbm((u + shift) * 1.3, v * 34 + shift, 4, 82)
    fine = gradient_noise((u + shift) * 5, v * 160, 83) * (1 - smooth_step(0.002, 0.008, pixel))
    tone = 0.72 + 0.5 * chance(int(row), 2, 84) + 0.75 * grain + 0.16 * fine
    gap = smooth_step(0.0, 0.05, min(fv, 1 - fv))
    damp = 1.0 + 0.5 * fbm(u * 0.5, v * 0.7, 3, 85)
    k = max(tone * damp, 0.12) * (0.18 + 0.82 * gap)
    grey = 1 + 0.12 * (chance(int(row), 3, 86) - 0.5)
    dv = 0.5 * grain + 1.2 * (1 - gap) * (fv - 0.5)
    return tint[0] * k * grey, tint[1] * k, tint[2] * k / grey, 0.1 * fine, dv, shine, 1.0


@compiled
def _ground(material: int, u: float, v: float, tint: Any, pixel: float) -> Look:
    """Setts, roof tiles, gravel or a wooded hill."""
    if material == PAVING:
        row = math.floor(v / 0.16)
        along = u / 0.22 + 0.5 * (int(row) & 1) + 0.2 * chance(int(row), 4, 91)
        column = math.floor(along)
        fu, fv = along - column - 0.5, v / 0.16 - row - 0.5
        k = 0.7 + 0.45 * chance(int(row), int(column), 92) + 0.4 * fbm(u * 12, v * 12, 3, 93)
        k *= 1.0 - 0.5 * smooth_step(0.40, 0.5, max(abs(fu), abs(fv)))
        k *= 1.0 + 0.5 * fbm(u * 0.4, v * 0.4, 4, 94)
        d = 1 - smooth_step(0.02, 0.08, pixel)
        return tint[0] * k, tint[1] * k, tint[2] * k, -1.5 * fu * d, -1.5 * fv * d, 0.07, 1.0
    if material == ROOF:
        row, column = math.floor(v / 0.24), math.floor(u / 0.20)
        fu, fv = u / 0.20 - column, v / 0.24 - row
        k = 0.65 + 0.6 * chance(int(row), int(column), 95) + 0.5 * fbm(u * 5, v * 5, 3, 96)
        k *= (0.45 + 0.55 * smooth_step(0.0, 0.14, fv)) * (1 + 0.6 * fbm(u * 0.5, v * 0.5, 4, 97))
        moss = smooth_step(0.15, 0.5, fbm(u * 0.9, v * 0.9, 4, 98))
        d = 1 - smooth_step(0.02, 0.09, pixel)
        return (
            tint[0] * k + moss * (0.08 - tint[0] * k), tint[1] * k + moss * (0.09 - tint[1] * k),
            tint[2] * k, 1.3 * math.cos(fu * 6.2832) * d * 0.5, 0.5 * d, 0.02, 1.0,
        )  # fmt: skip
    if material == HILL:
        crown = fbm(u * 0.16, v * 0.22, 5, 99)
        plot = fbm(u * 0.012, v * 0.02 + 4.0, 3, 100)
        hedge = 1 - smooth_step(0.006, 0.022, abs(plot - 0.14 * math.floor(plot / 0.14 + 0.5)))
        field = smooth_step(0.04, 0.10, plot) * (1 - hedge)
        k = max(0.7 + 1.5 * crown - 0.35 * hedge, 0.08)
        tone = 1.0 + 0.9 * gradient_noise(math.floor(plot / 0.14) * 3.7, 0.5, 104)
        r = tint[0] * k + field * (0.19 * tone - tint[0] * k)
        g = tint[1] * k + field * (0.17 * tone - tint[1] * k)
        return r, g, tint[2] * k + field * 0.02, 0.9 * crown, 0.9 * crown, 0.0, 1.0
    k = 0.8 + 0.9 * fbm(u * 18, v * 18, 4, 101) + 0.3 * fbm(u * 0.7, v * 0.7, 3, 102)
    k = max(k, 0.1)
    bump = gradient_noise(u * 40, v * 40, 103)
    return tint[0] * k, tint[1] * k, tint[2] * k, 0.5 * bump, 0.5 * bump, 0.02, 1.0


@compiled
def surface(
    material: int, u: float, v: float, z: float, tint: Any, p: Any, view: Any, sun: Any,
    pixel: float,
) -> Look:  # fmt: skip
    """Colour, slopes, shine and sun share of any material but water.

    `view` and `sun` are directions along u, v and the normal; `pixel` is the width of a pixel
    on the surface, metres: detail finer than that is left out.
    """
    if material in (BRICK, PLASTER):
        return _wall(material, u, v, tint, p, view, sun, pixel)
    if material == STONE:
        return _stone(u, v, z, tint, pixel, 1.0 if p[0] == 0.0 else p[0])
    if material == HULL:
        return _hull(u, v, tint, p, pixel)
    if material == TARP:
        return _tarp(u, v, tint, pixel)
    if material == WOOD:
        return _wood(u, v, tint, pixel, 0.14 if p[0] == 0.0 else p[0], 0.04)
    if material == VARNISH:
        return _wood(u, v, tint, pixel, 9.0, 0.35)
    if material in (PAVING, ROOF, HILL, GRAVEL):
        return _ground(material, u, v, tint, pixel)
    if material == ROPE:
        lay = 0.8 + 0.3 * math.sin(u * 300 + v * 300) * (1 - smooth_step(0.002, 0.008, pixel))
        return tint[0] * lay, tint[1] * lay, tint[2] * lay, 0.0, 0.0, 0.02, 1.0
    if material == CANVAS:
        k = 1.0 + 0.25 * fbm(u * 2.5, v * 9, 3, 111)
        n = gradient_noise(u * 3, v * 11, 112)
        return tint[0] * k, tint[1] * k, tint[2] * k, 0.4 * n, 0.7 * n, 0.02, 1.0
    if material == WHITEWASH:
        k = 1.0 + 0.2 * fbm(u * 0.8, v * 0.25, 4, 113) + 0.08 * fbm(u * 9, v * 9, 3, 114)
        return tint[0] * k, tint[1] * k, tint[2] * k, 0.0, 0.0, 0.05, 1.0
    k = 1.0 + 0.5 * fbm(u * 6, v * 6, 3, 115)
    rust = smooth_step(0.0, 0.4, fbm(u * 3, v * 3, 4, 116)) if material == IRON else 0.0
    return (
        tint[0] * k + rust * (0.11 - tint[0] * k), tint[1] * k + rust * (0.045 - tint[1] * k),
        tint[2] * k + rust * (0.02 - tint[2] * k), 0.2 * (k - 1), 0.2 * (k - 1), 0.2, 1.0,
    )  # fmt: skip
