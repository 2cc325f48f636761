"""Writes what was made into the ledger, by itself, after the folder has appeared.

A ledger that cannot be written never spoils a print: it is told as a finding.
Tests: tests/jobs/ledger/test_remember.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.errors import FirstsheetError
from firstsheet.engine.findings import choice, finding
from firstsheet.engine.records import Finding
from firstsheet.engine.records.ledger import EntryKind, LedgerEntry, LedgerFile
from firstsheet.engine.records.plan import Plan

if TYPE_CHECKING:
    from firstsheet.store.ledger.entries import MadePrint

__all__ = ["JustMade", "Kept", "keep_in_ledger", "made_print"]


@dataclass(frozen=True, kw_only=True, eq=False)
class JustMade:
    """A folder that has just appeared, and what it was made with."""

    folder: Path
    kind: EntryKind
    plan: Plan
    profile: bytes  # of the paper
    files: tuple[str, ...]
    print_file: str
    seconds: float
    sheet: tuple[str, float, float] | None = None  # name, width, height in mm; None: the plan's
    picture_mm: tuple[float, float] | None = None  # what is printed of it; None: the plan's
    picture_srgb: NDArray[np.uint8] | None = None  # small, (H, W, 3)
    sample: NDArray[np.uint16] | None = None  # codes of the print on a grid, (h, w, channels)
    known_sha256: Mapping[str, str] = field(default_factory=dict)  # of files read already, by name


@dataclass(frozen=True)
class Kept:
    """The entry's number in the ledger, or why there is none."""

    number: int | None
    findings: tuple[Finding, ...] = ()


def keep_in_ledger(made: JustMade, ledger: Path | None) -> Kept:
    """Write an entry for a folder.

    Parameters
    ----------
    made
        What was made.
    ledger
        The ledger's file; None takes the person's own.
    """
    from firstsheet.jobs.clock import utc_now
    from firstsheet.store.ledger.connect import ledger_file, open_ledger
    from firstsheet.store.ledger.entries import add_entry

    try:
        kept = made_print(made, utc_now())
        with open_ledger(ledger_file(ledger), at=kept.entry.made_at) as book:
            return Kept(add_entry(book, kept).number)
    except FirstsheetError as error:
        return Kept(None, (_not_kept(error.found, error.choice),))
    except Exception as error:  # a mistake here must not hide that the print is there
        return Kept(None, (_not_kept(f"{type(error).__name__}: {error}.", ""),))


def _not_kept(reason: str, way_out: str) -> Finding:
    return finding(
        code="ledger-not-written",
        weight="caution",
        found=f"The print is made and whole, but the ledger did not keep it. {reason}",
        consequence="It is missing from `firstsheet prints`.",
        choices=(
            *((choice(way_out),) if way_out else ()),
            choice("Then keep it all the same.", option="firstsheet prints keep FOLDER"),
        ),
    )


def made_print(made: JustMade, now: str) -> MadePrint:
    """Everything the ledger keeps of a folder."""
    from firstsheet.cms.build import space_profile
    from firstsheet.files.hashing import sha256_of
    from firstsheet.files.writing.small_jpeg import small_jpeg
    from firstsheet.jobs.ledger.versions import part_versions
    from firstsheet.jobs.planning.parts import sha256
    from firstsheet.jobs.text import pretty_json
    from firstsheet.store.ledger.entries import MadePrint, PrintSample
    from firstsheet.store.stock_text import stock_to_toml
    from firstsheet.store.tickets import ticket_to_toml

    plan, codes = made.plan, made.sample
    jpeg = b""
    if made.picture_srgb is not None:
        jpeg = small_jpeg(made.picture_srgb, profile=space_profile("srgb"))
    sample = None
    if codes is not None:
        rows, columns, channels = codes.shape
        sample = PrintSample(
            columns=columns,
            rows=rows,
            channels=channels,
            codes=np.ascontiguousarray(codes, dtype="<u2").tobytes(),
        )
    return MadePrint(
        entry=_entry(made, now, sha256(made.profile)),
        ticket=ticket_to_toml(plan.ticket),
        stock=stock_to_toml(plan.stock),
        plan=pretty_json(plan),
        profile=made.profile,
        profile_description=plan.stock.facts.profile.description if plan.stock.facts else "",
        versions=part_versions(),
        files=tuple(
            LedgerFile(
                name=name,
                size_bytes=(made.folder / name).stat().st_size,
                sha256=made.known_sha256.get(name) or sha256_of(made.folder / name),
            )
            for name in made.files
        ),
        jpeg=jpeg,
        sample=sample,
    )


def _entry(made: JustMade, now: str, profile_sha256: str) -> LedgerEntry:
    plan = made.plan
    sheet = made.sheet or (plan.sheet.name, plan.sheet.width_mm, plan.sheet.height_mm)
    width_mm, height_mm = made.picture_mm or (plan.size.width_mm, plan.size.height_mm)
    return LedgerEntry(
        number=0,
        kind=made.kind,
        made_at=now,
        plan_digest=plan.digest,
        picture_path=str(Path(plan.picture.path).absolute()),
        picture_sha256=plan.picture.sha256,
        picture_bytes=plan.picture.size_bytes,
        stock=plan.stock.name,
        stock_title=plan.stock.title,
        media_setting=plan.stock.media_setting,
        profile_sha256=profile_sha256,
        sheet=sheet[0],
        sheet_width_mm=sheet[1],
        sheet_height_mm=sheet[2],
        width_mm=width_mm,
        height_mm=height_mm,
        ppi=plan.size.ppi,
        intent=plan.colour.intent,
        distance_mm=plan.place.distance_mm,
        illuminance_lux=plan.place.illuminance_lux,
        lamp=plan.place.lamp,
        folder=str(made.folder.absolute()),
        print_file=made.print_file,
        verdict=plan.verdict,
        program=plan.made_by,
        versions_sha256="",
        seconds=made.seconds,
    )
