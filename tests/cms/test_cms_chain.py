"""The floating-point chain against published numbers and against other ways of computing."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from imagecodecs import cms_transform
from numpy.typing import NDArray

from firstsheet.cms.build import grey_profile, space_profile
from firstsheet.cms.chain import (
    INTENT_NUMBERS,
    Chain,
    ColourModel,
    build_chain,
    decode_lab,
    encode_lab,
)
from firstsheet.cms.container import parse_profile
from firstsheet.engine.colour.adaptation import absolute_from_relative
from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.colour.lab import lab_to_xyz, xyz_to_lab
from firstsheet.engine.colour.spaces import SPACES
from firstsheet.engine.errors import ProfileError
from firstsheet.engine.records import Intent

Floats = NDArray[np.float64]
Table = Callable[[str], list[dict[str, float]]]
UNOPTIMISED, COMPENSATED = 0x0100, 0x2000
INTENTS: tuple[Intent, ...] = ("perceptual", "relative", "saturation", "absolute")


def chain_of(
    source: bytes,
    paper: bytes,
    intent: Intent = "relative",
    *,
    black_point: bool = False,
    colour_model: ColourModel = "rgb",
) -> Chain:
    return build_chain(
        source_profile=source,
        colour_model=colour_model,
        paper_profile=paper,
        intent=intent,
        black_point=black_point,
    )


def rgb_of(rows: list[dict[str, float]]) -> Floats:
    return np.array([[row[c] for c in "RGB"] for row in rows]) / 255


@pytest.mark.published
@pytest.mark.parametrize(
    ("columns", "black_point", "absolute"),
    [("a", False, True), ("ab", True, True), ("r", False, False), ("rb", True, False)],
)
def test_soft_proof_shows_the_published_numbers(
    press: bytes,
    libvips_srgb: bytes,
    published: Table,
    columns: str,
    black_point: bool,
    absolute: bool,
) -> None:
    rows = published("press_soft_proof.csv")
    chain = chain_of(libvips_srgb, press, black_point=black_point)
    device = chain.device(rgb_of(rows))
    shown = chain.printed_lab_absolute(device) if absolute else chain.printed_lab(device)
    screen = chain_of(libvips_srgb, libvips_srgb).device_from_lab(shown) * 255

    expected = np.array([[row[f"{columns}{c}"] for c in "RGB"] for row in rows])
    assert np.abs(screen - expected).max() <= 0.1


@pytest.mark.published
@pytest.mark.parametrize(
    ("rgb", "black_point", "ink", "lab"),
    [
        ((255, 255, 255), False, (0, 0, 0, 0), (96.50, 0.44, -0.89)),
        ((0, 0, 0), False, (9.0, 0, 63.7, 100), (13.02, 1.03, -0.71)),
        ((0, 0, 0), True, (11.6, 0, 56.2, 98.2), (14.21, 0.77, -0.41)),
        ((128, 128, 128), False, (1.4, 0.1, 1.3, 59.1), (48.31, 0.64, -0.87)),
        ((128, 128, 128), True, (0.6, 0, 0.6, 57.3), (49.56, 0.74, -0.84)),
        ((255, 0, 0), False, (0, 100, 100, 0), (48.75, 70.50, 47.56)),
    ],
)
def test_printed_ink_and_colour_are_the_published_ones(
    press: bytes,
    libvips_srgb: bytes,
    rgb: tuple[int, ...],
    black_point: bool,
    ink: tuple[float, ...],
    lab: tuple[float, ...],
) -> None:
    # Source: Little CMS 2.14 in double precision on the same two profiles
    chain = chain_of(libvips_srgb, press, black_point=black_point)
    device = chain.device(np.array(rgb) / 255)
    assert device * 100 == pytest.approx(ink, abs=0.1)
    assert chain.printed_lab_absolute(device) == pytest.approx(lab, abs=0.1)


@pytest.mark.published
def test_srgb_becomes_the_published_lab(
    srgb: bytes, papers: dict[str, bytes], published: Table
) -> None:
    rows = published("srgb_lab.csv")
    found = chain_of(srgb, papers["glossy"]).wanted_lab(rgb_of(rows))
    expected = np.array([[row[c] for c in "Lab"] for row in rows])
    assert np.abs(found - expected).max() <= 0.05


@pytest.mark.published
def test_absolute_lab_of_a_coated_paper(published: Table) -> None:
    rows = published("absolute_lab.csv")
    relative = np.array([[row[c] for c in ("L", "a", "b")] for row in rows])
    expected = np.array([[row[c] for c in ("absL", "absa", "absb")] for row in rows])
    found = xyz_to_lab(absolute_from_relative(lab_to_xyz(relative), [0.8448, 0.8762, 0.7457]))
    assert np.abs(found - expected).max() <= 0.001


def test_a_paper_shows_absolute_colours_scaled_by_its_own_white(
    srgb: bytes, papers: dict[str, bytes]
) -> None:
    chain = chain_of(srgb, papers["newsprint"])
    device = np.array([[1.0, 1.0, 1.0], [0.4, 0.5, 0.6]])
    relative, absolute = (
        lab_to_xyz(f(device)) for f in (chain.printed_lab, chain.printed_lab_absolute)
    )
    ratio = chain.paper_white_xyz / (0.9642, 1.0, 0.8249)
    assert absolute / relative == pytest.approx(np.tile(ratio, (2, 1)), abs=1e-9)


@pytest.mark.parametrize("name", ["glossy", "matte", "newsprint"])
@pytest.mark.parametrize("intent", ["relative", "absolute"])
def test_one_call_of_the_engine_gives_the_same_as_our_stages(
    srgb: bytes, papers: dict[str, bytes], name: str, intent: Intent
) -> None:
    # Without black points the engine's own joined transform is the same arithmetic.
    rgb = np.random.default_rng(4).random((2000, 3))
    chain = chain_of(srgb, papers[name], intent)
    number = {"relative": 1, "absolute": 3}[intent]
    whole = cms_transform(
        rgb[None], srgb, papers[name], colorspace="rgb", outcolorspace="rgb", outdtype="f8",
        intent=number, flags=UNOPTIMISED,
    )[0]  # fmt: skip
    gap = delta_e_2000(chain.printed_lab(whole), chain.printed_lab(chain.device(rgb)))
    assert gap.max() <= 0.02  # the engine rounds to 16 bits between its steps


@pytest.mark.parametrize("name", ["matte", "newsprint"])
@pytest.mark.parametrize("intent", ["perceptual", "relative", "saturation", "absolute"])
def test_ink_on_one_paper_becomes_another_as_the_engine_does_in_one_call(
    press: bytes, papers: dict[str, bytes], name: str, intent: Intent
) -> None:
    # Both profiles are of version 2, so nothing is compensated unasked; absolute uses both whites
    ink = np.random.default_rng(9).random((2000, 4))
    chain = chain_of(press, papers[name], intent, colour_model="cmyk")
    whole = cms_transform(
        ink[None] * 100, press, papers[name], colorspace="cmyk", outcolorspace="rgb",
        outdtype="f8", intent=INTENT_NUMBERS[intent], flags=UNOPTIMISED,
    )[0]  # fmt: skip
    gap = delta_e_2000(chain.printed_lab(whole), chain.printed_lab(chain.device(ink)))
    assert gap.max() <= 0.02


@pytest.mark.parametrize("name", ["glossy", "matte", "newsprint"])
@pytest.mark.parametrize("intent", ["perceptual", "saturation"])
def test_our_black_point_compensation_is_the_engines_where_it_is_defined(
    srgb: bytes, papers: dict[str, bytes], name: str, intent: Intent
) -> None:
    rgb = np.random.default_rng(5).random((2000, 3))
    chain = chain_of(srgb, papers[name], intent, black_point=True)
    whole = cms_transform(
        rgb[None], srgb, papers[name], colorspace="rgb", outcolorspace="rgb", outdtype="f8",
        intent={"perceptual": 0, "saturation": 2}[intent], flags=UNOPTIMISED | COMPENSATED,
    )[0]  # fmt: skip
    gap = delta_e_2000(chain.printed_lab(whole), chain.printed_lab(chain.device(rgb)))
    assert gap.max() <= 0.01


def test_the_engine_compensates_version_4_perceptual_unasked_and_we_do_not(
    srgb: bytes, papers: dict[str, bytes]
) -> None:
    rgb = np.random.default_rng(6).random((2000, 3)) ** 2
    unasked = cms_transform(
        rgb[None], srgb, papers["glossy"], colorspace="rgb", outcolorspace="rgb", outdtype="f8",
        intent=0, flags=UNOPTIMISED,
    )[0]  # fmt: skip
    plain = chain_of(srgb, papers["glossy"], "perceptual", black_point=False)
    gap = delta_e_2000(plain.printed_lab(unasked), plain.printed_lab(plain.device(rgb)))
    assert gap.max() > 2.0  # the trap is real

    # The way round: our stages see the table itself. Read B2A0 by hand at one of its nodes.
    table = plain.paper.lut("B2A0")
    node = (10, 10, 10)
    coded = np.array(node) / 20
    lab = [
        coded[0] * 100,
        *(np.interp(coded[1:], curve_values(table, 1), np.linspace(-128, 127, 256))),
    ]
    assert table.clut is not None
    assert plain.device_from_lab(np.array(lab)) == pytest.approx(table.clut[node], abs=2e-4)


def curve_values(table: object, channel: int) -> Floats:
    from firstsheet.cms.tags import LutTable

    assert isinstance(table, LutTable)
    return table.before[channel].sampled(256)


def test_colours_far_outside_lab_encodings_are_not_folded(papers: dict[str, bytes]) -> None:
    chain = chain_of(space_profile("prophoto-rgb"), papers["glossy"])
    green = chain.wanted_lab(np.array([0.0, 1.0, 0.0]))
    expected = xyz_to_lab(SPACES["prophoto-rgb"].to_xyz_d50([0.0, 1.0, 0.0]))
    assert green[1] < -180
    assert green == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize("name", sorted(SPACES))
def test_every_working_space_reads_as_its_formula_says(name: str, papers: dict[str, bytes]) -> None:
    rgb = np.random.default_rng(7).random((500, 3))
    found = chain_of(space_profile(name), papers["matte"]).wanted_lab(rgb)
    expected = xyz_to_lab(SPACES[name].to_xyz_d50(rgb))
    assert delta_e_2000(found, expected).max() <= 0.03  # s15Fixed16 rounding of the matrix


def test_white_stays_bare_and_neutral_in_every_intent_but_absolute(
    srgb: bytes, papers: dict[str, bytes]
) -> None:
    for intent in INTENTS[:3]:
        chain = chain_of(srgb, papers["matte"], intent, black_point=True)
        assert chain.device(np.ones(3)) == pytest.approx(chain.paper_white_device, abs=5e-3)


@pytest.mark.parametrize("name", ["glossy", "matte", "newsprint"])
def test_paper_simulation_darkens_white_and_compensation_never_darkens_a_shadow(
    srgb: bytes, papers: dict[str, bytes], name: str
) -> None:
    greys = np.linspace(0, 0.3, 31)[:, None].repeat(3, axis=1)
    plain = chain_of(srgb, papers[name])
    lifted = chain_of(srgb, papers[name], black_point=True)
    assert plain.paper_white_lab_absolute[0] < 100
    assert plain.printed_lab(np.ones(3))[0] == pytest.approx(100, abs=0.01)
    rise = (
        lifted.printed_lab(lifted.device(greys))[:, 0]
        - plain.printed_lab(plain.device(greys))[:, 0]
    )
    assert rise.min() >= -0.3  # table noise of the profile


def test_absolute_never_compensates(srgb: bytes, papers: dict[str, bytes]) -> None:
    with_wish = chain_of(srgb, papers["matte"], "absolute", black_point=True)
    assert not with_wish.black_point
    assert with_wish.xyz_offset == pytest.approx([0, 0, 0])


def test_absolute_keeps_the_colour_a_display_meant(srgb: bytes, papers: dict[str, bytes]) -> None:
    chain = chain_of(srgb, papers["newsprint"], "absolute")
    wish = np.array([[0.45, 0.42, 0.4], [0.5, 0.5, 0.5]])
    printed = chain.printed_lab_absolute(chain.device(wish))
    assert delta_e_2000(printed, chain.wanted_lab(wish)).max() < 2.4  # its round-trip floor, 99 %


def test_a_version_2_display_white_of_6500_k_is_read_as_d50(
    srgb: bytes, papers: dict[str, bytes]
) -> None:
    tagged = bytearray(srgb)
    place = next(p for p in parse_profile(srgb).places if p.signature == "wtpt")
    tagged[place.offset + 8 : place.offset + 20] = b"".join(
        round(v * 65536).to_bytes(4, "big") for v in (0.9505, 1.0, 1.0891)
    )
    tagged[8] = 2
    colours = np.array([[1.0, 1.0, 1.0], [0.2, 0.4, 0.6]])
    as_tagged = chain_of(bytes(tagged), papers["glossy"], "absolute").device(colours)
    assert as_tagged == pytest.approx(chain_of(srgb, papers["glossy"], "absolute").device(colours))


def test_grey_cmyk_and_lab_pictures_find_their_way(press: bytes, papers: dict[str, bytes]) -> None:
    grey = chain_of(grey_profile("grey-l-star"), papers["matte"], colour_model="grey")
    assert grey.wanted_lab(np.array([[0.5]])) == pytest.approx(np.array([[50.0, 0, 0]]), abs=0.01)
    assert grey.device(np.ones((4, 1))).shape == (4, 3)

    ink = chain_of(press, papers["matte"], colour_model="cmyk")
    assert ink.wanted_lab(np.zeros(4)) == pytest.approx([100, 0, 0], abs=0.01)
    assert ink.wanted_lab(np.array([0, 0, 0, 1.0]))[0] == pytest.approx(14.68, abs=0.02)

    lab = chain_of(b"", papers["matte"], colour_model="lab")
    wanted = np.array([[50.0, 20.0, -30.0]])
    assert lab.wanted_lab(encode_lab(wanted)) == pytest.approx(wanted, abs=1e-9)
    assert decode_lab([1.0, 128 / 255, 128 / 255]) == pytest.approx([100, 0, 0], abs=1e-9)


def test_arrays_of_any_shape_keep_it(srgb: bytes, papers: dict[str, bytes]) -> None:
    chain = chain_of(srgb, papers["glossy"])
    picture = np.random.default_rng(1).random((5, 7, 3))
    assert chain.device(picture).shape == (5, 7, 3)
    assert chain.device(picture)[2, 3] == pytest.approx(chain.device(picture[2, 3]), abs=1e-12)


def test_threads_get_what_one_thread_gets(srgb: bytes, papers: dict[str, bytes]) -> None:
    chain = chain_of(srgb, papers["glossy"], "perceptual", black_point=True)
    blocks = np.random.default_rng(2).random((8, 4000, 3))
    alone = [chain.device(block) for block in blocks]
    fresh = chain_of(srgb, papers["glossy"], "perceptual", black_point=True)
    with ThreadPoolExecutor(2) as pool:
        together = list(pool.map(fresh.device, blocks))
    assert all(np.array_equal(a, b) for a, b in zip(alone, together, strict=True))


def test_a_profile_for_other_channels_is_refused(press: bytes, papers: dict[str, bytes]) -> None:
    with pytest.raises(ProfileError) as caught:
        chain_of(press, papers["glossy"], colour_model="rgb")
    assert caught.value.code == "profile-wrong-channels"
    assert "has RGB channels" in caught.value.found
    assert "describes CMYK" in caught.value.found
    assert "Name the space" in caught.value.choice


def test_a_source_whose_curve_cannot_be_read_is_refused(papers: dict[str, bytes]) -> None:
    data = bytearray(space_profile("srgb"))
    place = next(p for p in parse_profile(bytes(data)).places if p.signature == "rTRC")
    data[place.offset : place.offset + 4] = b"junk"
    with pytest.raises(ProfileError) as caught:
        chain_of(bytes(data), papers["glossy"])
    assert caught.value.code == "profile-incomplete"
    assert "“sRGB” cannot be used. The profile cannot be read: rTRC holds" in caught.value.found


def test_bytes_that_are_no_profile_are_refused(papers: dict[str, bytes]) -> None:
    with pytest.raises(ProfileError, match="not an ICC profile"):
        chain_of(b"no profile at all" * 20, papers["glossy"])
    with pytest.raises(ProfileError, match="3 bytes long"):
        chain_of(papers["glossy"], b"abc")


def test_a_paper_without_tables_is_refused(srgb: bytes, papers: dict[str, bytes]) -> None:
    stripped = bytearray(papers["matte"])
    for at in range(132, 132 + 12 * 12, 12):
        if stripped[at : at + 3] == b"B2A":
            stripped[at : at + 4] = b"zzz" + stripped[at + 3 : at + 4]
    with pytest.raises(ProfileError) as caught:
        chain_of(srgb, bytes(stripped))
    assert caught.value.code == "profile-incomplete"
    assert "no table into paper colours" in caught.value.found
