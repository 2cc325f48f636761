"""Small pictures of the bench itself: the test of colour management, the scale of losses.

Theory: docs/theory/tiles.md. Tests: tests/web/test_bench_frames.py.
"""

from __future__ import annotations

import io
import struct
from functools import lru_cache
from typing import Any

import numpy as np

from firstsheet.bench.tiles import encoded_picture
from firstsheet.cms.build import space_profile

__all__ = ["colour_test", "loss_scale"]

_SIDE_PX = 96
_RED, _BLUE = (200, 40, 40), (40, 60, 200)


@lru_cache(maxsize=1)
def colour_test() -> bytes:
    """A picture whose profile has red and blue exchanged.

    Where the colours are managed, both halves show the same red; where the profile is passed
    over, the right half shows blue. The left half is drawn in codes that mean red by the
    exchanged profile; the right half is the page's own business to compare with.
    """
    from PIL import Image

    codes = np.empty((_SIDE_PX, _SIDE_PX, 3), np.uint8)
    codes[:] = _RED[::-1]  # blue to whoever does not read the profile
    image: Any = Image.fromarray(codes)
    out = io.BytesIO()
    image.save(out, "PNG", icc_profile=_exchanged(space_profile("srgb")))
    return out.getvalue()


def _exchanged(profile: bytes) -> bytes:
    """The profile with the primaries of red and blue exchanged, and a zero identity."""
    data = bytearray(profile)
    (count,) = struct.unpack_from(">I", data, 128)
    at = {bytes(data[132 + 12 * i : 136 + 12 * i]): 132 + 12 * i for i in range(count)}
    red, blue = at[b"rXYZ"], at[b"bXYZ"]
    one, two = bytes(data[red + 4 : red + 12]), bytes(data[blue + 4 : blue + 12])
    data[red + 4 : red + 12], data[blue + 4 : blue + 12] = two, one
    data[84:100] = bytes(16)  # the profile ID is that of other bytes now; zero means none
    return bytes(data)


@lru_cache(maxsize=1)
def loss_scale() -> bytes:
    """The scale of losses from 0 at the left to its end at the right, without words."""
    from firstsheet.pixels.scale import scale_colour

    ramp = np.rint(scale_colour(np.linspace(0.0, 1.0, 512)) * 255).astype(np.uint8)
    return encoded_picture(np.repeat(ramp[None], 16, axis=0), "srgb", "png")
