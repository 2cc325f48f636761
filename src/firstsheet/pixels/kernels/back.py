"""Sharpened L* back to the codes of the picture's own space.

A pixel whose L* the sharpening left alone keeps its resampled value. The others move along L*
with a* and b* held: each of f(X), f(Y), f(Z) moves by the same amount, (L' - L) / 116.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import carray

from firstsheet.pixels.kernels.colour import lightness_function
from firstsheet.pixels.kernels.common import TILE, f32, held, inline, read_curve
from firstsheet.pixels.kernels.device import code_8, code_16, lay

__all__ = ["keep_u8", "keep_u16", "light_of", "luma", "plain_u8", "plain_u16"]


@inline
def light_of(value: Any, out: Any, n: int) -> None:
    """The inverse of CIE f(t)."""
    for i in range(n):
        f = value[i]
        line = (f32(116.0) * f - f32(16.0)) * f32(27.0 / 24389.0)
        out[i] = f * f * f if f > f32(6.0 / 29.0) else line


@inline
def _root(value: Any, out: Any, n: int) -> None:
    for i in range(n):
        out[i] = np.sqrt(held(value[i]))


@inline
def _moved(
    room: Any, cell: Any, mode: int, table: Any, m: Any, shift: Any, channels: int, n: int
) -> None:
    """Light of `channels` rows at room[0..] moved by `shift` along L*, into room[9 * TILE..]."""
    for c in range(channels):
        value = room[c * TILE : c * TILE + n]
        light = room[(3 + c) * TILE : (3 + c) * TILE + n]
        if mode == 0:
            for i in range(n):
                light[i] = held(value[i])
        else:
            read_curve(value, light, table[c * 65536 : (c + 1) * 65536], cell, n)
    for axis in range(3):
        total = room[6 * TILE : 6 * TILE + n]
        power = room[7 * TILE : 7 * TILE + n]
        for i in range(n):
            total[i] = m[axis * channels] * room[3 * TILE + i]
        for c in range(1, channels):
            weight = m[axis * channels + c]
            light = room[(3 + c) * TILE : (3 + c) * TILE + n]
            for i in range(n):
                total[i] += weight * light[i]
        lightness_function(total, power, n)
        for i in range(n):
            power[i] += shift[i]
        light_of(power, room[(12 + axis) * TILE : (12 + axis) * TILE + n], n)
    for c in range(channels):
        goal = room[(9 + c) * TILE : (9 + c) * TILE + n]
        first, second, third = (
            m[3 * channels + c * 3],
            m[3 * channels + c * 3 + 1],
            m[3 * channels + c * 3 + 2],
        )
        x, y = room[12 * TILE : 12 * TILE + n], room[13 * TILE : 13 * TILE + n]
        z = room[14 * TILE : 14 * TILE + n]
        for i in range(n):
            goal[i] = first * x[i] + second * y[i] + third * z[i]


def _make_keep(eight: bool) -> Any:
    def keep(
        lightness: Any,
        before: Any,
        planes: Any,
        plane_ring: int,
        width: int,
        rows: Any,
        count: int,
        channels: int,
        mode: int,
        lut: Any,
        inverse: Any,
        matrix: Any,
        lift: Any,
        scratch: Any,
        cells: Any,
        out: Any,
        out_stride: int,
        left: int,
        sheet_top: int,
        seed: int,
    ) -> None:
        """Codes of the picture's space, moved from L* `before` to `lightness`.

        mode 0: planes of light; 1: planes of codes; 2: codes that move by the L* step itself
        (no colorimetry is known). matrix: to XYZ over white, then back. inverse: read by the
        square root of light.
        """
        sharp = carray(lightness, (count * width,))
        source = carray(planes, (channels * plane_ring * width,))
        row = carray(rows, (count,))
        table = carray(lut, (channels * 65536,))
        back = carray(inverse, (channels * 65536,))
        m = carray(matrix, (6 * channels,))
        share = carray(lift, (channels,))
        room = carray(scratch, (20 * TILE,))
        whole = carray(cells, (6 * TILE,))
        codes = carray(out, (count * out_stride,))
        for r in range(count):
            plain = carray(before, ((row[r] + 1) * width,))[row[r] * width :]
            x0 = 0
            while x0 < width:
                n = min(TILE, width - x0)
                cell = whole[:n]
                shift, dry = room[15 * TILE : 15 * TILE + n], room[16 * TILE : 16 * TILE + n]
                root, made = room[17 * TILE : 17 * TILE + n], room[18 * TILE : 18 * TILE + n]
                direct = room[19 * TILE : 19 * TILE + n]
                goal_l, base_l = sharp[r * width + x0 :], plain[x0:]
                moved = False
                for i in range(n):
                    shift[i] = (goal_l[i] - base_l[i]) * f32(1.0 / 116.0)
                    moved = moved or shift[i] != f32(0.0)
                if mode < 2:
                    for c in range(channels):
                        at = (c * plane_ring + row[r]) * width + x0
                        plane = source[at : at + n]
                        value = room[c * TILE : c * TILE + n]
                        for i in range(n):
                            value[i] = max(plane[i], f32(0.0))
                    if moved:
                        _moved(room, cell, mode, table, m, shift, channels, n)
                for c in range(channels):
                    at = (c * plane_ring + row[r]) * width + x0
                    plane = source[at : at + n]
                    if mode == 2:
                        rise = share[c] * f32(1.16)
                        for i in range(n):
                            dry[i] = plane[i] + shift[i] * rise
                    else:
                        curve = back[c * 65536 : (c + 1) * 65536]
                        if mode == 0:
                            _root(plane, root, n)
                            read_curve(root, direct, curve, cell, n)
                        else:
                            for i in range(n):
                                direct[i] = max(plane[i], f32(0.0))
                        if moved:
                            _root(room[(9 + c) * TILE : (9 + c) * TILE + n], root, n)
                            read_curve(root, made, curve, cell, n)
                            for i in range(n):
                                dry[i] = made[i] if shift[i] != f32(0.0) else direct[i]
                        else:
                            for i in range(n):
                                dry[i] = min(direct[i], f32(1.0))
                    code = whole[(2 + c) * TILE : (2 + c) * TILE + n]
                    if eight:
                        code_8(dry, code, n, left + x0, sheet_top + r, c, seed)
                    else:
                        code_16(dry, code, n)
                goal = codes[r * out_stride + (left + x0) * channels :]
                lay(whole, goal, channels, n)
                x0 += TILE

    return keep


def luma(
    planes: Any,
    plane_ring: int,
    width: int,
    rows: Any,
    count: int,
    channels: int,
    weights: Any,
    out: Any,
    out_rows: Any,
) -> None:
    """A stand-in for L* where no colorimetry is known: 100 times a weighted sum of codes."""
    source = carray(planes, (channels * plane_ring * width,))
    row = carray(rows, (count,))
    goal = carray(out_rows, (count,))
    w = carray(weights, (channels,))
    for r in range(count):
        line = carray(out, ((goal[r] + 1) * width,))[goal[r] * width :]
        for c in range(channels):
            at = (c * plane_ring + row[r]) * width
            plane = source[at : at + width]
            weight = w[c] * f32(100.0)
            if c == 0:
                for i in range(width):
                    line[i] = weight * plane[i]
            else:
                for i in range(width):
                    line[i] += weight * plane[i]


def _make_plain(eight: bool) -> Any:
    def plain(
        planes: Any,
        plane_ring: int,
        width: int,
        rows: Any,
        count: int,
        channels: int,
        mode: int,
        inverse: Any,
        scratch: Any,
        cells: Any,
        out: Any,
        out_stride: int,
        left: int,
        sheet_top: int,
        seed: int,
    ) -> None:
        """As `keep` where lightness does not move: planes of light (mode 0) or of codes."""
        source = carray(planes, (channels * plane_ring * width,))
        row = carray(rows, (count,))
        back = carray(inverse, (channels * 65536,))
        room = carray(scratch, (2 * TILE,))
        whole = carray(cells, (6 * TILE,))
        codes = carray(out, (count * out_stride,))
        for r in range(count):
            x0 = 0
            while x0 < width:
                n = min(TILE, width - x0)
                root, dry = room[:n], room[TILE : TILE + n]
                for c in range(channels):
                    at = (c * plane_ring + row[r]) * width + x0
                    plane = source[at : at + n]
                    if mode == 0:
                        _root(plane, root, n)
                        read_curve(root, dry, back[c * 65536 : (c + 1) * 65536], whole[:n], n)
                    else:
                        for i in range(n):
                            dry[i] = plane[i]
                    code = whole[(2 + c) * TILE : (2 + c) * TILE + n]
                    if eight:
                        code_8(dry, code, n, left + x0, sheet_top + r, c, seed)
                    else:
                        code_16(dry, code, n)
                goal = codes[r * out_stride + (left + x0) * channels :]
                lay(whole, goal, channels, n)
                x0 += TILE

    return plain


keep_u8, keep_u16 = _make_keep(True), _make_keep(False)
plain_u8, plain_u16 = _make_plain(True), _make_plain(False)
