"""Colours and places as people name them, and a region's loss as a sentence.

Takes figures; gives words. Hue names follow the Oklab hue circle: where sRGB's own primaries
lie on it is checked in the tests; the limits between names are ours.
Theory: docs/theory/regions.md. Tests: tests/engine/loss/regions/test_region_words.py.
"""

from __future__ import annotations

from collections.abc import Sequence

from firstsheet.engine.loss.regions.masks import FLAT_KEPT

__all__ = [
    "region_words",
    "share_words",
]


def share_words(percent: float) -> str:
    """A share as it is said: whole per cents, tenths below one.

    >>> share_words(3.4), share_words(0.42), share_words(0.01)
    ('3 %', '0.4 %', 'under 0.1 %')
    """
    if percent < 0.1:
        return "under 0.1 %"
    return f"{percent:.1f} %" if percent < 0.95 else f"{percent:.0f} %"


def region_words(
    *,
    name: str,
    kinds: Sequence[str],
    modelling_kept: float | None,
    turn_degrees: float,
    toward: str,
    moved_de00: float,
    skin_shift: float,
    cast_words: str,
    neutral: bool = False,
) -> str:
    """The sentence of one region: what it is, and what the paper does to it."""
    said = []
    for kind in kinds:
        if kind == "flattened" and modelling_kept is not None:
            said.append(f"only {100.0 * modelling_kept:.0f} % of the tonal separation survives")
        elif kind == "black":
            said.append(f"merges into one black{_kept_of(modelling_kept)}")
        elif kind == "paper-white":
            said.append(f"burns out to paper white{_kept_of(modelling_kept)}")
        elif kind == "hue":
            said.append(f"hue turns {abs(turn_degrees):.0f}° toward {toward}")
        elif kind == "neutral":
            said.append(f"should be neutral and prints {cast_words}")
        elif kind == "skin-like":
            said.append(f"is coloured like skin and shifts by {skin_shift:.1f} in hue and chroma")
    if said:
        return f"{name}: {', '.join(said)}."
    if modelling_kept is not None and modelling_kept < FLAT_KEPT:
        return (
            f"{name}: {100.0 * modelling_kept:.0f} % of the tonal separation survives, but this "
            "will not be noticed."
        )
    kept = "" if modelling_kept is None else f" ({100.0 * modelling_kept:.0f} % of it)"
    keeps = (
        f"separation{kept} and {'neutrality' if neutral else 'hue'} are kept"
        if modelling_kept
        else "there is no detail in it to lose"
    )
    return f"{name}: shifts by ΔE00 {moved_de00:.1f}, but {keeps}; nothing to do."


def _kept_of(kept: float | None) -> str:
    return "" if kept is None else f"; {100.0 * kept:.0f} % of its detail is left"
