"""Findings about the file as a container: alpha, pages, orientation, tags, size, name.

Pure functions from PictureFacts to a Finding or None. Rules: docs/theory/judging.md. Tests:
tests/engine/file/test_findings.py.
"""

from __future__ import annotations

from typing import Final

from firstsheet.engine.findings import choice, finding
from firstsheet.engine.records import Finding, PictureFacts

__all__ = [
    "alpha_opaque",
    "extra_channels",
    "large_file",
    "multi_picture",
    "orientation_applied",
    "orientation_ignored",
    "several_pages",
    "tag_resolution_ignored",
    "wrong_extension",
]

_SUFFIXES: Final = {
    "TIFF": (".tif", ".tiff", ".btf", ".tf8"),
    "PNG": (".png",),
    "JPEG": (".jpg", ".jpeg", ".jpe", ".jfif"),
    "WebP": (".webp",),
}
_LARGE_BYTES: Final = 2**30
_PLAIN_TIFF_BYTES: Final = 2**32 - 2**16  # 4 GiB less room for the directory
_SCREEN_TAG_PPI: Final = 100.0  # 72 and 96 are written when nothing is known
_TURNS: Final = {
    2: "mirrored left to right",
    3: "turned by 180°",
    4: "mirrored top to bottom",
    5: "turned by 90° and mirrored",
    6: "turned by 90° clockwise",
    7: "turned by 90° and mirrored",
    8: "turned by 90° anticlockwise",
}


def alpha_opaque(facts: PictureFacts) -> Finding | None:
    """An alpha channel that hides nothing."""
    if facts.alpha != "opaque":
        return None
    return finding(
        code="alpha-opaque",
        weight="fine",
        found="There is an alpha channel, and every pixel in it is opaque.",
        consequence="It is dropped; nothing changes.",
    )


def extra_channels(facts: PictureFacts) -> Finding | None:
    """Channels beyond colour and alpha."""
    if facts.extra_channels == 0:
        return None
    names = ", ".join(facts.extra_channel_names)
    return finding(
        code="extra-channels",
        weight="fine",
        found=f"There are {facts.extra_channels} further channels"
        + (f" ({names})." if names else "."),
        consequence="They are left out: only colour is printed.",
        figures={"extra_channels": facts.extra_channels},
    )


def several_pages(facts: PictureFacts) -> Finding | None:
    """Several pages, or layers behind a flattened picture."""
    if facts.composite or (facts.layers and facts.pages == 1):
        return finding(
            code="several-pages",
            weight="fine",
            found="The file holds layers" + (f" ({facts.layers})." if facts.layers else "."),
            consequence="The flattened picture kept with them is printed.",
            figures={"layers": facts.layers},
        )
    if facts.pages <= 1:
        return None
    return finding(
        code="several-pages",
        weight="caution",
        found=f"The file holds {facts.pages} pages.",
        consequence=f"Page {facts.page} is printed ({facts.width_px:,} × {facts.height_px:,} "
        "pixels).",
        choices=(choice("Choose another page.", option="--page"),),
        figures={"page": facts.page, "pages": facts.pages},
    )


def orientation_applied(facts: PictureFacts) -> Finding | None:
    """The orientation flag turns the picture."""
    if facts.orientation not in _TURNS:
        return None
    doubt = facts.thumbnail_conflicts
    return finding(
        code="orientation-applied",
        weight="caution" if doubt else "fine",
        found=f"The orientation flag is {facts.orientation}."
        + (" The thumbnail inside is turned differently." if doubt else ""),
        consequence=f"The picture is {_TURNS[facts.orientation]} once, and outputs carry no flag.",
        choices=("If it then lies on its side, clear the flag in a copy.",) if doubt else (),
        figures={"orientation": facts.orientation},
        source="TIFF 6.0, Orientation (274)",
    )


def orientation_ignored(facts: PictureFacts) -> Finding | None:
    """An orientation flag that means nothing."""
    flag = facts.orientation_flag
    if flag is None or 1 <= flag <= 8:
        return None
    return finding(
        code="orientation-ignored",
        weight="fine",
        found=f"The orientation flag is {flag}, which means nothing (1 to 8 do).",
        consequence="It is ignored: the picture stays as it is stored.",
        choices=("If it lies on its side, turn it in a copy.",),
        figures={"orientation_flag": flag},
        source="TIFF 6.0, Orientation (274)",
    )


def tag_resolution_ignored(facts: PictureFacts) -> Finding | None:
    """A resolution tag that frightens people, or is no resolution."""
    if facts.tag_ppi_note:
        found = f"The resolution tag is unusable: {facts.tag_ppi_note.rstrip('.')}."
    elif facts.tag_ppi_x is not None and facts.tag_ppi_x < _SCREEN_TAG_PPI:
        found = f"The resolution tag says {facts.tag_ppi_x:.4g} ppi."
    else:
        return None
    return finding(
        code="tag-resolution-ignored",
        weight="fine",
        found=found,
        consequence="That is harmless: size and sharpness come from the pixels "
        f"({facts.width_px:,} × {facts.height_px:,}), and the print file gets the right tag.",
        figures={"tag_ppi": facts.tag_ppi_x or 0.0},
    )


def large_file(facts: PictureFacts) -> Finding | None:
    """So large that memory, disk or a lab may mind."""
    channels = {"grey": 1, "rgb": 3, "lab": 3, "cmyk": 4}[facts.colour_model]
    pixels = facts.stored_width_px * facts.stored_height_px
    n_bytes = pixels * channels * max(1, facts.bits // 8)
    if n_bytes < _LARGE_BYTES:
        return None
    beyond = n_bytes > _PLAIN_TIFF_BYTES
    return finding(
        code="large-file",
        weight="caution" if beyond else "fine",
        found=f"The picture is {facts.width_px:,} × {facts.height_px:,} pixels "
        f"({pixels / 1e6:,.0f} megapixels, {n_bytes / 1e9:.2f} GB unpacked).",
        consequence="It is worked through in strips, so memory stays small; it takes time and "
        "disk." + (" At this size only BigTIFF holds it, which labs may refuse." if beyond else ""),
        figures={"pixels": pixels, "unpacked_bytes": n_bytes},
        source="TIFF 6.0: offsets of 32 bits" if beyond else "",
    )


def multi_picture(facts: PictureFacts) -> Finding | None:
    """Phone files: gain maps, second views, moving parts."""
    if not facts.companions:
        return None
    return finding(
        code="multi-picture",
        weight="fine",
        found=f"The file holds more than one picture ({', '.join(facts.companions)}).",
        consequence="The base picture is printed; brightness beyond it is for screens only.",
        figures={"companions": len(facts.companions)},
    )


def wrong_extension(facts: PictureFacts) -> Finding | None:
    """The name says one kind, the bytes another."""
    usual = _SUFFIXES.get(facts.format)
    if usual is None or not facts.suffix or facts.suffix.lower() in usual:
        return None
    return finding(
        code="wrong-extension",
        weight="fine",
        found=f"The file is named {facts.suffix} but is a {facts.format}.",
        consequence=f"It is read as {facts.format}.",
        choices=(f"Rename a copy to {usual[0]} so that others read it too.",),
        figures={"suffix": facts.suffix, "format": facts.format},
    )
