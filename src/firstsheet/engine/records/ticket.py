"""The ticket: what is wanted. Data only; lengths mm."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from firstsheet.engine.records.base import Record
from firstsheet.engine.records.place import Place
from firstsheet.engine.records.repair import RepairWish
from firstsheet.engine.records.stock import Intent

__all__ = [
    "BorderWish",
    "ColourWish",
    "CropWish",
    "DetailWish",
    "EarlierWord",
    "OutputWish",
    "PrintWish",
    "Ticket",
]


class PrintWish(Record):
    """How large, on what sheet. At most one of width, height, long side; none = fill the sheet."""

    width_mm: float | None = Field(default=None, gt=0)
    height_mm: float | None = Field(default=None, gt=0)
    long_side_mm: float | None = Field(default=None, gt=0)
    sheet: str = "A4"  # a name, or `483x330mm`; width first, as it faces the viewer
    turn: Literal["auto", "as-given"] = "auto"  # auto: the sheet follows the picture's shape


class CropWish(Record):
    """Shape of the picture on paper. None keeps the file's own shape."""

    shape: str | None = None  # `3:2`, `1:1`, `A`; turned with the picture
    offset_x: float = Field(default=0.0, ge=-1, le=1)  # -1 keeps the left edge, 1 the right
    offset_y: float = Field(default=0.0, ge=-1, le=1)  # -1 keeps the top, 1 the bottom


class BorderWish(Record):
    """Border around the picture on the sheet."""

    kind: Literal["centred", "even", "weighted", "sides"] = "centred"
    even_mm: float | None = Field(default=None, gt=0)  # for even: border on all four sides
    top_mm: float | None = Field(default=None, ge=0)
    right_mm: float | None = Field(default=None, ge=0)
    bottom_mm: float | None = Field(default=None, ge=0)
    left_mm: float | None = Field(default=None, ge=0)
    shift_x_mm: float = 0.0  # from the centred place, right is positive
    shift_y_mm: float = 0.0  # down is positive


class ColourWish(Record):
    """How the picture becomes paper colour."""

    intent: Intent | Literal["auto"] = "relative"
    black_point: bool = True
    keep: bool = False  # keep the picture's own space (a lab converts)
    read_as: str | None = None  # srgb, a98-rgb, ... for files without a profile
    convert_again: bool = False  # insist on converting a file already in an output space


class DetailWish(Record):
    """Raster and sharpening."""

    ppi: float | Literal["native", "own"] = "native"
    # A number is a strength, 1 being normal. None: 1, less where the file is sharpened already.
    sharpen: float | Literal["off", "fitted"] | None = None
    radius_mm: float | None = Field(default=None, gt=0, le=2)
    allow_enlarge: bool = False


class OutputWish(Record):
    """The print file itself."""

    bits: Literal[8, 16] = 16
    compression: Literal["none", "lzw", "deflate"] = "none"
    ruler: bool = False
    key: bool = False
    proof_space: Literal["display-p3", "srgb"] = "display-p3"
    proof_white: Literal["paper", "screen"] = "paper"  # absolute or relative


class EarlierWord(Record):
    """A word of an earlier version that stood in a ticket, and what it was read as."""

    line: str  # `detail.sharpen`
    word: str
    now: str  # as it is written today; empty where the line is left out


class Ticket(Record):
    """What is wanted."""

    picture: str
    stock: str
    page: int | None = Field(default=None, ge=1)
    print: PrintWish = PrintWish()
    crop: CropWish = CropWish()
    border: BorderWish = BorderWish()
    place: Place = Place()
    colour: ColourWish = ColourWish()
    detail: DetailWish = DetailWish()
    output: OutputWish = OutputWish()
    film: str | None = None  # `35mm`, `6x7`, or `56x70mm`: for the rescan answer
    background: Literal["paper", "black"] | None = None  # under partly clear pixels
    answers: dict[str, str] = Field(default_factory=dict)  # replies to questions by finding code
    repairs: tuple[RepairWish, ...] = ()  # local changes of colour, one after another
    earlier: tuple[EarlierWord, ...] = ()  # not written back
