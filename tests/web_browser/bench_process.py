"""The real bench as its own process, and pictures for it, for browser tests.

Takes a folder; gives the address. Nothing is shared with the test but the network and the disk.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import tifffile

__all__ = ["Served", "make_picture", "serving"]

_ADDRESS = re.compile(r"http://127\.0\.0\.1:\d+/\?key=\S+")


def make_picture(
    path: Path, width_px: int = 1300, height_px: int = 870, *, tagged: bool = True
) -> None:
    """A 16-bit picture with slopes, edges and texture, in a wide space unless untagged."""
    from firstsheet.cms.build import space_profile

    rng = np.random.default_rng(5)
    y, x = np.mgrid[0:height_px, 0:width_px]
    red = 0.5 + 0.45 * np.sin(x / 97.0) * np.cos(y / 71.0)
    green = 0.15 + 0.7 * (y / height_px)
    blue = np.where((x // 150 + y // 150) % 2, 0.2, 0.75)
    grain = rng.normal(0.0, 0.012, (height_px, width_px))
    rgb = np.stack([red, green, blue], axis=-1) + grain[..., None]
    codes = (rgb.clip(0.0, 1.0) * 65535.0 + 0.5).astype(np.uint16)
    profile = space_profile("a98-rgb") if tagged else None
    tifffile.imwrite(path, codes, photometric="rgb", iccprofile=profile)


@dataclass(frozen=True)
class Served:
    """A bench that runs."""

    address: str  # with its key
    process: subprocess.Popen[str]


@contextmanager
def serving(
    folder: Path, state: Path, stocks: Path, *, largest_file_bytes: int = 0
) -> Iterator[Served]:
    """Run `firstsheet bench` until the block ends.

    With `largest_file_bytes`, the system refuses to let any file grow larger, as a full disk does.
    """

    def limit() -> None:
        import resource

        resource.setrlimit(resource.RLIMIT_FSIZE, (largest_file_bytes, largest_file_bytes))

    environment = {**os.environ, "FIRSTSHEET_STATE": str(state), "PYTHONUNBUFFERED": "1"}
    command = [sys.executable, "-m", "firstsheet", "bench", str(folder), "--no-browser"]
    command += ["--stocks", str(stocks)]
    process = subprocess.Popen(
        command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
        preexec_fn=limit if largest_file_bytes else None,
    )  # fmt: skip
    assert process.stdout is not None
    try:
        said = []
        for line in process.stdout:
            said.append(line)
            if found := _ADDRESS.search(line):
                yield Served(found.group(), process)
                break
        else:
            raise AssertionError("The bench did not start: " + "".join(said))
    finally:
        process.terminate()
        process.wait(20)
        process.stdout.close()
