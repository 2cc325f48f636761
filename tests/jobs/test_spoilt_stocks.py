"""One stock whose file or profile is spoilt does not keep the others away, and is told."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from firstsheet.engine.errors import FirstsheetError
from firstsheet.jobs.stocks import list_all, usable_stocks
from firstsheet.store.stocks import add_stock, get_stock, load_stocks, stock_profile_bytes

DEMO = ("chalk-matte", "harbour-gloss", "tidings-newsprint")


def own_stock(folder: Path, name: str) -> Path:
    """A demo stock kept under another name; gives its TOML file."""
    stock = get_stock("chalk-matte", folder)
    kept = stock.model_copy(update={"name": name, "title": name.title()})
    return add_stock(kept, stock_profile_bytes(stock, folder), directory=folder)


def test_a_slip_in_one_file_leaves_that_stock_out_and_says_its_line(tmp_path: Path) -> None:
    path = own_stock(tmp_path, "quay-baryta")
    text = path.read_text("utf-8")
    path.write_text(text.replace("surface = ", "surfice = "), "utf-8")

    answer = list_all(tmp_path)
    assert [one.name for one in answer.stocks] == list(DEMO)
    (finding,) = answer.findings
    assert finding.found.startswith("Stock quay-baryta is left out: ")
    assert "line" in finding.found
    assert "surfice" in finding.found
    assert finding.choices
    with pytest.raises(FirstsheetError, match="surfice"):  # nobody is there to be told
        load_stocks(tmp_path)


@pytest.mark.parametrize("spoil", ["gone", "changed"])
def test_a_profile_that_is_gone_or_another_leaves_its_stock_out(spoil: str, tmp_path: Path) -> None:
    own_stock(tmp_path, "quay-baryta")
    own_stock(tmp_path, "slipway-rag")
    (profile,) = tmp_path.glob("quay-baryta*.icc")
    if spoil == "gone":
        profile.unlink()
    else:
        profile.write_bytes(profile.read_bytes() + b"more")

    usable, findings = usable_stocks(tmp_path)
    assert sorted(usable) == sorted((*DEMO, "slipway-rag"))
    assert ["quay-baryta" in one.found for one in findings] == [True]


def test_a_spoilt_stock_that_hides_a_demo_stock_is_not_replaced_by_it(tmp_path: Path) -> None:
    path = own_stock(tmp_path, "quay-baryta")
    shutil.copy(path, tmp_path / "chalk-matte.toml")  # holds a stock of another name

    told: list[str] = []
    found = load_stocks(tmp_path, lambda name, _error: told.append(name))
    assert told == ["chalk-matte"]
    assert sorted(found) == ["harbour-gloss", "quay-baryta", "tidings-newsprint"]
