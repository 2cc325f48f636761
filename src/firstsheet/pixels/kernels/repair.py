"""Repairs: Lab moved by a table of shifts times a mask, and Lab on to black point or back to codes.

Compiled only where a job has repairs. Theory: docs/theory/repair-pixels.md.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import carray

from firstsheet.pixels.kernels.back import light_of
from firstsheet.pixels.kernels.colour import lightness_function
from firstsheet.pixels.kernels.common import TILE, f32, held, i32, i64, inline, read_curve

__all__ = ["aim", "recode", "repair"]

_ONE = np.uint64(1)
_THREE = np.uint64(3)


@inline
def _weights(mask: Any, across: int, upper: Any, part: Any, cell: Any, share: Any, out: Any) -> Any:
    """The mask along a stretch of one line, bilinear; gives its largest value."""
    most = f32(0.0)
    for i in range(len(out)):
        at = np.uint64(upper + i64(cell[i]))
        below = at + np.uint64(across)
        top = mask[at] + share[i] * (mask[at + _ONE] - mask[at])
        foot = mask[below] + share[i] * (mask[below + _ONE] - mask[below])
        out[i] = top + part * (foot - top)
        most = max(most, out[i])
    return most


@inline
def _split(value: Any, scale: Any, offset: Any, nodes: int, whole: Any, part: Any) -> None:
    """Where values lie on one axis of the table: node below, share to the next."""
    last, top = f32(nodes - 1), i32(nodes - 2)
    for i in range(len(part)):
        place = held(value[i] * scale + offset) * last
        low = i32(place)
        low = low if low < top else top
        whole[i] = low
        part[i] = place - f32(low)


@inline
def _between(table: Any, k: Any, sv: Any, su: Any, u: Any, v: Any, w: Any) -> Any:
    """One shift between its eight neighbours."""
    b, c = k + sv, k + su
    d = c + sv
    p = table[k] + w * (table[k + _THREE] - table[k])
    q = table[b] + w * (table[b + _THREE] - table[b])
    r = table[c] + w * (table[c + _THREE] - table[c])
    s = table[d] + w * (table[d + _THREE] - table[d])
    p = p + v * (q - p)
    r = r + v * (s - r)
    return p + u * (r - p)


def repair(
    lab: Any,
    ring: int,
    width: int,
    rows: Any,
    count: int,
    lines: Any,
    shift: Any,
    nodes: int,
    mask: Any,
    mask_across: int,
    mask_down: int,
    columns: Any,
    column_shares: Any,
    line_cells: Any,
    line_shares: Any,
    height: int,
    scratch: Any,
    cells: Any,
) -> None:
    """Lab += mask x shift(Lab), in place, in rows of the ring that are `lines` of the picture.

    shift: (nodes, nodes, nodes, 3) over L* 0..100, a* and b* -128..128, read trilinearly.
    mask_across 0: no mask, everywhere.
    """
    planes = carray(lab, (3 * ring * width,))
    row, line = carray(rows, (count,)), carray(lines, (count,))
    table = carray(shift, (3 * nodes * nodes * nodes,))
    soft = carray(mask, (mask_across * mask_down,))
    column, share = carray(columns, (width,)), carray(column_shares, (width,))
    line_cell, line_share = carray(line_cells, (height,)), carray(line_shares, (height,))
    room, whole = carray(scratch, (4 * TILE,)), carray(cells, (3 * TILE,))
    su, sv = np.uint64(3 * nodes * nodes), np.uint64(3 * nodes)
    for r in range(count):
        x0 = 0
        while x0 < width:
            n = min(TILE, width - x0)
            weight = room[3 * TILE : 3 * TILE + n]
            most = f32(1.0)
            if mask_across > 0:
                upper = i64(line_cell[line[r]]) * mask_across
                part = line_share[line[r]]
                most = _weights(
                    soft, mask_across, upper, part, column[x0 : x0 + n], share[x0 : x0 + n], weight
                )
            else:
                for i in range(n):
                    weight[i] = f32(1.0)
            if most > f32(0.0):
                at = row[r] * width + x0
                light = planes[at : at + n]
                red = planes[ring * width + at : ring * width + at + n]
                blue = planes[2 * ring * width + at : 2 * ring * width + at + n]
                u, v, w = room[:n], room[TILE : TILE + n], room[2 * TILE : 2 * TILE + n]
                i_u, i_v = whole[:n], whole[TILE : TILE + n]
                i_w = whole[2 * TILE : 2 * TILE + n]
                _split(light, f32(0.01), f32(0.0), nodes, i_u, u)
                _split(red, f32(1.0 / 256.0), f32(0.5), nodes, i_v, v)
                _split(blue, f32(1.0 / 256.0), f32(0.5), nodes, i_w, w)
                for i in range(n):
                    k = np.uint64(i_u[i]) * su + np.uint64(i_v[i]) * sv + np.uint64(i_w[i]) * _THREE
                    for_l = _between(table, k, sv, su, u[i], v[i], w[i])
                    for_a = _between(table, k + _ONE, sv, su, u[i], v[i], w[i])
                    for_b = _between(table, k + np.uint64(2), sv, su, u[i], v[i], w[i])
                    light[i] += weight[i] * for_l
                    red[i] += weight[i] * for_a
                    blue[i] += weight[i] * for_b
            x0 += TILE


@inline
def _axes(light: Any, red: Any, blue: Any, fx: Any, fy: Any, fz: Any) -> None:
    """f(X), f(Y), f(Z) over white of L*, a*, b*."""
    for i in range(len(fx)):
        y = (light[i] + f32(16.0)) * f32(1.0 / 116.0)
        fy[i] = y
        fx[i] = y + red[i] * f32(0.002)
        fz[i] = y - blue[i] * f32(0.005)


def aim(lab: Any, ring: int, width: int, rows: Any, count: int, numbers: Any, scratch: Any) -> None:
    """What is asked of the paper: XYZ over white scaled and shifted, in place.

    numbers: scale of X, Y, Z, then their offsets over white.
    """
    planes = carray(lab, (3 * ring * width,))
    row, m = carray(rows, (count,)), carray(numbers, (6,))
    room = carray(scratch, (6 * TILE,))
    for r in range(count):
        x0 = 0
        while x0 < width:
            n = min(TILE, width - x0)
            at = row[r] * width + x0
            light = planes[at : at + n]
            red = planes[ring * width + at : ring * width + at + n]
            blue = planes[2 * ring * width + at : 2 * ring * width + at + n]
            _axes(light, red, blue, room[:n], room[TILE : TILE + n], room[2 * TILE : 2 * TILE + n])
            for axis in range(3):
                f = room[axis * TILE : axis * TILE + n]
                x = room[(3 + axis) * TILE : (3 + axis) * TILE + n]
                light_of(f, x, n)
                for i in range(n):
                    x[i] = x[i] * m[axis] + m[3 + axis]
                lightness_function(x, f, n)
            fx, fy, fz = room[:n], room[TILE : TILE + n], room[2 * TILE : 2 * TILE + n]
            for i in range(n):
                light[i] = f32(116.0) * fy[i] - f32(16.0)
                red[i] = f32(500.0) * (fx[i] - fy[i])
                blue[i] = f32(200.0) * (fy[i] - fz[i])
            x0 += TILE


def recode(
    before: Any,
    before_ring: int,
    lab: Any,
    ring: int,
    width: int,
    rows: Any,
    count: int,
    channels: int,
    mode: int,
    inverse: Any,
    matrix: Any,
    planes: Any,
    plane_ring: int,
    scratch: Any,
    cells: Any,
) -> None:
    """Planes of light (mode 0) or codes (mode 1) of the pixels whose Lab the repairs moved.

    before: (3, before_ring, width), the first `count` rows as they were. inverse: codes over the
    square root of light. matrix: to XYZ over white (skipped), then back from it.
    """
    earlier = carray(before, (3 * before_ring * width,))
    now = carray(lab, (3 * ring * width,))
    row = carray(rows, (count,))
    curves, m = carray(inverse, (channels * 65536,)), carray(matrix, (6 * channels,))
    goal = carray(planes, (channels * plane_ring * width,))
    room, cell = carray(scratch, (9 * TILE,)), carray(cells, (TILE,))
    for r in range(count):
        x0 = 0
        while x0 < width:
            n = min(TILE, width - x0)
            moved = room[8 * TILE : 8 * TILE + n]
            for i in range(n):
                moved[i] = f32(0.0)
            any_moved = False
            for axis in range(3):
                old = earlier[(axis * before_ring + r) * width + x0 :]
                new = now[(axis * ring + row[r]) * width + x0 :]
                for i in range(n):
                    if old[i] != new[i]:
                        moved[i] = f32(1.0)
                        any_moved = True
            if any_moved:
                at = row[r] * width + x0
                light = now[at : at + n]
                red = now[ring * width + at : ring * width + at + n]
                blue = now[2 * ring * width + at : 2 * ring * width + at + n]
                fx, fy = room[:n], room[TILE : TILE + n]
                fz = room[2 * TILE : 2 * TILE + n]
                _axes(light, red, blue, fx, fy, fz)
                x, y = room[3 * TILE : 3 * TILE + n], room[4 * TILE : 4 * TILE + n]
                z = room[5 * TILE : 5 * TILE + n]
                light_of(fx, x, n)
                light_of(fy, y, n)
                light_of(fz, z, n)
                for c in range(channels):
                    first = m[3 * channels + 3 * c]
                    second, third = m[3 * channels + 3 * c + 1], m[3 * channels + 3 * c + 2]
                    made = room[6 * TILE : 6 * TILE + n]
                    for i in range(n):
                        made[i] = first * x[i] + second * y[i] + third * z[i]
                    if mode == 1:
                        root = room[7 * TILE : 7 * TILE + n]
                        for i in range(n):
                            root[i] = np.sqrt(held(made[i]))
                        read_curve(root, made, curves[c * 65536 : (c + 1) * 65536], cell, n)
                    to = goal[(c * plane_ring + row[r]) * width + x0 :]
                    for i in range(n):
                        to[i] = made[i] if moved[i] > f32(0.0) else to[i]
            x0 += TILE
