"""Tiles of a picture for the screen, from stored codes to bytes in one go.

Takes codes as they are stored, 8 or 16 bits, or shares 0..1; gives bytes of a screen space. The
steps are those of `pixels.colours`, done band by band while what they pass on is near at hand,
so a tile shows the very numbers of the print. Theory: docs/theory/tiles.md, speed.md.
Tests: tests/pixels/test_tilework.py.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.pixels.colours import Band, PrintColours
from firstsheet.pixels.native import kernel
from firstsheet.pixels.tables import LabTables
from firstsheet.pixels.tilecolours import Screen, loss_bytes, loss_de00

if TYPE_CHECKING:
    from firstsheet.pixels.repairs import PlacedRepairs

__all__ = ["TileColours", "wide"]

Bytes = NDArray[np.uint8]
Codes = NDArray[np.uint16]
Singles = NDArray[np.float32]


class TileColours(PrintColours):
    """As PrintColours, and straight to the bytes of a tile; safe to use from several threads."""

    def wanted_bytes(self, codes: NDArray[Any], screen: Screen) -> Bytes:
        """What the picture means, as the screen shows it."""

        def band(part: NDArray[Any], out: Bytes) -> None:
            screen.show(self._wanted_of(part), out)

        return self._bytes(codes, band)

    def proof_bytes(
        self, codes: NDArray[Any], screen: Screen, repairs: PlacedRepairs | None = None
    ) -> Bytes:
        """What the paper will show of picture codes; repairs are laid over this very tile."""
        if repairs is not None:
            return self.printed_bytes(self.device(wide(codes), repairs), screen)

        def band(part: NDArray[Any], out: Bytes) -> None:
            screen.show(self._printed_of(self._device_of(part)), out)

        return self._bytes(codes, band)

    def printed_bytes(self, device: NDArray[Any], screen: Screen) -> Bytes:
        """What the paper shows of the print file's own codes."""

        def band(part: NDArray[Any], out: Bytes) -> None:
            screen.show(self._printed_of(part), out)

        return self._bytes(device, band)

    def loss_bytes(
        self, codes: NDArray[Any], *, floor_de00: float, repairs: PlacedRepairs | None = None
    ) -> Bytes:
        """CIEDE2000 between what is meant and what is printed, in the colours of the loss map."""
        if repairs is not None:
            wanted, device = self.wanted_lab(wide(codes)), self.device(wide(codes), repairs)
            return loss_bytes(loss_de00(wanted, self.printed_lab(device)), floor_de00=floor_de00)

        def band(part: NDArray[Any], out: Bytes) -> None:
            wanted = np.empty((*part.shape[:2], 3), np.float32)
            device = np.empty((*part.shape[:2], self._paper.outputs), np.uint16)
            self._wanted_and_device_band(part, wanted, device)
            de00 = loss_de00(wanted, self._printed_of(device))
            out[:] = loss_bytes(de00, floor_de00=floor_de00)

        return self._bytes(codes, band)

    # ---- bands ---------------------------------------------------------------------------

    def _bytes(self, codes: NDArray[Any], band: Band) -> Bytes:
        shown: Bytes = self._banded(wide(codes), 3, np.uint8, band)
        return shown

    def _wanted_of(self, part: NDArray[Any]) -> Singles:
        out = np.empty((*part.shape[:2], 3), np.float32)
        self._wanted_band(part, out)
        return out

    def _device_of(self, part: NDArray[Any]) -> Codes:
        out = np.empty((*part.shape[:2], self._paper.outputs), np.uint16)
        self._device_band(part, out)
        return out

    def _printed_of(self, device: Codes) -> Singles:
        out = np.empty((*device.shape[:2], 3), np.float32)
        self._printed_band(device, out)
        return out

    # ---- between pixels and planes, by kernels --------------------------------------------

    def _to_planes(self, codes: NDArray[Any], light: LabTables | None) -> tuple[Singles, int]:
        if codes.dtype != np.uint16:
            return super()._to_planes(codes, light)
        height, width, channels = codes.shape
        planes = np.empty((channels, height, width), np.float32)
        lut = planes if light is None else light.lut  # never read where no curves are given
        curves = 0 if light is None else 1 if light.shared else 2
        kernel("spread")(
            codes.ctypes.data, height * width, channels, lut.ctypes.data, curves,
            planes.ctypes.data,
        )  # fmt: skip
        return planes, int(light is None)

    def _to_pixels(self, planes: Singles, out: Singles) -> None:
        kernel("interleave")(planes.ctypes.data, planes[0].size, out.ctypes.data)

    def _to_numbers(self, codes: Codes, scale: Singles, out: Singles) -> None:
        kernel("measure")(codes.ctypes.data, codes.size // 3, scale.ctypes.data, out.ctypes.data)


def wide(codes: NDArray[Any]) -> NDArray[Any]:
    """Codes of 8 bits as codes of 16, which mean the same; others as they are."""
    return codes.astype(np.uint16) * np.uint16(257) if codes.dtype == np.uint8 else codes
