"""Stored machine code: made once, checked before it is run, and never needed to work."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from firstsheet.pixels import native
from firstsheet.pixels.arguments import ARGUMENTS

WORK = """
import sys
import numpy as np
from firstsheet.pixels.native import kernel
planes = np.array([[[0.25, 0.5]]], np.float32)
out, row, weight = np.zeros((1, 2), np.float32), np.zeros(1, np.int64), np.ones(1, np.float32)
kernel("luma")(
    planes.ctypes.data, 1, 2, row.ctypes.data, 1, 1, weight.ctypes.data, out.ctypes.data,
    row.ctypes.data,
)
print(out.tolist(), "numba" in sys.modules)
"""


# Each costs some hundredths of a second, a twentieth of a small print.
SLOW = {"pydantic", "email", "subprocess", "concurrent.futures", "numba", "PIL", "tempfile"}


def test_what_makes_a_print_imports_only_what_it_uses() -> None:
    code = (
        "import sys, firstsheet.pixels.render, firstsheet.cms.link, firstsheet.files.reading.tiff\n"
        "import firstsheet.files.writing.tiff, firstsheet.files.reading.source\n"
        f"sys.exit(','.join(sorted({SLOW!r} & set(sys.modules))) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert not done.stderr


def test_the_compilers_version_is_told_without_importing_it() -> None:
    from importlib import metadata

    for package in ("numba", "llvmlite"):
        assert metadata.version(package).encode() in native._version(package)


def run(folder: Path, **more: str) -> str:
    """The kernel `luma` in a fresh process with its own cache."""
    done = subprocess.run(
        [sys.executable, "-c", WORK],
        env={**os.environ, "FIRSTSHEET_CACHE": str(folder), **more},
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout.strip()


@pytest.mark.slow
def test_a_second_process_runs_stored_code_without_the_compiler(tmp_path: Path) -> None:
    first = run(tmp_path)
    stored = list(tmp_path.rglob("*.code"))

    assert first == "[[25.0, 50.0]] False"
    assert [path.name for path in stored] == ["luma.code"]
    assert run(tmp_path) == first
    before = stored[0].read_bytes()
    stored[0].write_bytes(before[:-1] + bytes([before[-1] ^ 1]))
    assert run(tmp_path) == first  # spoiled code is not run but made again
    assert stored[0].read_bytes() == before


@pytest.mark.slow
def test_a_folder_that_cannot_be_written_only_costs_time(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("in the way")

    assert run(blocked) == "[[25.0, 50.0]] True"


def test_the_store_moves_when_asked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FIRSTSHEET_CACHE", str(tmp_path))
    assert native.cache_folder() == tmp_path / "kernels"
    monkeypatch.delenv("FIRSTSHEET_CACHE")
    assert native.cache_folder().parts[-2:] == ("firstsheet", "kernels")


@pytest.mark.slow
def test_compiling_is_told(tmp_path: Path) -> None:
    script = (
        "from firstsheet.pixels.native import prepare\n"
        "said = set()\n"
        "prepare(['luma'], lambda words, share: said.add(words))\n"
        "print(said)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script],
        env={**os.environ, "FIRSTSHEET_CACHE": str(tmp_path)},
        capture_output=True,
        text=True,
        check=True,
    )

    assert "once on this machine" in done.stdout


def test_the_same_arithmetic_runs_compiled_here_and_stored() -> None:
    # the ordinary compiler's function and the stored image give the same bits
    import ctypes

    made = native._compiled("luma")
    plain = ctypes.CFUNCTYPE(None, *native._argument_types("luma"))(made.address)
    planes = np.random.default_rng(1).random((3, 1, 1000), dtype=np.float32)
    weight = np.array([0.2126, 0.7152, 0.0722], np.float32)
    row = np.zeros(1, np.int64)
    results = []
    for function in (plain, native.kernel("luma")):
        out = np.zeros((1, 1000), np.float32)
        function(
            planes.ctypes.data, 1, 1000, row.ctypes.data, 1, 3, weight.ctypes.data,
            out.ctypes.data, row.ctypes.data,
        )  # fmt: skip
        results.append(out)

    assert (results[0] == results[1]).all()


@pytest.mark.parametrize("converted", [True, False])
@pytest.mark.parametrize("bits", [8, 16])
def test_a_print_is_prepared_in_one_go(
    bits: int, converted: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[list[str]] = []
    monkeypatch.setattr(native, "prepare", lambda names, _progress=None: asked.append(list(names)))
    native.prepare_print(np.uint16, bits=bits, converted=converted)

    assert len(asked) == 1
    last = f"paper_eight_u{bits}" if converted else f"keep_u{bits}"
    assert {"resample_vertical_u16", "resample_horizontal", "to_lab", "sharpen", last} <= set(
        asked[0]
    )
    assert set(asked[0]) <= set(ARGUMENTS)


@pytest.mark.parametrize(("processors", "expected"), [(1, 1), (2, 2), (8, 4)])
def test_processes_get_about_the_same_to_compile(
    processors: int, expected: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    started: list[list[str]] = []

    class Worker:
        returncode = 0

        def __init__(self, command: list[str], **_quiet: int) -> None:
            started.append(command[4:])

        def poll(self) -> int:
            return 0

        def kill(self) -> None:
            """Nothing runs."""

        def wait(self) -> None:
            """Nothing runs."""

    monkeypatch.setattr(subprocess, "Popen", Worker)
    monkeypatch.setattr(native, "worker_count", lambda: processors)
    names = [
        "resample_vertical_u16",
        "resample_horizontal",
        "plain_u16",
        "to_lab",
        "sharpen",
        "paper_eight_u16",
    ]
    assert native._compile_beside(names, tmp_path, None)

    assert sorted(name for share in started for name in share) == sorted(names)
    seconds = [sum(native._compile_seconds(name) for name in share) for share in started]
    assert len(seconds) == expected
    assert max(seconds) - min(seconds) <= 1.5


def test_what_earlier_versions_stored_is_forgotten_but_for_the_newest(tmp_path: Path) -> None:
    for age in range(9):
        folder = tmp_path / f"version-{age}"
        folder.mkdir()
        (folder / "luma.code").write_bytes(b"code")
        os.utime(folder, (1e9 - age, 1e9 - age))
    (tmp_path / "a-file").write_bytes(b"not ours")
    native._forget_old(tmp_path)
    left = sorted(path.name for path in tmp_path.iterdir())
    assert left == ["a-file", *(f"version-{age}" for age in range(6))]
    native._forget_old(tmp_path / "nowhere")  # nothing to forget is no error
