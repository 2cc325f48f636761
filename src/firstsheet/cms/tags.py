"""The element types inside an ICC profile that this program reads.

Takes the bytes of one tag; gives curves, tables, colours and texts as plain data, float64,
0..1 unless said otherwise. Anything malformed raises `TagFault` with a sentence.
Theory: docs/theory/icc.md. Tests: tests/cms/test_cms_tags.py.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "LutTable",
    "TagFault",
    "ToneCurve",
    "read_curve",
    "read_lut",
    "read_text",
    "read_xyz",
]

Floats = NDArray[np.float64]
_PARAMETER_COUNTS = (1, 3, 4, 5, 7)
_MOST_CLUT_VALUES = 64_000_000
_MOST_CURVE = 1e4  # far beyond 0..1: such a curve would only carry damage along


class TagFault(ValueError):  # noqa: N818 - it is a fault of the file, told as a sentence
    """A tag that cannot be read, with the reason as a sentence."""


@dataclass(frozen=True, slots=True, eq=False)
class ToneCurve:
    """A one-dimensional curve: a formula of ICC.1 10.18, or a table of evenly spaced values."""

    function: int = 0  # parametricCurveType 0..4; ignored where `table` is given
    parameters: tuple[float, ...] = (1.0,)
    table: Floats | None = None

    def at(self, value: NDArray[np.floating] | float) -> Floats:
        """The curve's value; inputs are held to 0..1, as the format defines them."""
        x = np.clip(np.asarray(value, dtype=np.float64), 0.0, 1.0)
        if self.table is not None:
            return np.interp(x, np.linspace(0.0, 1.0, len(self.table)), self.table)
        with np.errstate(all="ignore"):  # absurd parameters are sorted out on reading
            return _parametric(self.function, self.parameters, x)

    def sampled(self, count: int) -> Floats:
        """The curve at `count` evenly spaced inputs."""
        return self.at(np.linspace(0.0, 1.0, count))

    @property
    def is_identity(self) -> bool:
        """True where the curve changes nothing (to half a 16-bit step)."""
        if self.table is None and self.function == 0:
            return abs(self.parameters[0] - 1.0) < 1e-6
        grid = np.linspace(0.0, 1.0, 257)
        return bool(np.max(np.abs(self.at(grid) - grid)) < 0.5 / 65535)

    @property
    def nodes(self) -> int:
        """Number of stored values; 0 for a formula."""
        return 0 if self.table is None else len(self.table)


def _parametric(function: int, parameters: tuple[float, ...], x: Floats) -> Floats:
    g, a, b, c, d, e, f = (*parameters, *(0.0,) * (7 - len(parameters)))
    if function == 0:
        return np.power(x, g)
    base = np.maximum(a * x + b, 0.0)
    if function in (1, 2):
        shift = c if function == 2 else 0.0
        # ICC.1 10.18: the power holds for X >= -b/a, that is for aX + b >= 0 (a > 0)
        return np.where(a * x + b >= 0, np.power(base, g) + shift, shift)
    if function == 3:
        return np.where(x >= d, np.power(base, g), c * x)
    return np.where(x >= d, np.power(base, g) + e, c * x + f)


@dataclass(frozen=True, slots=True, eq=False)
class LutTable:
    """A table between device and connection space, in the order it is applied.

    `mft1` and `mft2`: matrix, `before`, `clut`, `after`.
    `mAB `: `before` (A), `clut`, `middle` (M), matrix, `after` (B).
    `mBA `: `before` (B), matrix, `middle` (M), `clut`, `after` (A).
    """

    kind: str  # mft1, mft2, mAB or mBA
    inputs: int
    outputs: int
    before: tuple[ToneCurve, ...]
    clut: Floats | None  # (g0, g1, ..., outputs), 0..1
    after: tuple[ToneCurve, ...]
    matrix: Floats | None = None  # (3, 4); None when it is the identity
    middle: tuple[ToneCurve, ...] = ()


def read_xyz(data: bytes) -> Floats:
    """An XYZ tag: one or more rows of X, Y, Z."""
    if data[:4] != b"XYZ " or len(data) < 20:
        raise TagFault("is no XYZ value")
    count = (len(data) - 8) // 12
    return np.frombuffer(data, ">i4", count * 3, 8).reshape(count, 3) / 65536.0


