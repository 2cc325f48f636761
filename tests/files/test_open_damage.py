"""Damaged files: never filler in place of pixels, always the number of real rows."""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import Any

import makers  # type: ignore[import-not-found]
import numpy as np
import pytest
import tifffile
from PIL import Image

from firstsheet.engine.errors import FirstsheetError, RefusedPictureError
from firstsheet.files.reading.opening import open_picture


def refusal(path: Path, **options: Any) -> RefusedPictureError:
    with pytest.raises(RefusedPictureError) as caught:
        open_picture(path, **options)
    return caught.value


def real_rows(message: str) -> int:
    """Rows that a message calls real."""
    found = re.search(r"[Rr]ows 0 to ([\d,]+) of [\d,]+ are real", message)
    return int(found.group(1).replace(",", "")) + 1 if found else 0


def test_an_uncompressed_tiff_cut_short_counts_its_whole_rows(tmp_path: Path) -> None:
    pixels = makers.noise(height=400)
    path = makers.write_tiff(tmp_path / "a.tif", pixels)
    with tifffile.TiffFile(path) as tif:
        offsets = tif.pages[0].dataoffsets
    row_bytes = makers.WIDTH * 6
    path.write_bytes(path.read_bytes()[: offsets[0] + 311 * row_bytes + 100])

    error = refusal(path)

    assert error.code == "damaged-picture"
    assert "rows 0 to 310 of 400 are real" in error.found
    assert "nothing is made up" in error.consequence
    assert "--inspect" in error.option


@pytest.mark.parametrize("layout", [{"rowsperstrip": 16}, {"tile": (32, 32)}], ids=str)
@pytest.mark.parametrize("packing", ["lzw", "deflate", "packbits", "zstd", "jpeg", None])
def test_a_cut_tiff_gives_only_real_rows_when_looked_at(
    tmp_path: Path, packing: str | None, layout: dict[str, Any]
) -> None:
    pixels = makers.slope(height=400)
    path = makers.write_tiff(tmp_path / "a.tif", pixels, compression=packing, **layout)
    sound = open_picture(path)
    expected = sound.source.rows(0, 400)
    sound.close()
    makers.cut(path, 0.6)

    valid = real_rows(str(refusal(path)))
    assert 64 < valid < 400
    with open_picture(path, inspect_only=True) as opened:
        np.testing.assert_array_equal(opened.source.rows(0, valid), expected[:valid])
        with pytest.raises(RefusedPictureError, match="are real"):
            opened.source.rows(valid, 400)
        stop = [one for one in opened.facts.findings if one.weight == "stop"]
        assert [one.code for one in stop] == ["damaged-picture"]
        assert stop[0].figures["valid_rows"] == valid


def test_flipped_bits_in_a_packed_strip_spoil_it_and_what_follows(tmp_path: Path) -> None:
    path = makers.write_tiff(
        tmp_path / "a.tif", makers.noise(height=160), compression="deflate", rowsperstrip=16
    )
    with tifffile.TiffFile(path) as tif:
        at = tif.pages[0].dataoffsets[6] + 200
    data = bytearray(path.read_bytes())
    data[at : at + 8] = bytes(8)
    path.write_bytes(data)

    assert real_rows(str(refusal(path))) == 96


def test_a_strip_that_is_listed_as_absent_is_no_grey(tmp_path: Path) -> None:
    path = makers.write_tiff(tmp_path / "a.tif", makers.noise(), compression="deflate")
    with tifffile.TiffFile(path, mode="r+") as tif:
        tag = tif.pages[0].tags[279]
        tag.overwrite((tag.value[0], tag.value[1], 0, tag.value[3]))

    assert real_rows(str(refusal(path))) == 34


def test_a_jpeg_strip_that_ends_early_is_damage_although_its_decoder_says_nothing(
    tmp_path: Path,
) -> None:
    path = makers.write_tiff(
        tmp_path / "a.tif", makers.slope(height=160), compression="jpeg", rowsperstrip=32
    )
    with tifffile.TiffFile(path) as tif:
        page = tif.pages[0]
        start, count = page.dataoffsets[2], page.databytecounts[2]
    data = bytearray(path.read_bytes())
    middle = start + count * 2 // 3
    data[middle : start + count] = b"\xff\xd9" + bytes(start + count - middle - 2)
    path.write_bytes(data)

    assert real_rows(str(refusal(path))) == 64


