"""Where the constants of engine.detail.resampled come from, and how often it errs.

Makes scans of known truth (tests/engine/detail/scanmaker.py), runs the search on each, and
prints per kind how many were called enlarged, how far the factor was off, and how deep the
rhythm was. Usage: python tools/derive_enlarged.py [pictures] [first-seed] [kinds...]
"""

from __future__ import annotations

import sys
from collections import defaultdict
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests/engine/detail"))

from scanmaker import ScanSpec, make_scan, true_factor  # type: ignore[import-not-found]

from firstsheet.engine.detail.enlargement import enlarged
from firstsheet.engine.detail.resampled import by_rhythm
from firstsheet.engine.detail.survey import Plane, Read, choose_tiles

KINDS = (
    "untouched", "colour filter", "reduced", "enlarged",
    "untouched jpeg", "colour filter jpeg", "reduced jpeg", "plainly reduced jpeg",
    "jpeg reduced jpeg", "jpeg enlarged jpeg", "enlarged jpeg", "doubled jpeg",
)  # fmt: skip
SIZES = (256, 384, 512)


def reader(plane: Plane) -> Read:
    """Cut rectangles from a plane."""

    def read(top: int, bottom: int, left: int, right: int) -> Plane:
        return plane[top:bottom, left:right]

    return read


def make_spec(kind: str, seed: int, rng: np.random.Generator) -> ScanSpec:
    """One scan of a kind, everything else by chance."""
    factor = 1.0
    if "reduced" in kind:
        factor = float(rng.uniform(0.45, 0.95))
    elif "enlarged" in kind:
        factor = float(rng.uniform(1.35, 4.0))
    elif kind.startswith("doubled"):
        factor = float(rng.choice([2.0, 2.0, 4.0]))
    return ScanSpec(
        seed=seed,
        size_px=int(rng.choice(SIZES)),
        scene=str(rng.choice(["town", "town", "texture", "sky"])),
        lens_sigma_px=float(rng.uniform(0.2, 1.6)),
        scanner_sigma_px=float(rng.uniform(0.2, 1.2)),
        grain=float(rng.choice([0.0, 0.003, 0.01, 0.03])),
        electronic=float(rng.choice([0.0, 0.001, 0.004])),
        demosaic=kind.startswith("colour filter"),
        factor=factor,
        kernel=str(rng.choice(["bilinear", "bicubic", "lanczos"])),
        sharpen_gain=float(rng.choice([0.0, 0.0, 0.5, 1.2])),
        anti_alias=kind != "plainly reduced jpeg",
        first_jpeg_quality=int(rng.integers(60, 99)) if kind.startswith("jpeg") else None,
        jpeg_quality=int(rng.integers(60, 99)) if kind.endswith("jpeg") else None,
        bits=int(rng.choice([8, 16])),
    )


def main(pictures: int, first_seed: int, kinds: tuple[str, ...]) -> None:
    """Make, judge, count."""
    rng = np.random.default_rng(first_seed)
    verdicts: dict[str, dict[str, int]] = {kind: defaultdict(int) for kind in KINDS}
    errors: dict[str, list[float]] = defaultdict(list)
    made: dict[str, int] = defaultdict(int)
    for index in range(pictures):
        kind = kinds[index % len(kinds)]
        made[kind] += 1
        spec = make_spec(kind, first_seed * 100_000 + index, rng)
        plane = make_scan(spec)
        size = spec.size_px
        survey = choose_tiles(size, size, reader(plane))
        facts, plain = enlarged(survey), by_rhythm(survey)
        if plain.factor is not None:
            right = abs(plain.factor / true_factor(spec) - 1.0) <= 0.05
            verdicts[kind]["by rhythm alone " + ("right" if right else "wrong")] += 1
        verdicts[kind][facts.verdict] += 1
        if facts.factor is not None:
            errors[kind].append(facts.factor / true_factor(spec) - 1.0)
            if spec.factor <= 1.0:
                print("accused:", spec, facts)
            elif abs(errors[kind][-1]) > 0.05:
                print("factor off:", spec, facts)
    for kind in dict.fromkeys(kinds):
        off = np.abs(errors[kind]) if errors[kind] else np.zeros(1)
        print(
            f"{kind:20} {made[kind]:5} made; {dict(verdicts[kind])}; "
            f"{int((off > 0.05).sum())} factors wrong; "
            f"factor off: median {100 * np.median(off):.2f} %, most {100 * off.max():.2f} %"
        )


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 200,
        int(sys.argv[2]) if len(sys.argv) > 2 else 1,
        tuple(sys.argv[3:]) or KINDS,
    )
