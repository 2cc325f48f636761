"""A page shows no word of the command line."""

from __future__ import annotations

from pathlib import Path

import pytest
from visitors import Visitor, until, write_scan  # type: ignore[import-not-found]

from firstsheet.bench.words import without_options


@pytest.mark.parametrize(
    ("said", "shown"),
    [
        ("Leave the flag aside (--answer orientation=apply|ignore).", "Leave the flag aside."),
        (
            "Lay black under it: --background paper|black (ticket: background).",
            "Lay black under it.",
        ),
        ("Take perceptual: --intent perceptual (ticket: intent in [colour]).", "Take perceptual."),
        ("Scan again; --inspect looks at what is there.", "Scan again."),
        ("Print it 380 mm wide.", "Print it 380 mm wide."),
    ],
)
def test_the_spelling_of_options_is_left_out(said: str, shown: str) -> None:
    assert without_options(said) == shown


def test_a_scan_cut_short_is_refused_in_words_and_has_no_small_picture(
    visitor: Visitor, harbour: Path
) -> None:
    whole = write_scan(harbour / "whole.tif").read_bytes()
    (harbour / "cut.tif").write_bytes(whole[: len(whole) // 2])
    draft = visitor.post("/api/open", {"path": "cut.tif"})["id"]

    def ended() -> dict[str, object] | None:
        view = visitor.get(f"/api/draft/{draft}")
        return view if view["state"] == "failed" else None

    error = until(ended)["error"]
    assert error["code"] == "damaged-picture"
    assert "damaged" in error["found"]
    assert "--" not in error["choice"]
    thumb = visitor.client.get(f"/api/draft/{draft}/thumb")
    assert (thumb.status_code, thumb.content) == (204, b"")


def test_a_list_has_a_small_picture_of_each_ticket(visitor: Visitor) -> None:
    visitor.open("ferry stairs.tif")
    (one,) = visitor.get("/api/recent")["recent"]
    answer = visitor.client.get(one["thumb"])
    assert answer.headers["content-type"] == "image/jpeg"
    assert answer.content[:2] == b"\xff\xd8"


def test_a_picture_that_leaves_its_sheet_has_no_print_to_look_at(visitor: Visitor) -> None:
    draft = visitor.open("ferry stairs.tif")
    visitor.change(draft, print__width="200 mm", print__sheet="A6")
    view = visitor.settled(draft)
    assert any(one["weight"] == "stop" for one in view["findings"])
    assert "print" not in view["tiles"]
    assert "proof" in view["tiles"]
