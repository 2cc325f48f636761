"""Editions: what was promised, which numbers exist, and where each copy is. Data only.

An edition may cover several sizes of one picture; its numbers run over all of them. Lengths mm,
times UTC. Written and read by `store.ledger`. Tables: docs/ledger.md.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from firstsheet.engine.records.base import Record

__all__ = [
    "CertificateFacts",
    "CopyKind",
    "CopyLine",
    "CopyState",
    "EditionCopy",
    "EditionSize",
    "EditionState",
    "EditionTerms",
    "Holder",
    "Series",
]

Series = Literal["number", "proof"]  # proof: an artist's proof, counted apart
CopyState = Literal["held", "given", "spoiled", "replaced"]
CopyKind = Literal["spoiled", "given", "returned", "withdrawn"]


class EditionSize(Record):
    """A size of picture that the edition covers."""

    width_mm: float = Field(gt=0)
    height_mm: float = Field(gt=0)


class EditionTerms(Record):
    """What an edition promises. Fixed with the first number that is given."""

    name: str  # how commands call it, such as ferry-stairs
    title: str
    artist: str
    year: str  # of the picture
    size: int = Field(ge=1, le=100_000)  # numbers in all, over every size of picture
    proofs: int = Field(ge=0, le=100_000)  # artist's proofs, outside the count
    sizes: tuple[EditionSize, ...] = ()  # none: any size of picture
    technique: str = ""  # such as: pigment print
    paper: str = ""
    inks: str = ""
    note: str = ""
    picture_sha256: str = ""  # empty: not tied to a picture file


class CopyLine(Record):
    """Something that happened to a copy. Never changed; only withdrawn."""

    number: int
    copy_number: int
    at: str
    kind: CopyKind
    words: str
    holder: int | None = None  # who got it; personal data stands apart
    withdraws: int | None = None
    is_withdrawn: bool = False


class EditionCopy(Record):
    """One numbered sheet."""

    number: int  # of the row; never shown on paper
    series: Series
    position: int
    label: str  # as it is written on the sheet: 7/30, A.P. II/III
    print_number: int | None  # in the ledger; None: made before the ledger
    size: EditionSize | None
    at: str
    replaces: int | None  # the spoiled copy whose number this one has
    words: str
    state: CopyState
    holder: int | None = None  # who has it now
    history: tuple[CopyLine, ...] = ()


class EditionState(Record):
    """How far an edition has come."""

    numbered: int  # numbers given, each counted once
    free: int
    proofs_numbered: int
    proofs_free: int
    held: int  # copies that are with the artist
    given: int
    spoiled: int  # copies lost, replaced or not


class Holder(Record):
    """Someone who has or had a copy. The data can be erased; the number stays."""

    number: int
    at: str
    name: str = ""
    contact: str = ""
    place: str = ""
    is_erased: bool = False


class CertificateFacts(Record):
    """What stands on a certificate and a label. No personal data of a buyer."""

    artist: str
    title: str
    year: str  # of the picture
    printed: str  # year and month of this sheet, such as 2026-12; empty where unknown
    label: str  # 7/30, A.P. II/III
    series: Series
    position: int
    edition_size: int
    proofs: int
    sizes: tuple[EditionSize, ...]  # that share the edition
    image: EditionSize | None
    sheet: EditionSize | None
    technique: str
    paper: str
    inks: str
    note: str
    replaces_spoiled: bool
    identity: str  # print number and plan, to find it in the ledger
    made_by: str
