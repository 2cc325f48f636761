"""Benchmarks are scripts that lie beside each other: found here as they find themselves."""

from __future__ import annotations

import importlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from firstsheet.cms.chain import Chain, build_chain

ROOT = Path(__file__).parents[2]
PAPERS = ROOT / "src/firstsheet/data/papers"


@pytest.fixture(scope="session")
def script() -> Callable[[str], Any]:
    """A module of the benchmarks by its name."""

    def found(name: str) -> Any:
        with pytest.MonkeyPatch.context() as patch:
            patch.syspath_prepend(str(ROOT / "benchmarks"))
            return importlib.import_module(name)

    return found


@pytest.fixture(scope="session", params=["glossy", "matte", "newsprint"])
def paper_chain(request: pytest.FixtureRequest) -> Chain:
    """Each demo paper, asked for what it shows: relative colorimetric, black left alone."""
    (path,) = PAPERS.glob(f"{request.param}*.icc")
    return build_chain(
        source_profile=b"",
        colour_model="lab",
        paper_profile=path.read_bytes(),
        intent="relative",
        black_point=False,
    )


@pytest.fixture(scope="session")
def wide_colours() -> Any:
    """Colours of Display P3 all over its cube, and its greys, CIELAB (n, 3)."""
    from firstsheet.engine.colour.lab import xyz_to_lab
    from firstsheet.engine.colour.spaces import SPACES

    axis = np.linspace(0.0, 1.0, 13)
    cube = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1).reshape(-1, 3)
    return xyz_to_lab(SPACES["display-p3"].to_xyz_d50(cube))
