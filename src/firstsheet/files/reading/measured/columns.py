"""What the columns of a readings file are, by their names.

Takes names as instruments' programs write them (`LAB_L`, `XYZ_X`, `SPECTRAL_NM400`, `nm400`,
`SPEC_400`, `L*`, `400`); gives the places of names, device values, Lab, XYZ and spectra, apart
for each measuring condition. Tests: tests/files/measured/test_columns.py.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import get_args

from firstsheet.engine.records.reading import DeviceSpace, Illumination

__all__ = ["Columns", "Values", "columns_in"]

_NAMES = ("SAMPLE_NAME", "PATCH_NAME", "NAME", "SAMPLE_LOC", "LOCATION", "PATCH", "LABEL",
          "SAMPLE_ID", "SAMPLEID", "SAMPLE", "ID", "NO", "NR", "INDEX", "#")  # fmt: skip
_WAVE = re.compile(
    r"^(?:SPECTRAL_?(?:NM_?|DEC_?|PCT_?)?|NM_?|SPEC_?|R_?|LAMBDA_?)?"
    r"([2-9]\d\d|1\d\d\d)(?:[.,](\d+))?_?(?:NM)?$"
)
_CONDITION = re.compile(r"(?:^|_)(M[0-3])(?=_|$)")
_LONG = {
    **{f"{head}_{one}": one for head in ("LAB", "CIELAB", "CIE") for one in "LAB"},
    **{f"{head}_{one}": one for head in ("XYZ", "CIEXYZ") for one in "XYZ"},
}
_DEVICE = {
    **{f"RGB_{one}": ("rgb", one) for one in "RGB"},
    **{f"DEVICE_{one}": ("rgb", one) for one in "RGB"},
    **{f"CMYK_{one}": ("cmyk", one) for one in "CMYK"},
    **dict.fromkeys(("GRAY", "GREY", "GRAY_W", "GREY_W", "K_GRAY"), ("grey", "W")),
    "CYAN": ("cmyk", "C"), "MAGENTA": ("cmyk", "M"), "YELLOW": ("cmyk", "Y"),
    "BLACK": ("cmyk", "K"), "RED": ("rgb", "R"), "GREEN": ("rgb", "G"), "BLUE": ("rgb", "B"),
}  # fmt: skip
_CHANNELS: dict[DeviceSpace, str] = {"rgb": "RGB", "cmyk": "CMYK", "grey": "W"}


@dataclass(frozen=True)
class Values:
    """Where the measured values of one condition stand; empty where there are none."""

    lab: tuple[int, ...] = ()
    xyz: tuple[int, ...] = ()
    waves: tuple[tuple[float, int], ...] = ()  # nm and place, rising
    wave_pairs: tuple[tuple[int, int], ...] = ()  # columns that hold nm, and the value beside

    @property
    def any(self) -> bool:
        """Whether something can be taken from here."""
        return bool(self.lab or self.xyz or self.waves or self.wave_pairs)


@dataclass(frozen=True)
class Columns:
    """Where everything stands in a row."""

    name: int | None = None
    device_space: DeviceSpace = ""
    device: tuple[int, ...] = ()
    values: dict[Illumination, Values] = field(default_factory=dict)
    ambiguous: str = ""  # a column that could be two things

    @property
    def measured(self) -> bool:
        """Whether there is anything measured."""
        return bool(self.values) or bool(self.ambiguous)


@dataclass
class _Found:
    """Columns by letter, while they are collected."""

    lab: dict[str, int] = field(default_factory=dict)
    xyz: dict[str, int] = field(default_factory=dict)
    waves: dict[float, int] = field(default_factory=dict)
    bare: dict[str, int] = field(default_factory=dict)  # single letters, as written


def columns_in(names: Sequence[str]) -> Columns:
    """Understand a header.

    Examples
    --------
    >>> columns_in(["SAMPLE_ID", "LAB_B", "LAB_A", "LAB_L"]).values[""].lab
    (3, 2, 1)
    >>> columns_in(["R", "G", "B", "L", "a", "b"]).device
    (0, 1, 2)
    """
    plain = [_plain(name) for name in names]
    device: dict[str, dict[str, int]] = {}
    found: dict[Illumination, _Found] = {}
    for index, (name, written) in enumerate(zip(plain, names, strict=True)):
        bare, condition = _apart(name)
        held = found.setdefault(condition, _Found())
        wave = _WAVE.match(bare)
        long = bare.rstrip("*")
        if long in _LONG:
            (held.xyz if long.split("_")[0].endswith("XYZ") else held.lab)[_LONG[long]] = index
        elif bare in _DEVICE:
            space, channel = _DEVICE[bare]
            device.setdefault(space, {})[channel] = index
        elif wave:
            held.waves[float(f"{wave[1]}.{wave[2] or 0}")] = index
        elif len(bare.rstrip("*")) == 1:
            held.bare.setdefault(_letter(written), index)
    ambiguous = ""
    for condition, held in found.items():
        ambiguous = _settle_letters(held, device if not condition else {}) or ambiguous
    pairs = _wave_pairs(plain)
    values = {
        condition: one
        for condition, held in found.items()
        if (one := _values(held, pairs if not condition else ())).any
    }
    space, channels = _device_columns(device)
    name_at = next((plain.index(one) for one in _NAMES if one in plain), None)
    return Columns(name_at, space, channels, values, ambiguous)


def _plain(name: str) -> str:
    cleaned = re.sub(r"[()\[\]{}'\"]", " ", name.strip()).strip()
    apart = re.sub(r"\.(?!\d)", " ", cleaned)  # a point inside a number stays
    return re.sub(r"[\s\-/]+", "_", apart.strip()).upper().strip("_")


def _letter(written: str) -> str:
    """The one letter of a name, as it is written."""
    return re.sub(r"[mM][0-3]|[^A-Za-z]", "", written)[:1]


def _apart(name: str) -> tuple[str, Illumination]:
    """A name without its measuring condition, and the condition."""
    match = _CONDITION.search(name)
    if match is None:
        return name, ""
    rest = re.sub("_+", "_", name[: match.start()] + "_" + name[match.end() :]).strip("_")
    condition = next(one for one in get_args(Illumination) if one == match[1])
    return rest, condition


def _settle_letters(held: _Found, device: dict[str, dict[str, int]]) -> str:
    """Give single letters to the set they complete; says which could belong to two."""
    bare = dict(held.bare)
    upper = {letter.upper(): index for letter, index in bare.items()}
    if {"L", "a", "b"} <= set(bare):
        held.lab |= {"L": bare.pop("L"), "A": bare.pop("a"), "B": bare.pop("b")}
    if set("RGB") <= set(bare) and not device.get("rgb"):
        device["rgb"] = {one: bare.pop(one) for one in "RGB"}
    wants_xyz, wants_cmyk = set("XZ") <= set(upper), set("CMK") <= set(upper)
    if wants_xyz and wants_cmyk and not {"y", "Y"} <= set(bare):
        return "Y"
    if wants_cmyk and not device.get("cmyk") and "Y" in upper:
        device["cmyk"] = {one: upper[one] for one in "CMYK"}
    elif wants_xyz and "Y" in upper:
        held.xyz |= {one: upper[one] for one in "XYZ"}
    left = {letter.upper(): index for letter, index in bare.items()}
    if not held.lab and set("LAB") <= set(left):
        held.lab |= {one: left[one] for one in "LAB"}
    return ""


def _wave_pairs(plain: Sequence[str]) -> tuple[tuple[int, int], ...]:
    """Columns SPECTRAL_NM and SPECTRAL_PCT (or _DEC) in turns, as ISO 28178 also has them."""
    waves = [index for index, name in enumerate(plain) if name == "SPECTRAL_NM"]
    shares = [
        index
        for index, name in enumerate(plain)
        if name in ("SPECTRAL_PCT", "SPECTRAL_DEC", "SPECTRAL_VALUE")
    ]
    return tuple(zip(waves, shares, strict=True)) if len(waves) == len(shares) else ()


def _values(held: _Found, pairs: tuple[tuple[int, int], ...]) -> Values:
    waves = tuple(sorted(held.waves.items())) if len(held.waves) >= 8 else ()
    return Values(
        lab=tuple(held.lab[one] for one in "LAB") if set("LAB") <= set(held.lab) else (),
        xyz=tuple(held.xyz[one] for one in "XYZ") if set("XYZ") <= set(held.xyz) else (),
        waves=waves,
        wave_pairs=pairs,
    )


def _device_columns(device: dict[str, dict[str, int]]) -> tuple[DeviceSpace, tuple[int, ...]]:
    for space, letters in _CHANNELS.items():
        held = device.get(space, {})
        if set(letters) <= set(held):
            return space, tuple(held[one] for one in letters)
    return "", ()
