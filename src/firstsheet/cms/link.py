"""The fast path from picture to paper and back, as plain data for compiled kernels.

Takes a Chain; gives SourceColour (codes → XYZ), PaperLink (XYZ → device) and ProofLink
(device → Lab), and measures what they cost against the chain. The paper profile's own curves
and grid are handed over, not a resampling of them: the kernel then does the arithmetic of the
engine itself, and what remains is rounding. Theory: docs/theory/links.md.
Tests: tests/cms/test_cms_link.py.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.cms.chain import INTENT_NUMBERS, Chain
from firstsheet.cms.container import Profile
from firstsheet.cms.interpolate import multilinear, tetrahedral
from firstsheet.cms.tags import LutTable, TagFault, ToneCurve, read_curve
from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.colour.lab import (
    D50_XYZ,
    lab_to_xyz,
    lightness_to_y,
    xyz_to_lab,
    y_to_lightness,
)

__all__ = [
    "LinkError",
    "PaperLink",
    "ProofLink",
    "SourceColour",
    "apply_link",
    "apply_proof",
    "measure_link",
    "paper_link",
    "proof_link",
    "source_colour",
]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
_CODES = 65536
_FORMULA_NODES = 4099  # 4098 = 2 * 3 * 683 steps: kinks at halves, thirds, sixths stay on nodes
_MOST_NODES = 65536
_GRID = 65
# Lab → 0..1, as ICC.1 encodes it: 8 bits and version 4 / 16 bits of version 2 and lut16
_SCALE_V4 = ((1 / 100, 1 / 255, 1 / 255), (0.0, 128 / 255, 128 / 255))
_SCALE_V2 = (
    (652.8 / 65535, 256 / 65535, 256 / 65535),
    (0.0, 32768 / 65535, 32768 / 65535),
)


@dataclass(frozen=True, eq=False)
class SourceColour:
    """How picture codes become XYZ.

    `curves`: XYZ = to_xyz @ decode[channel][code]; the other way encode[channel] is a table over
    linear light 0..1, to be read with linear interpolation. `engine`: only `to_lab` knows.
    """

    kind: Literal["curves", "engine"]
    channels: int
    to_lab: Callable[[ArrayLike], Floats]  # the truth, codes 0..1 → media-relative Lab
    decode: Singles | None = None  # (channels, 65536)
    to_xyz: Floats | None = None  # (3, channels)
    from_xyz: Floats | None = None  # (channels, 3)
    encode: Singles | None = None  # (channels, 65536)
    encode_error_l: float = 0.0  # largest |ΔL*| of code → linear → code, over all 65,536 codes


@dataclass(frozen=True, eq=False)
class PaperLink:
    """How XYZ becomes paper device values.

    XYZ * xyz_scale + xyz_offset → Lab → * lab_scale + lab_offset, held to 0..1 → input curves
    → table → output curves → held to 0..1. Curves are even tables, read linearly.
    """

    xyz_scale: Floats
    xyz_offset: Floats
    lab_scale: Floats
    lab_offset: Floats
    input_curves: Singles  # (3, N)
    clut: Singles  # (g0, g1, g2, n)
    output_curves: Singles  # (n, M)
    interpolation: Literal["trilinear", "tetrahedral"]
    words: str


@dataclass(frozen=True, eq=False)
class ProofLink:
    """How device values become Lab: input curves → table → output curves → scale and offset."""

    input_curves: Singles  # (c, N)
    clut: Singles  # (g0, ..., 3)
    output_curves: Singles  # (3, M)
    lab_scale: Floats  # Lab = value * lab_scale + lab_offset, relative to the paper
    lab_offset: Floats
    absolute_scale: Floats  # absolute XYZ = relative XYZ * absolute_scale
    interpolation: Literal["trilinear", "tetrahedral"]
    words: str


@dataclass(frozen=True, slots=True)
class LinkError:
    """ΔE00 between two prints: through the link, and through the chain."""

    mean: float
    p99: float
    max: float


# ---- picture → XYZ ---------------------------------------------------------------------------


def source_colour(chain: Chain) -> SourceColour:
    """The picture's side of the chain: curves and a matrix where the profile has them."""
    profile = chain.source
    if profile is None or profile.table_to_pcs(INTENT_NUMBERS[chain.intent]):
        channels = 3 if profile is None else profile.channels
        return SourceColour(kind="engine", channels=channels, to_lab=chain.wanted_lab)
    decode, to_xyz, from_xyz, encode, error = _source_tables(profile)
    return SourceColour(
        kind="curves",
        channels=len(decode),
        to_lab=chain.wanted_lab,
        decode=decode,
        to_xyz=to_xyz,
        from_xyz=from_xyz,
        encode=encode,
        encode_error_l=error,
    )


