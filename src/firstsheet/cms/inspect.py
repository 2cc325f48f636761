"""What a paper profile promises: white, black, contrast, gamut, intents, and its own noise.

Takes a profile's bytes; gives StockFacts, or says why it cannot serve as a paper.
Theory: docs/theory/icc.md. Tests: tests/cms/test_cms_inspect.py.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from firstsheet.cms.chain import INTENT_NUMBERS, srgb_chain
from firstsheet.cms.gamut import gamut_volume, round_trip_floor
from firstsheet.cms.profile import profile_facts
from firstsheet.engine.colour.density import contrast_ratio, density_from_lightness
from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.colour.lab import lightness_to_y
from firstsheet.engine.errors import ProfileError
from firstsheet.engine.records import Intent, IntentFacts, ProfileFacts, StockFacts

__all__ = ["inspect_paper"]

Floats = NDArray[np.float64]
_ALIKE_DE00 = 0.05  # two intents that never differ by more give the same print
_DARKEST_L = 0.5  # keeps density and contrast finite where a profile claims perfect black
_INTENT_ORDER: tuple[Intent, ...] = ("relative", "perceptual", "saturation", "absolute")


def inspect_paper(data: bytes) -> StockFacts:
    """Measure a paper profile once, for the stock's record.

    Raises
    ------
    ProfileError
        If it is broken, does not describe a paper on a printer, or gives no colours.
    """
    facts = profile_facts(data)
    _refuse(facts)
    chain = srgb_chain(data, intent="relative", black_point=False)
    white, black = chain.paper_white_lab_absolute, chain.paper_black_lab_absolute
    if not (np.isfinite([*white, *black]).all() and white[0] > 30.0 and black[0] < white[0] - 5.0):
        raise ProfileError(
            f"“{facts.description}” gives a white of L* {white[0]:.1f} and a black of "
            f"L* {black[0]:.1f}.",
            "No paper prints like that, so nothing can be planned with it.",
            "Get the profile again from the paper's maker.",
            "profile-broken",
        )
    deepest = max(float(black[0]), _DARKEST_L)
    floor = round_trip_floor(chain)
    return StockFacts(
        profile=facts,
        white_lab=_three(white),
        black_lab=_three(black),
        white_density=float(density_from_lightness(white[0])),
        black_density=float(density_from_lightness(deepest)),
        contrast=contrast_ratio(float(lightness_to_y(white[0])), float(lightness_to_y(deepest))),
        gamut_volume=gamut_volume(chain),
        intents=_intents(data),
        floor_p95_de00=floor[0],
        floor_p99_de00=floor[1],
        floor_max_de00=floor[2],
    )


def _refuse(facts: ProfileFacts) -> None:
    """Say why a profile cannot be a paper."""
    if facts.kind == "broken" or not facts.sha256:
        raise ProfileError(
            f"This profile cannot be used. {facts.problems[0]}",
            "No stock can be made from it.",
            "Get the profile again from the paper's maker.",
            "profile-broken",
        )
    name = facts.description or "This profile"
    if facts.device_class != "prtr":
        kinds = {
            "working": "a working space",
            "screen": "a screen",
            "input": "a scanner or camera",
            "grey": "a grey space",
        }
        raise ProfileError(
            f"“{name}” describes {kinds.get(facts.kind, 'something else')} "
            f"(class {facts.device_class}), not a paper on a printer.",
            "It cannot say what a print will look like.",
            "Give the ICC profile of the paper on your printer. Where a lab asks for files in a "
            "working space, keep the picture's own colour instead.",
            "profile-wrong-class",
        )


def _three(lab: Floats) -> tuple[float, float, float]:
    return float(lab[0]), float(lab[1]), float(lab[2])


def _intents(data: bytes) -> tuple[IntentFacts, ...]:
    """Print 729 sRGB colours with each intent and compare."""
    axis = np.linspace(0.0, 1.0, 9)
    colours = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1).reshape(-1, 3)
    printed: dict[Intent, Floats] = {}
    facts = []
    for intent in _INTENT_ORDER:
        chain = srgb_chain(data, intent=intent, black_point=False)
        now = chain.printed_lab(chain.device(colours))
        same = next(
            (one for one, lab in printed.items() if delta_e_2000(lab, now).max() <= _ALIKE_DE00),
            None,
        )
        printed[intent] = now
        gap = delta_e_2000(now, printed["relative"])
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
