"""What it costs to say what a paper takes away, beside one plain map of colour differences.

`python benchmarks/losses.py [--times 5]`. All steps and the peer, CIEDE2000 over the same small
picture by colour-science, take turns in one process. Writes its section of docs/benchmarks.md.
"""

from __future__ import annotations

import argparse
import os
import re
import statistics
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from firstsheet.cms.chain import srgb_chain
from firstsheet.engine.loss.regions.cells import wanted_seen
from firstsheet.engine.loss.regions.find import regions_seen
from firstsheet.engine.loss.regions.planes import printed_planes, wanted_planes
from firstsheet.engine.loss.regions.separation import eye_scales
from firstsheet.jobs.planning.colour_path import ColourPath
from firstsheet.jobs.planning.repairs import Ground, proposed_repairs, seen_by
from firstsheet.store.stocks import get_stock, stock_profile_bytes

PAGE = Path(__file__).parent.parent / "docs" / "benchmarks.md"
HEAD = "## What the paper takes away"
PEER = "peer: one map of CIEDE2000, colour-science"
WIDE, HIGH = 1500, 1000
MM_PER_PX, DISTANCE_MM = 400.0 / WIDE, 1000.0


def picture() -> np.ndarray:
    """Encoded sRGB: slopes of colour with noise, much of it beyond a matte paper."""
    rng = np.random.default_rng(1)
    down, across = np.mgrid[0:HIGH, 0:WIDE] / max(HIGH, WIDE)
    codes = np.stack([across, down, 0.9 - 0.8 * across * down], axis=-1)
    clipped: np.ndarray = np.clip(codes + rng.normal(0.0, 0.05, (HIGH, WIDE, 1)), 0.0, 1.0)
    return clipped


def steps() -> dict[str, Callable[[], Any]]:
    """Each step, made ready by those before it."""
    with warnings.catch_warnings():  # its import warns of missing plotting parts
        warnings.simplefilter("ignore")
        import colour
    chain = srgb_chain(stock_profile_bytes(get_stock("chalk-matte")))
    codes = picture()
    wanted = chain.wanted_lab(codes)
    printed = chain.printed_lab(chain.device(codes))
    scales = eye_scales(mm_per_px=MM_PER_PX, distance_mm=DISTANCE_MM, long_side_px=WIDE)
    side = wanted_planes(wanted, scales.shrink)
    paper = printed_planes(side, printed, black_l=float(printed[..., 0].min()))

    def told() -> Any:
        cells = wanted_seen(side, scales, mm_per_px=MM_PER_PX, distance_mm=DISTANCE_MM)
        return regions_seen(cells, paper, floor_de00=1.0)

    def repaired() -> Any:
        way = ColourPath(chain)
        ground = Ground.measured(
            way, codes, (0, 0, WIDE, HIGH), mm_per_px=MM_PER_PX, distance_mm=DISTANCE_MM,
            floor_de00=1.0, seen=seen_by(wanted, way), stop=lambda: None,
        )  # fmt: skip
        return proposed_repairs(ground, lambda _doing, _share: None)

    found = told()
    return {
        "the picture's own side, once": lambda: wanted_planes(wanted, scales.shrink),
        "a paper and an intent, each": lambda: printed_planes(
            side, printed, black_l=float(printed[..., 0].min())
        ),
        "regions for a size and a distance": told,
        "outlines": found.outlines,
        "looking for repairs, the regions with it": repaired,
        PEER: lambda: colour.delta_E(wanted, printed, method="CIE 2000"),
    }


def main() -> None:
    """Run all in turn, write the section."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--times", type=int, default=5)
    given = words.parse_args()
    load = os.getloadavg()[0]
    works = steps()
    runs: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(given.times):
        for name, work in works.items():
            begun = time.process_time()
            work()
            runs[name].append(time.process_time() - begun)
    rows = [f"| {name} | {statistics.median(one) * 1e3:.0f} |" for name, one in runs.items()]
    text = "\n".join(
        [
            HEAD, "",
            f"Written by `benchmarks/losses.py`: a picture of {WIDE} × {HIGH} pixels, wanted and "
            "printed colour at hand; CPU time in one process, all taking turns, medians of "
            f"{given.times}. Load when started: {load:.1f} on {os.cpu_count()} cores. Another size "
            "or distance costs the third and fourth row only.", "",
            "| step | CPU ms |", "| --- | --: |", *rows, "",
        ]
    )  # fmt: skip
    print(text)
    page = PAGE.read_text(encoding="utf-8")
    kept = re.sub(rf"{HEAD}\n.*?(?=^## |\Z)", "", page, flags=re.DOTALL | re.MULTILINE)
    first, analyses, rest = kept.partition("## Analyses\n")  # that one rewrites to the end
    PAGE.write_text(f"{first.rstrip()}\n\n{text}\n{analyses}{rest}".rstrip() + "\n", "utf-8")


if __name__ == "__main__":
    main()
