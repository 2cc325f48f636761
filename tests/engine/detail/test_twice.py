"""JPEGs saved once and twice by Pillow at known qualities."""

import io
from pathlib import Path

import numpy as np
import pytest
import skimage
from numpy.typing import NDArray
from PIL import Image
from scanmaker import ScanSpec, make_encoded  # type: ignore[import-not-found]

from firstsheet.engine.detail.double_jpeg import double_jpeg_sentence, twice_facts
from firstsheet.engine.records.detail import DoubleJpegFacts

Codes = NDArray[np.uint8]


def _saved(codes: Codes, quality: int) -> tuple[Codes, list[int]]:
    """What a JPEG of this quality holds, and its luma table (Pillow gives it row by row)."""
    buffer = io.BytesIO()
    Image.fromarray(codes).save(buffer, "JPEG", quality=quality)
    picture = Image.open(buffer)
    return np.asarray(picture), picture.quantization[0]  # type: ignore[attr-defined]


def _squares(luma: NDArray[np.generic]) -> NDArray[np.generic]:
    height, width = (side // 8 * 8 for side in luma.shape)
    tops, lefts = range(0, height - 15, 8), range(0, width - 15, 8)
    return np.array([luma[y : y + 16, x : x + 16] for y in tops for x in lefts])


def _look(codes: Codes, *qualities: int) -> DoubleJpegFacts:
    for quality in qualities:
        codes, table = _saved(codes, quality)
    luma = codes if codes.ndim == 2 else codes @ (0.299, 0.587, 0.114)
    return twice_facts(_squares(luma), table)


def _photograph(name: str, mode: str = "L") -> Codes:
    return np.asarray(Image.open(Path(skimage.__file__).parent / "data" / name).convert(mode))


def _made(seed: int, scene: str) -> Codes:
    encoded = make_encoded(ScanSpec(seed=seed, scene=scene))
    return np.asarray(np.round(encoded * 255), dtype=np.uint8)


@pytest.mark.parametrize(("first", "second"), [(50, 75), (60, 90), (75, 92), (70, 85), (80, 95)])
@pytest.mark.parametrize("name", ["camera.png", "coffee.png", "brick.png"])
def test_a_harder_first_save_is_told_with_its_quality(name: str, first: int, second: int) -> None:
    facts = _look(_photograph(name), first, second)

    assert facts.told == "twice"
    assert facts.first_quality == pytest.approx(first, abs=2)


def test_it_is_told_in_colour_with_reduced_chroma() -> None:
    facts = _look(_photograph("chelsea.png", "RGB"), 60, 90)

    assert facts.told == "twice"
    assert facts.first_quality == pytest.approx(60, abs=2)


@pytest.mark.parametrize("quality", [55, 68, 75, 83, 90, 96])
def test_a_single_save_is_never_called_two(quality: int) -> None:
    pictures = [_photograph("camera.png"), _photograph("grass.png"), _made(5, "town")]

    assert all(_look(codes, quality).told != "twice" for codes in pictures)


@pytest.mark.parametrize("quality", [70, 85])
def test_the_same_quality_twice_cannot_be_told_and_is_not(quality: int) -> None:
    assert _look(_photograph("camera.png"), quality, quality).told == "no sign"


def test_a_picture_cut_off_its_grid_between_the_saves_is_not_told_wrongly() -> None:
    once, _ = _saved(_photograph("camera.png"), 60)

    assert _look(once[3:, 5:].copy(), 90).told == "no sign"


def test_too_few_blocks_cannot_be_told() -> None:
    assert _look(_photograph("camera.png")[:96, :96].copy(), 60, 90).told == "cannot tell"
    assert twice_facts(np.zeros((0, 16, 16)), np.ones(64)).told == "cannot tell"


def test_the_sentence_names_quality_and_confidence() -> None:
    facts = _look(_photograph("camera.png"), 60, 90)

    said = double_jpeg_sentence(facts)

    assert said.startswith(
        f"Was saved as JPEG at least twice, before this at a quality of about "
        f"{facts.first_quality} (confidence "
    )
    assert double_jpeg_sentence(facts.model_copy(update={"told": "no sign"})) == ""
    assert double_jpeg_sentence(None) == ""
