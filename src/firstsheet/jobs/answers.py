"""What a job answers: frozen records that command line and page show alike.

Holds no sums. The JSON form is the record itself (`model_dump_json`); schemas: docs/schema/.
"""

from __future__ import annotations

from firstsheet.engine.detail.dust.places import MarkPlace
from firstsheet.engine.loss.regions.neutral import FileTone, GreyAxis
from firstsheet.engine.loss.regions.ranking import PaperLoss
from firstsheet.engine.records import Finding, Intent, PictureFacts, Record, Stock
from firstsheet.engine.records.again import CodeDifference, PictureFound
from firstsheet.engine.records.detail import DetailFacts, FilmDetail
from firstsheet.engine.records.losses import PictureLosses
from firstsheet.engine.records.plan import LossFacts, Plan, RescanAnswer
from firstsheet.engine.records.repair import RepairFacts
from firstsheet.engine.sizing.size import GradeSize, SizeRow
from firstsheet.jobs.ledger.answers import (
    CertificateAnswer,
    CostsAnswer,
    EditionAnswer,
    EditionsAnswer,
    HoldersAnswer,
    LedgerCheckAnswer,
    LedgerFilesAnswer,
    PrintsAnswer,
    PrintShowAnswer,
)

__all__ = [
    "AgainAnswer",
    "CertificateAnswer",
    "CheckAnswer",
    "CompareAnswer",
    "CostsAnswer",
    "EditionAnswer",
    "EditionsAnswer",
    "HoldersAnswer",
    "LadderAnswer",
    "LadderRung",
    "LedgerCheckAnswer",
    "LedgerFilesAnswer",
    "LossesAnswer",
    "MadeAnswer",
    "PlanAnswer",
    "PrintShowAnswer",
    "PrintsAnswer",
    "ProofAnswer",
    "RescanJobAnswer",
    "SizesAnswer",
    "StockLine",
    "StockListAnswer",
    "StockShowAnswer",
]


class CheckAnswer(Record):
    """What the picture is and what the first look found."""

    verdict: str
    picture: PictureFacts
    detail: DetailFacts | None = None  # what the pixels truly hold
    film: FilmDetail | None = None  # the same, on the film it was scanned from
    marks: tuple[MarkPlace, ...] = ()  # what may be dust, worst first, upright
    dust_words: str = ""
    marks_file: str = ""  # picture with the marks, if it was asked for


class PlanAnswer(Record):
    """The plan, and where it was written, if asked for."""

    plan: Plan
    written: str = ""


class MadeAnswer(Record):
    """What was made and where it lies."""

    folder: str
    files: tuple[str, ...]
    verdict: str
    findings: tuple[Finding, ...]
    plan_digest: str
    print_file_bytes: int
    seconds: float
    ledger_number: int | None = None  # None: the ledger did not keep it, and a finding says why


class AgainAnswer(Record):
    """A print made once more, or what has changed since and must be decided first."""

    ledger: str  # or the export it was taken from
    number: int  # of the first print
    picture: PictureFound
    difference: CodeDifference | None  # None: could not be measured
    findings: tuple[Finding, ...]
    made: MadeAnswer | None  # None: not made
    same_bytes: bool | None  # whether the print file is the first one, byte for byte
    words: str


class ProofAnswer(Record):
    """A soft proof and what the paper takes away."""

    folder: str
    files: tuple[str, ...]
    caption: str
    loss: LossFacts | None
    out_of_screen_percent: float
    repairs: tuple[RepairFacts, ...] = ()  # in this print


class LadderRung(Record):
    """One strength on a sharpening ladder."""

    strength: float
    radius_mm: float  # 0 where nothing is sharpened
    taken: bool  # the plan's own


class LadderAnswer(Record):
    """A sharpening ladder and how to use it."""

    folder: str
    files: tuple[str, ...]
    sheet: str
    rungs: tuple[LadderRung, ...]
    left_mm: float  # where the detail lies on the print
    top_mm: float
    width_mm: float
    height_mm: float
    words: tuple[str, ...]
    ledger_number: int | None = None
    findings: tuple[Finding, ...] = ()


class LossesAnswer(Record):
    """What the paper takes away, region by region."""

    picture: str
    stock: str
    intent: Intent
    verdict: str
    losses: PictureLosses | None  # None: nothing is converted, so nothing can be told
    loss: LossFacts | None  # the figures of the whole picture, as in the plan
    tone: FileTone | None
    greys: GreyAxis | None  # for black-and-white only
    repairs: tuple[RepairFacts, ...] = ()  # in this print
    proposals: tuple[RepairFacts, ...] = ()  # what could be repaired, by number from 1
    findings: tuple[Finding, ...]


class CompareAnswer(Record):
    """Every paper by every intent, by what this picture loses."""

    picture: str
    width_mm: float
    height_mm: float
    distance_mm: float
    verdict: str
    rows: tuple[PaperLoss, ...]
    findings: tuple[Finding, ...] = ()  # why some stocks are left out


class SizesAnswer(Record):
    """The table of sizes for one picture."""

    picture: str
    width_px: int
    height_px: int
    rows: tuple[SizeRow, ...]
    largest: tuple[GradeSize, ...]


class RescanJobAnswer(Record):
    """What a new scan would have to be, and whether it is needed."""

    picture: str
    answer: RescanAnswer


class StockLine(Record):
    """One stock in the list."""

    name: str
    title: str
    surface: str
    native_ppi: int
    white: str
    black: str
    builtin: bool


class StockListAnswer(Record):
    """All stocks known here."""

    folder: str
    stocks: tuple[StockLine, ...]
    findings: tuple[Finding, ...] = ()  # why some are left out


class StockShowAnswer(Record):
    """One stock with its measured facts."""

    stock: Stock
    builtin: bool
    file: str
