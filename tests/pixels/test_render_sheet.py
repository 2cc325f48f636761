"""The finished sheet: exactness, flat fields, bare paper, orientation, sameness of bytes."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from sheet_makers import (  # type: ignore[import-not-found]  # found by pytest
    ArraySink,
    ArraySource,
    job_for,
    picture_of,
    plan_with,
    sheet_of,
    smooth_picture,
)

from firstsheet.cms.link import PaperLink, SourceColour
from firstsheet.engine.errors import RefusedPictureError, StoppedError
from firstsheet.pixels.render import reduced_picture, render, render_array

# TIFF 6.0, page 36: where the first stored row and column lie in the upright picture
UPRIGHT: dict[int, Any] = {
    1: lambda a: a,
    2: lambda a: a[:, ::-1],
    3: lambda a: a[::-1, ::-1],
    4: lambda a: a[::-1],
    5: lambda a: a.transpose(1, 0, 2),
    6: lambda a: a.transpose(1, 0, 2)[:, ::-1],
    7: lambda a: a.transpose(1, 0, 2)[::-1, ::-1],
    8: lambda a: a.transpose(1, 0, 2)[::-1],
}


@pytest.mark.parametrize("orientation", range(1, 9))
def test_untouched_pixels_pass_bit_for_bit_in_every_orientation(
    orientation: int, colour: SourceColour
) -> None:
    picture = np.random.default_rng(1).integers(0, 65536, (83, 121, 3), dtype=np.uint16)
    job = job_for(picture, orientation=orientation)
    got = picture_of(job, sheet_of(picture, job, colour))

    assert (got == UPRIGHT[orientation](picture)).all()


@pytest.mark.parametrize("channels", [1, 3, 4])
@pytest.mark.parametrize("orientation", [1, 6])
def test_pixels_kept_as_they_are_pass_in_every_colour_model(
    channels: int, orientation: int
) -> None:
    picture = np.random.default_rng(2).integers(0, 65536, (50, 70, channels), dtype=np.uint16)
    job = job_for(picture, orientation=orientation, mode="as-is")

    assert (picture_of(job, sheet_of(picture, job)) == UPRIGHT[orientation](picture)).all()


def test_eight_bit_pixels_pass_untouched_into_an_eight_bit_file(colour: SourceColour) -> None:
    picture = np.random.default_rng(3).integers(0, 256, (50, 70, 3), dtype=np.uint8)
    job = job_for(picture, bits=8)

    assert (picture_of(job, sheet_of(picture, job, colour)) == picture).all()


def test_eight_bit_pixels_become_their_exact_sixteen_bit_codes(colour: SourceColour) -> None:
    picture = np.random.default_rng(3).integers(0, 256, (50, 70, 3), dtype=np.uint8)
    job = job_for(picture)

    assert (picture_of(job, sheet_of(picture, job, colour)) == picture.astype(int) * 257).all()


def test_a_whole_crop_takes_exactly_those_pixels(colour: SourceColour) -> None:
    picture = np.random.default_rng(4).integers(0, 65536, (90, 120, 3), dtype=np.uint16)
    job = job_for(picture, crop=(17.0, 9.0, 60.0, 50.0), width_px=60, height_px=50)

    assert (picture_of(job, sheet_of(picture, job, colour)) == picture[9:59, 17:77]).all()


@pytest.mark.parametrize("orientation", range(2, 9))
def test_a_turned_picture_is_the_turned_result_of_the_upright_one(
    orientation: int, colour: SourceColour, link: PaperLink
) -> None:
    stored = smooth_picture(130, 170)
    upright = np.ascontiguousarray(UPRIGHT[orientation](stored))
    changes: dict[str, Any] = {
        "crop": (8.5, 11.25, 100.0, 90.0),
        "width_px": 71,
        "height_px": 64,
        "mode": "paper",
        "sharpen": plan_with(),
    }
    turned_job = job_for(upright, orientation=orientation, **changes)
    got = sheet_of(stored, turned_job, colour, link)
    want = sheet_of(upright, job_for(upright, **changes), colour, link)

    # sums run in another order, so single precision may round to the next code
    assert np.abs(got.astype(int) - want.astype(int)).max() <= 3


@settings(max_examples=25)
@given(
    code=st.tuples(*[st.integers(0, 65535)] * 3),
    width=st.integers(1, 160),
    height=st.integers(1, 160),
    orientation=st.integers(1, 8),
    strength=st.floats(0, 3),
)
def test_a_flat_field_stays_exact_to_the_last_code(
    code: tuple[int, int, int], width: int, height: int, orientation: int, strength: float
) -> None:
    colour = FLAT_COLOUR
    picture = np.full((60, 80, 3), code, np.uint16)
    upright = (60, 80) if orientation >= 5 else (80, 60)
    job = job_for(
        picture,
        crop=(0.3, 0.6, upright[0] - 1.0, upright[1] - 2.0),
        width_px=width,
        height_px=height,
        orientation=orientation,
        sharpen=plan_with(wish=strength),
    )
    got = picture_of(job, sheet_of(picture, job, colour))

    assert (got == np.array(code)).all()


def _srgb_source() -> SourceColour:
    """SRGB from its published formula and primaries (IEC 61966-2-1), to D50 by its ICC form."""
    v = np.linspace(0, 1, 65536)
    light = np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)
    matrix = np.array(
        [[0.4360, 0.3851, 0.1431], [0.2225, 0.7169, 0.0606], [0.0139, 0.0971, 0.7141]]
    )
    curves: Any = np.tile(light.astype(np.float32), (3, 1))
    return SourceColour(
        kind="curves",
        channels=3,
        to_lab=lambda codes: np.asarray(codes),
        decode=curves,
        to_xyz=matrix,
        from_xyz=np.linalg.inv(matrix),
        encode=curves,
    )


FLAT_COLOUR = _srgb_source()


@pytest.mark.published
@pytest.mark.parametrize(("white_lines", "expected"), [(1, 136.960), (2, 187.516), (3, 224.610)])
def test_fine_lines_reduce_to_the_tone_the_eye_mixes(white_lines: int, expected: float) -> None:
    # IEC 61966-2-1: one to three white lines of four mix to 136.960, 187.516, 224.610 of 255;
    # averaging the codes would give 63.75, 127.5, 191.25
    picture = np.zeros((256, 256, 3), np.uint16)
    for line in range(white_lines):
        picture[line::4] = 65535
    job = job_for(picture, width_px=16, height_px=16, light="linear")
    got = picture_of(job, sheet_of(picture, job, FLAT_COLOUR))[4:-4, 4:-4] / 257

    assert got.mean() == pytest.approx(expected, abs=0.01 if white_lines == 2 else 0.3)


def test_reducing_is_done_in_light_and_enlarging_in_codes_unless_told() -> None:
    checker = (np.indices((128, 128)).sum(axis=0) % 2 * 65535).astype(np.uint16)
    picture = np.repeat(checker[:, :, None], 3, axis=2)
    half = job_for(picture, width_px=64, height_px=64)
    got = picture_of(half, sheet_of(picture, half, FLAT_COLOUR))[8:-8, 8:-8] / 257

    assert got.mean() == pytest.approx(187.516, abs=0.01)
    edge = np.zeros((40, 40, 3), np.uint16)
    edge[:, 20:] = 65535 // 4
    edge[:, :20] = 65535 // 2
    large = job_for(edge, width_px=120, height_px=120)
    row = picture_of(large, sheet_of(edge, large, FLAT_COLOUR))[60, :, 0].astype(int)
    over, under = row.max() - 65535 // 2, 65535 // 4 - row.min()
    assert over == pytest.approx(under, abs=2)
    assert over > 500


def test_bare_paper_is_exactly_the_white_asked_for(colour: SourceColour, link: PaperLink) -> None:
    picture = smooth_picture(40, 60)
    job = job_for(picture, mode="paper", white_device=(1.0, 0.5, 0.25))
    sheet = sheet_of(picture, job, colour, link)
    picture_of(job, sheet)[:] = (65535, 32768, 16384)

    assert (sheet == np.array([65535, 32768, 16384])).all()


def test_overlays_lie_where_they_were_put_and_leave_no_trace_beside() -> None:
    picture = smooth_picture(40, 60)
    codes = np.random.default_rng(6).integers(0, 65536, (30, 9, 3), dtype=np.uint16)
    overlay = SimpleNamespace(left_px=0, top_px=20, codes=codes)
    plain = sheet_of(picture, job_for(picture, mode="as-is"))
    marked = sheet_of(picture, job_for(picture, mode="as-is", overlays=(overlay,)))

    assert (marked[20:50, :9] == codes).all()
    marked[20:50, :9] = plain[20:50, :9]
    assert (marked == plain).all()


@pytest.mark.parametrize("bits", [8, 16])
@pytest.mark.parametrize("orientation", [1, 3, 8])
def test_the_bytes_do_not_depend_on_threads_or_bands(
    bits: int,
    orientation: int,
    colour: SourceColour,
    link: PaperLink,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from firstsheet.pixels import bands

    picture = smooth_picture(260, 190)
    shape = (260, 190) if orientation >= 5 else (190, 260)
    job = job_for(
        picture,
        mode="paper",
        bits=bits,
        orientation=orientation,
        crop=(0.0, 0.0, *shape),
        width_px=round(shape[0] * 0.8),
        height_px=round(shape[1] * 0.8),
        sharpen=plan_with(),
    )
    one = sheet_of(picture, job, colour, link, threads=1)
    for threads, rows in ((2, 16), (3, 48), (5, 1000)):
        monkeypatch.setattr(bands, "_BAND_ROWS", rows)
        assert (sheet_of(picture, job, colour, link, threads=threads) == one).all()


def test_eight_bits_are_dithered_so_that_a_flat_tone_keeps_its_mean(colour: SourceColour) -> None:
    tone = 32768 + 77
    picture = np.full((256, 256, 3), tone, np.uint16)
    job = job_for(picture, bits=8)
    got = picture_of(job, sheet_of(picture, job, colour)).astype(float)
    exact = tone / 257

    assert set(np.unique(got)) == {np.floor(exact), np.floor(exact) + 1}
    # 65,536 independent roundings: four standard errors of the mean
    assert got[:, :, 0].mean() == pytest.approx(exact, abs=4 * 0.5 / 256)
    assert abs(np.corrcoef(got[:, :-1, 0].ravel(), got[:, 1:, 0].ravel())[0, 1]) < 0.02
    assert abs(np.corrcoef(got[:, :, 0].ravel(), got[:, :, 1].ravel())[0, 1]) < 0.02
    other = job_for(picture, bits=8, dither_seed=2)
    assert (picture_of(other, sheet_of(picture, other, colour)) != got).any()


def test_single_precision_pictures_are_read_over_their_whole_scale(colour: SourceColour) -> None:
    codes = smooth_picture(60, 90)
    single = (codes / 65535).astype(np.float32)
    single[0, 0], single[0, 1], single[0, 2] = -1.0, 2.0, np.nan
    for changes in ({}, {"width_px": 45, "height_px": 30}):
        job = job_for(codes, **changes)
        got = picture_of(job, sheet_of(single, job, colour)).astype(int)
        want = picture_of(job, sheet_of(codes, job, colour)).astype(int)
        assert np.abs(got - want)[3:, 3:].max() <= 1
    assert (picture_of(job_for(codes), sheet_of(single, job_for(codes), colour))[0, :3] == (
        [0, 0, 0], [65535] * 3, [0, 0, 0],
    )).all()  # fmt: skip


def test_inks_whose_colour_is_not_known_are_not_sharpened() -> None:
    picture = np.zeros((20, 20, 4), np.uint16)
    job = job_for(picture, mode="as-is", sharpen=plan_with())

    with pytest.raises(RefusedPictureError, match="inks") as caught:
        sheet_of(picture, job)
    assert caught.value.code == "inks-cannot-be-sharpened"
    assert "--sharpen off" in caught.value.choice


def test_a_small_picture_is_never_enlarged_and_keeps_its_codes() -> None:
    picture = smooth_picture(40, 60)
    small = reduced_picture(
        ArraySource(picture), crop=(0, 0, 60, 40), orientation=1, long_side_px=500
    )

    assert small.shape == (40, 60, 3)
    assert (np.round(small * 65535) == picture).all()


def test_a_small_rendering_is_the_same_chain_at_a_smaller_size(
    colour: SourceColour, link: PaperLink
) -> None:
    picture = smooth_picture(80, 120)
    job = job_for(picture, mode="paper", sharpen=plan_with())
    encoded, device = render_array(ArraySource(picture), job, colour, link, long_side_px=60)

    assert encoded.shape == (40, 60, 3)
    assert device.shape == (40, 60, 3)
    from firstsheet.cms.link import apply_link

    assert np.abs(apply_link(link, colour, encoded) - device).max() < 3e-4


def test_stopping_leaves_no_thread_at_work() -> None:
    picture = smooth_picture(2000, 400)
    job = job_for(picture, mode="as-is")

    def stop() -> None:
        raise StoppedError("Stopped.", "", "")

    class SlowSource(ArraySource):  # type: ignore[misc]  # found by pytest only
        def rows(self, top: int, bottom: int) -> NDArray[Any]:
            import time

            time.sleep(0.05)
            rows: NDArray[Any] = super().rows(top, bottom)
            return rows

    sink = ArraySink(job)
    with pytest.raises(StoppedError):
        render(SlowSource(picture), job, None, None, sink, stop=stop)
    import threading

    assert not [t for t in threading.enumerate() if t.name.startswith("pixels-")]


def test_a_damaged_file_stops_the_work_with_its_own_words() -> None:
    picture = smooth_picture(900, 100)

    class DamagedSource(ArraySource):  # type: ignore[misc]  # found by pytest only
        def rows(self, top: int, bottom: int) -> NDArray[Any]:
            if bottom > 700:
                raise RefusedPictureError("Row 700 is missing.", "", "", "truncated-file")
            rows: NDArray[Any] = super().rows(top, bottom)
            return rows

    job = job_for(picture, mode="as-is")
    with pytest.raises(RefusedPictureError, match="Row 700"):
        render(DamagedSource(picture), job, None, None, ArraySink(job))


@pytest.mark.parametrize(
    "slip", [{"picture_left_px": 50}, {"orientation": 9}, {"bits": 12}, {"width_px": 0}]
)
def test_impossible_jobs_are_programming_mistakes(slip: dict[str, int]) -> None:
    with pytest.raises(ValueError, match=r"sheet|1\.\.8|bits|empty"):
        job_for(smooth_picture(20, 30), **slip)
