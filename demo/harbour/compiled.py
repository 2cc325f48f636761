"""One way of compiling the loops of this room: kept on disk, free of the interpreter's lock."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

import numba as nb

__all__ = ["compiled", "compiled_as"]

_HOW = {"cache": True, "nogil": True, "fastmath": True, "error_model": "numpy"}
Function = TypeVar("Function", bound=Callable[..., object])


def compiled(function: Function) -> Function:
    """Compile when first called, and keep the result for the next run."""
    result: Function = nb.njit(**_HOW)(function)
    return result


def compiled_as(signature: str) -> Callable[[Function], Function]:
    """Compile for one signature only; else every number written in a call makes another copy."""

    def decorate(function: Function) -> Function:
        result: Function = nb.njit(signature, **_HOW)(function)
        return result

    return decorate
