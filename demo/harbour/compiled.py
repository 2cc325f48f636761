"""How the loops of this package run: compiled, kept on disk, side by side without the lock."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import TypeVar

import numba as nb

__all__ = ["THREADS", "compiled", "compiled_as"]

THREADS = os.cpu_count() or 2
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
