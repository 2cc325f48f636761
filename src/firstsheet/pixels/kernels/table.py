"""Every kernel by name, as numba must compile it."""

from __future__ import annotations

from typing import Any

from firstsheet.pixels.arguments import ARGUMENTS
from firstsheet.pixels.kernels import (
    back,
    colour,
    device,
    interleave,
    repair,
    resample,
    screen,
    sharpen,
)
from firstsheet.pixels.kernels.common import signature

__all__ = ["FUNCTIONS", "signature_of"]

FUNCTIONS: dict[str, Any] = {
    "resample_horizontal": resample.resample_horizontal,
    "aim": repair.aim,
    "resample_vertical_f32": resample.resample_vertical_f32,
    "resample_vertical_u16": resample.resample_vertical_u16,
    "resample_vertical_u8": resample.resample_vertical_u8,
    "keep_u16": back.keep_u16,
    "keep_u8": back.keep_u8,
    "loss": screen.loss,
    "luma": back.luma,
    "measure": interleave.measure,
    "paper_eight_u16": device.paper_eight_u16,
    "paper_eight_u8": device.paper_eight_u8,
    "paper_four_u16": device.paper_four_u16,
    "paper_four_u8": device.paper_four_u8,
    "plain_u16": back.plain_u16,
    "plain_u8": back.plain_u8,
    "recode": repair.recode,
    "repair": repair.repair,
    "screen": screen.screen,
    "shade": screen.shade,
    "sharpen": sharpen.sharpen,
    "spread": interleave.spread,
    "to_lab": colour.to_lab,
    "interleave": interleave.interleave,
}


def signature_of(name: str) -> Any:
    """The numba signature of a kernel."""
    return signature(ARGUMENTS[name])
