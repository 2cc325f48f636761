"""Words on a picture, in the plain type that reportlab carries (Pillow's own lacks ×, – and °).

Takes encoded pixels of any depth; draws into them in place. Nothing is measured here.
Tests: tests/pixels/test_lossmap.py.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["draw_words", "fold_words", "words_width"]


@lru_cache(maxsize=32)
def _font(size_px: float) -> Any:
    import reportlab
    from PIL import ImageFont

    size = max(size_px, 6.0)
    type_file = Path(reportlab.__file__).parent / "fonts" / "Vera.ttf"
    try:
        return ImageFont.truetype(str(type_file), size)
    except OSError:
        return ImageFont.load_default(size)


def words_width(words: str, size_px: float) -> int:
    """How wide a line is, px."""
    return int(np.ceil(_font(size_px).getlength(words)))


def fold_words(words: str, size_px: float, width_px: int) -> list[str]:
    """Break a sentence into lines that fit; a word longer than a line stays whole."""
    lines: list[str] = []
    for word in words.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and words_width(longer, size_px) <= width_px:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def draw_words(
    pixels: NDArray[Any],
    words: str,
    left_px: int,
    top_px: int,
    size_px: float,
    ink: ArrayLike,
    *,
    align: str = "left",
) -> None:
    """Draw one line; `left_px` is its left end, middle or right end by `align`.

    Parameters
    ----------
    pixels
        (H, W, 3), uint8 or uint16, changed in place. What falls outside is cut off.
    top_px
        Top of the line; the type stands `size_px` below it.
    ink
        Encoded colour on the scale of `pixels`.
    """
    from PIL import Image, ImageDraw

    font = _font(size_px)
    width, height = words_width(words, size_px) + 4, int(np.ceil(size_px * 1.5))
    mask = Image.new("L", (width, height))
    ImageDraw.Draw(mask).text((1, 0), words, font=font, fill=255)
    cover = np.asarray(mask, dtype=np.float64)[..., None] / 255.0
    left = left_px - {"left": 0, "middle": width // 2, "right": width}[align]
    x0, y0 = max(left, 0), max(top_px, 0)
    x1, y1 = min(left + width, pixels.shape[1]), min(top_px + height, pixels.shape[0])
    if x1 <= x0 or y1 <= y0:
        return
    part = cover[y0 - top_px : y1 - top_px, x0 - left : x1 - left]
    under = pixels[y0:y1, x0:x1].astype(np.float64)
    mixed = under + (np.asarray(ink, dtype=np.float64) - under) * part
    pixels[y0:y1, x0:x1] = np.rint(mixed).astype(pixels.dtype)
