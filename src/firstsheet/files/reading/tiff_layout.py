"""The fields of one TIFF page that decide how its samples are read and what they mean.

Takes a page of the parser; gives a Layout, a Resolver and the rows whose bytes are present.
Standard: TIFF 6.0 sections 2 to 8, 15 (tiles), 18 (extra samples), 20 and 23 (Lab).
Tests: tests/files/test_open_formats.py, test_open_damage.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from firstsheet.engine.errors import RefusedPictureError
from firstsheet.files.reading.resolve import Resolver

__all__ = [
    "BLACK_IS_ZERO",
    "CFA",
    "CMYK",
    "COMPRESSIONS",
    "LINEAR_RAW",
    "RGB",
    "YCBCR",
    "Layout",
    "read_layout",
    "read_resolver",
    "rows_present",
]

COMPRESSIONS = {
    1: "none",
    2: "fax",
    3: "fax",
    4: "fax",
    5: "lzw",
    6: "jpeg",
    7: "jpeg",
    8: "deflate",
    32946: "deflate",
    32773: "packbits",
    34925: "lzma",
    50000: "zstd",
    50001: "webp",
}
WHITE_IS_ZERO, BLACK_IS_ZERO, RGB, PALETTE, CMYK, YCBCR = 0, 1, 2, 3, 5, 6
CIELAB, ICCLAB, CFA, LINEAR_RAW = 8, 9, 32803, 34892
_COLOURS = {WHITE_IS_ZERO: 1, BLACK_IS_ZERO: 1, RGB: 3, PALETTE: 1, CMYK: 4, YCBCR: 3}
_COLOURS |= {CIELAB: 3, ICCLAB: 3}


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """The fields of one page that decide how its samples are read."""

    width: int
    height: int
    samples: int
    bits: int
    is_float: bool
    photometric: int
    compression: int
    planes: int
    tiled: bool
    segment_width: int
    segment_height: int
    offsets: tuple[int, ...]
    counts: tuple[int, ...]
    order: str

    @property
    def dtype(self) -> np.dtype[Any]:
        """Type of the stored samples, native order."""
        if self.is_float:
            return np.dtype(np.float32)
        return np.dtype(np.uint8 if self.bits <= 8 else np.uint16)

    @property
    def decoded_bytes(self) -> int:
        return self.width * self.height * self.samples * self.dtype.itemsize


def read_layout(page: Any, order: str) -> Layout:
    """Read the fields, refusing kinds of samples that cannot be printed."""
    bits = page.bitspersample
    photometric = int(page.photometric)
    samples = int(page.samplesperpixel)
    is_float = int(page.sampleformat) == 3
    if 0 in (page.imagewidth, page.imagelength, samples):
        raise RefusedPictureError(
            f"The page claims {page.imagewidth} × {page.imagelength} pixels.",
            "There is nothing to print.",
            "Save the picture again from its source.",
            "no-pixels",
        )
    printable = (
        isinstance(bits, int)
        and (bits in (16, 24, 32, 64) if is_float else 1 <= bits <= 16)
        and int(page.sampleformat) in (1, 3, 4)
        and photometric in _COLOURS
        and samples >= _COLOURS[photometric]
        and int(page.imagedepth) == 1
    )
    if not printable:
        raise RefusedPictureError(
            f"The page stores {samples} samples of {bits} bits, sample format "
            f"{int(page.sampleformat)}, colour kind {photometric}.",
            "This is not a picture of grey, RGB, CMYK or Lab samples of at most 16 bits or "
            "floating point.",
            "Save it as 16-bit RGB with its profile.",
            "samples-not-printable",
        )
    planes = samples if int(page.planarconfig) == 2 and samples > 1 else 1
    return Layout(
        width=int(page.imagewidth),
        height=int(page.imagelength),
        samples=samples,
        bits=bits,
        is_float=is_float,
        photometric=photometric,
        compression=int(page.compression),
        planes=planes,
        tiled=bool(page.is_tiled),
        segment_width=int(page.tilewidth if page.is_tiled else page.imagewidth),
        segment_height=int(
            page.tilelength if page.is_tiled else min(page.rowsperstrip, page.imagelength)
        ),
        offsets=tuple(int(offset) for offset in page.dataoffsets),
        counts=tuple(int(count) for count in page.databytecounts),
        order=order,
    )


def read_resolver(page: Any, layout: Layout) -> tuple[Resolver, int]:
    """How the samples become colours, and how many extra channels are dropped."""
    colours = _COLOURS[layout.photometric]
    kinds = tuple(int(kind) for kind in page.extrasamples or ())
    kinds = kinds[: layout.samples - colours]
    alpha = next((i for i, kind in enumerate(kinds) if kind in (1, 2)), None)
    spare = layout.samples - colours - (alpha is not None)
    palette = None
    dtype = layout.dtype
    if layout.photometric == PALETTE:
        palette = _palette(np.asarray(page.colormap), layout.bits)
        dtype = palette.dtype
    model = {1: "grey", 3: "rgb", 4: "cmyk"}[3 if palette is not None else colours]
    lab = {CIELAB: "cie", ICCLAB: "icc"}.get(layout.photometric, "")
    resolver = Resolver(
        model="lab" if lab else model,  # type: ignore[arg-type]  # both are members of Model
        stored_bits=32 if layout.is_float else layout.bits,
        dtype=dtype,
        min_is_white=layout.photometric == WHITE_IS_ZERO,
        palette=palette,
        lab_kind=lab,  # type: ignore[arg-type]  # the mapping holds nothing else
        alpha_sample=None if alpha is None else colours + alpha,
        alpha_premultiplied=alpha is not None and kinds[alpha] == 1,
    )
    return resolver, spare


def _palette(colormap: Any, bits: int) -> Any:
    """Palette as (entries, 3), in 8 bits where 8 bits hold it exactly."""
    table = np.ascontiguousarray(colormap.reshape(3, -1).T[: 2**bits]).astype(np.uint16)
    high, low = table >> 8, table & 0xFF
    if (low == 0).all() or (low == high).all():
        return high.astype(np.uint8)
    return table


def rows_present(layout: Layout, size_bytes: int) -> tuple[int | None, str]:
    """How many rows of an uncompressed page have all their bytes in the file; None means all.

    Packed pages are found out by unpacking them.
    """
    if layout.compression != 1:
        return None, ""
    down = -(-layout.height // layout.segment_height)
    across = -(-layout.width // layout.segment_width)
    per_pixel = layout.bits * (1 if layout.planes > 1 else layout.samples)
    row_bytes = -(-layout.segment_width * per_pixel // 8)
    present = layout.height
    for index in range(down * across * layout.planes):
        row = index // across % down * layout.segment_height
        if row >= present:
            continue
        held = _bytes_held(layout, index, size_bytes)
        rows = layout.segment_height
        if not layout.tiled:
            rows = min(rows, layout.height - row)
        if held < rows * row_bytes:
            present = row if layout.tiled else row + held // row_bytes
    return (None, "") if present == layout.height else (present, "the file ends early")


def _bytes_held(layout: Layout, index: int, size_bytes: int) -> int:
    """Bytes of one strip or tile that are in the file; a count of 0 means it was not written."""
    if index >= len(layout.offsets) or layout.offsets[index] == 0:
        return 0
    in_file = max(0, size_bytes - layout.offsets[index])
    count = layout.counts[index] if index < len(layout.counts) else 0
    return min(in_file, count) if count else in_file
