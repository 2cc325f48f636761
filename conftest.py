"""For all tests and doctests: numbers are printed as NumPy prints them by itself.

The colour library that serves as second opinion changes NumPy's way to print when it is imported,
and which tests share a process with it is left to chance.
"""

from __future__ import annotations

import numpy as np
import pytest


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup() -> None:
    """Put NumPy's own way to print back before each test."""
    np.set_printoptions(legacy=False)
