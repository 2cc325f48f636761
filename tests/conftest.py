"""What all tests share: the same examples every time, no clock, a second opinion on colour."""

import warnings
from typing import Any

import numpy as np
import pytest
from hypothesis import settings

settings.register_profile("steady", deadline=None, derandomize=True)
settings.load_profile("steady")


@pytest.fixture(scope="session")
def colour_science() -> Any:
    """The colour-science library; its import warns, and changes how NumPy prints numbers."""
    options = np.get_printoptions()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    np.set_printoptions(**options)
    return colour
