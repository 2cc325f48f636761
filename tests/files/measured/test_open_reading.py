"""Files of readings as a whole: scales, lights, conditions, damage."""

from __future__ import annotations

import contextlib
import struct
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.colour.lab import lab_to_xyz
from firstsheet.engine.errors import FirstsheetError, QuestionError, ReadingError
from firstsheet.files.reading.measured.open_reading import (
    OpenedReading,
    open_reading,
    open_readings,
)
from firstsheet.files.reading.measured.weights import spectral_weights

PUBLISHED = Path("/usr/share/color/icc")
LABS = {"paper": (95.0, 0.0, -2.0), "magenta": (48.0, 74.0, -3.0), "black": (16.0, 0.0, 0.0)}


def cgats(fields: list[str], rows: list[list[object]], *keywords: str) -> str:
    lines = ["CGATS.17", *keywords, "BEGIN_DATA_FORMAT", " ".join(fields), "END_DATA_FORMAT"]
    lines += ["BEGIN_DATA", *(" ".join(str(cell) for cell in row) for row in rows), "END_DATA"]
    return "\n".join(lines) + "\n"


def kept(folder: Path, text: str, name: str = "strip.txt") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("scale", [1.0, 100.0])
def test_xyz_of_either_scale_gives_the_same_lab(tmp_path: Path, scale: float) -> None:
    rows = [[name, *(lab_to_xyz(lab) * scale)] for name, lab in LABS.items()]
    reading = open_reading(
        kept(tmp_path, cgats(["SAMPLE_NAME", "XYZ_X", "XYZ_Y", "XYZ_Z"], rows))
    ).reading

    assert reading.values_from == "xyz"
    for patch in reading.patches:
        np.testing.assert_allclose(patch.lab, LABS[patch.name], atol=1e-4)


@pytest.mark.parametrize("top", [1.0, 100.0, 255.0, 65535.0])
def test_device_values_of_any_scale_run_from_0_to_1(tmp_path: Path, top: float) -> None:
    rows = [
        ["a", 0, 0, 0, 16, 0, 0],
        ["b", top, top / 2, 0, 60, 10, 10],
        ["c", top, top, top, 95, 0, -2],
    ]
    fields = ["SAMPLE_NAME", "RGB_R", "RGB_G", "RGB_B", "LAB_L", "LAB_A", "LAB_B"]

    reading = open_reading(kept(tmp_path, cgats(fields, rows))).reading

    assert reading.patches[1].device == (1.0, 0.5, 0.0)
    assert reading.device_space == "rgb"


@pytest.mark.parametrize("per_cent", [False, True])
def test_spectra_alone_give_lab(tmp_path: Path, per_cent: bool) -> None:
    """A perfect white, and a grey of 18 %: L* 49.5 by the CIE's formula."""
    waves = list(range(380, 740, 10))
    rows: list[list[object]] = [["white", *[100.0 if per_cent else 1.0] * len(waves)]]
    rows.append(["grey", *[18.0 if per_cent else 0.18] * len(waves)])
    fields = ["SAMPLE_NAME", *(f"SPEC_{nm}" for nm in waves)]

    opened = open_reading(kept(tmp_path, cgats(fields, rows)))

    assert opened.reading.values_from == "spectra"
    np.testing.assert_allclose(opened.reading.patches[0].lab, (100.0, 0.0, 0.0), atol=0.02)
    np.testing.assert_allclose(opened.reading.patches[1].lab, (49.5, 0.0, 0.0), atol=0.02)
    assert opened.reading.spectra is not None
    assert opened.reading.spectra.reflectance[1][0] == pytest.approx(0.18)
    assert any("per cent" in one.found for one in opened.findings) == per_cent


@pytest.mark.parametrize("step", [1, 2, 4, 5, 10, 20])
def test_any_even_sampling_gives_nearly_the_same_lab(tmp_path: Path, step: int) -> None:
    waves = np.arange(380, 731, step)
    share = 0.3 + 0.2 * np.sin((waves - 380) / 60.0)
    rows: list[list[object]] = [["one", *share.round(6).tolist()]]
    fields = ["SAMPLE_NAME", *(f"nm{nm}" for nm in waves)]

    lab = open_reading(kept(tmp_path, cgats(fields, rows))).reading.patches[0].lab

    table = spectral_weights("D50", "2", 5)
    fine = 0.3 + 0.2 * np.sin((np.clip(table.wavelengths_nm, 380, 730) - 380) / 60.0)
    from firstsheet.engine.colour.lab import xyz_to_lab

    truth = xyz_to_lab(fine @ table.weights / 100.0)
    assert np.abs(np.array(lab) - truth).max() < 0.15


