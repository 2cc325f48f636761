"""What of a picture's metadata reaches the print file, seen by Pillow, tifffile and libvips."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from firstsheet.files.writing.metadata import Carried, carried_tags, left_out
from firstsheet.files.writing.tiff import open_tiff_sink

XMP = (
    b'<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?><x:xmpmeta xmlns:x="adobe:ns:meta/">'
    b'<rdf:Description tiff:Orientation="6" dc:title="Stairs"/></x:xmpmeta><?xpacket end="w"?>'
)
IPTC = b"\x1c\x02\x69\x00\x06Stairs"


def exif_block(*, big_endian: bool = False, turned: int = 6) -> bytes:
    """A block made by Pillow: main directory, EXIF directory, place."""
    exif = Image.Exif()
    exif.endian = ">" if big_endian else "<"
    exif[0x010E] = "The ferry stairs"
    exif[0x010F] = "Harbour Optical"
    exif[0x013B] = "Ada Kvist"
    exif[0x8298] = "Ada Kvist, all rights"
    exif[0x0112] = turned
    inner = exif.get_ifd(0x8769)
    inner[0x829A] = IFDRational(1, 125)
    inner[0x8827] = 400
    inner[0x9003] = "2024:05:17 06:12:00"
    inner[0xA001] = 1  # claims sRGB
    inner[0xA002] = 6000
    inner[0x927C] = b"maker's secrets"
    place = exif.get_ifd(0x8825)
    place[1] = "N"
    return bytes(exif.tobytes())


def save(path: Path, carried: Carried, *, big: bool = False, description: str = "") -> Path:
    with open_tiff_sink(
        path,
        width_px=4,
        height_px=4,
        channels=3,
        bits=8,
        ppi=300,
        profile=None,
        big=big,
        metadata=carried,
        description=description,
    ) as sink:
        sink.write(0, np.zeros((4, 4, 3), np.uint8))
    return path


@pytest.mark.parametrize("big", [False, True])
@pytest.mark.parametrize("big_endian", [False, True])
def test_names_exposure_and_place_are_carried_over(
    tmp_path: Path, big_endian: bool, big: bool
) -> None:
    path = save(tmp_path / "print.tif", Carried(exif=exif_block(big_endian=big_endian)), big=big)

    with tifffile.TiffFile(path) as file:
        tags = file.pages[0].tags
        assert tags["Artist"].value == "Ada Kvist"
        assert tags["Copyright"].value == "Ada Kvist, all rights"
        assert tags["Make"].value == "Harbour Optical"
        assert tags["ImageDescription"].value == "The ferry stairs"
        assert tags["Orientation"].value == 1  # the rows are turned already
        inner: dict[str, Any] = tags["ExifTag"].value
        assert inner["ExposureTime"] == (1, 125)
        assert inner["ISOSpeedRatings"] == 400
        assert inner["DateTimeOriginal"] == "2024:05:17 06:12:00"
        assert tags["GPSTag"].value["GPSLatitudeRef"] == "N"


def test_another_reader_agrees_on_the_inner_directory(tmp_path: Path) -> None:
    path = save(tmp_path / "print.tif", Carried(exif=exif_block(big_endian=True)))

    with Image.open(path) as image:
        inner = image.getexif().get_ifd(0x8769)
        assert float(inner[0x829A]) == pytest.approx(1 / 125)
        assert inner[0x8827] == 400


def test_what_describes_the_old_pixels_is_left_out_and_named(tmp_path: Path) -> None:
    carried = Carried(exif=exif_block())

    path = save(tmp_path / "print.tif", carried)

    assert left_out(carried) == ("maker's note", "colour space flag", "pixel width")
    with tifffile.TiffFile(path) as file:
        assert not {"ColorSpace", "PixelXDimension", "MakerNote"} & set(
            file.pages[0].tags["ExifTag"].value
        )


def test_xmp_and_iptc_are_kept_whole_but_upright(tmp_path: Path) -> None:
    path = save(tmp_path / "print.tif", Carried(xmp=XMP, iptc=IPTC))

    with tifffile.TiffFile(path) as file:
        tags = file.pages[0].tags
        assert tags["XMP"].value == XMP.replace(b'Orientation="6"', b'Orientation="1"')
        assert bytes(tags[33723].value) == IPTC


def test_the_plans_description_takes_the_place_of_the_old_one(tmp_path: Path) -> None:
    path = save(tmp_path / "print.tif", Carried(exif=exif_block()), description="plan c3d1")

    with tifffile.TiffFile(path) as file:
        assert file.pages[0].tags["ImageDescription"].value == "plan c3d1"


@pytest.mark.parametrize(
    "exif", [b"no exif at all", b"II*\0\xff\xff\xff\xff", b"MM\0*\0\0\0\x08\xff\xff", b"II"]
)
def test_a_damaged_block_is_dropped_and_named(tmp_path: Path, exif: bytes) -> None:
    assert left_out(Carried(exif=exif)) == ("EXIF record (damaged)",)
    save(tmp_path / "print.tif", Carried(exif=exif))


@given(st.integers(0, 400), st.integers(0, 255))
def test_no_changed_byte_breaks_the_print_file(place: int, value: int) -> None:
    block = bytearray(exif_block())
    block[place % len(block)] = value

    tags = carried_tags(Carried(exif=bytes(block)))

    assert all(tag.number not in (256, 257, 258, 259, 262, 273, 274, 279) for tag in tags)


def test_a_jpegs_mark_in_front_is_understood(tmp_path: Path) -> None:
    packed = io.BytesIO()
    Image.new("RGB", (8, 8)).save(packed, "JPEG", exif=exif_block())
    with Image.open(packed) as image:
        block = image.info["exif"]
    assert block.startswith(b"Exif\0\0")

    path = save(tmp_path / "print.tif", Carried(exif=block))

    with tifffile.TiffFile(path) as file:
        assert file.pages[0].tags["Artist"].value == "Ada Kvist"
