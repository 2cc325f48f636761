"""Losses by region, and papers compared, in words. Shows figures that jobs computed."""

from __future__ import annotations

from collections.abc import Sequence

import click

from firstsheet.cli.words import findings, row, say, table
from firstsheet.engine.records.losses import PictureLosses, RegionLoss
from firstsheet.engine.records.repair import RepairFacts
from firstsheet.engine.units import distance_words, lab_words, size_words
from firstsheet.jobs.answers import CompareAnswer, LossesAnswer

__all__ = ["show_compare", "show_losses", "show_repairs"]


def _region(number: int, region: RegionLoss) -> None:
    """One place, with the number it has in loss map, job sheet and page."""
    mark = "▲" if region.weight == "caution" else "·"
    say(f"{mark} {number}  {region.words}", "  ", "    ")
    wanted, printed = lab_words(region.wanted_lab), lab_words(region.printed_lab)
    say(
        f"{wanted} prints as {printed}; mean ΔE00 {region.mean_de00:.1f}; "
        f"{region.area_mm2 / 100.0:.1f} cm² of the print",
        "    ",
        "    ",
    )


def _picture(losses: PictureLosses) -> None:
    if losses.modelling_kept is not None:
        row(
            "Modelling",
            f"{100.0 * losses.modelling_kept:.0f} % kept over the whole picture, at periods from "
            f"{losses.finest_mm:.1f} mm, seen from {distance_words(losses.distance_mm)}",
        )
    ends = losses.ends
    for name, percent, largest, drawn in (
        ("At black", ends.black_percent, ends.black_largest_mm2, ends.black_drawn_percent),
        ("Bare paper", ends.white_percent, ends.white_largest_mm2, ends.white_drawn_percent),
    ):
        row(
            name,
            f"{percent:.1f} % of the picture, largest area {largest / 100.0:.1f} cm²; "
            f"{drawn:.1f} % held detail",
        )
    edge = ends.edge
    if edge.total_mm >= 1.0:
        row(
            "Edge",
            f"within ΔE00 2 of bare paper: top {edge.top_mm:.0f}, right {edge.right_mm:.0f}, "
            f"bottom {edge.bottom_mm:.0f}, left {edge.left_mm:.0f} mm",
        )


def show_losses(answer: LossesAnswer) -> None:
    """Show what is lost, place by place."""
    say(f"{answer.picture} on {answer.stock}, {answer.intent}.")
    say(answer.verdict)
    if answer.losses is None:
        return
    click.echo()
    for number, region in enumerate(answer.losses.regions, start=1):
        _region(number, region)
    if answer.losses.regions:
        click.echo()
    _picture(answer.losses)
    if answer.tone is not None:
        row("Tone", answer.tone.words)
    if answer.greys is not None:
        row("Greys", answer.greys.words)
    show_repairs(answer.repairs)
    _proposals(answer)
    click.echo()
    findings(answer.findings)


def _proposals(answer: LossesAnswer) -> None:
    if not answer.proposals:
        if answer.losses is not None and not answer.losses.nothing_to_do and not answer.repairs:
            click.echo()
            say(
                "No repair was found that gives back more than it would move. Another paper or "
                "intent may lose less: firstsheet compare."
            )
        return
    click.echo()
    say("What could be repaired, each by itself; take them by number, such as --repair 1:")
    for number, one in enumerate(answer.proposals, start=1):
        say(f"repair {number}: {one.sentence}", "  ", "    ")


def show_repairs(repairs: Sequence[RepairFacts]) -> None:
    """Show the repairs of a print, before and after."""
    if not repairs:
        return
    click.echo()
    say("Repairs in this print:")
    for number, one in enumerate(repairs, start=1):
        say(f"repair {number}: {one.sentence}", "  ", "    ")
        say(
            f"meant {lab_words(one.wanted_lab)}; prints as {lab_words(one.after_lab)}, "
            f"unrepaired as {lab_words(one.before_lab)}",
            "    ",
            "    ",
        )


def show_compare(answer: CompareAnswer) -> None:
    """Show papers and intents, least lost first."""
    say(
        f"{answer.picture} at {size_words(answer.width_mm, answer.height_mm)}, seen from "
        f"{distance_words(answer.distance_mm)}."
    )
    say(answer.verdict)
    click.echo()
    rows = [["", "paper", "intent", "visible loss", "separation kept", "mean shift"]]
    rows += [
        [
            str(one.place),
            one.title,
            one.intent,
            f"{one.hurt_percent:.1f} %",
            "" if one.modelling_kept is None else f"{100.0 * one.modelling_kept:.0f} %",
            f"ΔE00 {one.mean_shift_de00:.1f}",
        ]
        for one in answer.rows
    ]
    table(rows, frozenset({0, 3, 4, 5}))
    click.echo()
    for one in answer.rows:
        say(f"{one.place}. {one.title}, {one.intent}: {one.reason}", "  ", "     ")
    findings(answer.findings)
