"""Words on pictures: the signs a size needs are really drawn."""

from __future__ import annotations

import numpy as np
import pytest

from firstsheet.pixels.lettering import draw_words, words_width


def drawn(words: str) -> np.ndarray[tuple[int, ...], np.dtype[np.uint8]]:
    canvas = np.zeros((40, 400, 3), np.uint8)
    draw_words(canvas, words, 2, 2, 20.0, (255, 255, 255))
    return canvas


@pytest.mark.parametrize("sign", list("×–·°±é"))
def test_every_sign_of_a_caption_has_its_own_shape(sign: str) -> None:
    nothing = drawn("\uf8ff")  # a private sign no type has: the shape of a missing one

    assert drawn(sign).any()
    assert (drawn(sign) != nothing).any()


def test_longer_words_are_wider() -> None:
    assert words_width("381 × 254 mm", 20.0) > words_width("381 mm", 20.0)
