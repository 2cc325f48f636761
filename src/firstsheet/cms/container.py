"""The container of an ICC profile: header, tag table, and tags read when asked for.

Takes bytes; gives a frozen `Profile`. Nothing is copied or decoded before it is wanted.
Theory: docs/theory/icc.md. Tests: tests/cms/test_cms_profile.py.
"""

from __future__ import annotations

import hashlib
import struct
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from firstsheet.cms.tags import (
    LutTable,
    TagFault,
    ToneCurve,
    read_curve,
    read_lut,
    read_text,
    read_xyz,
)
from firstsheet.engine.errors import ProfileError

__all__ = ["D50_PCS", "MOST_TAGS", "Profile", "TagPlace", "parse_profile"]

D50_PCS = (0.9642, 1.0, 0.8249)  # ICC.1 7.2.16
MOST_TAGS = 200  # common practice, no source: real profiles carry 9 to 40
_CHANNELS = {"GRAY": 1, "RGB": 3, "CMYK": 4, "Lab": 3, "XYZ": 3}


@dataclass(frozen=True, slots=True)
class TagPlace:
    """Where one tag lies in the file."""

    signature: str
    offset: int
    size: int


@dataclass(frozen=True, eq=False)
class Profile:
    """An ICC profile as its bytes say, decoded lazily. Two are equal when their bytes are."""

    data: bytes
    declared_size: int
    version: tuple[int, int, int]
    device_class: str
    colour_space: str
    pcs: str
    flags: int
    rendering_intent: int
    illuminant: tuple[float, float, float]
    profile_id: bytes
    places: tuple[TagPlace, ...]  # as listed, also those that point outside

    @cached_property
    def tags(self) -> Mapping[str, bytes]:
        """Signature to bytes, for every tag that lies inside the file."""
        found = {
            place.signature: self.data[place.offset : place.offset + place.size]
            for place in reversed(self.places)  # the first of two equal names counts
            if place.offset + place.size <= len(self.data)
        }
        return MappingProxyType(found)

    @cached_property
    def sha256(self) -> str:
        """Digest of the whole profile, in hexadecimal."""
        return hashlib.sha256(self.data).hexdigest()

    @property
    def version_text(self) -> str:
        """Such as 4.3 or 2.4.1."""
        major, minor, fix = self.version
        return f"{major}.{minor}" + (f".{fix}" if fix else "")

    @property
    def channels(self) -> int:
        """Device channels; 0 where the colour space is not one this program knows."""
        return _CHANNELS.get(self.colour_space, 0)

    @cached_property
    def description(self) -> str:
        """The profile's own name, or an empty text."""
        try:
            return read_text(self.tags.get("desc", b""))
        except TagFault:
            return ""

    @cached_property
    def media_white(self) -> tuple[float, float, float]:
        """Media white, XYZ (Y of a perfect white = 1); D50 where the tag is missing or useless.

        A display stands for D50 whatever its tag says: version 2 profiles of screens store
        their own white there, and version 4 ones store D50 (docs/theory/icc.md).
        """
        if self.device_class == "mntr" or "wtpt" not in self.tags:
            return D50_PCS
        try:
            x, y, z = (float(value) for value in self.colorant("wtpt"))
        except TagFault:
            return D50_PCS
        return (x, y, z) if min(x, y, z) > 0.0 else D50_PCS

    def curve(self, signature: str) -> ToneCurve:
        """A tone curve tag, such as `rTRC`."""
        curve: ToneCurve = self._read(signature, read_curve)
        return curve

    def lut(self, signature: str) -> LutTable:
        """A table tag, such as `B2A1`."""
        table: LutTable = self._read(signature, read_lut)
        return table

    def colorant(self, signature: str) -> NDArray[np.float64]:
        """An XYZ tag, such as `rXYZ`: X, Y, Z."""
        return np.asarray(self._read(signature, read_xyz)[0])

    def _read(self, signature: str, reader):  # type: ignore[no-untyped-def]
        if signature not in self.tags:
            raise TagFault(f"{signature} is missing")
        key = f"_read_{signature}"
        if key not in self.__dict__:
            try:
                self.__dict__[key] = reader(self.tags[signature])
            except TagFault as fault:
                raise TagFault(f"{signature} {fault}") from fault
        return self.__dict__[key]

    @property
    def is_matrix(self) -> bool:
        """True for an RGB profile of three colorants and three curves."""
        wanted = ("rXYZ", "gXYZ", "bXYZ", "rTRC", "gTRC", "bTRC")
        return self.colour_space == "RGB" and all(name in self.tags for name in wanted)

    def table_to_pcs(self, intent_number: int) -> str:
        """The signature of the table device → connection space, or nothing."""
        return self._table("A2B", intent_number)

    def table_from_pcs(self, intent_number: int) -> str:
        """The signature of the table connection space → device, or nothing."""
        return self._table("B2A", intent_number)

    def _table(self, stem: str, intent_number: int) -> str:
        # Absolute is derived from relative; a missing table falls back to the perceptual one
        wanted = 1 if intent_number == 3 else intent_number
        for number in (wanted, 0):
            if f"{stem}{number}" in self.tags:
                return f"{stem}{number}"
        return ""


def parse_profile(data: bytes) -> Profile:
    """Read header and tag table.

    Raises
    ------
    ProfileError
        If the bytes are no ICC profile at all: too short, no `acsp`, no tag table.
    """
    if len(data) < 132:
        raise _not_a_profile(f"It is {len(data)} bytes long; the header alone takes 132.")
    if data[36:40] != b"acsp":
        raise _not_a_profile("The mark “acsp” that every ICC profile carries is missing.")
    (size,) = struct.unpack_from(">I", data, 0)
    (count,) = struct.unpack_from(">I", data, 128)
    room = (len(data) - 132) // 12
    if count == 0 or count > room:
        raise _not_a_profile(f"Its table lists {count} tags; there is room for {room}.")
    places = [
        TagPlace(_name(data[at : at + 4]), *struct.unpack_from(">II", data, at + 4))
        for at in range(132, 132 + 12 * min(count, MOST_TAGS), 12)
    ]
    x, y, z = (value / 65536.0 for value in struct.unpack_from(">3i", data, 68))
    return Profile(
        data=data,
        declared_size=size,
        version=(data[8], data[9] >> 4, data[9] & 15),
        device_class=_name(data[12:16]),
        colour_space=_name(data[16:20]),
        pcs=_name(data[20:24]),
        flags=struct.unpack_from(">I", data, 44)[0],
        rendering_intent=struct.unpack_from(">I", data, 64)[0],
        illuminant=(x, y, z),
        profile_id=data[84:100],
        places=tuple(places),
    )


def _name(signature: bytes) -> str:
    return signature.decode("latin-1").rstrip(" \0")


def _not_a_profile(reason: str) -> ProfileError:
    return ProfileError(
        f"This is not an ICC profile. {reason}",
        "Without it the colours have no defined meaning.",
        "Give another profile, or get the file again from where it came.",
        "not-a-profile",
    )
