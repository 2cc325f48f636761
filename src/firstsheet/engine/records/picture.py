"""The picture as opened: what the file is and what the first look found. Data only."""

from __future__ import annotations

from typing import Literal

from firstsheet.engine.records.base import Record
from firstsheet.engine.records.finding import Finding
from firstsheet.engine.records.stock import ProfileFacts

__all__ = [
    "ChannelFacts",
    "PictureFacts",
]


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
