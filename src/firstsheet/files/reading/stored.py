"""What a format's opener hands to the door: the stored picture, described.

Data only. Tests: tests/files/test_open_formats.py.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from firstsheet.files.reading.metadata import Metadata
from firstsheet.files.reading.raw_rows import RawRows
from firstsheet.files.reading.resolve import Resolver

if TYPE_CHECKING:
    from firstsheet.engine.records import Finding

__all__ = ["Stored"]


@dataclass(slots=True, kw_only=True)
class Stored:
    """One page of one file, opened: where its samples are and what they mean."""

    format: Literal["TIFF", "PNG", "JPEG", "WebP"]
    compression: str
    page: int
    pages: int
    width_px: int
    height_px: int
    bits: int
    sample_format: Literal["uint", "float"]
    raw: RawRows
    resolver: Resolver
    metadata: Metadata
    extra_channels: int = 0
    extra_channel_names: tuple[str, ...] = ()
    rows_present: int | None = None  # fewer than height_px when the bytes already run out
    damage: str = ""  # why the rows run out
    palette_colours: int | None = None
    composite: bool = False  # a flattened picture with its layers kept beside it
    companions: tuple[str, ...] = ()  # other pictures in the file
    jpeg_tables: tuple[tuple[int, ...], ...] = ()
    chroma_sampling: str | None = None
    declared_space: str = ""  # a space the container itself declares, without a profile
    notes: list[Finding] = field(default_factory=list)