@lru_cache(maxsize=8)  # by the profile read once: a link is made, measured and used
def _source_tables(profile: Profile) -> tuple[Singles, Floats, Floats, Singles, float]:
    """Decode, matrix, its inverse, encode, and the error of going there and back."""
    codes = np.linspace(0.0, 1.0, _CODES)
    grey = profile.colour_space == "GRAY"
    tags = [profile.tags[name] for name in (("kTRC",) if grey else ("rTRC", "gTRC", "bTRC"))]
    forth, back = {}, {}
    for tag in set(tags):  # most spaces have one curve for all channels
        tone = read_curve(tag).at(codes)
        linear = lightness_to_y(100.0 * tone) if grey and profile.pcs == "Lab" else tone
        forth[tag], back[tag] = linear, np.interp(codes, np.maximum.accumulate(linear), codes)
    if grey:
        matrix, inverse = D50_XYZ[:, None], np.array([[0.0, 1.0, 0.0]])
    else:
        matrix = np.column_stack([profile.colorant(f"{letter}XYZ") for letter in "rgb"])
        inverse = np.linalg.inv(matrix)
    return (
        np.asarray([forth[tag] for tag in tags], dtype=np.float32),
        np.ascontiguousarray(matrix),
        np.ascontiguousarray(inverse),
        np.asarray([back[tag] for tag in tags], dtype=np.float32),
        max(_encode_error(forth[tag], back[tag]) for tag in forth),
    )


def _encode_error(linear: Floats, encode: Floats) -> float:
    """Largest lightness error of a neutral that goes to linear light and back."""
    codes = np.linspace(0.0, 1.0, _CODES)
    again = np.interp(np.interp(linear, codes, encode), codes, linear)
    return float(np.max(np.abs(y_to_lightness(again) - y_to_lightness(linear))))


# ---- XYZ → paper -----------------------------------------------------------------------------


def paper_link(chain: Chain) -> PaperLink:
    """The paper's side of the chain, by the profile's own table where its form allows."""
    signature = chain.paper.table_from_pcs(INTENT_NUMBERS[chain.intent])
    table = _readable_table(chain, signature)
    if table is None or table.inputs != 3:
        return _sampled_link(chain)
    scale, offset = _SCALE_V2 if table.kind == "mft2" else _SCALE_V4
    before = (
        [_joined(c, m) for c, m in zip(table.before, table.middle, strict=True)]
        if (table.middle)
        else list(table.before)
    )
    assert table.clut is not None
    grid = "×".join(str(n) for n in table.clut.shape[:-1])
    return PaperLink(
        xyz_scale=chain.xyz_scale,
        xyz_offset=chain.xyz_offset,
        lab_scale=np.array(scale),
        lab_offset=np.array(offset),
        input_curves=_curve_table(before),
        clut=np.ascontiguousarray(table.clut, dtype=np.float32),
        output_curves=_curve_table(table.after),
        interpolation="trilinear",
        words=f"the profile's own {signature} table, {grid} points, read trilinearly",
    )


def _readable_table(chain: Chain, signature: str) -> LutTable | None:
    """A table over Lab that is curves, grid, curves and nothing else."""
    if not signature or chain.paper.pcs != "Lab":
        return None
    try:
        table = chain.paper.lut(signature)
    except TagFault:
        return None
    return None if table.clut is None or table.matrix is not None else table


def _sampled_link(chain: Chain) -> PaperLink:
    """The chain's own answers on an even Lab grid, for profiles of another form."""
    axis = np.linspace(0.0, 1.0, _GRID)
    codes = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1)
    scale, offset = (np.array(part) for part in _SCALE_V4)
    device = chain.device_from_lab((codes - offset) / scale)
    straight = np.tile(np.array([0.0, 1.0], dtype=np.float32), (device.shape[-1], 1))
    return PaperLink(
        xyz_scale=chain.xyz_scale,
        xyz_offset=chain.xyz_offset,
        lab_scale=scale,
        lab_offset=offset,
        input_curves=np.tile(np.array([0.0, 1.0], dtype=np.float32), (3, 1)),
        clut=np.ascontiguousarray(device, dtype=np.float32),
        output_curves=straight,
        interpolation="tetrahedral",
        words=f"the profile sampled on {_GRID}×{_GRID}×{_GRID} Lab points, read by tetrahedra",
    )


