"""One way of compiling the loops of this room: kept on disk, free of the interpreter's lock."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

import numba as nb

__all__ = ["compiled"]

Function = TypeVar("Function", bound=Callable[..., object])


def compiled(function: Function) -> Function:
    """Compile when first called, and keep the result for the next run."""
    result: Function = nb.njit(cache=True, nogil=True, fastmath=True)(function)
    return result
