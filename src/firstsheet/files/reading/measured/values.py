"""Numbers of a readings table, brought to one scale: Lab D50 2°, device and reflectance 0 to 1.

Takes a table and where its values stand; gives patches and what was assumed on the way. A scale
that the numbers do not tell is asked about. Tests: tests/files/measured/test_open_reading.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.difference import delta_e_76
from firstsheet.engine.colour.lab import xyz_to_lab
from firstsheet.engine.colour.spectra import spectra_to_xyz
from firstsheet.engine.errors import ReadingError
from firstsheet.engine.findings import finding, joined
from firstsheet.engine.records import Finding
from firstsheet.engine.records.reading import DeviceSpace, ReadPatch, Spectra
from firstsheet.files.reading.measured.columns import Columns, Values
from firstsheet.files.reading.measured.said import condition_said
from firstsheet.files.reading.measured.table import (
    PatchTable,
    bad_file,
    number_in,
)
from firstsheet.files.reading.measured.weights import STEPS_NM, spectral_weights

__all__ = ["PatchValues", "patch_values"]

Floats = NDArray[np.float64]
_SHARES_UP_TO = 2.0  # reflectance of brightened paper stays below; in per cent only black does
_DIFFER = 1.0  # ΔE*ab between Lab and XYZ columns; rounding to 0.01 alone gives 0.35 near black


@dataclass(frozen=True)
class PatchValues:
    """Patches on our scales, and what was found while they were brought there."""

    patches: tuple[ReadPatch, ...]
    taken_from: Literal["lab", "xyz", "spectra"]
    device_space: DeviceSpace
    relative: bool
    spectra: Spectra | None
    findings: tuple[Finding, ...]


def patch_values(table: PatchTable, columns: Columns, values: Values, file: str) -> PatchValues:
    """Take the values of one measuring condition.

    Raises
    ------
    ReadingError
        If a cell is no number, a colour is none, or values for another light cannot be converted.
    """
    findings: list[Finding] = []
    units: list[str] = []
    spectra = _spectra(table, values, file, units)
    xyz = _numbers(table, values.xyz, file) if values.xyz else None
    if xyz is not None and float(xyz[:, 1].max()) > 1.5:
        xyz = xyz / 100.0
    elif xyz is not None:
        units.append("XYZ from 0 to 1")
    lab = _numbers(table, values.lab, file) if values.lab else None
    standard = _is_standard(table)
    if not standard and spectra is None:
        raise _other_light(table, file)
    taken: Literal["lab", "xyz", "spectra"] = "lab"
    if spectra is not None and (lab is None or not standard):
        if not standard:
            findings.append(_recomputed(table, file))
        lab, taken = _lab_of(spectra), "spectra"
    elif lab is not None:
        if xyz is not None:
            findings += _xyz_disagrees(table, lab, xyz, file)
    else:
        assert xyz is not None
        lab, taken = xyz_to_lab(xyz), "xyz"
    _check_lab(lab, table, file)
    device, steps = _device(table, columns, file)
    if steps:
        units.append(steps)
    if units:
        findings.append(_units(units, file))
    names = _names(table, columns)
    return PatchValues(
        patches=tuple(
            ReadPatch(
                name=name,
                lab=_three(lab[index]),
                device=None if device is None else tuple(device[index].tolist()),
            )
            for index, name in enumerate(names)
        ),
        taken_from=taken,
        device_space=columns.device_space if device is not None else "",
        relative=_is_relative(table, lab),
        spectra=spectra,
        findings=tuple(findings),
    )


def _three(lab: Floats) -> tuple[float, float, float]:
    return (round(float(lab[0]), 6), round(float(lab[1]), 6), round(float(lab[2]), 6))


def _numbers(table: PatchTable, places: Sequence[int], file: str) -> Floats:
    return np.array(
        [
            [
                number_in(row[place], file=file, line=line, column=table.columns[place])
                for place in places
            ]
            for row, line in zip(table.rows, table.lines, strict=True)
        ]
    )


def _names(table: PatchTable, columns: Columns) -> list[str]:
    if columns.name is None:
        return [str(number) for number in range(1, len(table.rows) + 1)]
    return [row[columns.name].strip() for row in table.rows]


def _is_standard(table: PatchTable) -> bool:
    """Whether colour values are for D50 and 2 degrees, as far as the file says."""
    said = condition_said(table.keywords)
    return said.illuminant in ("", "D50") and said.observer in ("", "2")


def _spectra(table: PatchTable, values: Values, file: str, units: list[str]) -> Spectra | None:
    if values.waves:
        waves = np.array([nm for nm, _ in values.waves])
        shares = _numbers(table, [place for _, place in values.waves], file)
    elif values.wave_pairs:
        found = _numbers(table, [place for place, _ in values.wave_pairs], file)
        waves = found[0]
        if not np.allclose(found, waves, atol=0.01):
            raise bad_file(file, "its spectra stand on different wavelengths.")
        shares = _numbers(table, [place for _, place in values.wave_pairs], file)
    else:
        return None
    steps = np.diff(waves)
    if len(waves) < 8 or steps.min() <= 0 or steps.max() - steps.min() > 0.2:
        raise bad_file(file, "the wavelengths of its spectra are not evenly spaced.")
    if waves[0] > 400.0 or waves[-1] < 680.0:
        raise bad_file(
            file, f"its spectra run from {waves[0]:.0f} to {waves[-1]:.0f} nm.",
            "Measure from 400 nm or less to 700 nm or more.",
        )  # fmt: skip
    if float(shares.max()) > _SHARES_UP_TO:
        shares = shares / 100.0
        units.append("reflectance in per cent")
    return Spectra(
        wavelengths_nm=tuple(waves.tolist()), reflectance=tuple(tuple(r) for r in shares.tolist())
    )


def _lab_of(spectra: Spectra) -> Floats:
    """Lab D50 2° of spectra; samplings that the tables do not have are brought to 5 nm."""
    waves = np.array(spectra.wavelengths_nm)
    shares = np.array(spectra.reflectance)
    step = round(float(waves[1] - waves[0]), 2)
    table = spectral_weights("D50", "2", int(step) if step in STEPS_NM else STEPS_NM[0])
    if step not in STEPS_NM or not np.isin(waves.round(2), table.wavelengths_nm).all():
        table = spectral_weights("D50", "2", STEPS_NM[0])
        inside = (table.wavelengths_nm >= waves[0]) & (table.wavelengths_nm <= waves[-1])
        even = table.wavelengths_nm[inside]
        shares = np.array([np.interp(even, waves, row) for row in shares])
        waves = even
    inside = (waves >= table.wavelengths_nm[0]) & (waves <= table.wavelengths_nm[-1])
    return xyz_to_lab(spectra_to_xyz(shares[:, inside], waves[inside], table))


def _device(table: PatchTable, columns: Columns, file: str) -> tuple[Floats | None, str]:
    """Device values 0 to 1, and a word where their scale is not the usual one."""
    if not columns.device:
        return None, ""
    device = _numbers(table, columns.device, file)
    highest = float(device.max())
    if device.min() < 0.0 or highest > 65535.0:
        raise bad_file(file, "its device values are neither 0 to 100, 0 to 255 nor 0 to 65535.")
    if columns.device_space == "cmyk":
        return device / 100.0 if highest > 1.0 else device, ""
    for top in (1.0, 100.0, 255.0, 65535.0):
        if highest <= top:
            return device / top, "" if top in (1.0, 100.0) else f"device values from 0 to {top:.0f}"
    raise AssertionError


def _is_relative(table: PatchTable, lab: Floats) -> bool:
    base = " ".join(table.keywords.values()).lower()
    if "whitebase=pap" in base or "whitebase=rel" in base:
        return True
    lightest = lab[int(np.argmax(lab[:, 0]))]
    return bool(np.abs(lightest - [100.0, 0.0, 0.0]).max() < 0.05)


def _check_lab(lab: Floats, table: PatchTable, file: str) -> None:
    """Refuse what is no Lab of a print."""
    if float(lab[:, 0].max()) <= 1.2 and len(lab) > 2:
        raise bad_file(
            file, f"its L* reach {lab[:, 0].max():.2f}: that is not the scale of Lab, 0 to 100.",
            "Export Lab with L* from 0 to 100.",
        )  # fmt: skip
    bad = np.flatnonzero(
        (lab[:, 0] < -2.0) | (lab[:, 0] > 110.0) | (np.abs(lab[:, 1:]) > 200).any(1)
    )
    if bad.size:
        light, a, b = lab[bad[0]]
        raise bad_file(
            file,
            f"line {table.lines[bad[0]]}: {light:.1f}, {a:.1f}, {b:.1f} is no colour of a print.",
            "Look whether columns are shifted, or the scale is another.",
        )


def _units(units: Sequence[str], file: str) -> Finding:
    return finding(
        "readings-units",
        "fine",
        f"{file} has {joined(units)}.",
        "That was seen from the numbers, and they were brought to our scales.",
    )


def _xyz_disagrees(table: PatchTable, lab: Floats, xyz: Floats, file: str) -> list[Finding]:
    gap = delta_e_76(lab, xyz_to_lab(xyz))
    far = int(np.argmax(gap))
    if np.median(gap) < _DIFFER:
        return []
    return [
        finding(
            "readings-disagree",
            "caution",
            f"In {file} the Lab and XYZ columns disagree by ΔE {np.median(gap):.1f} on average, "
            f"most in line {table.lines[far]} ({gap[far]:.1f}).",
            "Lab is used; one of the two may be for another light, or relative to the paper.",
            "Export again with values for D50 and 2°.",
        )
    ]


def _light(table: PatchTable) -> str:
    said = condition_said(table.keywords)
    return f"{said.illuminant or 'D50'} and {said.observer or '2'}°"


def _recomputed(table: PatchTable, file: str) -> Finding:
    return finding(
        "readings-other-light",
        "fine",
        f"The colour values in {file} are for {_light(table)}.",
        "They are not used: Lab for D50 and 2° was computed from the spectra beside them.",
    )


def _other_light(table: PatchTable, file: str) -> ReadingError:
    return ReadingError(
        f"The values in {file} are for {_light(table)}, and there are no spectra.",
        "Profiles speak of D50 and 2°; without spectra the values cannot be converted.",
        "Export for D50 and 2°, or with spectra.",
        "readings-other-light",
    )
