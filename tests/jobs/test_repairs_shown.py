"""repairs.png and what the job sheet shows of repairs: from the proof's own chain, whole or not."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import pyvips
from numpy.typing import NDArray
from planted import BOTTOM, LEFT, RIGHT, TOP  # type: ignore[import-not-found]  # found by pytest
from skimage.color import deltaE_ciede2000

from firstsheet.engine.errors import StoppedError
from firstsheet.jobs.planning.begin import wish_on_table
from firstsheet.jobs.proof import proof_print
from firstsheet.jobs.repair_views import repair_swatches

QUIET: Any = {"progress": lambda *_: None, "stop": lambda: None, "stocks_dir": None}
WISH = {"width": "100mm", "sharpen": "off", "stock": "harbour-gloss", "repair": "1"}


def lab_of(path: Path) -> NDArray[np.float64]:
    """A tagged PNG read by libvips and its own colour engine: Lab of each pixel."""
    image = pyvips.Image.new_from_file(str(path), fail_on="error")
    lab = image.icc_import(embedded=True, intent="relative", pcs="lab")
    return np.asarray(lab.numpy(), dtype=np.float64)


@pytest.fixture(scope="module")
def proofed(buoy: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("shown") / "proof"
    answer = proof_print(buoy, {**WISH, "proof_white": "screen"}, out=out, replace=False, **QUIET)
    assert answer.files == ("loss-map.png", "proof.png", "repairs.png")
    return out


@pytest.mark.slow
def test_before_and_after_show_the_place_in_the_colours_the_plan_tells(
    proofed: Path, buoy: Path
) -> None:
    # second opinion: libvips reads the file, scikit-image says how far colours lie apart
    with wish_on_table(buoy, WISH, **QUIET) as (_, _, prepared):
        (told,) = prepared.plan.repairs
    shown = lab_of(proofed / "repairs.png")
    whole = lab_of(proofed / "proof.png")
    plain = np.hypot(shown[..., 1], shown[..., 2]) > 15.0  # only the buoy is vivid
    columns = np.flatnonzero(plain.any(axis=0))
    starts = columns[np.flatnonzero(np.diff(columns, prepend=-99) > 30)]
    ends = columns[np.flatnonzero(np.diff(columns, append=10**6) > 30)]
    rows = np.flatnonzero(plain.any(axis=1))
    assert len(starts) == 3
    high = slice(int(rows[0]) + 20, int(rows[-1]) - 20)
    means = [
        shown[high, int(left) + 20 : int(right) - 20].mean(axis=(0, 1))
        for left, right in zip(starts, ends, strict=True)
    ]

    for mean, lab in zip(means[1:], (told.before_lab, told.after_lab), strict=True):
        assert float(deltaE_ciede2000(mean, np.array(lab))) < 2.5
    apart = [float(deltaE_ciede2000(means[0], one)) for one in means[1:]]
    assert min(apart) > 4.0  # what the file means is more vivid than either print
    times = shown[high, int(starts[2]) + 20]
    assert len(np.unique(times.round(3), axis=0)) > 1
    # the repaired one is cut out of proof.png: the same colours, pixel for pixel
    proof_vivid = np.hypot(whole[..., 1], whole[..., 2]) > 15.0
    where = np.argwhere(proof_vivid)
    top, left = where.min(axis=0)
    scale = (where.max(axis=0)[1] - left + 1) / (RIGHT - LEFT)
    core = whole[
        top + round(12 * scale) : top + round((BOTTOM - TOP - 12) * scale),
        left + round(12 * scale) : left + round((RIGHT - LEFT - 12) * scale),
    ]
    assert float(deltaE_ciede2000(core.mean(axis=(0, 1)), means[2])) < 0.7


@pytest.mark.slow
def test_the_picture_is_the_same_each_time_and_not_made_without_repairs(
    proofed: Path, buoy: Path, tmp_path: Path
) -> None:
    again = tmp_path / "again"
    proof_print(buoy, {**WISH, "proof_white": "screen"}, out=again, replace=False, **QUIET)
    bare = {key: value for key, value in WISH.items() if key != "repair"}
    answer = proof_print(buoy, bare, out=tmp_path / "bare", replace=False, **QUIET)

    assert (again / "repairs.png").read_bytes() == (proofed / "repairs.png").read_bytes()
    assert "repairs.png" not in answer.files


@pytest.mark.slow
def test_stopped_while_it_is_drawn_nothing_appears(
    buoy: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from firstsheet.jobs import repair_views as repairs_shown

    def stopped(*_given: Any) -> None:
        raise StoppedError("Stopped by you.", "Nothing is left.", "", "stopped")

    monkeypatch.setattr(repairs_shown, "_view", stopped)
    with pytest.raises(StoppedError):
        proof_print(buoy, WISH, out=tmp_path / "half", replace=False, **QUIET)

    assert not (tmp_path / "half").exists()


@pytest.mark.slow
def test_swatches_are_the_means_in_srgb(buoy: Path) -> None:
    # second opinion: Lab to sRGB by libvips
    with wish_on_table(buoy, WISH, **QUIET) as (_, _, prepared):
        (swatches,) = repair_swatches(prepared)
        (told,) = prepared.plan.repairs
    for rgb, lab in zip(swatches[1:], (told.before_lab, told.after_lab), strict=True):
        pixel = pyvips.Image.new_from_array([[0.0]]).new_from_image(list(lab))
        pixel = pixel.cast("float").copy(interpretation="lab")
        seen = pixel.icc_export(output_profile="srgb", intent="relative", depth=16).numpy()
        assert np.asarray(rgb) == pytest.approx(seen[0, 0] / 65535.0, abs=0.012)
