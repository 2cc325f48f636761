"""Files as they come: accepted, asked about or refused, each with its three-part message."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import makers  # type: ignore[import-not-found]
import numpy as np
import pytest
from PIL import Image

from firstsheet.engine.errors import (
    FirstsheetError,
    QuestionError,
    RefusedPictureError,
    TicketError,
)
from firstsheet.engine.records import Finding
from firstsheet.files.reading.opening import open_picture


def findings(path: Path, **options: Any) -> dict[str, Finding]:
    with open_picture(path, **options) as opened:
        found = {one.code: one for one in opened.facts.findings}
    for one in found.values():
        assert one.found.strip()
        assert one.consequence.strip()
        assert one.weight == "fine" or one.choices, f"{one.code} leaves no choice"
    return found


def refusal(path: Path, kind: type[FirstsheetError] = RefusedPictureError, **options: Any) -> Any:
    with pytest.raises(kind) as caught:
        open_picture(path, **options)
    error = caught.value
    assert error.found.strip() and error.consequence.strip() and error.choice.strip()  # noqa: PT018
    assert error.code
    return error


# Profiles ---------------------------------------------------------------------------------


def test_rgb_without_a_profile_is_read_as_srgb_and_that_is_said_and_recorded(
    tmp_path: Path,
) -> None:
    path = makers.write_tiff(tmp_path / "a.tif", makers.noise())

    with open_picture(path) as opened:
        assert opened.facts.profile is None
        assert opened.facts.read_as == "srgb"
        assert opened.profile_bytes[36:40] == b"acsp"
    found = findings(path)["untagged-rgb"]
    assert found.weight == "caution"
    assert [choice.option for choice in found.choices] == ["--read-as"]


def test_a_named_space_is_taken_at_its_word(tmp_path: Path) -> None:
    path = makers.write_tiff(tmp_path / "a.tif", makers.noise())

    with open_picture(path) as by_default, open_picture(path, read_as="prophoto-rgb") as named:
        assert named.facts.read_as == "prophoto-rgb"
        assert named.profile_bytes != by_default.profile_bytes
    found = findings(path, read_as="prophoto-rgb")
    assert found["read-as"].weight == "fine"
    assert "untagged-rgb" not in found


def test_an_unknown_space_is_a_slip_that_lists_the_known_ones(tmp_path: Path) -> None:
    path = makers.write_tiff(tmp_path / "a.tif", makers.noise())

    error = refusal(path, TicketError, read_as="sbgr")

    assert "sbgr" in error.found
    assert "srgb" in error.choice


def test_a_profile_file_can_name_the_space(tmp_path: Path) -> None:
    path = makers.write_tiff(tmp_path / "a.tif", makers.noise())
    profile = tmp_path / "scanner.icc"
    profile.write_bytes(makers.srgb_profile())

    with open_picture(path, read_as=str(profile)) as opened:
        assert opened.profile_bytes == profile.read_bytes()


def test_a_file_that_is_no_profile_cannot_name_the_space(tmp_path: Path) -> None:
    path = makers.write_tiff(tmp_path / "a.tif", makers.noise())
    profile = tmp_path / "scanner.icc"
    profile.write_bytes(b"nothing of the kind" * 20)

    assert refusal(path, TicketError, read_as=str(profile)).code == "profile-not-fitting"


def test_an_embedded_profile_is_used_and_a_reading_asked_for_is_not(tmp_path: Path) -> None:
    path = makers.with_profile(tmp_path / "a.tif", makers.srgb_profile())

    with open_picture(path, read_as="prophoto-rgb") as opened:
        assert opened.profile_bytes == makers.srgb_profile()
        assert opened.facts.read_as == ""
        assert opened.facts.profile is not None
    assert (
        "the profile decides"
        in findings(path, read_as="prophoto-rgb")["read-as-not-needed"].consequence.lower()
    )


@pytest.mark.parametrize("keep", [60, 127, 300])
def test_a_cut_profile_is_said_and_the_file_read_as_untagged(tmp_path: Path, keep: int) -> None:
    path = makers.with_profile(tmp_path / "a.tif", makers.srgb_profile()[:keep])

    with open_picture(path) as opened:
        assert opened.facts.read_as == "srgb"
        assert opened.profile_bytes[36:40] == b"acsp"
    found = findings(path)["broken-profile"]
    assert found.weight == "caution"
    assert str(keep) in found.found


def test_a_profile_of_another_kind_of_colour_is_not_believed(tmp_path: Path) -> None:
    path = makers.with_profile(
        tmp_path / "a.tif", makers.srgb_profile(), makers.noise(np.uint16, 1)
    )

    with open_picture(path) as opened:
        assert opened.facts.read_as == "grey-gamma-2.2"
    assert "grey" in findings(path)["profile-mismatch"].found


def test_grey_without_a_profile_is_read_with_gamma_2_2_and_that_is_said(tmp_path: Path) -> None:
    path = makers.write_tiff(tmp_path / "a.tif", makers.noise(np.uint16, 1))

    with open_picture(path) as opened:
        assert opened.facts.read_as == "grey-gamma-2.2"
        assert opened.profile_bytes[16:20] == b"GRAY"
    assert findings(path)["untagged-grey"].weight == "caution"


def test_cmyk_without_a_profile_is_refused_until_it_is_named(tmp_path: Path) -> None:
    path = makers.write_tiff(tmp_path / "a.tif", makers.noise(np.uint8, 4), photometric="separated")

    error = refusal(path, QuestionError)

    assert error.code == "cmyk-untagged"
    assert "unknown press" in error.consequence
    assert "--read-as" in error.option


def test_the_srgb_flag_of_a_camera_is_a_declaration_the_wider_one_a_hint(tmp_path: Path) -> None:
    path = tmp_path / "a.jpg"
    pixels = makers.slope()

    path.write_bytes(makers.jpeg_bytes(pixels, exif=makers.exif_block(colour_space=1)))
    assert "EXIF colour flag says sRGB" in findings(path)["read-as"].found

    path.write_bytes(
        makers.jpeg_bytes(pixels, exif=makers.exif_block(colour_space=65535, interop="R03"))
    )
    with open_picture(path) as opened:
        assert opened.facts.read_as == "srgb"
        assert opened.facts.flag_space == "a98-rgb"
    assert "flag" in findings(path)["untagged-rgb"].found


def test_a_flag_against_the_profile_is_told_and_the_profile_wins(tmp_path: Path) -> None:
    path = tmp_path / "a.jpg"
    exif = makers.exif_block(colour_space=65535, interop="R03")
    path.write_bytes(
        makers.jpeg_bytes(makers.slope(), exif=exif, icc_profile=makers.srgb_profile())
    )

    with open_picture(path) as opened:
        assert opened.profile_bytes == makers.srgb_profile()
    assert "profile is used" in findings(path)["flag-against-profile"].consequence


def test_a_png_that_declares_srgb_is_believed(tmp_path: Path) -> None:
    path = makers.write_png(tmp_path / "a.png", makers.noise(np.uint8), [(b"sRGB", b"\0")])

    assert "declares" in findings(path)["read-as"].found
    assert "untagged-rgb" not in findings(path)


def test_a_paper_profile_inside_the_picture_is_told(tmp_path: Path) -> None:
    from firstsheet.files.reading import opening

    papers = Path(opening.__file__).parents[2] / "data/papers"
    path = makers.with_profile(tmp_path / "a.tif", (papers / "matte_synthetic_v2.icc").read_bytes())

    assert "already converted" in findings(path)["output-profile"].found


def test_a_png_profile_that_does_not_unpack_is_told(tmp_path: Path) -> None:
    chunk = (b"iCCP", b"press\0\0this is not deflate")
    path = makers.write_png(tmp_path / "a.png", makers.noise(np.uint8), [chunk])

    with open_picture(path) as opened:
        assert opened.facts.read_as == "srgb"
    assert "cannot be read" in findings(path)["profile-unreadable"].found


# Numbers ----------------------------------------------------------------------------------


def test_float_without_a_profile_is_a_question(tmp_path: Path) -> None:
    path = makers.write_tiff(tmp_path / "a.tif", makers.noise(np.float32))

    error = refusal(path, QuestionError)

    assert error.code == "float-untagged"
    assert "--read-as" in error.option


def bright_float(path: Path) -> Path:
    pixels = makers.noise(np.float32)
    pixels[3, 4] = (4.2, 1.5, 0.9)
    written: Path = makers.write_tiff(path, pixels)
    return written


def test_values_above_one_are_a_question_with_the_number(tmp_path: Path) -> None:
    error = refusal(bright_float(tmp_path / "a.tif"), QuestionError, read_as="srgb")

    assert error.code == "float-over-one"
    assert "4.2" in error.found
    assert "clip|compress" in error.option


def test_clipping_cuts_at_one_and_compressing_keeps_the_order(tmp_path: Path) -> None:
    path = bright_float(tmp_path / "a.tif")

    answers = {"float-over-one": "clip"}
    with open_picture(path, read_as="srgb", answers=answers) as opened:
        assert opened.source.rows(3, 4)[0, 4].tolist() == [1.0, 1.0, np.float32(0.9)]
        assert opened.facts.float_highest == pytest.approx(4.2)
    answers = {"float-over-one": "compress"}
    with open_picture(path, read_as="srgb", answers=answers) as opened:
        first, second, third = opened.source.rows(3, 4)[0, 4]
        assert first == pytest.approx(1.0, abs=1e-6)
        assert 1.0 > second > third > 0.8
        below = opened.source.rows(0, 3)
        kept = makers.noise(np.float32)[0:3]
        np.testing.assert_array_equal(below[kept < 0.8], kept[kept < 0.8])
    assert findings(path, read_as="srgb", answers=answers)["float-over-one"].weight == "caution"


def test_negative_values_are_cut_at_zero_and_told(tmp_path: Path) -> None:
    pixels = makers.noise(np.float32)
    pixels[0, 0] = -0.25
    path = makers.write_tiff(tmp_path / "a.tif", pixels)

    assert "-0.25" in findings(path, read_as="srgb")["negative-values"].found
    with open_picture(path, read_as="srgb") as opened:
        assert opened.source.rows(0, 1).min() == 0


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
def test_pixels_that_are_not_numbers_are_refused_with_their_count(
    tmp_path: Path, value: float
) -> None:
    pixels = makers.noise(np.float32)
    pixels[5, 6, 1:] = value
    path = makers.write_tiff(tmp_path / "a.tif", pixels)

    error = refusal(path, read_as="srgb")

    assert error.code == "not-a-number-pixels"
    assert error.found.startswith("2 samples")


@pytest.mark.parametrize("dtype", [np.int16, np.uint32, np.complex64])
def test_samples_that_are_no_picture_are_refused(tmp_path: Path, dtype: Any) -> None:
    path = makers.write_tiff(tmp_path / "a.tif", np.ones((61, 83, 1), dtype))

    assert refusal(path).code == "samples-not-printable"


def test_8_bits_are_accepted_and_told(tmp_path: Path) -> None:
    path = makers.write_tiff(tmp_path / "a.tif", makers.noise(np.uint8))

    assert "8 bits" in findings(path)["eight-bit"].found


def test_line_art_and_palettes_are_accepted_with_a_warning(tmp_path: Path) -> None:
    line, _ = makers.one_bit_tiff(tmp_path / "line.tif")
    indexed, _ = makers.palette_tiff(tmp_path / "indexed.tif")

    assert "no tones" in findings(line)["line-art"].found
    assert "256" in findings(indexed)["palette"].found


def test_an_uninverted_negative_is_asked_about(tmp_path: Path) -> None:
    path = makers.write_tiff(tmp_path / "a.tif", makers.orange_negative())

    found = findings(path)["uninverted-negative"]

    assert found.weight == "caution"
    assert "negative" in found.found


# Alpha and further channels ---------------------------------------------------------------


def test_an_opaque_alpha_channel_is_dropped_and_told(tmp_path: Path) -> None:
    pixels = makers.noise(np.uint16, 4)
    pixels[:, :, 3] = 65535
    path = makers.write_tiff(tmp_path / "a.tif", pixels, extrasamples=["unassalpha"])

    with open_picture(path) as opened:
        assert opened.facts.alpha == "opaque"
        np.testing.assert_array_equal(opened.source.rows(0, 61), pixels[:, :, :3])
    assert "alpha-opaque" in findings(path)


@pytest.mark.parametrize("ground", [None, "paper", "black"])
@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
@pytest.mark.parametrize("premultiplied", [False, True])
def test_clear_parts_lie_on_paper_white_unless_black_is_chosen(
    tmp_path: Path, dtype: Any, ground: Any, premultiplied: bool
) -> None:
    full = int(np.iinfo(dtype).max)
    straight = makers.noise(dtype, 4)
    stored = straight.copy()
    if premultiplied:
        wide = straight.astype(np.float64)
        stored[:, :, :3] = np.floor(wide[:, :, :3] * wide[:, :, 3:] / full)
    kind = "assocalpha" if premultiplied else "unassalpha"
    path = makers.write_tiff(tmp_path / "a.tif", stored, extrasamples=[kind])

    cover = straight[:, :, 3:].astype(np.float64) / full
    beneath = 0 if ground == "black" else full
    expected = straight[:, :, :3] * cover + beneath * (1 - cover)
    with open_picture(path, background=ground) as opened:
        difference = opened.source.rows(0, 61) - expected
        assert opened.facts.alpha == "partly-clear"
        assert opened.source.channels == 3
    assert np.abs(difference).max() <= (1.51 if premultiplied else 0.51)
    found = findings(path, background=ground)["partly-clear"]
    assert found.weight == ("caution" if ground is None else "fine")
    assert ("bare paper" if ground != "black" else "black") in found.consequence


def test_a_clear_png_is_composed_as_pillow_composes_it(tmp_path: Path) -> None:
    pixels = makers.noise(np.uint8, 4)
    path = makers.write_png(tmp_path / "a.png", pixels)

    over = Image.fromarray(pixels)
    white = Image.new("RGBA", over.size, "white")
    expected = np.array(Image.alpha_composite(white, over).convert("RGB")).astype(int)
    with open_picture(path) as opened:
        assert np.abs(opened.source.rows(0, 61) - expected).max() <= 1


def test_further_channels_are_dropped_and_counted(tmp_path: Path) -> None:
    pixels = makers.noise(np.uint16, 5)
    path = makers.write_tiff(
        tmp_path / "a.tif", pixels, extrasamples=["unspecified", "unspecified"]
    )

    with open_picture(path) as opened:
        assert opened.facts.extra_channels == 2
        np.testing.assert_array_equal(opened.source.rows(0, 61), pixels[:, :, :3])
    assert "2" in findings(path)["extra-channels"].found


# Pages ------------------------------------------------------------------------------------


def test_of_several_pages_the_first_is_taken_and_all_are_listed(tmp_path: Path) -> None:
    path = makers.pages(tmp_path / "a.tif")

    with open_picture(path) as opened:
        assert (opened.facts.page, opened.facts.pages) == (1, 3)
        assert (opened.source.rows(0, 1) == 40).all()
    found = findings(path)["several-pages"]
    assert found.weight == "caution"
    assert "3: 83 × 61" in found.found
    assert found.choices[0].option == "--page"


def test_another_page_can_be_named(tmp_path: Path) -> None:
    path = makers.pages(tmp_path / "a.tif")

    with open_picture(path, page=3) as opened:
        assert opened.facts.page == 3
        assert (opened.source.rows(0, 1) == 120).all()
    assert findings(path, page=3)["several-pages"].weight == "fine"


@pytest.mark.parametrize("page", [0, 4, -1])
def test_a_page_that_is_not_there_is_refused(tmp_path: Path, page: int) -> None:
    error = refusal(makers.pages(tmp_path / "a.tif"), page=page)

    assert error.code == "no-such-page"
    assert "1 to 3" in error.choice


def test_a_reduced_copy_before_the_picture_is_no_page(tmp_path: Path) -> None:
    path = makers.pages(tmp_path / "a.tif", 1, thumbnail_first=True)

    with open_picture(path) as opened:
        assert (opened.facts.pages, opened.facts.width_px) == (1, 83)
    assert "several-pages" not in findings(path)


def test_a_flattened_picture_with_layers_beside_it_is_taken(tmp_path: Path) -> None:
    path = makers.layered(tmp_path / "a.tif")

    with open_picture(path) as opened:
        assert opened.facts.composite
    found = findings(path)["several-pages"]
    assert found.weight == "fine"
    assert "flattened" in found.consequence


def test_a_jpeg_has_one_page(tmp_path: Path) -> None:
    path = tmp_path / "a.jpg"
    path.write_bytes(makers.jpeg_bytes(makers.slope()))

    assert refusal(path, page=2).code == "no-such-page"


# Orientation and resolution ---------------------------------------------------------------


@pytest.mark.parametrize("flag", range(1, 9))
def test_all_eight_orientations_are_read_and_quarter_turns_swap_the_sides(
    tmp_path: Path, flag: int
) -> None:
    path = tmp_path / "a.jpg"
    path.write_bytes(makers.jpeg_bytes(makers.slope(), exif=makers.exif_block(orientation=flag)))

    with open_picture(path) as opened:
        facts = opened.facts
        assert facts.orientation == flag
        assert (facts.stored_width_px, facts.stored_height_px) == (83, 61)
        assert (facts.width_px, facts.height_px) == ((61, 83) if flag >= 5 else (83, 61))


@pytest.mark.parametrize("flag", [0, 9, 77])
def test_an_orientation_that_means_nothing_is_ignored_and_told(tmp_path: Path, flag: int) -> None:
    path = makers.write_tiff(
        tmp_path / "a.tif", makers.noise(), extratags=[(274, 3, 1, flag, True)]
    )

    with open_picture(path) as opened:
        assert opened.facts.orientation == 1
    assert str(flag) in findings(path)["orientation-ignored"].found


def turned_preview(path: Path) -> Path:
    small = makers.jpeg_bytes(makers.slope(height=16, width=12))
    exif = makers.exif_block(orientation=6, thumbnail=small)
    path.write_bytes(makers.jpeg_bytes(makers.slope(), exif=exif))
    return path


def test_a_preview_of_the_turned_shape_raises_doubt(tmp_path: Path) -> None:
    path = turned_preview(tmp_path / "a.jpg")

    found = findings(path)["orientation-conflict"]

    assert found.weight == "caution"
    assert found.choices[0].change == {"answers.orientation": "ignore"}
    with open_picture(path, answers={"orientation": "ignore"}) as opened:
        assert opened.facts.orientation == 1
    with open_picture(path, answers={"orientation": "apply"}) as opened:
        assert opened.facts.orientation == 6


def test_a_preview_of_the_stored_shape_raises_none(tmp_path: Path) -> None:
    path = tmp_path / "a.jpg"
    small = makers.jpeg_bytes(makers.slope(height=12, width=16))
    exif = makers.exif_block(orientation=6, thumbnail=small)
    path.write_bytes(makers.jpeg_bytes(makers.slope(), exif=exif))

    assert "orientation-conflict" not in findings(path)


@pytest.mark.parametrize(
    ("resolution", "unit", "expected"),
    [((300, 300), 2, 300), ((118.11, 118.11), 3, 300), ((72, 72), 2, 72), ((0, 0), 2, 0)],
)
def test_resolution_tags_are_read_whatever_they_say(
    tmp_path: Path, resolution: tuple[float, float], unit: int, expected: float
) -> None:
    path = makers.write_tiff(
        tmp_path / "a.tif", makers.noise(), resolution=resolution, resolutionunit=unit
    )

    with open_picture(path) as opened:
        assert opened.facts.tag_ppi_x == pytest.approx(expected, abs=0.01)
    assert "unequal-resolution" not in findings(path)


def test_unequal_resolution_is_asked_about_and_can_be_answered(tmp_path: Path) -> None:
    path = makers.write_tiff(
        tmp_path / "a.tif", makers.noise(), resolution=(204, 98), resolutionunit=2
    )

    found = findings(path)["unequal-resolution"]
    assert found.weight == "caution"
    assert "204 ppi across, 98 ppi down" in found.found
    answered = findings(path, answers={"unequal-resolution": "square"})
    assert answered["unequal-resolution"].weight == "fine"


# Not a picture, or not one for here -------------------------------------------------------


@pytest.mark.parametrize("below", [False, True])
def test_sensor_data_of_a_camera_are_refused(tmp_path: Path, below: bool) -> None:
    error = refusal(makers.raw_camera_tiff(tmp_path / "a.tif", below=below))

    assert error.code == "raw-camera-file"
    assert "16-bit TIFF" in error.choice


@pytest.mark.parametrize(
    "head",
    [
        "49495500080000000000000000000000",
        "49492a0010000000435202000000000000",
        "0000001866747970637278200000000000000000",
        "49491a0000004845415043434452000000",
    ],
)
def test_raw_files_are_known_by_their_first_bytes_whatever_their_name(
    tmp_path: Path, head: str
) -> None:
    path = tmp_path / "picture.tif"
    path.write_bytes(bytes.fromhex(head) + bytes(100))

    assert refusal(path).code == "raw-camera-file"


@pytest.mark.parametrize("make", [makers.bomb_tiff, makers.bomb_png])
def test_a_tiny_file_that_claims_gigapixels_is_refused_with_the_sum(
    tmp_path: Path, make: Any
) -> None:
    error = refusal(make(tmp_path / "a.bin"))

    assert error.code == "decompression-bomb"
    assert "gigapixels" in error.found
    assert "0.00 MB" in error.found or "0.01 MB" in error.found
    assert "--answer decompression-bomb=open" in error.option


def test_the_person_can_insist_and_is_then_stopped_only_by_the_file_itself(tmp_path: Path) -> None:
    path = makers.bomb_png(tmp_path / "a.png", side=30_000)

    assert refusal(path, allow_bomb=True).code in ("damaged-picture", "no-room-to-unpack")


def test_a_page_without_pixels_is_refused(tmp_path: Path) -> None:
    assert refusal(makers.no_pixels_tiff(tmp_path / "a.tif")).code == "no-pixels"


@pytest.mark.parametrize(
    ("name", "write", "kind"),
    [
        ("photo.tif", "jpg", "JPEG"),
        ("photo.jpg", "png", "PNG"),
        ("photo.txt", "tif", "TIFF"),
        ("photo.jpeg", "webp", "WebP"),
    ],
)
def test_content_counts_and_a_lying_name_is_told(
    tmp_path: Path, name: str, write: str, kind: str
) -> None:
    true = tmp_path / f"true.{write}"
    Image.fromarray(makers.noise(np.uint8)).save(true)
    path = tmp_path / name
    true.rename(path)

    with open_picture(path) as opened:
        assert opened.facts.format == kind
    assert kind in findings(path)["wrong-extension"].found


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "empty-file"),
        (b"x", "not-a-picture"),
        (b"dear diary, " * 50, "not-a-picture"),
        (b"GIF89a" + bytes(40), "kind-not-read"),
        (b"%PDF-1.7" + bytes(40), "kind-not-read"),
        (b"\0\0\0\x18ftypheic" + bytes(40), "kind-not-read"),
        (b"II*\0", "damaged-directory"),
        (b"II*\0" + b"\xff" * 60, "damaged-directory"),
        (b"\x89PNG\r\n\x1a\n", "damaged-header"),
        (b"\xff\xd8\xff\xe0", "damaged-header"),
        (b"RIFF\x20\0\0\0WEBPVP8 ", "damaged-header"),
    ],
)
def test_what_is_no_picture_is_refused_in_words(tmp_path: Path, content: bytes, code: str) -> None:
    path = tmp_path / "a.tif"
    path.write_bytes(content)

    assert refusal(path).code == code


def test_a_missing_file_a_folder_and_a_pipe_are_told_apart(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.tif"
    os.mkfifo(pipe)

    assert refusal(tmp_path / "none.tif").code == "missing-file"
    assert refusal(tmp_path / "none" / "none.tif").code == "missing-file"
    assert refusal(tmp_path).code == "is-a-folder"
    assert refusal(pipe).code == "not-an-ordinary-file"
    assert refusal(Path("/dev/zero")).code == "not-an-ordinary-file"


def test_a_file_one_may_not_read_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = makers.write_tiff(tmp_path / "a.tif", makers.noise())
    path.chmod(0)
    if os.access(path, os.R_OK):  # the superuser may read everything

        def forbidden(*_: object, **__: object) -> int:
            raise PermissionError(13, "Permission denied", str(path))

        monkeypatch.setattr(os, "open", forbidden)

    error = refusal(path)

    assert error.code == "no-permission"
    assert "may not be read" in error.found


def test_names_with_spaces_accents_and_length_are_accepted(tmp_path: Path) -> None:
    path = makers.write_tiff(
        tmp_path / ("Fährtreppe im Hafen é " + "x" * 60 + ".tif"), makers.noise()
    )

    with open_picture(path) as opened:
        assert opened.facts.path == str(path)


def test_phone_files_with_more_inside_give_their_base_picture(tmp_path: Path) -> None:
    path = tmp_path / "a.jpg"
    packet = b'<x:xmpmeta xmlns:hdrgm="x" hdrgm:Version="1.0"></x:xmpmeta>'
    path.write_bytes(makers.jpeg_bytes(makers.slope(), xmp=packet))

    assert "gain map" in findings(path)["multi-picture"].found


@pytest.mark.parametrize("highest", [1.0001, 1.5, 40.0, 3e38])
def test_the_shoulder_keeps_order_and_ends_at_one(highest: float) -> None:
    from firstsheet.files.reading.resolve import shoulder

    values = np.unique(np.concatenate([np.linspace(0, 1, 200), np.geomspace(0.8, highest, 200)]))
    values = values[values <= highest].astype(np.float32)

    bent = shoulder(values, float(values[-1]))

    assert (np.diff(bent) >= 0).all()
    assert bent[-1] == pytest.approx(1.0, abs=1e-6)
    np.testing.assert_array_equal(bent[values <= 0.8], values[values <= 0.8])
    near = shoulder(np.array([0.8, 0.8001], np.float32), float(values[-1]))
    assert np.diff(near)[0] == pytest.approx(1e-4, rel=0.02)
