"""Memory stays bounded whatever the picture's size, and threads leave together."""

from __future__ import annotations

import itertools
import subprocess
import sys

import pytest

from firstsheet.pixels.bands import plan_bands
from firstsheet.pixels.workers import Work, run_all

SCRIPT = """
import resource, sys
import numpy as np
from firstsheet.pixels.job import RenderJob
from firstsheet.pixels.native import prepare
from firstsheet.pixels.render import render

class Endless:
    width_px, height_px, channels, dtype = 40_000, int(sys.argv[1]), 3, np.dtype(np.uint16)
    def rows(self, top, bottom):
        return np.full((bottom - top, self.width_px, 3), 20_000, np.uint16)
    def close(self): ...

class Nowhere:
    seen = 0
    def write(self, top, rows):
        assert (rows[:, 10:-10] == 20_000).all()
        self.seen += len(rows)

prepare(["resample_vertical_u16", "resample_horizontal", "keep_u16"])
height = Endless.height_px // 10
job = RenderJob(
    sheet_width_px=4000, sheet_height_px=height, picture_left_px=0, picture_top_px=0,
    width_px=4000, height_px=height, crop=(0, 0, 40_000, Endless.height_px), mode="as-is",
)
sink = Nowhere()
render(Endless(), job, None, None, sink)
assert sink.seen == height
try:  # a new process's resource usage begins with the size of the one that started it
    status = open("/proc/self/status").read()
    print(int(status.split("VmHWM:")[1].split()[0]) // 1024)
except OSError:
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)
"""


def peak_mib(height_px: int) -> int:
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, str(height_px)], capture_output=True, text=True, check=True
    )
    return int(done.stdout)


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="no getrusage")
def test_a_picture_eight_times_as_tall_takes_no_more_memory() -> None:
    small, large = peak_mib(1_000), peak_mib(8_000)  # 40 and 320 megapixels, 2 GB of codes

    assert large <= small + 40, f"{small} MiB, then {large} MiB"
    assert large < 250


@pytest.mark.parametrize("rows", [1, 15, 16, 17, 480, 481, 3600, 10_000])
@pytest.mark.parametrize("threads", [1, 2, 3, 8])
def test_bands_cover_every_row_once(rows: int, threads: int) -> None:
    bands = plan_bands(rows, threads)

    assert bands[0][0] == 0
    assert bands[-1][1] == rows
    assert all(a[1] == b[0] for a, b in itertools.pairwise(bands))
    assert all(low % 16 == 0 and high > low for low, high in bands)


def test_the_first_error_of_any_thread_is_raised_and_the_others_leave() -> None:
    def worker(work: Work):  # type: ignore[no-untyped-def]  # a closure for one test
        def one(piece: int) -> None:
            if piece == 3:
                raise OSError("no room")
            while piece > 3:
                work.alive()

        return one

    with pytest.raises(OSError, match="no room"):
        run_all(20, 3, worker, words="", progress=lambda _words, _share: None, stop=lambda: None)
