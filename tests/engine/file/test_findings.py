"""Every row speaks where it should, is silent where it should, and says the words in full."""

import re
from collections.abc import Callable
from typing import Any

import pytest

from firstsheet.engine.file.findings import ROWS, picture_findings
from firstsheet.engine.records import Finding, PictureFacts, ProfileFacts

Scan = Callable[..., PictureFacts]
NO_PROFILE: dict[str, Any] = {"profile": None}

# One picture per row of the table: what calls the finding, its weight, and what it must say.
CASES: dict[str, tuple[dict[str, Any], str, str, str]] = {
    "output-profile": (
        {"profile": {"kind": "output", "description": "Chalk Matte 310", "space": ""}},
        "caution",
        "The picture is already converted for a printer (“Chalk Matte 310”).",
        "Converting it again would ruin it, so its numbers are kept as they are.",
    ),
    "uninverted-negative": (
        {"mask_confidence": 0.84},
        "caution",
        "Lights and darks are equally orange, and there is no black: is this a colour negative "
        "that was not inverted?",
        "If it is, the print would be a negative too.",
    ),
    "untagged-rgb": (
        {**NO_PROFILE, "read_as": "srgb"},
        "caution",
        "The picture carries no colour profile.",
        "It is read as sRGB. If it was made in Display P3, colours print about 14 % too flat "
        "(mean ΔE00 2.0, largest 3.8). If it was made in opRGB, "
        "colours print about 16 % too flat (mean ΔE00 2.9, largest 6.3). If it was made in "
        "ROMM RGB, colours print about 30 % too flat and 7 L* too dark (mean ΔE00 8.7, "
        "largest 15.1).",
    ),
    "untagged-grey": (
        {**NO_PROFILE, "colour_model": "grey", "channels": {"K": {}}},
        "caution",
        "The grey picture carries no profile, so its tone curve is unknown.",
        "It is read as grey with gamma 2.2. Read as grey in even steps of L* it would print up to "
        "4.5 L* lighter, most at code 21 of 255.",
    ),
    "broken-profile": (
        {
            "profile": ProfileFacts(
                kind="broken", size_bytes=3144, problems=("it says 560 bytes but has 3,144.",)
            ),
            "read_as": "srgb",
        },
        "caution",
        "The embedded profile (3,144 bytes) is unreadable: it says 560 bytes but has 3,144.",
        "It is read as sRGB, as a file without a profile.",
    ),
    "flag-against-profile": (
        {"flag_space": "srgb", "profile": {"description": "Harbour Wide", "space": "a98-rgb"}},
        "fine",
        "The colour flag in the metadata says sRGB; the embedded profile is “Harbour Wide”.",
        "The profile is used and the flag is ignored.",
    ),
    "screen-profile": (
        {"profile": {"kind": "screen", "description": "Harbour Office LCD", "space": ""}},
        "caution",
        "The picture carries the profile of a screen (“Harbour Office LCD”), not of a working "
        "space.",
        "Its colours are taken as that profile says; they are only as right as that profile is.",
    ),
    "input-profile": (
        {"profile": {"kind": "input", "description": "Quay flatbed", "space": ""}},
        "caution",
        "The picture carries the profile of a scanner or camera (“Quay flatbed”), not of a "
        "working space.",
        "Its colours are taken as that profile says; they are only as right as that profile is.",
    ),
    "cmyk-tagged": (
        {
            "colour_model": "cmyk",
            "profile": {"kind": "output", "colour_space": "CMYK", "description": "Coated press"},
        },
        "caution",
        "The picture is CMYK, separated for “Coated press”.",
        "It is converted through that profile. Colours the press could not print are gone already "
        "and do not come back on a better paper.",
    ),
    "lab-file": (
        {"colour_model": "lab", "profile": None, "channels": {}},
        "fine",
        "The picture is in CIELAB.",
        "Its numbers are colours already; they are read against D50 and no profile is needed.",
    ),
    "clipped": (
        {
            "channels": {
                "R": {"clipped_high_percent": 3.2, "largest_high_patch_percent": 2.75},
                "G": {},
                "B": {"clipped_low_percent": 0.4},
            }
        },
        "caution",
        "Clipped: highlights in red (3.2 %) and shadows in blue (0.4 %). "
        "The largest patch is 2.75 % of the picture.",
        "No detail is left in those highlights and shadows; no print brings it back.",
    ),
    "sixteen-bit-is-eight": (
        {"true_bits": 8, "channels": {"R": {"levels_used": 243}, "G": {"levels_used": 9}}},
        "caution",
        "The file has 16 bits per channel but only 243 levels: it was 8-bit once.",
        "It carries no finer steps than an 8-bit file; edits can show bands.",
    ),
    "eight-bit-wide": (
        {"bits": 8, "true_bits": 8, "profile": {"space": "prophoto-rgb", "wide": True}},
        "caution",
        "The picture has 8 bits per channel in a wide space (ROMM RGB).",
        "Steps are coarser: in a deep shadow one step is 0.64 L* against 0.49 in sRGB. Clean "
        "gradients may show bands, more so after edits.",
    ),
    "comb": (
        {"channels": {"R": {"comb_percent": 23.05}, "G": {"comb_percent": 2.5}}},
        "caution",
        "23 % of the levels between darkest and lightest are empty (worst in red): the tones were "
        "pulled apart after they were recorded.",
        "Steps in smooth gradients are larger than the bit depth suggests.",
    ),
    "jpeg-artefacts": (
        {"format": "JPEG", "suffix": ".jpg", "jpeg_quality": 62, "chroma_sampling": "4:2:0"},
        "caution",
        "The JPEG was saved at a quality of about 62 of 100. Colour is stored coarser than "
        "lightness (4:2:0).",
        "Blocks and fringes are likely to show in a print of any size.",
    ),
    "line-art": (
        {"bits": 1, "true_bits": 1, "colour_model": "grey", "channels": {"K": {}}},
        "caution",
        "The picture has 1 bit per pixel: black and white, no tones.",
        "It prints as line art; resizing gives its edges a grey fringe.",
    ),
    "palette": (
        {"palette_colours": 256, "bits": 8, "true_bits": 8, "format": "PNG", "suffix": ".png"},
        "caution",
        "The picture takes its colours from a palette of 256.",
        "Expect visible steps in skies and skin.",
    ),
    "film-border": (
        {"film_border_percent": 11.6},
        "caution",
        "An even frame of about 12 % of the area lies around the picture: film edge, holder or a "
        "scanned border.",
        "It would be printed, and it falsifies statistics such as clipping.",
    ),
    "several-pages": (
        {"pages": 3, "page": 2},
        "caution",
        "The file holds 3 pages.",
        "Page 2 is printed (3,000 × 2,200 pixels).",
    ),
    "large-file": (
        {
            "stored_width_px": 61_000,
            "stored_height_px": 9_800,
            "width_px": 61_000,
            "height_px": 9800,
        },
        "fine",
        "The picture is 61,000 × 9,800 pixels (598 megapixels, 3.59 GB unpacked).",
        "It is worked through in strips, so memory stays small; it takes time and disk.",
    ),
    "wrong-extension": (
        {"format": "JPEG", "suffix": ".tif"},
        "fine",
        "The file is named .tif but is a JPEG.",
        "It is read as JPEG.",
    ),
    "multi-picture": (
        {"companions": ("gain map", "second view")},
        "fine",
        "The file holds more than one picture (gain map, second view).",
        "The base picture is printed; brightness beyond it is for screens only.",
    ),
    "orientation-applied": (
        {"orientation": 6, "orientation_flag": 6},
        "fine",
        "The orientation flag is 6.",
        "The picture is turned by 90° clockwise once, and outputs carry no flag.",
    ),
    "orientation-ignored": (
        {"orientation_flag": 9},
        "fine",
        "The orientation flag is 9, which means nothing (1 to 8 do).",
        "It is ignored: the picture stays as it is stored.",
    ),
    "eight-bit": (
        {"bits": 8, "true_bits": 8},
        "fine",
        "The picture has 8 bits per channel.",
        "Steps are 0.27 to 0.5 L* in sRGB: hidden by grain, visible in clean wide gradients. It is "
        "worked on with 16 bits from here on.",
    ),
    "alpha-opaque": (
        {"alpha": "opaque"},
        "fine",
        "There is an alpha channel, and every pixel in it is opaque.",
        "It is dropped; nothing changes.",
    ),
    "extra-channels": (
        {"extra_channels": 2, "extra_channel_names": ("mask", "spot")},
        "fine",
        "There are 2 further channels (mask, spot).",
        "They are left out: only colour is printed.",
    ),
    "tag-resolution-ignored": (
        {"tag_ppi_x": 72.0, "tag_ppi_y": 72.0},
        "fine",
        "The resolution tag says 72 ppi.",
        "That is harmless: size and sharpness come from the pixels (3,000 × 2,200), and the print "
        "file gets the right tag.",
    ),
}


