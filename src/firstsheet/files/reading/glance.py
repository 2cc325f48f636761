"""A first glance at a picture: some of its rows and columns, before every pixel was looked at.

Takes a path and the person's answers so far; gives a small picture with what is needed to show
it. Nothing is judged; that is `files.reading.opening`. Tests: tests/bench/test_bench_levels.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from firstsheet.files.reading.byte_reader import open_for_reading
from firstsheet.files.reading.colour import choose_reading
from firstsheet.files.reading.kind import recognise
from firstsheet.files.reading.opening import open_kind  # the same opener
from firstsheet.files.reading.raw_rows import DamagedRowsError
from firstsheet.files.reading.source import PictureSource, damaged_refusal
from firstsheet.files.reading.stored import Stored

__all__ = ["Glance", "glance_at"]

_FEW_ROWS = 240  # where each row must be unpacked
_PACKED_BYTES = 100_000_000


@dataclass(frozen=True, slots=True, eq=False)
class Glance:
    """A small upright picture, codes 0..1, and how to read it."""

    codes: NDArray[np.float32]  # (h, w, channels)
    profile_bytes: bytes
    colour_model: Literal["grey", "rgb", "cmyk", "lab"]
    width_px: int  # of the whole picture, upright
    height_px: int


def glance_at(
    path: str | Path,
    *,
    long_side_px: int,
    page: int | None = None,
    background: Literal["paper", "black"] | None = None,
    read_as: str | None = None,
    float_over_one: Literal["clip", "compress"] | None = None,
    upright: bool = True,
) -> Glance:
    """Look at every n-th row and column of a picture.

    Raises
    ------
    RefusedPictureError
        If it cannot be opened, or is damaged where it is looked at.
    QuestionError
        If its colours cannot be read without an answer.
    """
    reader = open_for_reading(Path(path))
    source: PictureSource | None = None
    try:
        kind = recognise(reader.read_at(0, 64), reader.path)
        stored = open_kind(reader, kind, page=page, allow_bomb=False)
        source = PictureSource(reader, stored.raw, stored.resolver, stored.rows_present)
        if background is not None:
            source.resolve_with(background=background)
        reading = choose_reading(stored, read_as)
        try:
            codes = _sampled(source, stored, long_side_px, float_over_one)
        except DamagedRowsError as damage:
            raise damaged_refusal(
                reader.path.name, damage.first_row, stored.height_px, damage.reason
            ) from damage
        orientation = stored.metadata.orientation or 1
        if upright and 2 <= orientation <= 8:
            codes = _turned(codes, orientation)
        turned = upright and 5 <= orientation <= 8
        size = (stored.width_px, stored.height_px)
        return Glance(
            codes=np.ascontiguousarray(codes),
            profile_bytes=reading.profile_bytes,
            colour_model=stored.resolver.model,
            width_px=size[1] if turned else size[0],
            height_px=size[0] if turned else size[1],
        )
    finally:
        (source or reader).close()


def _sampled(
    source: PictureSource,
    stored: Stored,
    long_side_px: int,
    float_over_one: Literal["clip", "compress"] | None,
) -> NDArray[np.float32]:
    """Every n-th row and column, codes 0..1."""
    width, height = source.width_px, source.height_px
    factor = min(1.0, long_side_px / max(width, height))
    columns, rows = max(1, round(width * factor)), max(1, round(height * factor))
    packed = not source.reads_columns
    if packed and width * height * stored.bits // 8 * source.channels > _PACKED_BYTES:
        rows = min(rows, _FEW_ROWS)
    at_rows = ((np.arange(rows) + 0.5) * height / rows).astype(int)
    at_columns = ((np.arange(columns) + 0.5) * width / columns).astype(int)
    picked: list[NDArray[Any]] = []
    for row in at_rows.tolist():
        picked.append(source.stored(row, row + 1)[:, at_columns])
    samples = np.concatenate(picked)
    if samples.dtype.kind == "f" and float_over_one == "compress":
        source.resolve_with(float_over_one="compress", float_limit=float(np.nanmax(samples)))
    codes = source.resolver.resolve(samples)
    if codes.dtype.kind != "f":
        codes = np.multiply(codes, np.float32(1.0 / np.iinfo(codes.dtype).max), dtype=np.float32)
    if rows < max(1, round(height * factor)):  # as tall as it should be
        again = (np.arange(round(height * factor)) * rows / round(height * factor)).astype(int)
        codes = codes[again]
    shares: NDArray[np.float32] = np.ascontiguousarray(codes, np.float32)
    return shares


def _turned(codes: NDArray[np.float32], orientation: int) -> NDArray[np.float32]:
    """Upright, as the orientation flag of TIFF 6.0 says."""
    if orientation >= 5:
        codes = codes.transpose(1, 0, 2)
    flip_x, flip_y = orientation in (2, 3, 6, 7), orientation in (3, 4, 7, 8)
    return codes[:: -1 if flip_y else 1, :: -1 if flip_x else 1]
