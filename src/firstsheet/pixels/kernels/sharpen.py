"""Output sharpening of L* planes: detail added where edges stand, and held near its range.

For each tile of columns: a padded copy, its Gaussian blur, the energy of the blur's gradient
(the edge), the local lowest and highest L*, and from these the sharpened L*.
Theory: docs/theory/sharpening.md.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import carray

from firstsheet.pixels.kernels.common import TILE, f32, i64, inline

__all__ = ["EDGE", "REACH", "sharpen"]

EDGE = 3  # rows beyond the blur: one for the gradient, two for its smoothing
REACH = 3  # of the local lowest and highest, pixels on each side: seven in all


@inline
def _blur(
    lines: Any,
    across: int,
    step: int,
    bell: Any,
    radius: int,
    out: Any,
    rows: int,
    n: int,
    out_across: int,
) -> None:
    """Symmetric sum of 2 * radius + 1 samples that lie `step` apart, row by row."""
    for j in range(rows):
        goal = out[j * out_across : j * out_across + n]
        start = j * across
        middle = lines[start + radius * step : start + radius * step + n]
        centre = bell[radius]
        for i in range(n):
            goal[i] = centre * middle[i]
        k = 0
        far = start + 2 * radius * step
        while k + 1 < radius:
            one, two = bell[k], bell[k + 1]
            a, b = lines[start : start + n], lines[far : far + n]
            c, d = lines[start + step : start + step + n], lines[far - step : far - step + n]
            for i in range(n):
                goal[i] += one * (a[i] + b[i]) + two * (c[i] + d[i])
            start += 2 * step
            far -= 2 * step
            k += 2
        if k < radius:
            one = bell[k]
            a, b = lines[start : start + n], lines[far : far + n]
            for i in range(n):
                goal[i] += one * (a[i] + b[i])


@inline
def _lower(a: Any, b: Any) -> Any:
    return a if a < b else b


@inline
def _seven_lowest(
    lines: Any, across: int, step: int, sign: Any, out: Any, rows: int, n: int, out_across: int
) -> None:
    """Lowest of seven samples `step` apart, row by row, each times sign: -1 asks for highest."""
    for j in range(rows):
        goal = out[j * out_across : j * out_across + n]
        s = j * across
        a, b = lines[s : s + n], lines[s + step : s + step + n]
        c, d = lines[s + 2 * step : s + 2 * step + n], lines[s + 3 * step : s + 3 * step + n]
        e, f = lines[s + 4 * step : s + 4 * step + n], lines[s + 5 * step : s + 5 * step + n]
        g = lines[s + 6 * step : s + 6 * step + n]
        for i in range(n):
            low = _lower(sign * a[i], sign * b[i])
            low = _lower(_lower(low, sign * c[i]), sign * d[i])
            low = _lower(_lower(low, sign * e[i]), _lower(sign * f[i], sign * g[i]))
            goal[i] = sign * low


@inline
def _energy(blurred: Any, across: int, out: Any, rows: int, n: int) -> None:
    """Squared length of the blur's gradient, by central differences over two pixels."""
    for j in range(rows):
        above = blurred[j * across + 1 : j * across + 1 + n]
        here = blurred[(j + 1) * across : (j + 1) * across + n]
        right = blurred[(j + 1) * across + 2 : (j + 1) * across + 2 + n]
        below = blurred[(j + 2) * across + 1 : (j + 2) * across + 1 + n]
        goal = out[j * n : (j + 1) * n]
        for i in range(n):
            dx = right[i] - here[i]
            dy = below[i] - above[i]
            goal[i] = dx * dx + dy * dy


