"""What is measured when a stock is added, against how the papers were made."""

import numpy as np
import pytest

from firstsheet.cms.build import grey_profile, space_profile
from firstsheet.cms.inspect import inspect_paper
from firstsheet.engine.errors import ProfileError
from firstsheet.engine.records import StockFacts


@pytest.fixture(scope="module")
def facts(papers: dict[str, bytes]) -> dict[str, StockFacts]:
    return {name: inspect_paper(data) for name, data in papers.items()}


# Source: the description that comes with the three profiles (data/papers/README.md): white
# absolute, black relative, volume by the same kind of sum on the model they were made from.
# Contrast: 1 / Y of the relative black stated there (L* 14.6, 30.7, 43.8).
@pytest.mark.published
@pytest.mark.parametrize(
    ("name", "white", "volume", "contrast"),
    [
        ("glossy", (95.0, 0.0, -2.0), 341_000, 54),
        ("matte", (95.7, 0.6, -2.3), 173_000, 15.3),
        ("newsprint", (80.0, 0.0, 3.6), 105_000, 7.3),
    ],
)
def test_white_contrast_and_volume(
    facts: dict[str, StockFacts],
    name: str,
    white: tuple[float, ...],
    volume: float,
    contrast: float,
) -> None:
    found = facts[name]
    assert found.white_lab == pytest.approx(white, abs=0.06)
    assert found.gamut_volume == pytest.approx(volume, rel=0.005)
    assert found.contrast == pytest.approx(contrast, rel=0.015)
    assert found.black_density - found.white_density == pytest.approx(np.log10(found.contrast))


# Source: round trips of 20,000 random colours through an independent evaluation of the tables
@pytest.mark.published
@pytest.mark.parametrize(
    ("name", "p95", "p99", "most"),
    [("glossy", 0.19, 0.62, 1.9), ("matte", 0.76, 1.36, 2.5), ("newsprint", 1.64, 2.34, 3.2)],
)
def test_the_floor_has_the_known_size(
    facts: dict[str, StockFacts], name: str, p95: float, p99: float, most: float
) -> None:
    found = facts[name]
    assert found.floor_p95_de00 == pytest.approx(p95, abs=0.06)
    assert found.floor_p99_de00 == pytest.approx(p99, abs=0.1)
    assert found.floor_max_de00 == pytest.approx(most, abs=0.3)


def test_all_four_intents_of_the_papers_differ(facts: dict[str, StockFacts]) -> None:
    for found in facts.values():
        assert [one.intent for one in found.intents] == [
            "relative",
            "perceptual",
            "saturation",
            "absolute",
        ]
        assert all(one.has_table and one.same_as is None for one in found.intents)
        assert found.intents[0].max_de00_from_relative == 0
        assert all(one.max_de00_from_relative > 3 for one in found.intents[1:])
        assert found.profile.problems == ()


def test_intents_that_share_a_table_are_named(papers: dict[str, bytes]) -> None:
    shared = bytearray(papers["matte"])
    entries = {bytes(shared[at : at + 4]): at for at in range(132, 132 + 12 * 12, 12)}
    relative, perceptual = entries[b"B2A1"], entries[b"B2A0"]
    shared[perceptual + 4 : perceptual + 12] = shared[relative + 4 : relative + 12]
    found = {one.intent: one for one in inspect_paper(bytes(shared)).intents}
    assert found["perceptual"].same_as == "relative"
    assert found["perceptual"].max_de00_from_relative == 0
    assert found["saturation"].same_as is None


def test_a_missing_intent_falls_back_and_says_so(papers: dict[str, bytes]) -> None:
    lacking = bytearray(papers["matte"])
    for at in range(132, 132 + 12 * 12, 12):
        if lacking[at : at + 4] == b"B2A2":
            lacking[at : at + 4] = b"zzzz"
    facts = inspect_paper(bytes(lacking))
    found = {one.intent: one for one in facts.intents}
    assert not found["saturation"].has_table
    assert found["saturation"].same_as == "perceptual"
    assert (
        "It has no table of its own for saturation: the perceptual one is used in its place."
        in facts.profile.problems
    )


def test_a_press_profile_can_be_a_paper(press: bytes) -> None:
    found = inspect_paper(press)
    assert found.white_lab == pytest.approx((96.50, 0.44, -0.89), abs=0.05)
    assert found.black_lab == pytest.approx((13.02, 1.03, -0.71), abs=0.1)
    assert 1.5 < found.floor_p95_de00 < 2.7  # its measured patches: 2.18


def test_a_grey_press_curve_can_be_a_paper() -> None:
    data = bytearray(grey_profile("grey-gamma-2.2"))
    data[12:16] = b"prtr"
    found = inspect_paper(bytes(data))
    assert found.gamut_volume == 0
    assert found.white_lab == pytest.approx((100, 0, 0), abs=0.02)
    assert found.floor_max_de00 < 0.05
    assert {one.same_as for one in found.intents[1:]} == {"relative"}


def test_a_working_space_is_no_paper() -> None:
    with pytest.raises(ProfileError) as caught:
        inspect_paper(space_profile("srgb"))
    error = caught.value
    assert error.code == "profile-wrong-class"
    assert error.found == "“sRGB” describes a working space (class mntr), not a paper on a printer."
    assert error.consequence == "It cannot say what a print will look like."
    assert "ICC profile of the paper" in error.choice
    assert error.exit_code == 3


@pytest.mark.parametrize("data", [b"", b"abc", b"\0" * 5000])
def test_what_is_no_profile_is_refused_with_its_reason(data: bytes) -> None:
    with pytest.raises(ProfileError) as caught:
        inspect_paper(data)
    assert caught.value.code == "profile-broken"
    assert caught.value.found.startswith("This profile cannot be used. ")
    assert len(caught.value.found) > 45


def test_a_truncated_paper_is_refused(papers: dict[str, bytes]) -> None:
    with pytest.raises(ProfileError):
        inspect_paper(papers["matte"][:20_000])


def test_a_paper_whose_black_is_as_light_as_its_white_is_refused(papers: dict[str, bytes]) -> None:
    flat = bytearray(papers["matte"])
    entries = {bytes(flat[at : at + 4]): at for at in range(132, 132 + 12 * 12, 12)}
    offset = int.from_bytes(flat[entries[b"A2B1"] + 4 : entries[b"A2B1"] + 8], "big")
    size = int.from_bytes(flat[entries[b"A2B1"] + 8 : entries[b"A2B1"] + 12], "big")
    flat[offset + 64 : offset + size - 12] = b"\xff\x00\x80\x00\x80\x00" * ((size - 76) // 6)
    with pytest.raises(ProfileError, match="No paper prints like that"):
        inspect_paper(bytes(flat))
