"""A scene seen by a camera, as linear light, in bands on as many threads as there are cores.

Takes a mesh, a camera, a mood and a sky; gives light and distance per pixel.
Tests: tests/harbour/test_pictures.py.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from harbour.compiled import THREADS
from harbour.light import Light, Mood, light_for, shade
from harbour.mesh import Mesh
from harbour.raster import Camera, edges_seen, seen
from harbour.sky import SkyRecipe, paint_sky

__all__ = ["in_bands", "render"]

BAND_ROWS = 96
_NO_MIRROR = np.zeros((1, 1, 3), np.float32)
_NO_DISTANCE = np.zeros((1, 1), np.float32)
Step = Callable[[float], None]  # told the share done; may raise to stop the work


def in_bands(height: int, work: Callable[[int, int], None], step: Step) -> None:
    """Run `work(top, bottom)` over all rows on THREADS threads, telling the share done."""
    bands = [(top, min(top + BAND_ROWS, height)) for top in range(0, height, BAND_ROWS)]
    with ThreadPoolExecutor(THREADS) as pool:
        jobs = [pool.submit(work, *band) for band in bands]
        try:
            for done, job in enumerate(jobs, 1):
                job.result()
                step(done / len(jobs))
        except BaseException:
            pool.shutdown(cancel_futures=True)
            raise


def _view(
    mesh: Mesh,
    light: Light,
    camera: Camera,
    mirror: tuple[NDArray[np.float32], NDArray[np.float32]],
    mirrored: bool,
    step: Step,
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    edges = edges_seen(mesh, camera, mirrored=mirrored)
    place = np.full(len(mesh.material), -1, np.int32)
    place[edges.number] = np.arange(len(edges.number), dtype=np.int32)
    out = np.empty((camera.height_px, camera.width_px, 3), np.float32)
    far = np.empty((camera.height_px, camera.width_px), np.float32)
    at, axes, lens = np.asarray(camera.at, np.float64), camera.axes(), camera.numbers()

    def work(top: int, bottom: int) -> None:
        index = np.full((bottom - top, camera.width_px), -1, np.int32)
        near = np.zeros((bottom - top, camera.width_px), np.float32)
        seen(edges.edge, edges.box, edges.z, edges.number, top, mirrored, index, near)
        shade(
            index, top, mesh, light, edges.edge, place, at, axes, lens, *mirror, mirrored,
            out[top:bottom], far[top:bottom],
        )  # fmt: skip

    in_bands(camera.height_px, work, step)
    return out, far


def render(
    mesh: Mesh, camera: Camera, mood: Mood, sky: SkyRecipe, step: Step, *, water: bool = True
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Light (height, width, 3) and distance (height, width) of a scene."""
    light = light_for(mesh, mood, paint_sky(sky))
    step(0.1)
    mirror = (_NO_MIRROR, _NO_DISTANCE)
    if water:
        mirror = _view(mesh, light, camera.scaled(3), mirror, True, lambda s: step(0.1 + 0.1 * s))
    return _view(mesh, light, camera, mirror, False, lambda s: step(0.2 + 0.8 * s))
