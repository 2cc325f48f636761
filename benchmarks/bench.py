"""The bench's speed and memory as a browser meets them, over HTTP; prints a table.

`python benchmarks/bench.py [--sizes 25 400] [--make]`. Starts a server of its own, opens a made
picture, asks for tiles, changes the size, and reads the server's memory from /proc (Linux). Run
it alone: other work on the machine makes the figures worthless.
"""

from __future__ import annotations

import argparse
import os
import random
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import httpx2
from pictures import make_picture  # type: ignore[import-not-found]  # beside this script

OUT = Path(__file__).parent / "out"
TILES = 60
CHANGES = 30
KINDS = ("picture", "proof", "loss", "print")


class Server:
    """A bench of our own, and a browser that was let in."""

    def __init__(self, folder: Path, state: Path) -> None:
        command = [sys.executable, "-m", "firstsheet", "bench", str(folder), "--no-browser"]
        env = {
            **os.environ,
            "FIRSTSHEET_STATE": str(state),
            "FIRSTSHEET_LEDGER": str(state / "ledger.sqlite3"),
        }
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=env)
        assert self.process.stdout is not None
        address = re.search(r"http://\S+", self.process.stdout.readline())
        assert address is not None
        self.address = address.group()
        self.web = httpx2.Client(
            base_url=address.group().split("/?")[0],
            headers={"X-Firstsheet": "1"},
            follow_redirects=True,
            timeout=600,
        )

    def let_in(self) -> None:
        """Spend the key that is good once."""
        self.web.get(self.address)

    def get(self, path: str) -> Any:
        """The JSON of an address."""
        return self.web.get(path).raise_for_status().json()

    def post(self, path: str, body: Any) -> Any:
        """The JSON answer."""
        return self.web.post(path, json=body).raise_for_status().json()

    def most_memory_mib(self) -> float:
        """The most memory the server has held so far."""
        text = Path(f"/proc/{self.process.pid}/status").read_text(encoding="ascii")
        match = re.search(r"VmHWM:\s+(\d+)", text)
        return float(match.group(1)) / 1024 if match else 0.0

    def processor_seconds(self) -> float:
        """What the server has used of the processors so far (Linux)."""
        fields = Path(f"/proc/{self.process.pid}/stat").read_text(encoding="ascii").rsplit(") ", 1)
        user, system = fields[1].split()[11:13]
        return (int(user) + int(system)) / os.sysconf("SC_CLK_TCK")

    def close(self) -> None:
        """End it."""
        self.process.terminate()
        self.process.wait()


def waited(ask: Callable[[], Any], pause_s: float = 0.005) -> Any:
    """Ask until there is an answer; what takes long is asked for seldom, since asking is work."""
    while True:
        found = ask()
        if found:
            return found
        time.sleep(pause_s)


def median_ms(work: Callable[[int], Any], times: int) -> tuple[float, float]:
    """Median and 90 % of some calls, milliseconds."""
    taken = []
    for number in range(times):
        start = time.perf_counter()
        work(number)
        taken.append((time.perf_counter() - start) * 1000)
    return statistics.median(taken), sorted(taken)[int(times * 0.9)]


