"""What the camera sees, against the geometry of a pinhole."""

from typing import Any

import numpy as np
import pytest

from harbour.mesh import Mesh, MeshBuilder, frame_along
from harbour.raster import Camera, edges_seen, height_map, seen
from harbour.surface import BRICK, STONE

CAMERA = Camera(at=(0.0, 0.0, 2.0), heading=0.0, focal=1.0, rise=0.5, width_px=400, height_px=300)


def look(m: MeshBuilder, *, mirrored: bool = False, camera: Camera = CAMERA) -> tuple[Mesh, Any]:
    mesh = m.build()
    edges = edges_seen(mesh, camera, mirrored=mirrored)
    index = np.full((camera.height_px, camera.width_px), -1, np.int32)
    near = np.zeros(index.shape, np.float32)
    seen(edges.edge, edges.box, edges.z, edges.number, 0, mirrored, index, near)
    return mesh, index


def wall(m: MeshBuilder, y: float, wide: float, high: float, material: int = BRICK) -> None:
    m.quad((-wide / 2, y, 2 - high / 2), (wide, 0, 0), (0, 0, high), material, (1, 1, 1))


def test_a_wall_covers_the_pixels_of_its_angle() -> None:
    m = MeshBuilder()
    wall(m, 10.0, 4.0, 2.0)  # f = 400 px: 160 by 80 px

    _, index = look(m)

    assert (index >= 0).sum() == pytest.approx(160 * 80, rel=0.01)
    rows, columns = np.nonzero(index >= 0)
    assert (rows.mean(), columns.mean()) == pytest.approx((149.5, 199.5), abs=0.3)


def test_the_nearer_wall_hides_the_farther() -> None:
    m = MeshBuilder()
    wall(m, 20.0, 30.0, 30.0, STONE)
    wall(m, 10.0, 4.0, 2.0, BRICK)

    mesh, index = look(m)

    assert mesh.material[index[150, 200]] == BRICK
    assert mesh.material[index[150, 50]] == STONE


def test_what_is_behind_is_not_seen_and_a_floor_reaches_the_feet() -> None:
    m = MeshBuilder()
    wall(m, -5.0, 50.0, 50.0)
    m.quad((-50, -50, 0), (100, 0, 0), (0, 1000, 0), STONE, (1, 1, 1))

    _, index = look(m)

    assert (index[:149] == -1).all()
    assert (index[170:] >= 0).all()


def test_the_mirrored_view_shows_what_stands_above_the_water_upside_down() -> None:
    m = MeshBuilder()
    m.quad((-1, 10, -3), (2, 0, 0), (0, 0, 7), BRICK, (1, 1, 1))  # from 3 m under to 4 m above

    _, index = look(m, mirrored=True)
    rows = np.flatnonzero((index >= 0).any(axis=1))

    # waterline 2 m below the eye at 10 m: 80 px below the middle; mirrored top 6 m: 240 px
    assert rows[0] == pytest.approx(150 + 80, abs=1)
    assert rows[-1] == 299  # cut off by the frame


def test_bands_show_what_the_whole_shows() -> None:
    m = MeshBuilder()
    wall(m, 10.0, 4.0, 2.0)
    mesh, whole = look(m)
    edges = edges_seen(mesh, CAMERA)
    part = np.full((40, 400), -1, np.int32)
    seen(
        edges.edge, edges.box, edges.z, edges.number, 130, False, part,
        np.zeros(part.shape, np.float32),
    )  # fmt: skip

    assert (part == whole[130:170]).all()


def test_a_height_map_holds_the_highest_surface() -> None:
    m = MeshBuilder()
    m.box((-1, -1, 0), (1, 1, 3), BRICK, (1, 1, 1))
    m.quad((-4, -4, 1), (8, 0, 0), (0, 8, 0), STONE, (1, 1, 1))
    cells = np.full((100, 100), -1e9, np.float32)

    frame = np.ascontiguousarray(np.stack(frame_along((0, 0, 1))))
    height_map(m.build().position, frame, np.zeros(3), 10.0, cells)

    assert cells[50, 50] == pytest.approx(3.0)
    assert cells[15, 15] == pytest.approx(1.0)
    assert cells[2, 2] == pytest.approx(-1e9)
    assert (cells == 3.0).sum() == pytest.approx(20 * 20, rel=0.1)


def test_an_edge_that_is_all_but_level_ends_the_row() -> None:
    """It meets the row 10^25 px off, left of the picture: nothing is drawn, and it ends."""
    edge = np.array([[-1e-25, 0.0, -1.0, 0.0, 0.0, 1.0, 0.0, 0.0, 1.0]])
    box = np.array([[5, 0, 60, 4]], np.int32)
    index, near = np.full((4, 64), -1, np.int32), np.zeros((4, 64), np.float32)

    seen(edge, box, np.ones((1, 3)), np.zeros(1, np.int32), 0, False, index, near)

    assert (index == -1).all()
