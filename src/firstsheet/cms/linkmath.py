"""What the compiled kernels compute from a link, in plain arrays and double precision.

Takes link data and codes or device values; gives device values or Lab. Used to measure links and
to hold the kernels to. Theory: docs/theory/links.md. Tests: tests/cms/test_cms_link.py.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.cms.interpolate import multilinear, tetrahedral
from firstsheet.engine.colour.lab import lab_to_xyz, xyz_to_lab

if TYPE_CHECKING:
    from firstsheet.cms.link import PaperLink, ProofLink, SourceColour

__all__ = ["apply_link", "apply_proof"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]


def _through_curves(curves: Singles, values: Floats) -> Floats:
    grid = np.linspace(0.0, 1.0, curves.shape[1])
    held = np.clip(values, 0.0, 1.0)
    return np.stack(
        [np.interp(held[..., i], grid, curves[i]) for i in range(curves.shape[0])], axis=-1
    )


def apply_link(link: PaperLink, source: SourceColour, encoded: ArrayLike) -> Floats:
    """What the kernels compute, in plain arrays: device values 0..1 of codes 0..1."""
    codes = np.asarray(encoded, dtype=np.float64)
    if source.kind == "curves":
        assert source.decode is not None
        assert source.to_xyz is not None
        xyz = _through_curves(source.decode, codes) @ source.to_xyz.T
    else:
        xyz = lab_to_xyz(source.to_lab(codes))
    lab = xyz_to_lab(xyz * link.xyz_scale + link.xyz_offset)
    coded = np.clip(lab * link.lab_scale + link.lab_offset, 0.0, 1.0)
    shaped = _through_curves(link.input_curves, coded)
    read = multilinear if link.interpolation == "trilinear" else tetrahedral
    inside = read(link.clut.astype(np.float64), shaped)
    return np.clip(_through_curves(link.output_curves, inside), 0.0, 1.0)


def apply_proof(proof: ProofLink, device: ArrayLike) -> Floats:
    """What the kernels compute for a proof: Lab relative to the paper, of device values."""
    shaped = _through_curves(proof.input_curves, np.asarray(device, dtype=np.float64))
    read = multilinear if proof.interpolation == "trilinear" else tetrahedral
    inside = read(proof.clut.astype(np.float64), shaped)
    return _through_curves(proof.output_curves, inside) * proof.lab_scale + proof.lab_offset
