"""Kernels and weights against published values, other libraries and their own conservation."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image

from firstsheet.engine.sizing.resampling import KERNELS, AxisWeights, weights

Floats = NDArray[np.float64]


def dense(axis: AxisWeights, source_px: int) -> Floats:
    matrix = np.zeros((len(axis.first), source_px))
    for row, (first, part) in enumerate(zip(axis.first, axis.weights, strict=True)):
        matrix[row, first : first + axis.taps] += part
    return matrix


def resize(picture: Floats, rows: int, columns: int, kernel: str) -> Floats:
    height, width = picture.shape
    down = weights(source_px=height, start_px=0, length_px=height, output_px=rows, kernel=kernel)
    across = weights(source_px=width, start_px=0, length_px=width, output_px=columns, kernel=kernel)
    result: Floats = dense(down, height) @ picture @ dense(across, width).T
    return result


@pytest.mark.published
def test_the_kernels_have_their_published_values(published: Any) -> None:
    rows, tolerance = published("kernels.csv")
    for row in rows:
        got = KERNELS[row["kernel"]].function(np.array([row["distance"]]))
        assert got == pytest.approx(row["height"], abs=tolerance), row


@pytest.mark.published
def test_the_cubic_kernels_pass_the_frequencies_they_should(published: Any) -> None:
    rows, tolerance = published("kernel_responses.csv")
    x = np.linspace(-2.0, 2.0, 40001, dtype=np.float64)
    for row in rows:
        shape = KERNELS[row["kernel"]].function(x)
        got = np.trapezoid(shape * np.cos(2 * np.pi * row["cycles_per_sample"] * x), x)
        assert got == pytest.approx(row["response"], abs=tolerance), row


@pytest.mark.parametrize("name", ["catmull-rom", "mitchell", "bspline", "triangle"])
@given(phase=st.floats(0, 1))
def test_these_kernels_add_up_to_one_at_every_phase(name: str, phase: float) -> None:
    total = KERNELS[name].function(phase - np.arange(-4.0, 6.0)).sum()

    assert total == pytest.approx(1, abs=1e-12)


@pytest.mark.published
@pytest.mark.parametrize(
    ("name", "sums"),
    [
        ("lanczos3", (1.0, 0.99697154, 0.99429855)),
        ("lanczos2", (1.0, 1.01007076, 1.01894963)),
    ],
)
def test_the_raw_lanczos_kernels_do_not_add_up_so_weights_are_normalised(
    name: str, sums: tuple[float, ...]
) -> None:
    raw = [KERNELS[name].function(p - np.arange(-4.0, 6.0)).sum() for p in (0, 0.25, 0.5)]

    assert raw == pytest.approx(sums, abs=1e-8)


@pytest.mark.parametrize("name", KERNELS)
@given(
    source=st.integers(1, 300),
    output=st.integers(1, 300),
    low=st.floats(0, 1),
    high=st.floats(0, 1),
    mirrored=st.booleans(),
)
def test_weights_add_up_to_one_and_stay_inside_the_picture(
    name: str, source: int, output: int, low: float, high: float, mirrored: bool
) -> None:
    start, end = sorted((low * source, high * source))
    if end - start < 0.05:
        return
    axis = weights(
        source_px=source,
        start_px=start,
        length_px=end - start,
        output_px=output,
        kernel=name,
        mirrored=mirrored,
    )

    assert axis.weights.sum(axis=1) == pytest.approx(1, abs=1e-12)
    assert axis.first.min() >= 0
    assert axis.first.max() + axis.taps <= source


@given(source=st.integers(2, 200), output=st.integers(1, 200), mirrored=st.booleans())
def test_mirrored_weights_are_the_weights_of_the_mirrored_picture(
    source: int, output: int, mirrored: bool
) -> None:
    picture = np.random.default_rng(source).random(source)
    axis = weights(
        source_px=source, start_px=0, length_px=source, output_px=output, mirrored=mirrored
    )
    plain = weights(source_px=source, start_px=0, length_px=source, output_px=output)
    got = dense(axis, source) @ picture
    want = dense(plain, source) @ picture

    assert got == pytest.approx(want[::-1] if mirrored else want, abs=1e-12)


def test_nothing_is_resampled_at_scale_one_from_a_whole_pixel() -> None:
    axis = weights(source_px=50, start_px=7, length_px=30, output_px=30)

    assert axis.copies
    assert (axis.first == np.arange(7, 37)).all()
    assert (axis.weights == 1).all()


@pytest.mark.parametrize("slip", [{"length_px": 0}, {"start_px": 5}, {"kernel": "nearest-ish"}])
def test_impossible_stretches_and_kernels_are_programming_mistakes(
    slip: dict[str, float | str],
) -> None:
    good: dict[str, object] = {"source_px": 10, "start_px": 0, "length_px": 10, "output_px": 5}

    with pytest.raises(ValueError, match=r"stretch|resample|kernel"):
        weights(**{**good, **slip})  # type: ignore[arg-type]  # the slip is the point


@pytest.mark.parametrize(
    ("name", "method"),
    [
        ("catmull-rom", Image.Resampling.BICUBIC),
        ("lanczos3", Image.Resampling.LANCZOS),
        ("triangle", Image.Resampling.BILINEAR),
    ],
)
@pytest.mark.parametrize("size", [(61, 83), (40, 40), (190, 260)])
def test_pillow_agrees_inside_the_picture(
    name: str, method: Image.Resampling, size: tuple[int, int]
) -> None:
    # second opinion: Pillow's single-precision resampler; edges are folded differently there.
    # Its bicubic has a = -0.5, the Catmull-Rom cubic.
    picture = np.random.default_rng(3).random((97, 131))
    rows, columns = size
    ours = resize(picture, rows, columns, name)
    theirs = np.asarray(Image.fromarray(picture.astype(np.float32)).resize((columns, rows), method))
    reach = math.ceil(KERNELS[name].support * max(1, rows / 97)) + 2

    inside = np.s_[reach:-reach, reach:-reach]
    assert ours[inside] == pytest.approx(theirs[inside], abs=2e-3)
    assert np.abs(ours[inside] - theirs[inside]).mean() < 2e-4


def zone_plate(side_px: int, nyquist_at: float = math.sqrt(2)) -> tuple[Floats, float]:
    """Cosine rings that reach Nyquist at this many sides; and cycles a pixel per pixel."""
    y, x = np.mgrid[:side_px, :side_px] + 0.5
    rate = 0.5 / (nyquist_at * side_px)
    return 0.5 + 0.5 * np.cos(np.pi * rate * (x * x + y * y)), rate


def beyond(picture: Floats, source_px: int, rate: float) -> float:
    """Standard deviation where the source rings exceed 1.3 times the new Nyquist limit."""
    side = len(picture)
    y, x = (np.mgrid[:side, :side] + 0.5) * source_px / side
    limit = 1.3 * (0.5 * side / source_px) / rate
    return float(picture[np.hypot(x, y) > limit].std())


@pytest.mark.parametrize("side", [384, 540, 230])
def test_a_zone_plate_shows_no_more_alias_than_the_best_of_three_libraries(side: int) -> None:
    import pyvips
    from skimage.transform import resize as skimage_resize

    plate, rate = zone_plate(768)
    single = plate.astype(np.float32)
    ours = beyond(resize(plate, side, side, "mitchell"), 768, rate)
    theirs = [
        beyond(np.asarray(Image.fromarray(single).resize((side, side), method)), 768, rate)
        for method in (Image.Resampling.BICUBIC, Image.Resampling.LANCZOS)
    ]
    theirs.append(beyond(skimage_resize(plate, (side, side), anti_aliasing=True), 768, rate))
    vips = pyvips.Image.new_from_array(single)
    theirs += [
        beyond(vips.resize(side / 768, kernel=kernel, gap=0).numpy(), 768, rate)
        for kernel in ("cubic", "lanczos3", "mitchell")
    ]

    assert ours <= min(theirs) * 1.002


@pytest.mark.parametrize("name", ["mitchell", "catmull-rom", "lanczos3"])
def test_rings_finer_than_the_new_raster_fade_to_grey_along_each_axis(name: str) -> None:
    # where one axis alone is too fine, so that a separable kernel must remove it
    plate, rate = zone_plate(768, nyquist_at=1)
    small = resize(plate, 384, 384, name)
    too_fine = np.arange(384) * 2 > 1.3 * 0.25 / rate
    nearest = plate[::2, ::2]

    assert small[:100, too_fine].std() < 0.03
    assert nearest[:100, too_fine].std() > 0.3


@pytest.mark.parametrize("name", ["mitchell", "catmull-rom", "lanczos3"])
@pytest.mark.parametrize("output", [311, 150, 64, 700])
def test_a_blob_keeps_its_place_and_its_energy(name: str, output: int) -> None:
    at = 123.37
    x = np.arange(400) + 0.5
    blob = np.exp(-0.5 * ((x - at) / 9) ** 2)
    axis = weights(source_px=400, start_px=0, length_px=400, output_px=output, kernel=name)
    got = dense(axis, 400) @ blob
    step = 400 / output
    centre = ((np.arange(output) + 0.5) * got).sum() / got.sum()

    assert centre * step == pytest.approx(at, abs=0.01)
    assert got.sum() * step == pytest.approx(blob.sum(), rel=1e-4)


@pytest.mark.parametrize("name", ["mitchell", "catmull-rom", "lanczos3"])
@pytest.mark.parametrize("scale", [0.88, 0.5, 0.237])
def test_an_edge_stays_where_it_was(name: str, scale: float) -> None:
    at = 201.3
    edge = np.clip(np.arange(400) + 1 - at, 0, 1)
    output = round(400 * scale)
    axis = weights(source_px=400, start_px=0, length_px=400, output_px=output, kernel=name)
    got = dense(axis, 400) @ edge
    # the area under a unit step tells its place whatever its blur
    assert 400 - got.sum() * 400 / output == pytest.approx(at, abs=0.01)


@given(left=st.floats(0, 35), length=st.floats(125, 165))
def test_a_fractional_crop_lands_where_it_was_asked(left: float, length: float) -> None:
    x = np.arange(200) + 0.5
    blob = np.exp(-0.5 * ((x - 77.7) / 6) ** 2)
    axis = weights(source_px=200, start_px=left, length_px=length, output_px=64)
    got = dense(axis, 200) @ blob
    centre = ((np.arange(64) + 0.5) * got).sum() / got.sum()

    assert centre == pytest.approx((77.7 - left) * 64 / length, abs=0.01)
