"""The two readings of a picture's lightness that detail and dust are measured on."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from numpy.typing import NDArray

from firstsheet.cms.build import grey_profile, space_profile
from firstsheet.files.reading.opening import open_picture
from firstsheet.jobs.planning.detail import readers


def quiet(*_: object) -> None:
    """Nobody listens."""


def read(path: Path) -> tuple[NDArray[Any], NDArray[Any]]:
    """All of a picture by both readers."""
    with open_picture(path, progress=quiet, stop=quiet) as opened:
        size = 0, opened.source.height_px, 0, opened.source.width_px
        true, quick = readers(opened, progress=quiet, stop=quiet)
        return true(*size), quick(*size)


def lightness_of_srgb(codes: NDArray[Any], colour: Any) -> NDArray[np.float64]:
    """L* against D50, by colour-science: IEC 61966-2-1, Bradford, CIE 15."""
    shares = codes / np.iinfo(codes.dtype).max
    d50 = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"]
    xyz = colour.RGB_to_XYZ(
        shares, "sRGB", illuminant=d50,
        chromatic_adaptation_transform="Bradford", apply_cctf_decoding=True,
    )  # fmt: skip
    lightness: NDArray[np.float64] = colour.lightness(100.0 * xyz[..., 1], method="CIE 1976")
    return lightness


@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
def test_colours_are_as_light_as_colour_science_says(
    tmp_path: Path, dtype: Any, colour_science: Any
) -> None:
    """More pixels than are worked on at a time, and no multiple of them."""
    top = np.iinfo(dtype).max
    chance = np.random.default_rng(3)
    codes = chance.integers(0, top + 1, (211, 173, 3)).astype(dtype)
    pale = chance.uniform(0.1, 0.9, (100, 173, 1)) + chance.uniform(-0.1, 0.1, (100, 173, 3))
    codes[:100] = np.rint(pale * top)
    tifffile.imwrite(
        tmp_path / "noise.tif", codes, photometric="rgb", iccprofile=space_profile("srgb")
    )

    true, quick = read(tmp_path / "noise.tif")

    aim = lightness_of_srgb(codes, colour_science)
    assert np.abs(true - aim).max() < 0.02
    off = np.abs(quick - aim)[:100]  # of pale colours; the darkest are vivid all the same
    assert off.max() < 5.0
    assert off.mean() < 0.5


@pytest.mark.parametrize("grey", [False, True])
def test_greys_are_read_alike(tmp_path: Path, grey: bool, colour_science: Any) -> None:
    """A ramp of all codes; grey files by the power of their profile."""
    codes = np.arange(65536, dtype=np.uint16).reshape(256, 256)
    if grey:
        profile = grey_profile("grey-gamma-2.2")
        tifffile.imwrite(tmp_path / "ramp.tif", codes, iccprofile=profile)
        aim = colour_science.lightness(100.0 * (codes / 65535.0) ** 2.2, method="CIE 1976")
    else:
        three = np.repeat(codes[..., None], 3, axis=-1)
        profile = space_profile("srgb")
        tifffile.imwrite(tmp_path / "ramp.tif", three, photometric="rgb", iccprofile=profile)
        aim = lightness_of_srgb(three, colour_science)

    true, quick = read(tmp_path / "ramp.tif")

    assert np.abs(true - aim).max() < 0.02
    assert np.abs(quick - aim).max() < 0.15
