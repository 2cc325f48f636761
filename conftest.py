"""For all tests and doctests: numbers printed as NumPy prints them, and a ledger of their own.

The colour library that serves as second opinion changes NumPy's way to print when it is imported,
and which tests share a process with it is left to chance. Prints made by tests are never written
into the ledger of whoever runs them; processes started by tests inherit that.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path

import numpy as np
import pytest

_LEDGERS = pytest.StashKey[Path]()


def pytest_configure(config: pytest.Config) -> None:
    """Name a ledger that only this run of tests writes to."""
    folder = Path(tempfile.mkdtemp(prefix="firstsheet-ledger-"))
    config.stash[_LEDGERS] = folder
    os.environ["FIRSTSHEET_LEDGER"] = str(folder / "ledger.sqlite3")
    os.environ["FIRSTSHEET_MEASUREMENTS"] = "off"  # each test measures for itself


def pytest_unconfigure(config: pytest.Config) -> None:
    """Remove it."""
    if _LEDGERS in config.stash:
        shutil.rmtree(config.stash[_LEDGERS], ignore_errors=True)


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup() -> None:
    """Put NumPy's own way to print back before each test."""
    np.set_printoptions(legacy=False)
