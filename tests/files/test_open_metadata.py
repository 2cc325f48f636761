"""Profile, EXIF, XMP and IPTC travel as bytes, and other readers find the same in them."""

from __future__ import annotations

import io
import struct
from pathlib import Path

import makers  # type: ignore[import-not-found]
import numpy as np
import pytest
import tifffile
from PIL import Image

from firstsheet.files.reading.exif import build_block, read_block
from firstsheet.files.reading.metadata import iptc_in_resources, jpeg_size
from firstsheet.files.reading.opening import OpenedPicture, open_picture

XMP = b'<?xpacket begin=""?><x:xmpmeta xmlns:x="adobe:ns:meta/"></x:xmpmeta>'
IPTC = b"\x1c\x02\x05\x00\x0aFerry step"
CAMERA = ("Harbour Optics", "Harbour Optics Two")


def exif() -> bytes:
    return bytes(
        makers.exif_block(
            orientation=6,
            colour_space=1,
            camera=CAMERA,
            taken="2024:05:06 07:08:09",
            resolution=(240.0, 240.0),
        )
    )


def save(path: Path) -> Path:
    picture = Image.fromarray(makers.slope())
    kind = path.suffix[1:].upper()
    options = {"exif": exif(), "icc_profile": makers.srgb_profile()}
    if kind == "PNG":
        from PIL.PngImagePlugin import PngInfo

        text = PngInfo()
        text.add_itxt("XML:com.adobe.xmp", XMP.decode())
        picture.save(path, pnginfo=text, **options)
    else:
        picture.save(path, {"JPG": "JPEG"}.get(kind, kind), xmp=XMP, **options)
    return path


def check(opened: OpenedPicture) -> None:
    held, facts = opened.metadata, opened.facts
    assert held.icc == makers.srgb_profile()
    assert held.exif is not None
    assert held.exif[:2] in (b"II", b"MM")
    by_pillow = Image.Exif()
    by_pillow.load(b"Exif\0\0" + held.exif)
    assert by_pillow[272] == CAMERA[1]
    assert by_pillow.get_ifd(0x8769)[36867] == "2024:05:06 07:08:09"
    assert facts.camera == "Harbour Optics Two"
    assert facts.taken == "2024-05-06 07:08:09"
    assert facts.orientation == 6
    assert facts.flag_space == "srgb"
    assert facts.has_exif


@pytest.mark.parametrize("ending", ["jpg", "png", "webp", "tiff"])
def test_blocks_written_by_pillow_are_found_whole(tmp_path: Path, ending: str) -> None:
    with open_picture(save(tmp_path / f"a.{ending}")) as opened:
        check(opened)
        if ending != "tiff":  # Pillow writes no XMP there
            assert opened.metadata.xmp is not None
            assert opened.metadata.xmp.rstrip(b"\0") == XMP


@pytest.mark.parametrize("byteorder", ["<", ">"])
@pytest.mark.parametrize("bigtiff", [False, True])
def test_tags_of_a_tiff_become_an_exif_block_that_others_read(
    tmp_path: Path, byteorder: str, bigtiff: bool
) -> None:
    path = makers.write_tiff(
        tmp_path / "a.tif",
        makers.noise(),
        byteorder=byteorder,
        bigtiff=bigtiff,
        software="harbour scan 1",
        extratags=[
            (271, 2, 0, "Harbour Optics", True),
            (272, 2, 0, "Two", True),
            (700, 1, len(XMP), XMP, True),
            (33723, 7, len(IPTC), IPTC, True),
        ],
    )

    with open_picture(path) as opened:
        held = opened.metadata
    assert held.iptc == IPTC
    assert held.xmp == XMP
    assert held.camera == "Harbour Optics Two"
    assert held.exif is not None
    by_pillow = Image.Exif()
    by_pillow.load(b"Exif\0\0" + held.exif)
    assert (by_pillow[271], by_pillow[272], by_pillow[305]) == (
        "Harbour Optics",
        "Two",
        "harbour scan 1",
    )


