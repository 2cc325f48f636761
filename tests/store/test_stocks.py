"""Stocks on disk: demo stocks, a person's own, and slips in their files."""

from __future__ import annotations

import contextlib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstsheet.engine.errors import FirstsheetError, OutputError, StockError, TicketError
from firstsheet.engine.records import IntentFacts, MarginsMm, ProfileFacts, Stock, StockFacts
from firstsheet.store.stock_text import stock_from_toml, stock_to_toml
from firstsheet.store.stocks import (
    add_stock,
    builtin_names,
    get_stock,
    load_stocks,
    remove_stock,
    stock_file,
    stock_profile_bytes,
    stocks_folder,
)

OWN = Stock(
    name="quay-baryta",
    title="Quay Baryta",
    profile_file="/tmp/somewhere.icc",
    surface="baryta",
    native_ppi=720,
    margins=MarginsMm(top=3, right=3.4, bottom=17, left=3),
    media_setting="baryta, high quality",
    notes='Says "ümlaut"\nand a second line',
)
FACTS = StockFacts(
    profile=ProfileFacts(description="quay", version="4.3", kind="output", problems=("none",)),
    white_lab=(95.0, 0.0, -2.0),
    black_lab=(14.6, 0.1, 0.2),
    white_density=0.05,
    black_density=1.73,
    contrast=54.0,
    gamut_volume=341_000.5,
    intents=(
        IntentFacts(intent="relative", has_table=True),
        IntentFacts(intent="saturation", has_table=False, same_as="relative"),
    ),
    floor_p95_de00=0.19,
    floor_p99_de00=0.62,
    floor_max_de00=1.9,
)
TEXT = """\
name = "quay-baryta"
title = "Quay Baryta"
profile = "quay.icc"
surface = "baryta"
native-ppi = 360

[margins]
top = "3 mm"
bottom = "17 mm"
"""


def test_three_demo_stocks_come_with_their_profiles(tmp_path: Path) -> None:
    stocks = load_stocks(tmp_path)

    assert list(stocks) == ["chalk-matte", "harbour-gloss", "tidings-newsprint"]
    for name, stock in stocks.items():
        profile = stock_profile_bytes(stock, tmp_path)
        # ICC.1: bytes 36-39 are 'acsp', 0-3 the size, 12-15 the class
        assert profile[36:40] == b"acsp"
        assert int.from_bytes(profile[:4], "big") == len(profile)
        assert profile[12:16] == b"prtr"
        assert (stock.name, get_stock(name, tmp_path)) == (name, stock)
    assert stocks["chalk-matte"].margins.bottom == 17


@pytest.mark.slow
@pytest.mark.parametrize("name", ["chalk-matte", "harbour-gloss", "tidings-newsprint"])
def test_the_kept_facts_of_a_demo_stock_are_those_of_its_profile(name: str, tmp_path: Path) -> None:
    from firstsheet.cms.inspect import inspect_paper

    stock = get_stock(name, tmp_path)
    fresh = inspect_paper(stock_profile_bytes(stock, tmp_path))

    assert stock.facts is not None, "run tools/measure_demo_stocks.py"
    assert stock.facts.profile == fresh.profile, "run tools/measure_demo_stocks.py"
    assert stock.facts.white_lab == pytest.approx(fresh.white_lab, abs=1e-3)
    assert stock.facts.black_lab == pytest.approx(fresh.black_lab, abs=1e-3)
    assert stock.facts.contrast == pytest.approx(fresh.contrast, abs=1e-2)
    assert stock.facts.gamut_volume == pytest.approx(fresh.gamut_volume, rel=1e-4)
    assert stock.facts.floor_p99_de00 == pytest.approx(fresh.floor_p99_de00, abs=1e-3)


def test_an_own_stock_is_kept_whole_and_read_back_the_same(tmp_path: Path) -> None:
    folder = tmp_path / "not yet there"
    path = add_stock(OWN, b"profile bytes", directory=folder)

    assert path == folder / "quay-baryta.toml"
    kept = load_stocks(folder)["quay-baryta"]
    assert kept == OWN.model_copy(update={"profile_file": kept.profile_file})
    assert {one.name for one in folder.iterdir()} == {kept.profile_file, "quay-baryta.toml"}
    assert stock_profile_bytes(kept, folder) == b"profile bytes"


