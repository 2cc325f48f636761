"""Pictures that no limit was set on: other light in Merrowick, and photographs of open packages.

    python benchmarks/other_pictures.py FOLDER    # writes them there, as TIFF with their profiles

The views are the demo's with other light, other film or another camera; the photographs are those
that scikit-image brings with it (its data folder says whose they are), read as sRGB.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

import numpy as np
import tifffile
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[1] / "demo"))
from firstsheet.cms.build import grey_profile, space_profile
from harbour.scenes import SCENES, Scene

__all__ = ["PHOTOGRAPHS", "other_scenes", "photographs"]

_DIVISOR: Final = 4
PHOTOGRAPHS: Final = ("astronaut", "camera", "chelsea", "coffee", "motorcycle_left", "rocket")


def other_scenes() -> tuple[Scene, ...]:
    """Five views, from bright haze to a dim shed."""
    stairs, masts, shed, pier = SCENES
    return (
        replace(stairs, name="stairs-at-evening", mood=pier.mood, sky=pier.sky),
        replace(
            stairs,
            name="stairs-in-haze",
            mood=replace(stairs.mood, haze_length=45.0, haze=(0.85, 0.88, 0.92)),
            film=replace(stairs.film, exposure=1.25, contrast=1.0),
        ),
        replace(
            masts,
            name="masts-in-colour",
            film=replace(masts.film, grey=None, exposure=0.75),
            space="a98-rgb",
        ),
        replace(
            shed,
            name="shed-dim",
            camera=replace(shed.camera, heading=0.12, rise=0.44),
            film=replace(shed.film, exposure=2.4),
        ),
        replace(
            pier,
            name="pier-at-noon",
            mood=stairs.mood,
            sky=stairs.sky,
            space="display-p3",
            enlarged=1.0,
        ),
    )


def photographs() -> Iterator[tuple[str, NDArray[np.uint8]]]:
    """Names and 8-bit pixels, (h, w) or (h, w, 3), sRGB."""
    import skimage
    from skimage.io import imread

    folder = Path(skimage.__file__).parent / "data"
    for name in PHOTOGRAPHS:
        path = next(iter(sorted(folder.glob(f"{name}.*"))), None)
        if path is not None:
            pixels = np.asarray(imread(path))
            yield name, pixels if pixels.ndim == 2 else pixels[..., :3]


def main(folder: Path) -> None:
    """Write all of them."""
    folder.mkdir(parents=True, exist_ok=True)
    for scene in other_scenes():
        pixels: NDArray[Any] = scene.photograph(_DIVISOR, lambda _: None)
        _write(folder / f"{scene.name}.tif", pixels, space_profile(scene.space))
    for name, pixels in photographs():
        profile = grey_profile("grey-srgb") if pixels.ndim == 2 else space_profile("srgb")
        _write(folder / f"{name}.tif", pixels, profile)


def _write(path: Path, pixels: NDArray[Any], profile: bytes) -> None:
    tifffile.imwrite(
        path,
        pixels,
        photometric="minisblack" if pixels.ndim == 2 else "rgb",
        iccprofile=profile,
        metadata=None,
    )
    print(path.stem, pixels.shape, flush=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
