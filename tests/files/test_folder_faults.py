"""A folder appears whole or not at all: killed processes, full disks, two at once."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

posix = pytest.mark.skipif(os.name != "posix", reason="signals and limits of POSIX")

WRITER = """
import json, resource, signal, sys, time
from pathlib import Path
from firstsheet.engine.errors import OutputError
from firstsheet.files.writing.folder import whole_folder

target, words, megabytes, limit, pause = sys.argv[1:6]
signal.signal(signal.SIGINT, signal.default_int_handler)  # also in the background
if int(limit):
    resource.setrlimit(resource.RLIMIT_FSIZE, (int(limit), int(limit)))
try:
    with whole_folder(Path(target), needed_bytes=1, replace=True) as staging:
        (staging / "plan.json").write_text(json.dumps({"made_by": "firstsheet 0.1.0"}))
        with (staging / "print.tif").open("wb") as file:
            for _ in range(int(megabytes)):
                file.write(words.encode() * (2**20 // len(words)))
            file.flush()
            print("written", flush=True)
            time.sleep(float(pause))
except OutputError as error:
    print(f"{error.code}: {error}", flush=True)
    sys.exit(error.exit_code)
"""


def start(
    target: Path, *, words: str = "new.", megabytes: int = 1, limit: int = 0, pause: float = 0
) -> subprocess.Popen[str]:
    options = [str(target), words, str(megabytes), str(limit), str(pause)]
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, *options], stdout=subprocess.PIPE, text=True
    )


def run(target: Path, **options: int | str | float) -> tuple[int, str]:
    with start(target, **options) as process:  # type: ignore[arg-type]  # names are start's own
        said = process.communicate()[0]
    return process.returncode, said


def names(place: Path) -> list[str]:
    return sorted(entry.name for entry in place.iterdir())


@posix
def test_a_process_killed_in_the_middle_leaves_nothing_under_the_name(tmp_path: Path) -> None:
    target = tmp_path / "ferry"
    with start(target, pause=60) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "written\n"
        process.kill()
        process.wait()

    assert not target.exists()
    code, _ = run(target)  # the next run sweeps and finishes
    assert code == 0
    assert names(tmp_path) == ["ferry"]
    assert (target / "print.tif").stat().st_size == 2**20


@posix
def test_a_kill_leaves_the_earlier_folder_as_it_was(tmp_path: Path) -> None:
    target = tmp_path / "ferry"
    assert run(target, words="old.")[0] == 0
    with start(target, pause=60) as process:
        assert process.stdout is not None
        process.stdout.readline()
        process.kill()
        process.wait()

    assert (target / "print.tif").read_bytes()[:4] == b"old."


@posix
@pytest.mark.slow
def test_the_name_always_holds_a_whole_folder_while_runs_are_killed(tmp_path: Path) -> None:
    """Kill at ever later moments; old or new must stand there whole each time."""
    target = tmp_path / "ferry"
    assert run(target, words="old.", megabytes=8)[0] == 0
    for delay in (0.0, 0.001, 0.003, 0.01, 0.03):
        with start(target, words="new.", megabytes=8) as process:
            assert process.stdout is not None
            process.stdout.readline()
            time.sleep(delay)
            with contextlib.suppress(ProcessLookupError):
                os.kill(process.pid, signal.SIGKILL)
            process.wait()
        data = (target / "print.tif").read_bytes()
        assert len(data) == 8 * 2**20
        assert data in (b"old." * (2 * 2**20), b"new." * (2 * 2**20))


@posix
def test_ctrl_c_leaves_nothing(tmp_path: Path) -> None:
    with start(tmp_path / "ferry", pause=60) as process:
        assert process.stdout is not None
        process.stdout.readline()
        process.send_signal(signal.SIGINT)
        process.wait()

    assert names(tmp_path) == []


@posix
def test_a_disk_that_takes_no_more_is_told_and_nothing_is_left(tmp_path: Path) -> None:
    """RLIMIT_FSIZE makes the system refuse bytes as a full disk does (EFBIG, ENOSPC)."""
    code, said = run(tmp_path / "ferry", megabytes=4, limit=2**20)

    assert code == 6
    assert said.startswith("disk-full: The disk of")
    assert "What had been written was removed" in said
    assert names(tmp_path) == []


@posix
@pytest.mark.needs_tool
def test_a_really_full_disk_keeps_the_earlier_folder(small_disk: Callable[[int], Path]) -> None:
    small = small_disk(12)
    assert run(small / "ferry", words="old.", megabytes=1)[0] == 0
    code, said = run(small / "ferry", megabytes=14)
    assert code == 6
    assert "disk-full" in said
    assert (small / "ferry" / "print.tif").read_bytes()[:4] == b"old."
    assert names(small) == ["ferry"]


@posix
def test_two_processes_at_once_do_not_mix(tmp_path: Path) -> None:
    target = tmp_path / "ferry"
    with start(target, words="one.", pause=60) as first:
        assert first.stdout is not None
        first.stdout.readline()
        code, said = run(target, words="two.")
        assert code == 6
        assert said.startswith("output-in-use: Another Firstsheet is writing here:")
        first.kill()
        first.wait()

    assert run(target, words="two.")[0] == 0  # the dead one's lock does not hold
    assert (target / "print.tif").read_bytes()[:4] == b"two."


@posix
@pytest.mark.skipif(os.name == "posix" and os.geteuid() == 0, reason="root may write anywhere")
def test_a_parent_without_leave_to_write_is_told(tmp_path: Path) -> None:
    tmp_path.chmod(0o555)
    try:
        code, said = run(tmp_path / "ferry")
    finally:
        tmp_path.chmod(0o755)

    assert code == 6
    assert said.startswith("output-not-writable: Nothing can be written in")


def test_a_parent_that_is_a_file_is_told(tmp_path: Path) -> None:
    (tmp_path / "ferry.tif").write_text("a file")

    code, said = run(tmp_path / "ferry.tif" / "out")

    assert code == 6
    assert said.startswith("output-not-writable: Nothing can be written at")
    assert (tmp_path / "ferry.tif").read_text() == "a file"


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="needs a place nobody may write to")
def test_a_place_nobody_can_write_to_is_told() -> None:
    code, said = run(Path("/proc/ferry"))

    assert code == 6
    assert said.startswith("output-not-writable: Nothing can be written in /proc")
    assert "Choose a folder you may write to" in said


PRINT = """
import resource, sys
from pathlib import Path
import numpy as np
from firstsheet.engine.errors import OutputError
from firstsheet.files.writing.folder import whole_folder
from firstsheet.files.writing.tiff import open_tiff_sink

resource.setrlimit(resource.RLIMIT_FSIZE, (2**20, 2**20))
rows = np.random.default_rng(0).integers(0, 65535, (100, 1000, 3), dtype=np.uint16)
try:
    with whole_folder(Path(sys.argv[1]), needed_bytes=1, replace=True) as staging:
        with open_tiff_sink(
            staging / "print.tif", width_px=1000, height_px=1000, channels=3, bits=16, ppi=360,
            profile=None, compression=sys.argv[2],
        ) as sink:
            for top in range(0, 1000, 100):
                print("row", top, flush=True)
                sink.write(top, rows)
except OutputError as error:
    print(error.code, flush=True)
    sys.exit(error.exit_code)
"""


@posix
@pytest.mark.parametrize(("compression", "begun"), [("none", False), ("deflate", True)])
def test_a_print_file_the_disk_cannot_hold_is_told(
    tmp_path: Path, compression: str, begun: bool
) -> None:
    """Uncompressed, the length is known and claimed before the first row."""
    done = subprocess.run(
        [sys.executable, "-c", PRINT, str(tmp_path / "ferry"), compression],
        stdout=subprocess.PIPE,
        text=True,
        check=False,
    )

    assert done.returncode == 6
    assert done.stdout.splitlines()[-1] == "disk-full"
    assert done.stdout.startswith("row 0") is begun
    assert names(tmp_path) == []
