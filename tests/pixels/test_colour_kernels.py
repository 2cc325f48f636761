"""The compiled colour path against floating-point truth of the colour engine, and cube roots."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest
from sheet_makers import job_for, picture_of, plan_with, sheet_of, smooth_picture  # type: ignore[import-not-found]  # found by pytest

import firstsheet
from firstsheet.cms.chain import Chain, build_chain
from firstsheet.cms.link import PaperLink, SourceColour, paper_link, source_colour
from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.colour.lab import xyz_to_lab
from firstsheet.pixels.native import kernel

PAPERS = ("glossy_synthetic_v4.icc", "matte_synthetic_v2.icc", "newsprint_synthetic_v2_lut8.icc")


def paper_chain(paper: str, source: bytes, intent: Any, black_point: bool, model: Any) -> Chain:
    from pathlib import Path

    folder = Path(firstsheet.__file__).parent / "data" / "papers"
    return build_chain(
        source_profile=source,
        colour_model=model,
        paper_profile=(folder / paper).read_bytes(),
        intent=intent,
        black_point=black_point,
    )


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize(
    ("intent", "black_point"),
    [("relative", True), ("relative", False), ("perceptual", True), ("absolute", False)],
)
def test_printed_colours_agree_with_the_engine_in_floating_point(
    paper: str, intent: str, black_point: bool, srgb_profile: bytes
) -> None:
    # truth: Little CMS in floating point without optimisation, through imagecodecs
    chain = paper_chain(paper, srgb_profile, intent, black_point, "rgb")
    picture = smooth_picture(150, 150)
    job = job_for(picture, mode="paper")
    device = picture_of(
        job, sheet_of(picture, job, source_colour(chain), paper_link(chain))
    ).reshape(-1, 3)
    codes = picture.reshape(-1, 3) / 65535
    truth = chain.printed_lab(chain.device(codes))
    got = chain.printed_lab(device / 65535)
    gap = np.asarray(delta_e_2000(truth, got))

    assert np.percentile(gap, 99) <= 0.05
    assert gap.max() <= 0.3


def test_a_grey_picture_prints_as_the_engine_says(srgb_profile: bytes) -> None:
    del srgb_profile
    import struct

    # a grey profile written by hand: gamma 2.2, D50 (ICC.1 8.3 to 8.10)
    tags = {
        b"desc": b"desc" + b"\0" * 4 + struct.pack(">I", 5) + b"grey\0" + b"\0" * 78,
        b"cprt": b"text" + b"\0" * 4 + b"none\0\0\0\0",
        b"wtpt": b"XYZ " + b"\0" * 4 + struct.pack(">3i", 63190, 65536, 54061),
        b"kTRC": b"curv" + b"\0" * 4 + struct.pack(">IH", 1, 563) + b"\0\0",
    }
    table, data = struct.pack(">I", len(tags)), b""
    start = 128 + 4 + 12 * len(tags)
    for name, content in tags.items():
        table += name + struct.pack(">II", start + len(data), len(content))
        data += content + b"\0" * (-len(content) % 4)
    head = bytearray(128)
    struct.pack_into(">I4sI4s4s4s", head, 0, start + len(data), b"\0" * 4, 0x02400000,
                     b"mntr", b"GRAY", b"XYZ ")  # fmt: skip
    head[36:40] = b"acsp"
    struct.pack_into(">3i", head, 68, 63190, 65536, 54061)
    chain = paper_chain(PAPERS[0], bytes(head) + table + data, "relative", True, "grey")
    picture = smooth_picture(90, 90, 1)
    job = job_for(picture, mode="paper", white_device=(1.0, 1.0, 1.0))
    device = picture_of(job, sheet_of(picture, job, source_colour(chain), paper_link(chain)))
    truth = chain.printed_lab(chain.device(picture.reshape(-1, 1) / 65535))
    gap = delta_e_2000(truth, chain.printed_lab(device.reshape(-1, 3) / 65535))

    assert np.max(gap) <= 0.3


def test_a_picture_only_the_engine_can_read_takes_the_slow_way_to_the_same_colour(
    chain: Chain, colour: SourceColour, link: PaperLink
) -> None:
    picture = smooth_picture(60, 70)
    slow = dataclasses.replace(colour, kind="engine", decode=None, to_xyz=None)
    job = job_for(picture, mode="paper")
    fast_codes = picture_of(job, sheet_of(picture, job, colour, link)) / 65535
    slow_codes = picture_of(job, sheet_of(picture, job, slow, link)) / 65535
    truth = chain.printed_lab(chain.device(picture.reshape(-1, 3) / 65535))

    assert np.max(delta_e_2000(truth, chain.printed_lab(slow_codes.reshape(-1, 3)))) <= 0.3
    assert np.abs(fast_codes - slow_codes).max() < 3e-3


def test_tables_read_by_tetrahedra_agree_with_an_independent_reading(
    colour: SourceColour, link: PaperLink
) -> None:
    # walking from corner to corner along the axes in the order of their fractions, as in
    # Kasson, Nin, Plouffe, Hafner 1995, Journal of Electronic Imaging 4(3), 226-250
    picture = smooth_picture(60, 70)
    other = dataclasses.replace(link, interpolation="tetrahedral")
    job = job_for(picture, mode="paper")
    got = picture_of(job, sheet_of(picture, job, colour, other)).reshape(-1, 3) / 65535
    assert colour.decode is not None
    assert colour.to_xyz is not None
    codes = picture.reshape(-1, 3)
    light = np.stack([colour.decode[i][codes[:, i]] for i in range(3)], axis=1)
    xyz = (light @ colour.to_xyz.T) * link.xyz_scale + link.xyz_offset
    lab = xyz_to_lab(xyz)
    place = (lab * link.lab_scale + link.lab_offset).clip(0, 1)
    axis = np.linspace(0, 1, link.input_curves.shape[1])
    place = np.stack([np.interp(place[:, i], axis, link.input_curves[i]) for i in range(3)], 1)
    place *= np.array(link.clut.shape[:3]) - 1
    cell = np.minimum(place.astype(int), np.array(link.clut.shape[:3]) - 2)
    part = place - cell
    order = np.argsort(-part, axis=1, kind="stable")
    value = link.clut[tuple(cell.T)].astype(float)
    corner = cell.copy()
    rows = np.arange(len(cell))
    for step in range(3):
        before = link.clut[tuple(corner.T)]
        corner[rows, order[:, step]] += 1
        after = link.clut[tuple(corner.T)]
        value += part[rows, order[:, step]][:, None] * (after.astype(float) - before)
    axis = np.linspace(0, 1, link.output_curves.shape[1])
    want = np.stack([np.interp(value[:, i], axis, link.output_curves[i]) for i in range(3)], 1)

    assert np.abs(got - want.clip(0, 1)).max() < 2e-5


def test_the_fast_cube_root_is_exact_to_a_few_units_in_the_last_place() -> None:
    light = np.concatenate([np.linspace(0, 1, 200_000), np.geomspace(1e-7, 1, 56_000)]).astype(
        np.float32
    )
    width = len(light)
    planes = np.ascontiguousarray(light[None, None])
    lab = np.zeros((3, 1, width), np.float32)
    matrix = np.zeros(12, np.float32)
    matrix[[0, 3, 6]] = 1
    row = np.zeros(1, np.int64)
    lut, scratch = np.zeros(65536, np.float32), np.zeros(1 << 14, np.float32)
    cells = np.zeros(1 << 12, np.int32)
    kernel("to_lab")(
        planes.ctypes.data, 1, width, row.ctypes.data, 1, 1, 0, lut.ctypes.data,
        matrix.ctypes.data, scratch.ctypes.data, cells.ctypes.data, lab.ctypes.data, 1,
        row.ctypes.data, 0,
    )  # fmt: skip
    t = light.astype(float)
    # CIE 15:2018, with the exact constants 216/24389 and 24389/27
    want = np.where(t > 216 / 24389, 116 * np.cbrt(t) - 16, t * 24389 / 27)

    assert np.abs(lab[0, 0] - want).max() < 1e-4
    assert np.abs(lab[1:]).max() < 1e-3


def test_the_picture_space_comes_back_exactly_where_sharpening_moved_nothing(
    colour: SourceColour,
) -> None:
    flat = np.zeros((64, 200, 3), np.uint16)
    flat[:] = (12345, 23456, 34567)
    flat[:, 100:] = (54321, 43210, 32109)
    job = job_for(flat, sharpen=plan_with())
    got = picture_of(job, sheet_of(flat, job, colour))

    assert (got[:, :80] == flat[:, :80]).all()
    assert (got[:, 120:] == flat[:, 120:]).all()
    assert (got[:, 95:105] != flat[:, 95:105]).any()
