"""Time, memory and colour error of the whole pixel job, written to docs/benchmarks.md.

`python benchmarks/run.py [--sizes 25 100 400] [--times 3]`. Every contestant is a process of
its own, imports included; contestants take turns, and the median of the wall times counts.
Run it alone: other work on the machine makes the figures worthless.
"""

from __future__ import annotations

import argparse
import os
import platform
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import tifffile
from numpy.typing import NDArray
from pictures import make_picture  # type: ignore[import-not-found]  # beside this script

import firstsheet
from firstsheet.cms.chain import Chain, build_chain
from firstsheet.cms.link import paper_link, source_colour
from firstsheet.engine.colour.difference import delta_e_2000

HERE = Path(__file__).parent
OUT = HERE / "out"
PAGE = HERE.parent / "docs" / "benchmarks.md"
PAPER = Path(firstsheet.__file__).parent / "data" / "papers" / "glossy_synthetic_v4.icc"
CONTESTANTS = {
    "Firstsheet": ["fused.py"],
    "plain libvips, luma": ["plain_vips.py", "luma"],
    "plain libvips, L*": ["plain_vips.py", "lab"],
    "plain arrays": ["plain_arrays.py"],
}
TARGET_RATIO = {25: 0.6, 100: 0.5, 400: 0.35}
TARGET_MIB = {25: 300, 100: 300, 400: 400}


@dataclass(frozen=True)
class Run:
    """One finished process."""

    wall_s: float
    cpu_s: float
    peak_mib: float


def run(script: list[str], picture: Path, cache: Path) -> Run:
    """Run one contestant; its output is thrown away."""
    with tempfile.TemporaryDirectory(dir=OUT) as folder:
        result = Path(folder) / "sheet.tif"
        command = [sys.executable, str(HERE / script[0]), str(picture), str(PAPER), str(result)]
        start = time.perf_counter()
        child = os.posix_spawn(
            command[0],
            [*command, *script[1:]],
            {**os.environ, "FIRSTSHEET_CACHE": str(cache)},
        )
        _, status, usage = os.wait4(child, 0)
        wall = time.perf_counter() - start
        if status:
            raise SystemExit(f"{script[0]} failed")
        tifffile.TiffFile(result).close()
    peak = usage.ru_maxrss / 1024 if sys.platform == "linux" else usage.ru_maxrss / 2**20
    return Run(wall, usage.ru_utime + usage.ru_stime, peak)


def first_run(picture: Path) -> tuple[float, float]:
    """Wall time with an empty kernel cache, and right after it."""
    cache = Path(tempfile.mkdtemp(dir=OUT))
    try:
        first = run(CONTESTANTS["Firstsheet"], picture, cache).wall_s
        return first, run(CONTESTANTS["Firstsheet"], picture, cache).wall_s
    finally:
        shutil.rmtree(cache)


