"""Colours of a tile for the screen, by compiled kernels: bytes of a screen space, and loss.

Takes Lab of a small picture; gives bytes to encode. The proof's arithmetic is that of
`pixels.proof`, in single precision. Theory: docs/theory/tiles.md.
Tests: tests/pixels/test_tilecolours.py.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.lab import KAPPA
from firstsheet.engine.colour.spaces import SPACES
from firstsheet.pixels.arguments import TILE
from firstsheet.pixels.native import kernel
from firstsheet.pixels.tables import D50_XYZ

__all__ = ["Screen", "light_bytes", "light_of_lab", "loss_bytes", "loss_de00", "screen_bytes"]

Bytes = NDArray[np.uint8]
Singles = NDArray[np.float32]
_STEPS = 4096


class Screen:
    """How Lab is shown: a screen space, and whether the paper's white is told from its white.

    Parameters
    ----------
    space
        Name of the screen's space.
    white_xyz
        The paper's white, to show it against the screen's; None shows it as screen white.
    """

    def __init__(
        self, space: str = "display-p3", white_xyz: NDArray[np.float64] | None = None
    ) -> None:
        white = None if white_xyz is None else tuple(float(one) for one in white_xyz)
        self._numbers, self._table = _screen_tables(space, white)

    def show(self, lab: Singles, out: Bytes) -> None:
        """Bytes of the space for Lab relative to the medium; both (..., 3) and contiguous."""
        scratch, cells = np.empty(4 * TILE, np.float32), np.empty(TILE, np.int32)
        kernel("screen")(
            lab.ctypes.data, lab.size // 3, self._numbers.ctypes.data, self._table.ctypes.data,
            scratch.ctypes.data, cells.ctypes.data, out.ctypes.data,
        )  # fmt: skip


def screen_bytes(
    lab: NDArray[Any], *, space: str = "display-p3", white_xyz: NDArray[np.float64] | None = None
) -> Bytes:
    """Bytes of a screen space for Lab, (h, w, 3); what it cannot show is clipped.

    Parameters are those of `Screen`.
    """
    codes = np.ascontiguousarray(lab, dtype=np.float32)
    out = np.empty(codes.shape, np.uint8)
    Screen(space, white_xyz).show(codes, out)
    return out


def light_of_lab(lab: Singles) -> Singles:
    """XYZ of Lab relative to D50, (..., 3), in single precision; `engine.colour.lab` in double."""
    fy = (lab[..., 0] + np.float32(16.0)) / np.float32(116.0)
    root = np.stack(
        [fy + lab[..., 1] / np.float32(500.0), fy, fy - lab[..., 2] / np.float32(200.0)], axis=-1
    )
    straight = (root * np.float32(116.0) - np.float32(16.0)) / np.float32(KAPPA)
    ratio = np.where(root > np.float32(6 / 29), root * root * root, straight)
    light: Singles = ratio * D50_XYZ.astype(np.float32)
    return light


def light_bytes(
    xyz: Singles, *, space: str = "display-p3", white_xyz: NDArray[np.float64] | None = None
) -> Bytes:
    """Bytes of a screen space for XYZ relative to the medium, (h, w, 3), as `screen_bytes`."""
    white = None if white_xyz is None else tuple(float(one) for one in white_xyz)
    matrix, table = _screen_tables(space, white)
    out = np.empty(xyz.shape, np.uint8)
    for channel, (x, y, z) in enumerate(matrix.reshape(3, 3) / D50_XYZ.astype(np.float32)):
        linear = xyz[..., 0] * x + xyz[..., 1] * y + xyz[..., 2] * z
        steps = np.sqrt(np.clip(linear, np.float32(0.0), np.float32(1.0)))
        steps = steps * np.float32(_STEPS - 1) + np.float32(0.5)
        out[..., channel] = np.take(table, steps.astype(np.int32))
    return out


@lru_cache(maxsize=64)
def _screen_tables(space: str, white: tuple[float, ...] | None) -> tuple[Singles, Bytes]:
    """Matrix from XYZ over D50 to linear light of the space, and its curve as bytes."""
    primaries = SPACES[space]
    scale = D50_XYZ if white is None else np.array(white)
    matrix = np.linalg.inv(primaries.rgb_to_xyz_d50) * scale
    light = np.linspace(0.0, 1.0, _STEPS) ** 2
    table = np.rint(primaries.encode(light) * 255.0).astype(np.uint8)
    return np.ascontiguousarray(matrix.ravel(), dtype=np.float32), table


def loss_de00(wanted_lab: NDArray[Any], printed_lab: NDArray[Any]) -> Singles:
    """CIEDE2000 pixel by pixel, (h, w), to about 0.001."""
    one = np.ascontiguousarray(wanted_lab, dtype=np.float32)
    two = np.ascontiguousarray(printed_lab, dtype=np.float32)
    out = np.empty(one.shape[:-1], np.float32)
    kernel("loss")(one.ctypes.data, two.ctypes.data, out.size, out.ctypes.data)
    return out


def loss_bytes(de00: Singles, *, floor_de00: float) -> Bytes:
    """The magnitude in the colours of the loss map, encoded sRGB; below the noise it is none."""
    from firstsheet.pixels.lossmap import SCALE_TOP_DE00

    table = _scale_bytes()
    steps = len(table) - 1
    numbers = np.array([floor_de00, steps / SCALE_TOP_DE00, steps], dtype=np.float32)
    values = np.ascontiguousarray(de00, dtype=np.float32)
    out = np.empty((*values.shape, 3), np.uint8)
    kernel("shade")(
        values.ctypes.data, values.size, numbers.ctypes.data, table.ctypes.data, out.ctypes.data
    )
    return out


@lru_cache(maxsize=1)
def _scale_bytes() -> Bytes:
    from firstsheet.pixels.scale import scale_table

    return np.ascontiguousarray(np.rint(scale_table() * 255.0), dtype=np.uint8)
