"""From what a person names to a ticket: a picture with options, a ticket file, an earlier plan.

Also finds the stock a ticket asks for, with its profile and measured facts.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from firstsheet.engine.errors import ChangedOriginalError, TicketError
from firstsheet.engine.planning import decisions
from firstsheet.engine.records import Stock, Ticket
from firstsheet.engine.records.plan import Plan
from firstsheet.store.regular import regular_size

__all__ = ["Stamp", "Wish", "check_agreed", "stock_for", "wish_from"]


@dataclass(frozen=True)
class Wish:
    """A ticket, and the plan that was agreed on before, if there was one."""

    ticket: Ticket
    agreed: Plan | None
    name: str  # how the folder will be called


@dataclass(frozen=True)
class Stamp:
    """What the file system says of a file: enough to tell that nobody touched it."""

    modified_ns: int
    size_bytes: int
    inode: int

    @classmethod
    def of(cls, path: str | Path) -> Stamp | None:
        """The stamp now; None where there is no such file."""
        try:
            found = Path(path).stat()
        except OSError:
            return None
        return cls(found.st_mtime_ns, found.st_size, found.st_ino)


def wish_from(source: Path, options: Mapping[str, Any]) -> Wish:
    """Make a ticket of a picture, a ticket file or a plan.json, with options on top.

    Raises
    ------
    TicketError
        If the ticket, an option or the plan cannot be read.
    """
    from firstsheet.store.tickets import read_ticket, ticket_from_options

    given = {key: value for key, value in options.items() if value is not None}
    kind = source.suffix.lower()
    if kind == ".toml":
        ticket = ticket_from_options(base=read_ticket(source), **given)
        return Wish(ticket, None, source.stem)
    if kind == ".json":
        plan = _plan_in(source)
        if given:
            raise TicketError(
                f"{source.name} is a plan, and options were given with it: {_spelt(given)}.",
                "A plan is what was agreed on; options would make another one.",
                "Leave the options out, or start again from the picture or its ticket.",
                "options-with-plan",
            )
        if isinstance(plan, Plan):
            return Wish(plan.ticket, plan, Path(plan.ticket.picture).stem)
        return Wish(plan, None, Path(plan.picture).stem)
    ticket = ticket_from_options(picture=str(source), **given)
    return Wish(ticket, None, f"{source.stem}-{ticket.stock}")


def _spelt(options: Mapping[str, Any]) -> str:
    return ", ".join("--" + key.replace("_", "-") for key in sorted(options))


def _plan_in(path: Path) -> Plan | Ticket:
    """The plan in a file; of one that an earlier version wrote, its ticket.

    What version 1 agreed on cannot be held against a plan of today, whose digest covers other
    things; that its picture is still the same is checked here.
    """
    from firstsheet.store.plan_text import ticket_in

    try:
        regular_size(path)
        data = json.loads(path.read_text(encoding="utf-8"))
        if isinstance(data, dict) and data.get("schema_version") == 1:
            ticket = ticket_in(data)
            _same_picture(ticket, str(data["picture"]["sha256"]))
            return ticket
        return Plan.model_validate(data)
    except OSError as error:
        raise TicketError(
            f"{path} cannot be read ({error.strerror}).",
            "Without it there is nothing to make.",
            "Name a picture, a ticket (.toml) or a plan.json.",
            "no-source",
        ) from error
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise TicketError(
            f"{path.name} is not a plan of this version.",
            "It cannot be followed.",
            "Plan again from the picture or its ticket.",
            "not-a-plan",
        ) from error


def _same_picture(ticket: Ticket, sha256: str) -> None:
    from firstsheet.files.hashing import unchanged

    if Path(ticket.picture).is_file() and not unchanged(ticket.picture, sha256):
        raise ChangedOriginalError(
            f"{ticket.picture} is not the file that was planned.",
            "The print would not be the one that was looked at.",
            "Plan and look again, or put the earlier file back.",
            "changed-original",
        )


def check_agreed(agreed: Plan | None, now: Plan) -> None:
    """Stop where the plan that was agreed on would not be made again.

    Raises
    ------
    ChangedOriginalError
        If the picture, the paper's profile, or anything else decides otherwise today.
    """
    if agreed is None or agreed.digest == now.digest:
        return
    if agreed.picture.sha256 != now.picture.sha256:
        raise ChangedOriginalError(
            f"{now.picture.path} is not the file that was planned: its SHA-256 was "
            f"{agreed.picture.sha256[:12]}… and is {now.picture.sha256[:12]}….",
            "The print would not be the one that was looked at.",
            "Plan and look again, or put the earlier file back.",
            "changed-original",
        )
    before, after = decisions(agreed), decisions(now)
    differing = [name for name in after if before[name] != after[name]]
    raise ChangedOriginalError(
        f"The same picture would be planned otherwise now: {', '.join(differing)} differ.",
        "A stock, its profile or the program has changed since.",
        "Plan and look again.",
        "changed-plan",
    )


def stock_for(name: str, stocks_dir: Path | None) -> tuple[Stock, bytes]:
    """Find a stock and its profile; measure the profile where no facts are kept.

    Raises
    ------
    StockError
        If there is no such stock, or its profile is missing or has changed.
    """
    from firstsheet.cms.inspect import inspect_paper
    from firstsheet.store.stocks import get_stock, stock_profile_bytes

    stock = get_stock(name, stocks_dir)
    data = stock_profile_bytes(stock, stocks_dir)
    if stock.facts is None:
        stock = stock.model_copy(update={"facts": inspect_paper(data)})
    return stock, data
