"""Time and peak memory of each analysis of a picture, beside a plain reading of the same file.

`python benchmarks/analyses.py [--size 25] [--times 3]`. Each analysis runs in a process of its own
on a made 16-bit scan; time is that of the work, without imports and opening; memory is the
process's VmHWM (Linux). Writes its section of docs/benchmarks.md.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
OUT = HERE / "out"
PAGE = HERE.parent / "docs" / "benchmarks.md"
HEAD = "## Analyses"
PEER = "plain reading and mean, libvips"
TARGET_S = 3.0


def _quiet(*_: object) -> None:
    """Nobody listens."""


def _timed(work: Callable[[], Any]) -> dict[str, float]:
    wall, cpu = time.perf_counter(), time.process_time()
    work()
    used = time.process_time() - cpu
    taken = time.perf_counter() - wall
    status = Path("/proc/self/status").read_text(encoding="ascii")
    peak = re.search(r"VmHWM:\s+(\d+)", status)
    return {"wall": taken, "cpu": used, "mib": int(peak.group(1)) / 1024 if peak else 0.0}


def _of(name: str, picture: Path) -> dict[str, float]:
    """Run one analysis here."""
    if name == PEER:
        import pyvips

        return _timed(lambda: pyvips.Image.new_from_file(str(picture)).avg())
    from firstsheet.engine.detail.dust.search import find_dust
    from firstsheet.engine.detail.edges import edge_facts, edge_profiles
    from firstsheet.engine.detail.enlargement import enlarged
    from firstsheet.engine.detail.grain import noise_facts
    from firstsheet.engine.detail.survey import choose_tiles
    from firstsheet.files.reading.opening import open_picture
    from firstsheet.jobs.planning.detail import detail_of, readers

    with open_picture(picture, progress=_quiet, stop=_quiet) as opened:
        width, height = opened.source.width_px, opened.source.height_px
        read, quick = readers(opened, progress=_quiet, stop=_quiet)
        if name == "everything `check` measures":
            return _timed(lambda: detail_of(opened, progress=_quiet, stop=_quiet))
        if name == "choosing tiles":
            return _timed(lambda: choose_tiles(width, height, read))
        if name == "dust and scratches":
            return _timed(lambda: find_dust(width, height, quick))
        survey = choose_tiles(width, height, read)
        if name == "edges":
            return _timed(lambda: edge_facts(edge_profiles(survey.edge_tiles)))
        if name == "grain":
            return _timed(lambda: noise_facts(survey.even_tiles))
        return _timed(lambda: enlarged(survey))


NAMES = (
    "choosing tiles", "edges", "grain", "enlargement", "dust and scratches",
    "everything `check` measures", PEER,
)  # fmt: skip


def main() -> None:
    """Run all in turn, write the section."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--size", type=int, default=25)
    words.add_argument("--times", type=int, default=3)
    words.add_argument("--one", help=argparse.SUPPRESS)
    given = words.parse_args()
    picture = OUT / f"scan-{given.size}.tif"
    if given.one:
        print(json.dumps(_of(given.one, picture)))
        return
    from pictures import make_picture  # type: ignore[import-not-found]  # beside this script

    OUT.mkdir(exist_ok=True)
    make_picture(picture, given.size)
    load = os.getloadavg()[0]
    runs: dict[str, list[dict[str, float]]] = {name: [] for name in NAMES}
    for _ in range(given.times):
        for name in NAMES:
            command = [sys.executable, __file__, "--size", str(given.size), "--one", name]
            done = subprocess.run(command, check=True, capture_output=True, text=True)
            runs[name].append(json.loads(done.stdout))
    section = _section(given.size, runs, load)
    page = PAGE.read_text(encoding="utf-8").split(f"\n{HEAD}\n")[0].rstrip()
    PAGE.write_text(f"{page}\n\n{section}", encoding="utf-8")
    print(section)


def _section(size: int, runs: dict[str, list[dict[str, float]]], load: float) -> str:
    busy = load > (os.cpu_count() or 1) + 0.5
    warning = "**Other work was running: the wall times say nothing. Run it again alone.** "
    lines = [
        HEAD, "",
        f"{warning if busy else ''}Written by `benchmarks/analyses.py`: {size} megapixels of 16 "
        "bits, each in a process of its own, file in the page cache; medians. Time of the work "
        f"alone; memory is the whole process. Load when started: {load:.1f} on "
        f"{os.cpu_count()} cores. Target for "
        f"everything: at most {TARGET_S:g} s.", "",
        "| analysis | wall s | CPU s | peak MiB |", "| --- | --: | --: | --: |",
    ]  # fmt: skip
    for name, several in runs.items():
        wall, cpu = (statistics.median(one[key] for one in several) for key in ("wall", "cpu"))
        peak = max(one["mib"] for one in several)
        lines.append(f"| {name} | {wall:.2f} | {cpu:.2f} | {peak:.0f} |")
    return "\n".join([*lines, ""])


if __name__ == "__main__":
    main()