def first_make(picture: Path) -> tuple[float, float]:
    """Wall time of the whole command with an empty kernel cache, and right after it."""
    times = []
    with tempfile.TemporaryDirectory(dir=OUT) as folder:
        for name in ("first", "next"):
            start = time.perf_counter()
            subprocess.run(
                [
                    *(sys.executable, "-m", "firstsheet", "make", str(picture)),
                    *("--stock", "harbour-gloss", "--width", "381mm", "--sheet", "483x330mm"),
                    *("--out", f"{folder}/{name}"),
                ],
                check=True,
                env={
                    **os.environ,
                    "FIRSTSHEET_CACHE": f"{folder}/cache",
                    "FIRSTSHEET_LEDGER": f"{folder}/ledger.sqlite3",
                },
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
            times.append(time.perf_counter() - start)
    return times[0], times[1]


def colour_errors(picture: Path) -> dict[str, NDArray[np.float64]]:
    """ΔE00 of the printed colours against floating-point truth, by the compiled path and others."""
    import imagecodecs

    with tifffile.TiffFile(picture) as file:
        profile = bytes(file.pages[0].tags[34675].value)
    codes = np.ascontiguousarray(tifffile.memmap(picture, mode="r")[::9, ::9])
    chain = build_chain(
        source_profile=profile,
        colour_model="rgb",
        paper_profile=PAPER.read_bytes(),
        intent="relative",
        black_point=True,
    )
    flat = codes.reshape(-1, 3)
    truth = chain.printed_lab(chain.device(flat / 65535))
    ours = _compiled(codes, chain).reshape(-1, 3) / 65535
    default = imagecodecs.cms_transform(
        codes, profile, PAPER.read_bytes(), colorspace="rgb", outcolorspace="rgb",
        outdtype="uint16", intent=1, flags=0,
    )  # fmt: skip
    plain = build_chain(
        source_profile=profile, colour_model="rgb", paper_profile=PAPER.read_bytes(),
        intent="relative", black_point=False,
    )  # fmt: skip
    plain_truth = plain.printed_lab(plain.device(flat / 65535))
    theirs = plain.printed_lab(default.reshape(-1, 3) / 65535)
    return {
        "Firstsheet, compiled link": delta_e_2000(truth, chain.printed_lab(ours)),
        "Little CMS 16-bit, default": delta_e_2000(plain_truth, theirs),
    }


def _compiled(codes: NDArray[np.uint16], chain: Chain) -> NDArray[np.uint16]:
    """The picture through `render` at its own size, without sharpening."""
    from firstsheet.pixels.job import RenderJob
    from firstsheet.pixels.render import ArraySink, render

    height, width = codes.shape[:2]

    class Source:
        width_px, height_px, channels, dtype = width, height, 3, codes.dtype

        def rows(self, top: int, bottom: int) -> NDArray[np.uint16]:
            return codes[top:bottom].copy()

        def close(self) -> None:
            """Nothing to close."""

    job = RenderJob(
        sheet_width_px=width, sheet_height_px=height, picture_left_px=0, picture_top_px=0,
        width_px=width, height_px=height, crop=(0, 0, width, height),
    )  # fmt: skip
    sink = ArraySink((height, width, 3))
    render(Source(), job, source_colour(chain), paper_link(chain), sink)
    return sink.codes


def main() -> None:
    """Run all, write the page."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--sizes", nargs="+", type=int, default=[25, 100, 400])
    parser.add_argument("--times", type=int, default=3)
    options = parser.parse_args()
    OUT.mkdir(exist_ok=True)
    cache = OUT / "cache"
    lines = _head()
    most_load = 0.0
    for size in options.sizes:
        picture = OUT / f"scan-{size}.tif"
        make_picture(picture, size)
        run(CONTESTANTS["Firstsheet"], picture, cache)  # kernels made, file in the page cache
        runs: dict[str, list[Run]] = {name: [] for name in CONTESTANTS}
        for _ in range(options.times):
            for name, script in CONTESTANTS.items():
                runs[name].append(run(script, picture, cache))
        lines += _table(size, runs)
        most_load = max(most_load, os.getloadavg()[0])
    picture = OUT / f"scan-{options.sizes[0]}.tif"
    lines += ["## First run of a fresh install", "", f"At {options.sizes[0]} megapixels.", ""]
    for words, timed in (("The pixel job", first_run), ("`firstsheet make`", first_make)):
        first, second = timed(picture)
        lines.append(
            f"- {words}, kernels compiled and stored: {first:.1f} s; the next run: {second:.2f} s; "
            f"difference {first - second:.1f} s (target: at most 10 s)."
        )
    lines.append("")
    lines += ["## Colour error", "", "ΔE00 against the chain in floating point, unoptimised.", ""]
    lines += ["| path | mean | 99 % | max |", "| --- | --: | --: | --: |"]
    for name, gap in colour_errors(picture).items():
        values = gap.mean(), np.percentile(gap, 99), gap.max()
        lines.append(f"| {name} | " + " | ".join(f"{v:.4f}" for v in values) + " |")
    lines += ["", "Target: 99 % at most 0.05, max at most 0.3, on photograph-like data.", ""]
    if most_load > (os.cpu_count() or 1) + 0.5:
        lines.insert(
            4, f"**Other work was running (load up to {most_load:.1f}): the wall times below say "
            "nothing; processor time is inflated too. Run it again alone.**\n"
        )  # fmt: skip
    lines += _sections_of_others()
    PAGE.write_text("\n".join(lines), encoding="utf-8")
    print("\n".join(lines))


def _sections_of_others() -> list[str]:
    """What other scripts wrote behind the colour errors, as it stands."""
    if not PAGE.exists():
        return []
    _, _, rest = PAGE.read_text(encoding="utf-8").partition("\n## Colour error\n")
    _, mark, others = rest.partition("\n## ")
    return [mark.strip() + " " + others] if mark else []


def _head() -> list[str]:
    load = os.getloadavg()[0]
    return [
        "# Benchmarks", "",
        "Written by `benchmarks/run.py`; how the speed is reached: [speed](theory/speed.md).", "",
        "The job: a made 16-bit RGB scan, reduced to 15 in at 360 ppi (5400 pixels), sharpened, "
        "put into the colour of a glossy paper (relative colorimetric, black point compensated), "
        "laid on a white 19 × 13 in sheet, written as uncompressed 16-bit TIFF. Whole processes, "
        "imports included, files in the page cache, median wall time. Firstsheet reduces in "
        "linear light and sharpens L* behind an edge gate; the plain scripts reduce encoded "
        "values and add a plain high-pass, which is less work.", "",
        f"Machine: {os.cpu_count()} cores, {platform.machine()}, Python "
        f"{platform.python_version()}; load when started: {load:.2f}.", "",
    ]  # fmt: skip


def _table(size: int, runs: dict[str, list[Run]]) -> list[str]:
    base = statistics.median(r.wall_s for r in runs["plain libvips, luma"])
    lines = [
        f"## {size} megapixels", "",
        f"Targets: at most {TARGET_RATIO.get(size, 0):g} × plain libvips, "
        f"{TARGET_MIB.get(size, 0)} MiB.", "",
        "| contestant | wall s | × libvips luma | CPU s | peak MiB |",
        "| --- | --: | --: | --: | --: |",
    ]  # fmt: skip
    for name, several in runs.items():
        wall = statistics.median(r.wall_s for r in several)
        cpu = statistics.median(r.cpu_s for r in several)
        peak = max(r.peak_mib for r in several)
        lines.append(f"| {name} | {wall:.2f} | {wall / base:.2f} | {cpu:.2f} | {peak:.0f} |")
    return [*lines, ""]


if __name__ == "__main__":
    main()