def test_measured_facts_survive(tmp_path: Path) -> None:
    add_stock(OWN.model_copy(update={"facts": FACTS}), b"x", directory=tmp_path)

    assert get_stock("quay-baryta", tmp_path).facts == FACTS


@pytest.mark.slow
@given(
    st.builds(
        Stock,
        name=st.just("a"),
        title=st.text(st.characters(exclude_categories=["Cs"])),
        profile_file=st.just("a.icc"),
        surface=st.sampled_from(["gloss", "matte", "canvas"]),
        native_ppi=st.sampled_from([300, 360, 600, 720]),
        margins=st.builds(MarginsMm, top=st.floats(0, 200), left=st.floats(0, 200)),
        notes=st.text(st.characters(exclude_categories=["Cs"])),
        facts=st.sampled_from([None, FACTS]),
    )
)
def test_a_stock_written_and_read_back_is_exactly_the_same(stock: Stock) -> None:
    assert stock_from_toml(stock_to_toml(stock), name="a.toml") == stock


def test_a_stock_is_not_replaced_in_silence(tmp_path: Path) -> None:
    add_stock(OWN, b"first", directory=tmp_path)
    with pytest.raises(StockError, match="is there already"):
        add_stock(OWN, b"second", directory=tmp_path)
    assert stock_profile_bytes(get_stock("quay-baryta", tmp_path), tmp_path) == b"first"
    with pytest.raises(StockError, match="is there already"):
        add_stock(OWN.model_copy(update={"name": "chalk-matte"}), b"x", directory=tmp_path)

    add_stock(OWN, b"second", directory=tmp_path, replace=True)
    assert stock_profile_bytes(get_stock("quay-baryta", tmp_path), tmp_path) == b"second"
    assert len(list(tmp_path.iterdir())) == 2  # the old profile is gone


def test_an_own_stock_may_hide_a_demo_stock_when_allowed(tmp_path: Path) -> None:
    mine = OWN.model_copy(update={"name": "chalk-matte"})
    add_stock(mine, b"mine", directory=tmp_path, replace=True)

    assert load_stocks(tmp_path)["chalk-matte"].title == "Quay Baryta"
    assert stock_profile_bytes(get_stock("chalk-matte", tmp_path), tmp_path) == b"mine"
    remove_stock("chalk-matte", tmp_path)
    assert load_stocks(tmp_path)["chalk-matte"].title == "Chalk Matte 310"


@pytest.mark.parametrize("name", ["Quay", "quay baryta", "../quay", "", "quay--b", "-quay"])
def test_a_name_that_files_cannot_bear_is_refused(name: str, tmp_path: Path) -> None:
    with pytest.raises(StockError, match="cannot be a stock's name"):
        add_stock(OWN.model_copy(update={"name": name}), b"x", directory=tmp_path)
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(StockError, match="No stock is called"):
        stock_file(name, tmp_path)


def test_an_unknown_stock_names_one_that_comes_close(tmp_path: Path) -> None:
    with pytest.raises(StockError) as error:
        get_stock("chalk-mate", tmp_path)

    assert error.value.found == "No stock is called “chalk-mate”."
    assert "Perhaps “chalk-matte”?" in error.value.choice


def test_removing_takes_stock_and_profile_but_no_demo_stock(tmp_path: Path) -> None:
    add_stock(OWN, b"x", directory=tmp_path)
    remove_stock("quay-baryta", tmp_path)
    assert list(tmp_path.iterdir()) == []

    with pytest.raises(StockError, match="demo stock"):
        remove_stock("chalk-matte", tmp_path)
    assert "chalk-matte" in builtin_names()


