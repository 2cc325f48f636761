"""What `pixels` is asked to do, as plain data.

A RenderJob says where on the sheet the picture lies, from which stretch of the file, how it is
sharpened and coded. It knows no profiles and no files. Used by render.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, Protocol

from numpy.typing import NDArray

from firstsheet.engine.sizing.resampling import choose_kernel

if TYPE_CHECKING:
    from firstsheet.engine.loss.repair.record import RepairField

__all__ = ["Overlay", "RenderJob", "Sharpening", "choose_kernel", "choose_light"]


class Sharpening(Protocol):
    """The numbers of a SharpenPlan that pixels need."""

    @property
    def gain(self) -> float: ...
    @property
    def radius_px(self) -> float: ...
    @property
    def overshoot_limit_l(self) -> float: ...
    @property
    def edge_low_l(self) -> float: ...
    @property
    def edge_high_l(self) -> float: ...


class Overlay(Protocol):
    """Device codes, 0..65535, laid over the sheet at a place."""

    @property
    def left_px(self) -> int: ...
    @property
    def top_px(self) -> int: ...
    @property
    def codes(self) -> NDArray[Any]: ...


@dataclass(frozen=True, kw_only=True, eq=False)
class RenderJob:
    """The sheet, the picture on it, and how its pixels are made."""

    sheet_width_px: int
    sheet_height_px: int
    picture_left_px: int
    picture_top_px: int
    width_px: int
    height_px: int
    crop: tuple[float, float, float, float]  # left, top, width, height; upright picture's pixels
    orientation: int = 1  # 1..8, as TIFF 6.0 and EXIF count them
    sharpen: Sharpening | None = None
    bits: int = 16  # 8 or 16
    mode: Literal["paper", "keep", "as-is"] = "paper"
    white_device: tuple[float, ...] = (1.0, 1.0, 1.0)  # bare paper, 0..1
    overlays: Sequence[Overlay] = ()
    dither_seed: int = 1
    kernel: str = "auto"  # a name from engine.sizing.resampling.KERNELS, or by scale
    light: Literal["auto", "linear", "encoded"] = "auto"
    colour_model: Literal["grey", "rgb", "cmyk", "lab", ""] = ""  # "" = by channel count
    repairs: tuple[RepairField, ...] = ()  # on the colour the picture means, in this order

    @property
    def scale(self) -> float:
        """Print pixels per file pixel."""
        return self.width_px / self.crop[2]

    def __post_init__(self) -> None:
        """Refuse what cannot be drawn."""
        right = self.picture_left_px + self.width_px
        bottom = self.picture_top_px + self.height_px
        inside = self.picture_left_px >= 0 and self.picture_top_px >= 0
        if not (inside and right <= self.sheet_width_px and bottom <= self.sheet_height_px):
            raise ValueError("the picture leaves the sheet")
        if self.width_px < 1 or self.height_px < 1:
            raise ValueError("the picture is empty")
        if self.orientation not in range(1, 9):
            raise ValueError(f"orientation {self.orientation} is none of 1..8")
        if self.bits not in (8, 16):
            raise ValueError("8 or 16 bits")


def choose_light(scale: float) -> Literal["linear", "encoded"]:
    """Light in which to resample, by the scale (print pixels per file pixel).

    Reducing mixes light as the eye does from a distance, so it is done in linear light; in
    encoded values a fine checker of black and white comes out 22.7 L* too dark. Enlarging and
    copying keep the encoded values: there is nothing to mix, and overshoot is then even on
    both sides of an edge. Measured in docs/theory/resampling.md.
    """
    return "linear" if scale < 1 else "encoded"