@inline
def _mix(
    lightness: Any,
    blurred: Any,
    energy: Any,
    lowest: Any,
    highest: Any,
    number: Any,
    out: Any,
    n: int,
) -> None:
    """Add the gated detail and hold it: number = gain, limit, edge low, 1 / width, scale."""
    gain, limit, edge_low, per_width, scale = number[0], number[1], number[2], number[3], number[4]
    for i in range(n):
        here = lightness[i]
        height = scale * np.sqrt(energy[i])
        share = min(max((height - edge_low) * per_width, f32(0.0)), f32(1.0))
        share = share * share * (f32(3.0) - f32(2.0) * share)
        wanted = here + gain * share * (here - blurred[i])
        over = max(wanted - highest[i], f32(0.0))
        under = max(lowest[i] - wanted, f32(0.0))
        wanted = min(max(wanted, lowest[i]), highest[i])
        wanted = wanted + limit * over / (limit + over) - limit * under / (limit + under)
        wanted = max(min(wanted, max(here, f32(100.0))), min(here, f32(0.0)))
        out[i] = wanted if share > f32(0.0) else here


def sharpen(
    lab: Any,
    width: int,
    rows: Any,
    count: int,
    bell: Any,
    radius: int,
    soft: Any,
    numbers: Any,
    scratch: Any,
    out: Any,
) -> None:
    """Sharpen `count` rows; `rows` names count + 2 * (radius + EDGE) ring rows, clamped.

    bell has 2 * radius + 1 weights, soft has 5; out is (count, width).
    """
    up: Any = f32(1.0)
    down_side: Any = f32(-1.0)
    one: Any = i64(1)
    two: Any = i64(2)  # as numbers of their own, not constants compiled in each time
    margin = radius + EDGE
    tall = count + 2 * margin
    row = carray(rows, (tall,))
    weights = carray(bell, (2 * radius + 1,))
    smooth = carray(soft, (5,))
    number = carray(numbers, (5,))
    result = carray(out, (count * width,))
    wide = TILE + 2 * margin
    size = tall * wide
    room = carray(scratch, (7 * size,))
    padded, down, blurred = room[:size], room[size : 2 * size], room[2 * size : 3 * size]
    energy, soft_down, soft_both = (
        room[3 * size : 4 * size],
        room[4 * size : 5 * size],
        room[5 * size : 6 * size],
    )
    lowest, highest = room[3 * size : 4 * size], room[4 * size : 5 * size]
    beside = room[6 * size : 7 * size]
    x0 = 0
    while x0 < width:
        n = min(TILE, width - x0)
        span = n + 2 * margin
        for j in range(tall):
            line = carray(lab, ((row[j] + 1) * width,))[row[j] * width :]
            goal = padded[j * span : (j + 1) * span]
            left = max(margin - x0, 0)
            right = min(span, width - x0 + margin)
            for i in range(left):
                goal[i] = line[0]
            inner, outer = goal[left:right], line[x0 - margin + left :]
            for i in range(right - left):
                inner[i] = outer[i]
            for i in range(right, span):
                goal[i] = line[width - 1]
        high = count + 2 * EDGE
        rim, rim_2 = n + 2 * EDGE, n + 2 * REACH
        _blur(padded, span, span, weights, radius, down, high, span, span)
        _blur(down, span, one, weights, radius, blurred, high, rim, rim)
        _energy(blurred, rim, energy, count + 4, n + 4)
        _blur(energy, n + 4, n + 4, smooth, two, soft_down, count, n + 4, n + 4)
        _blur(soft_down, n + 4, one, smooth, two, soft_both, count, n, n)
        inside = padded[(margin - REACH) * span + margin - REACH :]
        _seven_lowest(inside, span, span, up, beside, count, rim_2, rim_2)
        _seven_lowest(beside, rim_2, one, up, lowest, count, n, n)
        _seven_lowest(inside, span, span, down_side, beside, count, rim_2, rim_2)
        _seven_lowest(beside, rim_2, one, down_side, highest, count, n, n)
        for j in range(count):
            at = (j + margin) * span + margin
            middle = (j + EDGE) * (n + 2 * EDGE) + EDGE
            _mix(
                padded[at : at + n],
                blurred[middle : middle + n],
                soft_both[j * n : (j + 1) * n],
                lowest[j * n : (j + 1) * n],
                highest[j * n : (j + 1) * n],
                number,
                result[j * width + x0 : j * width + x0 + n],
                n,
            )
        x0 += TILE