def read_text(data: bytes) -> str:
    """The readable text of a `desc`, `text` or `mluc` tag; English where there is a choice."""
    kind = data[:4]
    if kind == b"text":
        return data[8:].split(b"\0")[0].decode("latin-1").strip()
    if kind == b"desc":
        if len(data) < 12:
            raise TagFault("ends before its text")
        (count,) = struct.unpack_from(">I", data, 8)
        return data[12 : 12 + min(count, 4096)].split(b"\0")[0].decode("latin-1").strip()
    if kind == b"mluc":
        return _read_mluc(data)
    raise TagFault("is no text")


def _read_mluc(data: bytes) -> str:
    if len(data) < 16:
        raise TagFault("ends before its text")
    count, size = struct.unpack_from(">II", data, 8)
    best = ""
    for index in range(min(count, 200)):
        at = 16 + index * max(size, 12)
        if at + 12 > len(data):
            break
        language, _country, length, offset = struct.unpack_from(">2s2sII", data, at)
        text = data[offset : offset + min(length, 8192)].decode("utf-16-be", "replace")
        text = text.split("\0")[0].strip()
        if language == b"en":
            return text
        best = best or text
    return best


def read_curve(data: bytes) -> ToneCurve:
    """One `curv` or `para` element that begins at the first byte."""
    return _curve_and_length(data, 0)[0]


def _curve_and_length(data: bytes, at: int) -> tuple[ToneCurve, int]:
    """A curve and the bytes it takes, without padding."""
    kind = data[at : at + 4]
    if len(data) < at + 12:
        raise TagFault("ends inside a curve")
    if kind == b"curv":
        (count,) = struct.unpack_from(">I", data, at + 8)
        if count > (len(data) - at - 12) // 2:
            raise TagFault(f"claims a curve of {count} values that are not there")
        if count == 0:
            return ToneCurve(), 12
        values = np.frombuffer(data, ">u2", count, at + 12)
        if count == 1:
            return ToneCurve(parameters=(float(values[0]) / 256.0,)), 14
        return ToneCurve(table=values / 65535.0), 12 + 2 * count
    if kind == b"para":
        (function,) = struct.unpack_from(">H", data, at + 8)
        if function >= len(_PARAMETER_COUNTS):
            raise TagFault(f"uses an unknown curve formula ({function})")
        count = _PARAMETER_COUNTS[function]
        if len(data) < at + 12 + 4 * count:
            raise TagFault("ends inside a curve")
        values = np.frombuffer(data, ">i4", count, at + 12) / 65536.0
        curve = ToneCurve(function, tuple(float(v) for v in values))
        if not (np.abs(curve.sampled(257)) < _MOST_CURVE).all():
            raise TagFault("holds a curve whose values are no numbers of use")
        return curve, 12 + 4 * count
    raise TagFault(f"holds {kind!r} where a curve should stand")


def read_lut(data: bytes) -> LutTable:
    """A `mft1`, `mft2`, `mAB ` or `mBA ` table."""
    if len(data) < 32:
        raise TagFault("ends before its table")
    if data[:4] in (b"mft1", b"mft2"):
        return _read_mft(data)
    if data[:4] in (b"mAB ", b"mBA "):
        return _read_m_table(data)
    raise TagFault(f"holds {data[:4]!r} where a table should stand")


def _check_grid(grid: tuple[int, ...], outputs: int) -> int:
    count = outputs
    for points in grid:
        if points < 2:
            raise TagFault("has a table with fewer than two points on one axis")
        count *= points
        if count > _MOST_CLUT_VALUES:
            raise TagFault("claims a table larger than any profile has")
    return count


