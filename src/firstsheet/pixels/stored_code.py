"""Machine code of kernels as files, loaded by llvmlite: one way on every system.

Takes an object file as LLVM emits it; gives the address of its function. What is stored is
checked against its SHA-256 before it is loaded, and must be the user's own file.
Theory: docs/theory/speed.md. Tests: tests/pixels/test_stored_code.py.
"""

from __future__ import annotations

import ctypes
import hashlib
import os
import threading
from pathlib import Path
from typing import Any

__all__ = ["StoredCodeError", "load_code", "write_code"]

_SUM_BYTES = 32
_lock = threading.Lock()
_loaded: dict[str, Any] = {}  # the engine that holds the code, and what it may call


class StoredCodeError(Exception):
    """The file is missing, damaged or not the user's own: the kernel is compiled again."""


def write_code(path: Path, symbol: str, code: bytes) -> None:
    """Write an object file and the name of its function, whole or not at all.

    Parameters
    ----------
    symbol
        Name of the function in the object.
    code
        The object file, for this machine's processor.
    """
    name = symbol.encode()
    body = len(name).to_bytes(4, "little") + name + code
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        with part.open("xb") as file:
            file.write(hashlib.sha256(body).digest() + body)
        part.chmod(0o600)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def load_code(path: Path) -> int:
    """Load a stored object file and give the address of its function.

    Raises
    ------
    StoredCodeError
        If the file is missing, changed, another user's, or one that others may write to.
    """
    try:
        with path.open("rb") as file:
            facts = os.fstat(file.fileno())
            whole = file.read()
    except OSError as error:
        raise StoredCodeError(str(error)) from error
    if hasattr(os, "geteuid") and (facts.st_uid != os.geteuid() or facts.st_mode & 0o022):
        raise StoredCodeError("others could have written it")
    body = whole[_SUM_BYTES:]
    if len(body) < 4 or hashlib.sha256(body).digest() != whole[:_SUM_BYTES]:
        raise StoredCodeError("it is not the code that was written")
    length = int.from_bytes(body[:4], "little")
    symbol, code = body[4 : 4 + length].decode(), body[4 + length :]
    with _lock:
        engine = _engine()
        import llvmlite.binding as llvm

        try:
            engine.add_object_file(llvm.ObjectFileRef.from_data(code))
            engine.finalize_object()
        except (RuntimeError, OSError) as error:
            raise StoredCodeError(str(error)) from error
        address = int(engine.get_function_address(symbol))
    if not address:
        raise StoredCodeError(f"it holds no {symbol}")
    return address


def _engine() -> Any:
    """The one engine of this process; code that it holds stays loaded."""
    if not _loaded:
        import llvmlite.binding as llvm

        llvm.initialize_native_target()
        llvm.initialize_native_asmprinter()
        # numba's code frees arrays through this; kernels own none, so it is never called
        never = ctypes.CFUNCTYPE(None)(_never)
        llvm.add_symbol("NRT_MemInfo_call_dtor", ctypes.cast(never, ctypes.c_void_p).value or 0)
        machine = llvm.Target.from_default_triple().create_target_machine()
        _loaded["never"] = never
        _loaded["engine"] = llvm.create_mcjit_compiler(llvm.parse_assembly(""), machine)
    return _loaded["engine"]


def _never() -> None:
    raise AssertionError("a kernel frees memory that it does not own")
