"""What the bench's jobs answer: records the page shows as they are.

Every number a page shows stands in here, worked out by the jobs the command line calls. Holds
no sums. The API: docs/bench.md.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from firstsheet.engine.errors import FirstsheetError
from firstsheet.engine.records import Record, Weight
from firstsheet.engine.records.figure import Figure
from firstsheet.engine.records.plan import LossFacts

__all__ = [
    "Asked",
    "Box",
    "ChoiceView",
    "CompareAnswer",
    "CompareRow",
    "ErrorView",
    "Estimate",
    "FindingView",
    "JobView",
    "LightView",
    "LossView",
    "Option",
    "Part",
    "PathEntry",
    "Question",
    "Recent",
    "SeenView",
    "Segment",
    "SheetView",
    "Sides",
    "SpotAnswer",
    "SpotColour",
    "StartAnswer",
    "TileSet",
    "View",
    "error_view",
]


class ErrorView(Record):
    """Three sentences: what is wrong, what follows, what would be right."""

    code: str = ""
    found: str
    consequence: str
    choice: str


def error_view(error: Exception) -> ErrorView:
    """The three sentences of an error; where it is none of ours, what to do about it."""
    if not isinstance(error, FirstsheetError):
        said = f"{type(error).__name__}: {error}" if str(error) else type(error).__name__
        return ErrorView(
            code="error",
            found="Something went wrong inside the program.",
            consequence="Nothing is lost: the ticket is kept, and no file was touched.",
            choice=f"Try another wish. If it comes back, report it with these words: {said}",
        )
    return ErrorView(
        code=error.code or "error",
        found=error.found or type(error).__name__,
        consequence=error.consequence,
        choice=error.choice,
    )


class Option(Record):
    """One thing that can stand in a choice."""

    value: str
    text: str


class Segment(Record):
    """A stretch of the sentence: plain words (no key), or a part that can be edited."""

    key: str = ""
    text: str
    value: str = ""  # as typed back; empty at the default
    kind: Literal["words", "length", "number", "choice", "text"] = "words"
    options: tuple[Option, ...] = ()
    unit: str = ""
    title: str = ""  # what it is, for screen readers
    fine: bool = False  # belongs behind “more”


class Box(Record):
    """A rectangle; mm on the sheet, or shares of the file."""

    left: float
    top: float
    width: float
    height: float


class Sides(Record):
    """Four lengths, mm."""

    top: float
    right: float
    bottom: float
    left: float


class SheetView(Record):
    """The sheet to scale, mm from its top left corner as it faces the viewer."""

    name: str
    width_mm: float
    height_mm: float
    picture: Box
    unprintable: Sides
    border_mm: Sides
    crop: Box  # of the upright file, 0..1
    sheet_texts: tuple[str, str]  # as the paper is sold; the file fills it to a whole pixel
    picture_words: str
    width_words: str
    height_words: str
    border_texts: tuple[str, str, str, str]  # top right bottom left
    distance_mm: float  # from where it is seen
    angle_degrees: tuple[float, float]  # the sheet's width and height at the eye
    shift_mm: tuple[float, float]  # of the picture, as the ticket has it
    offset: tuple[float, float]  # of the crop, -1..1, as the ticket has it
    can_crop: tuple[bool, bool]  # whether the crop can move across, down


class Part(Record):
    """A stretch of a text; with a key, a number whose way can be looked up."""

    text: str
    key: str = ""


class ChoiceView(Record):
    """One choice of a finding; a button where it changes the ticket or leads somewhere."""

    text: str
    applies: bool
    changes: dict[str, str] = Field(default_factory=dict)
    goes: Literal["", "loss", "compare", "cut", "places"] = ""  # the part of the page it leads to


class FindingView(Record):
    """A finding as sentences with its choices."""

    code: str
    weight: Weight
    found: str
    consequence: str
    choices: tuple[ChoiceView, ...]
    figures: dict[str, float | int | str | bool] = Field(default_factory=dict)
    source: str = ""
    found_parts: tuple[Part, ...] = ()
    consequence_parts: tuple[Part, ...] = ()
    worked: tuple[Figure, ...] = ()  # of the numbers in those parts
    places: tuple[tuple[float, float], ...] = ()  # it speaks of, mm from the picture's corner


class Asked(Record):
    """One reading to choose, with a small picture of what it would look like."""

    value: str
    text: str
    thumb: str = ""  # its address; empty where nothing can be shown


class Question(Record):
    """Something only the person can say; answered by setting `key`."""

    code: str
    key: str
    text: str
    chosen: str = ""
    options: tuple[Asked, ...]


class TileSet(Record):
    """Where the tiles of one kind are. {z} {x} {y} stand for level and place."""

    url: str
    width: int
    height: int
    zmax: int  # the finest level
    ppi: float = 0.0  # of the finest level on paper
    tile: int = 512


class LossView(Record):
    """What the paper takes, with its legend."""

    facts: LossFacts
    top_de00: float  # where the scale ends
    legend: str  # address of the drawn scale
    bands: tuple[str, ...]
    words: str


class LightView(Record):
    """The print under the ticket's light, beside the screen."""

    title: str
    shows: bool  # the screen can show it
    words: str
    white_css: str = ""  # of the bare paper


