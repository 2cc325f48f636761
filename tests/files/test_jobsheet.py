"""The job sheet as a PDF, read back by pypdf and drawn by PDFium."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pypdf
import pypdfium2
import pytest
from plan_maker import FINDINGS, make_test_plan  # type: ignore[import-not-found]

from firstsheet.engine.records.plan import Plan
from firstsheet.files.jobsheet.pages import write_job_sheet

RED = np.full((200, 300, 3), (255, 0, 0), np.uint8)


def written(folder: Path, plan: Plan, proof: Any = None, name: str = "job-sheet.pdf") -> Path:
    write_job_sheet(folder / name, plan=plan, proof_srgb=proof)
    return folder / name


def words(path: Path) -> str:
    """All text as a reader finds it, spaces evened out, the increment sign read as Delta."""
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(path).pages)
    return " ".join(text.split()).replace("\u2206", "Δ")


def drawn(path: Path, page: int = 0, scale: float = 4) -> np.ndarray[Any, np.dtype[Any]]:
    document = pypdfium2.PdfDocument(path)
    try:
        pixels: np.ndarray[Any, np.dtype[Any]] = (
            document[page].render(scale=scale, rev_byteorder=True).to_numpy().copy()
        )
        return pixels
    finally:
        document.close()


def test_it_is_two_a4_pages(tmp_path: Path) -> None:
    """ISO 216: A4 is 210 × 297 mm; 1 pt is 1/72 in."""
    pages = pypdf.PdfReader(written(tmp_path, make_test_plan())).pages

    assert len(pages) == 2
    for page in pages:
        assert float(page.mediabox.width) == pytest.approx(210 * 72 / 25.4, abs=0.01)
        assert float(page.mediabox.height) == pytest.approx(297 * 72 / 25.4, abs=0.01)


def test_every_number_of_the_job_can_be_read(tmp_path: Path) -> None:
    text = words(written(tmp_path, make_test_plan(), RED))

    for part in (
        "ferry-stairs",
        "Good enough for 1.5 m",
        "381.0 mm",
        "15.00 in",
        "254.0 mm",
        "10.00 in",
        "483.0 mm",
        "19.02 in",
        "329.0 mm",
        "51.0 mm",
        "37.5 mm",
        "Drawn 1 : 3.5",
        "100 %",
        "Fine art paper, matte, heavy",
        "6846 × 4663 pixels",
        "191.5 MB",
        "enters the printer first",
        "100 mm ± 0.5",
        "9f2c41d07be3a855",
        "c3d1f7a2b4e59687",
        "62.1 %",
        "13.2 ΔE00",
        "The printer leaves 17 mm bare at the end",
        "Open the shadows a little in the master.",
    ):
        assert part.replace(" ", "") in text.replace(" ", ""), part


def test_the_drawing_keeps_the_ratio_of_picture_and_sheet(tmp_path: Path) -> None:
    """The red proof is found in PDFium's pixels: 381 mm at 1 : 3.5 are 108.86 mm of paper."""
    pixels = drawn(written(tmp_path, make_test_plan(), RED))
    per_mm = pixels.shape[1] / 210

    red = (pixels[..., 0] > 220) & (pixels[..., 1] < 40) & (pixels[..., 2] < 40)
    ys, xs = np.nonzero(red)

    assert (xs.max() + 1 - xs.min()) / per_mm == pytest.approx(381 / 3.5, abs=0.3)
    assert (ys.max() + 1 - ys.min()) / per_mm == pytest.approx(254 / 3.5, abs=0.3)


def test_the_picture_lies_on_the_drawn_sheet_where_the_plan_puts_it(tmp_path: Path) -> None:
    """Rectangles are read from the page's own drawing commands, in points."""
    page = pypdf.PdfReader(written(tmp_path, make_test_plan())).pages[0]
    content = page.get_contents()
    assert content is not None
    boxes = [
        tuple(float(number) for number in operands)
        for operands, operator in content.operations
        if operator == b"re"
    ]
    per_mm = 72 / 25.4 / 3.5

    def found(width_mm: float, height_mm: float) -> tuple[float, ...]:
        return next(  # the last: before it comes the sheet's shadow, of the same size
            box
            for box in reversed(boxes)
            if box[2] == pytest.approx(width_mm * per_mm, abs=0.05)
            and box[3] == pytest.approx(height_mm * per_mm, abs=0.05)
        )

    sheet, picture = found(483.02, 328.99), found(381, 254)
    printable = found(483.02 - 5 - 17, 328.99 - 5 - 5)
    assert picture[0] - sheet[0] == pytest.approx(51.01 * per_mm, abs=0.05)
    assert picture[1] - sheet[1] == pytest.approx(37.54 * per_mm, abs=0.05)
    assert printable[0] - sheet[0] == pytest.approx(5 * per_mm, abs=0.05)


def test_the_same_plan_gives_the_same_bytes(tmp_path: Path) -> None:
    first = written(tmp_path, make_test_plan(), RED, "a.pdf").read_bytes()
    second = written(tmp_path, make_test_plan(), RED, "b.pdf").read_bytes()
    other = written(tmp_path, make_test_plan(verdict="Other."), RED, "c.pdf").read_bytes()

    assert first == second
    assert first != other