# ---- paper → Lab -----------------------------------------------------------------------------


def proof_link(chain: Chain) -> ProofLink:
    """What the paper shows, by the profile's own colorimetric table where its form allows."""
    signature = chain.paper.table_to_pcs(1)
    table = _readable_table(chain, signature)
    white = chain.paper_white_xyz / D50_XYZ
    if table is None or table.outputs != 3:
        return _sampled_proof(chain, white)
    scale, offset = _SCALE_V2 if table.kind == "mft2" else _SCALE_V4
    after = (
        [_joined(m, b) for m, b in zip(table.middle, table.after, strict=True)]
        if (table.middle)
        else list(table.after)
    )
    assert table.clut is not None
    grid = "×".join(str(n) for n in table.clut.shape[:-1])
    return ProofLink(
        input_curves=_curve_table(table.before),
        clut=np.ascontiguousarray(table.clut, dtype=np.float32),
        output_curves=_curve_table(after),
        lab_scale=1.0 / np.array(scale),
        lab_offset=-np.array(offset) / np.array(scale),
        absolute_scale=white,
        interpolation="tetrahedral",
        words=f"the profile's own {signature} table, {grid} points, read by tetrahedra",
    )


def _sampled_proof(chain: Chain, white: Floats) -> ProofLink:
    channels = chain.paper.channels
    points = {1: 4097, 3: 49, 4: 21}[channels]
    axis = np.linspace(0.0, 1.0, points)
    device = np.stack(np.meshgrid(*(axis,) * channels, indexing="ij"), axis=-1)
    scale, offset = (np.array(part) for part in _SCALE_V4)
    coded = chain.printed_lab(device) * scale + offset
    straight = np.array([0.0, 1.0], dtype=np.float32)
    return ProofLink(
        input_curves=np.tile(straight, (channels, 1)),
        clut=np.ascontiguousarray(coded, dtype=np.float32),
        output_curves=np.tile(straight, (3, 1)),
        lab_scale=1.0 / scale,
        lab_offset=-offset / scale,
        absolute_scale=white,
        interpolation="tetrahedral",
        words=f"the profile sampled on {points} points an axis, read by tetrahedra",
    )


# ---- curves ----------------------------------------------------------------------------------


def _joined(first: ToneCurve, second: ToneCurve) -> ToneCurve:
    """Two curves as one."""
    if first.is_identity:
        return second
    if second.is_identity:
        return first
    return ToneCurve(table=second.at(first.sampled(_FORMULA_NODES)))


def _curve_table(curves: Sequence[ToneCurve]) -> Singles:
    """All curves as even tables of one length that keeps every stored value where it is."""
    if all(curve.is_identity for curve in curves):
        return np.tile(np.array([0.0, 1.0], dtype=np.float32), (len(curves), 1))
    steps = [curve.nodes - 1 for curve in curves if curve.nodes > 1]
    formulas = any(curve.nodes == 0 and not curve.is_identity for curve in curves)
    together = math.lcm(*steps) if steps else 1
    if formulas:
        together *= max(1, (_FORMULA_NODES - 1) // together)
    count = together + 1 if together < _MOST_NODES else _MOST_NODES
    return np.stack([curve.sampled(count) for curve in curves]).astype(np.float32)


# ---- measurement ------------------------------------------------------------------------------


def measure_link(chain: Chain, link: PaperLink, encoded_sample: ArrayLike) -> LinkError:
    """ΔE00 of the printed colours between link and chain, on a picture's own colours.

    Parameters
    ----------
    chain, link
        The truth, and what is to be measured.
    encoded_sample
        (n, channels), codes 0..1; every 100th pixel of a picture is plenty.
    """
    sample = np.asarray(encoded_sample, dtype=np.float64)
    truth = chain.printed_lab(chain.device(sample))
    fast = chain.printed_lab(apply_link(link, source_colour(chain), sample))
    gap = np.atleast_1d(delta_e_2000(truth, fast))
    return LinkError(float(gap.mean()), float(np.percentile(gap, 99)), float(gap.max()))


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


def _through_curves(curves: Singles, values: Floats) -> Floats:
    grid = np.linspace(0.0, 1.0, curves.shape[1])
    held = np.clip(values, 0.0, 1.0)
    return np.stack(
        [np.interp(held[..., i], grid, curves[i]) for i in range(curves.shape[0])], axis=-1
    )
