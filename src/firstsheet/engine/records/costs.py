"""What sheets and ink cost, and how many sheets a good print takes. Data only.

Amounts are in the ledger's one currency; ink is in ml, areas are in mm².
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from firstsheet.engine.records.base import Record

__all__ = ["NextCost", "Price", "PriceItem", "SheetCount", "StockCost"]

PriceItem = Literal["sheet", "ink-ml", "ink-ml-per-m2"]


class Price(Record):
    """One price a person entered; the latest one of its kind counts from then on."""

    number: int
    at: str
    stock: str  # empty: every stock without one of its own
    item: PriceItem
    sheet: str  # name of the sheet; empty for ink
    amount: float = Field(ge=0)  # of money, or for `ink-ml-per-m2` of ml
    currency: str


class SheetCount(Record):
    """Sheets of one stock and size at one price, and the picture area on them."""

    stock: str
    sheet: str
    used: int
    area_mm2: float  # of all their pictures together
    sheet_price: float | None  # None: nobody entered one


class NextCost(Record):
    """What one more sheet of a print would cost, and one more good one."""

    print_number: int
    sheet: str
    sheet_price: float | None
    ink_ml: float
    ink_cost: float | None
    one_sheet: float | None  # paper and ink; None where a price is missing
    sheets_expected: float  # for one good print, by this stock's own average; 1 without one
    one_good: float | None


class StockCost(Record):
    """Sheets, averages and money of one stock."""

    stock: str
    title: str
    used: int
    good: int
    spoiled: int
    spoiled_percent: float | None  # of the sheets judged; None: too few
    sheets_per_good: float | None  # judged sheets for each good one; None: too few
    ink_ml: float  # estimated for all sheets used
    ink_ml_per_m2: float
    ink_is_own: bool  # the person's own figure, not the trade's
    paper_cost: float | None  # None where a price is missing
    ink_cost: float | None
    next: NextCost | None  # of the latest print on it
    sentences: tuple[str, ...] = ()
