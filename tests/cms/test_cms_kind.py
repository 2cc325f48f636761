"""Working space, screen, scanner, paper or grey: what a profile stands for."""

import struct
from pathlib import Path

import pytest

from firstsheet.cms.build import grey_profile, header, identified, space_profile, text_tag
from firstsheet.cms.container import parse_profile
from firstsheet.cms.kind import matching_space, profile_kind
from firstsheet.cms.lcms import assemble
from firstsheet.cms.profile import profile_facts
from firstsheet.engine.colour.spaces import GREYS, SPACES

DEBIAN = Path("/usr/share/color/icc")


def packaged(file: str) -> bytes:
    """A profile that Debian packages, wherever it lies in the folder of profiles."""
    path = next(iter(sorted(DEBIAN.rglob(file))), None)
    if path is None:
        pytest.skip("Debian's packages of profiles are not installed")
    return path.read_bytes()


def changed(data: bytes, *, device_class: bytes = b"", **tags: bytes) -> bytes:
    head = bytearray(data[:128])
    if device_class:
        head[12:16] = device_class
    merged = {**parse_profile(data).tags, **tags}
    return identified(assemble(bytes(head), list(merged.items())))


def gamma(value: float) -> bytes:
    return struct.pack(">4s4xIH2x", b"curv", 1, round(value * 256))


@pytest.mark.parametrize("name", sorted(SPACES))
def test_the_working_spaces_are_known_by_their_numbers(name: str) -> None:
    profile = parse_profile(space_profile(name))
    assert profile_kind(profile) == "working"
    assert matching_space(profile) == name


@pytest.mark.parametrize("name", sorted(GREYS))
def test_grey_is_grey_whatever_its_class(name: str) -> None:
    assert profile_kind(parse_profile(grey_profile(name))) == "grey"
    press_grey = changed(grey_profile(name), device_class=b"prtr")
    assert profile_kind(parse_profile(press_grey)) == "grey"


def test_scanner_and_paper_by_class(papers: dict[str, bytes], press: bytes) -> None:
    scanner = changed(space_profile("srgb"), device_class=b"scnr")
    assert profile_kind(parse_profile(scanner)) == "input"
    assert all(profile_kind(parse_profile(p)) == "output" for p in (*papers.values(), press))


@pytest.mark.parametrize(
    ("tags", "why"),
    [
        ({"vcgt": b"vcgt" + bytes(20)}, "calibration"),
        ({"mmod": b"mmod" + bytes(20)}, "model"),
        ({"desc": text_tag("Harbour office LCD, calibrated")}, "name"),
        ({"desc": text_tag("Monitor 2")}, "name"),
        ({"gTRC": gamma(2.1)}, "three different curves"),
        ({"A2B0": b"mft1" + bytes(60), "B2A0": b"mft1" + bytes(60)}, "tables"),
    ],
)
def test_whatever_points_to_a_device_makes_a_screen(tags: dict[str, bytes], why: str) -> None:
    assert why
    assert profile_kind(parse_profile(changed(space_profile("srgb"), **tags))) == "screen"


def test_the_name_display_p3_is_no_screen() -> None:
    assert profile_facts(space_profile("display-p3")).kind == "working"


def test_an_unknown_space_of_the_right_form_is_a_working_space() -> None:
    one = gamma(1.8)
    data = changed(space_profile("srgb"), rTRC=one, gTRC=one, bTRC=one)
    assert matching_space(parse_profile(data)) == ""
    assert profile_kind(parse_profile(data)) == "working"


def test_measured_looking_curves_make_a_screen() -> None:
    wavy = [round(65535 * ((i / 63) ** 2.2 * 0.97 + 0.03 * (i / 63) ** 0.5)) for i in range(64)]
    one = struct.pack(">4s4xI64H", b"curv", 64, *wavy)
    data = changed(space_profile("srgb"), rTRC=one, gTRC=one, bTRC=one)
    assert profile_kind(parse_profile(data)) == "screen"


def test_other_classes_are_other() -> None:
    for device_class in (b"link", b"abst", b"nmcl"):
        head = header(device_class=device_class, space=b"RGB ", pcs=b"Lab ")
        data = assemble(head, [("desc", text_tag("Quay")), ("cprt", text_tag("none"))])
        assert profile_facts(data).kind == "other"


@pytest.mark.needs_tool
@pytest.mark.parametrize(
    ("file", "kind", "space"),
    [
        ("sRGB.icc", "working", "srgb"),
        ("a98.icc", "working", "a98-rgb"),
        ("rommrgb.icc", "working", "prophoto-rgb"),
        ("LStar-RGB.icc", "working", ""),
        ("ITULab.icc", "working", None),
        ("Gray.icc", "grey", None),
        ("Gray-CIE_L.icc", "grey", None),
        ("CineLogCurve.icc", "other", None),
        ("LCMSLABI.ICM", "other", None),
        ("ECI-RGBv2.icc", "working", ""),
        ("PAL-RGB.icc", "working", ""),
        ("Rec709.icc", "working", ""),
        ("Bluish.icc", "screen", None),
        ("SwappedRedAndGreen.icc", "screen", ""),
        ("Gamma6500K.icc", "screen", None),
        ("Crayons.icc", "other", None),
    ],
)
def test_packaged_profiles(file: str, kind: str, space: str | None) -> None:
    data = packaged(file)
    facts = profile_facts(data)
    assert facts.kind == kind
    if space is not None:
        assert matching_space(parse_profile(data)) == space
    expected_problem = {
        "LCMSLABI.ICM": "connection light",
        "SwappedRedAndGreen.icc": "wrong order",
    }.get(file)
    if expected_problem:
        assert expected_problem in facts.problems[0]
    else:
        assert facts.problems == ()


@pytest.mark.needs_tool
def test_every_packaged_profile_is_read_without_trouble() -> None:
    files = [p for p in DEBIAN.rglob("*") if p.suffix.lower() in (".icc", ".icm")]
    if not files:
        pytest.skip("no profiles of Debian are installed")
    for path in files:
        assert profile_facts(path.read_bytes()).kind != "broken", path


def test_a_screens_profile_from_a_photograph() -> None:
    # scikit-image carries pictures with a monitor profile and with a dot-gain profile
    skimage = pytest.importorskip("skimage")
    image = pytest.importorskip("PIL.Image")
    folder = Path(skimage.__file__).parent / "data"
    for file, kind in (("color.png", "screen"), ("page.png", "grey"), ("rocket.jpg", "working")):
        if not (folder / file).exists():
            pytest.skip("scikit-image carries no pictures")
        with image.open(folder / file) as picture:
            assert profile_facts(picture.info["icc_profile"]).kind == kind


@pytest.mark.parametrize("name", sorted(SPACES))
def test_facts_name_a_known_space_and_its_width(name: str) -> None:
    facts = profile_facts(space_profile(name))
    assert facts.space == name
    assert facts.wide is SPACES[name].wide


@pytest.mark.needs_tool
@pytest.mark.parametrize(
    ("file", "wide"),
    [
        ("ECI-RGBv2.icc", True),
        ("Rec709.icc", False),
        ("PAL-RGB.icc", False),
    ],
)
def test_unknown_spaces_are_wide_by_their_primaries(file: str, wide: bool) -> None:
    assert profile_facts(packaged(file)).wide is wide
