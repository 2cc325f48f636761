"""Golden pictures: a small print of each kind, compared by colour difference and geometry.

Its pictures in this folder were made by `python tests/golden/test_golden_prints.py`, looked at,
and kept. A change that moves them needs its reason in the commit. A failure writes expected,
actual and difference to tests/out.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.colour.lab import xyz_to_lab
from firstsheet.engine.colour.spaces import SPACES
from firstsheet.jobs.proof import proof_print
from harbour.pictures import make_pictures

HERE = Path(__file__).parent
OUT = HERE.parents[0] / "out"
WIDE_PX = 320
CASES = {
    "ferry-stairs-chalk-matte": ("ferry-stairs", "chalk-matte", "relative"),
    "ferry-stairs-harbour-gloss": ("ferry-stairs", "harbour-gloss", "perceptual"),
    "masts-against-light-harbour-gloss": ("masts-against-light", "harbour-gloss", "relative"),
}


def quiet(_doing: str, _share: float) -> None:
    """Progress nobody listens to."""


def never() -> None:
    """Nobody stops."""


@pytest.fixture(scope="module")
def harbour(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("harbour")
    for name in ("ferry-stairs", "masts-against-light"):
        make_pictures(folder, quiet, never, divisor=8, only=name)
    return folder


def proofed(harbour: Path, case: str, out: Path) -> Image.Image:
    picture, stock, intent = CASES[case]
    wish = {"stock": stock, "width": "120mm", "sheet": "A5", "intent": intent}
    proof_print(
        harbour / f"{picture}.tif",
        {**wish, "proof_space": "srgb", "allow_enlarge": True},
        out=out,
        replace=False,
        stocks_dir=None,
        progress=quiet,
        stop=never,
    )
    with Image.open(out / "proof.png") as opened:
        image = opened.convert("RGB")
    height = round(image.height * WIDE_PX / image.width)
    return image.resize((WIDE_PX, height), Image.Resampling.BOX)


def as_lab(image: Image.Image) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    space = SPACES["srgb"]
    linear = space.decode(np.asarray(image, dtype=np.float64) / 255.0)
    return np.asarray(xyz_to_lab(linear @ np.asarray(space.rgb_to_xyz_d50).T))


@pytest.mark.golden
@pytest.mark.slow
@pytest.mark.parametrize("case", CASES)
def test_the_proof_still_looks_as_it_was_approved(case: str, harbour: Path, tmp_path: Path) -> None:
    actual = proofed(harbour, case, tmp_path / "proof")
    with Image.open(HERE / f"{case}.png") as opened:
        expected = opened.convert("RGB")

    assert actual.size == expected.size
    gap = np.asarray(delta_e_2000(as_lab(expected), as_lab(actual)))
    if gap.mean() > 0.3 or gap.max() > 4.0:
        OUT.mkdir(exist_ok=True)
        expected.save(OUT / f"{case}-expected.png")
        actual.save(OUT / f"{case}-actual.png")
        shown = np.clip(gap * 25.5, 0, 255).astype(np.uint8)
        Image.fromarray(shown).save(OUT / f"{case}-difference.png")
    assert gap.mean() <= 0.3
    assert gap.max() <= 4.0


if __name__ == "__main__":
    import tempfile

    with tempfile.TemporaryDirectory() as place:
        for one in CASES:
            make_pictures(Path(place), quiet, never, divisor=8, only=CASES[one][0])
            proofed(Path(place), one, Path(place) / one).save(HERE / f"{one}.png", optimize=True)
            sys.stdout.write(f"{one}\n")
