"""Soft proofs against values of another engine, and what must hold on every paper."""

import csv
import io
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageCms

from firstsheet.cms.build import space_profile
from firstsheet.cms.chain import Chain, build_chain
from firstsheet.engine.errors import StoppedError
from firstsheet.engine.records import Intent, MarginsMm
from firstsheet.engine.records.plan import SheetPlan, SizePlan
from firstsheet.pixels.proof import (
    ProofWhite,
    proof_caption,
    proof_on_sheet,
    proof_picture,
    screen_rgb,
    show_printed,
)

PAPERS = ("glossy_synthetic_v4", "matte_synthetic_v2", "newsprint_synthetic_v2_lut8")

PUBLISHED = Path(__file__).parents[1] / "published" / "press_soft_proof.csv"
LINES = PUBLISHED.read_text(encoding="utf-8").splitlines()
PRESS = list(csv.DictReader(line for line in LINES if not line.startswith("#")))


def three(row: dict[str, str], name: str) -> list[float]:
    return [float(row[f"{name}_{letter}" if name else letter]) for letter in "rgb"]


@pytest.fixture(scope="module")
def press() -> bytes:
    """A CMYK output profile in the public domain, carried by libvips."""
    pyvips = pytest.importorskip("pyvips")
    return bytes(pyvips.Operation.call("profile_load", "cmyk"))


def paper(name: str) -> bytes:
    return (files("firstsheet") / "data" / "papers" / f"{name}.icc").read_bytes()


def chain_for(
    name: str, intent: Intent = "relative", *, black_point: bool = True, source: str = "srgb"
) -> Chain:
    return build_chain(
        source_profile=space_profile(source),
        colour_model="rgb",
        paper_profile=paper(name),
        intent=intent,
        black_point=black_point,
    )


@pytest.mark.published
@pytest.mark.parametrize(
    "row", PRESS, ids=["-".join([row["r"], row["g"], row["b"]]) for row in PRESS]
)
@pytest.mark.parametrize("black_point", [False, True])
@pytest.mark.parametrize("white", ["paper", "screen"])
def test_a_press_proof_meets_the_other_engine(
    row: dict[str, str], black_point: bool, white: ProofWhite, srgb_profile: bytes, press: bytes
) -> None:
    chain = build_chain(
        source_profile=srgb_profile,
        colour_model="rgb",
        paper_profile=press,
        intent="relative",
        black_point=black_point,
    )
    source = np.array(three(row, "")) / 255
    expected = three(row, f"{white}_{'bpc' if black_point else 'plain'}")

    shown = screen_rgb(chain.printed_lab(chain.device(source)), chain, space="srgb", white=white)

    assert np.clip(shown, 0, 1) * 255 == pytest.approx(expected, abs=0.1)


@pytest.mark.needs_tool
@pytest.mark.parametrize("name", PAPERS)
def test_bare_paper_is_what_pillows_engine_shows(name: str) -> None:
    transform = ImageCms.buildTransform(
        ImageCms.ImageCmsProfile(io.BytesIO(paper(name))),
        ImageCms.createProfile("sRGB"),
        "RGB",
        "RGB",
        renderingIntent=ImageCms.Intent.ABSOLUTE_COLORIMETRIC,
        flags=ImageCms.Flags.NOOPTIMIZE,
    )
    white = ImageCms.applyTransform(Image.new("RGB", (1, 1), (255, 255, 255)), transform)
    assert white is not None

    proof = proof_picture(np.ones((1, 1, 3)), chain_for(name), space="srgb")

    assert np.array(proof.bare_paper) / 257 == pytest.approx(white.getpixel((0, 0)), abs=1.0)


@pytest.mark.parametrize("name", PAPERS)
@pytest.mark.parametrize("space", ["srgb", "display-p3"])
def test_showing_the_paper_darkens_white_and_without_it_white_is_full(
    name: str, space: Any
) -> None:
    picture = np.ones((2, 3, 3))

    shown = proof_picture(picture, chain_for(name), space=space, white="paper")
    plain = proof_picture(picture, chain_for(name), space=space, white="screen")

    assert max(shown.bare_paper) < 65535
    assert plain.bare_paper == (65535, 65535, 65535)


@pytest.mark.parametrize("name", PAPERS)
def test_perceptual_and_relative_agree_on_white(name: str) -> None:
    white = np.ones((1, 1, 3))

    one = proof_picture(white, chain_for(name, "perceptual"), white="screen").rgb / 257
    two = proof_picture(white, chain_for(name, "relative"), white="screen").rgb / 257

    assert one == pytest.approx(two, abs=1.5)


@pytest.mark.parametrize("name", PAPERS)
def test_compensation_never_darkens_a_shadow(name: str) -> None:
    shadows = np.repeat(np.linspace(0, 0.2, 12)[None, :, None], 3, axis=2)

    bare = proof_picture(shadows, chain_for(name, black_point=False)).rgb.astype(float)
    lifted = proof_picture(shadows, chain_for(name)).rgb.astype(float)

    assert (lifted[..., 1] >= bare[..., 1] - 257).all()
    assert lifted[..., 1].sum() > bare[..., 1].sum()


