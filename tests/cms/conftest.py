"""Profiles and tables that the tests of this room share."""

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

from firstsheet.cms.build import space_profile

PAPERS = Path(__file__).parents[2] / "src/firstsheet/data/papers"
PUBLISHED = Path(__file__).parent / "published"

Table = Callable[[str], list[dict[str, float]]]


@pytest.fixture(scope="session")
def papers() -> dict[str, bytes]:
    """The three demo papers by their surface."""
    return {path.name.split("_")[0]: path.read_bytes() for path in sorted(PAPERS.glob("*.icc"))}


@pytest.fixture(scope="session")
def srgb() -> bytes:
    return space_profile("srgb")


def _from_libvips(name: str) -> bytes:
    pyvips = pytest.importorskip("pyvips")
    try:
        return bytes(pyvips.Operation.call("profile_load", name))
    except pyvips.Error:
        pytest.skip(f"this libvips carries no profile {name}")


@pytest.fixture(scope="session")
def press() -> bytes:
    """A CMYK output profile in the public domain, with its measurements inside."""
    return _from_libvips("cmyk")


@pytest.fixture(scope="session")
def libvips_srgb() -> bytes:
    """A version 4 sRGB profile of 480 bytes."""
    return _from_libvips("srgb")


@pytest.fixture(scope="session")
def published() -> Table:
    """Read a table of published numbers by its file name."""

    def read(name: str) -> list[dict[str, float]]:
        lines = (PUBLISHED / name).read_text().splitlines()
        assert lines[0].startswith("# source: "), "a published table must name its source"
        rows = csv.DictReader(line for line in lines if not line.startswith("#"))
        return [{key: float(value) for key, value in row.items()} for row in rows]

    return read
