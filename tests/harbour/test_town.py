"""The town: sound geometry, boats that float, parts that stand where they should."""

import numpy as np
import pytest

from harbour.boats import BLUE_TARP, Boat, add_boat
from harbour.mesh import MeshBuilder
from harbour.scenes import SCENES, Scene
from harbour.surface import HULL, TARP

BOAT = Boat(
    length=6.0, beam=2.2, freeboard=0.6, tint=(0.7, 0.1, 0.01), masts=((0.2, 7.0),), cabin=1.5,
    cover=BLUE_TARP, sail=(0.6, 0.5, 0.4),
)  # fmt: skip


def test_a_boat_floats_and_keeps_its_measures() -> None:
    m = MeshBuilder()
    add_boat(m, BOAT, (0.0, 0.0), 0.0)
    mesh = m.build()
    hull = mesh.position[(mesh.material == HULL) & np.isclose(mesh.tint[:, 1], 0.1)]

    assert hull[..., 2].min() == pytest.approx(-0.5, abs=0.01)  # draught
    assert np.ptp(hull[..., 1]) == pytest.approx(2.2, rel=0.02)
    assert np.ptp(hull[..., 0]) == pytest.approx(6.0 * 1.06, rel=0.05)  # and the raked stem


def test_a_cover_lies_above_the_gunwale() -> None:
    m = MeshBuilder()
    add_boat(m, BOAT, (0.0, 0.0), 0.0)
    mesh = m.build()
    cover = mesh.position[mesh.material == TARP]

    assert cover[..., 2].max() > 0.6 + 0.3
    assert np.abs(cover[..., 1]).max() > 1.1  # and hangs over the side


@pytest.mark.parametrize("scene", SCENES, ids=lambda scene: scene.name)
def test_every_scene_is_sound(scene: Scene) -> None:
    m = MeshBuilder()
    scene.build(m)
    mesh = m.build()

    assert len({len(part) for part in mesh}) == 1
    assert all(np.isfinite(part).all() for part in mesh)
    assert mesh.tint.min() >= 0
    assert mesh.tint.max() < 1
    assert np.linalg.norm(mesh.normal, axis=-1).max() < 1.001
