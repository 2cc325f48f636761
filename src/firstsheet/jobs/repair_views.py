"""Repairs before and after, to be looked at: repairs.png, and swatches for the job sheet.

Takes a prepared plan; cuts each place out of the very proof of the print, and shows beside it what
the file means and what the paper would show unrepaired. Tests: tests/jobs/test_repairs_shown.py.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.loss.repair.facts import part_box
from firstsheet.engine.loss.repair.words import DEEDS
from firstsheet.engine.records.plan import Plan
from firstsheet.engine.streams import StopCheck
from firstsheet.engine.units import lab_words
from firstsheet.jobs.planning.colour_path import ColourPath

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstsheet.engine.records.repair import RepairFacts
    from firstsheet.files.jobsheet.repairs import Swatches
    from firstsheet.jobs.planning.open_picture import Prepared
    from firstsheet.pixels.repairviews import RepairView

__all__ = ["repair_swatches", "write_repairs_file"]

_MARGIN: Final = 0.12  # of the place's sides, shown around it
_LEAST_PX: Final = 48  # of the proof, along a side


def repair_swatches(prepared: Prepared) -> tuple[Swatches, ...]:
    """The mean colours of each repair's place, as the small proof on the job sheet shows them."""
    from firstsheet.pixels.proof import screen_rgb

    def shown(lab: Sequence[float]) -> tuple[float, float, float]:
        rgb = screen_rgb(np.array(lab), prepared.chain, space="srgb", white="screen")
        red, green, blue = (round(float(one), 4) for one in np.clip(rgb, 0.0, 1.0))
        return red, green, blue

    return tuple(
        (shown(one.wanted_lab), shown(one.before_lab), shown(one.after_lab))
        for one in prepared.plan.repairs
    )


def write_repairs_file(folder: Path, prepared: Prepared, stop: StopCheck) -> tuple[str, ...]:
    """Write the picture of repairs into a folder, where the print has any; its name comes back."""
    plan = prepared.plan
    if not plan.repairs or prepared.losses is None:
        return ()
    from firstsheet.cms.build import space_profile
    from firstsheet.files.writing.png import write_png16
    from firstsheet.pixels.proof import proof_caption
    from firstsheet.pixels.repairviews import repair_views

    wish = plan.ticket.output
    views = []
    for number, one in enumerate(plan.repairs, start=1):
        stop()
        views.append(_view(prepared, number, one, len(plan.repairs)))
    caption = proof_caption(prepared.chain, white=wish.proof_white)
    title = f"Repairs in {Path(plan.picture.path).stem} on {plan.stock.title}"
    write_png16(
        folder / plan.output.repairs_file,
        repair_views(views, words=(title, caption)),
        space_profile(wish.proof_space),
        text={
            "Title": title,
            "Description": "Each place as meant, as it would print unrepaired, and repaired",
            "Software": plan.made_by,
            "Source": f"SHA-256 {plan.picture.sha256}, plan {plan.digest}",
        },
    )
    return (plan.output.repairs_file,)


def _view(prepared: Prepared, number: int, facts: RepairFacts, count: int) -> RepairView:
    """One repair, cut out of the proof."""
    from firstsheet.pixels.proof import show_printed
    from firstsheet.pixels.repairviews import RepairView, fitted, most_px

    wish = prepared.plan.ticket.output
    assert prepared.losses is not None
    repaired = prepared.losses.printed_relative_lab
    place = _place(prepared.plan, facts, (repaired.shape[0], repaired.shape[1]))
    way, codes = ColourPath(prepared.chain), np.ascontiguousarray(prepared.small[place])

    def never() -> None:
        """A place is small: it is shown before anyone could stop it."""

    def shown(lab: NDArray[Any]) -> NDArray[np.uint16]:
        small = fitted(lab, most_px(count))
        chain = prepared.chain
        return show_printed(small, chain, space=wish.proof_space, white=wish.proof_white).rgb

    pictures = (
        shown(way.wanted_lab(codes, never)),
        shown(way.printed_lab(codes, never)),
        shown(repaired[place]),
    )
    before = _said(facts.kept_before, facts.turn_before_degrees)
    after = _said(facts.kept_after, facts.turn_after_degrees)
    return RepairView(
        title=f"Repair {number}: {facts.words}",
        pictures=pictures,
        captions=(
            (f"as meant: {lab_words(facts.wanted_lab)}",),
            (f"unrepaired: {lab_words(facts.before_lab)}", *before),
            (f"repaired: {lab_words(facts.after_lab)}", *after),
        ),
        sentence=f"{DEEDS[facts.wish.kind]}. The rest of the picture moves by at most "
        f"{facts.outside_max_de00:.1f} in CIEDE2000.",
    )


def _said(kept: float | None, turn_degrees: float | None) -> tuple[str, ...]:
    """What a print keeps of a place, each on a line of its own."""
    said = [] if kept is None else [f"{100.0 * kept:.0f} % of the separation kept"]
    if turn_degrees is not None and abs(turn_degrees) >= 1.0:
        said.append(f"turns {abs(turn_degrees):.0f}° in hue")
    return tuple(said)


def _place(plan: Plan, facts: RepairFacts, shape: tuple[int, int]) -> tuple[slice, slice]:
    """Rows and columns of the proof that show a repair's place with some of what is around it."""
    size, picture = plan.size, plan.picture
    lies = (
        size.crop_left_px / picture.width_px,
        size.crop_top_px / picture.height_px,
        size.crop_width_px / picture.width_px,
        size.crop_height_px / picture.height_px,
    )
    left, top, right, bottom = part_box(facts.wish.box, lies)
    return _stretch(top, bottom, shape[0]), _stretch(left, right, shape[1])


def _stretch(low: float, high: float, count: int) -> slice:
    margin = _MARGIN * (high - low)
    start, end = round((low - margin) * count), round((high + margin) * count)
    short = _LEAST_PX - (end - start)
    if short > 0:
        start, end = start - short // 2, end + short - short // 2
    start = min(max(0, start), max(0, count - _LEAST_PX))
    return slice(start, min(count, max(end, start + min(_LEAST_PX, count))))
