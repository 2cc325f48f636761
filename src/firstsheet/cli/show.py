"""Answers in words for people. Shows figures that jobs computed; computes none.

One sentence first, then a table of figures with their units, then the findings by weight.
"""

from __future__ import annotations

import json
import textwrap
from collections.abc import Sequence

import click

from firstsheet.cli.words import findings, line_width, row, say, table
from firstsheet.engine.errors import FirstsheetError
from firstsheet.engine.records import PictureFacts
from firstsheet.engine.units import size_words
from firstsheet.jobs.answers import (
    CheckAnswer,
    MadeAnswer,
    RescanJobAnswer,
    SizesAnswer,
    StockListAnswer,
    StockShowAnswer,
)

__all__ = [
    "show_check",
    "show_error",
    "show_made",
    "show_rescan",
    "show_sizes",
    "show_stock",
    "show_stocks",
]


_MARKS_SHOWN = 5


def show_error(error: FirstsheetError, *, as_json: bool) -> None:
    """Say found, consequence and choice, on standard error."""
    if as_json:
        parts = {
            "code": error.code,
            "found": error.found,
            "consequence": error.consequence,
            "choice": error.choice,
            "option": error.option,
            "exit_code": error.exit_code,
        }
        click.echo(json.dumps({"error": parts}, indent=2, ensure_ascii=False))
        return
    option = f"({error.option})" if error.option else ""
    way = f"{error.choice} {option}".strip()
    for part, indent in ((error.found, ""), (error.consequence, "  "), (way, "  → ")):
        if part:
            click.echo(
                textwrap.fill(part, line_width(), initial_indent=indent, subsequent_indent="    "),
                err=True,
            )


def _picture_rows(facts: PictureFacts) -> None:
    model = {"grey": "grey", "rgb": "RGB", "cmyk": "CMYK", "lab": "Lab"}[facts.colour_model]
    turned = f", turned by its flag {facts.orientation}" if facts.orientation != 1 else ""
    row(
        "Pixels",
        f"{facts.width_px} × {facts.height_px} px "
        f"({facts.width_px * facts.height_px / 1e6:.1f} MP){turned}",
    )
    depth = f"{model}, {facts.bits} bit" + (" float" if facts.sample_format == "float" else "")
    if facts.sample_format == "uint" and facts.true_bits != facts.bits:
        depth += f", {facts.true_bits} bit in truth"
    row("Depth", depth)
    row("File", f"{facts.format}, {facts.compression}, {facts.size_bytes / 1e6:.1f} MB")
    if facts.profile is not None and facts.profile.kind != "broken":
        row("Colour", f"{facts.profile.description} ({facts.profile.kind} profile)")
    else:
        row("Colour", f"no usable profile; read as {facts.read_as}")
    if facts.jpeg_quality is not None:
        row("JPEG", f"quality about {facts.jpeg_quality}, chroma {facts.chroma_sampling}")
    for channel in facts.channels:
        row(
            f"Channel {channel.name}",
            f"{channel.levels_used} levels; clipped {channel.clipped_low_percent:.2f} % low, "
            f"{channel.clipped_high_percent:.2f} % high",
        )


def show_check(answer: CheckAnswer) -> None:
    """Show what a picture is and what was found."""
    say(answer.verdict)
    click.echo()
    _picture_rows(answer.picture)
    if answer.detail is not None:
        click.echo()
        for number, sentence in enumerate(answer.detail.sentences):
            row("True detail" if number == 0 else "", sentence)
    if answer.film is not None:
        row("On the film", answer.film.sentence)
    if answer.dust_words:
        row("Dust", answer.dust_words)
    for mark in answer.marks[:_MARKS_SHOWN]:
        row(f"  {mark.number}", mark.words)
    if len(answer.marks) > _MARKS_SHOWN:
        row("", f"and {len(answer.marks) - _MARKS_SHOWN} more, in --json and --marks")
    if answer.marks_file:
        row("Marked in", answer.marks_file)
    click.echo()
    findings(answer.picture.findings)


def show_made(answer: MadeAnswer) -> None:
    """Show what was made and where."""
    say(answer.verdict)
    click.echo()
    findings(answer.findings)
    click.echo(f"\nMade in {answer.seconds:.1f} s: {answer.folder}")
    for file in answer.files:
        click.echo(f"  {file}")
    if answer.ledger_number is not None:
        say(
            f"Kept in the ledger as print {answer.ledger_number}. When its sheets are out: "
            f'firstsheet prints printed {answer.ledger_number} --good "…" or --spoiled "…"'
        )


