"""L*, a*, b* to the codes of the paper."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import carray

from firstsheet.pixels.kernels.common import TILE, f32, held, i32, inline, read_curve

__all__ = [
    "code_8",
    "code_16",
    "lay",
    "paper_eight_u8",
    "paper_eight_u16",
    "paper_four_u8",
    "paper_four_u16",
]

_ONE, _TWO, _THREE, _FOUR = (np.uint64(n) for n in (1, 2, 3, 4))

# ---- device codes ----------------------------------------------------------------------------


@inline
def code_16(values: Any, code: Any, m: int) -> None:
    """Sixteen bits, rounded to nearest."""
    for i in range(m):
        code[i] = i32(held(values[i]) * f32(65535.0) + f32(0.5))


@inline
def code_8(values: Any, code: Any, m: int, x: int, y: int, c: int, seed: int) -> None:
    """Eight bits with a position-hashed dither: the mean of a flat tone is kept."""
    start = np.uint32(seed + y * 0x9E3779B1 + c * 0x85EBCA77)
    for i in range(m):
        h = np.uint32(start + np.uint32(x + i) * np.uint32(0xC2B2AE3D))
        h = np.uint32(np.uint32(h ^ (h >> np.uint32(16))) * np.uint32(0x7FEB352D))
        h = np.uint32(np.uint32(h ^ (h >> np.uint32(15))) * np.uint32(0x846CA68B))
        part = f32(i32(h >> np.uint32(16))) * f32(1.0 / 65536.0)
        value = held(values[i]) * f32(255.0)
        whole = f32(i32(value + f32(0.5)))
        dithered = f32(i32(value + part))
        code[i] = i32(dithered if abs(value - whole) >= f32(1.0 / 1024.0) else whole)


@inline
def lay(whole: Any, goal: Any, outputs: int, m: int) -> None:
    """Interleave the codes of all channels into a row of the sheet."""
    if outputs == 3:
        first, second = whole[2 * TILE : 2 * TILE + m], whole[3 * TILE : 3 * TILE + m]
        third = whole[4 * TILE : 4 * TILE + m]
        for i in range(m):
            goal[3 * i] = first[i]
            goal[3 * i + 1] = second[i]
            goal[3 * i + 2] = third[i]
    else:
        for c in range(outputs):
            code = whole[(2 + c) * TILE : (2 + c) * TILE + m]
            for i in range(m):
                goal[i * outputs + c] = code[i]


@inline
def _between_eight(table: Any, a: Any, b: Any, c: Any, d: Any, fu: Any, fv: Any, fw: Any) -> Any:
    """One output of the eight neighbours: a..d are the four low corners along the last axis."""
    p, q, r, s = table[a], table[b], table[c], table[d]
    p = p + fw * (table[a + _FOUR] - p)
    q = q + fw * (table[b + _FOUR] - q)
    r = r + fw * (table[c + _FOUR] - r)
    s = s + fw * (table[d + _FOUR] - s)
    p = p + fv * (q - p)
    r = r + fv * (s - r)
    return p + fu * (r - p)


@inline
def _trilinear(
    table: Any, su: int, sv: int, u: Any, v: Any, w: Any, k: Any, _ways: Any, out: Any, m: int
) -> None:
    """Read the table between eight neighbours; u, v, w hold the fractions, k the corner.

    The four outputs are stored only after all of them are computed, so that the compiler may
    load and mix all four at once.
    """
    for i in range(m):
        a = np.uint64(k[i])
        b, c = a + np.uint64(sv), a + np.uint64(su)
        d = c + np.uint64(sv)
        fu, fv, fw = u[i], v[i], w[i]
        one = _between_eight(table, a, b, c, d, fu, fv, fw)
        two = _between_eight(table, a + _ONE, b + _ONE, c + _ONE, d + _ONE, fu, fv, fw)
        three = _between_eight(table, a + _TWO, b + _TWO, c + _TWO, d + _TWO, fu, fv, fw)
        four = _between_eight(table, a + _THREE, b + _THREE, c + _THREE, d + _THREE, fu, fv, fw)
        at = np.uint64(i) * _FOUR
        out[at] = one
        out[at + _ONE] = two
        out[at + _TWO] = three
        out[at + _THREE] = four


@inline
def _between_four(
    table: Any, a: Any, b: Any, c: Any, d: Any, high: Any, middle: Any, low: Any
) -> Any:
    """One output inside the tetrahedron a b c d."""
    p, q, r, s = table[a], table[b], table[c], table[d]
    return p + high * (q - p) + middle * (r - q) + low * (s - r)


@inline
def _tetrahedral(
    table: Any, su: int, sv: int, u: Any, v: Any, w: Any, k: Any, ways: Any, out: Any, m: int
) -> None:
    """Read the table in the tetrahedron of its cube that holds the point.

    First all ways from corner to corner, which has no branches, then the table.
    """
    ju, jv, jw = i32(su), i32(sv), i32(4)
    to, fro = ways[:m], ways[TILE : TILE + m]
    for i in range(m):
        fu, fv, fw = u[i], v[i], w[i]
        larger, smaller = max(fv, fw), min(fv, fw)
        second = jv if fv >= fw else jw
        third = jw if fv >= fw else jv
        to[i] = ju if fu >= larger else second
        fro[i] = ju if fu < smaller else third
        u[i] = max(fu, larger)
        v[i] = max(min(fu, larger), smaller)
        w[i] = min(fu, smaller)
    whole = np.uint64(su + sv + 4)
    for i in range(m):
        a = np.uint64(k[i])
        b, d = a + np.uint64(to[i]), a + whole
        c = d - np.uint64(fro[i])
        high, middle, low = u[i], v[i], w[i]
        one = _between_four(table, a, b, c, d, high, middle, low)
        two = _between_four(table, a + _ONE, b + _ONE, c + _ONE, d + _ONE, high, middle, low)
        three = _between_four(table, a + _TWO, b + _TWO, c + _TWO, d + _TWO, high, middle, low)
        four = _between_four(
            table, a + _THREE, b + _THREE, c + _THREE, d + _THREE, high, middle, low
        )
        at = np.uint64(i) * _FOUR
        out[at] = one
        out[at + _ONE] = two
        out[at + _TWO] = three
        out[at + _THREE] = four


def _make_paper(mix: Any, bits: int) -> Any:
    eight_bit = bits == 8

    def to_paper(
        lightness: Any,
        lab: Any,
        lab_ring: int,
        width: int,
        rows: Any,
        count: int,
        numbers: Any,
        shaping: Any,
        shaping_n: int,
        table: Any,
        grid: Any,
        outputs: int,
        finish: Any,
        finish_n: int,
        scratch: Any,
        cell_scratch: Any,
        out: Any,
        out_stride: int,
        left: int,
        sheet_top: int,
        seed: int,
    ) -> None:
        """Sharpened L* and its a*, b* to paper codes, laid at `left` in rows of the sheet.

        The table has four values a node, whatever the number of outputs.
        """
        sharp = carray(lightness, (count * width,))
        source = carray(lab, (3 * lab_ring * width,))
        row = carray(rows, (count,))
        number = carray(numbers, (6,))
        curves = carray(shaping, (3 * shaping_n,))
        after = carray(finish, (outputs * finish_n,))
        nodes = carray(grid, (3,))
        su, sv = nodes[1] * nodes[2] * 4, nodes[2] * 4
        cells = carray(table, (nodes[0] * su,))
        codes = carray(out, (count * out_stride,))
        room = carray(scratch, (9 * TILE,))
        whole = carray(cell_scratch, (6 * TILE,))
        inked = room[5 * TILE : 9 * TILE]
        for r in range(count):
            x0 = 0
            while x0 < width:
                n = min(TILE, width - x0)
                cell, k = whole[:n], whole[TILE : TILE + n]
                coded, shaped = room[3 * TILE : 3 * TILE + n], room[4 * TILE : 4 * TILE + n]
                ink, dry = room[3 * TILE : 3 * TILE + n], room[4 * TILE : 4 * TILE + n]
                for axis in range(3):
                    share = room[axis * TILE : axis * TILE + n]
                    at = (axis * lab_ring + row[r]) * width + x0
                    plane = source[at : at + n]
                    if axis == 0:
                        plane = sharp[r * width + x0 : r * width + x0 + n]
                    scale, offset = number[axis], number[3 + axis]
                    last = f32(nodes[axis] - 1)
                    top = i32(nodes[axis] - 2)
                    jump = i32(su if axis == 0 else (sv if axis == 1 else 4))
                    if shaping_n > 2:
                        for i in range(n):
                            coded[i] = plane[i] * scale + offset
                        curve = curves[axis * shaping_n : (axis + 1) * shaping_n]
                        read_curve(coded, shaped, curve, cell, n)
                    else:
                        for i in range(n):
                            shaped[i] = held(plane[i] * scale + offset)
                    for i in range(n):
                        place = shaped[i] * last
                        low = i32(place)
                        low = low if low < top else top
                        share[i] = place - f32(low)
                        cell[i] = low
                    if axis == 0:
                        for i in range(n):
                            k[i] = cell[i] * jump
                    else:
                        for i in range(n):
                            k[i] += cell[i] * jump
                u, v, w = room[:n], room[TILE : TILE + n], room[2 * TILE : 2 * TILE + n]
                mix(cells, su, sv, u, v, w, k, whole[2 * TILE :], inked, n)
                for c in range(outputs):
                    mixed = inked[c:]
                    for i in range(n):
                        ink[i] = mixed[i * 4]
                    code = whole[(2 + c) * TILE : (2 + c) * TILE + n]
                    if finish_n > 2:
                        read_curve(ink, dry, after[c * finish_n : (c + 1) * finish_n], cell, n)
                    else:
                        for i in range(n):
                            dry[i] = max(ink[i], f32(0.0))
                    if eight_bit:
                        code_8(dry, code, n, left + x0, sheet_top + r, c, seed)
                    else:
                        code_16(dry, code, n)
                goal = codes[r * out_stride + (left + x0) * outputs :]
                lay(whole, goal, outputs, n)
                x0 += TILE

    return to_paper


# One kernel for each way to read the table, so that only the one that is needed is compiled.
paper_eight_u8, paper_eight_u16 = _make_paper(_trilinear, 8), _make_paper(_trilinear, 16)
paper_four_u8, paper_four_u16 = _make_paper(_tetrahedral, 8), _make_paper(_tetrahedral, 16)
