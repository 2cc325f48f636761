"""From stored samples to colour: min-is-white turned, palettes expanded, alpha resolved.

Takes arrays of stored samples; gives colour rows as RowSource promises. Pure arithmetic.
Standards: TIFF 6.0 sections 8, 18, 23 (photometric kinds, extra samples, CIELab); the
ICC-style Lab encodings of TIFF photometric 9. Theory: docs/theory/opening.md.
Tests: tests/files/test_open_formats.py, test_open_rules.py.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

__all__ = ["Background", "Model", "Resolver", "compose_over", "shoulder"]

Model = Literal["grey", "rgb", "cmyk", "lab"]
Background = Literal["paper", "black"]
Samples = NDArray[Any]

_COLOURS = {"grey": 1, "rgb": 3, "cmyk": 4, "lab": 3}


@dataclass(frozen=True, slots=True, kw_only=True)
class Resolver:
    """How stored samples become colour channels and, perhaps, alpha."""

    model: Model
    stored_bits: int
    dtype: np.dtype[Any]  # of the colours that come out
    min_is_white: bool = False
    palette: NDArray[Any] | None = None  # (entries, 3)
    lab_kind: Literal["", "cie", "icc"] = ""
    alpha_sample: int | None = None  # index among the stored samples
    alpha_premultiplied: bool = False
    background: Background = "paper"
    float_limit: float | None = None  # highest value present, where it must be brought to 1
    float_over_one: Literal["clip", "compress"] | None = None

    @property
    def channels(self) -> int:
        """Colour channels that come out."""
        return _COLOURS[self.model]

    def parts(self, stored: Samples) -> tuple[Samples, Samples | None]:
        """Colours (rows, width, channels) and alpha (rows, width), both at full range."""
        alpha = None
        if self.alpha_sample is not None:
            alpha = self._scaled(stored[:, :, self.alpha_sample])
        if self.palette is not None:
            return self._expanded(stored[:, :, 0]), alpha
        first = 0 if self.alpha_sample != 0 else 1
        colours = stored[:, :, first : first + self.channels]
        colours = self._lab(colours) if self.lab_kind else self._scaled(colours)
        if self.min_is_white:
            colours = _full(self.dtype) - colours
        return np.ascontiguousarray(colours, self.dtype), alpha

    def resolve(self, stored: Samples) -> Samples:
        """Colours as they will print, over the background where they are clear."""
        colours, alpha = self.parts(stored)
        if alpha is not None:
            colours = compose_over(
                colours,
                alpha,
                model=self.model,
                background=self.background,
                premultiplied=self.alpha_premultiplied,
            )
        if self.dtype.kind == "f":
            colours = self._in_range(colours)
        return colours

    def _in_range(self, colours: Samples) -> Samples:
        if self.model == "lab":
            return colours
        if self.float_over_one == "compress" and self.float_limit and self.float_limit > 1:
            colours = shoulder(colours, self.float_limit)
        return np.clip(colours, np.float32(0), np.float32(1))

    def _scaled(self, samples: Samples) -> Samples:
        """Codes of odd depths spread over the whole range of the type that comes out."""
        if self.dtype.kind == "f":
            return samples.astype(np.float32, copy=False)
        top = 2**self.stored_bits - 1
        full = int(np.iinfo(self.dtype).max)
        if top == full:
            return samples.astype(self.dtype, copy=False)
        if full % top == 0:
            spread: Samples = samples.astype(self.dtype) * self.dtype.type(full // top)
            return spread
        wide = samples.astype(np.uint32)
        return ((wide * np.uint32(full) + np.uint32(top // 2)) // np.uint32(top)).astype(self.dtype)

    def _expanded(self, codes: Samples) -> Samples:
        assert self.palette is not None
        expanded: Samples = self.palette[np.minimum(codes, len(self.palette) - 1)]
        return expanded

    def _lab(self, stored: Samples) -> Samples:
        """Lab at 0..1 of the type's range: L* 100 is full, a* and b* run -128..127."""
        if self.stored_bits == 8:
            colours = stored.astype(np.uint8)
            if self.lab_kind == "cie":  # a* and b* are two's complement
                colours[:, :, 1:] ^= 0x80
            return colours
        if self.stored_bits == 32:
            lab = stored.astype(np.float32)
            offset = np.array([0, 128, 128], np.float32)
            span = np.array([100, 255, 255], np.float32)
            shifted: Samples = (lab + offset) / span
            return shifted
        return self._lab16(stored)

    def _lab16(self, stored: Samples) -> Samples:
        wide: Samples = stored.astype(np.uint32)
        light, ab = wide[:, :, :1], wide[:, :, 1:]
        if self.lab_kind == "cie":
            ab = (ab + 32768) & 0xFFFF  # signed 1/256 units to offset ones
        else:  # 65280 is L* 100
            light = np.minimum((light * 257 + 128) // 256, 65535)
        ab = np.minimum((ab * 257 + 128) // 256, 65535)
        return np.concatenate([light, ab], axis=2).astype(np.uint16)


def compose_over(
    colours: Samples,
    alpha: Samples,
    *,
    model: Model,
    background: Background,
    premultiplied: bool = False,
) -> Samples:
    """Lay partly clear colours over paper white or black, in encoded values.

    out = c a + g (1 - a), or c + g (1 - a) where c was already multiplied by a.
    Source: Porter and Duff (1984), `over`, with an opaque ground. Integers round to nearest.
    """
    ground = _ground(model, background, colours.dtype)
    cover = alpha[:, :, None]
    if colours.dtype.kind == "f":
        part = colours if premultiplied else colours * cover
        return np.ascontiguousarray(part + ground * (np.float32(1) - cover), np.float32)
    top = np.uint32(np.iinfo(colours.dtype).max)
    wide, cover = colours.astype(np.uint32), cover.astype(np.uint32)
    clear = ground.astype(np.uint32) * (top - cover)
    if premultiplied:
        mixed = np.minimum(wide + (clear + top // 2) // top, top)
    else:
        mixed = (wide * cover + clear + top // 2) // top
    return mixed.astype(colours.dtype)


def shoulder(values: Samples, highest: float, knee: float = 0.8) -> Samples:
    """Bring values between `knee` and `highest` smoothly into `knee`..1; below is kept.

    y = k + (1 - k) v / (1 + v - u), u = (x - k) / (m - k), v = (x - k) / (1 - k):
    slope 1 at the knee, and the highest value lands on 1. Derived in docs/theory/opening.md.

    Examples
    --------
    >>> shoulder(np.float32([0.5, 0.8, 4.2]), 4.2).round(3).tolist()
    [0.5, 0.800000011920929, 1.0]
    """
    over = np.maximum(values.astype(np.float64) - knee, 0)
    u, v = over / (highest - knee), over / (1 - knee)
    bent = knee + (1 - knee) * v / (1 + v - u)
    return np.where(values > knee, bent, values).astype(np.float32)


def _full(dtype: np.dtype[Any]) -> Any:
    return np.float32(1) if dtype.kind == "f" else dtype.type(np.iinfo(dtype).max)


def _ground(model: Model, background: Background, dtype: np.dtype[Any]) -> Samples:
    """The background's code values."""
    full = _full(dtype)
    zero = dtype.type(0)
    middle = (
        np.float32(128 / 255) if dtype.kind == "f" else dtype.type(round(int(full) * 128 / 255))
    )
    by_model: dict[Model, Callable[[bool], list[Any]]] = {
        "grey": lambda paper: [full if paper else zero],
        "rgb": lambda paper: [full if paper else zero] * 3,
        "cmyk": lambda paper: [zero, zero, zero, zero if paper else full],
        "lab": lambda paper: [full if paper else zero, middle, middle],
    }
    return np.array(by_model[model](background == "paper"), dtype)
