"""Rendering intents compared by what each loses of one picture.

Takes sampled colours of a picture printed with each intent; gives one record per intent and a
recommendation in words. Theory: docs/theory/loss.md. Tests: tests/engine/test_loss_intents.py.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.colour.difference import delta_e_76, delta_e_2000
from firstsheet.engine.loss.shadows import SHADOW_TOLERANCE_L, merged_shadow_levels
from firstsheet.engine.records import Intent
from firstsheet.engine.records.plan import IntentLoss

__all__ = [
    "VISIBLE_DE00",
    "IntentTrial",
    "intent_losses",
    "recommend_intent",
    "separation_kept",
]

VISIBLE_DE00: Final = 1.0  # two intents that stay closer everywhere cannot be told apart


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class IntentTrial:
    """The sampled colours of a picture, and its grey ramp, printed with one intent."""

    intent: Intent
    printed_lab: NDArray[np.float64]  # (n, 3), same samples for every intent
    printed_ramp_l: NDArray[np.float64]  # L* of the source's 256 greys
    printed_neighbour_lab: NDArray[np.float64] | None = None  # (n, 3), the pixel beside each


def intent_losses(
    wanted_lab: ArrayLike,
    trials: Sequence[IntentTrial],
    chosen: Intent,
    *,
    floor_de00: float = 0.0,
    wanted_neighbour_lab: ArrayLike | None = None,
    tolerance_l: float = SHADOW_TOLERANCE_L,
) -> tuple[IntentLoss, ...]:
    """Compare what each intent loses of the same sampled colours.

    Parameters
    ----------
    wanted_lab
        (n, 3), what the picture wants, on the same footing (relative or absolute) as the trials.
    trials
        One per intent, in the order wanted for the answer.
    chosen
        The intent the plan would use; the others are told apart from it.
    floor_de00
        The profile's own noise, as in `loss_bands`.
    wanted_neighbour_lab
        (n, 3), the pixel beside each sample; with it separation can be told.
    """
    by_intent = {trial.intent: trial.printed_lab for trial in trials}
    if chosen not in by_intent:
        raise ValueError(f"the chosen intent {chosen} was not tried")
    wanted = np.asarray(wanted_lab, dtype=np.float64)
    moved = [delta_e_2000(wanted, trial.printed_lab) for trial in trials]
    anywhere = np.max(np.stack(moved), axis=0) > max(2.0, floor_de00)
    losses = []
    for trial, de00 in zip(trials, moved, strict=True):
        from_relative = None
        if "relative" in by_intent:
            from_relative = float(delta_e_2000(by_intent["relative"], trial.printed_lab).max())
        kept = None
        if wanted_neighbour_lab is not None and trial.printed_neighbour_lab is not None:
            neighbour = np.asarray(wanted_neighbour_lab, dtype=np.float64)
            kept = separation_kept(
                wanted[anywhere],
                neighbour[anywhere],
                trial.printed_lab[anywhere],
                trial.printed_neighbour_lab[anywhere],
            )
        losses.append(
            IntentLoss(
                intent=trial.intent,
                mean_de00=round(float(de00.mean()), 3),
                p95_de00=round(float(np.percentile(de00, 95.0)), 3),
                share_over_2_percent=_share_over(de00, max(2.0, floor_de00)),
                share_over_5_percent=_share_over(de00, max(5.0, floor_de00)),
                merged_levels=merged_shadow_levels(trial.printed_ramp_l, tolerance_l),
                differs_from_chosen_max_de00=round(
                    float(delta_e_2000(by_intent[chosen], trial.printed_lab).max()), 3
                ),
                differs_from_relative_max_de00=_rounded(from_relative, 3),
                separation_kept=_rounded(kept, 4),
            )
        )
    return tuple(losses)


def _share_over(de00: NDArray[np.float64], limit: float) -> float:
    return round(float(np.count_nonzero(de00 >= limit)) / de00.size * 100.0, 3)


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits)


def separation_kept(
    wanted_lab: ArrayLike,
    wanted_neighbour_lab: ArrayLike,
    printed_lab: ArrayLike,
    printed_neighbour_lab: ArrayLike,
) -> float | None:
    """Printed steps between neighbouring pixels, as a share of the wanted steps.

    1 keeps all modelling, 0 makes one flat patch. None where the picture has no step there.

    Notes
    -----
    Sum of printed over sum of wanted CIE76 distances: within a texture the steps are small,
    where CIE76 is a plain ruler and sums do not depend on the grain of the sampling.
    """
    wanted = delta_e_76(wanted_lab, wanted_neighbour_lab)
    printed = delta_e_76(printed_lab, printed_neighbour_lab)
    total = float(np.sum(wanted))
    return float(np.sum(printed)) / total if total > 0.0 else None


def recommend_intent(intents: Sequence[IntentLoss]) -> tuple[Intent, str]:
    """Name the intent that loses least of this picture, with the reason in words.

    The rule is in docs/theory/loss.md: only perceptual and relative colorimetric are proposed
    for photographs; no visible difference is said as such; little moved speaks for relative
    colorimetric; where much is moved, kept separation, then shadow levels, then shares decide.
    """
    by_intent: Mapping[Intent, IntentLoss] = {loss.intent: loss for loss in intents}
    relative, perceptual = by_intent.get("relative"), by_intent.get("perceptual")
    if relative is None or perceptual is None:
        only = relative or perceptual or (intents[0] if intents else None)
        if only is None:
            raise ValueError("no intent was tried")
        return only.intent, f"Only {_NAMES[only.intent]} was compared, so it stands."
    apart = perceptual.differs_from_relative_max_de00
    if apart is not None and apart <= VISIBLE_DE00:
        return "relative", _no_difference(by_intent, apart)
    return _weigh(relative, perceptual)


_NAMES: Final[Mapping[Intent, str]] = {
    "perceptual": "perceptual",
    "relative": "relative colorimetric",
    "saturation": "saturation",
    "absolute": "absolute colorimetric",
}
_LITTLE_PERCENT: Final = 5.0  # share moved by more than 2 below which little is out of reach
_SEPARATION_STEP: Final = 0.05  # of the wanted steps
_LEVELS_STEP: Final = 12  # of 256; fewer are no reason to move every colour


def _no_difference(by_intent: Mapping[Intent, IntentLoss], apart: float) -> str:
    others = [
        loss.differs_from_relative_max_de00
        for intent, loss in by_intent.items()
        if intent != "relative" and loss.differs_from_relative_max_de00 is not None
    ]
    if max(others) <= VISIBLE_DE00:
        return (
            f"No visible difference between the intents (largest difference ΔE00 "
            f"{max(others):.1f}): relative colorimetric, by habit."
        )
    return (
        f"No visible difference between perceptual and relative colorimetric (largest "
        f"difference ΔE00 {apart:.1f}): relative colorimetric, by habit."
    )


def _weigh(relative: IntentLoss, perceptual: IntentLoss) -> tuple[Intent, str]:
    """Decide between two intents that differ visibly."""
    if relative.share_over_2_percent < _LITTLE_PERCENT:
        return "relative", (
            f"Relative colorimetric moves only {relative.share_over_2_percent:.1f} % of the "
            f"picture by more than ΔE00 2; perceptual moves "
            f"{perceptual.share_over_2_percent:.1f} %."
        )
    if relative.separation_kept is not None and perceptual.separation_kept is not None:
        pair = (relative.separation_kept, perceptual.separation_kept)
        gain = pair[1] - pair[0]
        if abs(gain) >= _SEPARATION_STEP:
            best, other = (perceptual, relative) if gain > 0 else (relative, perceptual)
            kept, others_kept = max(pair), min(pair)
            return best.intent, (
                f"{_NAMES[best.intent].capitalize()} keeps {kept * 100:.0f} % of the separation "
                f"where colours move, {_NAMES[other.intent]} {others_kept * 100:.0f} %."
            )
    levels = relative.merged_levels - perceptual.merged_levels
    if abs(levels) >= _LEVELS_STEP:
        best, other = (perceptual, relative) if levels > 0 else (relative, perceptual)
        return best.intent, (
            f"{_NAMES[best.intent].capitalize()} prints {best.merged_levels} of the 256 grey "
            f"levels as the darkest, {_NAMES[other.intent]} {other.merged_levels}."
        )
    best, other = (
        (perceptual, relative)
        if (perceptual.share_over_5_percent, perceptual.mean_de00)
        < (relative.share_over_5_percent, relative.mean_de00)
        else (relative, perceptual)
    )
    return best.intent, (
        f"{_NAMES[best.intent].capitalize()} moves {best.share_over_5_percent:.1f} % of the "
        f"picture by more than ΔE00 5, {_NAMES[other.intent]} "
        f"{other.share_over_5_percent:.1f} %; mean {best.mean_de00:.1f} against "
        f"{other.mean_de00:.1f}."
    )
