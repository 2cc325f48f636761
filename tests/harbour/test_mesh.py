"""Surfaces in space: areas, directions, metres along a surface."""

import numpy as np
import pytest

from harbour.mesh import Mesh, MeshBuilder, frame_along
from harbour.surface import BRICK


def area(mesh: Mesh) -> float:
    p = mesh.position.astype(float)
    cross = np.cross(p[:, 1] - p[:, 0], p[:, 2] - p[:, 0])
    return float(np.linalg.norm(cross, axis=-1).sum() / 2)


def test_a_box_has_the_area_of_a_box() -> None:
    m = MeshBuilder()
    m.box((1, 2, 3), (3, 5, 4), BRICK, (1, 1, 1))

    assert area(m.build()) == pytest.approx(2 * (2 * 3 + 2 * 1 + 3 * 1), rel=1e-6)


def test_a_fine_tube_has_the_area_of_a_cylinder() -> None:
    m = MeshBuilder()
    m.tube([[0, 0, 0], [0, 0, 4]], 0.5, BRICK, (1, 1, 1), sides=96)

    assert area(m.build()) == pytest.approx(np.pi * 4, rel=1e-3)


def test_a_turned_cone_has_the_area_of_a_cone() -> None:
    m = MeshBuilder()
    m.lathe((0, 0, 0), [(3, 0), (0, 4)], BRICK, (1, 1, 1), sides=128)

    assert area(m.build()) == pytest.approx(np.pi * 3 * 5, rel=1e-3)


def test_surface_coordinates_are_metres() -> None:
    m = MeshBuilder()
    m.quad((0, 0, 0), (0, 6, 0), (0, 0, 2.5), BRICK, (1, 1, 1))
    mesh = m.build()

    assert mesh.uv.max(axis=(0, 1)) == pytest.approx([6.0, 2.5])
    assert mesh.tangent[0] == pytest.approx(np.array([[0, 1, 0], [0, 0, 1]]), abs=1e-6)
    assert np.abs(mesh.normal) == pytest.approx(np.broadcast_to([1, 0, 0], (2, 3, 3)), abs=1e-6)


def test_placing_turns_lifts_and_shifts() -> None:
    m = MeshBuilder()
    m.lifted(2.0)
    m.place((10, 0, 0), np.pi / 2)
    m.quad((0, 0, 0), (1, 0, 0), (0, 0, 1), BRICK, (1, 1, 1))
    p = m.build().position.reshape(-1, 3)

    assert p.min(axis=0) == pytest.approx([10, 0, 2], abs=1e-6)
    assert p.max(axis=0) == pytest.approx([10, 1, 3], abs=1e-6)


def test_a_rope_hangs_through_by_its_sag() -> None:
    m = MeshBuilder()
    m.rope((0, 0, 5), (8, 0, 5), 0.001, 0.7, (1, 1, 1))

    assert m.build().position[..., 2].min() == pytest.approx(4.3, abs=0.01)


@pytest.mark.parametrize("direction", [(0, 0, 1), (1, 2, 3), (0, -1, 0), (0.1, 0, -9)])
def test_frames_are_square(direction: tuple[float, float, float]) -> None:
    frame = np.stack(frame_along(direction))

    assert frame @ frame.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(frame) == pytest.approx(1.0)
