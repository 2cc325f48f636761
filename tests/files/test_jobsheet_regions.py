"""The places that lose something, on the job sheet: words read back, lines looked for in pixels."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pypdf
import pypdfium2
import pytest
from plan_maker import make_test_plan  # type: ignore[import-not-found]

from firstsheet.engine.findings import finding
from firstsheet.engine.loss.regions.find import RegionMap, find_regions, wanted_cells
from firstsheet.engine.loss.regions.findings import region_findings
from firstsheet.files.jobsheet.pages import write_job_sheet

RED = np.full((200, 300, 3), (255, 0, 0), np.uint8)


def two_flattened_places() -> RegionMap:
    """Even grey with two textured patches that lose most of their drawing."""
    rng = np.random.default_rng(3)
    wanted = np.full((400, 600, 3), (60.0, 0.0, 0.0))
    printed = wanted.copy()
    for rows, columns, kept in (
        (slice(40, 160), slice(40, 200), 0.2),
        (slice(280, 360), slice(440, 560), 0.5),
    ):
        colour = np.array((35.0, 20.0, -55.0))
        texture = rng.normal(0.0, 4.0, wanted[rows, columns].shape[:2])[..., None] * (1, 0, 0)
        wanted[rows, columns], printed[rows, columns] = colour + texture, colour + kept * texture
    cells = wanted_cells(wanted, mm_per_px=0.5, distance_mm=500.0)
    return find_regions(cells, printed, floor_de00=1.0, black_l=0.0)


def sheet(path: Path, found: RegionMap, **more: Any) -> Path:
    plan = make_test_plan().model_copy(update={"regions": found.losses})
    write_job_sheet(path, plan=plan, proof_srgb=RED, **more)
    return path


def second_page(path: Path) -> np.ndarray[Any, Any]:
    document = pypdfium2.PdfDocument(path)
    try:
        pixels: np.ndarray[Any, Any] = (
            document[1].render(scale=3, rev_byteorder=True).to_numpy()[..., :3].astype(int).copy()
        )
        return pixels
    finally:
        document.close()


def test_lost_places_stand_numbered_in_words_worst_first(tmp_path: Path) -> None:
    found = two_flattened_places()
    path = sheet(tmp_path / "job.pdf", found, outlines=found.outlines())
    text = " ".join(" ".join(p.extract_text() for p in pypdf.PdfReader(path).pages).split())

    assert "Where the print shows less than the file" in text
    first, second = (one.words[1:] for one in found.losses.regions)
    assert text.index(first) < text.index(second)


def test_their_lines_lie_on_the_small_proof_where_the_places_are(tmp_path: Path) -> None:
    found = two_flattened_places()
    page = second_page(sheet(tmp_path / "job.pdf", found, outlines=found.outlines()))
    red = (page[..., 0] > 200) & (page[..., 1] < 60) & (page[..., 2] < 60)
    rows, columns = np.flatnonzero(red.any(axis=1)), np.flatnonzero(red.any(axis=0))
    proof = page[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    light = proof.min(axis=2) > 180
    down, across = np.nonzero(light[5:-5, 5:-5])
    high, wide = light.shape

    assert across.min() / wide == pytest.approx(40 / 600, abs=0.02)
    assert down.min() / high == pytest.approx(40 / 400, abs=0.03)
    assert across.max() / wide == pytest.approx(560 / 600, abs=0.03)
    assert down.max() / high == pytest.approx(360 / 400, abs=0.05)


def test_nothing_to_do_is_said_without_a_picture(tmp_path: Path) -> None:
    even = np.full((80, 120, 3), (60.0, 0.0, 0.0))
    cells = wanted_cells(even, mm_per_px=0.5, distance_mm=500.0)
    found = find_regions(cells, even, floor_de00=1.0, black_l=0.0)
    path = sheet(tmp_path / "job.pdf", found, outlines=found.outlines())
    text = " ".join(" ".join(p.extract_text() for p in pypdf.PdfReader(path).pages).split())

    assert "Nothing to do: the paper shows this picture as it is meant." in text


def test_the_sheet_says_each_loss_once_and_keeps_the_greys_and_edges(tmp_path: Path) -> None:
    found = two_flattened_places()
    drift = finding("greys-drift", "caution", "The file is neutral.", "The darks print green.")
    edge = finding("edge-melts", "caution", "12 cm of the top edge will not be seen.", "It ends.")
    plan = make_test_plan().model_copy(
        update={
            "regions": found.losses,
            "findings": (*region_findings(found.losses), drift, edge),
        }
    )
    write_job_sheet(tmp_path / "job.pdf", plan=plan, proof_srgb=RED, outlines=found.outlines())
    pages = pypdf.PdfReader(tmp_path / "job.pdf").pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())

    assert text.count(found.losses.regions[0].words[1:]) == 1
    places, findings = text.split("What was found")
    for words in ("The darks print green.", "12 cm of the top edge will not be seen."):
        assert words in places
        assert words in findings  # with what can be chosen
