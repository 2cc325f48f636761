"""How the numbers are to be read: by the file's profile, or as the space that was named.

Takes a stored picture and the person's words; gives profile bytes and what to say. Rules:
docs/theory/opening.md. Tests: tests/files/test_open_rules.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from firstsheet.cms.build import grey_profile, space_profile
from firstsheet.cms.profile import profile_facts
from firstsheet.engine.colour.spaces import GREYS, SPACES
from firstsheet.engine.errors import QuestionError, RefusedPictureError, TicketError
from firstsheet.engine.records import Finding, ProfileFacts
from firstsheet.files.reading import findings as say
from firstsheet.files.reading.byte_reader import open_for_reading
from firstsheet.files.reading.measure import Measured
from firstsheet.files.reading.source import PictureSource
from firstsheet.files.reading.stored import Stored

__all__ = ["DEFAULT_GREY", "DEFAULT_RGB", "Reading", "check_float", "choose_reading"]

DEFAULT_RGB = "srgb"
DEFAULT_GREY = "grey-gamma-2.2"
_SPACE_OF_MODEL = {"grey": "GRAY", "rgb": "RGB", "cmyk": "CMYK", "lab": "Lab"}
_MOST_PROFILE_BYTES = 64 << 20


@dataclass(frozen=True, slots=True)
class Reading:
    """How the colours are read, and what was found in the file."""

    profile_bytes: bytes  # empty for Lab, whose numbers are colours already
    embedded: ProfileFacts | None  # None where the file carries no profile
    read_as: str  # empty where the embedded profile decides
    notes: list[Finding] = field(default_factory=list)


def choose_reading(stored: Stored, read_as: str | None) -> Reading:
    """Take the embedded profile where it is usable, else what was named, else the default.

    Raises
    ------
    QuestionError
        For CMYK or floating point without a usable profile and without a name.
    """
    model = stored.resolver.model
    icc = stored.metadata.icc
    embedded = profile_facts(icc) if icc else None
    notes: list[Finding] = []
    if icc and embedded is not None:
        if embedded.kind == "broken":
            pass  # the judge says so, from the facts
        elif embedded.colour_space != _SPACE_OF_MODEL[model]:
            notes.append(say.profile_mismatch(embedded.colour_space, model))
        else:
            if read_as:
                notes.append(say.read_as_not_needed(read_as, embedded.description))
            return Reading(icc, embedded, "", notes)
    if model == "lab":
        return Reading(b"", embedded, "lab-d50", notes)
    profile, name = _without_profile(stored, read_as, notes)
    return Reading(profile, embedded, name, notes)


def _without_profile(
    stored: Stored, read_as: str | None, notes: list[Finding]
) -> tuple[bytes, str]:
    model = stored.resolver.model
    names = _names_for(model)
    if read_as is not None:
        profile = _named(read_as, model, names)
        notes.append(say.read_as_taken(read_as, declared=""))
        return profile, read_as
    if model == "cmyk":
        raise QuestionError(
            "The picture is CMYK without a usable profile.",
            "CMYK for an unknown press: its colours cannot be known.",
            "Name the profile it was made for, or get the RGB master.",
            "cmyk-untagged",
            "--read-as PROFILE.icc",
        )
    if stored.sample_format == "float":
        raise QuestionError(
            "The picture is floating point without a usable profile.",
            "Its numbers may be linear light or encoded; the two print quite differently.",
            "Say how to read it: by the name of a space, or a profile's file.",
            "float-untagged",
            f"--read-as {'|'.join(names)}|PROFILE.icc",
        )
    name = DEFAULT_GREY if model == "grey" else DEFAULT_RGB
    if stored.declared_space:
        name = "grey-srgb" if model == "grey" else stored.declared_space
    elif stored.metadata.colour_flag == "srgb" and model == "grey":
        name = "grey-srgb"
    declared = _declared(stored)
    if declared:
        notes.append(say.read_as_taken(name, declared=declared))
    return _named(name, model, names), name


def _declared(stored: Stored) -> str:
    """In what words the file itself declares its space; empty where it only hints."""
    if stored.declared_space:
        return "the file declares its space"
    return "its EXIF colour flag says sRGB" if stored.metadata.colour_flag == "srgb" else ""


def _names_for(model: str) -> tuple[str, ...]:
    return {"rgb": tuple(SPACES), "grey": tuple(GREYS)}.get(model, ())


def _named(read_as: str, model: str, names: tuple[str, ...]) -> bytes:
    """Profile of a named space, or the bytes of a profile's file."""
    if read_as in names:
        return grey_profile(read_as) if model == "grey" else space_profile(read_as)
    if Path(read_as).suffix.lower() in (".icc", ".icm"):
        return _profile_file(Path(read_as), model)
    listed = ", ".join(names)
    raise TicketError(
        f"A {model} picture cannot be read as {read_as!r}.",
        "There is no such space here.",
        (f"Use one of {listed}, or" if listed else "Use") + " the file of a profile (.icc).",
        "unknown-read-as",
    )


def _profile_file(path: Path, model: str) -> bytes:
    reader = open_for_reading(path)
    try:
        data = reader.read_at(0, _MOST_PROFILE_BYTES)
    finally:
        reader.close()
    facts = profile_facts(data)
    if facts.kind == "broken" or facts.colour_space != _SPACE_OF_MODEL[model]:
        what = facts.problems[0] if facts.kind == "broken" else f"it is for {facts.colour_space}."
        raise TicketError(
            f"{path.name} cannot tell how to read a {model} picture: {what}",
            "The picture's colours would be wrong.",
            "Name a profile of the same kind as the picture.",
            "profile-not-fitting",
        )
    return data


def check_float(
    source: PictureSource, measured: Measured, answers: Mapping[str, str]
) -> list[Finding]:
    """Settle values outside 0..1; Lab is left as it is.

    Raises
    ------
    RefusedPictureError
        If pixels are not numbers.
    QuestionError
        If values above 1 are there and no answer says what to do with them.
    """
    if measured.not_numbers:
        raise RefusedPictureError(
            f"{measured.not_numbers:,} samples are not numbers (NaN or infinite).",
            "They have no colour, and none is invented.",
            "Repair them where the picture was made, and save it again.",
            "not-a-number-pixels",
        )
    if source.resolver.model == "lab":
        return []
    notes: list[Finding] = []
    if measured.float_lowest < 0:
        notes.append(say.negative_values(measured.float_lowest))
    if measured.float_highest > 1:
        how = answers.get("float-over-one")
        if how not in ("clip", "compress"):
            raise QuestionError(
                f"Values up to {measured.float_highest:.3g}: brighter than paper.",
                "Paper ends at 1. Clipped, they print as bare white; compressed, the highlights "
                "keep some detail and everything above 0.8 gets darker.",
                "Clip or compress them.",
                "float-over-one",
                "--answer float-over-one=clip|compress",
            )
        source.resolve_with(float_over_one=how, float_limit=measured.float_highest)
        notes.append(say.float_mapped(measured.float_highest, how))
    return notes
