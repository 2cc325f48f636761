"""The plan's sharpening, and how sharp the print will look with it.

Takes wish, stock, size and what the pixels truly hold; gives SharpenPlan and LookPlan. Nothing
is measured here. Theory: docs/theory/acutance.md. Tests: tests/engine/test_looks.py.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, Final, Literal

from firstsheet.engine.records.detail import DetailFacts
from firstsheet.engine.records.sharpness import HaloOnPrint, LookPlan, PrintNoise, StrengthAnswer
from firstsheet.engine.sharpness.edge import edge_after
from firstsheet.engine.sharpness.output import FITTED, sharpen_plan
from firstsheet.engine.sharpness.print_chain import INK_SPREAD_MM, Chain, MtfShape
from firstsheet.engine.sharpness.print_halo import halo_on_print
from firstsheet.engine.sharpness.print_noise import print_noise
from firstsheet.engine.sharpness.print_response import look
from firstsheet.engine.sharpness.strength import Limits, sharpened_chain, solve_strength, wanted
from firstsheet.engine.sizing.resampling import choose_kernel

if TYPE_CHECKING:
    from firstsheet.engine.records import Stock, Ticket
    from firstsheet.engine.records.plan import SharpenPlan, SizePlan

__all__ = [
    "eased_share",
    "mtf_shape",
    "overshoot_on_print",
    "plan_sharpening",
    "print_chain",
]

_SURE: Final = 0.6  # confidence from which the file's own edges are believed
_EASE_FROM, _EASE_TO = 0.025, 0.125  # overshoot, share of an edge's height; our own choice
_LEAST: Final = 0.25  # share of the strength that is left in any case
_EASED_AT: Final = 0.9  # a share above this is not worth a change
_STEP: Final = 0.05


def plan_sharpening(
    ticket: Ticket, stock: Stock, size: SizePlan, detail: DetailFacts | None
) -> tuple[SharpenPlan, LookPlan | None]:
    """Decide the sharpening, and say how the print will look with it.

    Parameters
    ----------
    detail
        What was measured of the picture; None gives strengths as asked for and no look.

    Notes
    -----
    Where the ticket asks for no strength it is 1, eased where the file is sharpened already. A
    number is taken literally. `fitted` takes the solved strength and radius; where no edges
    could be measured it is as if nothing were asked for.
    """
    wish = ticket.detail.sharpen
    if detail is None:
        return _asked(ticket, stock, size), None
    chain = print_chain(detail, stock, size)
    present = overshoot_on_print(detail, size.scale)
    grain = _grain(detail, stock, size, ticket)
    fitted = _fitted(ticket, stock, chain, grain, present)
    if wish == FITTED and fitted is not None:
        sharp = _sharpen(ticket, stock, size, fitted.strength, fitted.radius_mm, FITTED)
        return sharp, _look(chain, ticket, size, detail, sharp, fitted, grain, sharp.strength)
    sharp = _asked(ticket, stock, size)
    strength = sharp.strength
    share = eased_share(present) if wish in (None, FITTED) else 1.0
    if share < 1.0:
        less = max(round(strength * share / _STEP) * _STEP, _STEP)
        sharp = _sharpen(ticket, stock, size, round(less, 2), None, "eased")
    return sharp, _look(chain, ticket, size, detail, sharp, fitted, grain, strength)


def _asked(ticket: Ticket, stock: Stock, size: SizePlan) -> SharpenPlan:
    """The sharpening asked for: a strength, none, or the usual one."""
    wish = ticket.detail.sharpen
    if wish is None or wish == "fitted":
        return _sharpen(ticket, stock, size, 1.0, name="usual")
    return _sharpen(ticket, stock, size, wish)


def _sharpen(
    ticket: Ticket,
    stock: Stock,
    size: SizePlan,
    wish: float | Literal["off"],
    radius_mm: float | None = None,
    name: str = "",
) -> SharpenPlan:
    plan = sharpen_plan(
        wish=wish,
        radius_mm=ticket.detail.radius_mm or radius_mm,
        surface=stock.surface,
        distance_mm=ticket.place.distance_mm,
        ppi=size.ppi,
    )
    return plan.model_copy(update={"name": name}) if name else plan


def print_chain(detail: DetailFacts, stock: Stock, size: SizePlan) -> Chain:
    """The print from file to ink, without sharpening; an ideal file where edges told nothing."""
    return Chain(
        shape=mtf_shape(detail) if _told(detail) else None,
        scale=size.scale if size.resample != "none" else 1.0,
        ppi=size.ppi,
        kernel=choose_kernel(size.scale),
        spread_mm=INK_SPREAD_MM[stock.surface],
    )


def _told(detail: DetailFacts) -> bool:
    """Whether the picture's own edges say how its detail falls off."""
    return mtf_shape(detail) is not None and detail.edges.confidence >= _SURE


