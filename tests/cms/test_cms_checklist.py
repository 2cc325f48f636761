"""Each thing that can be wrong with a profile, and the sentence that says it."""

import struct
from collections.abc import Callable

import pytest

from firstsheet.cms.build import identified, space_profile
from firstsheet.cms.checklist import find_problems
from firstsheet.cms.container import parse_profile
from firstsheet.cms.lcms import assemble
from firstsheet.cms.profile import profile_facts

Change = Callable[[bytearray], None]


def put(at: int, data: bytes) -> Change:
    """Overwrite bytes of the header."""

    def change(profile: bytearray) -> None:
        profile[at : at + len(data)] = data

    return change


def problems_of(data: bytes) -> tuple[str, ...]:
    return find_problems(parse_profile(data))


def with_tags(data: bytes, **tags: bytes | None) -> bytes:
    """The profile with tags replaced, or taken out where None is given."""
    profile = parse_profile(data)
    merged: dict[str, bytes | None] = {**profile.tags, **tags}
    kept = [(name, tag) for name, tag in merged.items() if tag is not None]
    rebuilt = assemble(data[:128], kept)
    return identified(rebuilt)


def xyz(*values: float) -> bytes:
    return struct.pack(">4s4x3i", b"XYZ ", *(round(v * 65536) for v in values))


def curve(*values: int) -> bytes:
    return struct.pack(f">4s4xI{len(values)}H", b"curv", len(values), *values)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (put(0, b"\0\x10\0\0"), "The profile is cut short: its header says 1048576 bytes"),
        (put(0, struct.pack(">I", 400)), "220 bytes follow after the profile's end."),
        (put(8, b"\x05"), "It is of version 5.3; versions 2 and 4 are read."),
        (put(12, b"abcd"), "Its class “abcd” is not one of the ICC's."),
        (put(20, b"YCC "), "Its connection space “YCC” is neither XYZ nor Lab."),
        (
            put(
                68, struct.pack(">3i", 63196, 65536, 54074)
            ),  # 0.96429, 1, 0.8251: two packaged ones
            "Its connection light is 0.9643, 1.0000, 0.8251; the ICC requires D50",
        ),
        (put(64, struct.pack(">I", 7)), "asks for a rendering intent 7 that is not one."),
        (put(132 + 4, b"\x7f"), "points beyond the end of the profile."),
        (put(132 + 4, b"\0\0\0\4"), "points into the header or the tag table."),
        (put(132 + 8, b"\0\0\0\4"), "is too short to hold anything."),
        (put(132, b"wtpt"), "The tag wtpt is listed more than once."),
        (put(500, b"\xff"), "Its identity (MD5) does not fit its contents"),
    ],
)
def test_damage_to_header_and_tag_table(change: Change, sentence: str) -> None:
    data = bytearray(space_profile("srgb"))
    change(data)
    assert any(sentence in problem for problem in problems_of(bytes(data)))


@pytest.mark.parametrize(
    ("tags", "sentence"),
    [
        ({"cprt": None}, "A profile of class mntr needs the tag cprt; it is not there."),
        ({"rTRC": None, "gXYZ": None}, "needs the tags gXYZ, rTRC; they are not there."),
        ({"wtpt": xyz(0, 0, 0)}, "is not the white of any paper or screen."),
        ({"wtpt": b"junk" + bytes(20)}, "The media white cannot be read"),
        ({"rTRC": curve(0, 40000, 30000, 65535)}, "The tone curve rTRC does not rise steadily"),
        ({"gTRC": curve(100, 200)}, "The tone curve gTRC spans only 0.00 of the range."),
        ({"bTRC": b"junk" + bytes(20)}, "A tone curve cannot be read: bTRC holds"),
        ({"rXYZ": xyz(0.3, 0.2, 0.01)}, "not to D50: greys come out tinted."),
    ],
)
def test_damage_to_what_a_working_space_says(tags: dict[str, bytes | None], sentence: str) -> None:
    found = problems_of(with_tags(space_profile("srgb"), **tags))
    assert any(sentence in problem for problem in found)
    assert all(problem.endswith(".") for problem in found)


def test_swapped_primaries_are_noticed() -> None:
    tags = parse_profile(space_profile("srgb")).tags
    swapped = with_tags(space_profile("srgb"), rXYZ=tags["gXYZ"], gXYZ=tags["rXYZ"])
    assert problems_of(swapped) == (
        "Its primaries stand in the wrong order: two colours are swapped.",
    )


def test_missing_and_damaged_tables_of_a_paper(papers: dict[str, bytes]) -> None:
    matte = papers["matte"]
    assert problems_of(matte) == ()
    found = problems_of(with_tags(matte, B2A1=None, gamt=None))
    assert found == (
        "A profile of class prtr needs the tags B2A1, gamt; they are not there.",
        "It has no table of its own for relative and absolute colorimetric: "
        "the perceptual one is used in its place.",
    )
    short = parse_profile(matte).tags["A2B1"][:900]
    assert any(
        "A table cannot be read: A2B1 holds 900 bytes, fewer than its table needs." in problem
        for problem in problems_of(with_tags(matte, A2B1=short))
    )
    crossed = with_tags(matte, B2A2=parse_profile(matte).tags["gamt"])
    assert any(
        "The table B2A2 leads from 3 to 1 channels; 3 to 3 is needed." in problem
        for problem in problems_of(crossed)
    )


def test_a_paper_whose_white_is_not_white_in_its_own_table(papers: dict[str, bytes]) -> None:
    from firstsheet.cms.tags import read_lut

    tag = bytearray(parse_profile(papers["matte"]).tags["A2B1"])
    last = 52 + 12 + 17**3 * 6 - 6  # the cell of device white
    tag[last : last + 2] = (32640).to_bytes(2, "big")  # L* 50 in the lut16 scale
    table = read_lut(bytes(tag))
    assert table.clut is not None
    assert table.clut[16, 16, 16, 0] == pytest.approx(32640 / 65535)
    assert "Its colorimetric table gives bare paper L* 50.0; it must be 100." in problems_of(
        with_tags(papers["matte"], A2B1=bytes(tag))
    )


def test_an_absurd_number_of_tags_is_told_and_bounded() -> None:
    head = bytearray(space_profile("srgb")[:128])
    data = assemble(bytes(head), [("zzzz", b"text" + bytes(8))] * 5000)
    facts = profile_facts(data)
    assert facts.kind == "broken"
    assert any("lists 200 tags or more" in problem for problem in facts.problems)


def test_a_readable_profile_with_problems_is_not_called_broken() -> None:
    facts = profile_facts(with_tags(space_profile("srgb"), cprt=None))
    assert facts.kind == "working"
    assert len(facts.problems) == 1


def test_primaries_that_span_no_colours_make_a_profile_broken() -> None:
    facts = profile_facts(with_tags(space_profile("srgb"), rXYZ=xyz(0, 0, 0)))
    assert facts.kind == "broken"
    assert facts.problems[0] == "Its three primaries are not three different colours."


def test_what_is_unreadable_is_called_broken() -> None:
    facts = profile_facts(with_tags(space_profile("srgb"), rTRC=b"junk" + bytes(20)))
    assert facts.kind == "broken"
    assert facts.problems[0].startswith("The profile cannot be read: rTRC holds")
