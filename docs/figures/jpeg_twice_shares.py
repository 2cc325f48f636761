"""Multiples of a JPEG's step after one save and after two, and what each quality explains."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import numpy as np
import skimage
from drawing import ACCENT, GREY, INK, SECOND, Axis, Drawing, Look, ticks
from PIL import Image
from scipy.fft import dctn

from firstsheet.engine.detail.double_jpeg import (
    LEAST_SURPLUS,
    QUALITIES,
    coefficients,
    gains_by_quality,
    shares_of_multiples,
    twice_facts,
)

__all__ = ["draw"]

FIRST, LAST = 60, 90
MODE = (1, 1)
WAYS = (((FIRST, LAST), Look(ACCENT)), ((LAST,), Look(SECOND, 1.6, "5 2")))


def saved(*qualities: int) -> tuple[Any, Any]:
    """A photograph scikit-image carries after saves by Pillow: codes, and the last luma table."""
    path = Path(skimage.__file__).parent / "data" / "camera.png"
    codes, table = np.asarray(Image.open(path).convert("L")), []
    for quality in qualities:
        held = io.BytesIO()
        Image.fromarray(codes).save(held, "JPEG", quality=quality)
        picture = Image.open(held)
        codes = np.asarray(picture)
        table = picture.quantization[0]  # type: ignore[attr-defined]
    return codes, np.array(table).reshape(8, 8)


def draw() -> str:
    """Two panels."""
    drawing = Drawing(high_px=340)
    left = drawing.panel(
        58, 32, 380, 258, title="One coefficient of all blocks",
        x=Axis(title="multiples of the last step", low=-12.5, high=12.5, ticks=ticks(-12, 12, 4)),
        y=Axis(title="share, %", low=0.0, high=20.0, ticks=ticks(0, 20, 4)),
    )  # fmt: skip
    right = drawing.panel(
        500, 32, 198, 258, title="What an earlier save explains",
        x=Axis(title="its quality", low=30.0, high=100.0, ticks=ticks(30, 90, 20)),
        y=Axis(title="nats per coefficient", low=-0.4, high=1.2, ticks=ticks(-0.4, 1.2, 0.4)),
    )  # fmt: skip
    rows: list[tuple[Look, str]] = []
    for qualities, look in WAYS:
        codes, table = saved(*qualities)
        high, wide = (side // 8 * 8 for side in codes.shape)
        squares = np.array(
            [
                codes[y : y + 16, x : x + 16]
                for y in range(0, high - 15, 8)
                for x in range(0, wide - 15, 8)
            ]
        )
        blocks = squares[:, :8, :8].astype(np.float64)
        multiples = np.rint(coefficients(blocks)[:, MODE[0], MODE[1]] / table[MODE])
        shares = 100.0 * shares_of_multiples(multiples)
        middle = shares.size // 2
        near = shares[middle - 12 : middle + 13]
        left.steps(np.arange(-12.5, 13.0), near, look)
        if len(qualities) == 2:
            other = np.rint(
                dctn(blocks - 128.0, axes=(1, 2), norm="ortho")[:, MODE[0], MODE[1]] / table[MODE]
            )
            counted = [100.0 * float((other == k).mean()) for k in range(-12, 13)]
            left.points(np.arange(-12, 13), counted)
        told = twice_facts(squares, table)
        right.curve(QUALITIES, gains_by_quality(squares, table)[1].mean(axis=0), look)
        words = " then ".join(str(quality) for quality in qualities)
        rows.append((look, f"saved at {words}"))
        if told.first_quality is not None:
            right.upright(told.first_quality)
            right.label(told.first_quality, 1.1, f"told: {told.first_quality}", dx=4)
    right.level(LEAST_SURPLUS, Look(GREY, 1.0, "1 3"))
    left.legend([*rows, (("ring", INK), "the first, SciPy")], 10, 14)
    return drawing.svg()