class SeenView(Record):
    """How far the print as it looks from its distance is made, and what stands in the way."""

    state: Literal["", "making", "ready", "failed"] = ""  # empty: nobody asked for it yet
    share: float = 0.0
    error: ErrorView | None = None
    ink: str = ""  # the ink spread, in words that stand inside a sentence


class Estimate(Record):
    """What making would take."""

    seconds: float
    bytes: int
    free_bytes: int
    words: str


class View(Record):
    """Everything a page shows of one draft."""

    id: str
    revision: int
    name: str
    path: str
    state: Literal["opening", "ready", "asking", "failed"]
    error: ErrorView | None = None
    doing: str = ""
    progress: float = 0.0
    measuring: bool = False  # loss, findings on colour and the digest will follow
    dust_pending: bool = False  # whether there is dust will follow; the digest changes then
    sentence: tuple[Segment, ...] = ()
    sheet: SheetView | None = None
    findings: tuple[FindingView, ...] = ()
    figures: tuple[Figure, ...] = ()
    verdict: str = ""
    verdict_parts: tuple[Part, ...] = ()
    plan_digest: str = ""
    questions: tuple[Question, ...] = ()
    tiles: dict[str, TileSet] = Field(default_factory=dict)
    first_look: str = ""  # address of a small whole picture, before the tiles are there
    picture_px: tuple[int, int] = (0, 0)
    loss: LossView | None = None
    detail: tuple[str, ...] = ()  # what the pixels truly hold, where that was measured
    proof_caption: str = ""
    light: LightView | None = None
    seen: SeenView | None = None  # None until the print is decided
    estimate: Estimate | None = None
    folder: str = ""  # where a print would be made
    made: str = ""  # where the last one lies
    undo: bool = False
    redo: bool = False
    slips: dict[str, ErrorView] = Field(default_factory=dict)
    note: str = ""  # one sentence about what just happened, if there is one


class PathEntry(Record):
    """One name inside the allowed folders."""

    path: str
    name: str
    kind: Literal["folder", "picture", "ticket"]
    size: int = 0


class Recent(Record):
    """One draft in the list."""

    id: str
    name: str
    title: str
    verdict: str
    weight: Weight | Literal["opening", "asking", "failed"]
    thumb: str = ""  # address of a small picture
    made: str = ""  # the folder of its last print


class StartAnswer(Record):
    """What a page needs before anything is opened."""

    version: str
    allowed: tuple[PathEntry, ...]
    recent: tuple[Recent, ...]
    stocks: tuple[Option, ...]
    screen: dict[str, float] = Field(default_factory=dict)
    colour_words: str = ""
    colour_test: str = "/colour-test.png"


class JobView(Record):
    """A piece of work that takes its time."""

    job: str
    draft: str = ""
    title: str = ""
    state: Literal["waiting", "working", "done", "failed", "stopped"]
    doing: str = ""
    share: float = 0.0
    folder: str = ""
    files: dict[str, str] = Field(default_factory=dict)  # name: address
    words: str = ""
    plan_digest: str = ""
    error: ErrorView | None = None
    parts: tuple[JobView, ...] = ()  # of make-all


class SpotColour(Record):
    """One colour in numbers, in words and to look at."""

    lab: tuple[float, float, float]
    words: str
    swatch: str  # a CSS colour


class SpotAnswer(Record):
    """Wanted and printed colour at one place."""

    wanted: SpotColour
    printed: SpotColour
    de00: float
    words: str


class CompareRow(Record):
    """One paper with one intent."""

    stock: str
    title: str
    intent: str
    place: int  # 1 loses least; those alike share a place
    mean: float
    lost_percent: float
    figures: str  # both in words
    proof: str
    reason: str
    changes: dict[str, str]


class CompareAnswer(Record):
    """Papers and intents in order of what they take away."""

    rows: tuple[CompareRow, ...]
    waiting: int  # still being measured; ask again
    words: str
