"""A print is made again: the same bytes, or what has changed in words and figures."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile

from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.errors import LedgerError
from firstsheet.jobs.answers import AgainAnswer
from firstsheet.jobs.ledger import versions
from firstsheet.jobs.ledger.again import AgainWish, make_again
from firstsheet.jobs.ledger.keeping import export
from firstsheet.jobs.ledger.prints import prints_known, show_print
from firstsheet.jobs.make import make_print
from firstsheet.store.stocks import add_stock, get_stock, stock_profile_bytes

pytestmark = pytest.mark.slow
WISH = {"width": "60mm", "sheet": "110x80mm", "distance": "40cm"}
OWN = "merrowick-cotton"


def quiet(_doing: str, _share: float) -> None:
    """Progress nobody listens to."""


def never() -> None:
    """Nobody stops."""


class Print:
    """A print of one's own: picture, stock, folder and ledger, all of which may change."""

    def __init__(self, place: Path, scan: Path) -> None:
        self.place = place
        self.scan = Path(shutil.copy(scan, place / "quay.tif"))
        self.stocks, self.ledger = place / "stocks", place / "ledger.sqlite3"
        stock = get_stock("chalk-matte").model_copy(update={"name": OWN, "title": "Cotton"})
        add_stock(stock, stock_profile_bytes(get_stock("chalk-matte")), directory=self.stocks)
        self.made = make_print(
            self.scan,
            {"stock": OWN, **WISH},
            out=place / "print",
            replace=False,
            stocks_dir=self.stocks,
            progress=quiet,
            stop=never,
            ledger=self.ledger,
        )

    def again(self, **wish: Any) -> AgainAnswer:
        fields: dict[str, Any] = {"print_": "1", "stocks_dir": self.stocks, "ledger": self.ledger}
        return make_again(AgainWish(**(fields | wish)), progress=quiet, stop=never)


@pytest.fixture
def mine(made_once: Any, tmp_path: Path) -> Print:
    return Print(tmp_path, made_once.scan)


def codes(answer: AgainAnswer) -> list[str]:
    return [one.code for one in answer.findings]


def bytes_of(folder: str | Path) -> bytes:
    return (Path(folder) / "print.tif").read_bytes()


def test_nothing_changed_gives_the_same_bytes(mine: Print) -> None:
    answer = mine.again()

    assert answer.findings == ()
    assert answer.same_bytes is True
    assert answer.made is not None
    assert Path(answer.made.folder) == mine.place / "print-again-1"
    assert bytes_of(answer.made.folder) == bytes_of(mine.place / "print")
    assert answer.words == "Print 1 is made again: the print file has the same bytes."
    assert answer.made.ledger_number == 2
    assert (
        show_print("2", mine.ledger).entry.plan_digest
        == show_print("1", mine.ledger).entry.plan_digest
    )


def test_a_picture_that_moved_is_found_by_its_content(mine: Print) -> None:
    archive = mine.place / "archive/2026"
    archive.mkdir(parents=True)
    mine.scan.rename(archive / "renamed.tif")

    gone = mine.again()
    assert (gone.made, gone.picture.status) == (None, "gone")
    assert codes(gone) == ["again-picture-gone"]

    found = mine.again(look_in=(mine.place / "archive",))
    assert found.picture.status == "moved"
    assert found.picture.path == str(archive / "renamed.tif")
    assert codes(found) == ["again-picture-moved"]
    assert found.same_bytes is True


def test_an_edited_picture_is_told_measured_and_made_only_on_a_word(mine: Print) -> None:
    scan = tifffile.imread(mine.scan).astype(np.float64)
    with tifffile.TiffFile(mine.scan) as file:
        profile = file.pages[0].tags["InterColorProfile"].value
    lighter = np.clip(scan * 1.1, 0, 65535).astype(np.uint16)
    tag = (34675, "B", None, profile, True)
    tifffile.imwrite(mine.scan, lighter, photometric="rgb", rowsperstrip=64, extratags=[tag])

    asked = mine.again()

    assert asked.made is None
    assert not list(mine.place.glob("print-again*"))
    assert codes(asked) == ["again-picture-edited", "again-other-pixels"]
    assert asked.difference is not None
    assert asked.difference.points == 1024
    assert asked.difference.differing == 1024
    made = mine.again(nearest=True, out=mine.place / "nearest")
    assert made.same_bytes is False
    _agrees_with_the_files(mine, made)


def _agrees_with_the_files(mine: Print, made: AgainAnswer) -> None:
    """The figures against the two print files themselves, every pixel, by the engine."""
    import imagecodecs

    assert made.made is not None
    assert made.difference is not None
    plan = json.loads((mine.place / "print/plan.json").read_text(encoding="utf-8"))
    top, left = plan["sheet"]["picture_top_px"], plan["sheet"]["picture_left_px"]
    size = plan["size"]
    labs = []
    for folder in (mine.place / "print", Path(made.made.folder)):
        sheet = tifffile.imread(folder / "print.tif")
        picture = sheet[top : top + size["height_px"], left : left + size["width_px"]] / 65535.0
        lab = imagecodecs.cms_transform(
            np.ascontiguousarray(picture[::4, ::4]),
            stock_profile_bytes(get_stock("chalk-matte")),
            imagecodecs.cms_profile("lab2"),
            colorspace="rgb", outcolorspace="lab", intent=1, flags=0x100, outdtype="f8",
        )  # fmt: skip
        labs.append(lab)
    gap = delta_e_2000(labs[0], labs[1])
    assert made.difference.mean_de00 == pytest.approx(float(gap.mean()), rel=0.05)
    assert made.difference.p95_de00 == pytest.approx(float(np.percentile(gap, 95)), rel=0.1)