def only(code: str, facts: PictureFacts) -> Finding:
    return next(finding for finding in picture_findings(facts) if finding.code == code)


def test_a_faultless_scan_calls_for_nothing(scan: Scan) -> None:
    assert picture_findings(scan()) == ()


def test_every_row_has_a_case_here() -> None:
    assert set(CASES) == set(ROWS)


@pytest.mark.parametrize("code", ROWS)
def test_each_row_says_what_was_found_and_what_follows(code: str, scan: Scan) -> None:
    changes, weight, found, consequence = CASES[code]

    finding = only(code, scan(**changes))

    assert finding.weight == weight
    assert finding.found == found
    assert finding.consequence == consequence


@pytest.mark.parametrize("code", ROWS)
def test_each_row_alone_is_called_by_its_fault_alone(code: str, scan: Scan) -> None:
    codes = [finding.code for finding in picture_findings(scan(**CASES[code][0]))]

    assert codes == [code]


@pytest.mark.parametrize("code", ROWS)
def test_sentences_are_sentences_and_a_caution_has_a_choice(code: str, scan: Scan) -> None:
    finding = only(code, scan(**CASES[code][0]))

    for sentence in (finding.found, finding.consequence, *(one.text for one in finding.choices)):
        assert sentence[0].isupper() or sentence[0].isdigit()
        assert re.search(r"[.?]$", sentence)
        assert "  " not in sentence
        assert "None" not in sentence
    if finding.weight != "fine":
        assert finding.choices
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", finding.code)


def test_stop_comes_before_caution_before_fine(scan: Scan) -> None:
    facts = scan(tag_ppi_x=72.0, tag_ppi_y=72.0, bits=8, true_bits=8, profile=None)

    weights = [finding.weight for finding in picture_findings(facts)]

    assert weights == ["caution", "fine", "fine"]


def test_what_the_opening_room_said_is_not_said_again(scan: Scan) -> None:
    said = Finding(
        code="read-as", weight="caution", found="No profile.", consequence="Read as sRGB."
    )
    same = Finding(code="alpha-opaque", weight="fine", found="Alpha.", consequence="Dropped.")

    assert picture_findings(scan(profile=None, alpha="opaque", findings=(said, same))) == ()


def test_a_finding_leaves_no_need_for_its_lesser(scan: Scan) -> None:
    wide = scan(bits=8, true_bits=8, profile={"space": "a98-rgb", "wide": True})

    assert [finding.code for finding in picture_findings(wide)] == ["eight-bit-wide"]
