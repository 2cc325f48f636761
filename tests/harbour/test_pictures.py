"""The photographs as files: whole, profiled, repeatable, and what the demo promises of them."""

import io
import tomllib
from pathlib import Path

import numpy as np
import pytest
import tifffile
from numpy.typing import NDArray
from PIL import Image, ImageCms

from firstsheet.engine.errors import StoppedError
from harbour.pictures import DemoPicture, make_pictures
from harbour.scenes import SCENES

pytestmark = pytest.mark.slow
SMALL = 8
TICKETS = Path(__file__).parents[2] / "demo/tickets"


def nothing(*_: object) -> None:
    """Neither show progress nor stop."""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> list[DemoPicture]:
    return make_pictures(tmp_path_factory.mktemp("harbour"), nothing, nothing, divisor=SMALL)


def pixels(picture: DemoPicture) -> NDArray[np.uint16]:
    return np.asarray(tifffile.imread(picture.path))


def by_name(made: list[DemoPicture], name: str) -> DemoPicture:
    return next(picture for picture in made if picture.name == name)


def test_at_full_size_every_picture_has_twenty_million_pixels() -> None:
    for scene in SCENES:
        count = scene.camera.width_px * scene.camera.height_px * scene.enlarged**2
        assert count >= 20e6, scene.name


def test_they_are_sixteen_bit_with_a_profile_that_another_engine_reads(
    made: list[DemoPicture],
) -> None:
    for picture in made:
        assert pixels(picture).dtype == np.uint16
        with Image.open(picture.path) as image:
            profile = ImageCms.ImageCmsProfile(io.BytesIO(image.info["icc_profile"]))
        grey = pixels(picture).ndim == 2
        assert profile.profile.xcolor_space.strip() == ("GRAY" if grey else "RGB")


def test_the_spaces_differ_and_one_picture_is_grey(made: list[DemoPicture]) -> None:
    assert len({scene.space for scene in SCENES}) == len(SCENES)
    assert sum(pixels(picture).ndim == 2 for picture in made) == 1


def test_low_bytes_are_used(made: list[DemoPicture]) -> None:
    for picture in made:
        assert len(np.unique(pixels(picture) & 0xFF)) == 256, picture.name


def test_tones_run_from_deep_shadow_to_light_without_clipping(made: list[DemoPicture]) -> None:
    for picture in made:
        values = pixels(picture)
        assert np.percentile(values, 1) < 0.2 * 65535, picture.name
        assert np.percentile(values, 99.5) > 0.6 * 65535, picture.name
        assert (values == 65535).mean() < 0.01, picture.name
        assert (values == 0).mean() < 0.01, picture.name


def test_the_shed_is_mostly_shadow_with_texture(made: list[DemoPicture]) -> None:
    values = pixels(by_name(made, "boat-shed")) / 65535

    assert (values.mean(axis=-1) < 0.3).mean() > 0.6
    assert len(np.unique((values[..., 1][values[..., 1] < 0.2] * 255).round())) > 30


def test_there_are_strong_oranges_and_blues(made: list[DemoPicture]) -> None:
    r, g, b = np.moveaxis(pixels(by_name(made, "ferry-stairs")) / 65535, -1, 0)

    assert ((r > 0.6) & (g < 0.5 * r) & (b < 0.4 * r)).mean() > 0.005
    assert ((b > 0.4) & (r < 0.5 * b) & (g < 0.6 * b)).mean() > 0.01


def finest_share(values: NDArray[np.uint16]) -> float:
    """Power of the finest details (beyond 0.7 of the raster's limit) over the middling ones."""
    plane = values[..., 1] if values.ndim == 3 else values
    part = plane[: plane.shape[0] // 2 * 2, : plane.shape[1] // 2 * 2].astype(float)
    power = (
        np.abs(np.fft.fft2(part * np.outer(np.hanning(len(part)), np.hanning(part.shape[1])))) ** 2
    )
    fy, fx = np.fft.fftfreq(part.shape[0])[:, None], np.fft.fftfreq(part.shape[1])[None]
    radius = np.maximum(np.abs(fy), np.abs(fx)) * 2
    middling = power[(radius > 0.2) & (radius < 0.4)].mean()
    return float(power[radius > 0.7].mean() / middling)


def test_only_the_enlarged_picture_lacks_the_finest_details(made: list[DemoPicture]) -> None:
    shares = {picture.name: finest_share(pixels(picture)) for picture in made}
    enlarged = [picture.name for picture in made if picture.secret]

    assert enlarged == ["pier-light"]
    others = [share for name, share in shares.items() if name != "pier-light"]
    assert shares["pier-light"] < 0.02
    assert min(others) > 0.04


def test_the_same_picture_comes_out_again(made: list[DemoPicture], tmp_path: Path) -> None:
    name = "pier-light"

    (again,) = make_pictures(tmp_path, nothing, nothing, divisor=SMALL, only=name)

    assert again.path.read_bytes() == by_name(made, name).path.read_bytes()


def test_what_is_there_is_kept_and_what_is_damaged_is_made_again(
    made: list[DemoPicture],
) -> None:
    folder = made[0].path.parent
    damaged = by_name(made, "pier-light").path
    whole = damaged.read_bytes()
    kept = {p.path: p.path.stat().st_mtime_ns for p in made if p.path != damaged}
    damaged.write_bytes(whole[:-100] + b"\0" * 100)

    make_pictures(folder, nothing, nothing, divisor=SMALL)

    assert damaged.read_bytes() == whole
    assert all(path.stat().st_mtime_ns == time for path, time in kept.items())


def test_stopping_leaves_nothing_half_done(tmp_path: Path) -> None:
    calls = 0

    def stop() -> None:
        nonlocal calls
        calls += 1
        if calls > 6:
            raise StoppedError("Stopped.", "", "")

    with pytest.raises(StoppedError):
        make_pictures(tmp_path, nothing, stop, divisor=SMALL, only="pier-light")

    assert [path.name for path in tmp_path.iterdir()] == []


def test_every_demo_ticket_asks_for_a_picture_that_is_made() -> None:
    names = {scene.name for scene in SCENES}
    tickets = [(one.name, tomllib.loads(one.read_text("utf-8"))) for one in TICKETS.iterdir()]

    assert {name.removesuffix(".toml") for name, _ in tickets} == names
    for name, ticket in tickets:
        assert ticket["picture"] == f"../pictures/{name.removesuffix('.toml')}.tif"
    assert len({ticket["stock"] for _, ticket in tickets}) == 3
