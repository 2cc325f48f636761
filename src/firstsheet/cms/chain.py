"""From picture to paper and back, in floating point: the truth all faster paths are held to.

Takes a source profile, a paper profile, an intent and whether the black point is compensated;
gives a `Chain` of plain functions on arrays. Lab is media-relative D50 unless a name says
absolute. One conversion, stage by stage: picture → XYZ → black point or white → Lab → paper.
Theory: docs/theory/icc.md and black-point.md. Tests: tests/cms/test_cms_chain.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.cms import lcms
from firstsheet.cms.blackpoint import compensation, destination_black, source_black
from firstsheet.cms.checklist import cannot_convert
from firstsheet.cms.container import Profile, parse_profile
from firstsheet.engine.colour.adaptation import absolute_from_relative
from firstsheet.engine.colour.lab import D50_XYZ, lab_to_xyz, xyz_to_lab
from firstsheet.engine.errors import ProfileError

if TYPE_CHECKING:  # pydantic is not needed to convert colours
    from firstsheet.engine.records import Intent

__all__ = [
    "INTENT_NUMBERS",
    "Chain",
    "ColourModel",
    "SourceProfile",
    "build_chain",
    "decode_lab",
    "encode_lab",
    "srgb_chain",
]

SourceProfile = bytes
ColourModel = Literal["grey", "rgb", "cmyk", "lab"]
Floats = NDArray[np.float64]
_LAB_TOP = np.array([100.0, 255.0, 255.0])
_LAB_SHIFT = np.array([0.0, 128.0, 128.0])

INTENT_NUMBERS: dict[Intent, int] = {
    "perceptual": 0,
    "relative": 1,
    "saturation": 2,
    "absolute": 3,
}
_MODEL_SPACES: dict[ColourModel, str] = {"grey": "GRAY", "rgb": "RGB", "cmyk": "CMYK", "lab": "Lab"}
_RELATIVE = 1


def encode_lab(lab: ArrayLike) -> Floats:
    """Lab as codes 0..1: L*/100, (a* + 128)/255, (b* + 128)/255 (the ICC's version 4 scale)."""
    return np.asarray((np.asarray(lab, dtype=np.float64) + _LAB_SHIFT) / _LAB_TOP)


def decode_lab(encoded: ArrayLike) -> Floats:
    """Undo `encode_lab`."""
    return np.asarray(np.asarray(encoded, dtype=np.float64) * _LAB_TOP - _LAB_SHIFT)


@dataclass(frozen=True, eq=False)
class Chain:
    """The way of one picture's colours onto one paper. Safe to use from several threads."""

    source: Profile | None  # None: the picture holds Lab itself
    paper: Profile
    colour_model: ColourModel
    intent: Intent
    black_point: bool
    source_black_xyz: Floats
    paper_black_xyz: Floats
    xyz_scale: Floats  # aimed XYZ = xyz_scale * wanted XYZ + xyz_offset
    xyz_offset: Floats

    # ---- picture -------------------------------------------------------------------------

    def wanted_lab(self, encoded: ArrayLike) -> Floats:
        """What the picture means: media-relative Lab of codes 0..1, (..., channels).

        Lab pictures are given as `encode_lab` writes them; CMYK is ink, 1 = solid.
        """
        if self.source is None:
            return decode_lab(encoded)
        return lcms.to_lab(self._source_single, self.source.colour_space, encoded)

    def aim_lab(self, encoded: ArrayLike) -> Floats:
        """What is asked of the paper: wanted Lab after black point or absolute white."""
        return self.aim_from_wanted(self.wanted_lab(encoded))

    def aim_from_wanted(self, lab: ArrayLike) -> Floats:
        """Apply black point compensation, or the two whites of the absolute intent, to Lab."""
        return xyz_to_lab(lab_to_xyz(lab) * self.xyz_scale + self.xyz_offset)

    # ---- paper ---------------------------------------------------------------------------

    def device(self, encoded: ArrayLike) -> Floats:
        """Paper device values 0..1 of picture codes 0..1: the floating-point truth."""
        return self.device_from_lab(self.aim_lab(encoded))

    def device_from_lab(self, lab: ArrayLike) -> Floats:
        """Paper device values of Lab relative to the paper, through the intent's own table."""
        return lcms.from_lab(self._paper_single, self.paper.colour_space, self.paper.channels, lab)

    def printed_lab(self, device: ArrayLike) -> Floats:
        """What the paper shows, relative to its white; always by the colorimetric table."""
        return lcms.to_lab(self._paper_single, self.paper.colour_space, device)

    def printed_lab_absolute(self, device: ArrayLike) -> Floats:
        """What the paper shows, its own white and black included."""
        return self.absolute_lab(self.printed_lab(device))

    def absolute_lab(self, lab: ArrayLike) -> Floats:
        """ICC-absolute Lab of Lab relative to the paper."""
        return xyz_to_lab(absolute_from_relative(lab_to_xyz(lab), self.paper_white_xyz))

    @property
    def paper_white_xyz(self) -> Floats:
        """Media white of the paper, XYZ."""
        return np.array(self.paper.media_white)

    @property
    def paper_white_lab_absolute(self) -> Floats:
        """Media white of the paper, absolute Lab."""
        return xyz_to_lab(self.paper_white_xyz)

    @cached_property
    def paper_black_lab_absolute(self) -> Floats:
        """The darkest the paper prints, absolute Lab with its tint."""
        return self.printed_lab_absolute(darkest_device(self.paper))

    @property
    def paper_white_device(self) -> tuple[float, ...]:
        """Device values that print nothing."""
        return (0.0 if self.paper.colour_space == "CMYK" else 1.0,) * self.paper.channels

    # ---- stages --------------------------------------------------------------------------

    @cached_property
    def _source_single(self) -> bytes:
        assert self.source is not None
        return lcms.one_table_profile(
            self.source, to_pcs=self.source.table_to_pcs(INTENT_NUMBERS[self.intent])
        )

    @cached_property
    def _paper_single(self) -> bytes:
        return lcms.one_table_profile(
            self.paper,
            to_pcs=self.paper.table_to_pcs(_RELATIVE),
            from_pcs=self.paper.table_from_pcs(INTENT_NUMBERS[self.intent]),
        )


def darkest_device(paper: Profile) -> Floats:
    """Device values of the darkest print: no light in RGB; in CMYK what Lab 0, 0, 0 becomes."""
    if paper.colour_space != "CMYK" or not paper.table_from_pcs(_RELATIVE):
        return np.full(paper.channels, 1.0 if paper.colour_space == "CMYK" else 0.0)
    single = lcms.one_table_profile(paper, from_pcs=paper.table_from_pcs(_RELATIVE))
    return lcms.from_lab(single, paper.colour_space, paper.channels, np.zeros(3))


def build_chain(
    *,
    source_profile: SourceProfile,
    colour_model: ColourModel,
    paper_profile: bytes,
    intent: Intent,
    black_point: bool,
) -> Chain:
    """Join a picture's profile and a paper's.

    Parameters
    ----------
    source_profile
        ICC bytes; may be empty for colour model `lab`.
    colour_model
        What the picture's channels are.
    paper_profile
        ICC bytes with a way from the connection space to the device.
    intent
        Rendering intent of the whole conversion.
    black_point
        Whether the source's black is brought onto the paper's. Never done for absolute.

    Raises
    ------
    ProfileError
        If either profile is unreadable, or does not serve for its side.
    """
    number = INTENT_NUMBERS[intent]
    paper = parse_profile(paper_profile)
    _check_paper(paper, number)
    source = _source(source_profile, colour_model, number)
    dark = source_black(source, number) if source else np.zeros(3)
    deep = destination_black(paper, number)
    scale, offset = np.ones(3), np.zeros(3)
    if intent == "absolute":
        white = np.array(source.media_white) if source else D50_XYZ
        scale = white / np.array(paper.media_white)
    elif black_point:
        scale, offset = compensation(dark, deep)
    return Chain(
        source=source,
        paper=paper,
        colour_model=colour_model,
        intent=intent,
        black_point=black_point and intent != "absolute",
        source_black_xyz=dark,
        paper_black_xyz=deep,
        xyz_scale=scale,
        xyz_offset=offset,
    )


def srgb_chain(
    paper_profile: bytes, *, intent: Intent = "relative", black_point: bool = True
) -> Chain:
    """The chain of a picture in sRGB, where a paper is looked at without a picture of its own."""
    from firstsheet.cms.build import space_profile

    return build_chain(
        source_profile=space_profile("srgb"),
        colour_model="rgb",
        paper_profile=paper_profile,
        intent=intent,
        black_point=black_point,
    )


def _source(data: bytes, colour_model: ColourModel, number: int) -> Profile | None:
    """The picture's profile, if it can read these channels."""
    if colour_model == "lab" and not data:
        return None
    profile = parse_profile(data)
    wanted = _MODEL_SPACES[colour_model]
    if profile.colour_space != wanted:
        raise ProfileError(
            f"The picture has {wanted} channels, its profile “{profile.description}” "
            f"describes {profile.colour_space}.",
            "The profile cannot say what these colours are.",
            "Name the space the picture is really in.",
            "profile-wrong-channels",
        )
    if colour_model == "lab":
        return None  # Lab is the connection space itself
    if profile.device_class in ("link", "abst", "nmcl"):
        raise ProfileError(
            f"The picture's profile “{profile.description}” is of class {profile.device_class}.",
            "Such a profile does not say what the picture's colours look like.",
            "Name the space the picture is really in.",
            "profile-wrong-class",
        )
    unreadable = "" if profile.table_to_pcs(number) else cannot_convert(profile)
    if unreadable:
        raise ProfileError(
            f"The picture's profile “{profile.description}” cannot be used. {unreadable}",
            "It cannot say what the picture's colours look like.",
            "Name the space the picture is really in.",
            "profile-incomplete",
        )
    return profile


def _check_paper(paper: Profile, number: int) -> None:
    usable = paper.table_from_pcs(number) or paper.is_matrix or "kTRC" in paper.tags
    shows = paper.table_to_pcs(_RELATIVE) or paper.is_matrix or "kTRC" in paper.tags
    if paper.device_class in ("link", "abst", "nmcl") or paper.colour_space not in (
        "GRAY",
        "RGB",
        "CMYK",
    ):
        raise ProfileError(
            f"“{paper.description}” is of class {paper.device_class} for "
            f"{paper.colour_space or 'unknown'} channels.",
            "It does not describe a paper on a printer that takes grey, RGB or CMYK.",
            "Give the ICC profile of the paper on your printer.",
            "profile-wrong-class",
        )
    if not usable or not shows:
        raise ProfileError(
            f"“{paper.description}” has no table "
            + ("into paper colours." if not usable else "that says what the paper shows."),
            "Nothing can be converted for this paper with it.",
            "Give the whole profile of the paper, as its maker offers it.",
            "profile-incomplete",
        )
