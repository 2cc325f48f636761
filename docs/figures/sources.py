"""Where figures find what others published: tables of tests/published, and reference libraries.

Numbers of others are read here and never typed into a figure.
"""

from __future__ import annotations

import csv
import io
import sys
import warnings
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms

from firstsheet.cms.build import space_profile
from firstsheet.cms.chain import build_chain
from firstsheet.engine.detail.survey import Survey, choose_tiles
from firstsheet.engine.records import Intent
from firstsheet.engine.records.plan import SharpenPlan
from firstsheet.pixels.native import kernel
from firstsheet.pixels.sharpening import sharpen_tables
from firstsheet.store.stocks import get_stock, stock_profile_bytes

__all__ = [
    "ROOT",
    "by_iccdev",
    "by_little_cms",
    "colour_science",
    "dust_maker",
    "looked_through",
    "made_scans",
    "paper",
    "press",
    "printed_by",
    "published",
    "through_kernel",
]

ROOT: Final = Path(__file__).parents[2]


def published(name: str) -> list[dict[str, str]]:
    """The rows of a table in tests/published."""
    lines = (ROOT / "tests" / "published" / name).read_text(encoding="utf-8").splitlines()
    rows = [line for line in lines if not line.startswith("#")]
    return list(csv.DictReader(rows))


def colour_science() -> Any:
    """The colour-science library; its import warns, and changes how NumPy prints numbers."""
    options = np.get_printoptions()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    np.set_printoptions(**options)
    return colour


def made_scans() -> Any:
    """The maker of scans whose truth is known, as the tests use it."""
    place = str(ROOT / "tests" / "engine" / "detail")
    if place not in sys.path:
        sys.path.insert(0, place)
    import scanmaker  # type: ignore[import-not-found]

    return scanmaker


def paper(stock: str) -> bytes:
    """The profile of a demo stock."""
    return stock_profile_bytes(get_stock(stock))


def press() -> bytes:
    """The press profile that libvips carries, built from published measurements."""
    import pyvips

    return bytes(pyvips.Operation.call("profile_load", "cmyk"))


def printed_by(profile: bytes, *, intent: Intent = "relative", black_point: bool = True) -> Any:
    """What a paper shows of colours, Lab to Lab, by our own chain."""
    chain = build_chain(
        source_profile=b"",
        colour_model="lab",
        paper_profile=profile,
        intent=intent,
        black_point=black_point,
    )

    def printed(lab: Any) -> Any:
        return chain.printed_lab(chain.device_from_lab(chain.aim_from_wanted(lab)))

    return printed


def by_little_cms(
    codes: NDArray[np.uint8], profile: bytes, *, channels: str = "RGB", black_point: bool = False
) -> NDArray[np.float64]:
    """Printed Lab of sRGB codes, (n, 3), by Little CMS through Pillow: 8 bits, relative."""
    srgb, lab = ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB")
    opened = ImageCms.ImageCmsProfile(io.BytesIO(profile))
    relative = ImageCms.Intent.RELATIVE_COLORIMETRIC
    plain = ImageCms.Flags.NOOPTIMIZE
    flags = plain | ImageCms.Flags.BLACKPOINTCOMPENSATION if black_point else plain
    onto = ImageCms.buildTransform(srgb, opened, "RGB", channels, relative, flags)
    back = ImageCms.buildTransform(opened, lab, channels, "LAB", relative, plain)
    picture = Image.fromarray(np.ascontiguousarray(codes[None]))
    printed = ImageCms.applyTransform(picture, onto)
    assert printed is not None
    shown = ImageCms.applyTransform(printed, back)
    assert shown is not None
    told = np.asarray(shown)[0].astype(np.float64)
    signed = np.where(told[:, 1:] > 127, told[:, 1:] - 256, told[:, 1:])
    return np.column_stack([told[:, 0] * 100.0 / 255.0, signed])


def looked_through(plane: NDArray[Any]) -> Survey:
    """The parts of a made scan that are worth measuring."""
    height, width = plane.shape
    return choose_tiles(
        width, height, lambda top, bottom, left, right: plane[top:bottom, left:right]
    )


def dust_maker() -> Any:
    """The planter of dust of known place, as the tests use it."""
    made_scans()
    import dustmaker  # type: ignore[import-not-found]

    return dustmaker


def by_iccdev(encoded: NDArray[np.float64], profile: bytes) -> NDArray[np.float64]:
    """Printed Lab of sRGB values 0..1, (n, 3), on an RGB paper by the ICC's own reference code."""
    import iccdev

    relative, linear = iccdev.RenderingIntent.RelativeColorimetric, iccdev.Interpolation.Linear
    with TemporaryDirectory() as folder:
        source, paper_at = Path(folder, "source.icc"), Path(folder, "paper.icc")
        source.write_bytes(space_profile("srgb"))
        paper_at.write_bytes(profile)

        def through(values: Any, end: Any, *steps: tuple[Path, Any]) -> Any:
            with iccdev.IccCmm(iccdev.ColorSpace.Unknown, end, True) as cmm:
                for path, reading in steps:
                    cmm.attach(str(path), intent=relative, interp=reading)
                cmm.begin()
                return np.asarray(cmm.apply_ndarray(values.astype(np.float32)), dtype=np.float64)

        device = through(encoded, iccdev.ColorSpace.Unknown, (source, linear), (paper_at, linear))
        back = (paper_at, iccdev.Interpolation.Tetrahedral)
        lab = through(device, iccdev.ColorSpace.Lab, back)
    return np.asarray(lab * (100.0, 255.0, 255.0) - (0.0, 128.0, 128.0))


def through_kernel(lightness: Any, plan: SharpenPlan) -> Any:
    """A small plane of L* through the kernel that makes prints."""
    tables = sharpen_tables(plan)
    assert tables is not None
    height, width = lightness.shape
    plane = np.ascontiguousarray(lightness, np.float32)
    scratch = np.empty(tables.scratch(height, 256), np.float32)
    rows = np.arange(-tables.margin, height + tables.margin).clip(0, height - 1)
    after = np.empty((height, width), np.float32)
    kernel("sharpen")(
        plane.ctypes.data, width, rows.ctypes.data, height, tables.bell.ctypes.data,
        tables.radius, tables.soft.ctypes.data, tables.numbers.ctypes.data,
        scratch.ctypes.data, after.ctypes.data,
    )  # fmt: skip
    return after.astype(np.float64)
