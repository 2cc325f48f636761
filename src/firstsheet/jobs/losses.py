"""What the paper takes, region by region; and all papers and intents by what this picture loses.

Takes what a person names and a wish; measures through the very chain of the print.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.loss.regions.find import find_regions, wanted_cells
from firstsheet.engine.loss.regions.findings import region_findings
from firstsheet.engine.loss.regions.ranking import SAME_DE00, Trial, best_usual, rank_papers
from firstsheet.engine.records import Finding, Intent, Ticket
from firstsheet.engine.streams import Progress, StopCheck
from firstsheet.jobs.answers import CompareAnswer, LossesAnswer
from firstsheet.jobs.planning.begin import wish_on_table
from firstsheet.jobs.planning.losses import greys_through
from firstsheet.jobs.planning.open_picture import OpenPicture
from firstsheet.jobs.planning.ticket_source import check_agreed, wish_from
from firstsheet.jobs.stocks import usable_stocks

__all__ = ["compare_papers", "losses_by_region", "papers_on"]

# relative first: where intents print alike, it is the one that is named
_INTENTS: tuple[Intent, ...] = ("relative", "perceptual", "saturation", "absolute")
_SAMPLES = 20_000  # colours on which two prints are told apart


def losses_by_region(
    source: Path,
    options: Mapping[str, Any],
    *,
    stocks_dir: str | Path | None,
    progress: Progress,
    stop: StopCheck,
) -> LossesAnswer:
    """Plan, and say in words and figures what the paper takes where."""
    with wish_on_table(source, options, stocks_dir=stocks_dir, progress=progress, stop=stop) as (
        wish,
        table,
        prepared,
    ):
        plan, regions = prepared.plan, prepared.regions
        proposals = table.proposals(
            wish.ticket,
            stocks_dir=Path(stocks_dir) if stocks_dir else None,
            progress=progress,
            stop=stop,
        )
    found: tuple[Finding, ...] = ()
    if regions is not None:
        told = region_findings(regions.map.losses, tone=regions.tone, axis=regions.axis)
        found = told[1:]  # the first is what this answer says at length
    return LossesAnswer(
        picture=Path(plan.picture.path).name,
        stock=plan.stock.title,
        intent=plan.colour.intent,
        verdict=regions.map.losses.verdict if regions else _NOT_CONVERTED,
        losses=regions.map.losses if regions else None,
        loss=plan.loss,
        tone=regions.tone if regions else None,
        greys=regions.axis if regions and regions.tone.kind != "colour" else None,
        repairs=plan.repairs,
        proposals=proposals,
        findings=found,
    )


_NOT_CONVERTED = (
    "Cannot tell: the file is already in a printer's colours and goes out unchanged, so there is "
    "no wanted colour to hold the print against."
)


def compare_papers(
    source: Path,
    options: Mapping[str, Any],
    *,
    stocks_dir: str | Path | None,
    progress: Progress,
    stop: StopCheck,
) -> CompareAnswer:
    """Print the picture, in thought, on every stock by every intent, and rank what it loses.

    The wish needs no stock; where it names one, size and crop are those of that stock.
    """
    from firstsheet.store.stocks import builtin_names

    folder = Path(stocks_dir) if stocks_dir else None
    given = dict(options)
    if given.get("stock") is None and source.suffix.lower() not in (".toml", ".json"):
        given["stock"] = next(iter(usable_stocks(folder)[0]), builtin_names()[0])
    wish = wish_from(source, given)
    ticket = wish.ticket
    with OpenPicture.open(ticket, progress=progress, stop=stop) as table:
        if wish.agreed is not None:
            prepared = table.measure(ticket, stocks_dir=folder, progress=progress, stop=stop)
            check_agreed(wish.agreed, prepared.plan)
        return papers_on(table, ticket, stocks_dir=folder, progress=progress, stop=stop)


def papers_on(
    table: OpenPicture,
    ticket: Ticket,
    *,
    stocks_dir: Path | None,
    progress: Progress,
    stop: StopCheck,
) -> CompareAnswer:
    """Rank every stock and intent for a picture that lies on the table."""
    stocks, findings = usable_stocks(stocks_dir)
    prepared = table.measure(
        ticket, stocks_dir=stocks_dir, progress=progress, stop=stop, dust=False
    )
    size, small = prepared.plan.size, prepared.small
    trials: list[Trial] = []
    cells = None
    for at, (name, (stock, profile)) in enumerate(stocks.items()):
        progress(f"On {name}", 0.5 + 0.5 * at / len(stocks))
        samples: dict[Intent, NDArray[Any]] = {}
        for intent in _INTENTS:
            stop()
            way = table.way(profile, intent, black_point=ticket.colour.black_point)
            if cells is None:
                cells = wanted_cells(
                    way.wanted_lab(small, stop),
                    mm_per_px=size.width_mm / small.shape[1],
                    distance_mm=ticket.place.distance_mm,
                )
            printed = way.printed_lab(small, stop)
            _, greys = greys_through(small.shape[-1], way, stop)
            found = find_regions(
                cells,
                printed,
                floor_de00=stock.facts.floor_p99_de00 if stock.facts else 0.0,
                black_l=float(greys[:, 0].min()),
            )
            sample = _sample(printed)
            trials.append(
                Trial(
                    stock=name,
                    title=stock.title,
                    intent=intent,
                    losses=found.losses,
                    same_as=_same(sample, samples),
                )
            )
            samples[intent] = sample
    order = rank_papers(trials)
    best = best_usual(order)
    return CompareAnswer(
        picture=Path(ticket.picture).name,
        width_mm=size.width_mm,
        height_mm=size.height_mm,
        distance_mm=ticket.place.distance_mm,
        verdict=f"{best.title}, {best.intent}: {best.reason}",
        rows=order,
        findings=findings,
    )


def _sample(printed: NDArray[Any]) -> NDArray[Any]:
    pixels = printed.reshape(-1, 3)
    return pixels[:: max(1, len(pixels) // _SAMPLES)].copy()


def _same(sample: NDArray[Any], earlier: Mapping[Intent, NDArray[Any]]) -> Intent | None:
    for intent, other in earlier.items():
        if float(np.max(delta_e_2000(sample, other))) <= SAME_DE00:
            return intent
    return None
