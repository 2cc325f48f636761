"""Reading curves, tables and texts from the bytes of tags."""

import struct

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstsheet.cms.tags import TagFault, ToneCurve, read_curve, read_lut, read_text, read_xyz


def para(function: int, *numbers: float) -> bytes:
    coded = b"".join(struct.pack(">i", round(n * 65536)) for n in numbers)
    return struct.pack(">4s4xHH", b"para", function, 0) + coded


def lut16(grid: int = 2, inputs: int = 3, outputs: int = 3, *, cut: int = 0) -> bytes:
    """A table whose values count upwards, straight curves, identity matrix."""
    head = struct.pack(">4s4x4B9iHH", b"mft2", inputs, outputs, grid, 0,
                       65536, 0, 0, 0, 65536, 0, 0, 0, 65536, 2, 2)  # fmt: skip
    straight = struct.pack(">2H", 0, 65535)
    cells = np.linspace(0, 65535, grid**inputs * outputs).astype(">u2").tobytes()
    whole = head + straight * inputs + cells + straight * outputs
    return whole[: len(whole) - cut]


@pytest.mark.parametrize(
    ("data", "x", "y"),
    [
        # the five formulas of ICC.1 table 68, computed by hand
        (para(0, 2.0), 0.5, 0.25),
        (para(1, 2.0, 2.0, -0.5), 0.5, 0.25),
        (para(1, 2.0, 2.0, -0.5), 0.2, 0.0),
        (para(2, 2.0, 2.0, -0.5, 0.125), 0.5, 0.375),
        (para(2, 2.0, 2.0, -0.5, 0.125), 0.2, 0.125),
        (para(3, 2.0, 1.0, 0.0, 0.5, 0.25), 0.5, 0.25),
        (para(3, 2.0, 1.0, 0.0, 0.5, 0.25), 0.2, 0.1),
        (para(4, 2.0, 1.0, 0.0, 0.5, 0.25, 0.125, 0.0625), 0.5, 0.375),
        (para(4, 2.0, 1.0, 0.0, 0.5, 0.25, 0.125, 0.0625), 0.2, 0.1625),
        (struct.pack(">4s4xI", b"curv", 0), 0.3, 0.3),
        (struct.pack(">4s4xIH", b"curv", 1, 512), 0.5, 0.25),
        (struct.pack(">4s4xI3H", b"curv", 3, 0, 0, 65535), 0.75, 0.5),
    ],
)
def test_curves_follow_their_formula(data: bytes, x: float, y: float) -> None:
    assert read_curve(data).at(x) == pytest.approx(y, abs=1e-5)


@given(st.floats(0, 1))
def test_the_srgb_curve_is_read_as_the_standard_writes_it(x: float) -> None:
    # IEC 61966-2-1: linear below 0.04045, power 2.4 above
    curve = read_curve(para(3, 2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045))
    expected = x / 12.92 if x <= 0.04045 else ((x + 0.055) / 1.055) ** 2.4
    assert curve.at(x) == pytest.approx(expected, abs=6e-5)  # s15Fixed16 rounding


def test_identity_is_recognised_in_every_spelling() -> None:
    assert ToneCurve().is_identity
    assert ToneCurve(table=np.linspace(0, 1, 256)).is_identity
    assert ToneCurve(function=3, parameters=(1.0, 1.0, 0.0, 1.0, 0.0)).is_identity
    assert not ToneCurve(parameters=(1.01,)).is_identity


def test_a_lut16_gives_back_its_cells() -> None:
    table = read_lut(lut16())
    assert table.clut is not None
    assert table.clut.shape == (2, 2, 2, 3)
    assert table.clut[0, 0, 0] == pytest.approx([0, 2849 / 65535, 5698 / 65535], abs=2e-5)
    assert table.clut[1, 1, 1, 2] == 1.0
    assert table.matrix is None


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"", "ends before"),
        (lut16(cut=1), "fewer than its table needs"),
        (b"mft2" + b"\0" * 60, "0 inputs"),
        (lut16()[:10] + b"\1" + lut16()[11:], "fewer than two points"),
        (lut16()[:8] + b"\7\7\xff" + lut16()[11:], "larger than any profile"),
        (b"abcd" + b"\0" * 60, "where a table should stand"),
    ],
)
def test_a_damaged_table_says_why(data: bytes, reason: str) -> None:
    with pytest.raises(TagFault, match=reason):
        read_lut(data)


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (struct.pack(">4s4xI", b"curv", 9), "values that are not there"),
        (struct.pack(">4s4xI", b"curv", 0xFFFFFFFF), "values that are not there"),
        (para(9, 1.0), "unknown curve formula"),
        (para(3, 1.0), "ends inside a curve"),
        (para(0, -2813.6), "no numbers of use"),
        (b"text" + b"\0" * 20, "where a curve should stand"),
    ],
)
def test_a_damaged_curve_says_why(data: bytes, reason: str) -> None:
    with pytest.raises(TagFault, match=reason):
        read_curve(data)


def test_texts_of_both_versions_are_read() -> None:
    old = struct.pack(">4s4xI", b"desc", 6) + b"Quay 1" + b"\0" * 20
    assert read_text(old) == "Quay 1"
    german, english = "Kai".encode("utf-16-be"), "Quay".encode("utf-16-be")
    new = struct.pack(">4s4xII2s2sII2s2sII", b"mluc", 2, 12, b"de", b"DE", len(german), 40,
                      b"en", b"GB", len(english), 40 + len(german)) + german + english  # fmt: skip
    assert read_text(new) == "Quay"
    with pytest.raises(TagFault):
        read_text(b"XYZ " + b"\0" * 20)


def test_xyz_is_read_in_both_signs() -> None:
    data = struct.pack(">4s4x3i", b"XYZ ", 63190, -65536, 54061)
    assert read_xyz(data)[0] == pytest.approx([0.9642, -1.0, 0.8249], abs=1e-5)
    with pytest.raises(TagFault):
        read_xyz(b"XYZ \0\0\0\0")
