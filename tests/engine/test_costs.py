"""What sheets cost, each sum worked out by hand."""

from __future__ import annotations

import pytest

from firstsheet.engine.costs import InkPrice, LatestPrint, ink_ml, stock_cost
from firstsheet.engine.records.costs import SheetCount, StockCost
from firstsheet.engine.records.ledger import PrintState

NAME = ("cotton", "Cotton 300")
LATEST = LatestPrint(number=12, sheet="A3+", area_mm2=400 * 250, sheet_price=4.05)


def cost(
    *counts: SheetCount,
    state: PrintState | None = None,
    ink: InkPrice | None = None,
    latest: LatestPrint | None = LATEST,
) -> StockCost:
    return stock_cost(
        NAME, counts, state or PrintState(), ink or InkPrice(per_ml=0.5), latest, "EUR"
    )


def count(sheet: str, used: int, area_mm2: float, price: float | None) -> SheetCount:
    return SheetCount(stock="cotton", sheet=sheet, used=used, area_mm2=area_mm2, sheet_price=price)


def test_a_picture_takes_the_ink_the_trade_reckons_with() -> None:
    """A 540 × 360 mm picture at 13 ml/m² takes about 2.5 ml (common practice, no standard)."""
    assert ink_ml(540 * 360) == pytest.approx(2.5, abs=0.05)


def test_paper_and_ink_are_summed_at_the_prices_of_their_time() -> None:
    found = cost(
        count("A3+", 4, 4 * 100_000, 4.0),
        count("A3+", 2, 2 * 100_000, 5.0),
        count("A4", 3, 3 * 40_000, 1.5),
        state=PrintState(used=9, good=6, spoiled=3),
    )

    assert found.paper_cost == pytest.approx(4 * 4.0 + 2 * 5.0 + 3 * 1.5)  # 30.50
    # 0.72 m² of pictures, 13 ml/m², 0.50 a ml
    assert found.ink_ml == pytest.approx(9.36)
    assert found.ink_cost == pytest.approx(4.68)


def test_the_next_sheet_and_the_next_good_one_are_told_apart() -> None:
    found = cost(state=PrintState(used=9, good=6, spoiled=3))

    assert found.spoiled_percent == pytest.approx(100 / 3)
    assert found.sheets_per_good == pytest.approx(1.5)
    assert found.next is not None
    # 0.1 m² × 13 ml × 0.50 = 0.65
    assert found.next.one_sheet == pytest.approx(4.70)
    assert found.next.one_good == pytest.approx(7.05)
    assert found.sentences[0] == (
        "One more sheet of print 12 (A3+) costs 4.70 EUR: paper 4.05, ink 0.65 (1.3 ml)."
    )
    assert found.sentences[1] == (
        "A good one costs 7.05 EUR, at your average of 1.50 sheets for each good print on this "
        "stock."
    )


def test_few_sheets_make_no_average() -> None:
    found = cost(state=PrintState(used=4, good=1, spoiled=3))

    assert found.spoiled_percent is None
    assert found.sheets_per_good is None
    assert found.next is not None
    assert found.next.sheets_expected == 1
    assert "Too few sheets are judged for an average (4 of at least 5)." in found.sentences


def test_only_spoiled_sheets_make_no_average_of_good_ones() -> None:
    found = cost(state=PrintState(used=6, spoiled=6))

    assert found.spoiled_percent == 100
    assert found.sheets_per_good is None


def test_a_missing_price_is_named_and_nothing_is_made_up() -> None:
    found = cost(
        count("A3+", 4, 400_000, None),
        ink=InkPrice(),
        latest=LatestPrint(number=12, sheet="A3+", area_mm2=100_000, sheet_price=None),
    )

    assert found.paper_cost is None
    assert found.ink_cost is None
    assert found.next is not None
    assert found.next.one_sheet is None
    assert (
        "the price of the sheet A3+ and the price of a ml of ink is missing" in (found.sentences[0])
    )


def test_an_own_figure_for_ink_takes_the_place_of_the_trades() -> None:
    found = cost(
        count("A3+", 1, 1_000_000, 4.0), ink=InkPrice(ml_per_m2=20, is_own=True, per_ml=0.5)
    )

    assert found.ink_ml == pytest.approx(20)
    assert not any("average of the trade" in sentence for sentence in found.sentences)
    assert any("average of the trade" in sentence for sentence in cost().sentences)
