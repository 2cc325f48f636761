"""Findings about profile and colour: what the numbers mean, and what if they mean another.

Pure functions from PictureFacts to a Finding or None. Rules: docs/theory/judging.md.
Tests: tests/engine/file/test_findings.py.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from firstsheet.engine.colour.lab import y_to_lightness
from firstsheet.engine.colour.spaces import GREYS, SPACES, space_title
from firstsheet.engine.file.misread import MISREAD_SOURCE, MISREADINGS, Misreading
from firstsheet.engine.findings import choice, finding
from firstsheet.engine.records import Finding, PictureFacts, ProfileFacts

__all__ = [
    "broken_profile",
    "cmyk_tagged",
    "eight_bit_wide",
    "flag_against_profile",
    "input_profile",
    "lab_file",
    "output_profile",
    "screen_profile",
    "untagged_grey",
    "untagged_rgb",
]

_FLAG_WORDS = {
    "srgb": "sRGB",
    "a98-rgb": "a wide-gamut camera space (opRGB)",
    "uncalibrated": "“uncalibrated”, which cameras write for wider spaces",
}
_STEP_CODE = 30  # a deep shadow, where 8-bit steps are coarse


def _among(spaces: Iterable[str]) -> str:
    """Names that can be given, as a sentence has them."""
    return ", ".join(spaces)


def _usable(facts: PictureFacts) -> ProfileFacts | None:
    profile = facts.profile
    return None if profile is None or profile.kind == "broken" else profile


def untagged_rgb(facts: PictureFacts) -> Finding | None:
    """RGB without a profile: read as something, and what if that was wrong."""
    if facts.colour_model != "rgb" or facts.profile is not None:
        return None
    read = facts.read_as or "srgb"
    cases = [
        _misread_clause(true, MISREADINGS[true, read])
        for true in SPACES
        if (true, read) in MISREADINGS
    ]
    hint = ""
    if facts.flag_space in _FLAG_WORDS:
        hint = f" The colour flag in its metadata says {_FLAG_WORDS[facts.flag_space]}."
    likely = MISREADINGS.get(("srgb" if read != "srgb" else "a98-rgb", read))
    return finding(
        code="untagged-rgb",
        weight="caution",
        found=f"The picture carries no colour profile.{hint}",
        consequence=f"It is read as {space_title(read)}. " + " ".join(cases),
        choices=(choice(f"Name the space, if you know it: {_among(SPACES)}.", option="--read-as"),),
        figures={
            "read_as": read,
            **(
                {
                    "if_wrong_mean_de00": likely.mean_de00,
                    "if_wrong_max_de00": likely.max_de00,
                    "if_wrong_chroma_factor": likely.chroma_factor,
                }
                if likely
                else {}
            ),
        },
        source=MISREAD_SOURCE,
    )


def _misread_clause(true: str, misread: Misreading) -> str:
    percent = round(abs(misread.chroma_factor - 1.0) * 100.0)
    way = "too flat" if misread.chroma_factor < 1.0 else "too strong"
    light = ""
    if abs(misread.lightness_shift) >= 2.0:
        shade = "dark" if misread.lightness_shift < 0 else "light"
        light = f" and {abs(misread.lightness_shift):.0f} L* too {shade}"
    return (
        f"If it was made in {space_title(true)}, colours print about {percent} % {way}{light} "
        f"(mean ΔE00 {misread.mean_de00:.1f}, largest {misread.max_de00:.1f})."
    )


def untagged_grey(facts: PictureFacts) -> Finding | None:
    """Grey without a profile: two usual readings, and how far they lie apart."""
    if facts.colour_model != "grey" or facts.profile is not None:
        return None
    read = facts.read_as or "grey-gamma-2.2"
    other = "grey-l-star" if read != "grey-l-star" else "grey-gamma-2.2"
    if read not in GREYS:
        return None
    codes = np.linspace(0.0, 1.0, 256)
    gap = y_to_lightness(GREYS[other].curve.decode(codes)) - y_to_lightness(
        GREYS[read].curve.decode(codes)
    )
    at = int(np.abs(gap).argmax())
    shade = "lighter" if gap[at] > 0 else "darker"
    return finding(
        code="untagged-grey",
        weight="caution",
        found="The grey picture carries no profile, so its tone curve is unknown.",
        consequence=f"It is read as {space_title(read)}. Read as {space_title(other)} it would "
        f"print up to {abs(gap[at]):.1f} L* {shade}, most at code {at} of 255.",
        choices=(
            choice(f"Read it as {space_title(other)} instead.", {"colour.read-as": other}),
            choice(f"Name the curve: {_among(GREYS)}.", option="--read-as"),
        ),
        figures={"read_as": read, "largest_gap_l": round(float(gap[at]), 2), "at_code": at},
        source="computed from the two curves",
    )


def flag_against_profile(facts: PictureFacts) -> Finding | None:
    """Metadata flag and profile contradict each other; the profile wins."""
    profile = _usable(facts)
    if profile is None or facts.colour_model != "rgb":
        return None
    is_srgb = profile.space == "srgb" or "srgb" in profile.description.lower()
    conflict = (facts.flag_space == "srgb" and not is_srgb) or (
        facts.flag_space == "a98-rgb" and is_srgb
    )
    if not conflict:
        return None
    return finding(
        code="flag-against-profile",
        weight="fine",
        found=f"The colour flag in the metadata says {_FLAG_WORDS[facts.flag_space]}; the "
        f"embedded profile is “{profile.description}”.",
        consequence="The profile is used and the flag is ignored.",
        choices=("If the colours look wrong, embed the right profile in the master.",),
        figures={"flag_space": facts.flag_space},
    )


def broken_profile(facts: PictureFacts) -> Finding | None:
    """An embedded profile that cannot be used."""
    if facts.profile is None or facts.profile.kind != "broken":
        return None
    reason = facts.profile.problems[0] if facts.profile.problems else "it is not a profile"
    read = facts.read_as or ("srgb" if facts.colour_model == "rgb" else "")
    taken = (
        f"It is read as {space_title(read)}, as a file without a profile."
        if read
        else ("The picture is treated as one without a profile.")
    )
    return finding(
        code="broken-profile",
        weight="caution",
        found=f"The embedded profile ({facts.profile.size_bytes:,} bytes) is unreadable: "
        f"{reason.rstrip('.')}.",
        consequence=taken,
        choices=(
            choice("Name its space.", option="--read-as"),
            "Save the picture again with a sound profile.",
        ),
        figures={"profile_bytes": facts.profile.size_bytes, "read_as": read},
    )


def output_profile(facts: PictureFacts) -> Finding | None:
    """A file already converted for a printer."""
    profile = _usable(facts)
    if profile is None or profile.kind != "output" or facts.colour_model == "cmyk":
        return None
    return finding(
        code="output-profile",
        weight="caution",
        found=f"The picture is already converted for a printer (“{profile.description}”).",
        consequence="Converting it again would ruin it, so its numbers are kept as they are.",
        choices=(
            "Go back to the master and print from that.",
            choice("Convert it all the same.", {"colour.convert-again": "true"}),
        ),
        figures={"profile": profile.description},
    )


def _device_profile(facts: PictureFacts, kind: str, code: str, device: str) -> Finding | None:
    profile = _usable(facts)
    if profile is None or profile.kind != kind:
        return None
    return finding(
        code=code,
        weight="caution",
        found=f"The picture carries the profile of {device} (“{profile.description}”), not of a "
        "working space.",
        consequence="Its colours are taken as that profile says; they are only as right as that "
        "profile is.",
        choices=(
            "Nothing, if the picture looks right.",
            "Convert the master to a working space once, with its appearance kept.",
        ),
        figures={"profile": profile.description},
    )


def screen_profile(facts: PictureFacts) -> Finding | None:
    """A screen's profile inside the picture."""
    return _device_profile(facts, "screen", "screen-profile", "a screen")


