"""JPEG tables against files written by another library."""

import io
from typing import Any

import numpy as np
import pytest
from PIL import Image

from firstsheet.engine.file.jpeg import chroma_sampling, from_zigzag, jpeg_quality

RGB = np.random.default_rng(9).integers(0, 256, (48, 64, 3), dtype=np.uint8)


def saved(picture: Any = RGB, **options: Any) -> bytes:
    stream = io.BytesIO()
    Image.fromarray(picture).save(stream, "JPEG", **options)
    return stream.getvalue()


def tables_of(stored: bytes) -> list[Any]:
    """The DQT segments as they lie in the file (ITU-T T.81, B.2.4.1), found by hand."""
    tables, at = [], 2
    while stored[at + 1] != 0xDA:
        length = int.from_bytes(stored[at + 2 : at + 4], "big")
        if stored[at + 1] == 0xDB:
            body = stored[at + 4 : at + 2 + length]
            tables += [body[start + 1 : start + 65] for start in range(0, len(body), 65)]
        at += 2 + length
    return [np.frombuffer(table, dtype=np.uint8) for table in tables]


def factors_of(stored: bytes) -> list[tuple[int, int]]:
    """Sampling factors of the frame header (ITU-T T.81, B.2.2), found by hand."""
    at = stored.index(b"\xff\xc0")
    n = stored[at + 9]
    bytes_ = [stored[at + 11 + 3 * component] for component in range(n)]
    return [(byte >> 4, byte & 15) for byte in bytes_]


@pytest.mark.parametrize("quality", [*range(1, 101, 9), 2, 49, 50, 51, 75, 90, 95, 98, 99, 100])
def test_the_quality_a_file_was_written_with_is_found_exactly(quality: int) -> None:
    luma, chroma = map(from_zigzag, tables_of(saved(quality=quality)))

    found = jpeg_quality(luma, chroma)

    assert (found.quality, found.exact) == (quality, True)


def test_the_natural_order_is_that_of_another_library() -> None:
    stored = saved(quality=83)
    theirs = Image.open(io.BytesIO(stored)).quantization  # type: ignore[attr-defined]  # JPEG only

    for index, table in enumerate(tables_of(stored)):
        assert from_zigzag(table).tolist() == theirs[index]


def test_grey_files_have_one_table_and_no_chroma() -> None:
    stored = saved(RGB[..., 0], quality=77)
    (luma,) = tables_of(stored)

    assert jpeg_quality(from_zigzag(luma)).quality == 77
    assert chroma_sampling(factors_of(stored)) is None


def test_tables_of_another_make_give_the_nearest_quality_as_an_estimate() -> None:
    luma, chroma = map(from_zigzag, tables_of(saved(quality=80)))
    luma = luma + (np.arange(64) % 2)

    found = jpeg_quality(luma, chroma)

    assert not found.exact
    assert found.quality == pytest.approx(80, abs=3)


def test_finer_tables_never_mean_a_lower_quality() -> None:
    found = [
        jpeg_quality(*map(from_zigzag, tables_of(saved(quality=quality)))).quality
        for quality in (10, 30, 60, 85, 97)
    ]

    assert found == sorted(found)


@pytest.mark.parametrize(
    ("subsampling", "name"), [("4:4:4", "4:4:4"), ("4:2:2", "4:2:2"), ("4:2:0", "4:2:0")]
)
def test_the_sampling_a_file_was_written_with_is_named(subsampling: str, name: str) -> None:
    assert chroma_sampling(factors_of(saved(subsampling=subsampling))) == name


@pytest.mark.parametrize(
    ("factors", "name"),
    [
        ([(1, 2), (1, 1), (1, 1)], "4:4:0"),
        ([(4, 1), (1, 1), (1, 1)], "4:1:1"),
        ([(4, 4), (1, 1), (1, 1)], "chroma 1/4 wide, 1/4 high"),
        ([(3, 1), (2, 1), (2, 1)], "factors 3x1 to 2x1"),
    ],
)
def test_rare_samplings_are_named_or_described(factors: list[tuple[int, int]], name: str) -> None:
    assert chroma_sampling(factors) == name


@pytest.mark.parametrize("bad", [[1, 2, 3], [0] * 64])
def test_what_is_no_table_is_refused(bad: list[int]) -> None:
    with pytest.raises(ValueError, match="quantisation table has 64 values"):
        jpeg_quality(bad)
    with pytest.raises(ValueError, match="quantisation table has 64 values"):
        from_zigzag([1, 2, 3])
