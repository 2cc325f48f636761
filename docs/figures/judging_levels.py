"""JPEG quality read from tables that Pillow wrote, and combs of stretched photographs."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import numpy as np
import skimage
from drawing import ACCENT, GREY, SECOND, Axis, Drawing, Look, Mark, ticks
from PIL import Image

from firstsheet.engine.file.jpeg import jpeg_quality
from firstsheet.engine.file.levels import comb_percent

__all__ = ["draw"]

PHOTOGRAPHS: tuple[tuple[str, Mark], ...] = (
    ("camera.png", "ring"), ("coffee.png", "square"), ("chelsea.png", "triangle"),
)  # fmt: skip


def photograph(name: str) -> Any:
    """A photograph that scikit-image carries, grey, 8 bits."""
    path = Path(skimage.__file__).parent / "data" / name
    return np.asarray(Image.open(path).convert("L"))


def stretched(codes: Any, times: float) -> Any:
    """Tones pulled apart about the middle, back in whole codes."""
    return np.clip(np.rint((codes - 128.0) * times + 128.0), 0, 255).astype(np.int64)


def draw() -> str:
    """Two panels."""
    drawing = Drawing(high_px=330)
    left = drawing.panel(
        58, 32, 262, 248, title="JPEG quality from the tables",
        x=Axis(title="quality Pillow was asked for", low=0.0, high=100.0, ticks=ticks(0, 100, 20)),
        y=Axis(title="quality read", low=0.0, high=100.0, ticks=ticks(0, 100, 20)),
    )  # fmt: skip
    left.curve((0, 100), (0, 100), Look(GREY, 1.0, "4 3"))
    asked, read = np.arange(5, 101, 5), []
    for quality in asked:
        held = io.BytesIO()
        Image.new("RGB", (16, 16)).save(held, "JPEG", quality=int(quality))
        tables = Image.open(held).quantization  # type: ignore[attr-defined]
        read.append(jpeg_quality(tables[0], tables[1]).quality)
    left.points(asked, read, "ring", ACCENT)
    right = drawing.panel(
        384, 32, 314, 248, title="Combs of three photographs, stretched",
        x=Axis(title="tones pulled apart by", low=1.0, high=2.0, ticks=ticks(1, 2, 0.2)),
        y=Axis(title="empty levels counted, %", low=0.0, high=60.0, ticks=ticks(0, 60, 10)),
    )  # fmt: skip
    times = np.linspace(1.0, 2.0, 21)
    right.curve(times, 100.0 * (1.0 - 1.0 / times), Look(SECOND, 1.8, "6 3"))
    for name, mark in PHOTOGRAPHS:
        codes = photograph(name).astype(np.float64)
        found = [
            comb_percent(np.bincount(stretched(codes, one).ravel(), minlength=256)) for one in times
        ]
        right.points(times[::2], found[::2], mark, ACCENT)
    right.level(2.0)
    right.label(1.98, 2.0, "told from 2 % on", anchor="end", dy=-6, colour=GREY)
    right.legend(
        [
            (Look(SECOND, 1.8, "6 3"), "what a stretch leaves empty"),
            *(((mark, ACCENT), name.removesuffix(".png")) for name, mark in PHOTOGRAPHS),
        ],
        14, 14,
    )  # fmt: skip
    return drawing.svg()
