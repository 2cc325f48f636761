"""A prepared print in the words of `pixels`.

Takes a prepared plan; gives the RenderJob that its print file, its previews and its tiles share.
Tests: tests/jobs/test_make_print.py.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from firstsheet.engine.records.plan import Plan

if TYPE_CHECKING:
    from firstsheet.jobs.planning.open_picture import Prepared
    from firstsheet.pixels.job import RenderJob

__all__ = ["bare_paper", "render_job"]


def render_job(prepared: Prepared) -> RenderJob:
    """The plan in the words of `pixels`."""
    from firstsheet.files.writing.ruler_key import border_marks
    from firstsheet.pixels.render import RenderJob

    plan = prepared.plan
    size, sheet = plan.size, plan.sheet
    white = bare_paper(plan)
    marks = border_marks(
        sheet,
        picture_width_px=size.width_px,
        picture_height_px=size.height_px,
        ppi=size.ppi,
        channels=len(white),
        ruler=plan.output.ruler,
        key=plan.output.key,
        identifier=plan.digest[:12],
        lab=plan.colour.mode != "paper" and plan.picture.colour_model == "lab",
    )
    return RenderJob(
        sheet_width_px=sheet.width_px,
        sheet_height_px=sheet.height_px,
        picture_left_px=sheet.picture_left_px,
        picture_top_px=sheet.picture_top_px,
        width_px=size.width_px,
        height_px=size.height_px,
        crop=(size.crop_left_px, size.crop_top_px, size.crop_width_px, size.crop_height_px),
        orientation=plan.picture.orientation,
        sharpen=plan.sharpen,
        bits=plan.output.bits,
        mode=plan.colour.mode,
        white_device=white,
        overlays=marks.overlays,
        colour_model=plan.picture.colour_model,
        repairs=prepared.repairs,
    )


def bare_paper(plan: Plan) -> tuple[float, ...]:
    """Bare paper in the codes of the print file, 0..1."""
    if plan.colour.mode == "paper":
        return plan.colour.paper_white_device
    return {
        "grey": (1.0,),
        "rgb": (1.0, 1.0, 1.0),
        "cmyk": (0.0, 0.0, 0.0, 0.0),
        "lab": (1.0, 128 / 255, 128 / 255),
    }[plan.picture.colour_model]