@pytest.mark.parametrize("good_writes", [0, 1])
def test_a_full_disk_leaves_the_old_stock_and_nothing_else(
    good_writes: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    add_stock(OWN, b"first", directory=tmp_path)
    before = {one.name: one.read_bytes() for one in tmp_path.iterdir()}
    calls: list[object] = []

    def full(*handle: object) -> None:
        calls.append(handle)
        if len(calls) > good_writes:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr("firstsheet.store.stocks.os.fsync", full)
    with pytest.raises(OutputError, match="No space left on device"):
        add_stock(OWN, b"second", directory=tmp_path, replace=True)
    assert {one.name: one.read_bytes() for one in tmp_path.iterdir()} == before


def test_a_folder_that_is_a_file_is_said(tmp_path: Path) -> None:
    (tmp_path / "stocks").write_text("no folder", "utf-8")

    with pytest.raises(OutputError, match="cannot be kept in"):
        add_stock(OWN, b"x", directory=tmp_path / "stocks")


def test_a_missing_profile_is_said(tmp_path: Path) -> None:
    add_stock(OWN, b"x", directory=tmp_path)
    (tmp_path / get_stock("quay-baryta", tmp_path).profile_file).unlink()

    with pytest.raises(StockError, match="The profile of Quay Baryta"):
        stock_profile_bytes(get_stock("quay-baryta", tmp_path), tmp_path)


def test_a_profile_that_was_exchanged_is_noticed(tmp_path: Path) -> None:
    # SHA-256 of "abc": the example of FIPS 180-4
    digest = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    profile = FACTS.profile.model_copy(update={"sha256": digest})
    facts = FACTS.model_copy(update={"profile": profile})
    add_stock(OWN.model_copy(update={"facts": facts}), b"abc", directory=tmp_path)
    kept = get_stock("quay-baryta", tmp_path)
    assert stock_profile_bytes(kept, tmp_path) == b"abc"

    (tmp_path / kept.profile_file).write_bytes(b"abd")
    with pytest.raises(StockError, match="is not the one that was measured"):
        stock_profile_bytes(kept, tmp_path)


def test_without_a_folder_the_platforms_place_is_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", "/somewhere")

    assert stocks_folder().name == "stocks"
    assert "firstsheet" in str(stocks_folder())


@pytest.mark.parametrize(
    ("line", "wrong", "says", "right"),
    [
        (1, 'name = "Quay Baryta"', "is not a stock's name", "“quay-baryta”"),
        (2, "title = 3", "title = 3 is not a text", "in quotes"),
        (4, 'surface = "shiny"', "surface = “shiny” is not a surface", "gloss, baryta"),
        (4, 'surfase = "gloss"', "the key “surfase” is not known", "“surface”"),
        (5, "native-ppi = 1440", "native-ppi = 1440 is not a printer's raster", "300, 360"),
        (5, "native-ppi = 360 ppi", "is not TOML", "quotes"),
        (7, "[margin]", "the section [margin] is not known", "“margins”"),
        (8, "top = 3", "[margins] top = 3 is not a margin", 'top = "5 mm"'),
        (8, 'top = "3"', "[margins] top = “3” is not a margin", 'top = "5 mm"'),
        (9, 'foot = "17 mm"', "the key “foot” in [margins] is not known", "bottom"),
    ],
)
def test_a_slip_in_a_stock_names_file_line_value_and_what_would_be_right(
    line: int, wrong: str, says: str, right: str
) -> None:
    lines = TEXT.splitlines()
    lines[line - 1] = wrong

    with pytest.raises(TicketError) as slip:
        stock_from_toml("\n".join(lines), name="quay-baryta.toml")

    assert slip.value.found.startswith(f"quay-baryta.toml, line {line}: ")
    assert says in slip.value.found
    assert right in slip.value.choice


def test_a_stock_that_lacks_a_line_says_which(tmp_path: Path) -> None:
    with pytest.raises(TicketError, match="has no surface"):
        stock_from_toml(TEXT.replace('surface = "baryta"\n', ""), name="q.toml")

    (tmp_path / "pier.toml").write_text(TEXT, "utf-8")
    with pytest.raises(StockError, match="holds a stock called “quay-baryta”"):
        load_stocks(tmp_path)


def test_meddled_facts_are_refused_with_their_line() -> None:
    with pytest.raises(TicketError, match=r"q\.toml, line 10: facts"):
        stock_from_toml(TEXT + "[facts]\ncontrast = 3\n", name="q.toml")


@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_any_text_is_a_stock_or_a_slip_and_never_a_crash(text: str) -> None:
    with contextlib.suppress(FirstsheetError):  # any other error fails
        assert stock_from_toml(text, name="q.toml").name
