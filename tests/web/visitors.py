"""A made scan, and a browser at a bench, for the tests of this folder."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import tifffile
from starlette.testclient import TestClient

from firstsheet.bench.bench import Bench
from firstsheet.cms.build import space_profile
from firstsheet.web.app import BenchApp
from firstsheet.web.guard import Keys

PORT = 8123
HOME = f"http://127.0.0.1:{PORT}"
OURS = {"X-Firstsheet": "1"}

Json = dict[str, Any]


def write_scan(path: Path, width_px: int = 480, height_px: int = 360, **tags: Any) -> Path:
    """A made scan: sky, a vivid hull, deep shadow, an edge, noise."""
    rng = np.random.default_rng(7)
    down, across = np.mgrid[0:height_px, 0:width_px].astype(np.float64)
    down, across = down / height_px, across / width_px
    picture = np.stack([0.45 + 0.3 * down, 0.6 + 0.25 * down, 0.85 + 0.1 * down], axis=-1)
    picture[down > 0.55] = (0.12, 0.1, 0.09)
    picture[(down > 0.4) & (down < 0.7) & (across > 0.2) & (across < 0.5)] = (0.05, 0.12, 0.7)
    picture[(down > 0.45) & (down < 0.65) & (across > 0.6) & (across < 0.8)] = (0.9, 0.3, 0.05)
    picture += rng.normal(0.0, 0.01, picture.shape)
    codes = (np.clip(picture, 0.0, 1.0) * 65535.0 + 0.5).astype(np.uint16)
    profile = tags.pop("profile", space_profile("srgb"))
    extra = [] if profile is None else [(34675, "B", None, profile, True)]
    tifffile.imwrite(path, codes, photometric="rgb", rowsperstrip=64, extratags=extra, **tags)
    return path


class Visitor:
    """A browser at the bench."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.keys = Keys()
        self.app = BenchApp(bench, port=PORT, keys=self.keys)
        self.client = TestClient(self.app.asgi, base_url=HOME, follow_redirects=False)
        self.client.get(f"/?key={self.keys.fresh()}")

    def close(self) -> None:
        """Put everything away."""
        self.client.close()
        self.app.close()
        self.bench.close()

    def get(self, path: str, status: int = 200) -> Json:
        """The JSON of an address."""
        answer = self.client.get(path)
        assert answer.status_code == status, answer.text
        found: Json = answer.json()
        return found

    def post(self, path: str, body: Any = None, status: int = 200) -> Json:
        """The JSON answer to what is sent."""
        answer = self.client.post(path, json=body or {}, headers=OURS)
        assert answer.status_code == status, answer.text
        found: Json = answer.json()
        return found

    def open(self, path: str | Path) -> str:
        """Open a picture; gives the draft's name once it is measured."""
        name: str = self.post("/api/open", {"path": str(path)})["id"]
        self.settled(name)
        return name

    def settled(self, draft: str) -> Json:
        """The view, once nothing more will come of itself."""

        def done() -> Json | None:
            view = self.get(f"/api/draft/{draft}")
            waiting = view["state"] == "opening" or view["measuring"] or view["dust_pending"]
            return None if waiting else view

        return until(done)

    def change(self, draft: str, **lines: str) -> Json:
        """Change lines; `print_width` stands for print.width."""
        revision = self.get(f"/api/draft/{draft}")["revision"]
        changes = {key.replace("__", "."): value for key, value in lines.items()}
        return self.post(f"/api/draft/{draft}/set", {"revision": revision, "changes": changes})

    def made(self, job: str) -> Json:
        """A job's record once it has ended."""

        def done() -> Json | None:
            view = self.get(f"/api/job/{job}")
            return None if view["state"] in ("waiting", "working") else view

        return until(done)


def until(ask: Callable[[], Json | None], seconds: float = 120.0) -> Json:
    """Ask again until there is an answer; generous, for machines with much else to do."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        found = ask()
        if found is not None:
            return found
        time.sleep(0.02)
    raise AssertionError("it never came")
