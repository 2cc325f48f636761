"""Steps in gradients as the print shows them: how high, how long, seen from where one stands.

Takes gradients of the file as wanted and as printed colour; gives StepsOnPaper, and a finding for a
size and a place. Theory: docs/theory/print-steps.md. Tests: tests/engine/test_printsteps.py.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.findings import finding
from firstsheet.engine.records import Finding, Place, Record
from firstsheet.engine.records.plan import SizePlan
from firstsheet.engine.sharpness.eye import (
    barten_sensitivity,
    colour_response,
    cycles_per_degree,
    gaussian_mtf,
    retinal_illuminance_trolands,
)
from firstsheet.engine.sharpness.print_chain import INK_SPREAD_MM
from firstsheet.engine.units import distance_words

__all__ = ["StepsOnPaper", "steps_findings", "steps_on_paper", "steps_seen"]

Floats = NDArray[np.float64]

_LEAST_RUN_PX: Final = 4.0
_LEAST_DE00: Final = 0.1  # lower steps are not counted
_PUPIL_MM: Final = 2.5
_NEARLY_ALL: Final = 0.9  # share of a step from which it is called one of colour
_PEAK_CPD: Final = np.geomspace(0.5, 16.0, 61)  # among which the eye's best frequency is taken
_FINEST_CPD: Final = 60.0
_FREQUENCIES: Final = 61


class StepsOnPaper(Record):
    """Steps of the gradients that were looked at; heights are medians over their steps."""

    gradients: int
    stepped: int  # of them, those that go in steps on the print
    run_px: float | None  # length of a run, px of the file
    wanted_de00: float | None  # height in the file
    printed_de00: float | None  # height on the print
    highest_de00: float | None  # of the worst gradient on the print
    printed_l: float | None  # the same step as a change of L*
    printed_colour_de00: float | None = None  # the same step with its two L* made equal
    lightness: float | None  # L* on the print


def steps_on_paper(codes: ArrayLike, wanted: ArrayLike, printed: ArrayLike) -> StepsOnPaper:
    """Compare neighbouring runs of equal codes, line by line.

    Parameters
    ----------
    codes
        (gradients, lines, length, channels), as stored, along each gradient.
    wanted, printed
        (gradients, lines, length, 3), Lab of the same places.
    """
    values = np.asarray(codes)
    want, show = (np.asarray(lab, dtype=np.float64) for lab in (wanted, printed))
    rows: list[tuple[float, float, float, float, float, float]] = []
    for number in range(len(values)):
        change = (values[number, :, 1:] != values[number, :, :-1]).any(axis=-1)
        if not change.any():
            continue
        run = _spacing(change)
        if run < _LEAST_RUN_PX:
            continue
        heights = [
            np.asarray(delta_e_2000(lab[number, :, 1:][change], lab[number, :, :-1][change]))
            for lab in (want, show)
        ]
        on_print = float(np.median(heights[1]))
        light = show[number, ..., 0]
        change_l = float(np.median(np.abs(light[:, 1:] - light[:, :-1])[change]))
        colour = float(np.median(_colour_part(show[number])[change]))
        in_file = float(np.median(heights[0]))
        rows.append((run, in_file, on_print, change_l, float(light.mean()), colour))
    stepped = [row for row in rows if row[2] >= _LEAST_DE00]
    if not stepped:
        return StepsOnPaper(
            gradients=len(values), stepped=0, run_px=None, wanted_de00=None, printed_de00=None,
            highest_de00=None, printed_l=None, lightness=None,
        )  # fmt: skip
    run, want_de, show_de, show_l, light_l, colour = (float(v) for v in np.median(stepped, axis=0))
    return StepsOnPaper(
        gradients=len(values),
        stepped=len(stepped),
        run_px=round(run, 1),
        wanted_de00=round(want_de, 3),
        printed_de00=round(show_de, 3),
        highest_de00=round(max(row[2] for row in stepped), 3),
        printed_l=round(show_l, 3),
        lightness=round(light_l, 1),
        printed_colour_de00=round(colour, 3),
    )


def _colour_part(lab: Floats) -> Floats:
    """CIEDE2000 between neighbours along the lines, had both the mean of their L*."""
    before, after = lab[:, :-1].copy(), lab[:, 1:].copy()
    before[..., 0] = after[..., 0] = 0.5 * (before[..., 0] + after[..., 0])
    return np.asarray(delta_e_2000(before, after))


def _spacing(change: NDArray[np.bool_]) -> float:
    """Mean distance between changes along the lines, px."""
    count = change.sum(axis=1)
    several = count > 1
    if not several.any():
        return change.size / int(count.sum())
    part = change[several]
    first, last = part.argmax(axis=1), part.shape[1] - 1 - part[:, ::-1].argmax(axis=1)
    return float((last - first).sum() / (count[several] - 1).sum())


def steps_seen(
    step_l: float,
    run_mm: float,
    lightness: float,
    place: Place,
    *,
    spread_mm: float,
    colour_de00: float = 0.0,
) -> float:
    """How many times over the eye's threshold a staircase stands, at a place.

    Parameters
    ----------
    step_l
        Height of a step in L*.
    run_mm
        Its length on the print.
    colour_de00
        CIEDE2000 of the same step without its change of L*.

    Notes
    -----
    A staircase is a ramp and a sawtooth of the step's height, whose first harmonic has the
    amplitude h / pi. dL* = (L* + 16)/3 dlnY makes it a contrast; the eye is Barten's of 1999 at
    the paper's luminance, the ink a Gaussian of `spread_mm`. A long step has a rim that is seen as
    that of a shorter one is (our own reading): all frequencies from 1 / run on are tried, and the
    one that is seen best counts.
    A step of pure colour is taken to be as plain as one of L* of the same CIEDE2000, each at the
    frequency the eye knows best (our own assumption); how it fades with finer steps is
    `colour_response`. Both parts join as squares, as in CIEDE2000.
    """
    luminance = place.illuminance_lux * ((lightness + 16.0) / 116.0) ** 3 / math.pi
    trolands = retinal_illuminance_trolands(max(luminance, 1.0), _PUPIL_MM)
    lowest = float(cycles_per_degree(1.0 / run_mm, place.distance_mm))
    u = np.geomspace(lowest, max(lowest, _FINEST_CPD), _FREQUENCIES)
    per_mm = u / lowest / run_mm
    per_l = 3.0 / (lightness + 16.0) / np.pi * gaussian_mtf(per_mm, spread_mm)

    def sensitivity(frequency: Floats) -> Floats:
        return barten_sensitivity(frequency, retinal_trolands=trolands, pupil_mm=_PUPIL_MM)

    of_light = step_l * float((per_l * sensitivity(u)).max())
    best = float(sensitivity(_PEAK_CPD).max())
    of_colour = colour_de00 * best * float((per_l * colour_response(u)).max())
    return math.hypot(of_light, of_colour)


def steps_findings(
    steps: StepsOnPaper | None, size: SizePlan, place: Place, *, surface: str
) -> tuple[Finding, ...]:
    """Say what the gradients will look like on the print; nothing where they are smooth.

    Parameters
    ----------
    surface
        Of the stock, which says how far its ink spreads.
    """
    if steps is None or steps.run_px is None or steps.printed_l is None or not steps.lightness:
        return ()
    assert steps.printed_de00 is not None
    assert steps.wanted_de00 is not None
    run_mm = steps.run_px * size.width_mm / size.crop_width_px
    colour = steps.printed_colour_de00 or 0.0
    times = steps_seen(
        max(steps.printed_l, 0.01),
        run_mm,
        steps.lightness,
        place,
        spread_mm=INK_SPREAD_MM[surface],
        colour_de00=colour,
    )
    seen = times >= 1.0
    ratio = steps.printed_de00 / max(steps.wanted_de00, 1e-9)
    changed = (
        f"the paper makes them higher (ΔE00 {steps.wanted_de00:.2f} in the file)"
        if ratio > 1.3
        else f"the paper makes them lower (ΔE00 {steps.wanted_de00:.2f} in the file)"
        if ratio < 0.7
        else "as high as in the file"
    )
    mostly = ", nearly all of it colour" if colour > _NEARLY_ALL * steps.printed_de00 else ""
    return (
        finding(
            "steps-on-paper",
            "caution" if seen else "fine",
            f"{steps.stepped} of {steps.gradients} gradients looked at go in steps: on this print "
            f"ΔE00 {steps.printed_de00:.2f} high and {run_mm:.1f} mm long, {changed}{mostly}.",
            f"From {distance_words(place.distance_mm)} they are "
            f"{'seen as bands' if seen else 'not seen'} ({times:.1f} times the eye's threshold).",
            *(
                (
                    "Go back to a file of 16 bits without these steps.",
                    "A trace of grain, added where the gradient lies, hides them.",
                )
                if seen
                else ()
            ),
            source="P. G. J. Barten, 1999, and S-CIELAB, 1996, for the eye; "
            "docs/theory/print-steps.md",
            figures={
                "printed_de00": steps.printed_de00,
                "file_de00": steps.wanted_de00,
                "run_mm": round(run_mm, 2),
                "colour_de00": colour,
                "times_threshold": round(times, 2),
            },
        ),
    )
