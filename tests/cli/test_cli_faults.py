"""Bad luck in the middle of making: stopped, killed, disk full, two at once. Nothing half done."""

from __future__ import annotations

import json
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile

from firstsheet.cms.build import space_profile

pytestmark = pytest.mark.slow
FILES = ["job-sheet.pdf", "loss-map.png", "plan.json", "print.tif", "proof.png"]
PATIENCE_S = 120


@pytest.fixture
def scan(tmp_path: Path) -> Path:
    """A picture large enough that making it takes a while."""
    rng = np.random.default_rng(1)
    codes = rng.integers(0, 65536, (1500, 2000, 3), dtype=np.uint16)
    path = tmp_path / "in" / "quay.tif"
    path.parent.mkdir()
    tag = (34675, "B", None, space_profile("srgb"), True)
    tifffile.imwrite(path, codes, photometric="rgb", rowsperstrip=50, extratags=[tag])
    return path


def words(scan: Path, out: Path, *more: str) -> list[str]:
    wish = ["--stock", "chalk-matte", "--width", "540mm", "--sheet", "A2", "--allow-enlarge"]
    return [sys.executable, "-m", "firstsheet", "make", str(scan), *wish, "--out", str(out), *more]


def start(command: list[str], **options: Any) -> subprocess.Popen[str]:
    return subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, **options
    )


def wait_for_staging(folder: Path, process: subprocess.Popen[str]) -> None:
    """Wait until the print file is being written."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        if any(folder.glob(".*/print.tif")):
            return
        assert process.poll() is None, process.communicate()
        time.sleep(0.01)
    raise AssertionError("the job never began to write")


def visible(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if not path.name.startswith("."))


def test_ctrl_c_ends_with_130_and_leaves_nothing(scan: Path, tmp_path: Path) -> None:
    place = tmp_path / "prints"
    process = start(words(scan, place / "quay"))
    wait_for_staging(place, process)

    process.send_signal(signal.SIGINT)
    _, told = process.communicate(timeout=PATIENCE_S)

    assert process.returncode == 130
    assert "Stopped by you" in told
    assert "Traceback" not in told
    assert not place.exists() or list(place.glob("**/*")) == []


def test_a_killed_job_leaves_no_folder_and_the_next_one_succeeds(
    scan: Path, tmp_path: Path
) -> None:
    place = tmp_path / "prints"
    process = start(words(scan, place / "quay"))
    wait_for_staging(place, process)

    process.kill()
    process.communicate(timeout=PATIENCE_S)
    assert visible(place) == []

    again = subprocess.run(
        words(scan, place / "quay", "--json"), capture_output=True, text=True, timeout=PATIENCE_S
    )
    assert again.returncode == 0, again.stderr
    assert visible(place) == ["quay"]
    assert visible(place / "quay") == FILES
    assert list(place.glob(".*part*")) == []
    assert json.loads(again.stdout)["files"] == FILES


def test_a_full_disk_is_told_and_leaves_nothing(scan: Path, tmp_path: Path) -> None:
    def small_files_only() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (30_000_000, 30_000_000))

    place = tmp_path / "prints"
    process = start(words(scan, place / "quay"), preexec_fn=small_files_only)
    _, told = process.communicate(timeout=PATIENCE_S)

    assert process.returncode == 6, told
    assert "Traceback" not in told
    assert not place.exists() or visible(place) == []


def test_two_at_once_do_not_mix(scan: Path, tmp_path: Path) -> None:
    place = tmp_path / "prints"
    first = start(words(scan, place / "quay"))
    wait_for_staging(place, first)

    second = subprocess.run(
        words(scan, place / "quay"), capture_output=True, text=True, timeout=PATIENCE_S
    )
    first.communicate(timeout=PATIENCE_S)

    assert first.returncode == 0
    assert second.returncode == 6
    assert "another" in second.stderr.lower()
    assert visible(place / "quay") == FILES


def test_a_folder_that_stands_there_is_not_replaced_unasked(scan: Path, tmp_path: Path) -> None:
    place = tmp_path / "prints" / "quay"
    place.mkdir(parents=True)
    (place / "letter.txt").write_text("keep me")

    answer = subprocess.run(
        words(scan, place, "--replace"), capture_output=True, text=True, timeout=PATIENCE_S
    )

    assert answer.returncode == 6
    assert visible(place) == ["letter.txt"]