def test_values_for_another_light_are_refused_without_spectra(tmp_path: Path) -> None:
    text = cgats(
        ["SAMPLE_NAME", "LAB_L", "LAB_A", "LAB_B"],
        [["paper", 95, 0, -2], ["black", 16, 0, 0], ["grey", 50, 0, 0]],
        'ILLUMINATION_NAME "D65"',
        'OBSERVER_ANGLE "10"',
    )

    with pytest.raises(ReadingError, match=r"for D65 and 10°, and there are no spectra"):
        open_reading(kept(tmp_path, text))


def test_with_spectra_values_for_another_light_are_computed_anew(tmp_path: Path) -> None:
    waves = list(range(380, 740, 10))
    rows: list[list[object]] = [["grey", 1.0, 2.0, 3.0, *[0.18] * len(waves)]]
    fields = ["SAMPLE_NAME", "LAB_L", "LAB_A", "LAB_B", *(f"nm{nm}" for nm in waves)]
    opened = open_reading(kept(tmp_path, cgats(fields, rows, 'ILLUMINANT "D65"')))

    assert opened.reading.patches[0].lab[0] == pytest.approx(49.5, abs=0.02)
    assert [one.code for one in opened.findings] == ["readings-other-light"]


def test_several_conditions_are_asked_about_and_never_mixed(tmp_path: Path) -> None:
    fields = ["SAMPLE_NAME", *(f"LAB_{c}_{m}" for m in ("M0", "M1", "M2") for c in "LAB")]
    rows: list[list[object]] = [["paper", 95, 0, -4, 95, 0, -6, 95, 0, -1]]
    path = kept(tmp_path, cgats(fields, rows))

    with pytest.raises(QuestionError, match=r"holds 3 readings: M0, M1 and M2"):
        open_reading(path)
    chosen = open_reading(path, condition="M2").reading
    assert chosen.patches[0].lab == (95.0, 0.0, -1.0)
    assert chosen.condition.illumination == "M2"
    with pytest.raises(ReadingError, match="no readings under M3"):
        open_reading(path, condition="M3")


def test_lab_and_xyz_that_disagree_are_told(tmp_path: Path) -> None:
    rows: list[list[object]] = [
        [name, *lab, *(lab_to_xyz(lab) * [105.0, 100.0, 120.0])] for name, lab in LABS.items()
    ]
    fields = ["SAMPLE_NAME", "LAB_L", "LAB_A", "LAB_B", "XYZ_X", "XYZ_Y", "XYZ_Z"]
    opened = open_reading(kept(tmp_path, cgats(fields, rows)))

    assert opened.reading.values_from == "lab"
    assert [one.code for one in opened.findings] == ["readings-disagree"]


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        ("paper 95 zero -2", "line 7, LAB_A: “zero” is not a number"),
        ("paper 950 0 -2", "950.0, 0.0, -2.0 is no colour of a print"),
        ("paper nan 0 -2", "“nan” is not a number"),
        ("paper 0.95 0 -0.02\nblack 0.16 0 0\ngrey 0.5 0 0", "not the scale of Lab"),
    ],
)
def test_wrong_numbers_are_named(tmp_path: Path, cells: str, said: str) -> None:
    text = cgats(["SAMPLE_NAME", "LAB_L", "LAB_A", "LAB_B"], [], 'FILE_DESCRIPTOR "quay"')
    with pytest.raises(ReadingError, match=said):
        open_reading(kept(tmp_path, text.replace("BEGIN_DATA\n", f"BEGIN_DATA\n{cells}\n")))


def test_a_count_that_is_not_the_one_said_is_a_finding(tmp_path: Path) -> None:
    rows: list[list[object]] = [[name, *lab] for name, lab in LABS.items()]
    text = cgats(["SAMPLE_NAME", "LAB_L", "LAB_A", "LAB_B"], rows, "NUMBER_OF_SETS 9")

    (found,) = open_reading(kept(tmp_path, text)).findings

    assert found.code == "readings-count"
    assert "holds 9 patches, and 3 are there" in found.found


def test_readings_relative_to_paper_are_known_by_their_white(tmp_path: Path) -> None:
    rows: list[list[object]] = [["paper", 100, 0, 0], ["black", 16, 0, 0]]
    fields = ["SAMPLE_NAME", "LAB_L", "LAB_A", "LAB_B"]

    assert open_reading(kept(tmp_path, cgats(fields, rows))).reading.relative


