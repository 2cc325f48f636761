"""The picture's facts put together from what the door, the pass and the judges found.

Takes a stored picture, its measurements and its reading; gives PictureFacts with findings.
Tests: tests/files/test_open_facts.py.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

from firstsheet.engine.file.findings import picture_findings
from firstsheet.engine.file.jpeg import from_zigzag, jpeg_quality
from firstsheet.engine.file.levels import Depth, channel_facts, true_depth
from firstsheet.engine.file.mask import film_border_percent, mask_confidence
from firstsheet.engine.records import ChannelFacts, Finding, PictureFacts
from firstsheet.files.reading import findings as say
from firstsheet.files.reading.colour import Reading
from firstsheet.files.reading.measure import Measured, measure, measure_patches
from firstsheet.files.reading.source import PictureSource
from firstsheet.files.reading.stored import Stored

__all__ = ["make_facts"]

_NAMES = {"grey": "K", "rgb": "RGB", "cmyk": "CMYK", "lab": "Lab"}
_QUARTER_TURNS = (5, 6, 7, 8)


def make_facts(
    source: PictureSource,
    stored: Stored,
    measured: Measured,
    reading: Reading,
    answers: Mapping[str, str],
    notes: list[Finding],
    sha256: str,
) -> PictureFacts:
    """Everything known about the picture, findings last."""
    if source.resolver.float_over_one == "compress":
        measured = measure(source)
    meta = stored.metadata
    orientation = _orientation(stored, answers, notes)
    if meta.ppi_x and meta.ppi_y and abs(meta.ppi_x / meta.ppi_y - 1) > 0.01:
        asked = answers.get("unequal-resolution") == "square"
        notes.append(say.unequal_resolution(meta.ppi_x, meta.ppi_y, asked=asked))
    turned = orientation in _QUARTER_TURNS
    depth, channels = _channels(source, stored, measured)
    quality = None
    tables = stored.jpeg_tables[:2]
    if tables and all(min(table) > 0 for table in tables):
        quality = jpeg_quality(*(from_zigzag(table) for table in tables)).quality
    is_float = stored.sample_format == "float"
    facts = PictureFacts(
        path=str(source.path),
        sha256=sha256,
        size_bytes=source.size_bytes,
        format=stored.format,
        compression=stored.compression,
        page=stored.page,
        pages=stored.pages,
        stored_width_px=stored.width_px,
        stored_height_px=stored.height_px,
        orientation=orientation,
        width_px=stored.height_px if turned else stored.width_px,
        height_px=stored.width_px if turned else stored.height_px,
        colour_model=stored.resolver.model,
        bits=stored.bits,
        sample_format=stored.sample_format,
        true_bits=stored.bits if depth is None else min(depth.true_bits, stored.bits),
        alpha=_alpha(stored, measured),
        extra_channels=stored.extra_channels,
        tag_ppi_x=meta.ppi_x,
        tag_ppi_y=meta.ppi_y,
        profile=reading.embedded,
        read_as=reading.read_as,
        jpeg_quality=quality,
        jpeg_luma=tuple(int(step) for step in from_zigzag(tables[0])) if quality else (),
        chroma_sampling=stored.chroma_sampling,
        float_highest=measured.float_highest if is_float else None,
        channels=channels,
        has_exif=meta.exif is not None,
        has_xmp=meta.xmp is not None,
        has_iptc=meta.iptc is not None,
        camera=meta.camera,
        taken=meta.taken,
        suffix=source.path.suffix.lower(),
        palette_colours=stored.palette_colours,
        composite=stored.composite,
        flag_space=meta.colour_flag,
        orientation_flag=meta.orientation,
        thumbnail_conflicts=any(note.code == "orientation-conflict" for note in notes),
        alpha_clear_percent=measured.clear_pixels / measured.pixels * 100.0,
        extra_channel_names=stored.extra_channel_names,
        float_lowest=measured.float_lowest if is_float else None,
        mask_confidence=_mask(stored, measured),
        film_border_percent=film_border_percent(measured.small_grey),
        companions=stored.companions,
        inverted_grey=stored.resolver.min_is_white,
        findings=tuple(notes),
    )
    return facts.model_copy(update={"findings": (*notes, *picture_findings(facts))})


def _alpha(stored: Stored, measured: Measured) -> Literal["none", "opaque", "partly-clear"]:
    if stored.resolver.alpha_sample is None:
        return "none"
    return "partly-clear" if measured.clear_pixels else "opaque"


def _mask(stored: Stored, measured: Measured) -> float | None:
    """Confidence that this is an uninverted colour negative; only asked of RGB with tones."""
    if stored.resolver.model != "rgb" or stored.bits < 8 or stored.palette_colours is not None:
        return None
    return mask_confidence(list(measured.histograms))


def _orientation(stored: Stored, answers: Mapping[str, str], notes: list[Finding]) -> int:
    """The flag that counts: 1 where it is absent, meaningless or answered away."""
    flag = stored.metadata.orientation
    if flag is None:
        return 1
    if not 1 <= flag <= 8:
        return 1
    preview = stored.metadata.thumbnail_px
    if flag in _QUARTER_TURNS and preview is not None:
        wide, preview_wide = stored.width_px - stored.height_px, preview[0] - preview[1]
        if wide * preview_wide < 0:
            answer = answers.get("orientation", "")
            applied = answer != "ignore"
            notes.append(
                say.orientation_conflict(flag, applied=applied, asked=answer in ("apply", "ignore"))
            )
            return flag if applied else 1
    return flag


def _channels(
    source: PictureSource, stored: Stored, measured: Measured
) -> tuple[Depth | None, tuple[ChannelFacts, ...]]:
    """Depth and one ChannelFacts per channel; nothing where no row is real."""
    names = _NAMES[source.resolver.model]
    if not measured.histograms.sum():
        return None, ()
    is_float = stored.sample_format == "float"
    depth = None if is_float or stored.bits < 8 else true_depth(list(measured.histograms))
    high = _high_patches(source, measured, depth)
    channels = tuple(
        channel_facts(
            name,
            counts,
            depth,
            bin_width=1 / 65535 if is_float else 1.0,
            largest_low_patch_percent=low_patch,
            largest_high_patch_percent=high_patch,
        )
        for name, counts, low_patch, high_patch in zip(
            names, measured.histograms, measured.low_patch_percent, high, strict=True
        )
    )
    return depth, channels


def _high_patches(
    source: PictureSource, measured: Measured, depth: Depth | None
) -> Sequence[float]:
    """Patches at the file's own highest code, which may lie below the type's."""
    if depth is None or depth.top_code == measured.histograms.shape[1] - 1:
        return measured.high_patch_percent
    if not measured.histograms[:, depth.top_code].any():
        return [0.0] * len(measured.high_patch_percent)
    return measure_patches(source, depth.top_code, measured.valid_rows)
