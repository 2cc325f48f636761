"""What the regions mean for a print, as findings."""

from __future__ import annotations

import numpy as np

from firstsheet.engine.loss.regions.find import find_regions, wanted_cells
from firstsheet.engine.loss.regions.findings import region_findings
from firstsheet.engine.loss.regions.neutral import file_tone, grey_axis
from firstsheet.engine.records.losses import PictureLosses


def losses(kept: float, *, white_rows: int = 0) -> PictureLosses:
    wanted = np.empty((240, 400, 3))
    wanted[:] = (40.0, 10.0, -45.0)
    wanted[..., 0] += np.random.default_rng(3).normal(0.0, 3.0, wanted.shape[:2])
    wanted[:white_rows] = (100.0, 0.0, 0.0)
    printed = wanted.copy()
    part = printed[white_rows:]
    mean = part.mean(axis=(0, 1))
    printed[white_rows:] = mean + kept * (part - mean)
    cells = wanted_cells(wanted, mm_per_px=0.35, distance_mm=500.0)
    return find_regions(cells, printed, floor_de00=1.0, black_l=0.0).losses


def test_nothing_truly_lost_is_said_plainly() -> None:
    (one,) = region_findings(losses(1.0))

    assert (one.code, one.weight) == ("nothing-truly-lost", "fine")
    assert one.found.startswith("Nothing to do")


def test_a_region_that_loses_is_named_with_two_ways_on() -> None:
    (one,) = region_findings(losses(0.3))

    assert (one.code, one.weight) == ("regions-lose", "caution")
    assert "only 30 % of the tonal separation survives" in one.found
    assert len(one.choices) == 2
    assert one.figures["places"] == 1


def test_an_edge_that_melts_is_told_in_centimetres_by_side() -> None:
    found = region_findings(losses(1.0, white_rows=1))
    (one,) = [each for each in found if each.code == "edge-melts"]

    assert one.found.startswith("14 cm of the top edge will print as white as the paper")
    assert "left" not in one.found


def test_greys_that_drift_are_told_for_black_and_white_only() -> None:
    ramp = np.zeros((256, 3))
    ramp[:, 0] = np.linspace(0.0, 100.0, 256)
    axis = grey_axis(ramp, ramp + np.array([0.0, 0.0, 2.0]))
    coloured = ramp.copy()
    coloured[::3, 1] = 40.0
    codes = [
        [one.code for one in region_findings(losses(1.0), tone=file_tone(lab), axis=axis)][1:]
        for lab in (ramp, coloured)
    ]

    assert codes == [["greys-drift"], []]
    stays = region_findings(losses(1.0), tone=file_tone(ramp), axis=grey_axis(ramp, ramp))
    assert stays[1].code == "greys-stay"
