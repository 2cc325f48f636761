"""The fast path against the floating-point chain."""

import struct

import numpy as np
import pytest
from numpy.typing import NDArray

from firstsheet.cms.build import grey_profile, space_profile
from firstsheet.cms.chain import Chain, ColourModel, build_chain
from firstsheet.cms.container import parse_profile
from firstsheet.cms.lcms import assemble
from firstsheet.cms.link import (
    apply_link,
    apply_proof,
    measure_link,
    paper_link,
    proof_link,
    source_colour,
)
from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.colour.lab import xyz_to_lab
from firstsheet.engine.colour.spaces import SPACES
from firstsheet.engine.records import Intent

Floats = NDArray[np.float64]
INTENTS: tuple[Intent, ...] = ("perceptual", "relative", "saturation", "absolute")
NAMES = ("glossy", "matte", "newsprint")


def chain_of(
    source: bytes, paper: bytes, intent: Intent = "relative", colour_model: ColourModel = "rgb"
) -> Chain:
    return build_chain(
        source_profile=source, colour_model=colour_model, paper_profile=paper,
        intent=intent, black_point=True,
    )  # fmt: skip


def photograph_like(count: int = 3000) -> Floats:
    """Smooth walks through colour, mostly near grey, with some strong colours and deep shadow."""
    rng = np.random.default_rng(11)
    grey = rng.random((count, 1)) ** 1.5
    near = grey + rng.normal(0, 0.05, (count, 3))
    strong = rng.random((count // 4, 3))
    dark = rng.random((count // 4, 3)) * 0.06
    return np.asarray(np.clip(np.concatenate([near, strong, dark]), 0, 1))


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("intent", INTENTS)
@pytest.mark.parametrize("space", sorted(SPACES))
def test_the_link_meets_the_bound_on_photograph_like_colours(
    papers: dict[str, bytes], name: str, intent: Intent, space: str
) -> None:
    chain = chain_of(space_profile(space), papers[name], intent)
    error = measure_link(chain, paper_link(chain), photograph_like())
    assert error.mean <= error.p99 <= error.max
    assert error.p99 <= 0.02
    assert error.max <= 0.05  # the aim is 0.05 and 0.3


@pytest.mark.parametrize("intent", INTENTS)
def test_a_press_profile_meets_it_too(press: bytes, intent: Intent) -> None:
    chain = chain_of(space_profile("srgb"), press, intent)
    error = measure_link(chain, paper_link(chain), photograph_like())
    assert error.p99 <= 0.02
    assert error.max <= 0.05


def test_measuring_notices_a_wrong_link(papers: dict[str, bytes], srgb: bytes) -> None:
    relative = chain_of(srgb, papers["matte"], "relative")
    other = paper_link(chain_of(srgb, papers["matte"], "perceptual"))
    assert measure_link(relative, other, photograph_like(500)).max > 3


def test_the_profiles_own_grid_is_handed_over(papers: dict[str, bytes], srgb: bytes) -> None:
    expected = {"glossy": (33, 33, 33, 3), "matte": (33, 33, 33, 3), "newsprint": (25, 25, 25, 3)}
    for name, shape in expected.items():
        link = paper_link(chain_of(srgb, papers[name]))
        assert link.clut.shape == shape
        assert link.clut.dtype == np.float32
        assert link.clut.flags["C_CONTIGUOUS"]
        assert "own B2A1 table" in link.words
        assert link.input_curves.shape[0] == 3
        assert link.output_curves.shape[0] == 3


@pytest.mark.published
@pytest.mark.parametrize(
    ("name", "columns", "top"),
    [("glossy", "v4", 65535), ("matte", "v2", 65535), ("newsprint", "e", 255)],
)
def test_lab_is_coded_as_each_kind_of_table_wants(
    papers: dict[str, bytes],
    srgb: bytes,
    published: object,
    name: str,
    columns: str,
    top: int,
) -> None:
    # ICC.1: 16-bit Lab of version 4 and of lut16 differ; mixing them makes white L* 100.39
    assert callable(published)
    link = paper_link(chain_of(srgb, papers[name]))
    for row in published("lab_encodings.csv"):
        lab = np.array([row["L"], row["a"], row["b"]])
        codes = (lab * link.lab_scale + link.lab_offset) * top
        expected = [row[f"{columns}{axis}"] for axis in "Lab"]
        assert codes == pytest.approx(expected, abs=1.0)
        proof = proof_link(chain_of(srgb, papers[name]))
        if name != "newsprint":  # its A2B1 is a lut16
            assert codes / top * proof.lab_scale + proof.lab_offset == pytest.approx(lab, abs=1e-9)


@pytest.mark.parametrize("name", NAMES)
def test_a_proof_by_link_is_the_chains(papers: dict[str, bytes], srgb: bytes, name: str) -> None:
    chain = chain_of(srgb, papers[name])
    proof = proof_link(chain)
    device = np.random.default_rng(2).random((4000, 3))
    found = apply_proof(proof, device)
    assert delta_e_2000(found, chain.printed_lab(device)).max() <= 0.01
    white = chain.paper_white_xyz / (0.9642, 1.0, 0.8249)
    assert proof.absolute_scale == pytest.approx(white)


def test_a_proof_of_a_press_by_link_is_the_chains(press: bytes, srgb: bytes) -> None:
    chain = chain_of(srgb, press)
    ink = np.random.default_rng(2).random((4000, 4))
    assert delta_e_2000(apply_proof(proof_link(chain), ink), chain.printed_lab(ink)).max() <= 0.02


@pytest.mark.parametrize("name", sorted(SPACES))
def test_source_curves_and_matrix_are_those_of_the_space(
    papers: dict[str, bytes], name: str
) -> None:
    source = source_colour(chain_of(space_profile(name), papers["matte"]))
    assert source.kind == "curves"
    assert source.decode is not None
    assert source.to_xyz is not None
    assert source.decode.shape == (3, 65536)
    codes = np.array([0, 1000, 30000, 65535])
    expected = SPACES[name].decode(codes / 65535)
    assert source.decode[0][codes] == pytest.approx(expected, abs=3e-5)
    assert source.to_xyz == pytest.approx(SPACES[name].rgb_to_xyz_d50, abs=3e-5)


@pytest.mark.parametrize("name", sorted(SPACES))
def test_keeping_the_colour_gives_every_code_back(papers: dict[str, bytes], name: str) -> None:
    source = source_colour(chain_of(space_profile(name), papers["matte"]))
    assert source.decode is not None
    assert source.encode is not None
    assert source.from_xyz is not None
    assert source.to_xyz is not None
    assert source.from_xyz @ source.to_xyz == pytest.approx(np.eye(3), abs=1e-12)
    codes = np.arange(65536)
    linear = source.decode[1].astype(float)
    back = np.interp(linear, np.linspace(0, 1, 65536), source.encode[1]) * 65535
    bright = codes > 2000  # below, a pure power is steeper than an even table can follow
    assert np.abs(back - codes)[bright].max() <= 0.6
    lightness = xyz_to_lab(np.interp(back, codes, linear)[:, None] * (0.9642, 1.0, 0.8249))[:, 0]
    gap = np.abs(lightness - xyz_to_lab(linear[:, None] * (0.9642, 1.0, 0.8249))[:, 0])
    assert gap.max() <= max(source.encode_error_l, 1e-9) * 1.05 + 1e-4
    assert source.encode_error_l < 0.01


def test_a_grey_picture_has_one_curve(papers: dict[str, bytes]) -> None:
    chain = chain_of(grey_profile("grey-l-star"), papers["matte"], colour_model="grey")
    source = source_colour(chain)
    assert source.channels == 1
    assert source.to_xyz is not None
    assert source.to_xyz[:, 0] == pytest.approx([0.9642, 1.0, 0.8249])
    greys = np.linspace(0, 1, 301)[:, None]
    assert measure_link(chain, paper_link(chain), greys).max <= 0.05


def test_a_grey_profile_over_lab_gives_lightness() -> None:
    # ICC.1 annex F: with a Lab connection space the curve of a grey profile gives L*
    data = bytearray(grey_profile("grey-gamma-2.2"))
    data[20:24] = b"Lab "
    straight = struct.pack(">4s4xI", b"curv", 0)
    profile = parse_profile(bytes(data))
    tags = [(n, straight if n == "kTRC" else t) for n, t in profile.tags.items()]
    rebuilt = assemble(bytes(data[:128]), tags)
    chain = chain_of(rebuilt, space_profile("srgb"), colour_model="grey")
    source = source_colour(chain)
    assert source.decode is not None
    assert chain.wanted_lab(np.array([[0.5]]))[0, 0] == pytest.approx(50.0, abs=0.01)
    assert source.decode[0][32768] == pytest.approx(0.184187, abs=1e-5)  # Y of L* 50


def test_a_scanner_or_press_picture_goes_through_the_engine(
    press: bytes, papers: dict[str, bytes]
) -> None:
    chain = chain_of(press, papers["matte"], colour_model="cmyk")
    source = source_colour(chain)
    assert source.kind == "engine"
    assert source.channels == 4
    ink = np.random.default_rng(3).random((1000, 4))
    assert source.to_lab(ink) == pytest.approx(chain.wanted_lab(ink))
    assert measure_link(chain, paper_link(chain), ink).max <= 0.05
    lab = chain_of(b"", papers["matte"], colour_model="lab")
    assert source_colour(lab).kind == "engine"


def test_a_paper_of_another_form_is_sampled_and_told(srgb: bytes) -> None:
    # A matrix profile has no table; the fallback samples the chain
    chain = chain_of(srgb, space_profile("display-p3"))
    link = paper_link(chain)
    assert "sampled on 65×65×65" in link.words
    inside = np.random.default_rng(3).random((2000, 3)) * 0.8 + 0.15
    error = measure_link(chain, link, inside)
    assert error.p99 <= 1.0


def test_codes_outside_zero_to_one_are_held(papers: dict[str, bytes], srgb: bytes) -> None:
    chain = chain_of(srgb, papers["matte"])
    link, source = paper_link(chain), source_colour(chain)
    held = apply_link(link, source, np.array([[-0.5, 1.5, 0.5]]))
    assert held == pytest.approx(apply_link(link, source, np.array([[0.0, 1.0, 0.5]])))
    assert held.min() >= 0
    assert held.max() <= 1
