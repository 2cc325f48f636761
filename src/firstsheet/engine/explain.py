"""How each figure of a plan is worked out: formula, inputs, source.

Takes a Plan; gives Figures in words. The numbers are the plan's own; what stands here says how
to get them with a pocket calculator. Tests: tests/engine/test_explain.py.
"""

from __future__ import annotations

from firstsheet.engine.planrecord import Plan
from firstsheet.engine.records import Record

__all__ = ["Figure", "How", "Input", "figures"]


class Input(Record):
    """One number that goes in."""

    name: str
    value: str


class How(Record):
    """How a figure is worked out."""

    formula: str
    inputs: tuple[Input, ...]
    source: str


class Figure(Record):
    """One number in words, with its way."""

    key: str
    label: str
    value: str
    how: How


def figures(plan: Plan) -> tuple[Figure, ...]:
    """All figures of a plan that a person is shown."""
    size = plan.size
    return (
        Figure(
            key="effective-ppi",
            label="The file's own pixels",
            value=f"{size.effective_ppi:.0f} ppi",
            how=How(
                formula="pixels of the printed part across ÷ width on paper in inches",
                inputs=(
                    Input(name="pixels", value=f"{size.crop_width_px:.1f}"),
                    Input(name="width", value=f"{size.width_mm / 25.4:.4f} in"),
                ),
                source="definition of pixels per inch",
            ),
        ),
    )
