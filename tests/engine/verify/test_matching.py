"""Which reading is whose: device values, names, order; and what can be wrong with them."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from firstsheet.engine.errors import QuestionError, ReadingError
from firstsheet.engine.records.reading import Reading, ReadPatch
from firstsheet.engine.records.verification import Aim
from firstsheet.engine.verify.matching import match_reading, merged_aims

NOISE = np.random.default_rng(3).normal(0, 0.4, (12, 3))
LABS = [(95 - 7 * i, 40 * np.sin(i), 40 * np.cos(i)) for i in range(12)]
DEVICE = [(i / 11, (i * 5 % 12) / 11, (i * 7 % 12) / 11) for i in range(12)]


def chart(*, device: bool = False, names: str = "A{}") -> list[Aim]:
    return [
        Aim(name=names.format(i + 1), lab=lab, device=DEVICE[i] if device else None)
        for i, lab in enumerate(LABS)
    ]


def reading(order: Any = range(12), *, device: bool = False, names: str = "A{}") -> Reading:
    return Reading(
        file="strip.txt",
        sha256="0" * 64,
        kind="cgats",
        values_from="lab",
        patches=tuple(
            ReadPatch(
                name=names.format(i + 1),
                lab=tuple(np.array(LABS[i]) + NOISE[i]),
                device=DEVICE[i] if device else None,
            )
            for i in order
        ),
    )


def read_as(read: Any, order: Any = range(12)) -> None:
    np.testing.assert_allclose(read, [np.array(LABS[i]) + NOISE[i] for i in order])


@pytest.mark.parametrize("order", [range(12), [5, 3, 11, 0, 1, 2, 4, 10, 9, 8, 7, 6]])
def test_device_values_tell_whose_a_reading_is(order: Any) -> None:
    matched = match_reading(chart(device=True), reading(order, device=True, names="{}"))

    assert matched.by == "device"
    assert matched.findings == ()
    read_as(matched.read_lab)


@pytest.mark.parametrize("names", ["a{}", "A 0{}", "A_{}", "a-0{}"])
def test_names_are_the_same_without_case_blanks_and_zeros(names: str) -> None:
    matched = match_reading(chart(), reading([11, *range(11)], names=names))

    assert matched.by == "name"
    read_as(matched.read_lab)


def test_without_names_the_order_counts() -> None:
    matched = match_reading(chart(), reading(names="{}"))

    assert matched.by == "order"
    read_as(matched.read_lab)


def test_missing_patches_are_named() -> None:
    matched = match_reading(chart(), reading([i for i in range(12) if i not in (3, 7)]))

    (found,) = matched.findings
    assert found.code == "patches-missing"
    assert found.found == "2 patches of the chart were not read: A4 and A8."
    assert len(matched.aims) == 10


def test_patches_read_twice_are_averaged_and_said() -> None:
    matched = match_reading(chart(), reading([*range(12), 4]))

    (found,) = matched.findings
    assert (found.code, found.weight) == ("patches-doubled", "fine")
    read_as(matched.read_lab)


def test_two_readings_of_a_patch_that_differ_are_a_caution() -> None:
    given = reading([*range(12), 4])
    odd = given.patches[-1].model_copy(update={"lab": (90.0, 0.0, 0.0)})
    given = given.model_copy(update={"patches": (*given.patches[:-1], odd)})

    (found,) = match_reading(chart(), given).findings

    assert found.weight == "caution"
    assert "The readings of A5 differ by more than ΔE00 2" in found.found


def test_foreign_patches_are_left_out_and_counted() -> None:
    given = reading()
    more = tuple(p.model_copy(update={"name": f"Z{p.name}"}) for p in given.patches[:3])
    matched = match_reading(chart(), given.model_copy(update={"patches": (*given.patches, *more)}))

    (found,) = matched.findings
    assert found.code == "patches-foreign"
    assert found.found == "3 of 15 readings belong to no patch of the chart."


def test_a_strip_read_from_its_other_end_is_asked_about() -> None:
    backward = reading(range(11, -1, -1), names="{}")

    with pytest.raises(QuestionError, match="Read backwards the patches fit far better") as asked:
        match_reading(chart(), backward)
    assert asked.value.code == "readings-order"
    matched = match_reading(chart(), backward, answers={"readings-order": "reversed"})
    read_as(matched.read_lab)


def test_the_order_as_read_can_be_insisted_on() -> None:
    backward = reading(range(11, -1, -1), names="{}")
    answers = {"readings-order": "as-read", "readings-chart": "right"}

    read_as(match_reading(chart(), backward, answers=answers).read_lab, range(11, -1, -1))


def test_another_chart_is_asked_about() -> None:
    other = reading([6, 0, 8, 2, 10, 4, 11, 1, 9, 3, 7, 5], names="{}")

    with pytest.raises(QuestionError, match="looks like the readings of another chart"):
        match_reading(chart(), other)


def test_a_chart_with_another_number_of_patches_is_refused() -> None:
    with pytest.raises(ReadingError, match="holds 9 patches, the chart has 12"):
        match_reading(chart(), reading(range(9), names="Q{}"))


def test_repeated_aims_are_one_with_their_mean() -> None:
    twice = [
        Aim(name="a", lab=(50, 0, 0), device=(0.5,)),
        Aim(name="b", lab=(52, 2, 0), device=(0.5,)),
        Aim(name="c", lab=(9, 0, 0), device=(0.0,)),
    ]

    merged = merged_aims(twice)

    assert [(one.name, one.lab) for one in merged] == [("a", (51, 1, 0)), ("c", (9, 0, 0))]