@pytest.mark.published
@pytest.mark.needs_tool
@pytest.mark.parametrize(
    ("name", "count", "paper", "magenta"),
    [
        ("FOGRA39L", 1617, (95.00, 0.00, -2.00), (48.00, 74.00, -3.00)),
        ("FOGRA29L", 1485, (95.71, 0.61, -2.32), (55.04, 59.46, -4.00)),
        ("TR006", 1617, (95.00, -0.02, -1.96), (47.93, 74.11, -3.01)),
        ("TR002", 928, (80.07, -0.01, 3.51), (52.69, 44.14, -1.09)),
    ],
)
def test_published_characterisation_files_are_read(
    name: str, count: int, paper: tuple[float, ...], magenta: tuple[float, ...]
) -> None:
    """Debian's icc-profiles-free 2.0.1; the values are those printed in the files' own tables."""
    path = PUBLISHED / f"{name}.ti3"
    if not path.is_file():
        pytest.skip("icc-profiles-free is not installed")
    reading = open_reading(path).reading

    assert len(reading.patches) == count
    by_ink = {patch.device: patch.lab for patch in reversed(reading.patches)}  # the first counts
    np.testing.assert_allclose(by_ink[0.0, 0.0, 0.0, 0.0], paper, atol=1e-6)
    np.testing.assert_allclose(by_ink[0.0, 1.0, 0.0, 0.0], magenta, atol=1e-6)


@pytest.mark.published
def test_a_profiles_own_measurements_are_read_and_their_spectra_give_their_xyz(
    tmp_path: Path,
) -> None:
    """The CMYK profile of libvips holds 2,376 patches with XYZ and spectra.

    A plain 10 nm sum gives mean ΔE00 0.0098; the weights of ASTM E2022 differ from that sum by a
    little more.
    """
    pyvips = pytest.importorskip("pyvips")
    profile = bytes(pyvips.Operation.call("profile_load", "cmyk"))
    tags = struct.unpack(">I", profile[128:132])[0]
    rows = [struct.unpack(">4sII", profile[132 + 12 * i : 144 + 12 * i]) for i in range(tags)]
    at = {name: (offset, size) for name, offset, size in rows}
    if b"targ" not in at:
        pytest.skip("this profile carries no measurements")
    offset, size = at[b"targ"]
    path = tmp_path / "targ.ti3"
    path.write_bytes(profile[offset + 8 : offset + size])
    reading = open_reading(path).reading

    assert len(reading.patches) == 2376
    assert reading.values_from == "spectra"
    assert reading.spectra is not None
    assert len(reading.spectra.wavelengths_nm) == 36
    lines = path.read_text("latin-1").split("BEGIN_DATA\n")[1].split("END_DATA")[0].split()
    xyz = np.array(lines).reshape(2376, 44)[:, 5:8].astype(float) / 100.0
    from firstsheet.engine.colour.lab import xyz_to_lab

    gap = delta_e_2000(xyz_to_lab(xyz), [patch.lab for patch in reading.patches])
    assert gap.mean() < 0.04
    assert np.percentile(gap, 95) < 0.065


@settings(
    max_examples=150, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_damaged_files_end_in_our_own_errors(tmp_path: Path, data: st.DataObject) -> None:
    rows: list[list[object]] = [[name, *lab] for name, lab in LABS.items()]
    text = cgats(["SAMPLE_NAME", "LAB_L", "LAB_A", "LAB_B"], rows).encode()
    at = data.draw(st.integers(0, len(text) - 1))
    junk = data.draw(st.binary(max_size=6))
    cut = data.draw(st.integers(0, 9))
    path = tmp_path / "mutated.txt"
    path.write_bytes(text[:at] + junk + text[at + cut :])

    found: tuple[OpenedReading, ...] = ()
    with contextlib.suppress(FirstsheetError):  # anything else fails the test
        found = open_readings(path)
    assert all(np.isfinite(p.lab).all() for one in found for p in one.reading.patches)


@pytest.mark.parametrize("name", ["nowhere.txt", "."])
def test_what_is_no_file_is_said(tmp_path: Path, name: str) -> None:
    with pytest.raises(ReadingError, match="is not a file"):
        open_reading(tmp_path / name)


def test_a_binary_file_is_not_a_text(tmp_path: Path) -> None:
    path = tmp_path / "noise.bin"
    path.write_bytes(bytes(range(256)) * 4)

    with pytest.raises(ReadingError):
        open_reading(path)
