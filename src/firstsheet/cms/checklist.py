"""What can be wrong with an ICC profile, told in sentences.

Takes a parsed profile; gives the problems found, worst first, empty where all is well. This
goes beyond the structure: a profile may be well formed and yet useless for printing.
Theory: docs/theory/icc.md, section 3. Tests: tests/cms/test_cms_checklist.py.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator

import numpy as np

from firstsheet.cms.container import D50_PCS, MOST_TAGS, Profile
from firstsheet.cms.interpolate import multilinear
from firstsheet.cms.tags import TagFault
from firstsheet.engine.colour.lab import xyz_to_lab

__all__ = ["cannot_convert", "find_problems", "profile_digest"]

_MATRIX = ("rXYZ", "gXYZ", "bXYZ", "rTRC", "gTRC", "bTRC")
_TABLES = ("A2B0", "A2B1", "A2B2", "B2A0", "B2A1", "B2A2")
_CLASSES = ("scnr", "mntr", "prtr", "link", "spac", "abst", "nmcl")
_ILLUMINANT_TOLERANCE = 5e-5  # three s15Fixed16 steps
_SUM_TOLERANCE = 2e-3  # common sRGB profiles of 1998 miss by 2e-4
_MONOTONE_STEP = 1e-6
_LEAST_VOLUME = 1e-4  # determinant of the primaries; sRGB has 0.14


def find_problems(profile: Profile) -> tuple[str, ...]:
    """Go through the whole list."""
    checks = (
        _size, _header, _tag_places, _required_tags, _stand_ins, _white, _tone_curves, _matrix,
        _tables, _bare_paper, _identity,
    )  # fmt: skip
    return tuple(problem for check in checks for problem in check(profile))


def profile_digest(data: bytes) -> bytes:
    """The MD5 identity that belongs to a profile's bytes (ICC.1 7.2.18).

    Flags, rendering intent and the identity itself are counted as zero.
    """
    blank = bytearray(data)
    blank[44:48], blank[64:68], blank[84:100] = bytes(4), bytes(4), bytes(16)
    return hashlib.md5(blank, usedforsecurity=False).digest()


def cannot_convert(profile: Profile) -> str:
    """Say why no colour can be read through this profile; empty where one can."""
    if profile.device_class in ("link", "abst", "nmcl"):
        return ""  # other kinds: whole, but for another purpose
    if profile.channels == 0:
        return ""
    forward = profile.table_to_pcs(1)
    try:
        if forward:
            profile.lut(forward)
        elif profile.colour_space == "GRAY":
            profile.curve("kTRC")
        else:
            columns = np.column_stack([profile.colorant(name) for name in _MATRIX[:3]])
            for name in _MATRIX[3:]:
                profile.curve(name)
            if abs(np.linalg.det(columns)) < _LEAST_VOLUME:
                return "Its three primaries are not three different colours."
    except TagFault as fault:
        return f"The profile cannot be read: {fault}."
    return ""


def _size(profile: Profile) -> Iterator[str]:
    declared, present = profile.declared_size, len(profile.data)
    if declared > present:
        yield f"The profile is cut short: its header says {declared} bytes, {present} are there."
    elif present - declared > 3:
        yield f"{present - declared} bytes follow after the profile's end."


def _header(profile: Profile) -> Iterator[str]:
    if profile.version[0] not in (2, 4):
        yield f"It is of version {profile.version_text}; versions 2 and 4 are read."
    if profile.device_class not in _CLASSES:
        yield f"Its class “{profile.device_class}” is not one of the ICC's."
    if profile.device_class != "link" and profile.pcs not in ("XYZ", "Lab"):
        yield f"Its connection space “{profile.pcs}” is neither XYZ nor Lab."
    gap = np.max(np.abs(np.array(profile.illuminant) - D50_PCS))
    if gap > _ILLUMINANT_TOLERANCE:
        numbers = ", ".join(f"{value:.4f}" for value in profile.illuminant)
        yield f"Its connection light is {numbers}; the ICC requires D50 (0.9642, 1, 0.8249)."
    if profile.rendering_intent & 0xFFFF > 3:
        yield f"Its header asks for a rendering intent {profile.rendering_intent} that is not one."


def _tag_places(profile: Profile) -> Iterator[str]:
    data_begins = 132 + 12 * len(profile.places)
    names = [place.signature for place in profile.places]
    if len(names) >= MOST_TAGS:
        yield f"It lists {MOST_TAGS} tags or more; only the first {MOST_TAGS} were looked at."
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield f"The tag {name} is listed more than once."
    for place in profile.places:
        if place.offset + place.size > len(profile.data):
            yield f"The tag {place.signature} points beyond the end of the profile."
        elif place.offset < data_begins:
            yield f"The tag {place.signature} points into the header or the tag table."
        elif place.size < 8:
            yield f"The tag {place.signature} is too short to hold anything."


def _required_tags(profile: Profile) -> Iterator[str]:
    common = ["desc", "cprt"] + (["wtpt"] if profile.device_class != "link" else [])
    missing = [name for name in (*common, *_of_class(profile)) if name not in profile.tags]
    if missing:
        yield (
            f"A profile of class {profile.device_class} needs the tags "
            f"{', '.join(missing)}; they are not there."
            if len(missing) > 1
            else f"A profile of class {profile.device_class} needs the tag {missing[0]}; "
            "it is not there."
        )


def _stand_ins(profile: Profile) -> Iterator[str]:
    """Intents without a table of their own: the perceptual one serves, as the ICC says."""
    if profile.device_class != "prtr" or "B2A0" not in profile.tags:
        return
    names = {"B2A1": "relative and absolute colorimetric", "B2A2": "saturation"}
    missing = [intent for tag, intent in names.items() if tag not in profile.tags]
    if missing:
        yield (
            f"It has no table of its own for {' or '.join(missing)}: "
            "the perceptual one is used in its place."
        )


def _of_class(profile: Profile) -> tuple[str, ...]:
    """Tags a class needs, after the ICC's own reference code."""
    kind, has = profile.device_class, profile.tags
    if kind in ("scnr", "mntr", "prtr") and profile.colour_space == "GRAY" and "A2B0" not in has:
        return ("kTRC",)
    if kind == "scnr":
        return () if "A2B0" in has or profile.is_matrix else _MATRIX
    if kind == "mntr":
        tables = "A2B0" in has or "B2A0" in has
        return ("A2B0", "B2A0") if tables and not profile.is_matrix else _matrix_or(profile)
    if kind == "prtr":
        return (*_TABLES, "gamt")
    return {
        "link": ("A2B0", "pseq"),
        "spac": ("A2B0", "B2A0"),
        "abst": ("A2B0",),
        "nmcl": ("ncl2",),
    }.get(kind, ())


