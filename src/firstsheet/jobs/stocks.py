"""Stocks: add one from a profile, list, show, remove."""

from __future__ import annotations

from pathlib import Path

from firstsheet.engine.errors import FirstsheetError, StockError, TicketError
from firstsheet.engine.findings import finding
from firstsheet.engine.records import Finding, MarginsMm, Stock
from firstsheet.engine.units import lengths_apart, parse_length_mm
from firstsheet.jobs.answers import StockLine, StockListAnswer, StockShowAnswer
from firstsheet.jobs.planning.ticket_source import stock_for
from firstsheet.store.regular import regular_size

__all__ = ["add", "list_all", "margins_from", "remove", "show", "usable_stocks"]

_LARGEST_PROFILE_BYTES = 200_000_000


def add(
    profile: Path,
    *,
    name: str,
    surface: str,
    title: str | None = None,
    native_ppi: str = "360",
    margins: str | None = None,
    media_setting: str = "",
    notes: str = "",
    replace: bool = False,
    stocks_dir: Path | None = None,
) -> StockShowAnswer:
    """Inspect a profile and keep it as a stock.

    Raises
    ------
    StockError, ProfileError, TicketError
        If the name is taken, the profile is no paper's, or a word cannot be read.
    """
    from firstsheet.cms.inspect import inspect_paper
    from firstsheet.store.stocks import add_stock

    data = _profile_bytes(profile)
    stock = Stock.model_validate(
        {
            "name": name,
            "title": title or name.replace("-", " ").title(),
            "profile_file": f"{name}.icc",
            "surface": surface,
            "native_ppi": int(native_ppi),
            "margins": margins_from(margins),
            "media_setting": media_setting,
            "notes": notes,
            "facts": inspect_paper(data),
        }
    )
    add_stock(stock, data, directory=stocks_dir, replace=replace)
    return show(name, stocks_dir)


def _profile_bytes(path: Path) -> bytes:
    try:
        if regular_size(path) > _LARGEST_PROFILE_BYTES:
            raise StockError(
                f"{path} is larger than any profile.",
                "It was not read.",
                "Name the .icc file of the paper.",
                "no-profile-file",
            )
        return path.read_bytes()
    except OSError as error:
        raise StockError(
            f"{path} cannot be read ({error.strerror}).",
            "Without a profile there is no stock.",
            "Name the .icc file of the paper.",
            "no-profile-file",
        ) from error


def margins_from(words: str | None) -> MarginsMm:
    """Margins as said: one length for all sides, or four (top, right, bottom, left).

    Raises
    ------
    TicketError
        If they are no lengths, or not one or four of them.
    """
    if words is None:
        return MarginsMm()
    lengths = [parse_length_mm(part, zero=True) for part in lengths_apart(words)]
    if len(lengths) == 1:
        lengths = lengths * 4
    if len(lengths) != 4:
        raise TicketError(
            f"“{words}” is neither one length nor four.",
            "The unprintable edge of the sheet must be known for all four sides.",
            "Write one length, or top right bottom left: 3mm 3mm 17mm 3mm.",
            "bad-option",
        )
    top, right, bottom, left = lengths
    return MarginsMm(top=top, right=right, bottom=bottom, left=left)


def show(name: str, stocks_dir: Path | None = None) -> StockShowAnswer:
    """Give one stock with its measured facts."""
    from firstsheet.store.stocks import stock_file

    stock, _ = stock_for(name, stocks_dir)
    path = stock_file(name, stocks_dir)
    return StockShowAnswer(stock=stock, builtin=_builtin(path, stocks_dir), file=str(path))


def _builtin(path: Path, stocks_dir: Path | None) -> bool:
    """Whether a stock's file is one that comes with the program."""
    from firstsheet.store.stocks import stocks_folder

    return path.parent != stocks_folder(stocks_dir)


def usable_stocks(
    stocks_dir: Path | None,
) -> tuple[dict[str, tuple[Stock, bytes]], tuple[Finding, ...]]:
    """Every stock with its profile, and why the others are left out."""
    from firstsheet.store.stocks import load_stocks, stock_profile_bytes

    findings: list[Finding] = []

    def spoilt(name: str, error: FirstsheetError) -> None:
        findings.append(
            finding(
                code="stock-left-out",
                weight="caution",
                found=f"Stock {name} is left out: {error.found}",
                consequence=error.consequence,
                choices=(error.choice,) if error.choice else (),
            )
        )

    usable: dict[str, tuple[Stock, bytes]] = {}
    for name, stock in load_stocks(stocks_dir, spoilt).items():
        try:
            usable[name] = (stock, stock_profile_bytes(stock, stocks_dir))
        except FirstsheetError as error:
            spoilt(name, error)
    return usable, tuple(findings)


def list_all(stocks_dir: Path | None = None) -> StockListAnswer:
    """List every stock known here."""
    from firstsheet.store.stocks import stocks_folder

    usable, findings = usable_stocks(stocks_dir)
    return StockListAnswer(
        folder=str(stocks_folder(stocks_dir)),
        stocks=tuple(_line(stock, stocks_dir) for stock, _ in usable.values()),
        findings=findings,
    )


def _line(stock: Stock, stocks_dir: Path | None) -> StockLine:
    from firstsheet.store.stocks import stock_file

    facts = stock.facts
    return StockLine(
        name=stock.name,
        title=stock.title,
        surface=stock.surface,
        native_ppi=stock.native_ppi,
        white=f"L* {facts.white_lab[0]:.1f}" if facts else "not measured",
        black=f"L* {facts.black_lab[0]:.1f}" if facts else "not measured",
        builtin=_builtin(stock_file(stock.name, stocks_dir), stocks_dir),
    )


def remove(name: str, stocks_dir: Path | None = None) -> StockListAnswer:
    """Forget one of the person's own stocks."""
    from firstsheet.store.stocks import remove_stock

    remove_stock(name, stocks_dir)
    return list_all(stocks_dir)
