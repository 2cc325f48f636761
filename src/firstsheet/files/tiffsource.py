"""TIFF: pages, strips and tiles, every packing the trade meets, by rows in bounded memory.

Takes an open file and a page; gives a Stored picture. Uncompressed strips are read straight
from their place, everything else part by part through tifffile and imagecodecs; what those
cannot decode goes to libvips. Standards: TIFF 6.0; its technical notes on JPEG, CIELab and
float predictors; the BigTIFF design note. Theory: docs/theory/opening.md.
Tests: tests/files/test_open_tiff.py.
"""

from __future__ import annotations

import logging
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from firstsheet.engine.errors import RefusedPictureError
from firstsheet.engine.records import Finding
from firstsheet.files import open_findings as say
from firstsheet.files.metadata import Metadata
from firstsheet.files.open_bytes import ByteReader
from firstsheet.files.open_kind import raw_refusal
from firstsheet.files.open_limits import check_claim, check_spool
from firstsheet.files.source_raw import FlatRows, RawRows, SegmentRows, SpoolRows
from firstsheet.files.source_record import Stored
from firstsheet.files.source_resolve import Resolver
from firstsheet.files.source_vips import vips, vips_chunks, vips_open
from firstsheet.files.tiffmeta import tiff_metadata

__all__ = ["open_tiff"]

_LARGEST_SEGMENT_BYTES = 32 << 20
_MOST_PAGES = 10_000

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
_BY_PARTS = frozenset({1, 5, 7, 8, 32946, 32773, 34925, 50000})
_WHITE_IS_ZERO, _BLACK_IS_ZERO, _RGB, _PALETTE, _CMYK, _YCBCR = 0, 1, 2, 3, 5, 6
_CIELAB, _ICCLAB, _CFA, _LINEAR_RAW = 8, 9, 32803, 34892
_COLOURS = {_WHITE_IS_ZERO: 1, _BLACK_IS_ZERO: 1, _RGB: 3, _PALETTE: 1, _CMYK: 4, _YCBCR: 3}
_COLOURS |= {_CIELAB: 3, _ICCLAB: 3}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Layout:
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


def open_tiff(reader: ByteReader, *, page: int | None, allow_bomb: bool) -> Stored:
    """Open one page of a TIFF.

    Raises
    ------
    RefusedPictureError
        If it is a camera's raw file, its directory cannot be read, or its kind of samples
        cannot be printed.
    """
    import tifffile

    logging.getLogger("tifffile").setLevel(logging.CRITICAL + 1)
    try:
        with tifffile.TiffFile(reader.path) as tif:
            chosen, number, pages, notes = _choose(tif, reader, page)
            layout = _layout(chosen, tif.byteorder)
            check_claim(
                reader.path.name,
                layout.width,
                layout.height,
                layout.decoded_bytes,
                reader.size_bytes,
                allow_bomb=allow_bomb,
            )
            metadata = tiff_metadata(reader, chosen, tif.byteorder, big=tif.is_bigtiff)
            return _stored(reader, chosen, layout, metadata, number, pages, notes)
    except RefusedPictureError:
        raise
    except (OSError, MemoryError) as error:
        raise _no_directory(reader, str(error)) from error
    except Exception as error:  # a hostile directory can make the parser raise anything
        raise _no_directory(reader, str(error)) from error


def _choose(tif: Any, reader: ByteReader, page: int | None) -> tuple[Any, int, int, list[Finding]]:
    """The page to print, its number, how many there are, and what to say about it."""
    total = min(len(tif.pages), _MOST_PAGES)
    listed: list[tuple[int, int, int, bool]] = []
    for index in range(total):
        one = tif.pages[index]
        if _is_raw(one):
            raise raw_refusal(reader.path)
        reduced = bool(int(one.tags.valueof(254, 0) or 0) & 5)
        listed.append((index + 1, int(one.imagewidth), int(one.imagelength), reduced))
    if not listed:
        raise _no_directory(reader, "it lists no page")
    if page is not None and not 1 <= page <= total:
        raise RefusedPictureError(
            f"{reader.path.name} has {say.count(total, 'page')}; page {page} was asked for.",
            "There is no such page.",
            f"Name a page from 1 to {total} (--page).",
            "no-such-page",
        )
    full = [entry for entry in listed if not entry[3]] or listed
    number = page or full[0][0]
    notes: list[Finding] = []
    chosen = tif.pages[number - 1]
    layered = 37724 in chosen.tags
    if layered:
        notes.append(say.layers_flattened())
    if len(full) > 1 and not (layered and page is None):
        notes.append(say.several_pages(number, full, asked=page is not None))
    return chosen, number, total, notes


def _is_raw(page: Any) -> bool:
    """Sensor data in this page or one of its sub-directories, or the raw standard's mark."""
    raw_kinds = {_CFA, _LINEAR_RAW}
    if 50706 in page.tags or int(page.photometric or 0) in raw_kinds:
        return True
    below = page.pages or ()
    return any(int(sub.photometric or 0) in raw_kinds for sub in below)