def test_a_replaced_profile_is_told_and_the_kept_one_is_used(mine: Print) -> None:
    stock = get_stock(OWN, mine.stocks)
    gloss = get_stock("harbour-gloss")
    changed = stock.model_copy(update={"facts": gloss.facts, "media_setting": "thin paper"})
    add_stock(changed, stock_profile_bytes(gloss), directory=mine.stocks, replace=True)

    answer = mine.again()

    assert codes(answer) == ["again-profile-replaced", "again-stock-changed"]
    assert "media setting “thin paper”" in answer.findings[1].found
    assert answer.same_bytes is True


def test_a_retired_stock_is_told_and_its_kept_self_is_used(mine: Print) -> None:
    shutil.rmtree(mine.stocks)

    answer = mine.again()

    assert codes(answer) == ["again-stock-retired"]
    assert answer.same_bytes is True


def test_other_versions_without_other_pixels_are_told_and_made(
    mine: Print, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = versions.part_versions
    monkeypatch.setattr(versions, "part_versions", lambda: {**now(), "numpy": "99.0"})

    answer = mine.again()

    assert codes(answer) == ["again-versions", "again-same-pixels"]
    assert "numpy" in answer.findings[0].found
    assert "99.0" in answer.findings[0].found
    assert answer.difference is not None
    assert answer.difference.differing == 0
    assert answer.same_bytes is True


def test_other_pixels_of_the_same_plan_are_measured_on_this_picture(
    mine: Print, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As if a library of today rendered every code 100 steps of 65535 higher."""
    from firstsheet.pixels.sample import SamplingSink

    really = SamplingSink.codes
    now = versions.part_versions
    monkeypatch.setattr(versions, "part_versions", lambda: {**now(), "imagecodecs": "99.0"})
    monkeypatch.setattr(
        SamplingSink, "codes", lambda self: np.minimum(really(self), 65435) + np.uint16(100)
    )

    asked = mine.again()

    assert asked.made is None
    assert codes(asked) == ["again-versions", "again-other-pixels"]
    assert asked.difference is not None
    assert asked.difference.differing == 1024
    assert 0 < asked.difference.max_de00 < 1


def test_a_program_that_decides_otherwise_is_told(
    mine: Print, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As if a later release sharpened more."""
    from firstsheet.engine.sharpness import output

    monkeypatch.setattr(output, "_GAIN", 3 * output._GAIN)

    asked = mine.again()

    assert asked.made is None
    assert codes(asked) == ["again-plan-differs", "again-other-pixels"]
    assert "sharpening (gain" in asked.findings[0].found
    assert asked.difference is not None
    assert 0 < asked.difference.differing < 1024  # flat places are not sharpened
    made = mine.again(nearest=True, out=mine.place / "nearest")
    assert made.same_bytes is False


def test_it_works_when_only_the_export_is_left(mine: Print) -> None:
    folder = mine.place / "export"
    export(mine.ledger, folder, replace=False, personal=True, salvage=False)
    first = bytes_of(mine.place / "print")
    for lost in (mine.ledger, mine.stocks, mine.place / "print"):
        shutil.rmtree(lost) if lost.is_dir() else lost.unlink()

    new = mine.place / "new.sqlite3"
    answer = mine.again(export=folder, ledger=new)

    assert answer.same_bytes is True
    assert answer.made is not None
    assert bytes_of(answer.made.folder) == first
    assert answer.ledger == str(folder)
    assert prints_known(new).count == 1


def test_a_print_whose_profile_was_lost_is_told(
    mine: Print, monkeypatch: pytest.MonkeyPatch
) -> None:
    from firstsheet.jobs.ledger import again

    monkeypatch.setattr(again, "kept_profile", lambda *_: b"")

    with pytest.raises(LedgerError) as refused:
        mine.again()

    assert refused.value.code == "lost-from-ledger"


def test_a_plan_of_another_form_is_no_hindrance(
    mine: Print, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ticket and stock suffice; the comparison is then made by the pixels."""
    from firstsheet.jobs.ledger import again
    from firstsheet.store.ledger.entries import kept_plan

    monkeypatch.setattr(again, "kept_plan", lambda *of: (*kept_plan(*of)[:2], '{"from": "afar"}'))

    answer = mine.again()

    assert codes(answer) == ["again-same-pixels"]
    assert answer.same_bytes is True


def test_the_command_asks_with_its_exit_code(mine: Print) -> None:
    def run(*words: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "firstsheet", "again", "1", *words]
        places = ["--ledger", str(mine.ledger), "--stocks", str(mine.stocks)]
        return subprocess.run([*command, *places], capture_output=True, text=True, timeout=120)

    mine.scan.rename(mine.place / "elsewhere.tif")
    aside = mine.place / "aside"
    aside.mkdir()
    (mine.place / "elsewhere.tif").rename(aside / "elsewhere.tif")

    asked = run()
    assert asked.returncode == 5
    assert "The picture is gone" in asked.stdout
    done = run("--look-in", str(aside), "--json")
    assert done.returncode == 0
    assert json.loads(done.stdout)["same_bytes"] is True
