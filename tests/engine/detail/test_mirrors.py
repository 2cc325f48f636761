"""Mirror images are found at their rate; noise, blocks and a single axis leave none."""

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from firstsheet.engine.detail.mirrors import Mirror, MirrorTrace, mirror_of, mirror_trace
from firstsheet.engine.detail.survey import choose_tiles

Floats = NDArray[np.float64]


def _traces(plane: Floats) -> tuple[MirrorTrace, MirrorTrace]:
    height, width = plane.shape
    light = plane.astype(np.float32)
    strips = choose_tiles(width, height, lambda t, b, le, r: light[t:b, le:r]).strips
    return mirror_trace(strips, width, down=False), mirror_trace(strips, height, down=True)


def _noise(height: int, width: int, seed: int = 1) -> Floats:
    return 50 + 8 * np.random.default_rng(seed).standard_normal((height, width))


def _enlarged(old: Floats, width: int, height: int) -> Floats:
    """Pillow's own, not ours."""
    picture = Image.fromarray(old.astype(np.float32))
    return np.asarray(picture.resize((width, height), Image.Resampling.BICUBIC), dtype=np.float64)


def _found(plane: Floats) -> Mirror:
    found = mirror_of(*_traces(plane))
    assert found is not None
    return found


@pytest.mark.parametrize(("old", "new"), [(160, 384), (208, 384), (130, 500)])
def test_what_an_enlargement_mirrors_is_found_at_the_old_pixels_rate(old: int, new: int) -> None:
    found = _found(_enlarged(_noise(old, old), new, new))

    assert found.rate == pytest.approx(old / new, rel=0.005)
    assert found.strength > 100
    assert found.likeness > 0.5


def test_noise_has_no_mirror_images() -> None:
    across, down = _traces(_noise(384, 512))
    found = mirror_of(across, down)

    assert found is None or found.strength < 12
    assert np.median(across.likeness) < 0.02


def test_each_axis_tells_its_own_rate() -> None:
    across, down = _traces(_enlarged(_noise(200, 160), 384, 384))

    assert across.rate[across.strength.argmax()] == pytest.approx(160 / 384, rel=0.01)
    assert down.rate[down.strength.argmax()] == pytest.approx(200 / 384, rel=0.01)
    shared = mirror_of(across, down)
    assert shared is None or shared.strength < 12


def test_blocks_of_eight_speak_at_the_eighths_and_nowhere_else() -> None:
    rng = np.random.default_rng(4)
    blocks = np.kron(rng.standard_normal((48, 64)), np.ones((8, 8)))
    across, down = _traces(_noise(384, 512) + 12 * blocks)
    found = mirror_of(across, down)

    assert found is None or found.strength < 12
    assert np.abs(across.eighths[3]) > 0.1


def test_where_a_strip_lies_does_not_matter() -> None:
    plane = _enlarged(_noise(300, 300), 700, 700)
    first, second = (_found(plane[by:, by:]) for by in (0, 5))

    assert first.rate == pytest.approx(second.rate, rel=0.005)
    assert first.likeness == pytest.approx(second.likeness, rel=0.15)