def test_what_the_screen_cannot_show_is_counted() -> None:
    chain = chain_for("glossy_synthetic_v4", source="a98-rgb")
    picture = np.full((10, 10, 3), 0.5)
    inside = proof_picture(picture, chain, space="srgb")
    picture[:3] = (0.0, 0.62, 0.85)  # its printed cyan lies outside sRGB

    partly = proof_picture(picture, chain, space="srgb")

    assert inside.out_of_screen_percent == 0.0
    assert partly.out_of_screen_percent == pytest.approx(30.0)
    assert partly.rgb[:3, :, 0].max() == 0


def test_bands_join_without_a_seam() -> None:
    rng = np.random.default_rng(3)
    picture = rng.random((700, 300, 3))
    chain = chain_for("matte_synthetic_v2")

    whole = proof_picture(picture, chain).rgb
    part = proof_picture(picture[321:345], chain).rgb

    assert (whole[321:345] == part).all()


def test_colours_already_printed_give_the_same_proof() -> None:
    picture = np.random.default_rng(4).random((20, 30, 3))
    chain = chain_for("matte_synthetic_v2")
    printed = chain.printed_lab(chain.device(picture))

    assert (show_printed(printed, chain).rgb == proof_picture(picture, chain).rgb).all()


def test_it_stops_when_asked() -> None:
    def stop() -> None:
        raise StoppedError("Stopped.", "", "")

    with pytest.raises(StoppedError):
        proof_picture(np.zeros((5, 5, 3)), chain_for("matte_synthetic_v2"), stop=stop)


def test_the_caption_tells_white_black_and_contrast() -> None:
    # papers/README.md: white L* 95.7; black and contrast 29.0 and 15:1 by the stock's own check
    caption = proof_caption(chain_for("matte_synthetic_v2"))

    assert caption == (
        "Paper white L* 95.7 · ink black L* 29.0 · contrast 15 : 1 · "
        "shown against the screen's white"
    )
    plain = proof_caption(chain_for("matte_synthetic_v2"), white="screen")
    assert plain.endswith("paper white shown as screen white")


SIZE = SizePlan(
    crop_left_px=0, crop_top_px=0, crop_width_px=3000, crop_height_px=2000,
    crop_loss_percent=0, crop_loss_mm=(0, 0, 0, 0), width_px=3000, height_px=2000, ppi=300,
    width_mm=254, height_mm=169.33, effective_ppi=300, scale=1, enlarged=False, resample="none",
    verdicts=(),
)  # fmt: skip
SHEET = SheetPlan(
    name="A3", width_px=4000, height_px=3600, width_mm=338.67, height_mm=304.8,
    asked_width_mm=338.67, asked_height_mm=304.8, picture_left_px=500, picture_top_px=400,
    border_mm=(33.87, 42.33, 101.6, 42.33), margins=MarginsMm(), fits_printable=True,
)  # fmt: skip


def on_sheet(caption: tuple[str, ...] = ()) -> tuple[Any, Any]:
    picture = np.zeros((200, 300, 3))
    picture[..., 0] = 1.0
    proof = proof_picture(picture, chain_for("matte_synthetic_v2"))
    return proof, proof_on_sheet(proof, sheet=SHEET, size=SIZE, caption=caption)


def test_the_picture_lies_in_its_place_on_bare_paper() -> None:
    proof, out = on_sheet()
    bare = (out == np.array(proof.bare_paper)).all(axis=-1)
    rows, columns = np.flatnonzero(bare.any(axis=1)), np.flatnonzero(bare.any(axis=0))
    top, left = rows[0], columns[0]

    assert (rows[-1] - top + 1, columns[-1] - left + 1) == (360, 400)
    assert (out[top + 40 : top + 240, left + 50 : left + 350] == proof.rgb).all()
    inner = bare[top : top + 360, left : left + 400].copy()
    inner[40:240, 50:350] = True
    assert inner.all()


def test_the_table_top_is_exactly_neutral() -> None:
    proof, out = on_sheet(("Words below the sheet.",))
    paper_or_picture = (out == np.array(proof.bare_paper)).all(axis=-1)
    rows, columns = (
        np.flatnonzero(paper_or_picture.any(axis=1)),
        np.flatnonzero(paper_or_picture.any(axis=0)),
    )
    around = out.copy()
    around[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1] = 0

    assert (around[..., 0] == around[..., 1]).all()
    assert (around[..., 0] == around[..., 2]).all()


def test_a_caption_stands_below_and_moves_nothing() -> None:
    _, bare = on_sheet()
    _, worded = on_sheet(("Ferry stairs on Chalk Matte 310.", "Paper white L* 95.7."))

    assert worded.shape[0] > bare.shape[0]
    assert (worded[:380] == bare[:380]).all()
    assert worded[400:].max() > 60000  # the type
