"""Lab to the bytes a screen is sent, and CIEDE2000, pixel by pixel, for tiles.

Both read interleaved Lab. The difference follows Sharma, Wu, Dalal (2005) with hue sums taken
by vectors, as engine.colour.difference does; exponential and arc tangent are short sums.
Theory: docs/theory/tiles.md. Tests: tests/pixels/test_tilecolours.py.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import carray

from firstsheet.pixels.kernels.common import TILE, f32, held, i32, inline

__all__ = ["loss", "screen", "shade"]

_TABLE = 4096  # steps of the screen's curve, over the square root of light


@inline
def _light(value: Any, n: int) -> None:
    """The inverse of CIE f(t), in place."""
    for i in range(n):
        f = value[i]
        line = (f32(116.0) * f - f32(16.0)) * f32(27.0 / 24389.0)
        value[i] = f * f * f if f > f32(6.0 / 29.0) else line


def screen(
    lab: Any, count: int, numbers: Any, table: Any, scratch: Any, cells: Any, out: Any
) -> None:
    """Lab, (count, 3), to screen bytes.

    numbers: 9 of the matrix from X/Xn, Y/Yn, Z/Zn to linear light of the screen's primaries.
    table: bytes of the screen's curve, read at the nearest step of the square root of light.
    """
    source = carray(lab, (3 * count,))
    m = carray(numbers, (9,))
    code = carray(table, (_TABLE,))
    goal = carray(out, (3 * count,))
    room = carray(scratch, (4 * TILE,))
    cell = carray(cells, (TILE,))
    start = 0
    while start < count:
        n = min(TILE, count - start)
        x, y = room[:n], room[TILE : TILE + n]
        z, light = room[2 * TILE : 2 * TILE + n], room[3 * TILE : 3 * TILE + n]
        part = source[3 * start : 3 * (start + n)]
        for i in range(n):
            fy = (part[3 * i] + f32(16.0)) * f32(1.0 / 116.0)
            y[i] = fy
            x[i] = fy + part[3 * i + 1] * f32(1.0 / 500.0)
            z[i] = fy - part[3 * i + 2] * f32(1.0 / 200.0)
        _light(x, n)
        _light(y, n)
        _light(z, n)
        for c in range(3):
            first, second, third = m[3 * c], m[3 * c + 1], m[3 * c + 2]
            for i in range(n):
                light[i] = held(first * x[i] + second * y[i] + third * z[i])
            for i in range(n):
                cell[i] = i32(np.sqrt(light[i]) * f32(_TABLE - 1) + f32(0.5))
            put = goal[3 * start + c :]
            for i in range(n):
                put[3 * i] = code[np.uint64(cell[i])]
        start += TILE


@inline
def _seventh(chroma: Any) -> Any:
    """C^7 / (C^7 + 25^7), equations (4) and (17)."""
    ratio = chroma * f32(1.0 / 25.0)
    square = ratio * ratio
    power = square * square * square * ratio
    return power / (power + f32(1.0))


@inline
def _arc(t: Any) -> Any:
    """Arc tangent of 0..1, Abramowitz and Stegun 4.4.49."""
    u = t * t
    total = f32(-0.0040540580) * u + f32(0.0218612288)
    total = total * u - f32(0.0559098861)
    total = total * u + f32(0.0964200441)
    total = total * u - f32(0.1390853351)
    total = total * u + f32(0.1994653599)
    total = total * u - f32(0.3332985605)
    return (total * u + f32(0.9999993329)) * t


@inline
def _fall(u: Any) -> Any:
    """exp(-u) for u from 0 to 80: a power of two, and the series of what remains."""
    scaled = u * f32(1.4426950408889634)
    whole = i32(scaled)
    rest = (scaled - f32(whole)) * f32(0.6931471805599453)
    total = f32(-1.0 / 5040.0) * rest + f32(1.0 / 720.0)
    total = total * rest - f32(1.0 / 120.0)
    total = total * rest + f32(1.0 / 24.0)
    total = total * rest - f32(1.0 / 6.0)
    total = total * rest + f32(0.5)
    total = total * rest - f32(1.0)
    total = total * rest + f32(1.0)
    return total * i32((i32(127) - whole) << i32(23)).view(np.float32)


@inline
def _turn(c: Any, s: Any) -> Any:
    """Sine of twice the rotation angle, (16) and (21); nought but near blue."""
    low = max(min(abs(c), abs(s)), f32(0.0))
    high = max(max(abs(c), abs(s)), f32(1e-12))
    angle = _arc(low / high)
    angle = angle if abs(c) <= abs(s) else f32(1.5707963267948966) - angle
    angle = angle if c >= f32(0.0) else -angle  # from 270 degrees on, towards 360
    gap = (angle * f32(57.29577951308232) - f32(5.0)) * f32(1.0 / 25.0)
    gap = gap if s < f32(0.0) else f32(8.0)
    x = f32(1.0471975511965976) * _fall(min(gap * gap, f32(64.0)))
    u = x * x
    total = f32(1.0 / 362880.0) * u - f32(1.0 / 5040.0)
    total = total * u + f32(1.0 / 120.0)
    total = total * u - f32(1.0 / 6.0)
    return (total * u + f32(1.0)) * x


def loss(wanted: Any, printed: Any, count: int, out: Any) -> None:
    """CIEDE2000 of two pictures in Lab, (count, 3); equation numbers are Sharma's."""
    one, two = carray(wanted, (3 * count,)), carray(printed, (3 * count,))
    goal = carray(out, (count,))
    for i in range(count):
        l1, a1, b1 = one[3 * i], one[3 * i + 1], one[3 * i + 2]
        l2, a2, b2 = two[3 * i], two[3 * i + 1], two[3 * i + 2]
        mean = f32(0.5) * (np.sqrt(a1 * a1 + b1 * b1) + np.sqrt(a2 * a2 + b2 * b2))  # (2) (3)
        stretch = f32(1.5) - f32(0.5) * np.sqrt(_seventh(mean))  # 1 + G, (4) (5)
        a1, a2 = a1 * stretch, a2 * stretch
        c1, c2 = np.sqrt(a1 * a1 + b1 * b1), np.sqrt(a2 * a2 + b2 * b2)  # (6)
        product, dot = c1 * c2, a1 * a2 + b1 * b2
        cross = a1 * b2 - a2 * b1
        near = np.sqrt(f32(0.5) * (product + max(dot, f32(0.0))))
        way = f32(1.0) if cross >= f32(0.0) else f32(-1.0)
        far = way * np.sqrt(f32(2.0) * max(product - dot, f32(0.0)))
        hue = cross / max(near, f32(1e-12)) if dot >= f32(0.0) else far  # (10) (11)
        x, y = a1 * c2 + a2 * c1, b1 * c2 + b2 * c1  # along the sum of both hues, (14)
        x = x if dot >= f32(0.0) else way * (b2 * c1 - b1 * c2)  # or across their difference
        y = y if dot >= f32(0.0) else way * (a1 * c2 - a2 * c1)
        x = x if product > f32(0.0) else a1 + a2
        y = y if product > f32(0.0) else b1 + b2
        length = max(np.sqrt(x * x + y * y), f32(1e-12))
        c, s = x / length, y / length
        mean = f32(0.5) * (c1 + c2)  # (13)
        cos2, sin2 = c * c - s * s, f32(2.0) * s * c
        cos3, sin3 = c * cos2 - s * sin2, s * cos2 + c * sin2
        cos4, sin4 = cos2 * cos2 - sin2 * sin2, f32(2.0) * sin2 * cos2
        weight = (
            f32(1.0)
            - f32(0.17) * (f32(0.8660254037844387) * c + f32(0.5) * s)
            + f32(0.24) * cos2
            + f32(0.32) * (f32(0.9945218953682733) * cos3 - f32(0.10452846326765347) * sin3)
            - f32(0.20) * (f32(0.45399049973954675) * cos4 + f32(0.8910065241883679) * sin4)
        )  # (15)
        middle = f32(0.5) * (l1 + l2) - f32(50.0)  # (12)
        middle = middle * middle
        light = (l2 - l1) / (f32(1.0) + f32(0.015) * middle / np.sqrt(f32(20.0) + middle))
        chroma = (c2 - c1) / (f32(1.0) + f32(0.045) * mean)  # (9) (19)
        hue = hue / (f32(1.0) + f32(0.015) * mean * weight)  # (20)
        turn = f32(-2.0) * np.sqrt(_seventh(mean)) * _turn(c, s)  # (17) (21)
        square = light * light + chroma * chroma + hue * hue + turn * chroma * hue
        goal[i] = np.sqrt(max(square, f32(0.0)))  # (22)


def shade(values: Any, count: int, numbers: Any, table: Any, out: Any) -> None:
    """Magnitudes to the colours of a scale, nearest step; below the floor nothing.

    numbers: floor, and steps for one unit. table: (steps + 1, 3) bytes; its last step holds on.
    """
    source = carray(values, (count,))
    n = carray(numbers, (3,))
    code = carray(table, (3 * (i32(n[2]) + 1),))
    goal = carray(out, (3 * count,))
    for i in range(count):
        value = source[i] if source[i] >= n[0] else f32(0.0)
        place = np.uint64(i32(min(value * n[1], n[2]) + f32(0.5)))
        for c in range(3):
            goal[3 * i + c] = code[np.uint64(3) * place + np.uint64(c)]
