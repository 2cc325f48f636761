"""A reading: the measured patches of one real print, and what they were measured under.

Data only. Colours are CIELAB D50, 2 degree observer, absolute unless `relative` says otherwise;
device values and reflectances run 0 to 1. Read by `files.reading.measured`.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from firstsheet.engine.records.base import Record

__all__ = ["Condition", "DeviceSpace", "Illumination", "ReadPatch", "Reading", "Spectra"]

# ISO 13655: M0 lamp with unknown UV, M1 D50 with its UV, M2 UV cut, M3 polarised; "": not said
Illumination = Literal["M0", "M1", "M2", "M3", ""]
DeviceSpace = Literal["grey", "rgb", "cmyk", ""]


class Condition(Record):
    """How it was measured, as far as the file says."""

    illumination: Illumination = ""
    illuminant: str = ""  # of the colour values as they stood in the file: D50, D65, A ...
    observer: Literal["2", "10", ""] = ""  # degrees, of those values
    backing: Literal["white", "black", ""] = ""
    instrument: str = ""
    geometry: str = ""


class Spectra(Record):
    """Reflectance of every patch, in the order of the patches."""

    wavelengths_nm: tuple[float, ...]  # evenly spaced, rising
    reflectance: tuple[tuple[float, ...], ...]  # (patches, wavelengths), 1 = perfect white


class ReadPatch(Record):
    """One patch as it was read."""

    name: str  # as the file calls it; its number where it has no name
    lab: tuple[float, float, float]
    device: tuple[float, ...] | None = None  # what was printed, if the file says so


class Reading(Record):
    """Everything read of one sheet at one time."""

    file: str
    sha256: str
    kind: Literal["cgats", "cxf", "csv"]
    title: str = ""
    made_at: str = ""  # ISO date or date and time, as the file says; empty where it does not
    values_from: Literal["lab", "xyz", "spectra"]  # what Lab was taken from
    device_space: DeviceSpace = ""
    condition: Condition = Condition()
    relative: bool = False  # to the paper: paper reads 100, 0, 0
    patches: tuple[ReadPatch, ...] = Field(min_length=1)
    spectra: Spectra | None = None
