"""Stand-ins for an opened picture and a print file, and made pictures."""

from __future__ import annotations

import threading
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.cms.link import PaperLink, SourceColour
from firstsheet.engine.records.plan import SharpenPlan
from firstsheet.engine.sharpness.output import sharpen_plan
from firstsheet.pixels.job import RenderJob
from firstsheet.pixels.render import render


class ArraySource:
    """An opened picture that lies in memory."""

    def __init__(self, picture: NDArray[Any]) -> None:
        self.picture = picture
        self.height_px, self.width_px, self.channels = picture.shape
        self.dtype = picture.dtype

    def rows(self, top: int, bottom: int) -> NDArray[Any]:
        assert 0 <= top < bottom <= self.height_px
        return self.picture[top:bottom].copy()

    def close(self) -> None:
        """Nothing to close."""


class ArraySink:
    """A print file that lies in memory; every row may come once."""

    def __init__(self, job: RenderJob) -> None:
        dtype = np.uint8 if job.bits == 8 else np.uint16
        shape = (job.sheet_height_px, job.sheet_width_px, len(job.white_device))
        self.codes = np.zeros(shape, dtype)
        self.times = np.zeros(job.sheet_height_px, int)
        self._lock = threading.Lock()

    def write(self, top: int, rows: NDArray[Any]) -> None:
        with self._lock:
            self.codes[top : top + len(rows)] = rows
            self.times[top : top + len(rows)] += 1


def job_for(picture: NDArray[Any], **changes: Any) -> RenderJob:
    """A job that prints the whole picture at its own size on a sheet with a border."""
    height, width = picture.shape[:2]
    if changes.get("orientation", 1) >= 5:
        height, width = width, height
    size = {"width_px": width, "height_px": height, "crop": (0.0, 0.0, width, height)}
    size |= {k: v for k, v in changes.items() if k in size}
    rest = {k: v for k, v in changes.items() if k not in size}
    return RenderJob(
        **{
            "sheet_width_px": size["width_px"] + 30,
            "sheet_height_px": size["height_px"] + 40,
            "picture_left_px": 10,
            "picture_top_px": 25,
            "white_device": (1.0,) * picture.shape[2],
            "mode": "keep",
            **size,
            **rest,
        }
    )


def sheet_of(
    picture: NDArray[Any],
    job: RenderJob,
    colour: SourceColour | None = None,
    link: PaperLink | None = None,
    threads: int = 2,
) -> NDArray[Any]:
    """The finished sheet as an array."""
    sink = ArraySink(job)
    render(ArraySource(picture), job, colour, link, sink, threads=threads)
    assert (sink.times == 1).all()
    return sink.codes


def picture_of(job: RenderJob, sheet: NDArray[Any]) -> NDArray[Any]:
    """The picture's part of a sheet."""
    top, left = job.picture_top_px, job.picture_left_px
    return sheet[top : top + job.height_px, left : left + job.width_px]


def plan_with(**changes: Any) -> SharpenPlan:
    """A normal sharpening plan on gloss."""
    wish: dict[str, Any] = {"wish": 1.0, "radius_mm": None, "surface": "gloss"}
    return sharpen_plan(**{**wish, "distance_mm": 500, "ppi": 360, **changes})


def smooth_picture(
    height: int, width: int, channels: int = 3, *, seed: int = 5
) -> NDArray[np.uint16]:
    """Made photograph-like data: soft gradients, edges of all strengths, a little grain."""
    random = np.random.default_rng(seed)
    y, x = np.mgrid[:height, :width] / max(height, width)
    planes = []
    for _ in range(channels):
        a, b, c, d = random.uniform(1, 6, 4)
        base = 0.5 + 0.3 * np.sin(a * x + b * y) + 0.15 * np.sin(9 * c * x * y)
        block = random.uniform(-0.3, 0.3, (height // 24 + 1, width // 24 + 1))
        base += np.kron(block, np.ones((24, 24)))[:height, :width] * (np.sin(d * x) > 0.3)
        planes.append(base + 0.01 * random.standard_normal((height, width)))
    picture = np.stack(planes, axis=-1).clip(0, 1)
    codes: NDArray[np.uint16] = np.round(picture * 65535).astype(np.uint16)
    return codes
