"""What the door itself has to say: each found, consequence, choices.

Gives Findings about the container, not about the pixels; those are `engine.file.findings`.
Rules: docs/theory/opening.md. Tests: tests/files/test_open_rules.py.
"""

from __future__ import annotations

from collections.abc import Sequence

from firstsheet.engine.findings import choice, finding, percent
from firstsheet.engine.records import Finding

__all__ = [
    "count",
    "float_mapped",
    "negative_values",
    "orientation_conflict",
    "partly_clear",
    "profile_mismatch",
    "profile_unreadable",
    "read_as_not_needed",
    "read_as_taken",
    "second_reader",
    "several_pages",
    "still_damaged",
    "unequal_resolution",
]


def count(number: int, thing: str) -> str:
    """`1 page`, `3 pages`.

    >>> count(3, "page")
    '3 pages'
    """
    return f"{number:,} {thing}" if number == 1 else f"{number:,} {thing}s"


def several_pages(number: int, sizes: Sequence[tuple[int, int]], *, asked: bool) -> Finding:
    """Several full pages in one file."""
    pages = ", ".join(f"{n}: {w:,} × {h:,}" for n, (w, h) in enumerate(sizes[:12], 1))
    more = f" and {len(sizes) - 12:,} more" if len(sizes) > 12 else ""
    return finding(
        code="several-pages",
        weight="fine" if asked else "caution",
        found=f"The file holds {count(len(sizes), 'picture')} ({pages}{more}).",
        consequence=f"Page {number} is printed" + (", as asked." if asked else ", the first one."),
        choices=(choice("Choose another page.", option="--page"),),
        figures={"pages": len(sizes), "page": number},
    )


def second_reader(reason: str) -> Finding:
    """Another reader had to be taken."""
    return finding(
        code="second-reader",
        weight="fine",
        found=f"The first reader could not take this file row by row ({reason}).",
        consequence="It was unpacked once, by a second reader; the pixels are complete.",
    )


def profile_unreadable(size_bytes: int, reason: str) -> Finding:
    """An embedded profile that is not one."""
    return finding(
        code="profile-unreadable",
        weight="caution",
        found=f"The embedded profile ({size_bytes:,} bytes) cannot be read: {reason}",
        consequence="The file is treated as one without a profile.",
        choices=(choice("Name its space.", option="--read-as"), "Embed the profile again."),
        figures={"profile_bytes": size_bytes},
    )


def profile_mismatch(profile_space: str, model: str) -> Finding:
    """A profile of another kind of colour than the pixels."""
    return finding(
        code="profile-mismatch",
        weight="caution",
        found=f"The pixels are {model}, but the embedded profile is for {profile_space}.",
        consequence="It cannot be about these pixels; the file is treated as one without a "
        "profile.",
        choices=(choice("Name its space.", option="--read-as"),),
    )


def read_as_taken(name: str, *, declared: str) -> Finding:
    """No usable profile, but the person or the file itself says how to read it."""
    why = f"{declared}: read as {name}" if declared else f"read as {name}, as asked"
    return finding(
        code="read-as",
        weight="fine",
        found=f"The file has no usable profile; {why}.",
        consequence="Its colours are interpreted accordingly.",
        choices=(choice("Name another space.", option="--read-as"),),
        figures={"read_as": name},
    )


def read_as_not_needed(asked: str, profile: str) -> Finding:
    """A reading was asked for, but the profile decides."""
    return finding(
        code="read-as-not-needed",
        weight="caution",
        found=f"Reading as {asked} was asked for, but the file has a usable profile ({profile}).",
        consequence="The profile decides; a tag is never thrown away.",
        choices=(
            choice("Name no space.", {"colour.read-as": ""}),
            "If the profile is wrong, embed the right one first.",
        ),
    )