def input_profile(facts: PictureFacts) -> Finding | None:
    """A scanner's or camera's profile inside the picture."""
    return _device_profile(facts, "input", "input-profile", "a scanner or camera")


def cmyk_tagged(facts: PictureFacts) -> Finding | None:
    """CMYK with a profile: it can be converted, but what the press lacked is gone."""
    profile = _usable(facts)
    if facts.colour_model != "cmyk" or profile is None:
        return None
    return finding(
        code="cmyk-tagged",
        weight="caution",
        found=f"The picture is CMYK, separated for “{profile.description}”.",
        consequence="It is converted through that profile. Colours the press could not print are "
        "gone already and do not come back on a better paper.",
        choices=("Print from the RGB master if there is one.",),
        figures={"profile": profile.description},
    )


def lab_file(facts: PictureFacts) -> Finding | None:
    """A Lab file needs no profile."""
    if facts.colour_model != "lab":
        return None
    return finding(
        code="lab-file",
        weight="fine",
        found="The picture is in CIELAB.",
        consequence="Its numbers are colours already; they are read against D50 and no profile "
        "is needed.",
        source="ICC.1 and TIFF 6.0, section 23",
    )


def eight_bit_wide(facts: PictureFacts) -> Finding | None:
    """Eight bits spread over a wide space."""
    if facts.colour_model != "rgb" or facts.true_bits > 8 or facts.sample_format != "uint":
        return None
    profile = _usable(facts)
    name = facts.read_as if profile is None else profile.space
    wide = SPACES[name].wide if name in SPACES else bool(profile and profile.wide)
    if not wide:
        return None
    if name in SPACES:
        step, plain = _grey_step_l(name), _grey_step_l("srgb")
        title = space_title(name)
        coarse = f"in a deep shadow one step is {step:.2f} L* against {plain:.2f} in sRGB"
        figures = {"step_l": round(step, 3), "step_srgb_l": round(plain, 3), "at_code": _STEP_CODE}
    else:
        title = f"“{profile.description}”" if profile else "wide"
        coarse, figures = "the same codes are spread over more colours than in sRGB", {}
    return finding(
        code="eight-bit-wide",
        weight="caution",
        found=f"The picture has 8 bits per channel in a wide space ({title}).",
        consequence=f"Steps are coarser: {coarse}. Clean gradients may show bands, more so after "
        "edits.",
        choices=("Scan or render again with 16 bits.", "Nothing, where grain covers the steps."),
        figures={**figures},
        source="computed from the space's curve at code 30 of 255" if figures else "",
    )


def _grey_step_l(space: str) -> float:
    """L* from code 30 to 31 of a neutral."""
    codes = np.array([_STEP_CODE, _STEP_CODE + 1]) / 255.0
    low, high = y_to_lightness(SPACES[space].decode(codes))
    return float(high - low)