def measure(megapixels: int, *, make: bool) -> dict[str, str]:
    """All figures for one picture."""
    picture = OUT / f"scan-{megapixels}.tif"
    make_picture(picture, megapixels)
    figures: dict[str, str] = {}
    with tempfile.TemporaryDirectory(dir=OUT) as state:
        server = Server(OUT, Path(state))
        server.let_in()
        try:
            time.sleep(3)  # a browser takes about that long to start; the server warms up
            start = time.perf_counter()
            name = server.post("/api/open", {"path": str(picture)})["id"]
            draft = f"/api/draft/{name}"
            look = waited(lambda: server.get(draft)["first_look"])
            server.web.get(look)
            figures["first view s"] = f"{time.perf_counter() - start:.2f}"
            waited(lambda: server.get(draft)["state"] == "ready", 0.05)
            figures["all counted s"] = f"{time.perf_counter() - start:.1f}"
            waited(lambda: not server.get(draft)["measuring"], 0.05)
            figures["measured s"] = f"{time.perf_counter() - start:.1f}"
            view = server.get(draft)
            coarse = view["tiles"]["picture"]["url"].format(z=0, x=0, y=0)
            waited(lambda: "immutable" in server.web.get(coarse).headers["cache-control"])
            figures["levels made s"] = f"{time.perf_counter() - start:.1f}"
            for kind in KINDS:
                middle, most = tiles(server, view["tiles"][kind])
                figures[f"{kind} tile ms"] = f"{middle:.1f} ({most:.1f})"
            waited(lambda: idle(server), 1.0)
            for kind in KINDS[:3]:
                middle, most = tiles(server, view["tiles"][kind])
                figures[f"{kind} tile, nothing in the background, ms"] = (
                    f"{middle:.1f} ({most:.1f})"
                )
            waited(lambda: not server.get(draft)["dust_pending"], 0.2)
            figures["dust looked for, after the tiles, s"] = f"{time.perf_counter() - start:.1f}"
            figures["re-plan ms"] = "{:.1f} ({:.1f})".format(*replans(server, draft))
            figures["memory MiB"] = f"{server.most_memory_mib():.0f}"
            if make:
                job = server.post(f"{draft}/make", {"replace": True})["job"]
                waited(lambda: server.get(f"/api/job/{job}")["state"] not in ("waiting", "working"))
                figures["memory with a print made MiB"] = f"{server.most_memory_mib():.0f}"
        finally:
            server.close()
    return figures


def idle(server: Server) -> bool:
    """Whether nothing is worked out in the background any more."""
    before = server.processor_seconds()
    time.sleep(1.0)
    return server.processor_seconds() - before < 0.03


def page_ready() -> dict[str, str]:
    """How long a fresh browser takes until a person can type; medians, each with a new server."""
    chromium = os.environ.get("FIRSTSHEET_CHROMIUM") or shutil.which("chromium")
    if not chromium:
        return {"page ready s": "not run: no Chromium here"}
    from playwright.sync_api import sync_playwright

    from_command, from_address = [], []
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        for _ in range(5):
            with tempfile.TemporaryDirectory(dir=OUT) as state:
                begun = time.perf_counter()
                server = Server(OUT, Path(state))
                page = browser.new_context().new_page()
                called = time.perf_counter()
                page.goto(server.address)
                page.locator("[role=combobox]:focus").wait_for()
                ready = time.perf_counter()
                from_command.append(ready - begun)
                from_address.append(ready - called)
                page.context.close()
                server.close()
        browser.close()
    return {
        "page ready s": f"{statistics.median(from_address):.2f}",
        "page ready, the command's start included, s": f"{statistics.median(from_command):.2f}",
    }


def tiles(server: Server, given: dict[str, Any]) -> tuple[float, float]:
    """Tiles of the finest level, here and there."""
    chance = random.Random(1)
    columns, rows = max(1, given["width"] // 512), max(1, given["height"] // 512)

    def one(_number: int) -> None:
        x, y = chance.randrange(columns), chance.randrange(rows)
        server.web.get(given["url"].format(z=given["zmax"], x=x, y=y)).raise_for_status()

    return median_ms(one, TILES)


def replans(server: Server, draft: str) -> tuple[float, float]:
    """Other widths, each answered with a whole view."""
    revision = server.get(draft)["revision"]

    def one(number: int) -> None:
        nonlocal revision
        changes = {"print.width": f"{150 + number} mm"}
        view = server.post(f"{draft}/set", {"revision": revision, "changes": changes})
        revision = view["revision"]

    return median_ms(one, CHANGES)


def main() -> None:
    """Measure and print."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--sizes", type=int, nargs="+", default=[25, 400])
    words.add_argument("--make", action="store_true", help="make a print as well")
    given = words.parse_args()
    OUT.mkdir(exist_ok=True)
    for name, figure in page_ready().items():
        print(f"{name}: {figure}")
    columns = {size: measure(size, make=given.make) for size in given.sizes}
    print("| |" + "".join(f" {size} MP |" for size in columns))
    print("| --- |" + " --- |" * len(columns))
    for name in next(iter(columns.values())):
        print(f"| {name} |" + "".join(f" {column[name]} |" for column in columns.values()))


if __name__ == "__main__":
    main()
