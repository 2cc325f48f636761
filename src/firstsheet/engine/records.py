"""The frozen records that travel from room to room: Finding, Place, Stock, PictureFacts, Ticket.

Everything here is data: no methods that compute. Lengths are mm, colours are CIELAB D50
unless a name says otherwise. The plan has its own module, `planrecord`.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from firstsheet.engine.frozen import Record
from firstsheet.engine.repair.wish import RepairWish

__all__ = [
    "BorderWish",
    "ChannelFacts",
    "ColourWish",
    "CropWish",
    "DetailWish",
    "Finding",
    "Intent",
    "IntentFacts",
    "MarginsMm",
    "OutputWish",
    "PictureFacts",
    "Place",
    "PrintWish",
    "ProfileFacts",
    "Record",
    "RepairWish",
    "Stock",
    "StockFacts",
    "Ticket",
    "Weight",
]

Weight = Literal["fine", "mind", "stop"]
Intent = Literal["perceptual", "relative", "saturation", "absolute"]


class Finding(Record):
    """One statement: what was found, what follows, what can be chosen."""

    code: str  # stable, kebab-case, for programs and tests
    weight: Weight
    found: str
    consequence: str
    choices: tuple[str, ...] = ()  # sentences; name the option or ticket line
    # beside each choice the ticket lines it sets, as typed; empty where it is advice only
    changes: tuple[dict[str, str], ...] = ()
    figures: dict[str, float | int | str | bool] = Field(default_factory=dict)  # unit in the key
    source: str = ""  # where the rule comes from


class Place(Record):
    """Where the print is judged or hangs."""

    distance_mm: float = Field(default=500.0, gt=0)
    illuminance_lux: float = Field(default=500.0, gt=0)
    lamp: Literal["daylight", "warm", "neutral", "window", "unknown"] = "unknown"


class MarginsMm(Record):
    """Unprintable margins of a sheet as it is fed: top edge enters the printer first."""

    top: float = Field(default=3.0, ge=0)
    right: float = Field(default=3.0, ge=0)
    bottom: float = Field(default=3.0, ge=0)
    left: float = Field(default=3.0, ge=0)


class IntentFacts(Record):
    """What one rendering intent of a profile does, on a fixed set of colours."""

    intent: Intent
    has_table: bool
    same_as: Intent | None = None  # an earlier intent that gives the same result
    mean_de00_from_relative: float = 0.0
    max_de00_from_relative: float = 0.0


class ProfileFacts(Record):
    """What an ICC profile says of itself, and what our checklist found."""

    description: str = ""
    version: str = ""  # such as 4.3
    device_class: str = ""  # scnr mntr prtr link spac abst nmcl
    colour_space: str = ""  # GRAY RGB CMYK Lab
    pcs: str = ""  # XYZ or Lab
    kind: Literal["working", "screen", "input", "output", "grey", "other", "broken"] = "other"
    sha256: str = ""
    size_bytes: int = 0
    has_tables: bool = False  # LUT profile rather than matrix and curves
    space: str = ""  # name in engine.colour.spaces where the profile is that of a known space
    wide: bool | None = None  # clearly larger than sRGB; None: not judged
    problems: tuple[str, ...] = ()  # readable reasons; empty when the checklist passes


class StockFacts(Record):
    """Measured once when a stock is added; relative numbers are media-relative."""

    profile: ProfileFacts
    white_lab: tuple[float, float, float]  # absolute
    black_lab: tuple[float, float, float]  # absolute
    white_density: float
    black_density: float
    contrast: float  # luminance ratio white : black
    gamut_volume: float  # cubic Lab units, media-relative
    intents: tuple[IntentFacts, ...]
    floor_p95_de00: float
    floor_p99_de00: float
    floor_max_de00: float


class Stock(Record):
    """One paper on one printer."""

    name: str  # kebab-case, how tickets call it
    title: str  # how people call it
    profile_file: str  # relative to the stock's own file, or absolute
    surface: Literal["gloss", "baryta", "satin", "matte", "canvas", "newsprint", "other"]
    native_ppi: Literal[300, 360, 600, 720] = 360
    margins: MarginsMm = MarginsMm()
    media_setting: str = ""
    notes: str = ""
    facts: StockFacts | None = None


class ChannelFacts(Record):
    """Counts for one channel of the stored picture."""

    name: str  # R G B, K (grey), C M Y K, L a b
    lowest: float  # code values as stored
    highest: float
    levels_used: int
    clipped_low_percent: float  # share of pixels at the lowest possible code
    clipped_high_percent: float
    largest_low_patch_percent: float  # largest connected patch, share of the picture
    largest_high_patch_percent: float
    comb_percent: float  # empty levels inside the used range, per cent of that range


class PictureFacts(Record):
    """The file as opened: what it is and what the first look found."""

    path: str
    sha256: str
    size_bytes: int
    format: str  # TIFF PNG JPEG WebP
    compression: str  # none lzw deflate packbits jpeg zstd ...
    page: int  # counted from 1
    pages: int
    stored_width_px: int
    stored_height_px: int
    orientation: int  # 1..8, as the flag says (1 when absent or unusable)
    width_px: int  # after orientation
    height_px: int
    colour_model: Literal["grey", "rgb", "cmyk", "lab"]
    bits: int  # per sample as stored
    sample_format: Literal["uint", "float"]
    true_bits: int  # what the codes really use
    alpha: Literal["none", "opaque", "partly-clear"] = "none"
    extra_channels: int = 0
    tag_ppi_x: float | None = None
    tag_ppi_y: float | None = None
    profile: ProfileFacts | None = None  # None: no profile in the file
    read_as: str = ""  # name of the space taken where the file has no usable profile
    jpeg_quality: int | None = None
    jpeg_luma: tuple[int, ...] = ()  # 64 quantisation steps of luma, row by row; empty: no JPEG
    chroma_sampling: str | None = None  # 4:4:4, 4:2:2, 4:2:0 ...
    float_highest: float | None = None
    channels: tuple[ChannelFacts, ...] = ()
    has_exif: bool = False
    has_xmp: bool = False
    has_iptc: bool = False
    camera: str = ""
    taken: str = ""
    suffix: str = ""  # of the file's name, lower case with its dot, such as .tif
    palette_colours: int | None = None  # entries of the palette; None: no palette
    layers: int = 0  # layers behind a flattened composite
    composite: bool = False  # the page read is a flattened composite of layers
    flag_space: Literal["", "srgb", "a98-rgb", "uncalibrated"] = ""  # colour flag in EXIF
    orientation_flag: int | None = None  # as written in the file, also when unusable
    thumbnail_conflicts: bool = False  # the built-in thumbnail is turned the other way
    alpha_clear_percent: float = 0.0  # share of pixels that are not fully opaque
    extra_channel_names: tuple[str, ...] = ()
    tag_ppi_note: str = ""  # why a resolution tag was unusable; empty when absent or fine
    float_lowest: float | None = None
    mask_confidence: float | None = None  # 0..1, uninverted colour negative; None: not judged
    film_border_percent: float = 0.0  # frame of holder or film edge, share of the picture
    companions: tuple[str, ...] = ()  # other pictures in the file: gain map, second view ...
    inverted_grey: bool = False  # stored with white as zero; rows arrive turned
    findings: tuple[Finding, ...] = ()


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
    sharpen: float | Literal["none", "low", "normal", "high", "fitted"] = "normal"
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
