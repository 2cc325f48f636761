"""Names of columns, as programs of instruments write them."""

from __future__ import annotations

import pytest

from firstsheet.files.reading.measured.columns import columns_in

WAVES = range(400, 710, 10)


@pytest.mark.parametrize(
    "pattern",
    [
        "SPECTRAL_NM{}",
        "SPECTRAL_{}",
        "nm{}",
        "NM_{}",
        "SPEC_{}",
        "R_{}",
        "{}",
        "{} nm",
        "{}.0",
        "R {}",
    ],
)
def test_wavelengths_are_found_however_they_are_written(pattern: str) -> None:
    columns = columns_in(["SAMPLE_ID", *(pattern.format(nm) for nm in reversed(WAVES))])

    waves = columns.values[""].waves
    assert [nm for nm, _ in waves] == list(WAVES)
    assert waves[0][1] == len(WAVES)  # the last column


@pytest.mark.parametrize(
    ("names", "lab"),
    [
        (["LAB_L", "LAB_A", "LAB_B"], (0, 1, 2)),
        (["Lab_b", "lab_l", "Lab_a"], (1, 2, 0)),
        (["L*", "a*", "b*"], (0, 1, 2)),
        (["CIE L*", "CIE a*", "CIE b*"], (0, 1, 2)),
        (["patch", "L", "a", "b"], (1, 2, 3)),
        (["R", "G", "B", "L", "a", "b"], (3, 4, 5)),
        (["L", "A", "B"], (0, 1, 2)),
    ],
)
def test_lab_is_found_however_it_is_written(names: list[str], lab: tuple[int, ...]) -> None:
    assert columns_in(names).values[""].lab == lab


@pytest.mark.parametrize(
    ("names", "space", "places"),
    [
        (["RGB_R", "RGB_G", "RGB_B"], "rgb", (0, 1, 2)),
        (["CMYK_K", "CMYK_C", "CMYK_M", "CMYK_Y"], "cmyk", (1, 2, 3, 0)),
        (["Cyan", "Magenta", "Yellow", "Black"], "cmyk", (0, 1, 2, 3)),
        (["C", "M", "Y", "K"], "cmyk", (0, 1, 2, 3)),
        (["GRAY"], "grey", (0,)),
        (["R", "G", "B"], "rgb", (0, 1, 2)),
    ],
)
def test_device_values_are_found(names: list[str], space: str, places: tuple[int, ...]) -> None:
    columns = columns_in([*names, "LAB_L", "LAB_A", "LAB_B"])

    assert (columns.device_space, columns.device) == (space, places)


def test_conditions_are_kept_apart() -> None:
    columns = columns_in(
        ["NAME", "LAB_L_M0", "LAB_A_M0", "LAB_B_M0", "M2_LAB_L", "M2_LAB_A", "M2_LAB_B"]
    )

    assert {name: one.lab for name, one in columns.values.items()} == {
        "M0": (1, 2, 3),
        "M2": (4, 5, 6),
    }
    assert columns.name == 0


def test_a_y_that_could_be_two_things_is_said() -> None:
    assert columns_in(["C", "M", "Y", "K", "X", "Z"]).ambiguous == "Y"
    assert columns_in(["CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K", "X", "Y", "Z"]).values[""].xyz == (
        4,
        5,
        6,
    )


def test_pairs_of_wavelength_and_value_are_found() -> None:
    columns = columns_in(
        ["SAMPLE_ID", "SPECTRAL_NM", "SPECTRAL_PCT", "SPECTRAL_NM", "SPECTRAL_PCT"]
    )

    assert columns.values[""].wave_pairs == ((1, 2), (3, 4))


def test_columns_without_anything_measured_are_none() -> None:
    assert not columns_in(["RGB_R", "RGB_G", "RGB_B", "DATE"]).measured