def _matrix_or(profile: Profile) -> tuple[str, ...]:
    return () if profile.is_matrix else _MATRIX


def _white(profile: Profile) -> Iterator[str]:
    if "wtpt" not in profile.tags:
        return
    try:
        white = profile.colorant("wtpt")
    except TagFault as fault:
        yield f"The media white cannot be read: {fault}."
        return
    lab = xyz_to_lab(white)
    paper = profile.device_class == "prtr"
    if not (white > 0).all() or not 30 <= lab[0] <= 102 or (paper and np.hypot(*lab[1:]) > 40):
        numbers = ", ".join(f"{value:.4f}" for value in white)
        yield f"The media white (XYZ {numbers}) is not the white of any paper or screen."


def _tone_curves(profile: Profile) -> Iterator[str]:
    for name in ("rTRC", "gTRC", "bTRC", "kTRC"):
        if name not in profile.tags:
            continue
        try:
            values = profile.curve(name).sampled(1025)
        except TagFault as fault:
            yield f"A tone curve cannot be read: {fault}."
            continue
        if (np.diff(values) < -_MONOTONE_STEP).any() and not _falls(profile, values):
            yield f"The tone curve {name} does not rise steadily: some tones change places."
        elif np.ptp(values) < 0.5:
            yield f"The tone curve {name} spans only {np.ptp(values):.2f} of the range."


def _falls(profile: Profile, values: np.ndarray) -> bool:
    """Grey ink counts the other way, which is no fault."""
    return profile.colour_space == "GRAY" and bool((np.diff(values) <= _MONOTONE_STEP).all())


def _matrix(profile: Profile) -> Iterator[str]:
    if not profile.is_matrix:
        return
    try:
        columns = np.column_stack([profile.colorant(name) for name in _MATRIX[:3]])
    except TagFault as fault:
        yield f"A primary cannot be read: {fault}."
        return
    gap = np.max(np.abs(columns.sum(axis=1) - D50_PCS))
    if gap > _SUM_TOLERANCE:
        numbers = ", ".join(f"{value:.4f}" for value in columns.sum(axis=1))
        yield f"Its primaries add up to {numbers}, not to D50: greys come out tinted."
    if np.linalg.det(columns) < -_LEAST_VOLUME:
        yield "Its primaries stand in the wrong order: two colours are swapped."


def _tables(profile: Profile) -> Iterator[str]:
    for name in _TABLES:
        if name not in profile.tags or profile.device_class in ("nmcl", "link"):
            continue
        try:
            table = profile.lut(name)
        except TagFault as fault:
            yield f"A table cannot be read: {fault}."
            continue
        ends = (profile.channels, 3) if name[0] == "A" else (3, profile.channels)
        if profile.channels and (table.inputs, table.outputs) != ends:
            yield (
                f"The table {name} leads from {table.inputs} to {table.outputs} channels; "
                f"{ends[0]} to {ends[1]} is needed."
            )


def _bare_paper(profile: Profile) -> Iterator[str]:
    """The colorimetric table must call bare paper white: it is relative to the paper."""
    if profile.device_class != "prtr" or profile.pcs != "Lab" or profile.channels not in (1, 3, 4):
        return
    try:
        table = profile.lut(profile.table_to_pcs(1) or "A2B1")
    except TagFault:
        return  # already told
    if table.clut is None or table.middle or table.matrix is not None:
        return
    if table.inputs != profile.channels or table.outputs != 3:
        return
    device = np.full(profile.channels, 0.0 if profile.colour_space == "CMYK" else 1.0)
    shaped = np.array([curve.at(v) for curve, v in zip(table.before, device, strict=True)])
    inside = multilinear(table.clut, shaped)
    coded = np.array([curve.at(v) for curve, v in zip(table.after, inside, strict=True)])
    lightness = float(coded[0]) * 100.0 * (65535 / 65280 if table.kind == "mft2" else 1.0)
    if lightness < 97.0:
        yield f"Its colorimetric table gives bare paper L* {lightness:.1f}; it must be 100."


def _identity(profile: Profile) -> Iterator[str]:
    given = profile.profile_id
    whole = profile.declared_size == len(profile.data)
    if any(given) and profile.version[0] >= 4 and whole and given != profile_digest(profile.data):
        yield "Its identity (MD5) does not fit its contents: it was altered after it was made."
