"""Small profiles for the working spaces, made byte by byte and the same every time.

Takes the numbers in `engine.colour.spaces`; gives ICC version 4.3 matrix and grey profiles
with a fixed date, their own MD5 identity and a public-domain notice.
Theory: docs/theory/icc.md. Tests: tests/cms/test_cms_build.py.
"""

from __future__ import annotations

import struct
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from firstsheet.cms.checklist import profile_digest
from firstsheet.cms.lcms import assemble
from firstsheet.engine.colour.adaptation import bradford, white_from_xy
from firstsheet.engine.colour.lab import D50_XYZ
from firstsheet.engine.colour.spaces import GREYS, SPACES, TransferCurve

__all__ = [
    "curve_tag",
    "grey_profile",
    "header",
    "identified",
    "space_profile",
    "text_tag",
    "xyz_tag",
]

_NOTICE = "CC0 1.0: no rights reserved, public domain"
_DATE = (2026, 1, 1, 0, 0, 0)
_D50_FIXED = (63190, 65536, 54061)  # 0000F6D6 00010000 0000D32D, ICC.1 7.2.16


def fixed(value: float) -> int:
    """A number as s15Fixed16."""
    return round(float(value) * 65536)


def xyz_tag(xyz: ArrayLike) -> bytes:
    """An XYZ element."""
    return struct.pack(">4s4x3i", b"XYZ ", *(fixed(v) for v in np.asarray(xyz)))


def text_tag(text: str) -> bytes:
    """A multi-localised text with one American English entry."""
    coded = text.encode("utf-16-be")
    head = struct.pack(">4s4xII2s2sII", b"mluc", 1, 12, b"en", b"US", len(coded), 28)
    return head + coded


def curve_tag(curve: TransferCurve) -> bytes:
    """A parametric curve, type 0 for a pure power and 3 for one with a straight foot."""
    if curve.is_pure_power:
        return struct.pack(">4s4xH2xi", b"para", 0, fixed(curve.gamma))
    numbers = (curve.gamma, curve.a, curve.b, curve.c, curve.d)
    return struct.pack(">4s4xH2x5i", b"para", 3, *(fixed(v) for v in numbers))


def header(*, device_class: bytes, space: bytes, pcs: bytes, version: int = 0x04300000) -> bytes:
    """A header with fixed date, D50 and no identity yet."""
    return struct.pack(
        ">I4sI4s4s4s6H4s4sI4sIQI3i4s16s28x",
        0, b"\0" * 4, version, device_class, space, pcs, *_DATE, b"acsp",
        b"\0" * 4, 0, b"\0" * 4, 0, 0, 1, *_D50_FIXED, b"\0" * 4, b"\0" * 16,
    )  # fmt: skip


def identified(profile: bytes) -> bytes:
    """Write the MD5 identity (ICC.1 7.2.18: over everything but flags, intent and itself)."""
    return profile[:84] + profile_digest(profile) + profile[100:]


@lru_cache(maxsize=32)
def space_profile(name: str) -> bytes:
    """The profile of a working space, by its name in `engine.colour.spaces.SPACES`."""
    space = SPACES[name]
    columns = _columns_that_sum_to_d50(np.asarray(space.rgb_to_xyz_d50))
    adaptation = bradford(white_from_xy(*space.white_xy), D50_XYZ)
    tags = [("desc", text_tag(space.profile_title)), ("cprt", text_tag(_NOTICE))]
    tags.append(("wtpt", struct.pack(">4s4x3i", b"XYZ ", *_D50_FIXED)))
    chad = struct.pack(">4s4x9i", b"sf32", *(fixed(v) for v in adaptation.ravel()))
    tags.append(("chad", chad))
    for letter, column in zip("rgb", columns, strict=True):
        tags.append((f"{letter}XYZ", struct.pack(">4s4x3i", b"XYZ ", *column)))
    curve = curve_tag(space.curve)
    tags += [(f"{letter}TRC", curve) for letter in "rgb"]
    head = header(device_class=b"mntr", space=b"RGB ", pcs=b"XYZ ")
    return identified(assemble(head, tags))


def _columns_that_sum_to_d50(matrix: np.ndarray) -> list[list[int]]:
    """Columns as s15Fixed16, the green one taking the rounding so that white is D50 exactly."""
    red, green, blue = ([fixed(v) for v in matrix[:, i]] for i in range(3))
    green = [whole - r - b for whole, r, b in zip(_D50_FIXED, red, blue, strict=True)]
    return [red, green, blue]


@lru_cache(maxsize=8)
def grey_profile(name: str) -> bytes:
    """The profile of a reading of grey, by its name in `engine.colour.spaces.GREYS`."""
    grey = GREYS[name]
    tags = [("desc", text_tag(grey.title)), ("cprt", text_tag(_NOTICE))]
    tags.append(("wtpt", struct.pack(">4s4x3i", b"XYZ ", *_D50_FIXED)))
    tags.append(("kTRC", curve_tag(grey.curve)))
    head = header(device_class=b"mntr", space=b"GRAY", pcs=b"XYZ ")
    return identified(assemble(head, tags))
