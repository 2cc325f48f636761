"""A file's digest is that of the standard library, whatever its size."""

from __future__ import annotations

import hashlib
from pathlib import Path

import makers  # type: ignore[import-not-found]
import numpy as np
import pytest

from firstsheet.engine.errors import RefusedPictureError, StoppedError
from firstsheet.files import hashing
from firstsheet.files.hashing import sha256_of, unchanged
from firstsheet.files.reading.opening import open_picture

BLOCK = 4 << 20


@pytest.mark.parametrize("size", [1, 1000, BLOCK - 1, BLOCK, BLOCK + 1, 2 * BLOCK])
def test_the_digest_is_that_of_the_whole_file(tmp_path: Path, size: int) -> None:
    path = tmp_path / "a.bin"
    path.write_bytes(np.random.default_rng(size).bytes(size))

    assert hashing._BLOCK_BYTES == BLOCK
    assert sha256_of(path) == hashlib.sha256(path.read_bytes()).hexdigest()


def test_abc_hashes_to_the_standards_answer(tmp_path: Path) -> None:
    path = tmp_path / "a.bin"
    path.write_bytes(b"abc")

    # FIPS 180-2, appendix B.1
    assert sha256_of(path) == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_one_changed_byte_and_a_lost_file_are_noticed(tmp_path: Path) -> None:
    path = makers.write_tiff(tmp_path / "a.tif", makers.noise())
    with open_picture(path) as opened:
        digest = opened.facts.sha256
    assert digest == hashlib.sha256(path.read_bytes()).hexdigest()
    assert unchanged(path, digest)

    data = bytearray(path.read_bytes())
    data[-1] ^= 1
    path.write_bytes(data)
    assert not unchanged(path, digest)
    path.unlink()
    assert not unchanged(path, digest)


def test_hashing_tells_its_progress_and_can_be_stopped(tmp_path: Path) -> None:
    path = tmp_path / "a.bin"
    path.write_bytes(bytes(2 * BLOCK + 5))
    told: list[float] = []

    sha256_of(path, lambda _what, share: told.append(share))
    assert told == sorted(told)
    assert told[-1] == 1

    def stop() -> None:
        raise StoppedError("Stopped.", "Nothing was made.", "Start again.", "stopped")

    with pytest.raises(StoppedError):
        sha256_of(path, None, stop)


def test_what_cannot_be_read_has_no_digest(tmp_path: Path) -> None:
    with pytest.raises(RefusedPictureError, match="no file"):
        sha256_of(tmp_path / "none")
