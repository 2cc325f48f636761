"""Light or codes to L*, a*, b*."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import carray

from firstsheet.pixels.kernels.common import TILE, f32, held, inline, read_curve

__all__ = ["lightness_function", "to_lab"]

# ---- colour ----------------------------------------------------------------------------------


@inline
def lightness_function(t: Any, out: Any, m: int) -> None:
    """CIE f(t): cube root above 216/24389, a straight line below. Two Halley steps."""
    for i in range(m):
        x = t[i]
        guess = f32(np.float32(x).view(np.int32)) * f32(1.0 / 3.0) + f32(709921077.0)
        y = np.int32(guess).view(np.float32)
        cube = y * y * y
        y = y * (cube + x + x) / (cube + cube + x)
        cube = y * y * y
        y = y * (cube + x + x) / (cube + cube + x)
        line = (x * f32(24389.0 / 27.0) + f32(16.0)) * f32(1.0 / 116.0)
        out[i] = y if x > f32(216.0 / 24389.0) else line


def to_lab(
    planes: Any,
    plane_ring: int,
    width: int,
    rows: Any,
    count: int,
    channels: int,
    mode: int,
    lut: Any,
    matrix: Any,
    scratch: Any,
    cells: Any,
    lab: Any,
    lab_ring: int,
    lab_rows: Any,
    lightness_only: int,
) -> None:
    """Planes of light (mode 0) or of codes (mode 1) to L*, a*, b* planes."""
    source = carray(planes, (channels * plane_ring * width,))
    out = carray(lab, (3 * lab_ring * width,))
    row = carray(rows, (count,))
    goal = carray(lab_rows, (count,))
    table = carray(lut, (channels * 65536,))
    m = carray(matrix, (12,))
    room = carray(scratch, (9 * TILE,))
    cell = carray(cells, (TILE,))
    for r in range(count):
        x0 = 0
        while x0 < width:
            n = min(TILE, width - x0)
            red, green, blue = room[:n], room[TILE : TILE + n], room[2 * TILE : 2 * TILE + n]
            tx, ty = room[3 * TILE : 3 * TILE + n], room[4 * TILE : 4 * TILE + n]
            tz, fx = room[5 * TILE : 5 * TILE + n], room[6 * TILE : 6 * TILE + n]
            fy, fz = room[7 * TILE : 7 * TILE + n], room[8 * TILE : 8 * TILE + n]
            for c in range(channels):
                at = (c * plane_ring + row[r]) * width + x0
                plane = source[at : at + n]
                light = room[c * TILE : c * TILE + n]
                if mode == 0:
                    for i in range(n):
                        light[i] = held(plane[i])
                else:
                    read_curve(plane, light, table[c * 65536 : (c + 1) * 65536], cell, n)
            if channels == 1:
                for i in range(n):
                    tx[i] = m[0] * red[i] + m[9]
                for i in range(n):
                    ty[i] = m[3] * red[i] + m[10]
                for i in range(n):
                    tz[i] = m[6] * red[i] + m[11]
            else:
                for i in range(n):
                    tx[i] = m[0] * red[i] + m[1] * green[i] + m[2] * blue[i] + m[9]
                for i in range(n):
                    ty[i] = m[3] * red[i] + m[4] * green[i] + m[5] * blue[i] + m[10]
                for i in range(n):
                    tz[i] = m[6] * red[i] + m[7] * green[i] + m[8] * blue[i] + m[11]
            at = goal[r] * width + x0
            lightness_function(ty, fy, n)
            lightness = out[at : at + n]
            for i in range(n):
                lightness[i] = f32(116.0) * fy[i] - f32(16.0)
            if lightness_only == 0:
                lightness_function(tx, fx, n)
                lightness_function(tz, fz, n)
                red_green = out[lab_ring * width + at : lab_ring * width + at + n]
                blue_yellow = out[2 * lab_ring * width + at : 2 * lab_ring * width + at + n]
                for i in range(n):
                    red_green[i] = f32(500.0) * (fx[i] - fy[i])
                for i in range(n):
                    blue_yellow[i] = f32(200.0) * (fy[i] - fz[i])
            x0 += TILE
