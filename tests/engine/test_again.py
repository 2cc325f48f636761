"""What has changed since a print was made, in words."""

from __future__ import annotations

from typing import Any

import pytest

from firstsheet.engine.again import (
    decision_findings,
    difference_findings,
    needs_a_word,
    picture_findings,
    stock_findings,
    version_findings,
)
from firstsheet.engine.records.again import CodeDifference, PictureFound, StockFound


def picture(status: Any, path: str = "/now/quay.tif") -> PictureFound:
    return PictureFound(status=status, path=path, before="/then/quay.tif")


def difference(differing: int, de00: float = 0.0) -> CodeDifference:
    return CodeDifference(
        points=1024, differing=differing, mean_de00=de00 / 2, p95_de00=de00, max_de00=2 * de00
    )


def test_a_picture_at_its_place_needs_no_words() -> None:
    assert picture_findings(picture("same")) == ()


@pytest.mark.parametrize(
    ("status", "code", "weight", "words"),
    [
        ("moved", "again-picture-moved", "fine", "/now/quay.tif now, byte for byte"),
        ("edited", "again-picture-edited", "caution", "--nearest"),
        ("gone", "again-picture-gone", "stop", "--look-in"),
    ],
)
def test_what_became_of_the_picture_is_told_with_the_nearest_way(
    status: str, code: str, weight: str, words: str
) -> None:
    (told,) = picture_findings(picture(status))

    assert (told.code, told.weight) == (code, weight)
    options = [one.option for one in told.choices]
    assert words in " ".join((told.found, told.consequence, *options))


def test_what_became_of_the_stock_is_told() -> None:
    same = StockFound(is_there=True, same_profile=True)
    assert stock_findings("cotton", same) == ()

    (retired,) = stock_findings("cotton", StockFound(is_there=False, same_profile=False))
    assert retired.code == "again-stock-retired"
    assert "as it was kept, with its profile" in retired.consequence

    told = stock_findings(
        "cotton",
        StockFound(
            is_there=True, same_profile=False, changed=("media setting “thin”, was “heavy”",)
        ),
    )
    assert [one.code for one in told] == ["again-profile-replaced", "again-stock-changed"]
    assert "media setting “thin”, was “heavy”" in told[1].found


def test_other_versions_are_named_and_only_those() -> None:
    before = {"numpy": "2.2.0", "tifffile": "2025.5", "gone": "1"}
    now = {"numpy": "2.3.1", "tifffile": "2025.5", "new": "2"}

    (told,) = version_findings(before, now, difference(0))

    assert told.found == "Other versions: gone 1 → none, new none → 2, numpy 2.2.0 → 2.3.1."
    assert "No code differs on 1024 points" in told.consequence
    assert version_findings(before, before, None) == ()


def test_what_is_decided_otherwise_is_named_with_both_values() -> None:
    before = {
        "picture": "aa", "made_by": "firstsheet 0.1.0", "sharpen": {"strength": 1.0, "name": "x"},
        "colour": {"intent": "relative", "paper_white_device": [1.0, 1.0, 1.0]},
        "size": {"width_px": 5400, "ppi": 360.0},
    }  # fmt: skip
    now = {
        "picture": "bb", "made_by": "firstsheet 9", "sharpen": {"strength": 0.85, "name": "x"},
        "colour": {"intent": "perceptual", "paper_white_device": (1.0, 1.0, 1.0 + 1e-12)},
        "size": {"width_px": 5400, "ppi": 360, "new_field": None},
    }  # fmt: skip

    (told,) = decision_findings(before, now)

    assert "sharpening (strength 1 → 0.85)" in told.found
    assert "the conversion of colour (intent relative → perceptual)" in told.found
    assert "size, crop" not in told.found  # the same number, and a new field that says nothing
    assert told.figures == {"parts": 2}
    assert decision_findings(before, before | {"picture": "cc", "made_by": "later"}) == ()


@pytest.mark.parametrize(
    ("given", "code", "weight"),
    [
        (None, "again-not-compared", "caution"),
        (difference(0), "again-same-pixels", "fine"),
        (difference(900, 0.2), "again-other-pixels", "fine"),
        (difference(900, 1.0), "again-other-pixels", "caution"),
    ],
)
def test_a_difference_is_told_by_its_size(
    given: CodeDifference | None, code: str, weight: str
) -> None:
    (told,) = difference_findings(given)

    assert (told.code, told.weight) == (code, weight)


def test_the_difference_is_said_in_figures() -> None:
    (told,) = difference_findings(difference(900, 1.5))

    assert "ΔE00 0.75 on average, 1.5 at 95 %, 3 at most, on 1024 points" in told.found
    assert told.figures["p95_de00"] == 1.5


@pytest.mark.parametrize(
    ("status", "given", "asks"),
    [
        ("same", difference(0), False),
        ("moved", difference(0), False),
        ("same", difference(1, 0.01), True),
        ("same", None, True),
        ("edited", difference(0), True),
        ("gone", None, True),
    ],
)
def test_a_person_decides_where_it_would_be_another_print(
    status: str, given: CodeDifference | None, asks: bool
) -> None:
    assert needs_a_word(picture(status), given) is asks
