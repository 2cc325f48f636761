"""Marks on the small picture: they surround a place and never cover it."""

from dataclasses import dataclass

import numpy as np

from firstsheet.pixels.dust_marks import marked_picture


@dataclass(frozen=True)
class Place:
    """What a mark needs."""

    number: int
    box_px: tuple[float, float, float, float]
    words: str = "dark speck"


def _drawn(*places: Place, ground: int = 128) -> np.ndarray:
    rgb = np.full((400, 700, 3), ground, np.uint8)
    out = marked_picture(rgb, places, scale=0.1, words="May be dust.", title="stairs.tif")
    return out[28:428, 28:728]  # without the margin


def test_the_place_itself_stays_as_it_was_and_a_ring_stands_around_it() -> None:
    picture = _drawn(Place(1, (3000, 1500, 3040, 1540)))

    assert (picture[149:156, 299:306] == 128).all()
    changed = np.argwhere((picture != 128).any(axis=2))
    assert changed.min(axis=0)[0] < 145
    assert changed.max(axis=0)[0] > 160


def test_a_mark_shows_on_black_and_on_white() -> None:
    for ground in (0, 255):
        picture = _drawn(Place(1, (3000, 1500, 3040, 1540)), ground=ground)
        part = picture[130:175, 280:326].astype(int)
        assert np.abs(part - ground).max() > 200


def test_a_line_from_edge_to_edge_is_marked_outside_the_picture_only() -> None:
    picture = _drawn(Place(1, (3000, 0, 3002, 4000)))

    assert (picture[40:360, 200:400] == 128).all()


def test_the_list_below_grows_with_the_marks_but_not_without_end() -> None:
    few = [Place(n, (100 * n, 100, 100 * n + 9, 109)) for n in range(1, 4)]
    many = [Place(n, (100 * n, 100, 100 * n + 9, 109)) for n in range(1, 60)]
    rgb = np.full((400, 700, 3), 128, np.uint8)

    heights = [
        marked_picture(rgb, places, scale=0.1, words="x", title="y").shape[0]
        for places in (few, many[:20], many)
    ]

    assert heights[0] < heights[1] == heights[2]
