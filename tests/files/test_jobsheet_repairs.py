"""Repairs on the job sheet: swatches in the colours given, numbers, whole blocks on every page."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pypdf
import pypdfium2
import pytest
from numpy.typing import NDArray
from plan_maker import make_test_plan  # type: ignore[import-not-found]

from firstsheet.engine.findings import finding
from firstsheet.engine.records.repair import RepairFacts, RepairWish
from firstsheet.files.jobsheet.pages import write_job_sheet


def repair(number: int) -> RepairFacts:
    return RepairFacts(
        wish=RepairWish(
            kind="chroma", box=(0.1, 0.1, 0.4, 0.4), lab=(32, 60, -100), reach=20, strength=0.5
        ),
        words=f"place {number}",
        sentence=f"place {number}: keeps 54 % of its modelling without it, 82 % with it. Dulled.",
        kept_before=0.54,
        kept_after=0.82,
        turn_before_degrees=None,
        turn_after_degrees=None,
        wanted_lab=(32.0, 60.0, -100.0),
        before_lab=(30.0 + number, 30.0, -50.0),
        after_lab=(33.0, 35.0, -55.0),
        outside_mean_de00=0.1,
        outside_max_de00=0.9,
    )


def colours(number: int) -> tuple[tuple[float, float, float], ...]:
    """Three colours that nothing else on the sheet has."""
    return tuple((1.0, number * 16 / 255.0, at / 255.0) for at in (40, 120, 200))


def written(path: Path, count: int, **more: Any) -> tuple[list[str], list[np.ndarray]]:
    """Text and pixels of every page."""
    plan = make_test_plan().model_copy(
        update={"repairs": tuple(repair(one) for one in range(1, count + 1)), **more}
    )
    swatches = [colours(one) for one in range(1, count + 1)]
    write_job_sheet(path, plan=plan, swatches=swatches)  # type: ignore[arg-type]
    texts = [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(path).pages]
    document = pypdfium2.PdfDocument(path)
    try:
        pages = [
            document[at].render(scale=2, rev_byteorder=True).to_numpy()[..., :3].astype(int).copy()
            for at in range(len(document))
        ]
    finally:
        document.close()
    return texts, pages


def area(page: np.ndarray, colour: tuple[float, float, float]) -> tuple[int, int, int, int]:
    """Top, left, height and width of a colour on a page; nothing: zeros."""
    there: NDArray[np.bool_] = np.all(np.abs(page - np.array(colour) * 255.0) < 2, axis=-1)
    if not there.any():
        return 0, 0, 0, 0
    rows, columns = np.flatnonzero(there.any(axis=1)), np.flatnonzero(there.any(axis=0))
    return int(rows[0]), int(columns[0]), len(rows), len(columns)


@pytest.mark.parametrize("count", [1, 3, 14])
def test_each_repair_stands_whole_on_one_page_with_its_colours_side_by_side(
    count: int, tmp_path: Path
) -> None:
    texts, pages = written(tmp_path / "job.pdf", count)

    for number in range(1, count + 1):
        (home,) = (at for at, text in enumerate(texts) if f"Repair {number}: place" in text)
        found = [area(pages[home], one) for one in colours(number)]
        assert f"L* {30 + number} a* +30 b* -50" in texts[home]
        tops, lefts, heights, widths = zip(*found, strict=True)
        assert len(set(tops)) == 1
        assert lefts[0] < lefts[1] < lefts[2]
        for high, wide in zip(heights, widths, strict=True):
            assert high == pytest.approx(9.5 / 25.4 * 144, abs=3)
            assert wide == pytest.approx(25.5 / 25.4 * 144, abs=3)
        bottom = tops[0] + heights[0]
        assert bottom < pages[home].shape[0] - 20 / 25.4 * 144  # above the foot
    assert sum("Repairs in this print" in text for text in texts) == 1


def test_what_the_section_tells_is_not_told_again(tmp_path: Path) -> None:
    again = finding("repair-1", "fine", "Repair 1 in this print: told twice.", "So it is.")
    texts, _ = written(tmp_path / "job.pdf", 1, findings=(again,))

    assert "told twice" not in " ".join(texts)
    assert "repairs.png shows the places themselves" in " ".join(texts)


def test_without_repairs_nothing_is_said(tmp_path: Path) -> None:
    texts, _ = written(tmp_path / "job.pdf", 0)

    assert "Repair" not in " ".join(texts)