def overshoot_on_print(detail: DetailFacts, scale: float) -> float:
    """Overshoot the file's edges will still have on the print, share of their height.

    Notes
    -----
    Made smaller, a rim r print pixels wide keeps about r / sqrt(1 + r^2) of its height: widths
    add as squares, areas are kept. Our own rule, checked on made pictures.
    """
    halo = detail.halo
    if halo.told not in ("slight", "clear") or halo.confidence < _SURE or halo.width_px is None:
        return 0.0
    rim_px = 0.5 * halo.width_px * scale
    kept = 1.0 if scale >= 1.0 else rim_px / math.hypot(1.0, rim_px)
    sides = (halo.overshoot_percent or 0.0, halo.undershoot_percent or 0.0)
    return 0.01 * 0.5 * sum(sides) * kept


def eased_share(present: float) -> float:
    """Share of a wished strength that is left for a file with overshoot.

    >>> eased_share(0.0), round(eased_share(0.075), 2), eased_share(0.3)
    (1.0, 0.5, 0.25)
    """
    share = max(_LEAST, 1.0 - (present - _EASE_FROM) / (_EASE_TO - _EASE_FROM))
    return share if share <= _EASED_AT else 1.0


def _fitted(
    ticket: Ticket, stock: Stock, chain: Chain, grain: PrintNoise | None, present: float
) -> StrengthAnswer | None:
    if chain.shape is None:
        return None
    return solve_strength(
        chain,
        ticket.place.distance_mm,
        surface=stock.surface,
        noise_l=grain.sigma_l if grain is not None else 0.0,
        present_overshoot_share=round(present, 3),
        radius_mm=ticket.detail.radius_mm,
    )


def _rims(detail: DetailFacts, size: SizePlan, distance_mm: float) -> HaloOnPrint | None:
    """Rims the file carries, where they were surely found."""
    if detail.halo.confidence < _SURE:
        return None
    return halo_on_print(detail.halo, scale=size.scale, ppi=size.ppi, distance_mm=distance_mm)


@lru_cache(maxsize=64)
def _noise(
    detail: DetailFacts,
    scale: float,
    ppi: float,
    distance_mm: float,
    spread_mm: float,
    lux: float,
) -> PrintNoise | None:
    return print_noise(
        detail.noise,
        scale=scale,
        ppi=ppi,
        distance_mm=distance_mm,
        spread_mm=spread_mm,
        illuminance_lux=lux,
    )


def _grain(detail: DetailFacts, stock: Stock, size: SizePlan, ticket: Ticket) -> PrintNoise | None:
    return _noise(
        detail,
        size.scale,
        size.ppi,
        ticket.place.distance_mm,
        INK_SPREAD_MM[stock.surface],
        ticket.place.illuminance_lux,
    )


def _look(
    chain: Chain,
    ticket: Ticket,
    size: SizePlan,
    detail: DetailFacts,
    sharp: SharpenPlan,
    fitted: StrengthAnswer | None,
    grain: PrintNoise | None,
    wished: float,
) -> LookPlan:
    distance_mm = ticket.place.distance_mm
    made = sharpened_chain(chain, sharp)
    seen = look(made, distance_mm)
    after = edge_after(made.edge_key)
    basis: Literal["edges", "pixels"] = "edges" if chain.shape is not None else "pixels"
    best = "" if basis == "edges" else "At best, for no edges could be measured: "
    sentence = seen.sentence if not best else best + seen.sentence[0].lower() + seen.sentence[1:]
    return LookPlan(
        basis=basis,
        distance_mm=distance_mm,
        spread_mm=chain.spread_mm,
        acutance_plain=seen.acutance_plain,
        acutance_sharpened=seen.acutance_sharpened,
        target=round(wanted(chain, distance_mm), 4),
        overshoot_l=round(after.overshoot_l, 2),
        halo_mm=round(after.halo_px * chain.pitch_mm, 3),
        halo_limit_mm=round(Limits().halo_mm(distance_mm), 3),
        sharp_from_mm=seen.sharp_from_mm,
        soft_below_mm=seen.soft_below_mm,
        sentence=sentence,
        fitted=fitted,
        wished_strength=wished,
        eased=sharp.strength < wished,
        grain=grain,
        file_halo=_rims(detail, size, distance_mm),
    )


def mtf_shape(facts: DetailFacts) -> MtfShape | None:
    """The picture's response, for the print's; None where no edges were measured."""
    half, tenth = facts.edges.half_cpp, facts.edges.tenth_cpp
    if half is None or tenth is None or half <= 0.0 or tenth <= half:
        return None
    return MtfShape(half_cpp=half, tenth_cpp=tenth)