def test_weights_are_words_and_shapes_and_the_heaviest_comes_first(tmp_path: Path) -> None:
    stop = FINDINGS[0].model_copy(update={"weight": "stop", "found": "The sheet is too small."})
    path = written(tmp_path, make_test_plan(findings=(*FINDINGS, stop)))

    text = words(path)
    order = [
        text.index(part) for part in ("stop The sheet", "caution The printer", "fine The file")
    ]
    assert order == sorted(order)


def test_everything_but_the_proof_is_grey_or_the_one_muted_accent(tmp_path: Path) -> None:
    path = written(tmp_path, make_test_plan())
    for number in (0, 1):
        pixels = drawn(path, number, scale=2).astype(int)
        spread = pixels.max(axis=2) - pixels.min(axis=2)
        coloured = pixels[spread > 8]
        if number == 1:
            assert len(coloured) == 0
        else:
            assert len(coloured) > 0
            red, green, blue = coloured.T
            assert ((red < green) & (green <= blue + 2)).all()  # one hue, and dull
            assert spread.max() < 60


NAMES = (
    "élève-à-la-mer",
    "Лодка у причала",
    "Καΐκι στο λιμάνι",
    "舟の影",
    "渔船",
    "고깃배",
    "سفينة",
    "🚢",
    "Łódź żagiel",
    "a" * 250,
    "line\nbreak\ttab\x00nul",
    "(brackets) \\ %",
)


@pytest.mark.parametrize("name", NAMES)
def test_any_name_can_stand_on_the_sheet(tmp_path: Path, name: str) -> None:
    plan = make_test_plan()
    picture = plan.picture.model_copy(update={"path": f"/scans/{name}.tif"})

    path = written(tmp_path, make_test_plan(picture=picture))

    assert len(pypdf.PdfReader(path).pages) == 2
    assert drawn(path, scale=0.5).min() < 128  # PDFium draws it


@pytest.mark.parametrize(
    ("name", "read"),
    [
        ("élève", "élève"),
        ("Лодка", "Lodka"),
        ("Καΐκι", "Kaiki"),
        ("Łódź", "Lódz"),
        ("舟の影", "舟の影"),
        ("고깃배", "고깃배"),
    ],
)
def test_names_are_read_back_in_latin_or_their_own_letters(
    tmp_path: Path, name: str, read: str
) -> None:
    plan = make_test_plan()
    picture = plan.picture.model_copy(update={"path": f"/scans/{name}.tif"})

    text = words(written(tmp_path, make_test_plan(picture=picture)))

    assert f"Job sheet {read} " in text
    assert ("plan.json has the name as it is written" in text) is (name != read)


def test_a_lab_order_is_an_order_sheet(tmp_path: Path) -> None:
    plan = make_test_plan()
    colour = plan.colour.model_copy(update={"mode": "keep"})

    text = words(written(tmp_path, make_test_plan(colour=colour, loss=None)))

    assert text.startswith("page 1") or "Order sheet" in text
    assert "What the lab is asked for" in text
    assert "enters the printer first" not in text
    assert "Nozzle" not in text


def test_many_findings_go_on_over_the_page_and_none_is_lost(tmp_path: Path) -> None:
    many = tuple(
        FINDINGS[1].model_copy(update={"found": f"Finding number {n} stands here."})
        for n in range(40)
    )

    path = written(tmp_path, make_test_plan(findings=many))

    text = words(path)
    assert all(f"Finding number {n} stands here." in text for n in range(40))
    assert len(pypdf.PdfReader(path).pages) > 2


@pytest.mark.parametrize(("width_mm", "height_mm"), [(1600, 610), (610, 1600), (89, 127)])
def test_long_and_small_sheets_stay_inside_the_page(
    tmp_path: Path, width_mm: float, height_mm: float
) -> None:
    plan = make_test_plan()
    width, height = round(width_mm / 25.4 * 360), round(height_mm / 25.4 * 360)
    sheet = plan.sheet.model_copy(
        update={
            "width_px": width,
            "height_px": height,
            "width_mm": width / 360 * 25.4,
            "height_mm": height / 360 * 25.4,
            "picture_left_px": 300,
            "picture_top_px": 300,
            "border_mm": (21.2, 21.2, 21.2, 21.2),
        }
    )
    size = plan.size.model_copy(
        update={
            "width_px": width - 600,
            "height_px": height - 600,
            "width_mm": (width - 600) / 360 * 25.4,
            "height_mm": (height - 600) / 360 * 25.4,
        }
    )

    pixels = drawn(written(tmp_path, make_test_plan(sheet=sheet, size=size), RED), scale=2)

    edge = int(10 / 210 * pixels.shape[1])
    assert pixels[:, :edge].min() == 255
    assert pixels[:, -edge:].min() == 255


def test_long_notes_of_a_stock_do_not_push_the_drawing_off(tmp_path: Path) -> None:
    plan = make_test_plan()
    stock = plan.stock.model_copy(update={"notes": "Load with care. " * 200, "title": "T" * 300})

    path = written(tmp_path, make_test_plan(stock=stock, verdict="word " * 400), RED)

    assert "Drawn 1 :" in words(path)
    assert "What the paper takes away" in words(path)
