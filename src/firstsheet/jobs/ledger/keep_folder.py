"""A print's folder that the ledger does not know, kept after the fact.

For prints made while the ledger could not be written, or brought from another computer. What the
folder holds is enough: the plan, and the print file with its profile and its pixels.
Tests: tests/jobs/ledger/test_keep_folder.py.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from pydantic import ValidationError

from firstsheet.engine.errors import FirstsheetError, LedgerError
from firstsheet.engine.records.plan import Plan
from firstsheet.jobs.clock import utc_now
from firstsheet.jobs.ledger.answers import PrintShowAnswer
from firstsheet.jobs.ledger.prints import show_print, writing
from firstsheet.jobs.ledger.remember import JustMade, made_print
from firstsheet.store.ledger.entries import add_entry

__all__ = ["keep_folder"]

PLAN_FILE = "plan.json"


def keep_folder(folder: Path, ledger: Path | None) -> PrintShowAnswer:
    """Keep a print's folder in the ledger.

    Raises
    ------
    LedgerError
        If it is no print's folder, the print is in the ledger already, or its print file does not
        belong to its plan.
    """
    plan = _plan(folder)
    sample, carried = _print_file(folder / plan.output.print_file, plan)
    profile = _paper_profile(plan, carried)
    names = sorted(one.name for one in folder.iterdir() if one.is_file() and one.name[0] != ".")
    with writing(ledger) as book:
        with book.reading() as tables:
            row = tables.execute(
                "SELECT number FROM entry WHERE folder = ? AND plan_digest = ?",
                (str(folder.absolute()), plan.digest),
            ).fetchone()
        if row is not None:
            raise LedgerError(
                f"{folder} is in the ledger already, as print {row[0]}.",
                "Nothing was written.",
                f"See it: firstsheet prints show {row[0]}.",
                "kept-already",
            )
        made = JustMade(
            folder=folder,
            kind="print",
            plan=plan,
            profile=profile,
            files=tuple(names),
            print_file=plan.output.print_file,
            seconds=0.0,
            sample=sample,
        )
        entry = add_entry(book, made_print(made, utc_now()))
    words = f"{folder} is kept as print {entry.number}. Its small picture and time are not known."
    return show_print(str(entry.number), ledger).model_copy(update={"words": words})


def _plan(folder: Path) -> Plan:
    try:
        return Plan.model_validate(json.loads((folder / PLAN_FILE).read_text(encoding="utf-8")))
    except OSError as error:
        raise LedgerError(
            f"{folder} holds no {PLAN_FILE}.",
            "Only a print's folder can be kept.",
            "Name a folder that `firstsheet make` wrote.",
            "no-print-folder",
        ) from error
    except (ValueError, ValidationError) as error:
        raise LedgerError(
            f"{folder / PLAN_FILE} is not a plan of this version.",
            "What it holds beside its ticket is not known, so it was not kept.",
            f"Make it anew: firstsheet make {folder / PLAN_FILE}.",
            "not-a-plan",
        ) from error


def _paper_profile(plan: Plan, carried: bytes) -> bytes:
    """The paper's profile: in the print file, or, where colour was kept, the stock's own."""
    from firstsheet.jobs.planning.parts import sha256
    from firstsheet.store.stocks import get_stock, stock_profile_bytes

    wanted = plan.stock.facts.profile.sha256 if plan.stock.facts else ""
    if sha256(carried) == wanted:
        return carried
    try:
        profile = stock_profile_bytes(get_stock(plan.stock.name))
    except FirstsheetError:
        profile = b""
    if sha256(profile) != wanted:
        raise LedgerError(
            f"The profile of {plan.stock.title} that the plan rests on is not at hand.",
            "The print file is in the picture's own space and does not carry it; not kept.",
            f"Add the stock again with that profile: firstsheet stock add --name "
            f"{plan.stock.name}.",
            "profile-not-at-hand",
        )
    return profile


def _print_file(path: Path, plan: Plan) -> tuple[NDArray[np.uint16], bytes]:
    """Codes of the print file on the ledger's grid, and the profile it carries."""
    import tifffile

    from firstsheet.pixels.sample import SamplingSink

    sheet, size = plan.sheet, plan.size
    sampling = SamplingSink(
        None, sheet.picture_left_px, sheet.picture_top_px, size.width_px, size.height_px
    )
    try:
        with tifffile.TiffFile(path) as file:
            page = file.pages[0]
            told = page.description or ""
            tag = page.tags.get("InterColorProfile")
            profile = bytes(tag.value) if tag else b""
            pixels = page.asarray()
    except (OSError, ValueError, tifffile.TiffFileError) as error:
        raise LedgerError(
            f"{path} cannot be read as a print file: {error}.",
            "The print was not kept.",
            "Name the folder as `firstsheet make` wrote it.",
            "no-print-file",
        ) from error
    if (
        plan.digest not in told
        or pixels.shape[:2] != (sheet.height_px, sheet.width_px)
        or not profile
    ):
        raise LedgerError(
            f"{path} is not the print file of the plan beside it.",
            "The print was not kept.",
            "Name the folder as `firstsheet make` wrote it.",
            "not-its-print-file",
        )
    sampling.write(0, pixels.reshape(sheet.height_px, sheet.width_px, -1))
    return sampling.codes(), profile