def test_one_huge_deflate_strip_cut_short_counts_rows_as_well(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from firstsheet.files.reading import tiff_rows as tiffparts

    monkeypatch.setattr(tiffparts, "_LARGEST_SEGMENT_BYTES", 1000)
    monkeypatch.setattr(tiffparts, "_STREAM_BYTES", 4096)
    pixels = makers.noise(height=400)
    for predictor in (False, True):
        path = makers.write_tiff(
            tmp_path / "a.tif",
            pixels,
            compression="deflate",
            rowsperstrip=400,
            predictor=predictor,
            byteorder=">",
        )
        with open_picture(path) as opened:
            np.testing.assert_array_equal(opened.source.rows(0, 400), pixels)
            assert "second-reader" in {one.code for one in opened.facts.findings}
        whole = path.read_bytes()
        path.write_bytes(whole[: len(whole) * 3 // 4])
        valid = real_rows(str(refusal(path)))
        assert 280 < valid < 310
        with open_picture(path, inspect_only=True) as opened:
            np.testing.assert_array_equal(opened.source.rows(0, valid), pixels[:valid])
        path.write_bytes(whole[: len(whole) // 2] + bytes(100) + whole[len(whole) // 2 + 100 :])
        assert real_rows(str(refusal(path))) == 0  # the check sum covers the whole strip


@pytest.mark.parametrize("packing", ["lzw", "packbits", "zstd", "jpeg"])
def test_one_huge_strip_of_another_packing_is_unpacked_once(
    tmp_path: Path, packing: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    from firstsheet.files.reading import tiff_rows as tiffparts

    path = makers.write_tiff(
        tmp_path / "a.tif", makers.slope(height=160), compression=packing, rowsperstrip=160
    )
    with open_picture(path) as opened:
        expected = opened.source.rows(0, 160)
    monkeypatch.setattr(tiffparts, "_LARGEST_SEGMENT_BYTES", 1000)
    with open_picture(path) as opened:
        assert np.abs(opened.source.rows(0, 160).astype(int) - expected).max() <= (
            1 if packing == "jpeg" else 0
        )


def test_a_part_beyond_the_memory_limit_is_refused_with_the_sum(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from firstsheet.files.reading import tiff_rows as tiffparts

    path = makers.write_tiff(tmp_path / "a.tif", makers.noise(), compression="zstd")
    monkeypatch.setattr(tiffparts, "_LARGEST_SEGMENT_BYTES", 1000)
    monkeypatch.setattr(tiffparts, "_MOST_IN_MEMORY_BYTES", 2000)

    error = refusal(path)

    assert error.code == "part-too-large"
    assert "MB packed" in error.found
    assert "MB unpacked" in error.found


def test_without_room_for_the_temporary_file_the_sum_is_shown(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import shutil

    path = tmp_path / "a.jpg"
    path.write_bytes(makers.jpeg_bytes(makers.slope()))
    usage = type(shutil.disk_usage("/"))
    monkeypatch.setattr(shutil, "disk_usage", lambda _: usage(10, 10, 0))

    error = refusal(path)

    assert error.code == "no-room-to-unpack"
    assert "0 MB free" in error.found


@pytest.mark.parametrize("share", [0.3, 0.6, 0.97])
@pytest.mark.parametrize("ending", ["png", "jpg", "webp"])
def test_other_formats_cut_short_are_refused(tmp_path: Path, ending: str, share: float) -> None:
    path = tmp_path / f"a.{ending}"
    Image.fromarray(makers.noise(np.uint8, height=320)).save(path)
    with open_picture(path) as opened:
        expected = opened.source.rows(0, 320)
    makers.cut(path, share)

    error = refusal(path)

    if ending != "webp":
        valid = real_rows(str(error))
        assert (share - 0.3) * 320 <= valid < 320
        with open_picture(path, inspect_only=True) as opened:
            if valid:
                np.testing.assert_array_equal(opened.source.rows(0, valid), expected[:valid])
            with pytest.raises(RefusedPictureError):
                opened.source.rows(max(0, valid - 1), 320)


def test_a_png_with_a_wrong_check_sum_is_refused(tmp_path: Path) -> None:
    path = makers.write_png(tmp_path / "a.png", makers.noise(np.uint8))
    data = bytearray(path.read_bytes())
    data[-14] ^= 1  # in the check sum of the picture data
    path.write_bytes(data)

    assert refusal(path).code == "damaged-picture"


def test_a_jpeg_closed_too_early_is_refused_although_it_ends_properly(tmp_path: Path) -> None:
    path = tmp_path / "a.jpg"
    data = makers.jpeg_bytes(makers.noise(np.uint8, height=320))
    path.write_bytes(data[: len(data) // 2] + b"\xff\xd9")

    assert 100 < real_rows(str(refusal(path))) < 240


def test_stray_bytes_after_a_jpeg_cost_nothing(tmp_path: Path) -> None:
    path = tmp_path / "a.jpg"
    path.write_bytes(makers.jpeg_bytes(makers.slope()) + b"left over" * 100)

    with open_picture(path) as opened:
        assert opened.source.rows(0, 61).shape == (61, 83, 3)


def samples() -> dict[str, bytes]:
    """Small sound files of every kind."""

    def tiff(**options: Any) -> bytes:
        held = io.BytesIO()
        dtype = options.pop("dtype", np.uint16)
        pixels = makers.slope() if options.get("compression") == "jpeg" else makers.noise(dtype)
        tifffile.imwrite(held, pixels, photometric="rgb", metadata=None, **options)
        return held.getvalue()

    def pillow(kind: str, **options: Any) -> bytes:
        held = io.BytesIO()
        Image.fromarray(makers.slope()).save(held, kind, **options)
        return held.getvalue()

    return {
        "plain": tiff(rowsperstrip=9, iccprofile=makers.srgb_profile()),
        "lzw": tiff(rowsperstrip=9, compression="lzw", predictor=True),
        "deflate-tiles": tiff(tile=(32, 32), compression="deflate"),
        "packbits": tiff(rowsperstrip=9, compression="packbits"),
        "zstd": tiff(rowsperstrip=9, compression="zstd"),
        "jpeg-tiles": tiff(tile=(32, 32), compression="jpeg"),
        "float": tiff(rowsperstrip=9, dtype=np.float32),
        "png": pillow("PNG", icc_profile=makers.srgb_profile()),
        "jpeg": pillow("JPEG", exif=makers.exif_block(orientation=6, camera=("a", "b"))),
        "webp": pillow("WEBP"),
    }


def mutated(data: bytes, random: np.random.Generator) -> bytes:
    """Cut, overwrite, flip or blow up a few bytes; headers are hit as often as pixels."""
    changed = bytearray(data)
    for _ in range(int(random.integers(1, 4))):
        reach = len(changed) if random.random() < 0.5 else min(400, len(changed))
        at = int(random.integers(0, reach))
        action = random.integers(0, 5)
        if action == 0:
            del changed[max(8, at) :]
        elif action == 1:
            changed[at] = int(random.integers(0, 256))
        elif action == 2:
            changed[at : at + 4] = b"\xff\xff\xff\xff"
        elif action == 3:
            changed[at : at + 4] = bytes(4)
        else:
            changed[at : at + 16] = random.bytes(16)
    return bytes(changed)


@pytest.mark.slow
@pytest.mark.parametrize("name", samples())
def test_mutated_files_open_or_are_refused_in_words_and_rows_stay_what_they_are(
    tmp_path: Path, name: str
) -> None:
    data = samples()[name]
    random = np.random.default_rng(sorted(samples()).index(name))
    opened_well = refused = 0
    for _ in range(40):
        path = tmp_path / "a.bin"
        path.write_bytes(mutated(data, random))
        try:
            with open_picture(path, read_as="srgb", answers={"float-over-one": "clip"}) as opened:
                source = opened.source
                height = source.height_px
                first = source.rows(0, min(height, 64))
                np.testing.assert_array_equal(source.rows(0, min(height, 64)), first)
                source.rows(height - 1, height)
            opened_well += 1
        except FirstsheetError as error:
            refused += all((error.found, error.consequence, error.choice))
    assert refused > 0
    assert opened_well + refused == 40


def test_a_cut_planar_tiff_lacks_whole_colours_so_no_row_is_real(tmp_path: Path) -> None:
    path = makers.write_tiff(tmp_path / "a.tif", makers.noise(height=400), planarconfig="separate")
    with tifffile.TiffFile(path) as tif:
        offsets = tif.pages[0].dataoffsets
    row_bytes = makers.WIDTH * 2
    whole = path.read_bytes()

    path.write_bytes(whole[: offsets[0] + 700 * row_bytes])
    assert real_rows(str(refusal(path))) == 0
    path.write_bytes(whole[: offsets[0] + (2 * 400 + 150) * row_bytes])
    assert real_rows(str(refusal(path))) == 150


def test_strips_that_are_listed_too_short_are_not_read_beyond_their_length(
    tmp_path: Path,
) -> None:
    path = makers.write_tiff(tmp_path / "a.tif", makers.noise(height=170))
    with tifffile.TiffFile(path, mode="r+") as tif:
        tag = tif.pages[0].tags[279]
        short = makers.WIDTH * 6 * 5 + 3
        tag.overwrite((*tag.value[:4], short, *tag.value[5:]))

    assert real_rows(str(refusal(path))) == 4 * 17 + 5
    with open_picture(path, inspect_only=True) as opened, pytest.raises(RefusedPictureError):
        opened.source.rows(70, 80)


def test_rows_of_a_png_chunk_with_a_wrong_sum_are_not_believed_though_they_unpack(
    tmp_path: Path,
) -> None:
    pixels = makers.noise(np.uint8, height=200)
    path = makers.write_png(tmp_path / "a.png", pixels, data_chunk_bytes=5000, level=0)
    with open_picture(path) as opened:
        np.testing.assert_array_equal(opened.source.rows(0, 200), pixels)
    data = bytearray(path.read_bytes())
    third = [found.start() for found in re.finditer(b"IDAT", bytes(data))][2]
    data[third + 3000] ^= 0xFF
    path.write_bytes(data)

    valid = real_rows(str(refusal(path)))

    row_bytes = makers.WIDTH * 3 + 1
    assert valid == pytest.approx(2 * 5000 // row_bytes, abs=1)
    with open_picture(path, inspect_only=True) as opened:
        np.testing.assert_array_equal(opened.source.rows(0, valid), pixels[:valid])