def _layout(page: Any, order: str) -> _Layout:
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
    return _Layout(
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


def _stored(
    reader: ByteReader,
    page: Any,
    layout: _Layout,
    metadata: Metadata,
    number: int,
    pages: int,
    notes: list[Finding],
) -> Stored:
    resolver, extra = _resolver(page, layout)
    present, damage = _rows_present(layout, reader.size_bytes)
    raw, resolver, second = _raw(reader, page, layout, resolver, number)
    if second:
        notes.append(say.second_reader(second))
    chroma = None
    if layout.photometric == _YCBCR:
        across, down = (int(v) for v in page.tags.valueof(530, (2, 2)))
        chroma = {(1, 1): "4:4:4", (2, 1): "4:2:2", (2, 2): "4:2:0", (4, 1): "4:1:1"}.get(
            (across, down), f"{across}x{down}"
        )
    return Stored(
        format="TIFF",
        compression=COMPRESSIONS.get(layout.compression, f"kind {layout.compression}"),
        page=number,
        pages=pages,
        width_px=layout.width,
        height_px=layout.height,
        bits=layout.bits,
        sample_format="float" if layout.is_float else "uint",
        raw=raw,
        resolver=resolver,
        metadata=metadata,
        extra_channels=extra,
        rows_present=present,
        damage=damage,
        palette=layout.photometric == _PALETTE,
        line_art=layout.bits == 1,
        layers=37724 in page.tags,
        jpeg_tables=_tables(page.jpegtables) if layout.compression == 7 else (),
        chroma_sampling=chroma,
        notes=notes,
    )


def _resolver(page: Any, layout: _Layout) -> tuple[Resolver, int]:
    """How the samples become colours, and how many extra channels are dropped."""
    colours = _COLOURS[layout.photometric]
    kinds = tuple(int(kind) for kind in page.extrasamples or ())
    kinds = kinds[: layout.samples - colours]
    alpha = next((i for i, kind in enumerate(kinds) if kind in (1, 2)), None)
    spare = layout.samples - colours - (alpha is not None)
    palette = None
    dtype = layout.dtype
    if layout.photometric == _PALETTE:
        palette = _palette(np.asarray(page.colormap), layout.bits)
        dtype = palette.dtype
    model = {1: "grey", 3: "rgb", 4: "cmyk"}[3 if palette is not None else colours]
    lab = {_CIELAB: "cie", _ICCLAB: "icc"}.get(layout.photometric, "")
    resolver = Resolver(
        model="lab" if lab else model,  # type: ignore[arg-type]  # both are members of Model
        stored_bits=32 if layout.is_float else layout.bits,
        dtype=dtype,
        min_is_white=layout.photometric == _WHITE_IS_ZERO,
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


def _rows_present(layout: _Layout, size_bytes: int) -> tuple[int | None, str]:
    """How many rows from the top have all their bytes in the file; None means all."""
    down = -(-layout.height // layout.segment_height)
    across = -(-layout.width // layout.segment_width)
    wanted = down * across * layout.planes
    plain = layout.compression == 1
    per_pixel = layout.bits * (1 if layout.planes > 1 else layout.samples)
    row_bytes = -(-layout.segment_width * per_pixel // 8)
    for index in range(wanted):
        row = index // across % down * layout.segment_height
        if index >= len(layout.offsets) or index >= len(layout.counts):
            return _lowest(layout, index, down, across), "its strips or tiles are not all listed"
        offset, count = layout.offsets[index], layout.counts[index]
        rows = layout.segment_height
        if not layout.tiled:
            rows = min(rows, layout.height - row)
        needed = rows * row_bytes if plain else max(count, 1)
        if offset == 0 or offset + needed > size_bytes or (plain and 0 < count < needed):
            held = max(0, min(size_bytes - offset, count or needed)) if offset else 0
            whole = held // row_bytes if plain and not layout.tiled else 0
            lowest = _lowest(layout, index, down, across)
            return (row + min(whole, rows) if lowest == row else lowest), "the file ends early"
    return None, ""


def _lowest(layout: _Layout, index: int, down: int, across: int) -> int:
    """First row touched by segment `index`; a later plane spoils the rows of the first."""
    return index // across % down * layout.segment_height


def _raw(
    reader: ByteReader, page: Any, layout: _Layout, resolver: Resolver, number: int
) -> tuple[RawRows, Resolver, str]:
    """Rows of samples; where libvips must read, the resolver that fits what it gives."""
    segment_bytes = (
        layout.segment_width
        * layout.segment_height
        * (1 if layout.planes > 1 else layout.samples)
        * layout.dtype.itemsize
    )
    ycbcr_unpacked = layout.photometric == _YCBCR and layout.compression != 7
    if layout.compression not in _BY_PARTS or ycbcr_unpacked:
        raw, resolver = _by_vips(reader, layout, resolver, number)
        return raw, resolver, "the first reader does not know this packing"
    if layout.compression == 1 and _is_flat(page, layout):
        return _flat(reader, layout), resolver, ""
    if segment_bytes > _LARGEST_SEGMENT_BYTES and _vips_keeps_samples(layout):
        raw, resolver = _by_vips(reader, layout, resolver, number)
        return raw, resolver, f"one packed part holds {segment_bytes / 1e6:,.0f} MB"
    return _by_parts(reader, page, layout), resolver, ""


def _is_flat(page: Any, layout: _Layout) -> bool:
    plain = int(page.predictor) == 1 and int(page.fillorder) == 1
    return plain and not layout.tiled and layout.bits in (8, 16, 32) and _whole_type(layout)


def _whole_type(layout: _Layout) -> bool:
    return layout.is_float == (layout.bits == 32)


def _flat(reader: ByteReader, layout: _Layout) -> RawRows:
    per_plane = -(-layout.height // layout.segment_height)
    planes = [
        layout.offsets[plane * per_plane : (plane + 1) * per_plane]
        for plane in range(layout.planes)
    ]
    return FlatRows(
        reader,
        width_px=layout.width,
        height_px=layout.height,
        samples=layout.samples,
        stored=layout.dtype.newbyteorder(layout.order),  # type: ignore[arg-type]  # `<` or `>`
        rows_per_strip=layout.segment_height,
        planes=planes,
    )


def _by_parts(reader: ByteReader, page: Any, layout: _Layout) -> RawRows:
    decode, tables = page.decode, page.jpegtables
    is_jpeg = layout.compression == 7

    def part(index: int) -> Any:
        data = reader.read_at(layout.offsets[index], layout.counts[index])
        if len(data) < layout.counts[index] or not data:
            raise ValueError("the file ends there")
        decoded = decode(data, index, jpegtables=tables)[0]
        if decoded is None:
            raise ValueError("an empty part")
        return np.asarray(decoded).reshape(decoded.shape[-3:])

    def verify(index: int) -> None:
        data = reader.read_at(layout.offsets[index], layout.counts[index])
        if tables:
            data = tables[:-2] + data[2:]
        image = vips().Image.jpegload_buffer(data, fail_on="warning", access="sequential")
        image.avg()

    return SegmentRows(
        part,
        width_px=layout.width,
        height_px=layout.height,
        samples=layout.samples,
        dtype=layout.dtype,
        segment_width=layout.segment_width,
        segment_height=layout.segment_height,
        planes=layout.planes,
        verify=verify if is_jpeg else None,
    )


def _vips_keeps_samples(layout: _Layout) -> bool:
    """Whether libvips hands out this page's samples exactly as stored."""
    return (
        layout.photometric in (_BLACK_IS_ZERO, _RGB, _CMYK)
        and layout.planes == 1
        and layout.bits in (8, 16, 32)
        and _whole_type(layout)
    )


def _by_vips(
    reader: ByteReader, layout: _Layout, resolver: Resolver, number: int
) -> tuple[RawRows, Resolver]:
    pyvips = vips()
    try:
        image = vips_open(reader.path, "tiffload", page=number - 1, unlimited=True)
        chunks = vips_chunks(image)
        format_name, bands = image.format, image.bands
    except (pyvips.Error, KeyError) as error:
        name = COMPRESSIONS.get(layout.compression, f"packing kind {layout.compression}")
        raise RefusedPictureError(
            f"The page is packed as {name}, and neither reader could open it.",
            "Its pixels cannot be reached.",
            "Save it as TIFF without compression, or with LZW or deflate.",
            "packing-not-read",
        ) from error
    types = {"uchar": np.uint8, "ushort": np.uint16, "float": np.float32}
    if format_name not in types or image.interpretation in ("lab", "labs"):
        raise RefusedPictureError(
            f"The page's samples come out as {format_name} {image.interpretation}.",
            "They cannot be printed through this reader.",
            "Save it as 16-bit RGB with its profile.",
            "samples-not-printable",
        )
    dtype = np.dtype(types[format_name])
    check_spool(reader.path.name, layout.width * layout.height * bands * dtype.itemsize)
    if not _vips_keeps_samples(layout):
        bits = 32 if dtype.kind == "f" else dtype.itemsize * 8
        resolver = replace(
            resolver,
            stored_bits=bits,
            dtype=dtype,
            min_is_white=False,
            palette=None,
            model="grey" if bands <= 2 else resolver.model,
        )
    raw = SpoolRows(
        chunks, width_px=layout.width, height_px=layout.height, samples=bands, dtype=dtype
    )
    return raw, resolver


def _tables(stream: bytes | None) -> tuple[tuple[int, ...], ...]:
    from firstsheet.files.jpegmarkers import quantisation_tables

    return quantisation_tables(stream or b"")


def _no_directory(reader: ByteReader, reason: str) -> RefusedPictureError:
    reason = " ".join(reason.split())[:160] or "no reason given"
    return RefusedPictureError(
        f"{reader.path.name} begins like a TIFF, but its directory of {reader.size_bytes:,} "
        f"bytes cannot be read ({reason}).",
        "No row can be located: the file was cut short or damaged.",
        "Copy it again from where it came from, or scan again.",
        "damaged-directory",
    )
