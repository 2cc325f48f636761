"""The opened picture as other rooms see it: a RowSource over stored samples.

Takes raw rows and a resolver; gives colour rows in stored orientation from any thread.
Tests: tests/files/test_open_rows.py.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.errors import RefusedPictureError
from firstsheet.engine.streams import Rows
from firstsheet.files.reading.byte_reader import ByteReader
from firstsheet.files.reading.raw_rows import DamagedRowsError, RawRows
from firstsheet.files.reading.resolve import Resolver

__all__ = ["PictureSource", "damaged_refusal"]


class PictureSource:
    """Rows of one picture; see `engine.streams.RowSource`.

    CMYK is 0 for no ink, full for full ink. Lab is 0..1 of the type's range: L* 100 is full,
    a* and b* run from -128 to 127. Float is held to 0..1, except Lab.
    """

    def __init__(
        self, reader: ByteReader, raw: RawRows, resolver: Resolver, real_rows: int | None = None
    ) -> None:
        self._reader, self._raw, self.resolver = reader, raw, resolver
        self._real_rows = raw.height_px if real_rows is None else real_rows
        self._damage = "the file ends early"

    @property
    def width_px(self) -> int:
        """Width as stored."""
        return self._raw.width_px

    @property
    def height_px(self) -> int:
        """Height as stored."""
        return self._raw.height_px

    @property
    def channels(self) -> int:
        """Colour channels."""
        return self.resolver.channels

    @property
    def dtype(self) -> np.dtype[Any]:
        """uint8, uint16 or float32."""
        return self.resolver.dtype

    @property
    def size_bytes(self) -> int:
        """Bytes of the file."""
        return self._reader.size_bytes

    @property
    def path(self) -> Path:
        """Where the picture lies."""
        return self._reader.path

    def rows(self, top: int, bottom: int) -> Rows:
        """Rows top (inclusive) to bottom (exclusive), colours over the background.

        Raises
        ------
        RefusedPictureError
            If the file is damaged in these rows.
        """
        try:
            return self.resolver.resolve(self.stored(top, bottom))
        except DamagedRowsError as error:
            raise damaged_refusal(
                self.path.name, error.first_row, self.height_px, error.reason
            ) from error

    @property
    def reads_columns(self) -> bool:
        """Whether `block` costs no more than the columns it gives."""
        return hasattr(self._raw, "read_columns")

    def block(self, top: int, bottom: int, left: int, right: int) -> Rows:
        """The columns left to right of some rows, as `rows` would give them.

        Raises
        ------
        RefusedPictureError
            If the file is damaged in these rows.
        """
        columns = getattr(self._raw, "read_columns", None)
        if columns is None or bottom > self._real_rows:
            return self.rows(top, bottom)[:, left:right]
        if not (0 <= top <= bottom <= self.height_px and 0 <= left <= right <= self.width_px):
            raise ValueError(f"rows {top} to {bottom}, columns {left} to {right}")
        try:
            return self.resolver.resolve(columns(top, bottom, left, right))
        except DamagedRowsError as error:
            raise damaged_refusal(
                self.path.name, error.first_row, self.height_px, error.reason
            ) from error

    def stored(self, top: int, bottom: int) -> NDArray[Any]:
        """Stored samples, nothing resolved; raises DamagedRowsError."""
        if not 0 <= top <= bottom <= self.height_px:
            raise ValueError(f"rows {top} to {bottom} of {self.height_px}")
        if bottom > self._real_rows:
            raise DamagedRowsError(self._real_rows, self._damage)
        return self._raw.read(top, bottom)

    def end_at(self, real_rows: int, damage: str) -> None:
        """Hand out no row from `real_rows` on; only while the picture is being opened."""
        self._real_rows, self._damage = real_rows, damage

    def verify(self, top: int, bottom: int) -> None:
        """Raise DamagedRowsError where a decoder would only warn."""
        self._raw.verify(top, bottom)

    def resolve_with(self, **changes: Any) -> None:
        """Settle how the samples resolve; only while the picture is being opened."""
        self.resolver = replace(self.resolver, **changes)

    def close(self) -> None:
        """Give files and temporary files back."""
        self._raw.close()
        self._reader.close()


def damaged_refusal(name: str, valid: int, height: int, reason: str) -> RefusedPictureError:
    """Refusal of a damaged picture, with the rows that are real."""
    if valid > 0:
        real = f"rows 0 to {valid - 1:,} of {height:,} are real"
    else:
        real = f"not one of its {height:,} rows is whole"
    return RefusedPictureError(
        f"{name} is damaged: {real} ({reason}).",
        "The rest cannot be read, and nothing is made up in its place.",
        "Copy it again from where it came from, or scan again.",
        "damaged-picture",
        "firstsheet check --inspect shows what is there",
    )
