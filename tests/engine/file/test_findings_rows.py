"""The finer points of single rows: thresholds, other readings, silence where due."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from firstsheet.engine.file import findings_colour, findings_container, findings_tones
from firstsheet.engine.records import PictureFacts, ProfileFacts

Scan = Callable[..., PictureFacts]


def test_an_untagged_file_read_as_wide_is_warned_the_other_way(scan: Scan) -> None:
    finding = findings_colour.untagged_rgb(scan(profile=None, read_as="a98-rgb"))

    assert finding is not None
    assert "made in sRGB, colours print about 22 % too strong (mean ΔE00 3.4, largest 7.7)" in (
        finding.consequence
    )
    assert finding.figures["if_wrong_chroma_factor"] == 1.22
    (choice,) = finding.choices
    assert choice.option == "--read-as"
    assert choice.text == (
        "Name the space, if you know it: srgb, display-p3, a98-rgb, prophoto-rgb."
    )


def test_a_flag_in_the_metadata_is_a_hint_and_no_decision(scan: Scan) -> None:
    finding = findings_colour.untagged_rgb(scan(profile=None, flag_space="uncalibrated"))

    assert finding is not None
    assert finding.found.endswith(
        "The colour flag in its metadata says “uncalibrated”, which cameras write for wider spaces."
    )
    assert finding.figures["read_as"] == "srgb"


def test_a_broken_profile_is_not_called_untagged_as_well(scan: Scan) -> None:
    broken = scan(profile=ProfileFacts(kind="broken", size_bytes=12), read_as="srgb")

    assert findings_colour.untagged_rgb(broken) is None
    assert findings_colour.broken_profile(broken) is not None


@pytest.mark.parametrize(
    ("flag", "changes", "speaks"),
    [
        ("srgb", {}, False),
        ("srgb", {"space": "", "description": "sRGB v4"}, False),
        ("srgb", {"space": "a98-rgb", "description": "Harbour Wide"}, True),
        ("a98-rgb", {}, True),
        ("a98-rgb", {"space": "a98-rgb", "description": "Harbour Wide"}, False),
        ("uncalibrated", {"space": "a98-rgb", "description": "Harbour Wide"}, False),
        ("", {"space": "a98-rgb", "description": "Harbour Wide"}, False),
    ],
)
def test_only_a_real_contradiction_is_told(
    flag: str, changes: Any, speaks: bool, scan: Scan
) -> None:
    facts = scan(flag_space=flag, profile=changes)

    assert (findings_colour.flag_against_profile(facts) is not None) is speaks


def test_grey_read_by_even_lightness_is_compared_with_the_power(scan: Scan) -> None:
    facts = scan(profile=None, colour_model="grey", read_as="grey-l-star")
    finding = findings_colour.untagged_grey(facts)

    assert finding is not None
    # By hand: code 21 of 255 is L* 8.24 there; its 2.2nd power is 0.00411, L* 903.3 Y = 3.72.
    assert "Read as grey with gamma 2.2 it would print up to 4.5 L* darker" in finding.consequence


@pytest.mark.published
def test_the_step_of_an_eight_bit_grey_is_the_trade_s_figure(scan: Scan) -> None:
    # Public trade writing, computed: at code 30 one step is 0.64 L* in ROMM RGB, 0.49 in sRGB.
    facts = scan(bits=8, true_bits=8, profile=None, read_as="prophoto-rgb")
    finding = findings_colour.eight_bit_wide(facts)

    assert finding is not None
    assert finding.figures["step_l"] == pytest.approx(0.64, abs=0.005)
    assert finding.figures["step_srgb_l"] == pytest.approx(0.49, abs=0.005)


def test_a_wide_profile_of_no_known_space_is_told_without_figures(scan: Scan) -> None:
    wide = {"space": "", "wide": True, "description": "Harbour Wide"}
    finding = findings_colour.eight_bit_wide(scan(bits=8, true_bits=8, profile=wide))

    assert finding is not None
    assert finding.figures == {}
    assert "(“Harbour Wide”)" in finding.found


@pytest.mark.parametrize("changes", [{"profile": {}}, {"profile": {"wide": None}}])
def test_eight_bits_in_a_narrow_or_unjudged_space_are_not_called_wide(
    changes: Any, scan: Scan
) -> None:
    assert findings_colour.eight_bit_wide(scan(bits=8, true_bits=8, **changes)) is None


def test_a_press_profile_on_cmyk_is_not_called_a_double_conversion(scan: Scan) -> None:
    facts = scan(colour_model="cmyk", profile={"kind": "output", "colour_space": "CMYK"})

    assert findings_colour.output_profile(facts) is None


@pytest.mark.parametrize(
    ("changes", "weight"),
    [
        ({"clipped_high_percent": 0.05}, None),
        ({"clipped_high_percent": 0.2}, "fine"),
        ({"clipped_high_percent": 0.2, "largest_high_patch_percent": 0.3}, "caution"),
        ({"clipped_high_percent": 0.6}, "caution"),
        ({"clipped_low_percent": 0.6}, "fine"),
        ({"clipped_low_percent": 2.5}, "caution"),
    ],
)
def test_clipping_weighs_more_in_the_lights_and_in_patches(
    changes: dict[str, float], weight: str | None, scan: Scan
) -> None:
    finding = findings_tones.clipped(scan(channels={"R": changes}))

    assert (None if finding is None else finding.weight) == weight


@pytest.mark.parametrize("model", ["cmyk", "lab"])
def test_no_ink_and_neutral_lab_are_not_clipping(model: str, scan: Scan) -> None:
    names = {"cmyk": "CMYK", "lab": "ab"}[model]
    channels = {name: {"clipped_low_percent": 40.0} for name in names}

    assert findings_tones.clipped(scan(colour_model=model, channels=channels)) is None


@pytest.mark.parametrize(
    ("quality", "weight"), [(95, None), (90, None), (89, "fine"), (74, "caution")]
)
def test_jpeg_quality_is_graded(quality: int, weight: str | None, scan: Scan) -> None:
    finding = findings_tones.jpeg_artefacts(scan(jpeg_quality=quality))

    assert (None if finding is None else finding.weight) == weight


def test_twelve_true_bits_are_no_fault(scan: Scan) -> None:
    assert findings_tones.sixteen_bit_is_eight(scan(true_bits=12)) is None


def test_a_weak_suspicion_is_kept_to_oneself(scan: Scan) -> None:
    assert findings_tones.uninverted_negative(scan(mask_confidence=0.59)) is None
    assert findings_tones.uninverted_negative(scan(mask_confidence=None)) is None
    assert findings_tones.film_border(scan(film_border_percent=0.4)) is None


def test_layers_with_a_flattened_picture_are_fine(scan: Scan) -> None:
    finding = findings_container.several_pages(scan(layers=4, composite=True))

    assert finding is not None
    assert finding.weight == "fine"
    assert finding.found == "The file holds layers (4)."


@pytest.mark.parametrize("flag", range(2, 9))
def test_every_turn_is_named(flag: int, scan: Scan) -> None:
    finding = findings_container.orientation_applied(scan(orientation=flag))

    assert finding is not None
    assert finding.consequence.startswith(("The picture is turned", "The picture is mirrored"))


def test_a_thumbnail_that_disagrees_raises_doubt(scan: Scan) -> None:
    finding = findings_container.orientation_applied(scan(orientation=6, thumbnail_conflicts=True))

    assert finding is not None
    assert finding.weight == "caution"
    assert "The thumbnail inside is turned differently." in finding.found
    assert finding.choices


def test_beyond_four_gigabytes_big_tiff_is_named(scan: Scan) -> None:
    facts = scan(stored_width_px=60_000, stored_height_px=20_000)
    finding = findings_container.large_file(facts)

    assert finding is not None
    assert finding.weight == "caution"
    assert "BigTIFF" in finding.consequence
    assert finding.figures["unpacked_bytes"] == 7_200_000_000


def test_an_unusable_resolution_tag_is_named(scan: Scan) -> None:
    facts = scan(tag_ppi_x=None, tag_ppi_y=None, tag_ppi_note="it says 0")
    finding = findings_container.tag_resolution_ignored(facts)

    assert finding is not None
    assert finding.found == "The resolution tag is unusable: it says 0."


def test_upper_case_endings_are_right_endings(scan: Scan) -> None:
    assert findings_container.wrong_extension(scan(suffix=".TIF")) is None
    assert findings_container.wrong_extension(scan(suffix="")) is None


@pytest.mark.published
def test_the_steps_told_of_eight_bits_are_those_another_library_computes(
    scan: Scan, colour_science: Any
) -> None:
    codes = np.arange(256) / 255
    y = colour_science.RGB_COLOURSPACES["sRGB"].cctf_decoding(codes)

    steps = np.diff(colour_science.colorimetry.lightness_CIE1976(y, 1.0))

    finding = findings_tones.eight_bit(scan(bits=8, true_bits=8))
    assert finding is not None
    assert "Steps are 0.27 to 0.5 L* in sRGB" in finding.consequence
    assert steps.min() == pytest.approx(0.27, abs=0.01)
    assert steps.max() == pytest.approx(0.5, abs=0.01)
