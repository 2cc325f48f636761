"""Names and places that systems refuse: told in three sentences, never with a traceback."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

pytestmark = pytest.mark.slow


@pytest.fixture
def picture(tmp_path: Path) -> Path:
    codes = np.random.default_rng(1).integers(0, 255, (90, 120, 3), np.uint8)
    Image.fromarray(codes).save(tmp_path / "quay.png")
    return tmp_path / "quay.png"


def run(folder: Path, *words: str, **environment: str) -> subprocess.CompletedProcess[bytes]:
    done = subprocess.run(
        [sys.executable, "-m", "firstsheet", *words],
        cwd=folder,
        env={**os.environ, **environment},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        timeout=120,
        check=False,
    )
    assert b"Traceback" not in done.stderr, done.stderr.decode(errors="replace")
    return done


@pytest.mark.skipif(sys.platform != "linux", reason="names are bytes on Linux")
@pytest.mark.parametrize("locale", ["C.UTF-8", "C", "POSIX"])
def test_a_name_that_is_no_text_is_shown_escaped(picture: Path, locale: str) -> None:
    odd = os.fsencode(picture.parent) + b"/caf\xe9.png"
    os.link(picture, odd)
    name = os.fsdecode(b"caf\xe9.png")
    for words in (("check", name, "--json"), ("plan", name, "--stock", "chalk-matte", "--json")):
        done = run(picture.parent, *words, LC_ALL=locale, PYTHONUTF8="0")
        assert done.returncode == 0, done.stderr
        assert b"caf" in done.stdout


@pytest.mark.parametrize("locale", ["C", "POSIX"])
def test_signs_beyond_ascii_do_not_stop_a_plain_locale(picture: Path, locale: str) -> None:
    (picture.parent / "\u00e9\U0001f600.png").write_bytes(picture.read_bytes())
    done = run(picture.parent, "check", "\u00e9\U0001f600.png", LC_ALL=locale, PYTHONUTF8="0")
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize(
    "words",
    [
        ("make", "--width", "50mm", "--out", "/"),
        ("plan", "--width", "50mm", "--out", "a" * 300 + ".json"),
        ("plan", "--width", "50mm", "--ticket-out", "a" * 300 + ".toml"),
    ],
    ids=["root", "long plan", "long ticket"],
)
def test_a_place_that_cannot_be_written_is_told(picture: Path, words: tuple[str, ...]) -> None:
    command, *rest = words
    done = run(picture.parent, command, "quay.png", "--stock", "chalk-matte", *rest)

    assert done.returncode == 6
    assert done.stderr.strip()


def test_a_look_at_a_picture_larger_than_its_sheet_says_so(picture: Path) -> None:
    words = ("--seen", "--stock", "chalk-matte", "--width", "900mm", "--sheet", "A4")
    done = run(picture.parent, "proof", "quay.png", *words)

    assert done.returncode == 4
    assert b"reaches over the sheet" in done.stderr


def test_repairs_are_no_part_of_a_comparison(picture: Path) -> None:
    done = run(picture.parent, "compare", "quay.png", "--repair", "1")

    assert done.returncode == 2
    assert b"leave --repair out" in done.stderr


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no such device here")
def test_standard_output_that_is_full_is_told(picture: Path) -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "firstsheet", "check", "quay.png"],
            cwd=picture.parent, stdout=full, stderr=subprocess.PIPE, timeout=120, check=False,
        )  # fmt: skip
    assert done.returncode == 6
    assert b"Traceback" not in done.stderr
