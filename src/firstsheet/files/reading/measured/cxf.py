"""CxF/X (ISO 17972): patches with Lab, XYZ or spectra, each under a stated measuring condition.

Takes the file's bytes; gives one table, its columns named as the other kinds name them. The XML
is read by the CxF library. Tests: tests/files/measured/test_cxf.py.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from firstsheet.files.reading.measured.table import PatchTable, bad_file

__all__ = ["cxf_table", "looks_like_cxf"]

_MOST_OBJECTS = 100_000
_ILLUMINATIONS = {
    "M0_Incandescent": "M0",
    "M1_Daylight": "M1",
    "M2_UVExcluded": "M2",
    "M3_Polarized": "M3",
}


def looks_like_cxf(data: bytes) -> bool:
    """Whether the bytes are XML of this kind."""
    head = data[:4096].lstrip(b"\xef\xbb\xbf \t\r\n")
    return head.startswith(b"<") and b"CxF" in head


def cxf_table(data: bytes, file: str) -> PatchTable:
    """The patches of a file.

    Raises
    ------
    ReadingError
        If it is no CxF/X-3, or holds no measured patch.
    """
    if re.search(rb"<!(DOCTYPE|ENTITY)", data):
        raise bad_file(file, "it declares entities, which no readings need.")
    cxf = _parsed(data, file)
    resources = getattr(cxf, "resources", None)
    objects = getattr(getattr(resources, "object_collection", None), "object_value", None) or []
    if len(objects) > _MOST_OBJECTS:
        raise bad_file(file, f"there are more than {_MOST_OBJECTS} patches in it.")
    specifications = _specifications(resources)
    rows = [_row(one, specifications) for one in objects]
    rows = [row for row in rows if len(row) > 1]
    if not rows:
        raise bad_file(file, "there is no measured patch in it.")
    columns = tuple(dict.fromkeys(name for row in rows for name in row))
    return PatchTable(
        kind="cxf",
        columns=columns,
        rows=tuple(tuple(row.get(name, "") for name in columns) for row in rows),
        lines=tuple(range(1, len(rows) + 1)),
        keywords=_keywords(cxf, specifications),
    )


def _parsed(data: bytes, file: str) -> Any:
    from colour_cxf import read_cxf

    try:
        return read_cxf(data)
    except Exception as error:  # the parser's many kinds
        words = str(error).splitlines()[0][:120] if str(error) else type(error).__name__
        raise bad_file(file, f"it is not CxF/X-3: {words}.") from error


def _specifications(resources: Any) -> dict[str, Any]:
    held = getattr(resources, "color_specification_collection", None)
    return {one.id: one for one in getattr(held, "color_specification", None) or []}


def _row(item: Any, specifications: dict[str, Any]) -> dict[str, str]:
    """One object's values by column name."""
    row = {"SAMPLE_NAME": str(item.name or item.id or "")}
    for value in _values(item.color_values):
        kind, end = type(value).__name__, _condition(value, specifications)
        if kind == "ColorCielab":
            row |= _named(f"LAB_{{}}{end}", zip("LAB", (value.l, value.a, value.b), strict=True))
        elif kind == "ColorCiexyz":
            row |= _named(f"XYZ_{{}}{end}", zip("XYZ", (value.x, value.y, value.z), strict=True))
        elif kind == "ReflectanceSpectrum":
            row |= _spectrum(value, specifications, end)
        elif kind == "ColorSrgb":
            row |= _named("RGB_{}", zip("RGB", (value.r, value.g, value.b), strict=True))
    for value in _values(item.device_color_values):
        kind = type(value).__name__
        if kind == "ColorRgb":
            scale = 255.0 / (value.max_range or 255)
            row |= _named("RGB_{}", [(one, scale * getattr(value, one.lower())) for one in "RGB"])
        elif kind == "ColorCmyk":
            inks = (value.cyan, value.magenta, value.yellow, value.black)
            row |= _named("CMYK_{}", zip("CMYK", inks, strict=True))
    return row


def _values(held: Any) -> list[Any]:
    return list(getattr(held, "choice", None) or [])


def _named(pattern: str, values: Iterable[tuple[str, Any]]) -> dict[str, str]:
    return {pattern.format(one): repr(float(value)) for one, value in values if value is not None}


def _condition(value: Any, specifications: dict[str, Any]) -> str:
    device = getattr(_measurement(value, specifications), "device", None)
    light = getattr(getattr(device, "device_illumination", None), "value", None)
    condition = _ILLUMINATIONS.get(getattr(light, "value", ""), "")
    return f"_{condition}" if condition else ""


def _measurement(value: Any, specifications: dict[str, Any]) -> Any:
    specification = specifications.get(value.color_specification or "")
    return getattr(specification, "measurement_spec", None)


def _spectrum(value: Any, specifications: dict[str, Any], end: str) -> dict[str, str]:
    spread = getattr(_measurement(value, specifications), "wavelength_range", None)
    start = value.start_wl or getattr(spread, "start_wl", None)
    step = getattr(spread, "increment", None) or 10
    if start is None:
        return {}
    return {
        f"SPECTRAL_NM{start + index * step}{end}": repr(float(share))
        for index, share in enumerate(value.value)
    }


def _keywords(cxf: Any, specifications: dict[str, Any]) -> dict[str, str]:
    """What the file says of itself, under the names of ISO 28178."""
    said: dict[str, str] = {}
    information = getattr(cxf, "file_information", None)
    if information is not None:
        made = getattr(information.creation_date, "value", None)
        said["CREATED"] = "" if made is None else str(made)
        said["FILE_DESCRIPTOR"] = str(information.description or "")
    for one in specifications.values():
        light = getattr(one.tristimulus_spec, "illuminant_or_custom_illuminant", None)
        said["ILLUMINATION_NAME"] = getattr(getattr(light, "value", None), "value", "") or ""
        eye = getattr(getattr(one.tristimulus_spec, "observer", None), "value", None)
        said["OBSERVER_ANGLE"] = str(getattr(eye, "value", "")).split("_")[0]
        said["SAMPLE_BACKING"] = str(getattr(one.measurement_spec, "backing", None) or "")
        device = getattr(one.measurement_spec, "device", None)
        said["INSTRUMENTATION"] = str(getattr(device, "model", None) or "")
    return {name: text for name, text in said.items() if text}
