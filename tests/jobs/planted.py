"""A made picture with a place that no paper holds: where it lies, and the picture itself."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import tifffile

from firstsheet.cms.build import space_profile
from firstsheet.engine.colour.lab import lab_to_xyz
from firstsheet.engine.colour.spaces import SPACES

TOP, BOTTOM, LEFT, RIGHT = 130, 220, 30, 150


def write_buoy(path: Path) -> Path:
    """Grey water, and a buoy of a blue no paper holds, drawn in chroma; 320 x 240."""
    height, width = 240, 320
    y, x = np.mgrid[:height, :width]
    lab = np.zeros((height, width, 3))
    lab[...] = (60.0, 2.0, 6.0)
    lab[..., 0] += 8.0 * np.sin(x / 20.0) + np.random.default_rng(1).normal(0, 1, (height, width))
    drawn = np.sin(x / 3.0) * np.cos(y / 3.5)
    inside = (slice(TOP, BOTTOM), slice(LEFT, RIGHT))
    lab[inside] = np.stack([34.0 + 0 * drawn, 40 + 16 * drawn, -88 - 14 * drawn], -1)[inside]
    rgb = SPACES["display-p3"].from_xyz_d50(lab_to_xyz(lab))
    tifffile.imwrite(
        path, np.rint(rgb.clip(0, 1) * 65535).astype(np.uint16), photometric="rgb",
        iccprofile=space_profile("display-p3"),
    )  # fmt: skip
    return path
