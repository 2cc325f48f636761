"""A made print stands in the ledger by itself, and a bad ledger never spoils a print."""

from __future__ import annotations

import hashlib
import io
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from PIL import Image

from firstsheet.engine.errors import LedgerError
from firstsheet.jobs.answers import MadeAnswer
from firstsheet.jobs.ladder import make_ladder
from firstsheet.jobs.ledger.again import AgainWish, make_again
from firstsheet.jobs.ledger.prints import prints_known, show_print
from firstsheet.jobs.make import make_print
from firstsheet.pixels.sample import sample_places
from firstsheet.store.ledger.connect import open_ledger
from firstsheet.store.ledger.entries import kept_profile, kept_sample, small_picture
from firstsheet.store.stock_text import stock_from_toml
from firstsheet.store.stocks import get_stock, stock_profile_bytes
from firstsheet.store.tickets import ticket_from_toml

NOW = "2026-12-01T12:00:00Z"
WISH = {"stock": "chalk-matte", "width": "60mm", "sheet": "110x80mm"}


def made(source: Path, out: Path, ledger: Path) -> MadeAnswer:
    return make_print(
        source,
        WISH,
        out=out,
        replace=False,
        stocks_dir=None,
        progress=lambda _doing, _share: None,
        stop=lambda: None,
        ledger=ledger,
    )


def test_an_entry_holds_what_the_print_was_made_of_and_with(made_once: Any) -> None:
    scan, folder, ledger = made_once
    shown = show_print("1", ledger)
    entry = shown.entry
    plan = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
    assert entry.kind == "print"
    assert entry.plan_digest == plan["digest"]
    assert entry.picture_sha256 == hashlib.sha256(scan.read_bytes()).hexdigest()
    assert entry.picture_bytes == scan.stat().st_size
    assert Path(entry.picture_path) == scan
    assert Path(entry.folder) == folder
    stock = get_stock("chalk-matte")
    assert (entry.stock, entry.media_setting) == ("chalk-matte", stock.media_setting)
    assert entry.media_setting
    assert entry.seconds > 0
    assert entry.program == plan["made_by"]
    assert (entry.distance_mm, entry.illuminance_lux) == (400, 500)
    assert shown.versions["numpy"] == np.__version__
    assert shown.versions["tifffile"] == tifffile.__version__
    assert {one.name: one.size_bytes for one in shown.files} == {
        path.name: path.stat().st_size for path in folder.iterdir() if path.name[0] != "."
    }
    for one in shown.files:
        assert one.sha256 == hashlib.sha256((folder / one.name).read_bytes()).hexdigest()


def test_ticket_stock_and_profile_are_kept_to_make_it_again(
    made_once: Any, tmp_path: Path, ledger: Path
) -> None:
    again = made(made_once.scan, tmp_path / "again", ledger)

    shown = show_print("latest", ledger)
    ticket = ticket_from_toml(shown.ticket)
    assert ticket.print.width_mm == 60
    assert ticket.stock == "chalk-matte"
    with open_ledger(ledger, at=NOW) as book:
        stock = book.connection.execute("SELECT stock FROM plan").fetchall()
        profile = kept_profile(book, shown.entry.profile_sha256)
        profiles = book.connection.execute("SELECT count(*) FROM profile").fetchone()[0]
    assert shown.entry.number == again.ledger_number == 2
    assert shown.entry.seconds == again.seconds
    assert len(stock) == 2  # another distance is another plan
    assert stock_from_toml(stock[0][0], name="kept") == get_stock("chalk-matte")
    assert profile == stock_profile_bytes(get_stock("chalk-matte"))
    assert profiles == 1


def test_the_small_picture_and_the_codes_are_the_prints_own(made_once: Any) -> None:
    _, folder, ledger = made_once
    plan = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
    sheet = tifffile.imread(folder / "print.tif")
    rows = sample_places(plan["sheet"]["picture_top_px"], plan["size"]["height_px"])
    columns = sample_places(plan["sheet"]["picture_left_px"], plan["size"]["width_px"])
    with open_ledger(ledger, at=NOW) as book:
        sample = kept_sample(book, 1)
        jpeg = small_picture(book, 1)
    assert sample is not None
    codes = np.frombuffer(sample.codes, "<u2").reshape(sample.rows, sample.columns, -1)
    assert (codes == sheet[rows][:, columns]).all()
    with Image.open(io.BytesIO(jpeg)) as picture:
        assert max(picture.size) <= 320
        aspect = picture.size[0] / picture.size[1]
    assert aspect == pytest.approx(900 / 640, rel=0.01)


def test_a_ledger_that_cannot_be_written_does_not_spoil_the_print(
    made_once: Any, tmp_path: Path
) -> None:
    spoilt = tmp_path / "ledger.sqlite3"
    spoilt.write_bytes(b"no database at all " * 300)

    answer = made(made_once.scan, tmp_path / "print", spoilt)

    assert answer.ledger_number is None
    told = answer.findings[-1]
    assert told.code == "ledger-not-written"
    assert told.weight == "caution"
    assert "made and whole" in told.found
    assert str(spoilt) in told.found
    assert (tmp_path / "print/print.tif").is_file()
    assert spoilt.read_bytes() == b"no database at all " * 300


def test_a_mistake_in_the_ledger_does_not_spoil_the_print_either(
    made_once: Any, tmp_path: Path, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from firstsheet.store.ledger import entries

    def broken(*_: object) -> None:
        raise KeyError("a mistake of the program")

    monkeypatch.setattr(entries, "add_entry", broken)
    answer = made(made_once.scan, tmp_path / "print", ledger)

    assert answer.findings[-1].code == "ledger-not-written"
    assert "KeyError" in answer.findings[-1].found


def test_a_print_that_was_not_made_is_not_kept(
    made_once: Any, tmp_path: Path, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from firstsheet.engine.errors import StoppedError
    from firstsheet.jobs import make

    def stopped(*_: object) -> None:
        raise StoppedError("Stopped.", "", "")

    monkeypatch.setattr(make, "still_the_same", stopped)
    with pytest.raises(StoppedError):
        made(made_once.scan, tmp_path / "print", ledger)

    assert prints_known(ledger).count == 1


def test_a_sharpening_ladder_is_kept_as_a_test_with_its_own_sheet(
    made_once: Any, tmp_path: Path, ledger: Path
) -> None:
    answer = make_ladder(
        made_once.scan,
        WISH,
        out=tmp_path / "ladder",
        on="A5",
        at=None,
        replace=False,
        stocks_dir=None,
        progress=lambda _doing, _share: None,
        stop=lambda: None,
        ledger=ledger,
    )

    assert answer.ledger_number == 2
    entry = show_print("2", ledger).entry
    assert (entry.kind, entry.sheet, entry.print_file) == ("test", "A5", "ladder.tif")
    assert entry.sheet_width_mm == pytest.approx(210, abs=0.1)  # ISO 216, lying
    assert entry.width_mm == pytest.approx(5 * answer.width_mm, abs=0.5)
    assert prints_known(ledger, words="test").count == 1
    with pytest.raises(LedgerError, match="is a test sheet"):
        make_again(
            AgainWish(print_="2", ledger=ledger),
            progress=lambda _doing, _share: None,
            stop=lambda: None,
        )
