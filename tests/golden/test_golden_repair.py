"""A golden print with a repair in it: kept as it was approved, and true by measures of others.

`sail-repaired-chalk-matte.png` was made by `python tests/golden/test_golden_repair.py`, looked at,
and kept. It holds the paper codes of the print file, its picture alone, small. A change that moves
it needs its reason in the commit. A failure writes expected, actual and difference to tests/out.
"""

from __future__ import annotations

import io
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from numpy.typing import NDArray
from PIL import Image, ImageCms

from firstsheet.cms.build import space_profile
from firstsheet.engine.colour.lab import lab_to_xyz
from firstsheet.engine.colour.spaces import SPACES
from firstsheet.engine.records.plan import Plan
from firstsheet.jobs.make import make_print

HERE = Path(__file__).parent
OUT = HERE.parents[0] / "out"
GOLDEN = HERE / "sail-repaired-chalk-matte.png"
WIDE, HIGH, SMALL = 320, 240, 160
TOP, BOTTOM, LEFT, RIGHT = 60, 180, 80, 208
CORE = (slice(TOP + 16, BOTTOM - 16), slice(LEFT + 16, RIGHT - 16))
TICKET = """\
picture = "sail.tif"
stock = "chalk-matte"

[print]
width = "100 mm"
sheet = "A5"

[detail]
sharpen = "off"
"""
REPAIR = """
[[repair]]
kind = "chroma"
box = [0.25, 0.2667, 0.65, 0.7333]
colour = [34, 58, -98]
reach = 6
strength = 0.9
"""

Floats = NDArray[np.float64]


def quiet(_doing: str, _share: float) -> None:
    """Progress nobody listens to."""


def never() -> None:
    """Nobody stops."""


def write_sail(folder: Path) -> None:
    """A grey quay wall and a sail of deep blue, drawn in lightness, that no matte paper holds."""
    y, x = np.mgrid[:HIGH, :WIDE].astype(np.float64)
    lab = np.zeros((HIGH, WIDE, 3))
    lab[..., 0] = 62.0 + 8.0 * np.sin(x / 23.0) * np.cos(y / 31.0)
    lab[..., 1:] = (1.5, 5.0)
    drawn = 5.0 * np.sin(x / 2.6) * np.cos(y / 3.1)
    sail = np.stack([34.0 + drawn, np.full_like(x, 58.0), np.full_like(x, -98.0)], axis=-1)
    lab[TOP:BOTTOM, LEFT:RIGHT] = sail[TOP:BOTTOM, LEFT:RIGHT]
    rgb = SPACES["display-p3"].from_xyz_d50(lab_to_xyz(lab)).clip(0, 1)
    tifffile.imwrite(
        folder / "sail.tif", np.rint(rgb * 65535).astype(np.uint16), photometric="rgb",
        iccprofile=space_profile("display-p3"),
    )  # fmt: skip


def printed(folder: Path, name: str, ticket: str) -> tuple[NDArray[np.uint16], bytes, Plan]:
    """The picture's part of the print file, its profile, and the plan."""
    (folder / f"{name}.toml").write_text(ticket, encoding="utf-8")
    out = folder / name
    make_print(
        folder / f"{name}.toml", {}, out=out, replace=False, stocks_dir=None, progress=quiet,
        stop=never,
    )  # fmt: skip
    with tifffile.TiffFile(out / "print.tif") as file:
        codes = file.asarray()
        profile = bytes(file.pages[0].tags[34675].value)
    plan = Plan.model_validate_json((out / "plan.json").read_text(encoding="utf-8"))
    top, left = plan.sheet.picture_top_px, plan.sheet.picture_left_px
    return codes[top : top + plan.size.height_px, left : left + plan.size.width_px], profile, plan


