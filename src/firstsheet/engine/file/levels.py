"""What the code values of a file really hold: depth, levels, clipping, combs.

Takes one histogram per channel (256 or 65536 bins; for floats the bins another room chose);
gives the true bit depth and one ChannelFacts per channel. Theory: docs/theory/judging.md.
Tests: tests/engine/file/test_levels.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.records import ChannelFacts

__all__ = ["Depth", "channel_facts", "comb_percent", "true_depth"]

Layout = Literal["full", "low-bits-empty", "low-bits-repeated", "few-levels", "high-bits-empty"]
_Counts = NDArray[np.int64]

_ENOUGH_CODES: Final = 8  # codes (black and white aside) before a pattern counts as evidence
_FEW_LEVELS_PIXELS: Final = 65_536  # pixels that would show more than 256 levels if there were any
_GAP_EXPECTED: Final = 9.0  # pixels expected in an empty level: by chance empty once in 8,100
_UNSHIFTED_BITS: Final = (10, 12, 14)  # converters that write their codes without shifting


@dataclass(frozen=True, slots=True, kw_only=True)
class Depth:
    """How many bits of a code carry the picture, and how they lie in it."""

    stored_bits: int
    true_bits: int
    layout: Layout = "full"

    @property
    def top_code(self) -> int:
        """The highest code this file can hold, where clipping piles up."""
        if self.layout == "low-bits-empty":
            return int(2**self.true_bits - 1) << (self.stored_bits - self.true_bits)
        if self.layout == "high-bits-empty":
            return int(2**self.true_bits) - 1
        return int(2**self.stored_bits) - 1


def true_depth(histograms: Sequence[ArrayLike]) -> Depth:
    """Judge how many bits the codes of a file really use.

    Parameters
    ----------
    histograms
        One per channel, all of 2**bits counts (256 or 65536), indexed by code.

    Returns
    -------
    Depth
        The smallest depth that explains every code of every channel. Without at least 8 codes
        besides black and white nothing can be told, and the stored depth stands.

    Notes
    -----
    By chance, n codes of a true 16-bit picture all fit an 8-bit pattern with probability
    256**-n: 5e-20 for 8. Own derivation, docs/theory/judging.md.
    """
    counts = [np.asarray(one, dtype=np.int64) for one in histograms]
    stored_bits = _bits_of(counts)
    used = np.flatnonzero(np.sum(counts, axis=0))
    top = 2**stored_bits - 1
    if np.count_nonzero((used > 0) & (used < top)) < _ENOUGH_CODES:
        return Depth(stored_bits=stored_bits, true_bits=stored_bits)
    for bits in range(1, stored_bits):
        if not (used & (2 ** (stored_bits - bits) - 1)).any():
            return Depth(stored_bits=stored_bits, true_bits=bits, layout="low-bits-empty")
        if _repeated_codes(bits, stored_bits)[used].all():
            return Depth(stored_bits=stored_bits, true_bits=bits, layout="low-bits-repeated")
    if stored_bits == 16:
        return _depth_of_odd_codes(counts, int(used[-1]))
    return Depth(stored_bits=stored_bits, true_bits=stored_bits)


def _bits_of(counts: Sequence[_Counts]) -> int:
    sizes = {one.shape for one in counts}
    for bits in (8, 16):
        if sizes == {(2**bits,)}:
            return bits
    raise ValueError(f"histograms must all have 256 or 65536 bins, got {sorted(sizes)}")


def _repeated_codes(bits: int, stored_bits: int) -> NDArray[np.bool_]:
    """Mark the codes of a shallower picture widened to full scale, by repeating or scaling.

    Scaling to full range rounds, or cuts off; both are taken. For 8 in 16 all agree: 257 k.
    """
    small = np.arange(2**bits, dtype=np.int64)
    repeated = np.zeros_like(small)
    for shift in range(stored_bits - bits, -bits, -bits):
        repeated |= small << shift if shift >= 0 else small >> -shift
    scaled = small * (2**stored_bits - 1)
    possible = np.zeros(2**stored_bits, dtype=np.bool_)
    possible[repeated] = True
    possible[scaled // (2**bits - 1)] = True
    possible[(2 * scaled + 2**bits - 1) // (2 * (2**bits - 1))] = True
    return possible


def _depth_of_odd_codes(counts: Sequence[_Counts], highest: int) -> Depth:
    """Find 16-bit codes without a pattern that still hold few levels."""
    n_pixels = int(counts[0].sum())
    used_spans = [np.flatnonzero(one) for one in counts]
    few = max(len(span) for span in used_spans) <= 256
    span = max(int(one[-1] - one[0]) for one in used_spans if len(one))
    if few and n_pixels >= _FEW_LEVELS_PIXELS and span >= 4096:
        return Depth(stored_bits=16, true_bits=8, layout="few-levels")
    for bits in _UNSHIFTED_BITS:
        piled = sum(int(one[2**bits - 1]) for one in counts)
        if highest == 2**bits - 1 and piled >= max(16, n_pixels // 100_000):
            return Depth(stored_bits=16, true_bits=bits, layout="high-bits-empty")
    return Depth(stored_bits=16, true_bits=16)


def comb_percent(histogram: ArrayLike) -> float:
    """Empty levels inside the used range, per cent of that range, chance gaps left out.

    Parameters
    ----------
    histogram
        Counts per level, at the true depth.

    Notes
    -----
    An empty level counts only where pixels ought to be: with nearest used levels of n1 and n2
    pixels, d levels apart, an even tone would put min(n1, n2) / d into each level between; at
    least 9 are asked for, so that chance (Poisson) leaves a level empty once in 8,100. A file
    of few pixels, or the thin end of a histogram, therefore shows no comb. Fewer than 8 used
    levels are a drawing, not a comb. Own rule, docs/theory/judging.md.

    Examples
    --------
    >>> comb_percent([100, 0] * 50 + [100])
    49.504950495049506
    >>> comb_percent([3, 0] * 50 + [3])
    0.0
    """
    counts = np.asarray(histogram, dtype=np.int64)
    used = np.flatnonzero(counts)
    if len(used) < _ENOUGH_CODES:
        return 0.0
    distance = np.diff(used)
    expected = np.minimum(counts[used[:-1]], counts[used[1:]]) / distance
    gaps = int((distance - 1)[expected >= _GAP_EXPECTED].sum())
    return gaps / int(used[-1] - used[0] + 1) * 100.0


def channel_facts(
    name: str,
    histogram: ArrayLike,
    depth: Depth | None = None,
    *,
    bin_low: float = 0.0,
    bin_width: float = 1.0,
    largest_low_patch_percent: float = 0.0,
    largest_high_patch_percent: float = 0.0,
) -> ChannelFacts:
    """Sum up one channel.

    Parameters
    ----------
    name
        As in ChannelFacts: R G B, K, C M Y K or L a b.
    histogram
        Counts per code (256 or 65536 bins), or per bin of a float file.
    depth
        From `true_depth`; None for floats, whose bins show no comb and whose first and last
        bin hold what lies at or beyond 0 and 1.
    bin_low, bin_width
        Code value of the first bin and the step to the next; 0 and 1 for integers.
    largest_low_patch_percent, largest_high_patch_percent
        Largest connected clipped patch, share of the picture; another room finds it.
    """
    counts = np.asarray(histogram, dtype=np.int64)
    total = int(counts.sum())
    if total == 0:
        raise ValueError(f"channel {name} has no pixels")
    used = np.flatnonzero(counts)
    top = len(counts) - 1 if depth is None else depth.top_code
    to_percent = 100.0 / total
    return ChannelFacts(
        name=name,
        lowest=bin_low + bin_width * float(used[0]),
        highest=bin_low + bin_width * float(used[-1]),
        levels_used=len(used),
        clipped_low_percent=int(counts[0]) * to_percent,
        clipped_high_percent=int(counts[top]) * to_percent,
        largest_low_patch_percent=largest_low_patch_percent,
        largest_high_patch_percent=largest_high_patch_percent,
        comb_percent=0.0 if depth is None else comb_percent(_at_true_depth(counts, depth)),
    )


def _at_true_depth(counts: _Counts, depth: Depth) -> _Counts:
    """Fold the histogram so that one bin is one level of the true depth."""
    if depth.layout in ("low-bits-empty", "low-bits-repeated"):
        folded: _Counts = counts.reshape(2**depth.true_bits, -1).sum(axis=1)
        return folded
    if depth.layout == "few-levels":
        return counts[np.flatnonzero(counts)]  # uneven levels: no range to be empty in
    return counts
