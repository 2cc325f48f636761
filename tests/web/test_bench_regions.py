"""What the paper truly takes, asked of the bench and of the command: the same places and words."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from visitors import Visitor  # type: ignore[import-not-found]


def in_loops(loops: Any, at: Any) -> bool:
    """Even-odd rule along a ray to the right, over all lines."""
    odd = False
    for loop in loops:
        for (x1, y1), (x2, y2) in zip(loop, (*loop[1:], loop[0]), strict=True):
            if (y1 > at[1]) != (y2 > at[1]) and at[0] < x1 + (at[1] - y1) / (y2 - y1) * (x2 - x1):
                odd = not odd
    return odd


def test_places_are_outlined_in_mm_and_told_as_the_command_tells_them(
    visitor: Visitor, tmp_path: Path
) -> None:
    from firstsheet.jobs.losses import losses_by_region

    draft = visitor.open("ferry stairs.tif")
    view = visitor.settled(draft)
    answer = visitor.get(f"/api/draft/{draft}/regions")
    ticket = tmp_path / "wish.toml"
    ticket.write_text(visitor.bench.making.ticket_text(draft), encoding="utf-8")
    told = losses_by_region(
        ticket,
        {},
        stocks_dir=visitor.bench.parts.stocks_dir,
        progress=lambda *_: None,
        stop=lambda: None,
    )
    size = view["sheet"]["picture"]

    assert answer["plan_digest"] == view["plan_digest"]
    assert answer["regions"]
    assert told.losses is not None
    assert [one["words"].lower() for one in answer["regions"]] == [
        one.words.lower() for one in told.losses.regions
    ]
    for one in answer["regions"]:
        places = [at for loop in one["loops"] for at in loop]
        assert all(0 <= x <= size["width"] + 0.01 for x, _ in places)
        assert all(0 <= y <= size["height"] + 0.01 for _, y in places)
        assert in_loops(one["loops"], one["number_at"])
        assert one["wanted_css"].startswith("color(display-p3 ")


def test_lines_grow_with_the_print(visitor: Visitor) -> None:
    draft = visitor.open("ferry stairs.tif")
    visitor.settled(draft)
    visitor.change(draft, print__width="80 mm")
    visitor.settled(draft)
    small = visitor.get(f"/api/draft/{draft}/regions")
    visitor.change(draft, print__width="160 mm")
    visitor.settled(draft)
    large = visitor.get(f"/api/draft/{draft}/regions")

    def widest(answer: Any) -> float:
        places = [at for one in answer["regions"] for loop in one["loops"] for at in loop]
        return float(max(x for x, _ in places) - min(x for x, _ in places))

    assert 1.8 < widest(large) / widest(small) < 2.2
