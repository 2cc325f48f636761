"""Source rows to output planes: first summed downwards, then across."""

from __future__ import annotations

from typing import Any

from numba import carray

from firstsheet.pixels.arguments import ROWS
from firstsheet.pixels.kernels.common import LANES, f32, i64, inline

__all__ = [
    "resample_horizontal",
    "resample_vertical_f32",
    "resample_vertical_u8",
    "resample_vertical_u16",
]

# ---- source rows, summed downwards -----------------------------------------------------------


@inline
def _decode_u8(codes: Any, out: Any, lut: Any, mode: int, channels: int) -> None:
    m = out.shape[0]
    if mode == 0:
        for i in range(m):
            out[i] = f32(codes[i]) * f32(1.0 / 255.0)
    elif mode == 1:
        for i in range(m):
            out[i] = lut[i64(codes[i]) * 257]
    else:
        for i in range(m):
            out[i] = lut[(i % channels) * 65536 + i64(codes[i]) * 257]


@inline
def _decode_u16(codes: Any, out: Any, lut: Any, mode: int, channels: int) -> None:
    m = out.shape[0]
    if mode == 0:
        for i in range(m):
            out[i] = f32(codes[i]) * f32(1.0 / 65535.0)
    elif mode == 1:
        for i in range(m):
            out[i] = lut[codes[i]]
    else:
        for i in range(m):
            out[i] = lut[(i % channels) * 65536 + i64(codes[i])]


@inline
def _decode_f32(codes: Any, out: Any, lut: Any, mode: int, channels: int) -> None:
    m = out.shape[0]
    for i in range(m):
        value = codes[i]
        if not value > f32(0.0):
            value = f32(0.0)
        if value > f32(1.0):
            value = f32(1.0)
        if mode == 0:
            out[i] = value
        else:
            place = value * f32(65535.0)
            k: Any = i64(min(place, f32(65534.0)))
            part = place - f32(k)
            base = k if mode == 1 else (i % channels) * 65536 + k
            out[i] = lut[base] + part * (lut[base + 1] - lut[base])


def _make_down(decode: Any) -> Any:
    def down(
        source: Any,
        s0: int,
        s1: int,
        stride: int,
        col0: int,
        n: int,
        first: Any,
        taps: int,
        weights: Any,
        o_low: int,
        o_high: int,
        sums: Any,
        ring: int,
        line: int,
        scratch: Any,
        tile: int,
        lut: Any,
        mode: int,
        channels: int,
    ) -> None:
        """Add source rows s0..s1 to the output lines o_low..o_high they belong to.

        Rows are added in groups of ROWS that begin at multiples of ROWS, so that a line is
        fetched and stored once a group, and so that its sum does not depend on where a band
        or a piece begins: rows a line has no use for count with weight 0.
        """
        rows = carray(source, (s1 - s0, stride))
        lines = carray(sums, (ring, line))
        f = carray(first, (o_high,))
        w = carray(weights, (o_high, taps))
        table = carray(lut, (65536 * 4,))
        room = carray(scratch, (ROWS * tile,))
        start = 0
        while start < n:
            m = min(tile, n - start)
            a, b = room[:m], room[tile : tile + m]
            c, d = room[2 * tile : 2 * tile + m], room[3 * tile : 3 * tile + m]
            low = o_low
            s = s0
            while s < s1:
                for k in range(min(ROWS, s1 - s)):
                    codes = rows[s + k - s0, col0 + start : col0 + start + m]
                    decode(codes, room[k * tile : k * tile + m], table, mode, channels)
                while low < o_high and i64(f[low]) + taps <= s:
                    low += 1
                o = low
                while o < o_high and i64(f[o]) < s + ROWS:
                    at = s - i64(f[o])  # of the group's first row among the line's weights
                    wa = w[o, at] if at >= 0 else f32(0.0)
                    wb = w[o, at + 1] if 0 <= at + 1 < taps else f32(0.0)
                    wc = w[o, at + 2] if 0 <= at + 2 < taps else f32(0.0)
                    wd = w[o, at + 3] if at + 3 < taps else f32(0.0)
                    total = lines[o % ring, start : start + m]
                    if at <= 0:
                        for i in range(m):
                            total[i] = (wa * a[i] + wb * b[i]) + (wc * c[i] + wd * d[i])
                    else:
                        for i in range(m):
                            total[i] += (wa * a[i] + wb * b[i]) + (wc * c[i] + wd * d[i])
                    o += 1
                s += ROWS
            start += tile

    return down


# ---- lines, summed across, into planes --------------------------------------------------------


def resample_horizontal(
    sums: Any,
    ring: int,
    n: int,
    lane_rows: Any,
    first: Any,
    taps: int,
    weights: Any,
    width: int,
    channels: int,
    room_in: Any,
    room_out: Any,
    tile: int,
    planes: Any,
    plane_ring: int,
    out_rows: Any,
    valid: int,
) -> None:
    """Turn LANES summed lines into planes of output width."""
    lines = carray(sums, (ring * n,))
    lanes = carray(lane_rows, (LANES,))
    f = carray(first, (width,))
    w = carray(weights, (width * taps,))
    out = carray(planes, (channels * plane_ring * width,))
    goal = carray(out_rows, (LANES,))
    group = LANES * channels
    x0 = 0
    while x0 < width:
        x1 = min(x0 + tile, width)
        low: Any = i64(f[x0])
        high: Any = i64(f[x0])
        for x in range(x0, x1):
            here = i64(f[x])
            low = here if here < low else low
            high = here if here > high else high
        span = (high + taps - low) * channels
        side = carray(room_in, (span * LANES,))
        for j in range(LANES):
            line = lines[lanes[j] * n + low * channels : lanes[j] * n + low * channels + span]
            column = side[j:]
            for i in range(span):
                column[i * LANES] = line[i]
        sums_out = carray(room_out, (tile * group,))
        for x in range(x1 - x0):
            total = sums_out[x * group : (x + 1) * group]
            at = (i64(f[x0 + x]) - low) * group
            share = w[(x0 + x) * taps : (x0 + x + 1) * taps]
            near, one = side[at : at + group], share[0]
            for j in range(group):
                total[j] = one * near[j]
            k = 1
            while k % 4 != taps % 4:
                near, one = side[at + k * group : at + (k + 1) * group], share[k]
                for j in range(group):
                    total[j] += one * near[j]
                k += 1
            while k < taps:
                one, two, three, four = share[k], share[k + 1], share[k + 2], share[k + 3]
                near = side[at + k * group : at + (k + 1) * group]
                next_1 = side[at + (k + 1) * group : at + (k + 2) * group]
                next_2 = side[at + (k + 2) * group : at + (k + 3) * group]
                next_3 = side[at + (k + 3) * group : at + (k + 4) * group]
                for j in range(group):
                    total[j] += (one * near[j] + two * next_1[j]) + (
                        three * next_2[j] + four * next_3[j]
                    )
                k += 4
        for c in range(channels):
            for j in range(valid):
                at = (c * plane_ring + goal[j]) * width + x0
                plane = out[at : at + x1 - x0]
                column = sums_out[c * LANES + j :]
                for x in range(x1 - x0):
                    plane[x] = column[x * group]
        x0 = x1


resample_vertical_u8 = _make_down(_decode_u8)
resample_vertical_u16 = _make_down(_decode_u16)
resample_vertical_f32 = _make_down(_decode_f32)