def show_sizes(answer: SizesAnswer) -> None:
    """Show the table of sizes."""
    say(f"{answer.picture}: {answer.width_px} × {answer.height_px} pixels.")
    click.echo()
    rows = [["size", "mm", "ppi", "cut off", "grade", "sharp to the eye from"]]
    rows += [
        [
            row.name,
            f"{row.width_mm:.0f} × {row.height_mm:.0f}",
            f"{row.ppi:.0f}",
            f"{row.crop_loss_percent:.1f} %",
            row.step,
            f"{row.good_from_mm / 10:.0f} cm",
        ]
        for row in answer.rows
    ]
    table(rows, frozenset({1, 2, 3, 5}))
    click.echo()
    for largest in answer.largest:
        row(
            largest.step,
            f"up to {size_words(largest.width_mm, largest.height_mm)} ({largest.ppi:.0f} ppi)",
        )


def show_rescan(answer: RescanJobAnswer) -> None:
    """Show what a new scan would have to be."""
    rescan = answer.answer
    say(rescan.sentence)
    click.echo()
    row("Film", f"{rescan.film}, {rescan.frame_width_mm:g} × {rescan.frame_height_mm:g} mm")
    row("Scan at", f"{rescan.needed_spi:.0f} spi: {rescan.width_px} × {rescan.height_px} px")
    row(
        "File size",
        f"{rescan.bytes_8bit / 1e6:.1f} MB at 8 bit, {rescan.bytes_16bit / 1e6:.1f} MB at 16 bit",
    )
    if rescan.present_spi > 0:
        row("This file", f"{rescan.present_spi:.0f} spi of that frame")


def _lab_words(lab: Sequence[float]) -> str:
    return f"L* {lab[0]:.1f}, a* {lab[1]:+.1f}, b* {lab[2]:+.1f}"


def show_stock(answer: StockShowAnswer) -> None:
    """Show one stock and its measured facts."""
    stock = answer.stock
    say(f"{stock.title} ({stock.name}): {stock.surface}, {stock.native_ppi} ppi.")
    click.echo()
    m = stock.margins
    row(
        "Margins",
        f"top {m.top:g}, right {m.right:g}, bottom {m.bottom:g}, left {m.left:g} mm, as fed",
    )
    if stock.media_setting:
        row("Media", stock.media_setting)
    if stock.notes:
        row("Notes", stock.notes)
    if stock.facts is not None:
        facts = stock.facts
        row(
            "Profile",
            f"{facts.profile.description}, version {facts.profile.version}, "
            f"{facts.profile.colour_space}",
        )
        white, black = facts.white_lab, facts.black_lab
        row(
            "White",
            f"{_lab_words(white)}, density {facts.white_density:.2f}",
        )
        row(
            "Black",
            f"{_lab_words(black)}, density {facts.black_density:.2f}",
        )
        row(
            "Contrast",
            f"{facts.contrast:.0f}:1; gamut volume {facts.gamut_volume:,.0f} cubic Lab units",
        )
        for intent in facts.intents:
            if intent.intent == "relative":
                words = "the yardstick for the others"
            elif not intent.has_table:
                words = "no table of its own"
            elif intent.same_as is not None:
                words = f"the same as {intent.same_as}"
            else:
                words = (
                    f"differs from relative by ΔE00 {intent.mean_de00_from_relative:.2f} on "
                    f"average, {intent.max_de00_from_relative:.1f} at most"
                )
            row(intent.intent, words)
        row(
            "Round trip",
            f"ΔE00 {facts.floor_p95_de00:.2f} (95 %), {facts.floor_p99_de00:.2f} (99 %), "
            f"{facts.floor_max_de00:.2f} at most",
        )
        for problem in facts.profile.problems:
            row("Checklist", problem)
        if not facts.profile.problems:
            row("Checklist", "nothing to object to")
    row("Kept in", answer.file)


def show_stocks(answer: StockListAnswer) -> None:
    """List the stocks."""
    rows = [["name", "title", "surface", "ppi", "white", "black", ""]]
    rows += [
        [
            s.name,
            s.title,
            s.surface,
            str(s.native_ppi),
            s.white,
            s.black,
            "built in" if s.builtin else "",
        ]
        for s in answer.stocks
    ]
    table(rows, frozenset({3}))
    if answer.findings:
        click.echo()
        findings(answer.findings)
    click.echo(f"\nYour own stocks are kept in {answer.folder}")
