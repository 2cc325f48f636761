"""The one place that calls the ICC engine: floating point, unoptimised, one stage at a time.

Takes profiles and encoded colours; gives media-relative Lab or device values, float64. Every
stage is evaluated as relative colorimetric on a copy of the profile that holds only the one
table that is wanted. So the engine never sees an intent for which it would add a black point
compensation of its own, and never chooses a table by itself.
Theory: docs/theory/icc.md. Tests: tests/cms/test_cms_chain.py.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.errors import ProfileError

if TYPE_CHECKING:
    from firstsheet.cms.container import Profile

__all__ = ["from_lab", "one_table_profile", "to_lab", "to_xyz"]

Floats = NDArray[np.float64]
_UNOPTIMISED = 0x0100  # cmsFLAGS_NOOPTIMIZE
_RELATIVE = 1
_SPACES = {"GRAY": "gray", "RGB": "rgb", "CMYK": "cmyk", "Lab": "lab", "XYZ": "xyz"}
_MATRIX_TAGS = ("rXYZ", "gXYZ", "bXYZ", "rTRC", "gTRC", "bTRC", "kTRC")
_ROWS_AT_ONCE = 1 << 20


def one_table_profile(profile: Profile, *, to_pcs: str = "", from_pcs: str = "") -> bytes:
    """Copy a profile with at most one table each way, under the names of perceptual.

    Parameters
    ----------
    profile
        The whole profile.
    to_pcs, from_pcs
        Signatures of the tables to keep, such as `A2B1`; they become A2B0 and B2A0, which the
        engine uses for every intent when it finds no other. Without one, curves are kept.
    """
    kept = [(name, profile.tags[name]) for name in ("desc", "cprt") if name in profile.tags]
    kept += [
        (name, profile.tags[source])
        for name, source in (("A2B0", to_pcs), ("B2A0", from_pcs))
        if source
    ]
    kept += [(name, profile.tags[name]) for name in _MATRIX_TAGS if name in profile.tags]
    header = bytearray(profile.data[:128])
    header[84:100] = bytes(16)
    return assemble(bytes(header), kept)


def assemble(header: bytes, tags: Sequence[tuple[str, bytes]]) -> bytes:
    """Put a profile together: header, tag table, tags on four-byte boundaries."""
    at = 132 + 12 * len(tags)
    table = bytearray(struct.pack(">I", len(tags)))
    body = bytearray()
    for name, data in tags:
        table += struct.pack(">4sII", name.ljust(4).encode("latin-1"), at + len(body), len(data))
        body += data + bytes(-len(data) % 4)
    whole = bytearray(header) + table + body
    whole[0:4] = struct.pack(">I", len(whole))
    return bytes(whole)


@lru_cache(maxsize=1)
def _connection_profiles() -> tuple[bytes, bytes]:
    """The engine's own Lab and XYZ ends (version 4: not held to -128..127 in floating point)."""
    from imagecodecs import cms_profile

    return bytes(cms_profile("lab4")), bytes(cms_profile("xyz"))


def to_lab(single: bytes, space: str, encoded: ArrayLike) -> Floats:
    """Media-relative Lab of device values 0..1, (..., channels)."""
    values = np.asarray(encoded, dtype=np.float64)
    if space == "CMYK":
        values = values * 100.0  # the engine counts ink in per cent
    return _run(values, single, _connection_profiles()[0], _SPACES[space], "lab", 3)


def to_xyz(single: bytes, space: str, encoded: ArrayLike) -> Floats:
    """Media-relative XYZ of device values 0..1, (..., channels)."""
    values = np.asarray(encoded, dtype=np.float64)
    if space == "CMYK":
        values = values * 100.0
    return _run(values, single, _connection_profiles()[1], _SPACES[space], "xyz", 3)


def from_lab(single: bytes, space: str, channels: int, lab: ArrayLike) -> Floats:
    """Device values 0..1 of media-relative Lab, (..., 3)."""
    values = np.asarray(lab, dtype=np.float64)
    device = _run(values, _connection_profiles()[0], single, "lab", _SPACES[space], channels)
    if space == "CMYK":
        device = device / 100.0
    return np.clip(device, 0.0, 1.0)


def _run(
    values: Floats, first: bytes, second: bytes, from_space: str, to_space: str, channels: int
) -> Floats:
    from imagecodecs import CmsError, cms_transform

    shape = values.shape
    rows = np.ascontiguousarray(values.reshape(-1, shape[-1]))
    result = np.empty((len(rows), channels))
    for start in range(0, len(rows), _ROWS_AT_ONCE):
        block: Any = rows[start : start + _ROWS_AT_ONCE]
        # grey has no channel axis in the engine's reading of an array
        image = block[None, :, 0] if from_space == "gray" else block[None]
        try:
            done = cms_transform(
                image,
                first,
                second,
                colorspace=from_space,
                outcolorspace=to_space,
                outdtype="f8",
                intent=_RELATIVE,
                flags=_UNOPTIMISED,
            )
        except (CmsError, ValueError) as error:
            raise ProfileError(
                f"The profile's tables cannot be evaluated ({error}).",
                "No colour can be converted with it.",
                "Get the profile again from where it came, or use another.",
                "profile-not-usable",
            ) from error
        result[start : start + len(block)] = np.asarray(done).reshape(len(block), channels)
    return result.reshape(*shape[:-1], channels)
