"""Materials: colours that can exist, relief that fades, bricks of a brick's size."""

import numpy as np
import pytest

from harbour import surface as s
from harbour.surface import surface

TINT = (0.33, 0.105, 0.055)
NONE = (0.0,) * 6
WINDOWS = (2.2, 3.0, 1.05, 1.65, 0.6, 1.0)
AHEAD = (0.0, 0.0, 1.0)
MATERIALS = [getattr(s, name) for name in s.__all__ if name.isupper() and name != "WATER"]


def look(
    material: int,
    u: float,
    v: float,
    *,
    extra: tuple[float, ...] = NONE,
    pixel: float = 0.001,
    view: tuple[float, float, float] = AHEAD,
    sun: tuple[float, float, float] = AHEAD,
) -> tuple[float, ...]:
    return surface(material, u, v, v, TINT, extra, view, sun, pixel)


@pytest.mark.parametrize("material", MATERIALS)
def test_every_material_gives_light_that_can_exist(material: int) -> None:
    rng = np.random.default_rng(2)
    values = np.array(
        [look(material, *rng.uniform(0.0, 8.0, 2), extra=WINDOWS) for _ in range(300)]
    )

    assert np.isfinite(values).all()
    assert values[:, :3].max() < 1.3
    assert values[:, :3].min() > -0.02
    assert ((values[:, 5:] >= 0) & (values[:, 5:] <= 1)).all()


def test_bricks_are_225_by_75_mm() -> None:
    v = np.arange(0, 3, 0.0005)
    mortar = np.array([look(s.BRICK, 0.06, a)[2] for a in v]) > 0.15
    joints = np.flatnonzero(np.diff(mortar.astype(int)) == 1) * 0.0005

    assert np.median(np.diff(joints)) == pytest.approx(0.075, abs=0.003)


def test_relief_finer_than_a_pixel_is_left_out() -> None:
    u = np.linspace(0, 2, 400)
    near = np.array([look(s.STONE, a, 0.9, pixel=0.001)[3] for a in u])
    far = np.array([look(s.STONE, a, 0.9, pixel=0.10)[3] for a in u])

    assert far.std() < 0.2 * near.std()


def test_windows_are_recessed() -> None:
    glass = look(s.BRICK, 0.6 + 0.3, 1.0 + 0.3, extra=WINDOWS)
    edge = (0.6 + 0.02, 1.0 + 0.3)
    from_right = look(s.BRICK, *edge, extra=WINDOWS, view=(0.7, 0.0, 0.7))
    from_left = look(s.BRICK, *edge, extra=WINDOWS, view=(-0.7, 0.0, 0.7))

    assert glass[5] > 0.5  # shines
    assert from_right[5] < 0.1  # the reveal is seen, brick
    assert from_left[6] == 1.0


def test_a_low_sun_leaves_the_glass_behind_the_reveal_in_shade() -> None:
    at = (0.6 + 0.08, 1.0 + 0.3)

    assert look(s.BRICK, *at, extra=WINDOWS, sun=(-0.95, 0.0, 0.3))[6] == 0.0
    assert look(s.BRICK, *at, extra=WINDOWS, sun=(0.0, 0.0, 1.0))[6] == 1.0
