"""What a paper profile promises: white, black, contrast, gamut, intents, and its own noise.

Takes a profile's bytes; gives StockFacts. Theory: docs/theory/icc.md.
Tests: tests/cms/test_cms_inspect.py.
"""

from __future__ import annotations

from itertools import permutations

import numpy as np
from numpy.typing import NDArray

from firstsheet.cms.build import space_profile
from firstsheet.cms.chain import INTENT_NUMBERS, Chain, build_chain
from firstsheet.cms.profile import profile_facts
from firstsheet.engine.colour.density import contrast_ratio, density_from_lightness
from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.colour.lab import lightness_to_y
from firstsheet.engine.errors import ProfileError
from firstsheet.engine.records import Intent, IntentFacts, ProfileFacts, StockFacts

__all__ = ["gamut_volume", "inspect_paper", "round_trip_floor"]

Floats = NDArray[np.float64]
_ALIKE_DE00 = 0.02  # two intents that never differ by more give the same print


def inspect_paper(data: bytes) -> StockFacts:
    """Measure a paper profile once, for the stock's record.

    Raises
    ------
    ProfileError
        If it is broken, or does not describe a paper on a printer.
    """
    facts = profile_facts(data)
    _refuse(facts)
    chain = _chain(data, "relative")
    white, black = chain.paper_white_lab_absolute, chain.paper_black_lab_absolute
    floor = round_trip_floor(chain)
    return StockFacts(
        profile=facts,
        white_lab=_three(white),
        black_lab=_three(black),
        white_density=float(density_from_lightness(white[0])),
        black_density=float(density_from_lightness(max(black[0], 0.01))),
        contrast=contrast_ratio(
            float(lightness_to_y(white[0])), float(lightness_to_y(max(black[0], 0.01)))
        ),
        gamut_volume=gamut_volume(chain),
        intents=_intents(data),
        floor_p95_de00=floor[0],
        floor_p99_de00=floor[1],
        floor_max_de00=floor[2],
    )


def _refuse(facts: ProfileFacts) -> None:
    if facts.kind == "broken":
        raise ProfileError(
            f"This profile cannot be used: {facts.problems[0]}",
            "No stock can be made from it.",
            "Get the profile again from the paper's maker.",
            "profile-broken",
        )
    if facts.device_class != "prtr":
        raise ProfileError(
            f"“{facts.description}” is of class {facts.device_class}, not an output profile.",
            "It does not say what a printer does on a paper.",
            "Give the ICC profile of the paper on your printer.",
            "profile-wrong-class",
        )


def _chain(data: bytes, intent: Intent) -> Chain:
    return build_chain(
        source_profile=space_profile("srgb"),
        colour_model="rgb",
        paper_profile=data,
        intent=intent,
        black_point=False,
    )


def _three(lab: Floats) -> tuple[float, float, float]:
    return float(lab[0]), float(lab[1]), float(lab[2])


def gamut_volume(chain: Chain) -> float:
    """Volume of what the paper shows, cubic Lab units relative to its white.

    The device cube is cut into tetrahedra and each is carried into Lab; their signed volumes
    add up to the enclosed one.
    """
    channels, steps = chain.paper.channels, 17
    if channels == 1:
        return 0.0
    axis = np.linspace(0.0, 1.0, steps)
    grid = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1)
    if channels == 4:
        grid = np.concatenate([1.0 - grid, np.zeros((*grid.shape[:-1], 1))], axis=-1)
    lab = chain.printed_lab(grid)
    total = 0.0
    low = slice(None, -1)
    for order in permutations(range(3)):
        step = [0, 0, 0]
        corners = [lab[low, low, low]]
        for axis_number in order:
            step[axis_number] = 1
            corners.append(lab[tuple(slice(s, steps - 1 + s) for s in step)])
        edges = np.stack([corner - corners[0] for corner in corners[1:]], axis=-1)
        sign = np.linalg.det(np.eye(3)[list(order)])
        total += sign * float(np.linalg.det(edges).sum()) / 6.0
    return abs(total)


def _intents(data: bytes) -> tuple[IntentFacts, ...]:
    axis = np.linspace(0.0, 1.0, 9)
    colours = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1).reshape(-1, 3)
    printed: dict[Intent, Floats] = {}
    facts = []
    order: tuple[Intent, ...] = ("relative", "perceptual", "saturation", "absolute")
    for intent in order:
        chain = _chain(data, intent)
        printed[intent] = chain.printed_lab(chain.device(colours))
        gap = delta_e_2000(printed[intent], printed["relative"])
        same = next(
            (
                other
                for other in printed
                if other != intent
                and delta_e_2000(printed[other], printed[intent]).max() <= _ALIKE_DE00
            ),
            None,
        )
        number = 1 if intent == "absolute" else INTENT_NUMBERS[intent]
        facts.append(
            IntentFacts(
                intent=intent,
                has_table=f"B2A{number}" in chain.paper.tags,
                same_as=same,
                mean_de00_from_relative=float(gap.mean()),
                max_de00_from_relative=float(gap.max()),
            )
        )
    return tuple(facts)


def round_trip_floor(chain: Chain) -> tuple[float, float, float]:
    """ΔE00 (95 %, 99 %, max) that the profile adds to colours which the paper surely holds."""
    axis = np.linspace(0.06, 0.94, 15)
    grid = np.stack(np.meshgrid(*(axis,) * chain.paper.channels, indexing="ij"), axis=-1)
    lab = chain.printed_lab(grid.reshape(-1, chain.paper.channels))
    gap = delta_e_2000(lab, chain.printed_lab(chain.device_from_lab(lab)))
    return float(np.percentile(gap, 95)), float(np.percentile(gap, 99)), float(gap.max())
