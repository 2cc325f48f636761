"""What a stock's sheets have cost, own averages, and what the next one will.

Takes counts and prices; gives `StockCost`. Ink is estimated from the picture's area: 13 ml/m² on
average (common practice, one published survey of users' printers, from memory), or the person's
own figure. Tests: tests/engine/test_costs.py.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from firstsheet.engine.records.costs import NextCost, SheetCount, StockCost
from firstsheet.engine.records.ledger import PrintState

__all__ = ["INK_ML_PER_M2", "LEAST_JUDGED", "InkPrice", "LatestPrint", "ink_ml", "stock_cost"]

INK_ML_PER_M2 = 13.0
LEAST_JUDGED = 5  # fewer judged sheets make no average
_MM2_PER_M2 = 1e6


@dataclass(frozen=True, kw_only=True)
class InkPrice:
    """How much ink a picture takes, and what it costs."""

    ml_per_m2: float = INK_ML_PER_M2
    is_own: bool = False
    per_ml: float | None = None  # money


@dataclass(frozen=True, kw_only=True)
class LatestPrint:
    """The print that the next sheet is reckoned for."""

    number: int
    sheet: str
    area_mm2: float
    sheet_price: float | None


def ink_ml(area_mm2: float, ml_per_m2: float = INK_ML_PER_M2) -> float:
    """Ink for a picture of this area, ml.

    Examples
    --------
    >>> round(ink_ml(540 * 360), 2)  # handbook of the trade: about 2.5
    2.53
    """
    return area_mm2 / _MM2_PER_M2 * ml_per_m2


def stock_cost(
    name: tuple[str, str],
    counts: Iterable[SheetCount],
    state: PrintState,
    ink: InkPrice,
    latest: LatestPrint | None,
    currency: str,
) -> StockCost:
    """Sum one stock.

    Parameters
    ----------
    name
        The stock's short name, and its title.
    counts
        Its sheets by size and price.
    state
        Sheets used, good and spoiled of all its prints together.
    latest
        The print that one more sheet is reckoned for.
    """
    rows = tuple(counts)
    judged = state.good + state.spoiled
    enough = judged >= LEAST_JUDGED
    per_good = judged / state.good if enough and state.good else None
    ml = ink_ml(sum(row.area_mm2 for row in rows), ink.ml_per_m2)
    paper: float | None = 0.0
    for row in rows:
        if row.sheet_price is None or paper is None:
            paper = None
        else:
            paper += row.used * row.sheet_price
    following = _next(latest, ink, per_good) if latest is not None else None
    return StockCost(
        stock=name[0],
        title=name[1],
        used=state.used,
        good=state.good,
        spoiled=state.spoiled,
        spoiled_percent=100 * state.spoiled / judged if enough else None,
        sheets_per_good=per_good,
        ink_ml=ml,
        ink_ml_per_m2=ink.ml_per_m2,
        ink_is_own=ink.is_own,
        paper_cost=paper,
        ink_cost=None if ink.per_ml is None else ml * ink.per_ml,
        next=following,
        sentences=_sentences(following, per_good, judged, ink, currency),
    )


def _next(latest: LatestPrint, ink: InkPrice, per_good: float | None) -> NextCost:
    ml = ink_ml(latest.area_mm2, ink.ml_per_m2)
    ink_cost = None if ink.per_ml is None else ml * ink.per_ml
    one = (
        latest.sheet_price + ink_cost
        if latest.sheet_price is not None and ink_cost is not None
        else None
    )
    expected = per_good or 1.0
    return NextCost(
        print_number=latest.number,
        sheet=latest.sheet,
        sheet_price=latest.sheet_price,
        ink_ml=ml,
        ink_cost=ink_cost,
        one_sheet=one,
        sheets_expected=expected,
        one_good=None if one is None else one * expected,
    )


def _sentences(
    following: NextCost | None,
    per_good: float | None,
    judged: int,
    ink: InkPrice,
    currency: str,
) -> tuple[str, ...]:
    """The answer first, then what it rests on and what is missing."""
    if following is None:
        return ()
    print_words = f"One more sheet of print {following.print_number} ({following.sheet})"
    found: list[str] = []
    if following.one_sheet is not None and following.one_good is not None:
        found.append(
            f"{print_words} costs {following.one_sheet:.2f} {currency}: paper "
            f"{following.sheet_price:.2f}, ink {following.ink_cost:.2f} "
            f"({following.ink_ml:.1f} ml)."
        )
        if per_good is not None:
            found.append(
                f"A good one costs {following.one_good:.2f} {currency}, at your average of "
                f"{per_good:.2f} sheets for each good print on this stock."
            )
    else:
        missing = [
            name
            for name, price in (
                (f"of the sheet {following.sheet}", following.sheet_price),
                ("of a ml of ink", ink.per_ml),
            )
            if price is None
        ]
        found.append(
            f"{print_words} takes about {following.ink_ml:.1f} ml of ink; its cost is not known: "
            f"the price {' and the price '.join(missing)} is missing."
        )
    if per_good is None:
        found.append(
            f"Too few sheets are judged for an average ({judged} of at least {LEAST_JUDGED})."
        )
    if not ink.is_own:
        found.append(
            f"Ink is reckoned with {ink.ml_per_m2:g} ml/m², an average of the trade (common "
            "practice, no standard); a dark picture takes more."
        )
    return tuple(found)