def test_iptc_inside_image_resources_is_found(tmp_path: Path) -> None:
    resource = b"8BIM" + struct.pack(">H", 0x0404) + b"\0\0" + struct.pack(">I", len(IPTC)) + IPTC
    other = b"8BIM" + struct.pack(">H", 0x03ED) + b"\3abc" + struct.pack(">I", 2) + b"xy"
    assert iptc_in_resources(other + resource) == IPTC
    assert iptc_in_resources(other) is None
    assert iptc_in_resources(resource[:9]) is None

    path = tmp_path / "a.jpg"
    data = makers.jpeg_bytes(makers.slope())
    body = b"Photoshop 3.0\0" + other + resource
    segment = b"\xff\xed" + struct.pack(">H", len(body) + 2) + body
    path.write_bytes(data[:2] + segment + data[2:])
    with open_picture(path) as opened:
        assert opened.metadata.iptc == IPTC
        assert opened.facts.has_iptc


def test_a_profile_in_several_jpeg_parts_is_joined(tmp_path: Path) -> None:
    profile = makers.srgb_profile()
    parts = [profile[:200], profile[200:300], profile[300:]]
    segments = b""
    for number in (2, 1, 3):  # out of order, as the standard allows
        body = b"ICC_PROFILE\0" + bytes((number, 3)) + parts[number - 1]
        segments += b"\xff\xe2" + struct.pack(">H", len(body) + 2) + body
    data = makers.jpeg_bytes(makers.slope())
    path = tmp_path / "a.jpg"

    path.write_bytes(data[:2] + segments + data[2:])
    with open_picture(path) as opened:
        assert opened.metadata.icc == profile

    first = segments.index(b"ICC_PROFILE", 20)
    cut = segments[: first - 4] + segments[first - 4 + 18 + len(parts[0]) :]
    path.write_bytes(data[:2] + cut + data[2:])
    with open_picture(path) as opened:
        assert "broken-profile" in {one.code for one in opened.facts.findings}


def test_density_of_jfif_and_of_png_are_read(tmp_path: Path) -> None:
    jpeg, png = tmp_path / "a.jpg", tmp_path / "a.png"
    Image.fromarray(makers.slope()).save(jpeg, dpi=(300, 300))
    Image.fromarray(makers.slope()).save(png, dpi=(360, 360))

    with open_picture(jpeg) as one, open_picture(png) as other:
        assert one.facts.tag_ppi_x == 300
        assert other.facts.tag_ppi_x == pytest.approx(360, abs=0.02)


def test_a_block_taken_apart_and_put_together_says_the_same() -> None:
    block = read_block(exif())
    assert block is not None
    again = build_block(block.order, block.main, block.exif, block.gps, block.interop)

    first, second = Image.Exif(), Image.Exif()
    first.load(exif())
    second.load(b"Exif\0\0" + again)
    assert {tag: value for tag, value in first.items() if tag != 0x8769} == {
        tag: value for tag, value in second.items() if tag != 0x8769
    }
    assert first.get_ifd(0x8769) == second.get_ifd(0x8769)


def test_random_blocks_never_break_the_reader() -> None:
    random = np.random.default_rng(11)
    sound = exif()[6:]
    for _ in range(500):
        data = bytearray(sound)
        for at in random.integers(4, len(data), 4):
            data[at] = random.integers(0, 256)
        read_block(bytes(data[: random.integers(0, len(data))]))


def test_the_size_of_a_jpeg_is_read_from_its_frame() -> None:
    for height, width in ((16, 24), (61, 83)):
        held = io.BytesIO()
        Image.fromarray(makers.slope(height=height, width=width)).save(
            held, "JPEG", progressive=height == 16
        )
        assert jpeg_size(held.getvalue()) == (width, height)
    assert jpeg_size(b"") is None
    assert jpeg_size(b"\xff\xd8\xff") is None


def test_iptc_written_by_the_tiff_library_comes_back(tmp_path: Path) -> None:
    path = makers.write_tiff(
        tmp_path / "a.tif", makers.noise(), extratags=[(33723, 4, 3, (1, 2, 3), True)]
    )

    with tifffile.TiffFile(path) as tif, open_picture(path) as opened:
        assert tif.pages[0].tags[33723].count == 3
        assert opened.metadata.iptc == struct.pack("<3I", 1, 2, 3)
