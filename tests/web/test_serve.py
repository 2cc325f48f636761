"""The command itself: a real server on this computer only, ended cleanly."""

from __future__ import annotations

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

import pytest


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
