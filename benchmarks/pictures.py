"""Made pictures for the benchmarks: 16-bit RGB scans with gradients, edges, texture and grain."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pyvips
import tifffile
from numpy.typing import NDArray

__all__ = ["SIZES", "make_picture"]

SIZES = {25: (6123, 4082), 100: (12247, 8165), 400: (24495, 16330)}  # megapixels: width, height
_ROWS = 64


def make_picture(path: Path, megapixels: int) -> None:
    """Write the picture unless it is there already; same bytes every time."""
    width, height = SIZES[megapixels]
    if path.exists():
        return
    profile = bytes(pyvips.Operation.call("profile_load", "srgb"))
    part = path.with_suffix(".part")
    tifffile.imwrite(
        part,
        (rows for rows in _strips(width, height)),
        shape=(height, width, 3),
        dtype=np.uint16,
        photometric="rgb",
        rowsperstrip=_ROWS,
        iccprofile=profile,
        bigtiff=False,
    )
    part.rename(path)


def _strips(width: int, height: int):  # type: ignore[no-untyped-def]  # a generator of arrays
    """The picture, a strip at a time: sky, hulls, rigging, brick, shadows."""
    random = np.random.default_rng(7)
    x = np.linspace(0, 1, width).astype(np.float32)
    hulls = np.repeat(random.uniform(0.1, 0.9, (40, 3)), -(-width // 40), axis=0)[:width]
    for top in range(0, height, _ROWS):
        rows = min(_ROWS, height - top)
        y = ((top + np.arange(rows)) / height)[:, None].astype(np.float32)
        yield _strip(x, y, hulls.astype(np.float32), random)


def _strip(
    x: NDArray[np.float32],
    y: NDArray[np.float32],
    hulls: NDArray[np.float32],
    random: np.random.Generator,
) -> NDArray[np.uint16]:
    sky = np.stack([0.55 + 0.3 * y + 0 * x, 0.65 + 0.2 * y + 0 * x, 0.9 - 0.1 * y + 0 * x], -1)
    brick = 0.12 * np.sin(900 * x) * np.sin(700 * y)
    rigging = (np.abs(np.sin(60 * x + 25 * y)) < 0.02) * -0.4
    lower = np.clip((y - 0.45) * 40, 0, 1)[..., None]
    scene = (
        sky * (1 - lower) + hulls[None] * lower * (0.4 + 0.6 * np.sin(30 * x * y) ** 2)[..., None]
    )
    scene += (brick * (y > 0.7) + rigging)[..., None]
    scene += 0.012 * random.standard_normal(scene.shape, dtype=np.float32)
    codes: NDArray[np.uint16] = (np.clip(scene, 0, 1) * 65535).astype(np.uint16)
    return codes
