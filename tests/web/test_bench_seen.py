"""The look from where one stands: seen.png's own numbers, and those of the filters written out."""

from __future__ import annotations

import io
import threading
from pathlib import Path
from typing import Any

import imagecodecs
import numpy as np
import pytest
import tifffile
from imagecodecs import cms_profile, cms_transform
from numpy.typing import NDArray
from PIL import Image
from visitors import Json, Visitor, until, write_scan  # type: ignore[import-not-found]

from firstsheet.bench import viewing as bench_seen
from firstsheet.bench.levels import RowFile
from firstsheet.jobs import viewing_light as seen_light
from firstsheet.jobs.proof import proof_print
from firstsheet.store.stocks import get_stock, stock_profile_bytes

Floats = NDArray[np.float64]
SPREAD_MM = 0.045  # of matte, docs/theory/acutance.md
D50 = np.array([0.9642, 1.0, 0.8249])


def quiet(*_words: Any) -> None:
    """Nobody listens, nobody stops."""


@pytest.fixture
def draft(visitor: Visitor, harbour: Path) -> str:
    """A print of 60 mm on matte, seen from half a metre."""
    write_scan(harbour / "large.tif", 900, 675)
    name: str = visitor.open("large.tif")
    visitor.change(name, print__width="60 mm", print__sheet="A6", place__distance="50 cm")
    visitor.settled(name)
    return name


def looked(visitor: Visitor, draft: str) -> Json:
    """The view once the look from there is made."""
    visitor.get(f"/api/draft/{draft}/seen")

    def done() -> Json | None:
        view = visitor.get(f"/api/draft/{draft}")
        return None if view["seen"]["state"] in ("", "making") else view

    view = until(done)
    assert view["seen"]["state"] == "ready", view["seen"]
    return view


