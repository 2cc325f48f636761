"""What pictures lose by each intent, and by a fifth way of our own that was not kept.

    python benchmarks/fifth_way.py FOLDER    # of pictures, as `firstsheet demo` makes them

The fifth way compresses, hue by hue, what of this picture the paper cannot follow, then prints by
relative colorimetric. Why it is no choice in the program: docs/theory/repairs.md.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.cms.chain import ColourModel, build_chain
from firstsheet.engine.records import Intent
from firstsheet.engine.regions.find import find_regions, wanted_cells
from firstsheet.engine.regions.hue import lab_of_oklab, oklab_of_lab
from firstsheet.engine.repair.colours import knee
from firstsheet.engine.repair.grid import apply_fields, shift_grid
from firstsheet.engine.repair.place import small_means
from firstsheet.engine.repair.reach import HUES, Paper, Printed
from firstsheet.engine.repair.record import RepairField

_SIDE: Final = 33
_KNEE: Final = 0.7
_LONGEST: Final = 512
_PAPERS: Final = Path(__file__).parents[1] / "src/firstsheet/data/papers"
_INTENTS: Final[tuple[Intent, ...]] = ("relative", "perceptual", "saturation", "absolute")
_MOST: Final = 99.5  # per cent of a hue's colours that come inside

Floats = NDArray[np.float64]


def fitted_field(picture_lab: NDArray[Any], printed: Printed) -> RepairField:
    """Compress, hue by hue, what of this picture the paper cannot follow."""
    paper = Paper(printed)
    most = vivid_by_hue(small_means(picture_lab, _LONGEST))

    def mapped(lab: Floats) -> Floats:
        oklab = oklab_of_lab(lab)
        chroma = np.hypot(oklab[..., 1], oklab[..., 2])
        hue = np.arctan2(oklab[..., 2], oklab[..., 1])
        most_here = np.interp(
            np.mod(hue / (2.0 * np.pi), 1.0) * HUES, np.arange(HUES + 1), np.append(most, most[0])
        )
        to = np.minimum(paper.reach.at(oklab[..., 0], hue), most_here)
        bent = knee(chroma, start=_KNEE * to, most=most_here, to=to)
        repaired = oklab.copy()
        repaired[..., 1:] *= (bent / np.maximum(chroma, 1e-9))[..., None]
        changed = bent < chroma
        out = np.array(lab, dtype=np.float64)
        out[changed] += lab_of_oklab(repaired[changed]) - lab_of_oklab(oklab[changed])
        return out

    return RepairField(shift_grid(mapped, _SIDE), None)


def vivid_by_hue(lab: NDArray[Any]) -> Floats:
    """Chroma that 99.5 % of a picture's colours stay below, by hue, (HUES,), Oklab.

    Each hue looks at its neighbours too, so that the table has no steps.
    """
    oklab = oklab_of_lab(lab.reshape(-1, 3))
    chroma = np.hypot(oklab[:, 1], oklab[:, 2])
    sector = np.round(np.arctan2(oklab[:, 2], oklab[:, 1]) / (2.0 * np.pi) * HUES).astype(np.int64)
    sector %= HUES
    most = np.zeros(HUES)
    for hue in range(HUES):
        own = chroma[sector == hue]
        most[hue] = np.percentile(own, _MOST) if own.size else 0.0
    wide = np.maximum(np.maximum(np.roll(most, 1), most), np.roll(most, -1))
    return (np.roll(wide, 1) + 2.0 * wide + np.roll(wide, -1)) / 4.0


def planted() -> Floats:
    """Textures in vivid, dark and light colours on grey."""
    lab = np.empty((480, 600, 3))
    lab[:] = (60.0, 0.0, 0.0)
    grain = np.random.default_rng(11).normal(0.0, 1.0, (48, 48)).repeat(2, 0).repeat(2, 1)
    for top, left, colour, deviation, in_chroma in (
        (48, 48, (32.0, 60.0, -100.0), 4.0, False),
        (48, 250, (50.0, 65.0, 45.0), 4.0, True),
        (48, 450, (45.0, -60.0, 40.0), 4.0, False),
        (336, 48, (6.0, 1.0, 1.0), 2.0, False),
        (336, 250, (97.0, 0.0, 3.0), 1.2, False),
        (336, 450, (75.0, 5.0, 85.0), 5.0, True),
    ):
        away = np.array((0.0, *colour[1:]) if in_chroma else (1.0, 0.0, 0.0))
        away /= np.linalg.norm(away)
        lab[top : top + 96, left : left + 96] = colour + deviation * grain[..., None] * away
    return lab


def opened(path: Path) -> Floats:
    """A picture in CIELAB, about 600 pixels long."""
    import tifffile

    with tifffile.TiffFile(path) as file:
        codes = file.asarray()
        profile = bytes(file.pages[0].tags[34675].value)
    codes = codes.reshape(*codes.shape[:2], -1)
    model: ColourModel = "grey" if codes.shape[-1] == 1 else "rgb"
    paper = next(iter(sorted(_PAPERS.glob("*.icc")))).read_bytes()
    chain = build_chain(
        source_profile=profile,
        colour_model=model,
        paper_profile=paper,
        intent="relative",
        black_point=True,
    )
    return chain.wanted_lab(small_means(codes, 600) / np.iinfo(codes.dtype).max)


def printed_by(paper: Path, intent: Intent) -> Printed:
    """What a paper shows by an intent, the black point compensated."""
    chain = build_chain(
        source_profile=b"",
        colour_model="lab",
        paper_profile=paper.read_bytes(),
        intent=intent,
        black_point=True,
    )
    return lambda lab: chain.printed_lab(chain.device_from_lab(chain.aim_from_wanted(lab)))


def judged(lab: Floats, paper: Path) -> list[str]:
    """Lost and plainly moved, by each intent and by our own way."""
    wanted = wanted_cells(lab, mm_per_px=450.0 / max(lab.shape[:2]), distance_mm=600.0)

    def total(printed: Printed, picture: Floats) -> str:
        found = find_regions(
            wanted,
            printed(picture),
            floor_de00=1.5,
            black_l=float(printed(np.zeros((1, 3)))[0, 0]),
        ).losses
        return f"{found.lost_total + found.moved_total:.1f}"

    told = [total(printed_by(paper, intent), lab) for intent in _INTENTS]
    relative = printed_by(paper, "relative")
    return [*told, total(relative, apply_fields(lab, [fitted_field(lab, relative)]))]


def main(folder: Path) -> None:
    """Print the table."""
    pictures: list[tuple[str, Callable[[], Floats]]] = [("planted colours", planted)]
    pictures += [
        (path.stem, lambda path=path: opened(path))  # type: ignore[misc]
        for path in sorted(folder.glob("*.tif"))
    ]
    print("| picture, paper | " + " | ".join(_INTENTS) + " | own |")
    print("| --- |" + " --: |" * 5)
    for name, make in pictures:
        lab = make()
        for paper in sorted(_PAPERS.glob("*.icc")):
            surface = paper.stem.split("_")[0]
            print(f"| {name}, {surface} | " + " | ".join(judged(lab, paper)) + " |", flush=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
