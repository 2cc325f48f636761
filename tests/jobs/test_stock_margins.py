"""Margins of a stock as people write them."""

import pytest

from firstsheet.engine.errors import TicketError
from firstsheet.jobs.stocks import margins_from


@pytest.mark.parametrize(
    ("words", "sides"),
    [
        ("3mm", (3, 3, 3, 3)),
        ("3 mm, 3 mm, 14 mm, 3 mm", (3, 3, 14, 3)),
        ("3mm,3mm,14mm,3mm", (3, 3, 14, 3)),
        ("3,5 mm", (3.5, 3.5, 3.5, 3.5)),
        ("3,5 mm 3 mm 1,4 cm 3mm", (3.5, 3, 14, 3)),
        ("0.5 in, 0.5in 1 inch 0 mm", (12.7, 12.7, 25.4, 0)),
    ],
)
def test_one_length_or_four_with_either_decimal_sign(words: str, sides: tuple[float, ...]) -> None:
    found = margins_from(words)
    assert (found.top, found.right, found.bottom, found.left) == pytest.approx(sides)


@pytest.mark.parametrize(("words", "named"), [("3, banana", "“3”"), ("3mm banana", "“banana”")])
def test_the_part_that_is_no_length_is_named_as_written(words: str, named: str) -> None:
    with pytest.raises(TicketError, match=f"{named} is not a length"):
        margins_from(words)
