"""What pictures lose by each intent, by SGCK, and by an image-dependent way of our own.

    python benchmarks/fifth_way.py FOLDER    # of pictures, as `make demo` paints them

Prints two tables: lost + plainly moved of every way; and for the best intent and for our own way
what else can be told: colour differences, what prints as one black, likeness of the lightness.
What came of it: docs/theory/repairs.md. Other pictures: other_pictures.py, beside this script.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from leaves import cube_surface  # type: ignore[import-not-found]  # beside this script
from numpy.typing import NDArray
from own_way import chosen_way, own_paper  # type: ignore[import-not-found]
from sgck import sgck_for, sgck_paper  # type: ignore[import-not-found]

from firstsheet.cms.chain import ColourModel, build_chain
from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.loss.regions.cells import WantedCells
from firstsheet.engine.loss.regions.find import find_regions, wanted_cells
from firstsheet.engine.loss.repair.grid import grid_nodes
from firstsheet.engine.loss.repair.place import small_means
from firstsheet.engine.loss.repair.reach import Printed
from firstsheet.engine.records import Intent

_LONGEST: Final = 600  # pixels
_PAPERS: Final = Path(__file__).parents[1] / "src/firstsheet/data/papers"
_INTENTS: Final[tuple[Intent, ...]] = ("relative", "perceptual", "saturation", "absolute")
_WAYS: Final = (*_INTENTS, "black left", "SGCK", "own")
_NODES: Final = 65
_BLACK: Final = np.zeros((1, 3))

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Told:
    """What is said of one way."""

    lost: float
    moved: float
    mean_de00: float
    most_de00: float  # 95 %
    black_percent: float
    likeness: float  # structural similarity of lightness

    @property
    def total(self) -> float:
        return self.lost + self.moved

    def words(self) -> str:
        """For the second table."""
        return (
            f"{self.lost:.0f} + {self.moved:.0f} | {self.mean_de00:.1f} / {self.most_de00:.1f} | "
            f"{self.black_percent:.0f} | {self.likeness:.3f}"
        )


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
    return chain.wanted_lab(small_means(codes, _LONGEST) / np.iinfo(codes.dtype).max)


def printed_by(paper: Path, intent: Intent, *, black_point: bool = True) -> Printed:
    """What a paper shows by an intent."""
    chain = build_chain(
        source_profile=b"",
        colour_model="lab",
        paper_profile=paper.read_bytes(),
        intent=intent,
        black_point=black_point,
    )
    return lambda lab: chain.printed_lab(chain.device_from_lab(chain.aim_from_wanted(lab)))


class TriedPaper:
    """One paper, with what is worked out of it once."""

    def __init__(self, path: Path) -> None:
        self.name = path.stem.split("_")[0]
        self.by_intent = {intent: printed_by(path, intent) for intent in _INTENTS}
        self.plain = printed_by(path, "relative", black_point=False)
        chain = build_chain(
            source_profile=b"",
            colour_model="lab",
            paper_profile=path.read_bytes(),
            intent="relative",
            black_point=False,
        )
        surface = cube_surface(chain.printed_lab)
        self.black_l = float(self.plain(_BLACK)[0, 0])
        self.yardstick = sgck_paper(surface)
        self.own = own_paper(surface, black_l=self.black_l)
        self._shown = np.asarray(self.plain(grid_nodes(_NODES)), dtype=np.float32)

    def nearly(self, lab: Floats) -> Floats:
        """About what it shows, from a table: quick, for choosing only."""
        from scipy.ndimage import map_coordinates

        at = (lab + np.array([0.0, 128.0, 128.0])) * (
            (_NODES - 1) / np.array([100.0, 256.0, 256.0])
        )
        places = np.moveaxis(at, -1, 0).astype(np.float32)
        planes = [
            map_coordinates(self._shown[..., one], places, order=1, mode="nearest")
            for one in range(3)
        ]
        return np.stack(planes, axis=-1).astype(np.float64)


def told_of(lab: Floats, shown: Floats, wanted: WantedCells, black_l: float) -> Told:
    """Judge what a paper shows."""
    from skimage.metrics import structural_similarity

    found = find_regions(wanted, shown, floor_de00=1.5, black_l=black_l).losses
    apart = np.asarray(delta_e_2000(lab, shown))
    return Told(
        lost=found.lost_total,
        moved=found.moved_total,
        mean_de00=float(apart.mean()),
        most_de00=float(np.percentile(apart, 95)),
        black_percent=found.ends.black_percent,
        likeness=float(structural_similarity(lab[..., 0], shown[..., 0], data_range=100.0)),
    )


def judged(lab: Floats, paper: TriedPaper) -> tuple[dict[str, Told], str]:
    """What every way loses, and what our own chose."""
    wanted = wanted_cells(lab, mm_per_px=450.0 / max(lab.shape[:2]), distance_mm=600.0)
    told = {}
    for intent, printed in paper.by_intent.items():
        told[str(intent)] = told_of(lab, printed(lab), wanted, float(printed(_BLACK)[0, 0]))

    def loss(asked: Floats) -> float:
        shown = paper.nearly(asked)
        found = find_regions(wanted, shown, floor_de00=1.5, black_l=paper.black_l).losses
        return found.lost_total + found.moved_total

    way, own = chosen_way(lab, paper.own, loss)
    yardstick = sgck_for(paper.yardstick, picture_lab=lab).mapped(lab)
    for name, asked in (("black left", lab), ("SGCK", yardstick), ("own", own)):
        told[name] = told_of(lab, paper.plain(asked), wanted, paper.black_l)
    return told, f"{way.root:g}, {way.dark_share:g} %, {way.lift:g}, {way.knee_start:g}"


def main(folder: Path) -> None:
    """Print the tables."""
    pictures: list[tuple[str, Callable[[], Floats]]] = [("planted colours", planted)]
    pictures += [
        (path.stem, lambda path=path: opened(path))  # type: ignore[misc]
        for path in sorted(folder.glob("*.tif"))
    ]
    papers = [TriedPaper(path) for path in sorted(_PAPERS.glob("*.icc"))]
    more = []
    print("| picture, paper | " + " | ".join(_WAYS) + " |")
    print("| --- |" + " --: |" * len(_WAYS))
    for name, make in pictures:
        lab = make()
        for paper in papers:
            told, chosen = judged(lab, paper)
            totals = " | ".join(f"{told[way].total:.1f}" for way in _WAYS)
            print(f"| {name}, {paper.name} | {totals} |", flush=True)
            best = min(_INTENTS, key=lambda intent: told[intent].total)
            more += [
                f"| {name}, {paper.name} | {best} | {told[best].words()} | |",
                f"| | own | {told['own'].words()} | {chosen} |",
            ]
    print(
        "\n| picture, paper | way | lost + moved | ΔE00 mean / 95 % | black, % | "
        "likeness | root, dark, lift, knee |"
    )
    print("| --- | --- | --: | --: | --: | --: | --- |")
    print("\n".join(more))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
