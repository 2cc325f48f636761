"""A small picture as JPEG bytes, for lists.

Takes 8-bit sRGB; gives a tagged JPEG. Tests: tests/files/test_small_jpeg.py.
"""

from __future__ import annotations

import io

import numpy as np
from numpy.typing import NDArray

__all__ = ["SMALL_SIDE_PX", "small_jpeg"]

SMALL_SIDE_PX = 320


def small_jpeg(srgb: NDArray[np.uint8], *, profile: bytes) -> bytes:
    """Reduce a picture to at most `SMALL_SIDE_PX` and code it.

    Parameters
    ----------
    srgb
        (H, W, 3).
    profile
        The sRGB profile to embed.
    """
    from PIL import Image

    picture = Image.fromarray(np.ascontiguousarray(srgb))
    picture.thumbnail((SMALL_SIDE_PX, SMALL_SIDE_PX), Image.Resampling.LANCZOS)
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=85, icc_profile=profile)
    return out.getvalue()
