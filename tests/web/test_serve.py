"""The command itself: a real server on this computer only, ended cleanly."""

from __future__ import annotations

import asyncio
import json
import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from visitors import Json, Visitor, until, write_scan  # type: ignore[import-not-found]


def test_a_page_that_goes_away_leaves_nothing_waiting(visitor: Visitor) -> None:
    """Or the terminal fills with words about tasks that were destroyed."""

    async def come_and_go() -> set[asyncio.Task[Any]]:
        stream = visitor.app._stream()
        assert await anext(stream) == "retry: 500\n\n"
        following = asyncio.ensure_future(anext(stream))  # as a page waits for news
        await asyncio.sleep(0)
        following.cancel()
        await asyncio.gather(following, return_exceptions=True)
        await stream.aclose()
        await asyncio.sleep(0)
        return asyncio.all_tasks() - {asyncio.current_task()}

    assert asyncio.run(come_and_go()) == set()


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """A running bench and the address it printed."""
    command = [sys.executable, "-m", "firstsheet", "bench", str(tmp_path), "--no-browser"]
    running = subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env={**os.environ, "FIRSTSHEET_STATE": str(tmp_path / "state")},
    )
    assert running.stdout is not None
    match = re.search(r"http://\S+", running.stdout.readline())
    assert match is not None
    yield running, match.group()
    running.kill()
    running.wait()
    running.stdout.close()


def test_it_prints_an_address_that_lets_one_browser_in(
    bench: tuple[subprocess.Popen[str], str],
) -> None:
    _, address = bench
    opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
    with opener.open(address, timeout=20) as page:
        assert page.status == 200
        assert b"<html" in page.read().lower()
    home = address.split("/?")[0]
    with opener.open(f"{home}/api/start", timeout=20) as start:
        assert b'"stocks"' in start.read()
    with pytest.raises(urllib.error.HTTPError, match="401"):
        urllib.request.urlopen(address, timeout=20)


def test_it_listens_on_this_computer_only(bench: tuple[subprocess.Popen[str], str]) -> None:
    _, address = bench
    port = int(address.split(":")[2].split("/")[0])
    others = {one[4][0] for one in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)}
    for host in sorted(str(one) for one in others):
        if host.startswith("127."):
            continue
        with socket.socket() as caller:
            caller.settimeout(2)
            assert caller.connect_ex((host, port)) != 0, host


@pytest.mark.skipif(os.name != "posix", reason="signals as POSIX has them")
def test_it_ends_on_ctrl_c_although_a_page_listens(
    bench: tuple[subprocess.Popen[str], str],
) -> None:
    running, address = bench
    opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
    opener.open(address, timeout=20).close()
    events = opener.open(f"{address.split('/?')[0]}/api/events", timeout=20)
    assert events.readline()

    begun = time.monotonic()
    running.send_signal(signal.SIGINT)
    code = running.wait(timeout=20)

    assert code == 0
    assert time.monotonic() - begun < 20  # far more than the second it takes when idle
    assert running.stdout is not None
    assert "Traceback" not in running.stdout.read()
    events.close()


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="signals as POSIX has them")
def test_killed_in_the_middle_of_making_it_leaves_nothing_half_made_and_loses_no_draft(
    tmp_path: Path,
) -> None:
    harbour = tmp_path / "harbour"
    harbour.mkdir()
    write_scan(harbour / "large.tif", 2400, 1800)
    first = Running(harbour, tmp_path / "state")
    draft = first.ask("/api/open", {"path": "large.tif"})["id"]
    place = f"/api/draft/{draft}"
    until(lambda: first.settled(place))
    changes = {"print.width": "600 mm", "print.sheet": "A1", "detail.allow-enlarge": "true"}
    first.ask(f"{place}/set", {"revision": 1, "changes": changes})
    digest = until(lambda: first.settled(place))["plan_digest"]
    job = first.ask(f"{place}/make", {})["job"]
    until(lambda: first.under_way(job))
    first.process.kill()  # SIGKILL: no code of ours runs any more
    first.process.wait()

    assert not (harbour / "large-chalk-matte").exists()
    again = Running(harbour, tmp_path / "state")
    try:
        assert until(lambda: again.settled(place))["plan_digest"] == digest
        made = again.ask(f"{place}/make", {})["job"]
        view = until(lambda: again.ended(made), seconds=240)
        assert view["state"] == "done", view
        assert [one.name for one in harbour.iterdir() if "part" in one.name] == []
        assert (harbour / "large-chalk-matte" / "print.tif").is_file()
    finally:
        again.process.kill()
        again.process.wait()


class Running:
    """A bench as a process of its own, and a browser that was let in."""

    def __init__(self, folder: Path, state: Path) -> None:
        command = [sys.executable, "-m", "firstsheet", "bench", str(folder), "--no-browser"]
        env = {**os.environ, "FIRSTSHEET_STATE": str(state)}
        self.process = subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, env=env
        )
        assert self.process.stdout is not None
        with self.process.stdout as out:
            match = re.search(r"http://\S+", out.readline())
        assert match is not None
        self.home = match.group().split("/?")[0]
        self.opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        self.opener.open(match.group(), timeout=60).close()

    def ask(self, path: str, body: Json | None = None) -> Json:
        """The JSON answer; what has a body is sent."""
        data = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(self.home + path, data, {"X-Firstsheet": "1"})
        with self.opener.open(request, timeout=60) as answer:
            found: Json = json.loads(answer.read())
        return found

    def settled(self, place: str) -> Json | None:
        view = self.ask(place)
        waiting = view["state"] == "opening" or view["measuring"] or view["dust_pending"]
        return None if waiting else view

    def under_way(self, job: str) -> Json | None:
        view = self.ask(f"/api/job/{job}")
        assert view["state"] in ("waiting", "working"), view
        return view if view["doing"] == "Making the sheet" else None

    def ended(self, job: str) -> Json | None:
        view = self.ask(f"/api/job/{job}")
        return None if view["state"] in ("waiting", "working") else view