def _share_words(share: float) -> str:
    """A share to begin a sentence with: all of it only where it is all.

    >>> _share_words(99.7), _share_words(100.0), _share_words(37.6), _share_words(0.0091)
    ('99.7 %', 'All', '38 %', 'Below 0.1 %')
    """
    if share >= 100:
        return "All"
    if share >= 99.5:
        return f"{min(share, 99.9):.1f} %"
    words = percent(share)
    return words[0].upper() + words[1:]


def partly_clear(background: str, clear_percent: float, *, asked: bool) -> Finding:
    """Clear parts laid over a background."""
    grounds = ("bare paper", "black") if background == "paper" else ("black", "bare paper")
    ground, other = grounds
    return finding(
        code="partly-clear",
        weight="fine" if asked else "caution",
        found=f"{_share_words(clear_percent)} of the picture is clear or half clear.",
        consequence=f"Clear parts will be {ground}, mixed in the file's own code values.",
        choices=(
            choice(
                f"Lay {other} under it.",
                {"background": "black" if background == "paper" else "paper"},
            ),
        ),
        figures={"alpha_clear_percent": round(clear_percent, 3), "background": background},
    )


def orientation_conflict(flag: int, *, applied: bool, asked: bool) -> Finding:
    """Flag and thumbnail disagree."""
    other = "Ignore the flag." if applied else "Turn it as the flag says."
    return finding(
        code="orientation-conflict",
        weight="fine" if asked else "caution",
        found=f"The orientation flag ({flag}) turns the picture by a quarter, but the small "
        "preview inside has the turned shape already.",
        consequence="The pixels may have been turned before, and the flag left behind; it was "
        + ("applied." if applied else "ignored."),
        choices=(choice(other, {"answers.orientation": "ignore" if applied else "apply"}),),
        figures={"flag": flag, "applied": applied},
    )


def unequal_resolution(x: float, y: float, *, asked: bool) -> Finding:
    """Different resolution across and down."""
    return finding(
        code="unequal-resolution",
        weight="fine" if asked else "caution",
        found=f"The resolution tags differ: {x:.4g} ppi across, {y:.4g} ppi down.",
        consequence="Pixels are printed as squares; a fax or an anamorphic picture would come "
        "out squeezed.",
        choices=(
            "If it is one, resample it to square pixels first.",
            choice(
                "The tags are wrong: pixels are square.", {"answers.unequal-resolution": "square"}
            ),
        ),
        figures={"tag_ppi_x": round(x, 3), "tag_ppi_y": round(y, 3)},
    )


def float_mapped(highest: float, how: str) -> Finding:
    """Values above 1 brought into range, as asked."""
    what = (
        "everything above 1 prints as white"
        if how == "clip"
        else "values above 0.8 were compressed smoothly"
    )
    other = (
        "Compress what is above 0.8 instead."
        if how == "clip"
        else "Clip all above 1 to white instead."
    )
    return finding(
        code="float-over-one",
        weight="caution",
        found=f"Values up to {highest:.3g}: brighter than paper.",
        consequence=f"As asked ({how}), {what}.",
        choices=(
            choice(other, {"answers.float-over-one": "compress" if how == "clip" else "clip"}),
        ),
        figures={"float_highest": round(highest, 6), "mapping": how},
    )


def negative_values(lowest: float) -> Finding:
    """Values below 0 cut off."""
    return finding(
        code="negative-values",
        weight="caution",
        found=f"Values down to {lowest:.3g}: darker than black, or outside the space.",
        consequence="Everything below 0 prints as 0.",
        choices=("Convert the master to a wider space if these colours matter.",),
        figures={"float_lowest": round(lowest, 6)},
    )


def still_damaged(valid: int, height: int, reason: str) -> Finding:
    """PictureSession for inspection only, although damaged."""
    rows = f"Rows 0 to {valid - 1:,} of {height:,} are real" if valid else "No row is whole"
    return finding(
        code="damaged-picture",
        weight="stop",
        found=f"{rows} ({reason}).",
        consequence="The rest cannot be read; it can be looked at, not printed.",
        choices=("Copy it again from where it came from, or scan again.",),
        figures={"valid_rows": valid, "rows": height},
    )
