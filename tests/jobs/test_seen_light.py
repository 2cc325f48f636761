"""A print's light is averaged whichever way its rows come, and bands of it are as of one piece."""

from __future__ import annotations

import numpy as np
import pytest

from firstsheet.engine.sharpness.viewing_filter import seen_part
from firstsheet.jobs.viewing_light import BAND_ROWS, PrintLight, RowsInMemory


@pytest.mark.parametrize("eye", [False, True])
def test_bands_join_without_a_seam(eye: bool) -> None:
    """Noise shows every seam; the whole at once has none."""
    light = np.random.default_rng(3).random((2 * BAND_ROWS + 150, 90, 3)).astype(np.float32)
    kept = RowsInMemory(90, len(light))
    for top in (700, 0, 350):  # rows come in any order
        kept.write(top, light[top : top + (350 if top < 700 else len(light))])
    step, distance_mm = 4, 1500.0
    pitch_mm = step * 25.4 / 360
    bands = PrintLight(
        kept=kept, width_px=90, height_px=len(light), step=step, pitch_mm=pitch_mm,
        spread_mm=0.045, distance_mm=distance_mm,
    )  # fmt: skip
    joined = np.concatenate([bands.band(*rows, eye=eye) for rows in bands.bands()])
    far = 300
    whole = seen_part(
        np.pad(light.astype(np.float64), ((far, far), (far, far), (0, 0)), mode="edge"),
        margin_px=far, pitch_mm=pitch_mm, spread_mm=0.045, averaged=step,
        distance_mm=distance_mm if eye else None,
    )  # fmt: skip
    assert joined.shape == light.shape
    assert np.abs(joined - whole).max() < 2e-4  # half a step of 8 bits at the darkest
