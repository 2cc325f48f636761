"""What the plan says about the place: how bright the paper is there.

Takes place and stock; gives findings. Theory: docs/theory/viewing.md, docs/theory/sizing.md.
Tests: tests/engine/test_plan.py.
"""

from __future__ import annotations

from firstsheet.engine.colour.lab import lightness_to_y
from firstsheet.engine.findings import PRACTICE, choice, finding, shown
from firstsheet.engine.light.viewing import (
    illuminance_for_luminance,
    paper_white_luminance,
    stops_between,
)
from firstsheet.engine.records import Finding, Place, Stock
from firstsheet.engine.units import distance_words, plain_number

__all__ = ["NEAREST_MM", "place_findings"]

SCREEN_CD_M2 = 120.0  # a screen set for judging prints, 100 to 120; common practice, no source
NEAREST_MM = 100.0  # young eyes focus so near; common practice, no source
_READING_MM = 250.0
_DIM_STOPS = 1.5
_LIKE_SCREEN_STOPS = 0.5


def place_findings(place: Place, stock: Stock) -> tuple[Finding, ...]:
    """Say how bright this paper's white is in that light, and where nobody can look from."""
    return (*_too_near(place), *_light(place, stock))


def _too_near(place: Place) -> tuple[Finding, ...]:
    if place.distance_mm >= NEAREST_MM:
        return ()
    return (
        finding(
            "nearer-than-eyes-focus",
            "caution",
            f"The print is to be seen from {plain_number(place.distance_mm)} mm; no eye focuses "
            f"nearer than about {NEAREST_MM / 10:.0f} cm.",
            "Sharpening and verdicts are for a distance from which nobody looks.",
            choice(
                f"Judge it as held in the hand, from {distance_words(_READING_MM)}.",
                {"place.distance": f"{_READING_MM:.0f} mm"},
            ),
            source=PRACTICE,
            figures={"distance_mm": place.distance_mm},
        ),
    )


def _light(place: Place, stock: Stock) -> tuple[Finding, ...]:
    if stock.facts is None:
        return ()
    reflectance = float(lightness_to_y(stock.facts.white_lab[0]))
    white = paper_white_luminance(place.illuminance_lux, reflectance)
    if white <= 0:
        return ()
    stops = stops_between(white, SCREEN_CD_M2)
    dim = stops >= _DIM_STOPS
    even_lux = illuminance_for_luminance(SCREEN_CD_M2, reflectance)
    beside = f"a screen of {SCREEN_CD_M2:.0f} cd/m²"
    if abs(stops) < _LIKE_SCREEN_STOPS:
        means = f"That is about as bright as {beside}."
    elif stops < 0:
        means = f"That is {-stops:.1f} stops brighter than {beside}: the print shows more shadow."
    else:
        means = f"That is {stops:.1f} stops darker than {beside}."
    if dim:
        means += " Shadows close up first, and the print looks dull."
    if place.lamp == "warm":
        means += " Profiles are made for D50 light; in warm light blues look greyer."
    return (
        finding(
            "light-at-place",
            "caution" if dim else "fine",
            f"In {plain_number(place.illuminance_lux)} lux the white of {stock.title} gives "
            f"{shown('paper-luminance', f'{white:.0f} cd/m²')}.",
            means,
            *(
                (
                    f"About {even_lux:.0f} lux would match that screen; works on paper on lasting "
                    "display are usually given 50 to 200 lux, since light fades them.",
                    "Or print a small piece and look at it there first.",
                )
                if dim
                else ()
            ),
            source=f"L = E · ρ / π of a matt surface; the screen's 120 cd/m² is {PRACTICE}",
            figures={"white_cd_m2": white, "stops_below_screen": stops},
        ),
    )
