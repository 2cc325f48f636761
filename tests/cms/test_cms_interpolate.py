"""Reading a table between its points."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstsheet.cms.interpolate import multilinear, tetrahedral

unit = st.floats(0.0, 1.0)


def random_table(*grid: int, outputs: int = 3) -> np.ndarray:
    return np.random.default_rng(3).random((*grid, outputs))


@pytest.mark.parametrize("grid", [(5, 6, 7), (4, 3, 5, 2), (9,)])
def test_multilinear_is_what_scipy_calls_linear(grid: tuple[int, ...]) -> None:
    interpolate = pytest.importorskip("scipy.interpolate")
    table = random_table(*grid)
    at = np.random.default_rng(4).random((400, len(grid)))
    axes = [np.linspace(0, 1, n) for n in grid]
    expected = interpolate.RegularGridInterpolator(axes, table)(at)
    assert multilinear(table, at) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("read", [multilinear, tetrahedral])
@pytest.mark.parametrize("inputs", [1, 3, 4])
def test_a_straight_function_is_read_exactly(read: object, inputs: int) -> None:
    assert callable(read)
    axes = np.meshgrid(*(np.linspace(0, 1, 4),) * inputs, indexing="ij")
    slopes = np.arange(1.0, inputs + 1)
    table = (np.stack(axes, -1) @ slopes)[..., None] + 0.5
    at = np.random.default_rng(5).random((200, inputs))
    assert read(table, at)[:, 0] == pytest.approx(at @ slopes + 0.5, abs=1e-12)


@pytest.mark.parametrize("read", [multilinear, tetrahedral])
def test_nodes_are_met_and_what_lies_outside_is_held(read: object) -> None:
    assert callable(read)
    table = random_table(3, 4, 5)
    assert read(table, [0.5, 1 / 3, 0.75]) == pytest.approx(table[1, 1, 3])
    assert read(table, [2.0, -1.0, 1.0]) == pytest.approx(table[2, 0, 4])


@given(unit, unit, unit)
def test_tetrahedral_follows_the_written_formula(x: float, y: float, z: float) -> None:
    # Kang, Computational Color Technology (2006), chapter 9: six cases by order of x, y, z
    t = random_table(2, 2, 2, outputs=1)[..., 0]
    steps = sorted([(x, 0), (y, 1), (z, 2)], key=lambda pair: -pair[0])
    at, value = [0, 0, 0], t[0, 0, 0]
    before = value
    for part, axis in steps:
        at[axis] = 1
        value += part * (t[tuple(at)] - before)
        before = t[tuple(at)]
    assert tetrahedral(t[..., None], [x, y, z])[0] == pytest.approx(value, abs=1e-12)


def test_along_the_grey_axis_tetrahedra_use_only_greys() -> None:
    table = random_table(9, 9, 9)
    greys = np.linspace(0, 1, 101)[:, None].repeat(3, axis=1)
    on_axis = table[range(9), range(9), range(9)]
    expected = np.stack(
        [np.interp(greys[:, 0], np.linspace(0, 1, 9), on_axis[:, i]) for i in range(3)], -1
    )
    assert tetrahedral(table, greys) == pytest.approx(expected, abs=1e-12)


def test_the_engine_reads_four_inputs_the_same_way(press: bytes) -> None:
    # Little CMS, floating point, against our own reading of the same A2B1 table
    from firstsheet.cms import lcms
    from firstsheet.cms.container import parse_profile
    from firstsheet.engine.colour.difference import delta_e_2000

    profile = parse_profile(press)
    table = profile.lut("A2B1")
    assert table.clut is not None
    ink = np.random.default_rng(6).random((3000, 4))
    shaped = np.stack([c.at(ink[:, i]) for i, c in enumerate(table.before)], -1)
    inside = tetrahedral(table.clut, shaped)
    coded = np.stack([c.at(inside[:, i]) for i, c in enumerate(table.after)], -1)
    ours = coded * np.array([65535 / 652.8, 65535 / 256, 65535 / 256]) - (0, 128, 128)
    theirs = lcms.to_lab(lcms.one_table_profile(profile, to_pcs="A2B1"), "CMYK", ink)
    assert delta_e_2000(ours, theirs).max() <= 0.02
