"""What all kernels share: block sizes, short names of types, the curve reader."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import numpy as np
from numba import njit, types

__all__ = ["LANES", "TILE", "f32", "held", "i32", "i64", "inline", "read_curve", "signature"]


from firstsheet.pixels.arguments import LANES, TILE

f32 = np.float32
i32 = np.int32
i64 = np.int64

_Function = TypeVar("_Function", bound=Callable[..., Any])


def inline(function: _Function) -> _Function:
    """Compile a helper that kernels call."""
    made: _Function = njit(error_model="numpy", no_cpython_wrapper=True, no_cfunc_wrapper=True)(
        function
    )
    return made


_KINDS = {
    "b": types.CPointer(types.uint8),
    "h": types.CPointer(types.uint16),
    "f": types.CPointer(types.float32),
    "i": types.CPointer(types.int32),
    "q": types.CPointer(types.int64),
    "n": types.int64,
}


def signature(letters: str) -> Any:
    """Signature of a kernel: b h f i q are addresses of u8 u16 f32 i32 i64, n is a count."""
    return types.void(*(_KINDS[letter] for letter in letters))


@inline
def held(value: Any) -> Any:
    """The value, held to 0..1; written so that it becomes two vector instructions."""
    value = value if value > f32(0.0) else f32(0.0)
    return value if value < f32(1.0) else f32(1.0)


@inline
def read_curve(values: Any, out: Any, table: Any, cell: Any, m: int) -> None:
    """Read an even table over 0..1 linearly; values outside are held. `out` is another array."""
    last = table.shape[0] - 1
    top = i32(last - 1)
    for i in range(m):
        place = held(values[i]) * f32(last)
        whole = i32(place)
        whole = whole if whole < top else top
        cell[i] = whole
        out[i] = place - f32(whole)
    for i in range(m):
        k = np.uint64(cell[i])  # unsigned, so that no index from the end is looked for
        low = table[k]
        out[i] = low + out[i] * (table[k + np.uint64(1)] - low)
