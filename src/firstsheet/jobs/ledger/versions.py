"""Versions of the parts that a print's pixels depend on.

Tests: tests/jobs/ledger/test_remember.py.
"""

from __future__ import annotations

import platform
from collections.abc import Mapping
from importlib.metadata import PackageNotFoundError, version

from firstsheet import __version__

__all__ = ["part_versions"]

_PARTS = (
    "imagecodecs",
    "llvmlite",
    "numba",
    "numpy",
    "pillow",
    "pyvips",
    "pyvips-binary",
    "tifffile",
)


def part_versions() -> Mapping[str, str]:
    """Name and version of the program, the interpreter and each library that touches pixels."""
    import imagecodecs

    found = {
        "firstsheet": __version__,
        "python": platform.python_version(),
        "machine": f"{platform.system()} {platform.machine()}",
        "little-cms": imagecodecs.cms_version(),
    }
    for name in _PARTS:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "unknown"
    return dict(sorted(found.items()))
