"""Volumes of colour, and points spread evenly."""

import numpy as np
import pytest

from firstsheet.cms.build import space_profile
from firstsheet.cms.chain import Chain, build_chain
from firstsheet.cms.gamut import even_points, gamut_volume

# Source: convex hulls by SciPy over an 18x18x18 grid, Little CMS 2.14, media-relative D50
HULLS = {"srgb": 905_661, "a98-rgb": 1_281_948, "prophoto-rgb": 3_091_647}


def relative(source: bytes, paper: bytes) -> Chain:
    return build_chain(
        source_profile=source, colour_model="rgb", paper_profile=paper,
        intent="relative", black_point=False,
    )  # fmt: skip


@pytest.mark.published
@pytest.mark.parametrize("name", sorted(HULLS))
def test_the_hull_of_a_working_space(name: str) -> None:
    spatial = pytest.importorskip("scipy.spatial")
    axis = np.linspace(0, 1, 18)
    grid = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), -1).reshape(-1, 3)
    data = space_profile(name)
    lab = relative(data, data).wanted_lab(grid)
    assert spatial.ConvexHull(lab).volume == pytest.approx(HULLS[name], rel=0.01)


def test_working_spaces_stand_in_order_and_inside_their_hulls() -> None:
    volumes = {}
    for name in HULLS:
        data = space_profile(name)
        volumes[name] = gamut_volume(relative(data, data))
    assert volumes["srgb"] < volumes["a98-rgb"] < volumes["prophoto-rgb"]
    for name, hull in HULLS.items():  # a hull overstates a hollow shape
        assert 0.7 * hull < volumes[name] <= hull


def test_papers_stand_in_order(papers: dict[str, bytes], srgb: bytes) -> None:
    newsprint, matte, glossy = (
        gamut_volume(relative(srgb, papers[name])) for name in ("newsprint", "matte", "glossy")
    )
    assert newsprint < matte < glossy


@pytest.mark.published
def test_a_press_gamut_lies_a_little_inside_the_hull_of_its_measurements(
    press: bytes, srgb: bytes
) -> None:
    # Hull of the 2,376 measured, absolute colours: 447,675. Relative to the white the same
    # colours span (XYZ of D50 / XYZ of white) a little more, the hollow sides take more away.
    assert 0.85 * 447_675 < gamut_volume(relative(srgb, press)) < 1.05 * 447_675


def test_a_known_shape_has_its_volume() -> None:
    from firstsheet.cms.gamut import _signed_volume

    axis = np.linspace(0, 1, 5)
    cube = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), -1)
    assert _signed_volume(cube * (10, 20, 30)) == pytest.approx(6000)
    assert _signed_volume(cube[..., ::-1] * 10) == pytest.approx(-1000)  # mirrored
    sheared = cube @ np.array([[1.0, 0, 0], [0.7, 1, 0], [0.2, 0.5, 1]])
    assert _signed_volume(sheared) == pytest.approx(1.0)
    folded = np.abs(cube - 0.5) + 0.5  # every point of an octant is covered 4 times each way
    assert _signed_volume(folded) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("dimensions", [1, 3, 4])
def test_even_points_fill_the_cube_evenly(dimensions: int) -> None:
    points = even_points(20_000, dimensions)
    assert points.shape == (20_000, dimensions)
    assert points.min() >= 0
    assert points.max() < 1
    assert points.mean(axis=0) == pytest.approx(np.full(dimensions, 0.5), abs=2e-3)
    cells = np.unique((points * 5).astype(int) @ 5 ** np.arange(dimensions), return_counts=True)[1]
    assert len(cells) == 5**dimensions
    assert cells.max() / cells.min() < 1.6
    assert np.array_equal(points, even_points(20_000, dimensions))
