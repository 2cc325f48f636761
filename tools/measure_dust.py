"""How many planted pieces of dust are found, and how many marks stand where there is none.

Makes scans of known truth (tests/engine/detail/scanmaker.py), plants dust on them (dustmaker.py),
and counts; and counts marks on pictures of rigging, seams and ripples without any dust
(riggingmaker.py). Usage: python tools/measure_dust.py [pictures] [first-seed]
"""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[1] / "tests/engine/detail"))

from dustmaker import Planted, plant  # type: ignore[import-not-found]
from riggingmaker import make_rigging  # type: ignore[import-not-found]
from scanmaker import ScanSpec, decode, make_encoded  # type: ignore[import-not-found]

from firstsheet.engine.colour.lab import y_to_lightness
from firstsheet.engine.detail.dust.cells import CELL_PX, outstanding
from firstsheet.engine.detail.dust.search import find_dust
from firstsheet.engine.detail.survey import Plane, Read
from firstsheet.engine.records.detail import Mark

SIZE = 768
PLAIN_L = 12.0  # L*, from which a piece stands out plainly


def reader(plane: Plane) -> Read:
    """Cut rectangles from a plane."""

    def read(top: int, bottom: int, left: int, right: int) -> Plane:
        return plane[top:bottom, left:right]

    return read


def light(encoded: NDArray[np.float64]) -> Plane:
    """L* of encoded values."""
    return np.asarray(y_to_lightness(decode(encoded)), dtype=np.float32)


def make_spec(seed: int) -> ScanSpec:
    """One scan, everything by chance."""
    rng = np.random.default_rng(seed + 5000)
    return ScanSpec(
        seed=seed,
        size_px=SIZE,
        scene=str(rng.choice(["town", "town", "texture", "sky"])),
        lens_sigma_px=float(rng.uniform(0.3, 1.6)),
        scanner_sigma_px=float(rng.uniform(0.3, 1.2)),
        grain=float(rng.choice([0.0, 0.003, 0.01, 0.03])),
        electronic=float(rng.choice([0.0, 0.001, 0.004])),
    )


def on(mark: Mark, piece: Planted) -> bool:
    """True where a mark's middle lies on a piece."""
    across = piece.left - 3 <= mark.x_px <= piece.right + 3
    return bool(across and piece.top - 3 <= mark.y_px <= piece.bottom + 3)


def could_be_told(piece: Planted, spoiled: Plane, clean: Plane) -> bool:
    """True where a piece stands out plainly and its surroundings were even before."""
    top, left = max(0, int(piece.top)), max(0, int(piece.left))
    here = (slice(top, int(piece.bottom) + 1), slice(left, int(piece.right) + 1))
    if np.abs(spoiled[here] - clean[here]).max() < PLAIN_L:
        return False
    even = outstanding(SIZE, SIZE, reader(clean)).open_cells
    rows = slice(max(0, top // CELL_PX - 1), int(piece.bottom) // CELL_PX + 2)
    columns = slice(max(0, left // CELL_PX - 1), int(piece.right) // CELL_PX + 2)
    return bool(even[rows, columns].all())


def main(pictures: int, first_seed: int) -> None:
    """Make, look, count."""
    counts: Counter[str] = Counter()
    for seed in range(first_seed, first_seed + pictures):
        rng = np.random.default_rng(seed)
        encoded = make_encoded(make_spec(seed))
        clean = light(encoded)
        counts["idle marks on untouched"] += find_dust(SIZE, SIZE, reader(clean)).count
        bright = bool(rng.random() < 0.5)
        depth = float(rng.uniform(0.5, 1.0))
        dusty, planted = plant(encoded, rng, 8, bright=bright, depth=depth)
        spoiled = light(dusty)
        marks = find_dust(SIZE, SIZE, reader(spoiled)).marks
        counts["idle marks on dusty"] += sum(not any(on(m, p) for p in planted) for m in marks)
        for piece in planted:
            found = any(on(mark, piece) for mark in marks)
            counts["planted"] += 1
            counts["found"] += found
            if could_be_told(piece, spoiled, clean):
                counts["planted in even surroundings"] += 1
                counts["found in even surroundings"] += found
        rigging = find_dust(SIZE, SIZE, reader(light(make_rigging(seed, SIZE)))).marks
        through = sum(mark.kind == "line from edge to edge" for mark in rigging)
        counts["ropes taken for scratches from edge to edge"] += through
        counts["other idle marks on rigging"] += len(rigging) - through
        counts["pictures of rigging with a mark"] += bool(rigging)
    for name, count in counts.items():
        print(f"{name}: {count}")


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 20,
        int(sys.argv[2]) if len(sys.argv) > 2 else 1,
    )
