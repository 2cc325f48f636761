"""What all tests share: the same examples every time, no clock, a second opinion on colour."""

import subprocess
import warnings
from collections.abc import Callable, Iterator
from pathlib import Path
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
        import colour.blindness
    np.set_printoptions(**options)
    return colour


@pytest.fixture(scope="session")
def reference_spaces(colour_science: Any) -> dict[str, Any]:
    """The working spaces as colour-science holds them, by their CSS keyword."""
    spaces = colour_science.RGB_COLOURSPACES
    op_rgb = [[0.64, 0.33], [0.21, 0.71], [0.15, 0.06]]  # primaries of IEC 61966-2-5
    return {
        "srgb": spaces["sRGB"],
        "display-p3": spaces["Display P3"],
        "a98-rgb": next(one for one in spaces.values() if np.allclose(one.primaries, op_rgb)),
        "prophoto-rgb": spaces["ROMM RGB"],
    }


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Callable[[int], Path]]:
    """Mounts a disk of so many MB, which only root can, and gives its place."""
    place = tmp_path / "small"

    def mounted(megabytes: int) -> Path:
        place.mkdir()
        mount = ["mount", "-t", "tmpfs", "-o", f"size={megabytes}m", "tmpfs", str(place)]
        try:
            done = subprocess.run(mount, capture_output=True, check=False).returncode == 0
        except FileNotFoundError:
            done = False
        if not done:
            pytest.skip("a small disk can only be mounted by root")
        return place

    yield mounted
    if place.is_mount():
        subprocess.run(["umount", str(place)], check=True)
