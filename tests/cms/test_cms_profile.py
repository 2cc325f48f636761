"""Facts of profiles, whole and damaged."""

import random
import struct

import numpy as np
import pytest

from firstsheet.cms.build import space_profile
from firstsheet.cms.chain import build_chain
from firstsheet.cms.container import parse_profile
from firstsheet.cms.inspect import inspect_paper
from firstsheet.cms.link import paper_link, proof_link, source_colour
from firstsheet.cms.profile import profile_facts
from firstsheet.engine.errors import FirstsheetError, ProfileError


@pytest.mark.published
def test_the_header_of_a_press_profile_is_read(press: bytes) -> None:
    # Read from the file with the ICC's reference code
    profile = parse_profile(press)
    assert profile.declared_size == len(press) == 961_644
    assert profile.version_text == "2.2"
    assert (profile.device_class, profile.colour_space, profile.pcs) == ("prtr", "CMYK", "Lab")
    assert profile.channels == 4
    assert profile.illuminant == pytest.approx((0.9642, 1.0, 0.8249), abs=1e-4)
    assert profile.media_white == pytest.approx((0.88199, 0.91226, 0.76295), abs=1e-5)
    assert profile.colorant("bkpt") == pytest.approx([0.01617, 0.01651, 0.01416], abs=1e-5)
    assert profile.sha256.startswith("156e7c14f244cfc4")


def test_tags_that_share_their_data_are_all_found(press: bytes) -> None:
    profile = parse_profile(press)
    assert profile.tags["targ"] == profile.tags["DevD"] == profile.tags["CIED"]
    assert profile.tags["A2B0"] == profile.tags["A2B2"]


@pytest.mark.needs_tool
def test_the_reference_reader_agrees_on_every_header_field(
    papers: dict[str, bytes], tmp_path: object
) -> None:
    import iccdev

    for data in (*papers.values(), space_profile("srgb")):
        path = f"{tmp_path}/profile.icc"
        with open(path, "wb") as file:  # noqa: PTH123
            file.write(data)
        with iccdev.IccProfile(path) as theirs:
            ours, head = parse_profile(data), theirs.header
        assert head.size == ours.declared_size
        assert head.version.to_bytes(4, "big")[0] == ours.version[0]
        assert head.device_class.to_bytes(4, "big").decode().strip() == ours.device_class
        assert head.color_space.to_bytes(4, "big").decode().strip() == ours.colour_space
        assert head.pcs.to_bytes(4, "big").decode().strip() == ours.pcs
        assert head.rendering_intent == ours.rendering_intent


def test_facts_of_a_demo_paper(papers: dict[str, bytes]) -> None:
    facts = profile_facts(papers["glossy"])
    assert facts.description == "Bench glossy (synthetic, RGB)"
    assert (facts.version, facts.device_class, facts.colour_space) == ("4.3", "prtr", "RGB")
    assert facts.kind == "output"
    assert facts.has_tables
    assert facts.size_bytes == 401_716
    assert facts.problems == ()


def test_no_profile_is_a_fact_too() -> None:
    for nothing in (None, b""):
        facts = profile_facts(nothing)
        assert facts.kind == "other"
        assert facts.sha256 == ""
        assert facts.problems == ("There is no profile.",)


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"\x89PNG", "4 bytes long; the header alone takes 132"),
        (b"\0" * 200, "“acsp” that every ICC profile carries is missing"),
        (b"\0" * 36 + b"acsp" + b"\0" * 200, "lists 0 tags"),
        (b"\0" * 36 + b"acsp" + b"\0" * 88 + b"\xff" * 100, "there is room for"),
    ],
)
def test_what_is_no_profile_says_why(data: bytes, reason: str) -> None:
    facts = profile_facts(data)
    assert facts.kind == "broken"
    assert reason in facts.problems[0]
    with pytest.raises(ProfileError) as caught:
        parse_profile(data)
    assert caught.value.code == "not-a-profile"
    assert caught.value.consequence == "Without it the colours have no defined meaning."


def test_a_profile_cut_in_the_middle_is_broken(press: bytes) -> None:
    facts = profile_facts(press[:3000])
    assert facts.kind == "broken"
    assert any("cut short: its header says 961644 bytes, 3000" in p for p in facts.problems)


def test_a_name_with_control_characters_is_cleaned() -> None:
    data = bytearray(space_profile("srgb"))
    place = next(p for p in parse_profile(bytes(data)).places if p.signature == "desc")
    data[place.offset + 28 : place.offset + 30] = b"\0\x07"
    assert "\x07" not in profile_facts(bytes(data)).description


def damaged(data: bytes, rng: random.Random) -> bytes:
    """One profile with one kind of harm done to it."""
    harm = rng.randrange(5)
    spoiled = bytearray(data)
    if harm == 0:
        return data[: rng.randrange(len(data))]
    if harm == 1:
        for _ in range(rng.randrange(1, 20)):
            spoiled[rng.randrange(len(spoiled))] = rng.randrange(256)
    elif harm == 2:  # in the tag table
        count = struct.unpack_from(">I", data, 128)[0]
        at = 132 + 12 * rng.randrange(count) + 4 * rng.randrange(3)
        spoiled[at : at + 4] = rng.randbytes(4)
    elif harm == 3:  # at the head of a tag
        place = rng.choice(parse_profile(data).places)
        at = place.offset + rng.randrange(min(place.size, 52))
        spoiled[at] = rng.choice((0, 1, 2, 127, 128, 255))
    else:  # the header
        spoiled[rng.randrange(132)] = rng.randrange(256)
    return bytes(spoiled)


def _speaks(error: FirstsheetError) -> None:
    assert error.found
    assert error.consequence
    assert error.choice


@pytest.mark.slow
@pytest.mark.parametrize("name", ["glossy", "matte", "newsprint", "srgb"])
def test_a_damaged_profile_is_told_never_a_crash(papers: dict[str, bytes], name: str) -> None:
    rng = random.Random(f"damage {name}")
    original = papers.get(name) or space_profile("srgb")
    for turn in range(250):
        data = damaged(original, rng)
        facts = profile_facts(data)
        assert facts.kind != "broken" or facts.problems
        if turn % 25 or name == "srgb":
            continue
        try:  # and the whole way: a FirstsheetError or finite numbers
            found = inspect_paper(data)
            assert np.isfinite(found.gamut_volume)
            chain = build_chain(
                source_profile=space_profile("srgb"), colour_model="rgb",
                paper_profile=data, intent="perceptual", black_point=True,
            )  # fmt: skip
            assert np.isfinite(paper_link(chain).clut).all()
            assert np.isfinite(proof_link(chain).clut).all()
        except FirstsheetError as error:
            _speaks(error)


@pytest.mark.slow
def test_a_damaged_source_profile_is_told_never_a_crash(papers: dict[str, bytes]) -> None:
    rng = random.Random("damaged source")
    for _ in range(120):
        data = damaged(space_profile("srgb"), rng)
        try:
            chain = build_chain(
                source_profile=data, colour_model="rgb", paper_profile=papers["newsprint"],
                intent="relative", black_point=True,
            )  # fmt: skip
            device = chain.device(np.linspace(0, 1, 12).reshape(4, 3))
            assert np.isfinite(device).all()
            source = source_colour(chain)
            assert source.decode is None or np.isfinite(source.decode).all()
        except FirstsheetError as error:
            _speaks(error)