def small_codes(codes: NDArray[np.uint16]) -> Image.Image:
    """The codes in 8 bits, small."""
    image = Image.fromarray((codes / 257.0 + 0.5).astype(np.uint8))
    return image.resize((SMALL, SMALL * HIGH // WIDE), Image.Resampling.BOX)


def lab_of(image: Image.Image, profile: bytes) -> Floats:
    """Lab relative to the medium, by Little CMS through Pillow."""
    way = ImageCms.buildTransform(
        ImageCms.ImageCmsProfile(io.BytesIO(profile)), ImageCms.createProfile("LAB"), "RGB", "LAB",
        renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
    )  # fmt: skip
    lab = ImageCms.applyTransform(image, way)
    assert lab is not None
    bands = [np.asarray(one).astype(np.float64) for one in lab.split()]
    return np.stack([bands[0] / 2.55, bands[1] - 128.0, bands[2] - 128.0], axis=-1)


def lab_on_the_file(codes: NDArray[np.uint16], profile: bytes) -> Floats:
    """What a print shows, on the file's own raster: means of the printed pixels."""
    image = Image.fromarray((codes / 257.0 + 0.5).astype(np.uint8))
    lab = lab_of(image, profile)
    planes = [
        np.asarray(Image.fromarray(lab[..., at].astype(np.float32)).resize(
            (WIDE, HIGH), Image.Resampling.BOX
        ))
        for at in range(3)
    ]  # fmt: skip
    return np.stack(planes, axis=-1).astype(np.float64)


def oklab_hue_degrees(science: Any, lab: Floats) -> float:
    """Oklab hue of a mean colour, by colour-science: Lab D50, Bradford to D65, Oklab."""
    d50, d65 = np.array([0.9642, 1.0, 0.8249]), np.array([0.9504, 1.0, 1.0888])
    xyz = science.Lab_to_XYZ(lab, science.XYZ_to_xy(d50))
    seen = science.adaptation.chromatic_adaptation_VonKries(xyz, d50, d65, transform="Bradford")
    _, a, b = science.XYZ_to_Oklab(seen)
    return float(np.degrees(np.arctan2(b, a)))


def turn_degrees(science: Any, wanted: Floats, shown: Floats) -> float:
    one, two = (oklab_hue_degrees(science, lab[CORE].mean(axis=(0, 1))) for lab in (wanted, shown))
    return (two - one + 180.0) % 360.0 - 180.0


def separation(science: Any, lab: Floats) -> float:
    """Mean CIEDE2000 between places four pixels apart, by colour-science."""
    here = lab[CORE]
    return float(science.delta_E(here[:, 4:], here[:, :-4], method="CIE 2000").mean())


@pytest.fixture(scope="module")
def prints(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    folder = tmp_path_factory.mktemp("sail")
    write_sail(folder)
    plain = printed(folder, "plain", TICKET)[0]
    codes, profile, plan = printed(folder, "repaired", TICKET + REPAIR)
    with tifffile.TiffFile(folder / "sail.tif") as file:
        picture, its = file.asarray(), bytes(file.pages[0].tags[34675].value)
    return {
        "codes": codes,
        "profile": profile,
        "plan": plan,
        "plain_codes": plain,
        "wanted": lab_of(Image.fromarray((picture / 257.0 + 0.5).astype(np.uint8)), its),
        "plain": lab_on_the_file(plain, profile),
        "repaired": lab_on_the_file(codes, profile),
    }


@pytest.mark.golden
@pytest.mark.slow
def test_the_repaired_print_file_is_as_it_was_approved(
    prints: dict[str, Any], colour_science: Any
) -> None:
    actual = small_codes(prints["codes"])
    with Image.open(GOLDEN) as opened:
        expected = opened.convert("RGB")

    assert actual.size == expected.size
    one, two = (lab_of(image, prints["profile"]) for image in (expected, actual))
    gap = np.asarray(colour_science.delta_E(one, two, method="CIE 2000"))
    if gap.mean() > 0.3 or gap.max() > 4.0:
        OUT.mkdir(exist_ok=True)
        expected.save(OUT / "sail-expected.png")
        actual.save(OUT / "sail-actual.png")
        shown = np.clip(gap * 25.5, 0, 255).astype(np.uint8)
        Image.fromarray(shown).save(OUT / "sail-difference.png")
    assert gap.mean() <= 0.3
    assert gap.max() <= 4.0
    unrepaired = lab_of(small_codes(prints["plain_codes"]), prints["profile"])
    assert (
        colour_science.delta_E(one, unrepaired, method="CIE 2000").mean() > 0.5
    )  # it would be told


@pytest.mark.golden
@pytest.mark.slow
def test_the_print_file_itself_turns_less_and_keeps_more(
    prints: dict[str, Any], colour_science: Any
) -> None:
    # truth from outside: Little CMS reads the codes, colour-science measures hue and separation
    wanted, plain, repaired = (prints[one] for one in ("wanted", "plain", "repaired"))
    turns = [turn_degrees(colour_science, wanted, one) for one in (plain, repaired)]
    kept = [
        separation(colour_science, one) / separation(colour_science, wanted)
        for one in (plain, repaired)
    ]
    (told,) = prints["plan"].repairs

    assert abs(turns[0]) > 15.0
    assert abs(turns[1]) < 8.0
    assert kept[1] > kept[0] + 0.08
    assert turns[0] == pytest.approx(told.turn_before_degrees, abs=2.0)
    assert turns[1] == pytest.approx(told.turn_after_degrees, abs=2.0)
    assert kept[0] == pytest.approx(told.kept_before, abs=0.12)
    assert kept[1] == pytest.approx(told.kept_after, abs=0.12)
    far = np.ones((HIGH, WIDE), bool)
    far[TOP - 24 : BOTTOM + 24, LEFT - 24 : RIGHT + 24] = False
    moved = np.asarray(colour_science.delta_E(plain[far], repaired[far], method="CIE 2000"))
    assert moved.mean() < 0.2
    assert moved.max() < 1.5


if __name__ == "__main__":
    import tempfile

    with tempfile.TemporaryDirectory() as place:
        write_sail(Path(place))
        made = printed(Path(place), "repaired", TICKET + REPAIR)[0]
        small_codes(made).save(GOLDEN, optimize=True)
        sys.stdout.write(f"{GOLDEN.name}\n")
