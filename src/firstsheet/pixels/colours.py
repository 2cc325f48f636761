"""Colours of a small picture through the print's own kernels: wanted, device, printed.

Takes codes 0..1 and the plain data of cms.link; gives Lab and paper codes, in threads over bands
of rows. These are the kernels that make the print file, so a proof or a loss is of the very
numbers that are printed. Theory: docs/theory/speed.md. Tests: tests/pixels/test_colours.py.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.pixels.arguments import TILE
from firstsheet.pixels.native import kernel
from firstsheet.pixels.repairs import PlacedRepairs, aim_numbers, apply_aim
from firstsheet.pixels.tables import (
    D50_XYZ,
    LabTables,
    PaperTables,
    lab_tables,
    paper_tables,
    straight_lab_tables,
)
from firstsheet.pixels.team import share_out

if TYPE_CHECKING:
    from firstsheet.cms.link import PaperLink, ProofLink, SourceColour

__all__ = ["Band", "PrintColours"]

Singles = NDArray[np.float32]
Codes = NDArray[np.uint16]
Band = Callable[[NDArray[Any], NDArray[Any]], None]
_FULL = 65535.0
_BAND_PX = 16_384  # what the kernels pass on to each other stays in a near cache


class PrintColours:
    """The way of one picture's colours onto one paper, by compiled kernels.

    Parameters
    ----------
    source
        How picture codes become light.
    link
        How light becomes device codes.
    proof
        How device codes become Lab; for papers of one or three channels.
    threads
        Working threads; the numbers do not depend on them.
    """

    def __init__(
        self, source: SourceColour, link: PaperLink, proof: ProofLink, *, threads: int = 2
    ) -> None:
        if proof.clut.ndim != 4:
            raise ValueError("only papers of three channels are proofed by kernels")
        self._source, self._threads = source, threads
        self._paper = paper_tables(link)
        self._back = _proof_tables(proof)
        self._aim = aim_numbers(link)
        self._back_scale = np.concatenate([proof.lab_scale / _FULL, proof.lab_offset]).astype(
            np.float32
        )
        curves = source.kind == "curves"
        self._wanted_light = lab_tables(source) if curves else straight_lab_tables(None, None)
        self._aim_light = (
            lab_tables(source, link.xyz_scale, link.xyz_offset)
            if curves
            else straight_lab_tables(link.xyz_scale, link.xyz_offset)
        )

    def wanted_lab(self, encoded: NDArray[Any]) -> Singles:
        """What the picture means: media-relative Lab, (h, w, 3), of codes 0..1, (h, w, c)."""
        lab: Singles = self._banded(encoded, 3, np.float32, self._wanted_band)
        return lab

    def device(self, encoded: NDArray[Any], repairs: PlacedRepairs | None = None) -> Codes:
        """Paper codes, 16 bit, (h, w, outputs), as the print file holds them (unsharpened).

        Parameters
        ----------
        repairs
            Laid over this very picture, `pixels.repairs.place_repairs`.
        """
        if repairs is not None:
            lab = self.repaired_lab(encoded, repairs)
            return self.device_of(lab)
        codes: Codes = self._banded(encoded, self._paper.outputs, np.uint16, self._device_band)
        return codes

    def repaired_lab(self, encoded: NDArray[Any], repairs: PlacedRepairs) -> Singles:
        """What the picture means after its repairs, media-relative Lab."""
        return self.repaired(self.wanted_lab(encoded), repairs)

    def repaired(self, wanted_lab: Singles, repairs: PlacedRepairs) -> Singles:
        """The same, where what the picture means is at hand from `wanted_lab`."""
        height, width = wanted_lab.shape[:2]
        planes = np.array(np.moveaxis(wanted_lab, -1, 0), dtype=np.float32, order="C")
        rows = np.arange(height, dtype=np.int64)
        many = max(1, _BAND_PX // max(1, width))

        def one(band: int) -> None:
            some = rows[band * many : (band + 1) * many]
            repairs.apply(planes, some, some)

        share_out(-(-height // many), one, threads=self._threads)
        return np.ascontiguousarray(np.moveaxis(planes, 0, -1)).reshape(height, width, 3)

    def device_of(self, lab: NDArray[Any]) -> Codes:
        """Paper codes of wanted Lab, (h, w, 3)."""
        codes: Codes = self._banded(lab, self._paper.outputs, np.uint16, self._device_of_band)
        return codes

    def _device_of_band(self, lab: NDArray[Any], out: Any) -> None:
        planes = np.moveaxis(lab, -1, 0).astype(np.float32, order="C")
        if self._aim is not None:
            apply_aim(planes, np.arange(len(lab), dtype=np.int64), self._aim)
        self._to_paper(planes, self._paper, out)

    def printed_lab(self, device: Codes) -> Singles:
        """What the paper shows of paper codes, relative to its white, (h, w, 3)."""
        lab: Singles = self._banded(device, 3, np.float32, self._printed_band)
        return lab

    # ---- bands ---------------------------------------------------------------------------

    def _banded(self, picture: NDArray[Any], channels: int, dtype: Any, work: Band) -> Any:
        height, width = picture.shape[:2]
        out = np.empty((height, width, channels), dtype)
        rows = max(1, _BAND_PX // max(1, width))

        def one(band: int) -> None:
            top = band * rows
            work(np.ascontiguousarray(picture[top : top + rows]), out[top : top + rows])

        share_out(-(-height // rows), one, threads=self._threads)
        return out

    def _wanted_band(self, encoded: NDArray[Any], out: Singles) -> None:
        self._to_pixels(self._to_lab(encoded, self._wanted_light), out)

    def _device_band(self, encoded: NDArray[Any], out: Codes) -> None:
        self._to_paper(self._to_lab(encoded, self._aim_light), self._paper, out)

    def _wanted_and_device_band(
        self, encoded: NDArray[Any], wanted: Singles, device: Codes
    ) -> None:
        """Both of the above at once; curves are read once for both."""
        if self._source.kind == "engine":
            self._wanted_band(encoded, wanted)
            self._device_band(encoded, device)
            return
        planes, mode = self._to_planes(encoded, self._wanted_light)
        self._to_pixels(self._lab_of(planes, mode, self._wanted_light), wanted)
        self._to_paper(self._lab_of(planes, mode, self._aim_light), self._paper, device)

    def _printed_band(self, device: Codes, out: Singles) -> None:
        planes, _ = self._to_planes(device, None)
        codes = np.empty(out.shape, np.uint16)
        self._to_paper(planes, self._back, codes)
        self._to_numbers(codes, self._back_scale, out)

    # ---- between pixels and planes ---------------------------------------------------------

    def _to_planes(
        self,
        codes: NDArray[Any],
        light: LabTables | None,  # noqa: ARG002  # for those who can do it quicker
    ) -> tuple[Singles, int]:
        """Planes of codes 0..1, mode 1; or of their light, mode 0, where curves are given."""
        planes = np.ascontiguousarray(np.moveaxis(codes, -1, 0), np.float32)
        if codes.dtype.kind == "u":
            planes *= np.float32(1.0 / np.iinfo(codes.dtype).max)
        return planes, 1

    def _to_pixels(self, planes: Singles, out: Singles) -> None:
        """Three planes as (h, w, 3)."""
        out[:] = np.moveaxis(planes, 0, -1)

    def _to_numbers(self, codes: Codes, scale: Singles, out: Singles) -> None:
        """Codes, (h, w, 3), times three scales, plus three offsets."""
        height, width = out.shape[:2]
        flat = out.reshape(height, 3 * width)  # long rows: numpy is slow on rows of three
        np.multiply(codes.reshape(height, 3 * width), np.tile(scale[:3], width), out=flat)
        flat += np.tile(scale[3:], width)

    # ---- kernels -------------------------------------------------------------------------

    def _to_lab(self, encoded: NDArray[Any], light: LabTables) -> Singles:
        if self._source.kind == "engine":
            return self._lab_of(self._through_engine(encoded, light), 0, light)
        planes, mode = self._to_planes(encoded, light)
        return self._lab_of(planes, mode, light)

    def _lab_of(self, planes: Singles, mode: int, light: LabTables) -> Singles:
        """Lab planes of planes of light, mode 0, or of codes, mode 1."""
        channels, height, width = planes.shape
        lab = np.empty((3, height, width), np.float32)
        rows = np.arange(height, dtype=np.int64)
        scratch = np.empty(9 * TILE, np.float32)
        cells = np.empty(8 * TILE, np.int32)
        kernel("to_lab")(
            planes.ctypes.data, height, width, rows.ctypes.data, height, channels, mode,
            light.lut.ctypes.data, light.matrix.ctypes.data, scratch.ctypes.data,
            cells.ctypes.data, lab.ctypes.data, height, rows.ctypes.data, 0,
        )  # fmt: skip
        return lab

    def _through_engine(self, encoded: NDArray[Any], light: LabTables) -> Singles:
        """Planes of XYZ, for profiles that are tables."""
        from firstsheet.engine.colour.lab import lab_to_xyz

        if encoded.dtype.kind == "u":
            encoded = encoded / float(np.iinfo(encoded.dtype).max)
        xyz = np.asarray(lab_to_xyz(self._source.to_lab(encoded)))
        if light is self._wanted_light and float(xyz.max(initial=0.0)) > 1.0:
            xyz = np.minimum(xyz, D50_XYZ * 4.0)
        return np.ascontiguousarray(np.moveaxis(xyz, -1, 0), np.float32)

    def _to_paper(self, planes: Singles, tables: PaperTables, out: Codes) -> None:
        """Three planes through a paper's tables to (h, w, outputs), which must be contiguous."""
        _, height, width = planes.shape
        rows = np.arange(height, dtype=np.int64)
        scratch = np.empty(32 * TILE, np.float32)
        cells = np.empty(8 * TILE, np.int32)
        kernel(tables.kernel_name(16))(
            planes.ctypes.data, planes.ctypes.data, height, width, rows.ctypes.data, height,
            tables.numbers.ctypes.data, tables.shaping.ctypes.data, tables.shaping.shape[1],
            tables.cells.ctypes.data, tables.grid.ctypes.data, tables.outputs,
            tables.finish.ctypes.data, tables.finish.shape[1],
            scratch.ctypes.data, cells.ctypes.data, out.ctypes.data, width * tables.outputs,
            0, 0, 0,
        )  # fmt: skip


def _proof_tables(proof: ProofLink) -> PaperTables:
    """A proof link in the form of the paper kernel: device values in, coded Lab out."""
    g0, g1, g2, outputs = proof.clut.shape
    cells = np.zeros((g0, g1, g2, 4), np.float32)
    cells[..., :outputs] = proof.clut
    return PaperTables(
        numbers=np.array([1, 1, 1, 0, 0, 0], np.float32),
        shaping=np.ascontiguousarray(proof.input_curves, np.float32),
        grid=np.array([g0, g1, g2], np.int64),
        cells=cells,
        finish=np.ascontiguousarray(proof.output_curves, np.float32),
        outputs=outputs,
        neighbours="four" if proof.interpolation == "tetrahedral" else "eight",
    )
