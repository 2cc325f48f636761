"""A plan, a proof and a loss in words. Shows figures that jobs computed; computes none."""

from __future__ import annotations

from collections.abc import Sequence

import click

from firstsheet.cli.show_losses import show_repairs
from firstsheet.cli.words import findings, row, say, table
from firstsheet.engine.records.plan import LossFacts, Plan
from firstsheet.engine.sharpness.rows import look_rows
from firstsheet.engine.units import both_units, size_words
from firstsheet.jobs.answers import LadderAnswer, PlanAnswer, ProofAnswer

__all__ = ["show_ladder", "show_plan", "show_proof"]


def _loss_rows(loss: LossFacts) -> None:
    bands = loss.bands_percent
    row(
        "Paper takes",
        f"mean ΔE00 {loss.mean_de00:.2f}, 95 % {loss.p95_de00:.2f}, most {loss.max_de00:.1f} "
        f"(below {loss.floor_de00:.2f} is the profile's round-trip error)",
    )
    names = ("<1", "1–2", "2–5", "5–10", ">10")
    row(
        "",
        "share of the picture by ΔE00: "
        + ", ".join(f"{n}: {b:.1f} %" for n, b in zip(names, bands, strict=True)),
    )
    row(
        "Shadows",
        f"{loss.merged_shadow_levels} of 256 grey levels print as the darkest one; "
        f"{loss.merged_shadow_percent:.1f} % of the picture lies there",
    )
    row(
        "Paper",
        f"white L* {loss.white_l:.1f}, black L* {loss.black_l:.1f}, contrast {loss.contrast:.0f}:1",
    )
    if loss.intents:
        click.echo()
        rows = [
            ["intent", "mean ΔE00", "95 %", "over 2", "over 5", "merged levels", "visible loss"]
        ]
        rows += [
            [
                f"{i.intent}{' (recommended)' if i.intent == loss.recommended else ''}",
                f"{i.mean_de00:.2f}",
                f"{i.p95_de00:.2f}",
                f"{i.share_over_2_percent:.1f} %",
                f"{i.share_over_5_percent:.1f} %",
                str(i.merged_levels),
                "" if i.truly_lost_percent is None else f"{i.truly_lost_percent:.1f} %",
            ]
            for i in loss.intents
        ]
        table(rows, frozenset({1, 2, 3, 4, 5, 6}))
        say(loss.recommendation, "  ")


def _plan_rows(plan: Plan) -> None:
    size, sheet, sharpen, colour, output = (
        plan.size,
        plan.sheet,
        plan.sharpen,
        plan.colour,
        plan.output,
    )
    row(
        "Picture",
        f"{size_words(size.width_mm, size.height_mm)}, "
        f"{size.effective_ppi:.0f} ppi of the file's own pixels",
    )
    how = {"none": "its own pixels, not resampled", "reduce": "reduced", "enlarge": "enlarged"}[
        size.resample
    ]
    factor = f" {size.scale:.3f}× once" if size.resample != "none" else ""
    row("Raster", f"{size.width_px} × {size.height_px} px at {size.ppi:g} ppi, {how}{factor}")
    if size.crop_loss_percent >= 0.05:
        cut = zip(("top", "right", "bottom", "left"), size.crop_loss_mm, strict=True)
        sides = ", ".join(f"{name} {mm:.1f} mm" for name, mm in cut if mm >= 0.05)
        row("Cut off", f"{size.crop_loss_percent:.1f} % of the picture ({sides})")
    row("Sheet", f"{sheet.name}, {size_words(sheet.width_mm, sheet.height_mm)}")
    top, right, bottom, left = sheet.border_mm
    row("Border", f"top {top:.1f}, right {right:.1f}, bottom {bottom:.1f}, left {left:.1f} mm")
    for verdict in size.verdicts:
        row(both_units(verdict.distance_mm).split(" (")[0], verdict.sentence)
    row(
        "Sharpening",
        f"{sharpen.name}, strength {sharpen.strength:.2f}, radius {sharpen.radius_mm:.3f} mm "
        f"({sharpen.radius_px:.2f} px)",
    )
    if plan.look is not None:
        for label, words in look_rows(plan.look, sharpen):
            row(label, words)
    black = "with" if colour.black_point else "without"
    row(
        "Colour",
        {
            "paper": f"{colour.source_name} → {plan.stock.title}, {colour.intent}, {black} "
            "black point compensation, once",
            "keep": f"kept in {colour.source_name}; whoever prints converts",
            "as-is": f"already in {colour.source_name}; printed as it is",
        }[colour.mode],
    )
    if colour.mode == "paper":
        row(
            "",
            f"fast path off the exact one by ΔE00 {colour.link_p99_de00:.3f} (99 %), "
            f"{colour.link_max_de00:.3f} at most",
        )
    row(
        "File",
        f"TIFF, {output.bits} bit, {output.compression}, "
        f"{output.print_file_bytes / 1e6:.1f} MB before compression"
        + (", BigTIFF" if output.big_tiff else ""),
    )
    if plan.rescan is not None:
        row("Rescan", plan.rescan.sentence)
    if plan.loss is not None:
        _loss_rows(plan.loss)


def show_plan(answer: PlanAnswer) -> None:
    """Show a plan: verdict, figures, findings."""
    say(answer.plan.verdict)
    click.echo()
    _plan_rows(answer.plan)
    show_repairs(answer.plan.repairs)
    click.echo()
    findings(answer.plan.findings)
    if answer.written:
        click.echo(f"\nPlan written to {answer.written}")


def show_proof(answer: ProofAnswer) -> None:
    """Show where the proof lies and what the paper takes."""
    say(answer.caption)
    if answer.loss is not None:
        click.echo()
        _loss_rows(answer.loss)
    show_repairs(answer.repairs)
    if answer.out_of_screen_percent >= 0.05:
        say(
            f"{answer.out_of_screen_percent:.1f} % of the proof is more vivid than the proof's "
            "own colour space and is shown at its edge; the print file is not affected."
        )
    _written(answer.folder, answer.files)


def show_ladder(answer: LadderAnswer) -> None:
    """Show how to use a ladder, and where it lies."""
    for line in answer.words:
        say(line)
    _written(answer.folder, answer.files)
    if answer.ledger_number is not None:
        say(f"Kept in the ledger as test {answer.ledger_number}.")
    findings(answer.findings)


def _written(folder: str, files: Sequence[str]) -> None:
    click.echo(f"\nWritten to {folder}")
    for file in files:
        click.echo(f"  {file}")
