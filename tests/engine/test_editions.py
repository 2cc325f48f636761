"""Customs of editions: labels, counts, states and what is told as information."""

from __future__ import annotations

from typing import Any

import pytest

from firstsheet.engine.editions import (
    copy_label,
    copy_state,
    customary_proofs,
    edition_findings,
    edition_state,
    roman,
    same_size,
)
from firstsheet.engine.records import Finding
from firstsheet.engine.records.edition import CopyLine, EditionCopy, EditionSize, EditionTerms


def terms(**changes: Any) -> EditionTerms:
    fields: dict[str, Any] = {
        "name": "quay", "title": "The Quay", "artist": "Ada Merrow", "year": "2026", "size": 25,
        "proofs": 2, "sizes": [{"width_mm": 400, "height_mm": 267}],
    }  # fmt: skip
    return EditionTerms.model_validate(fields | changes)


def line(number: int, kind: str, **more: Any) -> CopyLine:
    fields = {"number": number, "copy_number": 1, "at": "", "kind": kind, "words": ""}
    return CopyLine.model_validate(fields | more)


def found(terms: EditionTerms, code: str, *others: EditionTerms) -> Finding:
    return next(one for one in edition_findings(terms, others) if one.code == code)


@pytest.mark.parametrize(
    ("number", "letters"),
    [
        (1, "I"), (2, "II"), (3, "III"), (4, "IV"), (5, "V"), (9, "IX"), (10, "X"), (14, "XIV"),
        (19, "XIX"), (40, "XL"), (49, "XLIX"), (90, "XC"), (99, "XCIX"), (400, "CD"),
        (888, "DCCCLXXXVIII"), (2026, "MMXXVI"),
    ],
)  # fmt: skip
def test_roman_numbers_as_anybody_writes_them(number: int, letters: str) -> None:
    assert roman(number) == letters


def test_every_roman_number_is_another_and_none_repeats_a_letter_four_times() -> None:
    letters = [roman(number) for number in range(1, 1000)]

    assert len(set(letters)) == 999
    assert not any(letter * 4 in one for one in letters for letter in "IXC")
    with pytest.raises(ValueError, match="no Roman"):
        roman(0)


def test_a_copy_is_labelled_as_it_is_written_under_the_picture() -> None:
    assert copy_label("number", 7, terms()) == "7/25"
    assert copy_label("proof", 1, terms()) == "A.P. I/II"


@pytest.mark.parametrize(
    ("size", "proofs"), [(1, 1), (10, 1), (19, 1), (20, 2), (30, 3), (100, 10)]
)
def test_custom_allows_a_tenth_as_proofs(size: int, proofs: int) -> None:
    assert customary_proofs(size) == proofs


def test_more_proofs_than_custom_are_told_and_not_refused() -> None:
    many = found(terms(proofs=5), "edition-many-proofs")

    assert many.weight == "caution"
    assert "here 2" in many.consequence
    assert [one.option for one in many.choices] == ["--proofs 2"]
    assert found(terms(proofs=2), "edition-proofs").weight == "fine"


def test_the_french_limit_counts_every_size_and_every_edition_of_the_picture() -> None:
    within = found(terms(size=27, proofs=3), "edition-french-text")
    above = found(terms(size=28, proofs=3), "edition-french-text")
    together = found(terms(size=20, proofs=2), "edition-french-text", terms(size=8, proofs=1))

    assert (within.weight, within.figures["copies"]) == ("fine", 30)
    assert (above.weight, above.figures["copies"]) == ("caution", 31)
    assert (together.weight, together.figures["copies"]) == ("caution", 31)
    assert "over all its editions" in together.found


def test_the_french_text_is_cited_by_name_as_information() -> None:
    told = found(terms(), "edition-french-text")

    assert "annexe III, article 98 A" in told.source
    assert "2006/112/EC" in told.source
    assert "not legal advice" in told.consequence
    assert told.choices == ()


def test_another_edition_of_the_picture_is_named() -> None:
    told = found(terms(), "edition-other-editions", terms(name="quay-large"))

    assert "quay-large" in told.found
    assert told.figures["copies"] == 54


def test_an_edition_without_sizes_is_told_and_one_of_several_says_they_share() -> None:
    small = {"width_mm": 300, "height_mm": 200}
    large = {"width_mm": 600, "height_mm": 400}

    assert found(terms(sizes=[]), "edition-sizes-open").weight == "caution"
    shared = found(terms(sizes=[small, large]), "edition-shared-sizes")
    assert "share the 25 numbers" in shared.consequence


@pytest.mark.parametrize(
    ("other", "same"),
    [((400, 267), True), ((267, 400), True), ((401.9, 265.1), True), ((402.1, 267), False)],
)
def test_a_size_is_the_same_within_two_millimetres(other: tuple[float, float], same: bool) -> None:
    one = EditionSize(width_mm=400, height_mm=267)

    assert same_size(one, EditionSize(width_mm=other[0], height_mm=other[1])) is same


@pytest.mark.parametrize(
    ("lines", "state"),
    [
        ([], ("held", None)),
        ([line(1, "given", holder=4)], ("given", 4)),
        ([line(1, "given", holder=4), line(2, "returned")], ("held", None)),
        ([line(1, "given", holder=4, is_withdrawn=True), line(2, "withdrawn")], ("held", None)),
        ([line(1, "spoiled")], ("spoiled", None)),
        ([line(1, "given", holder=4), line(2, "spoiled")], ("spoiled", 4)),
    ],
)
def test_where_a_copy_is_follows_from_the_lines_that_stand(
    lines: list[CopyLine], state: tuple[str, int | None]
) -> None:
    assert copy_state(lines, is_replaced=False) == state
    assert copy_state(lines, is_replaced=True) == ("replaced", None)


def test_a_replaced_number_is_counted_once() -> None:
    def copy(number: int, position: int, state: str, series: str = "number") -> EditionCopy:
        fields = {
            "number": number, "series": series, "position": position, "label": "",
            "print_number": None, "size": None, "at": "", "replaces": None, "words": "",
            "state": state,
        }  # fmt: skip
        return EditionCopy.model_validate(fields)

    copies = [
        copy(1, 1, "given"),
        copy(2, 2, "replaced"),
        copy(3, 2, "held"),
        copy(4, 3, "spoiled"),
        copy(5, 1, "held", "proof"),
    ]
    state = edition_state(terms(), copies)

    assert (state.numbered, state.free) == (3, 22)
    assert (state.proofs_numbered, state.proofs_free) == (1, 1)
    assert (state.held, state.given, state.spoiled) == (2, 1, 2)
