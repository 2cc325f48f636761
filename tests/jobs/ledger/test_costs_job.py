"""Prices as a person types them, and the costs they lead to."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from firstsheet.engine.errors import FirstsheetError
from firstsheet.jobs.ledger.costs import costs_by_stock, set_ink, set_sheet_price
from firstsheet.jobs.ledger.prints import say_printed


def test_a_price_and_a_sheet_make_a_cost(ledger: Path) -> None:
    say_printed("1", ledger, copies=6, verdict="good", words="")
    set_sheet_price(ledger, stock="chalk-matte", sheet="110x80mm", price="0,50 EUR")
    set_ink(ledger, stock="", per_ml="0.8", ml_per_m2=None)
    (found,) = set_ink(ledger, stock="chalk-matte", per_ml=None, ml_per_m2=10).stocks

    assert found.paper_cost == pytest.approx(3.0)
    assert found.next is not None
    # a picture of 60 × 42.7 mm at 10 ml/m² and 0.80 a ml
    assert found.next.ink_cost == pytest.approx(0.060 * 0.0427 * 10 * 0.8, rel=0.01)
    assert found.next.one_good == found.next.one_sheet == pytest.approx(0.5205, abs=0.001)
    assert costs_by_stock(ledger).currency == "EUR"
    assert costs_by_stock(ledger, stock="harbour-gloss").stocks == ()


@pytest.mark.parametrize(
    ("price", "code"),
    [
        ("dear", "bad-amount"),
        ("-4 EUR", "bad-amount"),
        ("EUR 4 EUR", "bad-amount"),
        ("1.2.3 EUR", "bad-amount"),
        ("4.20", "no-currency"),
    ],
)
def test_what_is_no_price_is_told(ledger: Path, price: str, code: str) -> None:
    with pytest.raises(FirstsheetError) as refused:
        set_sheet_price(ledger, stock="chalk-matte", sheet="A4", price=price)

    assert refused.value.code == code
    assert price in refused.value.found


@pytest.mark.parametrize("amount", [0, -1, 1000, float("nan")])
def test_an_amount_of_ink_no_paper_takes_is_refused(ledger: Path, amount: float) -> None:
    with pytest.raises(FirstsheetError) as refused:
        set_ink(ledger, stock="", per_ml=None, ml_per_m2=amount)

    assert refused.value.code == "bad-amount"


def test_the_commands_tell_the_same(ledger: Path) -> None:
    def run(*words: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "firstsheet", "prints", *words, "--ledger", str(ledger)]
        return subprocess.run(command, capture_output=True, text=True, timeout=120)

    sheet = ("--stock", "chalk-matte", "--sheet", "110x80mm", "--costs", "$2")
    told = run("price", *sheet, "--ink-ml", "0.1")
    assert told.returncode == 0
    assert "A ml of ink costs 0.10 $." in told.stdout
    assert json.loads(run("costs", "--json").stdout) == json.loads(
        costs_by_stock(ledger).model_dump_json()
    )
    assert "One more sheet of print 1" in run("costs").stdout
    assert run("price", "--sheet", "A4").returncode == 2
    assert run("price").returncode == 2
