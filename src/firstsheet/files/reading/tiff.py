"""TIFF: pages, strips and tiles, every packing the trade meets, by rows in bounded memory.

Takes an open file and a page; gives a Stored picture. Uncompressed strips are read straight
from their place, everything else part by part through tifffile and imagecodecs; what those
cannot decode goes to libvips. Standards: TIFF 6.0; its technical notes on JPEG, CIELab and
float predictors; the BigTIFF design note. Theory: docs/theory/opening.md.
Tests: tests/files/test_open_formats.py.
"""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING, Any

from firstsheet.engine.errors import RefusedPictureError
from firstsheet.files.reading.byte_reader import ByteReader
from firstsheet.files.reading.jpeg_markers import quantisation_tables
from firstsheet.files.reading.kind import raw_refusal
from firstsheet.files.reading.limits import check_claim
from firstsheet.files.reading.metadata import Metadata
from firstsheet.files.reading.stored import Stored
from firstsheet.files.reading.tiff_layout import (
    CFA,
    COMPRESSIONS,
    LINEAR_RAW,
    YCBCR,
    Layout,
    read_layout,
    read_resolver,
    rows_present,
)
from firstsheet.files.reading.tiff_metadata import tiff_metadata
from firstsheet.files.reading.tiff_rows import tiff_rows

if TYPE_CHECKING:
    from firstsheet.engine.records import Finding

__all__ = ["open_tiff"]

_MOST_PAGES = 10_000


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
            chosen, place, number, pages, notes = _choose(tif, reader, page)
            layout = read_layout(chosen, tif.byteorder)
            check_claim(
                reader.path.name,
                layout.width,
                layout.height,
                layout.decoded_bytes,
                reader.size_bytes,
                allow_bomb=allow_bomb,
            )
            metadata = tiff_metadata(reader, chosen, tif.byteorder, big=tif.is_bigtiff)
            return _stored(reader, chosen, layout, metadata, (place, number, pages), notes)
    except RefusedPictureError:
        raise
    except (OSError, MemoryError) as error:
        raise _no_directory(reader, str(error)) from error
    except Exception as error:  # a hostile directory can make the parser raise anything
        raise _no_directory(reader, str(error)) from error


def _choose(
    tif: Any, reader: ByteReader, page: int | None
) -> tuple[Any, int, int, int, list[Finding]]:
    """The page to print, its place in the file, its number, how many, and what to say.

    Reduced copies and masks (tag 254, bits 0 and 2) are not counted as pages.
    """
    full: list[tuple[int, int, int]] = []
    reduced: list[tuple[int, int, int]] = []
    for index in range(min(len(tif.pages), _MOST_PAGES)):
        one = tif.pages[index]
        if _is_raw(one):
            raise raw_refusal(reader.path)
        kind = reduced if int(one.tags.valueof(254, 0) or 0) & 5 else full
        kind.append((index, int(one.imagewidth), int(one.imagelength)))
    listed = full or reduced
    if not listed:
        raise _no_directory(reader, "it lists no page")
    if page is not None and not 1 <= page <= len(listed):
        from firstsheet.files.reading.findings import count

        raise RefusedPictureError(
            f"{reader.path.name} has {count(len(listed), 'page')}; page {page} was asked for.",
            "There is no such page.",
            f"Name a page from 1 to {len(listed)}.",
            "no-such-page",
            "--page N",
        )
    number = page or 1
    place = listed[number - 1][0]
    chosen = tif.pages[place]
    notes: list[Finding] = []
    if len(listed) > 1 and not (37724 in chosen.tags and page is None):
        sizes = [(width, height) for _, width, height in listed]
        from firstsheet.files.reading.findings import several_pages

        notes.append(several_pages(number, sizes, asked=page is not None))
    return chosen, place, number, len(listed), notes


def _is_raw(page: Any) -> bool:
    """Sensor data in this page or one of its sub-directories, or the raw standard's mark."""
    raw_kinds = {CFA, LINEAR_RAW}
    if 50706 in page.tags or int(page.photometric or 0) in raw_kinds:
        return True
    below = page.pages or ()
    return any(int(sub.photometric or 0) in raw_kinds for sub in below)


def _stored(
    reader: ByteReader,
    page: Any,
    layout: Layout,
    metadata: Metadata,
    where: tuple[int, int, int],
    notes: list[Finding],
) -> Stored:
    """Describe the page; `where` is its place in the file, its number, how many."""
    place, number, pages = where
    resolver, extra = read_resolver(page, layout)
    present, damage = rows_present(layout, reader.size_bytes)
    raw, resolver, second = tiff_rows(reader, page, layout, resolver, place)
    if second:
        from firstsheet.files.reading.findings import second_reader

        notes.append(second_reader(second))
    chroma = None
    if layout.photometric == YCBCR:
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
        palette_colours=2**layout.bits if resolver.palette is not None else None,
        composite=37724 in page.tags,
        extra_channel_names=("mask or spot colour",) * extra,
        jpeg_tables=_jpeg_tables(reader, page, layout),
        chroma_sampling=chroma,
        notes=notes,
    )


def _jpeg_tables(reader: ByteReader, page: Any, layout: Layout) -> tuple[tuple[int, ...], ...]:
    """Quantisation tables, kept apart for all parts or inside the first one."""
    if layout.compression != 7:
        return ()
    shared = quantisation_tables(page.jpegtables or b"")
    return shared or quantisation_tables(reader.read_at(layout.offsets[0], 4096))


def _no_directory(reader: ByteReader, reason: str) -> RefusedPictureError:
    reason = " ".join(reason.split())[:160] or "no reason given"
    return RefusedPictureError(
        f"{reader.path.name} begins like a TIFF, but its directory of {reader.size_bytes:,} "
        f"bytes cannot be read ({reason}).",
        "No row can be located: the file was cut short or damaged.",
        "Copy it again from where it came from, or scan again.",
        "damaged-directory",
    )
