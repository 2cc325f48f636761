"""Makes a print of the ledger once more, or says what has changed since and asks.

The ticket, the stock and the profile are those that were kept; the picture is found by its
content. What the print would be today is rendered and held, point by point, against the codes
kept of the first one. Tests: tests/jobs/ledger/test_again_job.py.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.again import (
    decision_findings,
    difference_findings,
    needs_a_word,
    picture_findings,
    stock_findings,
    version_findings,
)
from firstsheet.engine.errors import FirstsheetError, LedgerError, TicketError
from firstsheet.engine.records import Finding, Stock, Ticket
from firstsheet.engine.records.again import CodeDifference, PictureFound, StockFound
from firstsheet.engine.records.ledger import LedgerEntry
from firstsheet.engine.records.plan import Plan
from firstsheet.engine.streams import Progress, StopCheck
from firstsheet.jobs.answers import AgainAnswer
from firstsheet.jobs.clock import utc_now
from firstsheet.jobs.ledger.prints import reading, the_print
from firstsheet.store.ledger.connect import Ledger, open_ledger
from firstsheet.store.ledger.entries import (
    PrintSample,
    entry_files,
    kept_plan,
    kept_profile,
    kept_sample,
    kept_versions,
)

if TYPE_CHECKING:
    from firstsheet.jobs.planning.open_picture import Prepared

__all__ = ["AgainWish", "make_again"]


@dataclass(frozen=True, kw_only=True)
class AgainWish:
    """Which print, and what a person allows."""

    print_: str
    picture: Path | None = None  # where the picture is, or another one to make it of
    look_in: Sequence[Path] = ()  # folders to look for it in
    nearest: bool = False  # make it although it will be another one
    export: Path | None = None  # an export of the ledger to take it from
    out: Path | None = None
    replace: bool = False
    stocks_dir: Path | None = None
    ledger: Path | None = None  # that remembers the new print


@dataclass(frozen=True, kw_only=True)
class _Kept:
    """What the ledger keeps of a print."""

    ledger: str
    entry: LedgerEntry
    ticket: Ticket
    stock: Stock
    profile: bytes
    decisions: Mapping[str, Any] | None  # None: of a form that cannot be read any more
    versions: dict[str, str]
    print_sha256: str
    sample: PrintSample | None


def make_again(wish: AgainWish, *, progress: Progress, stop: StopCheck) -> AgainAnswer:
    """Make a print once more; the same bytes when nothing changed.

    Returns
    -------
    AgainAnswer
        What has changed. `made` is None where a person must decide first.

    Raises
    ------
    LedgerError
        If there is no such print, or what it rests on was lost.
    FirstsheetError
        As `jobs.make.make_print`.
    """
    kept = _kept(wish)
    progress("Looking for the picture", 0.0)
    picture = _find_picture(kept.entry, wish, stop)
    told = [*picture_findings(picture), *stock_findings(kept.stock.name, _stock_now(kept, wish))]
    if picture.status == "gone":
        return _answer(kept, picture, None, told)
    with tempfile.TemporaryDirectory(prefix="firstsheet-again-") as place:
        stocks = _kept_stock(kept, Path(place))
        ticket = kept.ticket.model_copy(update={"picture": picture.path, "earlier": ()})
        return _with_picture(kept, picture, ticket, stocks, (told, wish), progress, stop)


def _with_picture(
    kept: _Kept,
    picture: PictureFound,
    ticket: Ticket,
    stocks: Path,
    so_far: tuple[list[Finding], AgainWish],
    progress: Progress,
    stop: StopCheck,
) -> AgainAnswer:
    from firstsheet.files.writing.whole import write_whole
    from firstsheet.jobs.ledger.versions import part_versions
    from firstsheet.jobs.make import make_print
    from firstsheet.jobs.planning.open_picture import OpenPicture
    from firstsheet.store.tickets import ticket_to_toml

    told, wish = so_far
    with OpenPicture.open(ticket, progress=progress, stop=stop) as opened:
        prepared = opened.prepare(ticket, stocks_dir=stocks, progress=progress, stop=stop)
        otherwise = _plan_findings(kept.decisions, prepared.plan)
        versions = part_versions()
        difference = None
        if (
            picture.status == "edited"
            or otherwise
            or kept.decisions is None
            or versions != kept.versions
        ):
            difference = _difference(kept.sample, prepared, progress, stop)
            told += version_findings(kept.versions, versions, difference)
            told += otherwise
            told += difference_findings(difference)
            if needs_a_word(picture, difference) and not wish.nearest:
                return _answer(kept, picture, difference, told)
        source = stocks.parent / "again.toml"
        write_whole(source, ticket_to_toml(ticket).encode("utf-8"))
        made = make_print(
            source,
            {},
            out=wish.out or _free_folder(Path(kept.entry.folder)),
            replace=wish.replace,
            stocks_dir=stocks,
            progress=progress,
            stop=stop,
            reuse=opened,
            ledger=wish.ledger,
        )
    from firstsheet.files.hashing import sha256_of

    same = sha256_of(Path(made.folder) / kept.entry.print_file) == kept.print_sha256
    return _answer(kept, picture, difference, told).model_copy(
        update={"made": made, "same_bytes": same, "words": _made_words(kept, same)}
    )


def _made_words(kept: _Kept, same: bool) -> str:
    if same:
        return f"Print {kept.entry.number} is made again: the print file has the same bytes."
    return f"Print {kept.entry.number} is made again, as near as it can be today."


def _answer(
    kept: _Kept, picture: PictureFound, difference: CodeDifference | None, told: list[Finding]
) -> AgainAnswer:
    return AgainAnswer(
        ledger=kept.ledger,
        number=kept.entry.number,
        picture=picture,
        difference=difference,
        findings=tuple(told),
        made=None,
        same_bytes=None,
        words=f"Print {kept.entry.number} was not made again: something has changed, and you "
        "decide.",
    )


@contextmanager
def _book(wish: AgainWish) -> Iterator[Ledger]:
    """The ledger, or a ledger made of an export for the moment."""
    if wish.export is None:
        with reading(wish.ledger) as book:
            yield book
        return
    from firstsheet.store.ledger.restore import import_tables

    with (
        tempfile.TemporaryDirectory(prefix="firstsheet-export-") as place,
        open_ledger(Path(place) / "ledger.sqlite3", at=utc_now()) as book,
    ):
        import_tables(book, wish.export)
        yield book


def _kept(wish: AgainWish) -> _Kept:
    from firstsheet.store.plan_text import decisions_in
    from firstsheet.store.stock_text import stock_from_toml
    from firstsheet.store.tickets import ticket_from_toml

    with _book(wish) as book:
        entry = the_print(book, wish.print_)
        if entry.kind == "test":
            raise LedgerError(
                f"Print {entry.number} is a test sheet.",
                "Only prints are made again.",
                f"Its folder: {entry.folder}. For another one: firstsheet ladder.",
                "test-sheet",
            )
        ticket, stock, plan_text = kept_plan(book, entry.plan_digest)
        profile = kept_profile(book, entry.profile_sha256)
        if not ticket or not stock or not profile:
            raise LedgerError(
                f"What print {entry.number} rests on was lost from the ledger.",
                "It cannot be made again from it.",
                "Look for plan.json in its folder, or in a copy of the ledger.",
                "lost-from-ledger",
            )
        try:
            before = decisions_in(plan_text, name=f"the plan of print {entry.number}")
        except TicketError:  # ticket and stock suffice; only the comparison is poorer
            before = None
        files = {one.name: one.sha256 for one in entry_files(book, entry.number)}
        return _Kept(
            ledger=str(wish.export or book.path),
            entry=entry,
            ticket=ticket_from_toml(ticket, name=f"the ticket of print {entry.number}"),
            stock=stock_from_toml(stock, name=f"the stock of print {entry.number}"),
            profile=profile,
            decisions=before,
            versions=dict(kept_versions(book, entry.versions_sha256)),
            print_sha256=files.get(entry.print_file, ""),
            sample=kept_sample(book, entry.number),
        )


def _find_picture(entry: LedgerEntry, wish: AgainWish, stop: StopCheck) -> PictureFound:
    """Where the picture is now: at its place, elsewhere by its content, edited, or gone."""
    from firstsheet.files.find import find_by_content, is_content

    before = Path(entry.picture_path)
    wanted = (entry.picture_sha256, entry.picture_bytes)
    named = wish.picture

    def found(status: Any, path: Path | None) -> PictureFound:
        shown = str(path.absolute()) if path is not None else ""
        return PictureFound(status=status, path=shown, before=entry.picture_path)

    if named is not None and is_content(named, *wanted):
        return found("same" if named.absolute() == before else "moved", named)
    if is_content(before, *wanted):
        return found("same", before)
    places = [
        *((one, True) for one in wish.look_in),
        *((one, False) for one in (before.parent, before.parent.parent, Path(entry.folder).parent)),
    ]
    elsewhere = find_by_content(*wanted, places, stop)
    if elsewhere is not None:
        return found("moved", elsewhere)
    if named is not None:
        return found("edited", named)
    return found("edited", before) if before.is_file() else found("gone", None)


def _stock_now(kept: _Kept, wish: AgainWish) -> StockFound:
    """What the stock of that name is today."""
    from firstsheet.store.stocks import get_stock, stock_profile_bytes

    try:
        now = get_stock(kept.stock.name, wish.stocks_dir)
        same = stock_profile_bytes(now, wish.stocks_dir) == kept.profile
    except FirstsheetError:
        return StockFound(is_there=False, same_profile=False)
    changed = tuple(
        f"{words} “{getattr(now, name)}”, was “{getattr(kept.stock, name)}”"
        for name, words in (
            ("media_setting", "media setting"),
            ("surface", "surface"),
            ("native_ppi", "raster"),
            ("margins", "margins"),
        )
        if getattr(now, name) != getattr(kept.stock, name)
    )
    return StockFound(is_there=True, same_profile=same, changed=changed)


def _kept_stock(kept: _Kept, place: Path) -> Path:
    """A folder of stocks that holds the kept one alone, with the kept profile."""
    from firstsheet.store.stocks import add_stock

    folder = place / "stocks"
    add_stock(kept.stock, kept.profile, directory=folder, replace=True)
    return folder


def _plan_findings(before: Mapping[str, Any] | None, now: Plan) -> tuple[Finding, ...]:
    from firstsheet.engine.planning import decisions

    return () if before is None else decision_findings(before, decisions(now))


def _free_folder(before: Path) -> Path:
    """A folder beside the first one, named after it."""
    number = 1
    while (target := before.with_name(f"{before.name}-again-{number}")).exists():
        number += 1
    return target


def _difference(
    before: PrintSample | None, prepared: Prepared, progress: Progress, stop: StopCheck
) -> CodeDifference | None:
    """Render the print of today for its codes on the grid, and hold them against the kept ones."""
    from firstsheet.engine.colour.difference import delta_e_2000
    from firstsheet.jobs.make import render_sheet

    if before is None:
        return None
    codes = render_sheet(prepared, None, progress, stop)
    shape = (before.rows, before.columns, before.channels)
    if codes.shape != shape:
        return None
    first = np.frombuffer(before.codes, dtype="<u2").reshape(shape)
    differing = (codes != first).any(axis=-1)
    gap: NDArray[np.float64] = np.zeros(shape[:2])
    if differing.any():
        labs = [_lab(prepared, one[differing]) for one in (first, codes)]
        gap[differing] = delta_e_2000(labs[0], labs[1])
    return CodeDifference(
        points=int(differing.size),
        differing=int(differing.sum()),
        mean_de00=float(gap.mean()),
        p95_de00=float(np.percentile(gap, 95)),
        max_de00=float(gap.max()),
    )


def _lab(prepared: Prepared, codes: NDArray[np.uint16]) -> NDArray[np.float64]:
    """What codes of the print file look like: through the paper, or the file's own space."""
    values = codes / 65535.0
    if prepared.plan.colour.mode == "paper":
        return prepared.chain.printed_lab(values)
    return prepared.chain.wanted_lab(values)
