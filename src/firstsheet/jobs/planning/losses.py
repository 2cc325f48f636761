"""Measures what the paper takes away of one picture, through the very chain of the print.

Takes a small upright picture and a chain; gives the figures for the plan and the arrays from
which proof and loss map are drawn, so that picture and figure never disagree.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.cms.chain import Chain, ColourModel
from firstsheet.engine.loss.intents import IntentTrial, intent_losses
from firstsheet.engine.loss.measure import LossTally, loss_facts
from firstsheet.engine.loss.shadows import (
    merged_limit_l,
    merged_shadow_levels,
    shadow_share_percent,
)
from firstsheet.engine.records import Intent
from firstsheet.engine.records.plan import IntentLoss, LossFacts
from firstsheet.engine.streams import StopCheck
from firstsheet.jobs.planning.colour_path import ColourPath, de00_between

if TYPE_CHECKING:
    from firstsheet.pixels.repairs import Lies

__all__ = [
    "INTENTS",
    "Losses",
    "compare_intents",
    "grey_ramp",
    "greys_through",
    "measure_losses",
]

INTENTS: tuple[Intent, ...] = ("perceptual", "relative", "saturation", "absolute")
_SAMPLES = 20_000  # colours on which the four intents are compared
_LIGHTNESS_BINS = 1000


@dataclass(frozen=True, eq=False)
class Losses:
    """Wanted and printed colour of the small picture, and the figures drawn from them."""

    facts: LossFacts
    wanted_lab: NDArray[Any]  # (h, w, 3), on the footing the intent asks for
    printed_lab: NDArray[Any]  # (h, w, 3), on the same footing
    printed_relative_lab: NDArray[Any]  # (h, w, 3), relative to the paper
    de00: NDArray[np.float64]  # (h, w)


def _footing(
    chain: Chain, wanted: NDArray[Any], printed: NDArray[Any]
) -> tuple[NDArray[Any], NDArray[Any]]:
    """Absolute is judged against the picture's own white; the others against the paper's."""
    if chain.intent == "absolute":
        return wanted, chain.absolute_lab(printed)
    return wanted, printed


def grey_ramp(channels: int, colour_model: ColourModel) -> NDArray[np.float64]:
    """The source's 256 greys, black first, (256, channels)."""
    steps = np.linspace(0.0, 1.0, 256)
    if colour_model == "lab":
        half = np.full(256, 128.0 / 255.0)
        return np.stack([steps, half, half], axis=-1)
    if colour_model == "cmyk":
        zero = np.zeros(256)
        return np.stack([zero, zero, zero, 1.0 - steps], axis=-1)
    return np.repeat(steps[:, None], channels, axis=1)


def greys_through(
    channels: int, way: ColourPath, stop: StopCheck
) -> tuple[NDArray[Any], NDArray[Any]]:
    """The source's greys as wanted and as printed, (256, 3) each."""
    ramp = grey_ramp(channels, way.chain.colour_model)[None]
    return way.wanted_lab(ramp, stop)[0], way.printed_lab(ramp, stop)[0]


def measure_losses(
    small: NDArray[np.float64],
    way: ColourPath,
    *,
    floor_de00: float,
    intents: tuple[IntentLoss, ...],
    stop: StopCheck,
    lies: Lies | None = None,
) -> Losses:
    """Measure every pixel of the small picture.

    Parameters
    ----------
    small
        (h, w, c), encoded 0..1, upright and cropped as it will print.
    floor_de00
        99 % of the profile's own round-trip noise; below it nothing is called a loss.
    intents
        The four intents side by side, from `compare_intents`.
    lies
        What of the whole upright file is printed, for a way with repairs.
    """
    chain = way.chain
    wanted, relative = way.wanted_lab(small, stop), way.printed_lab(small, stop, lies)
    stop()
    wanted_here, printed = _footing(chain, wanted, relative)
    de00 = de00_between(wanted_here, printed, stop)
    tally = LossTally(floor_de00)
    tally.add(de00)
    ramp = grey_ramp(small.shape[-1], chain.colour_model)
    ramp_wanted_l = way.wanted_lab(ramp[None], stop)[0, :, 0]
    merged = merged_shadow_levels(way.printed_lab(ramp[None], stop)[0, :, 0])
    counts, _ = np.histogram(wanted[..., 0], bins=_LIGHTNESS_BINS, range=(0.0, 100.0))
    share = shadow_share_percent(counts, merged_limit_l(ramp_wanted_l, merged))
    facts = loss_facts(
        tally.result(),
        merged_levels=merged,
        merged_percent=share,
        white_lab=chain.paper_white_lab_absolute.tolist(),
        black_lab=chain.paper_black_lab_absolute.tolist(),
        intents=intents,
    )
    return Losses(facts, wanted_here, printed, relative, de00)


def compare_intents(
    small: NDArray[np.float64],
    *,
    way_for: Callable[[Intent], ColourPath],
    chosen: Intent,
    floor_de00: float,
    stop: StopCheck,
) -> tuple[IntentLoss, ...]:
    """Print the same sample of the picture's colours with each intent, and compare.

    The sample is every n-th pixel and the pixel to its right, so that steps between neighbours
    can be told. Printed colour is relative to the paper for every intent, so that the four
    stand on one footing.
    """
    across = small[:, :-1].reshape(-1, small.shape[-1])
    beside = small[:, 1:].reshape(-1, small.shape[-1])
    every = max(1, across.shape[0] // _SAMPLES)
    rows = np.stack([across[::every], beside[::every]])  # (2, n, c): samples, their neighbours
    trials = []
    for intent in INTENTS:
        stop()
        way = way_for(intent)
        ramp = grey_ramp(small.shape[-1], way.chain.colour_model)
        sample, neighbour = np.asarray(way.printed_lab(rows, stop), dtype=np.float64)
        trials.append(
            IntentTrial(
                intent=intent,
                printed_lab=sample,
                printed_ramp_l=way.printed_lab(ramp[None], stop)[0, :, 0].astype(np.float64),
                printed_neighbour_lab=neighbour,
            )
        )
    wanted, wanted_neighbour = way_for("relative").wanted_lab(rows, stop)
    return intent_losses(
        wanted,
        trials,
        chosen,
        floor_de00=floor_de00,
        wanted_neighbour_lab=wanted_neighbour,
    )
