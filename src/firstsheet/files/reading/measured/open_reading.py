"""Opens a file of readings: CGATS text, CxF/X or CSV, whichever it is.

Takes a path; gives the `Reading` and what is odd about it, or says what must be asked. Nothing is
mixed: where a file holds several measuring conditions, one is chosen by name.
Theory: docs/theory/verify.md. Tests: tests/files/measured/test_open_reading.py.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from firstsheet.engine.errors import QuestionError, ReadingError
from firstsheet.engine.findings import finding, joined
from firstsheet.engine.records import Finding
from firstsheet.engine.records.reading import Illumination, Reading
from firstsheet.files.reading.measured.columns import Values, columns_in
from firstsheet.files.reading.measured.said import condition_said, date_said
from firstsheet.files.reading.measured.table import PatchTable, bad_file, decoded
from firstsheet.files.reading.measured.values import PatchValues, patch_values

__all__ = ["OpenedReading", "open_reading", "open_readings"]

_LARGEST_BYTES = 64 * 2**20


@dataclass(frozen=True)
class OpenedReading:
    """A reading and what was found while it was opened."""

    reading: Reading
    findings: tuple[Finding, ...]


def open_reading(path: Path, *, condition: str | None = None) -> OpenedReading:
    """Read a file that holds one reading, or one of a wanted condition.

    Parameters
    ----------
    path
        The file.
    condition
        M0, M1, M2 or M3, where it holds several.

    Raises
    ------
    ReadingError
        If it cannot be read.
    QuestionError
        If it holds several readings and none is chosen.
    """
    found = open_readings(path)
    if condition:
        kept = tuple(one for one in found if one.reading.condition.illumination == condition)
        if not kept:
            raise ReadingError(
                f"{path.name} holds no readings under {condition}, but {_conditions(found)}.",
                "Readings under different light are not taken for one another.",
                "Choose a condition that it holds.",
                "no-such-condition",
                "--condition M1",
            )
        found = kept
    if len(found) > 1:
        raise QuestionError(
            f"{path.name} holds {len(found)} readings: {_conditions(found)}.",
            "They differ where the paper has brightener, so they are not mixed.",
            "Choose the condition the profile was made under, often M1.",
            "which-condition",
            "--condition M1",
        )
    return found[0]


def _conditions(found: Sequence[OpenedReading]) -> str:
    names = [one.reading.condition.illumination or "one that is not named" for one in found]
    return joined(names)


def open_readings(path: Path) -> tuple[OpenedReading, ...]:
    """Every reading a file holds, one for each table and measuring condition.

    Raises
    ------
    ReadingError
        If it is no file of readings, or one that is damaged; with line and column.
    """
    data = _bytes_of(path)
    name = path.name
    tables = _tables(data, name)
    digest = hashlib.sha256(data).hexdigest()
    found: list[OpenedReading] = []
    for table in tables:
        found += _readings(table, path, digest)
    if not found:
        raise bad_file(
            name, "it names no columns of Lab, XYZ or spectra.", "Export it with measured values."
        )
    return tuple(found)


def _bytes_of(path: Path) -> bytes:
    try:
        if not path.is_file():
            raise ReadingError(
                f"{path} is not a file.",
                "There is nothing to read.",
                "Name a file of readings: CGATS text, CxF or CSV.",
                "no-readings-file",
            )
        if path.stat().st_size > _LARGEST_BYTES:
            raise bad_file(path.name, "it is larger than any file of readings.")
        return path.read_bytes()
    except OSError as error:
        raise ReadingError(
            f"{path} cannot be read ({error.strerror}).",
            "There is nothing to judge.",
            "Name a file of readings: CGATS text, CxF or CSV.",
            "no-readings-file",
        ) from error


def _tables(data: bytes, name: str) -> tuple[PatchTable, ...]:
    from firstsheet.files.reading.measured.cgats import cgats_tables, looks_like_cgats
    from firstsheet.files.reading.measured.cxf import cxf_table, looks_like_cxf

    if looks_like_cxf(data):
        return (cxf_table(data, name),)
    text = decoded(data).rstrip("\0")
    if "\0" in text:
        raise bad_file(name, "it is not a text file.")
    if looks_like_cgats(text):
        return cgats_tables(text, name)
    from firstsheet.files.reading.measured.csv_rows import csv_table

    return (csv_table(text, name),)


def _readings(table: PatchTable, path: Path, digest: str) -> list[OpenedReading]:
    columns = columns_in(table.columns)
    if columns.ambiguous:
        raise bad_file(
            path.name,
            f"column {columns.ambiguous} could be of XYZ or of CMYK.",
            "Name the columns XYZ_X, XYZ_Y, XYZ_Z and CMYK_C … CMYK_K.",
        )
    found = []
    for condition, values in columns.values.items():
        taken = patch_values(table, columns, values, path.name)
        found.append(_one(table, condition, values, taken, path, digest))
    return found


def _one(
    table: PatchTable,
    illumination: Illumination,
    values: Values,
    taken: PatchValues,
    path: Path,
    digest: str,
) -> OpenedReading:
    said = condition_said(table.keywords)
    if illumination:
        said = said.model_copy(update={"illumination": illumination})
    reading = Reading(
        file=str(path),
        sha256=digest,
        kind=table.kind,
        title=table.keywords.get("FILE_DESCRIPTOR") or table.keywords.get("DESCRIPTOR", ""),
        made_at=date_said(table.keywords.get("CREATED", "")),
        values_from=taken.taken_from,
        device_space=taken.device_space,
        condition=said,
        relative=taken.relative,
        patches=taken.patches,
        spectra=taken.spectra,
    )
    findings = list(taken.findings)
    if table.sets_said is not None and table.sets_said != len(table.rows):
        findings.append(_another_count(path.name, table.sets_said, len(table.rows)))
    del values
    return OpenedReading(reading, tuple(findings))


def _another_count(name: str, said: int, held: int) -> Finding:
    return finding(
        "readings-count",
        "caution",
        f"{name} says that it holds {said} patches, and {held} are there.",
        "It may have been cut short or edited.",
        "Export the readings again if patches are missing.",
        figures={"said": said, "held": held},
    )