def _read_mft(data: bytes) -> LutTable:
    inputs, outputs, points = data[8], data[9], data[10]
    if not (1 <= inputs <= 8 and 1 <= outputs <= 8):
        raise TagFault(f"claims {inputs} inputs and {outputs} outputs")
    wide = data[:4] == b"mft2"
    if wide:
        if len(data) < 52:
            raise TagFault("ends before its table")
        n_in, n_out = struct.unpack_from(">HH", data, 48)
        at, dtype, top = 52, ">u2", 65535.0
    else:
        n_in = n_out = 256
        at, dtype, top = 48, "u1", 255.0
    if n_in < 2 or n_out < 2:
        raise TagFault("has a curve with fewer than two values")
    grid = (points,) * inputs
    cells = _check_grid(grid, outputs)
    need = inputs * n_in + cells + outputs * n_out
    if len(data) < at + need * (2 if wide else 1):
        raise TagFault(f"holds {len(data)} bytes, fewer than its table needs")
    values = np.frombuffer(data, dtype, need, at) / top
    first = values[: inputs * n_in].reshape(inputs, n_in)
    last = values[inputs * n_in + cells :].reshape(outputs, n_out)
    matrix = np.zeros((3, 4))
    matrix[:, :3] = (np.frombuffer(data, ">i4", 9, 12) / 65536.0).reshape(3, 3)
    return LutTable(
        kind=data[:4].decode(),
        inputs=inputs,
        outputs=outputs,
        before=tuple(ToneCurve(table=row) for row in first),
        clut=values[inputs * n_in : inputs * n_in + cells].reshape(*grid, outputs),
        after=tuple(ToneCurve(table=row) for row in last),
        matrix=_real_matrix(matrix) if inputs == 3 else None,
    )


def _read_m_table(data: bytes) -> LutTable:
    inputs, outputs = data[8], data[9]
    if not (1 <= inputs <= 8 and 1 <= outputs <= 8):
        raise TagFault(f"claims {inputs} inputs and {outputs} outputs")
    to_pcs = data[:4] == b"mAB "
    b_at, matrix_at, m_at, clut_at, a_at = struct.unpack_from(">5I", data, 12)
    a_count, b_count = (inputs, outputs) if to_pcs else (outputs, inputs)
    b_curves = _curves_at(data, b_at, b_count) if b_at else _identity(b_count)
    m_curves = _curves_at(data, m_at, b_count) if m_at else ()
    a_curves = _curves_at(data, a_at, a_count) if a_at else _identity(a_count)
    matrix = None
    if matrix_at:
        if b_count != 3 or len(data) < matrix_at + 48:
            raise TagFault("has a matrix that does not fit")
        numbers = np.frombuffer(data, ">i4", 12, matrix_at) / 65536.0
        matrix = _real_matrix(np.column_stack([numbers[:9].reshape(3, 3), numbers[9:]]))
    clut = _m_clut(data, clut_at, inputs, outputs) if clut_at else None
    if clut is None and inputs != outputs:
        raise TagFault("has no table between different numbers of channels")
    return LutTable(
        kind=data[:4].decode().strip(),
        inputs=inputs,
        outputs=outputs,
        before=a_curves if to_pcs else b_curves,
        clut=clut,
        after=b_curves if to_pcs else a_curves,
        matrix=matrix,
        middle=() if all(curve.is_identity for curve in m_curves) else m_curves,
    )


def _identity(count: int) -> tuple[ToneCurve, ...]:
    return (ToneCurve(),) * count


def _curves_at(data: bytes, at: int, count: int) -> tuple[ToneCurve, ...]:
    curves = []
    for _ in range(count):
        curve, length = _curve_and_length(data, at)
        curves.append(curve)
        at += (length + 3) // 4 * 4
    return tuple(curves)


def _m_clut(data: bytes, at: int, inputs: int, outputs: int) -> Floats:
    if len(data) < at + 20:
        raise TagFault("ends before its table")
    grid = tuple(data[at : at + inputs])
    precision = data[at + 16]
    if precision not in (1, 2):
        raise TagFault(f"stores its table in {precision} bytes a value; 1 or 2 are defined")
    cells = _check_grid(grid, outputs)
    if len(data) < at + 20 + cells * precision:
        raise TagFault(f"holds {len(data)} bytes, fewer than its table needs")
    dtype, top = ("u1", 255.0) if precision == 1 else (">u2", 65535.0)
    return (np.frombuffer(data, dtype, cells, at + 20) / top).reshape(*grid, outputs)


def _real_matrix(matrix: Floats) -> Floats | None:
    """The matrix, or nothing where it is the identity (to half an s15Fixed16 step)."""
    return None if np.allclose(matrix, np.eye(3, 4), atol=0.5 / 65536, rtol=0) else matrix
