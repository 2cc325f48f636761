"""Machine code in files: loaded by llvmlite, and only when it is what was written."""

from __future__ import annotations

import ctypes
from pathlib import Path

import llvmlite.binding as llvm
import pytest

from firstsheet.pixels.stored_code import StoredCodeError, load_code, write_code

ADD_SEVEN = """
define i32 @add_seven(i32 %x) {
  %sum = add i32 %x, 7
  ret i32 %sum
}
"""


def object_file() -> bytes:
    """A function that adds 7, for whatever processor this is."""
    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    machine = llvm.Target.from_default_triple().create_target_machine()
    return bytes(machine.emit_object(llvm.parse_assembly(ADD_SEVEN)))


def test_stored_code_is_loaded_and_called(tmp_path: Path) -> None:
    write_code(tmp_path / "seven.code", "add_seven", object_file())

    address = load_code(tmp_path / "seven.code")

    assert ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_int)(address)(35) == 42
    assert [path.name for path in tmp_path.iterdir()] == ["seven.code"]
    assert (tmp_path / "seven.code").stat().st_mode & 0o077 == 0


@pytest.mark.parametrize("spoil", ["short", "changed", "writable", "empty", "missing"])
def test_code_that_is_not_as_it_was_written_is_refused(tmp_path: Path, spoil: str) -> None:
    path = tmp_path / "seven.code"
    write_code(path, "add_seven", object_file())
    whole = path.read_bytes()
    if spoil == "short":
        path.write_bytes(whole[:-1])
    elif spoil == "changed":
        path.write_bytes(whole[:-1] + bytes([whole[-1] ^ 1]))
    elif spoil == "writable":
        path.chmod(0o666)
    elif spoil == "empty":
        path.write_bytes(b"")
    else:
        path.unlink()

    with pytest.raises(StoredCodeError):
        load_code(path)