def assembled(visitor: Visitor, tiles: Json, z: int | None = None) -> NDArray[np.int64]:
    """All tiles of a level as one picture, exact."""
    z = tiles["zmax"] if z is None else z
    step = 2 ** (tiles["zmax"] - z)
    width, height = -(-tiles["width"] // step), -(-tiles["height"] // step)

    def tile(x: int, y: int) -> NDArray[Any]:
        url = tiles["url"].format(z=z, x=x, y=y).replace(".jpg", ".png")
        answer = visitor.client.get(url)
        assert answer.status_code == 200
        assert "immutable" in answer.headers["cache-control"]
        return np.asarray(Image.open(io.BytesIO(answer.content)))

    rows = [
        np.concatenate([tile(x, y) for x in range(-(-width // 512))], axis=1)
        for y in range(-(-height // 512))
    ]
    picture = np.concatenate(rows).astype(int)
    assert picture.shape == (height, width, 3)
    return picture


# ---- the command's numbers -------------------------------------------------------------------


@pytest.mark.parametrize("distance", ["50 cm", "1.5 m"])
def test_the_page_shows_the_pixels_of_seen_png(
    visitor: Visitor, draft: str, tmp_path: Path, distance: str
) -> None:
    visitor.change(draft, place__distance=distance)
    view = looked(visitor, draft)
    ticket = tmp_path / "as the page has it.toml"
    ticket.write_text(visitor.client.get(f"/api/draft/{draft}/ticket.toml").text)
    proof_print(
        ticket, {}, out=tmp_path / "proof", replace=False, stocks_dir=tmp_path / "stocks",
        progress=quiet, stop=quiet, seen=True,
    )  # fmt: skip
    on_table = imagecodecs.png_decode((tmp_path / "proof" / "seen.png").read_bytes()) / 257.0
    shown = assembled(visitor, view["tiles"]["seen"])
    height, width = shown.shape[:2]

    # The picture is looked for on its sheet, by its first pixel and then by all.
    first = np.abs(on_table[: 1 - height, : 1 - width] - shown[0, 0]).max(axis=-1) < 1.0
    gaps = [
        np.abs(on_table[y : y + height, x : x + width] - shown).max() for y, x in np.argwhere(first)
    ]
    assert min(gaps) < 1.0  # each is rounded once, by half a code of eight bits
    assert shown.std() > 10


# ---- the filters written out -----------------------------------------------------------------


def printed_light(visitor: Visitor, draft: str, folder: Path) -> Floats:
    """XYZ of the made print's picture, by the reference ICC engine."""
    made = visitor.made(visitor.post(f"/api/draft/{draft}/make", {})["job"])
    plan = visitor.client.get(made["files"]["plan.json"]).json()
    sheet, size = plan["sheet"], plan["size"]
    top, left = sheet["picture_top_px"], sheet["picture_left_px"]
    codes = tifffile.imread(folder / "print.tif")
    codes = codes[top : top + size["height_px"], left : left + size["width_px"]]
    paper = stock_profile_bytes(get_stock("chalk-matte"))
    light: Floats = cms_transform(
        codes / 65535.0, paper, cms_profile("xyz"), colorspace="rgb", outcolorspace="xyz",
        outdtype="f8", intent=1, flags=0x0100,
    )  # fmt: skip
    return light


def filtered(light: Floats, pitch_mm: float, distance_mm: float | None) -> Floats:
    """Ink as a Gaussian, the eye after Mannos and Sakrison (1974), from formula to pixels."""
    far = 200
    wide = np.pad(light, ((far, far), (far, far), (0, 0)), mode="edge")
    v, u = np.fft.fftfreq(wide.shape[0], pitch_mm), np.fft.fftfreq(wide.shape[1], pitch_mm)
    per_mm = np.sqrt(v[:, None] ** 2 + u[None, :] ** 2)
    response = np.exp(-2.0 * np.pi**2 * SPREAD_MM**2 * per_mm**2)
    if distance_mm is not None:
        f = np.maximum(per_mm * distance_mm * np.pi / 180.0, 7.891)
        peak = 0.980878  # A at 7.891 cycles/degree
        response *= 2.6 * (0.0192 + 0.114 * f) * np.exp(-((0.114 * f) ** 1.1)) / peak
    spectrum = np.fft.fft2(wide, axes=(0, 1)) * response[..., None]
    out: Floats = np.fft.ifft2(spectrum, axes=(0, 1)).real[far:-far, far:-far]
    return out


def on_screen(colour: Any, light: Floats) -> Floats:
    """Display P3 codes 0..255, by colour-science; Bradford from D50."""
    rgb = colour.XYZ_to_RGB(
        light, "Display P3", illuminant=colour.CCS_ILLUMINANTS[
            "CIE 1931 2 Degree Standard Observer"
        ]["D50"], chromatic_adaptation_transform="Bradford", apply_cctf_encoding=True,
    )  # fmt: skip
    return np.asarray(np.clip(rgb, 0.0, 1.0) * 255.0)


def test_both_looks_are_what_the_formulas_make_of_the_made_print(
    visitor: Visitor, draft: str, harbour: Path, colour_science: Any
) -> None:
    """From half a metre the raster is the print's own: nothing is averaged, all is exact."""
    visitor.change(draft, **{"output.proof-white": "screen"})
    view = looked(visitor, draft)
    light = printed_light(visitor, draft, harbour / "large-chalk-matte")
    assert view["tiles"]["seen"]["width"] == light.shape[1]
    pitch_mm = 25.4 / view["tiles"]["print"]["ppi"]
    for kind, distance_mm in (("inked", None), ("seen", 500.0)):
        truth = on_screen(colour_science, filtered(light, pitch_mm, distance_mm))
        gap = np.abs(assembled(visitor, view["tiles"][kind]) - truth)[8:-8, 8:-8]
        assert np.percentile(gap, 99.9) < 1.1, kind
        assert gap.max() < 2.5, kind
    # What the two take away is not the same, or the test would not tell.
    inked, seen = (assembled(visitor, view["tiles"][kind]) for kind in ("inked", "seen"))
    assert np.abs(np.diff(inked, axis=1)).mean() > 1.2 * np.abs(np.diff(seen, axis=1)).mean()


def test_from_farther_away_the_averaged_look_is_that_of_all_pixels(
    visitor: Visitor, draft: str, harbour: Path, colour_science: Any
) -> None:
    """Every third pixel of the filters over the whole print, square print pixels included."""
    visitor.change(draft, **{"output.proof-white": "screen", "place.distance": "1.2 m"})
    view = looked(visitor, draft)
    light = printed_light(visitor, draft, harbour / "large-chalk-matte")
    pitch_mm = 25.4 / view["tiles"]["print"]["ppi"]
    shown = assembled(visitor, view["tiles"]["seen"])
    step = round(light.shape[1] / shown.shape[1])
    assert step == 3
    middles = filtered(light, pitch_mm, 1200.0)[step // 2 :: step, step // 2 :: step]
    truth = on_screen(colour_science, middles[: shown.shape[0], : shown.shape[1]])
    gap = np.abs(shown - truth)[8:-8, 8:-8]
    assert np.percentile(gap, 99) < 2.5
    assert gap.mean() < 0.5


def test_coarser_levels_are_means_of_light(visitor: Visitor, draft: str) -> None:
    def linear(codes: NDArray[Any]) -> Floats:  # IEC 61966-2-1
        c = codes / 255.0
        return np.asarray(np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4))

    view = looked(visitor, draft)
    tiles = view["tiles"]["inked"]
    assert tiles["zmax"] == 1
    fine, coarse = (linear(assembled(visitor, tiles, z)) for z in (1, 0))
    rim = ((0, fine.shape[0] % 2), (0, fine.shape[1] % 2), (0, 0))
    fine = np.pad(fine, rim, mode="edge")
    means = (fine[::2, ::2] + fine[1::2, ::2] + fine[::2, 1::2] + fine[1::2, 1::2]) / 4
    assert np.abs(coarse - means).max() < 0.012  # codes are whole numbers


@pytest.mark.parametrize("kind", ["print-inked", "print-unsharpened-inked"])
def test_up_close_ink_spreads_over_the_print_files_own_pixels(
    visitor: Visitor, draft: str, harbour: Path, kind: str, colour_science: Any
) -> None:
    visitor.change(draft, **{"output.proof-white": "screen"})
    tiles = visitor.settled(draft)["tiles"][kind]
    shown = assembled(visitor, tiles)
    if "unsharpened" in kind:  # the same print, made without sharpening
        visitor.change(draft, **{"detail.sharpen": "off"})
        visitor.settled(draft)
    light = printed_light(visitor, draft, harbour / "large-chalk-matte")
    truth = on_screen(colour_science, filtered(light, 25.4 / tiles["ppi"], None))
    gap = np.abs(shown - truth)[20:-20, 20:-20]
    assert np.percentile(gap, 99.9) < 1.2
    assert gap.max() < 3.0


# ---- when it is made, and thrown away --------------------------------------------------------


def test_nothing_is_made_until_it_is_looked_at_and_a_new_plan_throws_it_away(
    visitor: Visitor, draft: str, tmp_path: Path
) -> None:
    view = visitor.settled(draft)
    assert view["seen"]["state"] == ""
    assert "45 µm" in view["seen"]["ink"]
    assert not {"seen", "inked"} & set(view["tiles"])
    first = looked(visitor, draft)["tiles"]
    assert {"seen", "inked"} <= set(first)
    visitor.change(draft, place__distance="2 m")
    view = visitor.settled(draft)
    assert view["seen"]["state"] == ""
    assert not {"seen", "inked"} & set(view["tiles"])
    gone = visitor.client.get(first["seen"]["url"].format(z=0, x=0, y=0))
    assert gone.status_code == 404
    again = looked(visitor, draft)["tiles"]
    assert again["seen"]["url"] != first["seen"]["url"]
    assert visitor.client.get(again["seen"]["url"].format(z=0, x=0, y=0)).status_code == 200
    visitor.post(f"/api/draft/{draft}/undo")
    back = looked(visitor, draft)["tiles"]
    assert back["seen"]["url"] == first["seen"]["url"]
    assert visitor.client.get(back["seen"]["url"].format(z=0, x=0, y=0)).status_code == 200
    assert list((tmp_path / "state" / "levels").iterdir()) == []  # its files have no name


def test_while_it_is_made_everything_else_is_answered_and_a_change_ends_it(
    visitor: Visitor, draft: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, go_on, ended = threading.Event(), threading.Event(), threading.Event()
    whole = seen_light.print_light

    def slowly(*args: Any, stop: Any, **words: Any) -> Any:
        begun.set()
        assert go_on.wait(60)
        try:
            return whole(*args, stop=stop, **words)
        finally:
            ended.set()

    monkeypatch.setattr(bench_seen, "print_light", slowly)
    assert visitor.get(f"/api/draft/{draft}/seen")["state"] == "making"
    assert begun.wait(60)
    view = visitor.get(f"/api/draft/{draft}")
    assert view["seen"]["state"] == "making"
    tile = visitor.client.get(view["tiles"]["print-inked"]["url"].format(z=0, x=0, y=0))
    assert tile.status_code == 200
    assert visitor.get(f"/api/draft/{draft}/seen")["state"] == "making"  # not begun twice
    view = visitor.change(draft, place__distance="80 cm")
    assert view["seen"]["state"] == ""
    go_on.set()
    assert ended.wait(60)
    monkeypatch.undo()
    assert looked(visitor, draft)["seen"]["state"] == "ready"


def test_a_full_disk_is_told_and_asking_again_makes_it(
    visitor: Visitor, draft: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_args: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(RowFile, "write", full)
    visitor.get(f"/api/draft/{draft}/seen")

    def failed() -> Json | None:
        view = visitor.get(f"/api/draft/{draft}")
        return view if view["seen"]["state"] == "failed" else None

    view = until(failed)
    assert "(No space left on device)" in view["seen"]["error"]["found"]
    assert view["seen"]["error"]["consequence"].startswith("Nothing is lost.")
    assert not {"seen", "inked"} & set(view["tiles"])
    monkeypatch.undo()
    assert looked(visitor, draft)["seen"]["state"] == "ready"
