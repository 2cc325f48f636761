"""The profiles we write, read by others."""

import io
import struct

import iccdev
import numpy as np
import pytest
from PIL import ImageCms

from firstsheet.cms.build import grey_profile, space_profile
from firstsheet.cms.checklist import profile_digest
from firstsheet.cms.container import parse_profile
from firstsheet.cms.profile import profile_facts
from firstsheet.engine.colour.spaces import GREYS, SPACES

ALL = [*(space_profile(name) for name in SPACES), *(grey_profile(name) for name in GREYS)]


@pytest.mark.parametrize("data", ALL)
def test_the_reference_validator_finds_nothing(data: bytes) -> None:
    result = iccdev.validate_profile(data)
    assert result.status == iccdev.ValidationStatus.OK
    assert result.report == ""


@pytest.mark.parametrize("data", ALL)
def test_our_own_checklist_finds_nothing(data: bytes) -> None:
    facts = profile_facts(data)
    assert facts.problems == ()
    assert facts.kind in ("working", "grey")


@pytest.mark.parametrize("name", sorted(SPACES))
def test_a_second_reader_opens_them_and_reads_the_name(name: str) -> None:
    opened = ImageCms.ImageCmsProfile(io.BytesIO(space_profile(name)))
    assert opened.profile.profile_description == SPACES[name].profile_title
    assert opened.profile.xcolor_space.strip() == "RGB"
    matrix = np.array(
        [getattr(opened.profile, f"{colour}_colorant")[0] for colour in ("red", "green", "blue")]
    ).T
    assert matrix == pytest.approx(SPACES[name].rgb_to_xyz_d50, abs=3e-5)


@pytest.mark.published
@pytest.mark.parametrize("data", ALL)
def test_the_header_holds_its_fields_where_the_standard_puts_them(data: bytes) -> None:
    # ICC.1:2022 table 17; offsets as in the reference code's icProfileHeader.h
    assert struct.unpack_from(">I", data, 0)[0] == len(data)
    assert data[8:10] == b"\x04\x30"
    assert data[12:16] == b"mntr"
    assert data[16:20] in (b"RGB ", b"GRAY")
    assert data[20:24] == b"XYZ "
    assert struct.unpack_from(">6H", data, 24) == (2026, 1, 1, 0, 0, 0)
    assert data[36:40] == b"acsp"
    assert struct.unpack_from(">I", data, 64)[0] == 1
    assert data[68:80].hex() == "0000f6d6000100000000d32d"
    assert data[84:100] == profile_digest(data)
    assert data[100:128] == bytes(28)
    assert all(place.offset % 4 == 0 for place in parse_profile(data).places)


def test_white_is_exactly_d50() -> None:
    for name in SPACES:
        profile = parse_profile(space_profile(name))
        total = sum(profile.colorant(f"{letter}XYZ") for letter in "rgb")
        assert (np.asarray(total) * 65536).round().tolist() == [63190, 65536, 54061]


def test_they_are_small_and_the_same_every_time() -> None:
    space_profile.cache_clear()
    assert [space_profile(name) for name in SPACES] == ALL[: len(SPACES)]
    assert max(map(len, ALL)) < 700


def test_the_notice_puts_them_in_the_public_domain() -> None:
    from firstsheet.cms.tags import read_text

    for data in ALL:
        assert "CC0" in read_text(parse_profile(data).tags["cprt"])
