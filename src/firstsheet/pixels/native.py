"""The kernels as functions to call: from stored machine code where possible, else compiled.

`kernel("sharpen")` gives a ctypes function that takes addresses and whole numbers and runs
without the interpreter's lock. The first use on a machine compiles (some seconds, told through
`progress`) and stores the code; later uses load it and never import the compiler.
Theory: docs/theory/speed.md. Tests: tests/pixels/test_native_kernels.py.
"""

from __future__ import annotations

import contextlib
import ctypes
import hashlib
import importlib.util
import os
import platform
import sys
import threading
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import DTypeLike

from firstsheet.engine.streams import Progress
from firstsheet.pixels.arguments import ARGUMENTS
from firstsheet.pixels.stored_code import StoredCodeError, load_code, write_code
from firstsheet.pixels.team import worker_count

__all__ = ["cache_folder", "kernel", "prepare", "prepare_print", "store", "vertical_kernel"]

Kernel = Callable[..., None]

_lock = threading.Lock()
_ready: dict[str, Kernel] = {}
_KEPT = 6  # versions of the kernels, of which other environments may use an older one
_MOST_COMPILERS = 4  # each holds 250 MB for some seconds
_WORDS = "Preparing kernels, once on this machine"
_COMPILE_SECONDS = {  # by first word
    "keep": 2.6, "sharpen": 2.6, "to": 1.7, "plain": 1.6, "paper": 1.5, "resample": 1.5,
}  # fmt: skip
_alive: list[Any] = []  # compiled functions and places that the addresses point into


def kernel(name: str) -> Kernel:
    """The kernel of that name; compiles it where it was not prepared."""
    if name not in _ready:
        prepare([name])
    return _ready[name]


def prepare(names: Iterable[str], progress: Progress | None = None) -> None:
    """Make kernels ready to call; tells through `progress` when that means compiling."""
    with _lock:
        missing = [name for name in names if name not in _ready]
        if missing:
            folder = cache_folder() / _key()
            missing = _take_stored(missing, folder)
            if missing and _compile_beside(missing, folder, progress):
                missing = _take_stored(missing, folder)
                _forget_old(folder.parent)
        for done, name in enumerate(missing):
            if progress is not None:
                progress(_WORDS, done / len(missing))
            made = _compiled(name)
            _alive.append(made)
            _ready[name] = ctypes.CFUNCTYPE(None, *_argument_types(name))(made.address)


def vertical_kernel(dtype: DTypeLike) -> str:
    """The kernel that sums rows of such samples."""
    kind = np.dtype(dtype)
    return f"resample_vertical_{kind.kind}{8 * kind.itemsize}"


def prepare_print(
    dtype: DTypeLike, *, bits: int, converted: bool, progress: Progress | None = None
) -> None:
    """Make ready at once all that a print and its proof need.

    On a machine's first run they compile side by side, instead of step by step as they are met.
    """
    names = [vertical_kernel(dtype), "resample_horizontal", "plain_u16", "to_lab", "sharpen"]
    if converted:
        names += ["paper_four_u16", f"paper_eight_u{bits}"]
    else:
        names += ["paper_four_u16", "paper_eight_u16", f"keep_u{bits}"]
    prepare(names, progress)


def _take_stored(names: list[str], folder: Path) -> list[str]:
    """Load the stored kernels; give the names of those that are not there or not right."""
    missing = []
    for name in names:
        try:
            address = load_code(folder / f"{name}.code")
        except StoredCodeError:
            missing.append(name)
        else:
            _ready[name] = _from_stored(name, address)
    return missing


def _compile_beside(names: list[str], folder: Path, progress: Progress | None) -> bool:
    """Let short-lived processes compile and store, side by side; False where that cannot work."""
    import subprocess

    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError:
        return False
    if not (sys.executable and os.access(folder, os.W_OK)):
        return False
    shares: list[list[str]] = [[] for _ in range(min(_MOST_COMPILERS, worker_count()))]
    for name in sorted(names, key=_compile_seconds, reverse=True):
        min(shares, key=lambda share: sum(map(_compile_seconds, share))).append(name)
    command = [sys.executable, "-m", "firstsheet.pixels.compile", str(folder)]
    quiet = {
        "stdin": subprocess.DEVNULL,
        "stdout": subprocess.DEVNULL,
        "stderr": subprocess.DEVNULL,
    }
    try:
        workers = [subprocess.Popen([*command, *share], **quiet) for share in shares if share]  # type: ignore[call-overload]  # a plain dict of ints
    except OSError:
        return False
    try:
        while any(worker.poll() is None for worker in workers):
            if progress is not None:
                done = sum((folder / f"{name}.code").exists() for name in names)
                progress(_WORDS, done / len(names))
            with contextlib.suppress(subprocess.TimeoutExpired):
                next(w for w in workers if w.returncode is None).wait(0.2)
    finally:
        for worker in workers:
            worker.kill()
            worker.wait()
    return True


def _forget_old(folder: Path) -> None:
    """Remove what earlier versions stored, but for the newest; code in use stays loaded."""
    import shutil

    with contextlib.suppress(OSError):
        known = [one for one in folder.iterdir() if one.is_dir() and not one.is_symlink()]
        known.sort(key=lambda one: one.stat().st_mtime, reverse=True)
        for one in known[_KEPT:]:
            shutil.rmtree(one, ignore_errors=True)


def _compile_seconds(name: str) -> float:
    """About how long a kernel takes to compile, so that the processes end together."""
    return _COMPILE_SECONDS.get(name.partition("_")[0], 1.2)


def cache_folder() -> Path:
    """Where stored kernels live: FIRSTSHEET_CACHE, or the platform's cache folder."""
    chosen = os.environ.get("FIRSTSHEET_CACHE")
    if chosen:
        return Path(chosen) / "kernels"
    from platformdirs import user_cache_path

    return user_cache_path("firstsheet") / "kernels"


def _key() -> str:
    """Changes with the kernels' text, the compiler and the processor."""
    digest = hashlib.sha256()
    here = Path(__file__).parent
    for path in [here / "arguments.py", Path(__file__), *sorted((here / "kernels").glob("*.py"))]:
        digest.update(path.read_bytes())
    for package in ("numba", "llvmlite"):
        digest.update(_version(package))
    digest.update(f"{np.__version__} {sys.implementation.cache_tag} {platform.machine()};".encode())
    with contextlib.suppress(OSError), Path("/proc/cpuinfo").open("rb") as file:
        for line in file:
            if line.startswith((b"model name", b"flags")):
                digest.update(line)
            if not line.strip():
                break
    return digest.hexdigest()[:24]


def _version(package: str) -> bytes:
    """What tells a version of a package from others, without importing it or a reader of wheels."""
    spec = importlib.util.find_spec(package)
    if spec is not None and spec.origin is not None:
        with contextlib.suppress(OSError):
            return Path(spec.origin).with_name("_version.py").read_bytes()
    from importlib import metadata

    return metadata.version(package).encode()


def _argument_types(name: str) -> list[Any]:
    return [ctypes.c_int64 if kind == "n" else ctypes.c_void_p for kind in ARGUMENTS[name]]


def _from_stored(name: str, address: int) -> Kernel:
    """A function over loaded code. Two unused places lead: for a result and for an exception."""
    kinds = [ctypes.c_void_p, ctypes.c_void_p, *_argument_types(name)]
    function = ctypes.CFUNCTYPE(ctypes.c_int32, *kinds)(address)
    spare = (ctypes.c_uint64 * 8)()
    place = ctypes.addressof(spare)
    _alive.append(spare)

    def call(*arguments: int) -> None:
        if function(place, place, *arguments):
            raise RuntimeError(f"kernel {name} failed")

    return call


def _compiled(name: str) -> Any:
    """Compile with numba in this process."""
    import numba

    numba.config.SLP_VECTORIZE = 1  # the four outputs of a table are mixed at once
    from firstsheet.pixels.kernels.table import FUNCTIONS, signature_of

    compiler = numba.cfunc(signature_of(name), nopython=True, error_model="numpy")
    return compiler(FUNCTIONS[name])


def store(names: Iterable[str], folder: Path) -> None:
    """Compile kernels and store their code; what `firstsheet.pixels.compile` runs."""
    for name in names:
        made = _compiled(name)
        symbol = made.native_name.removeprefix("cfunc.")
        write_code(folder / f"{name}.code", symbol, _object(made, symbol))


def _object(made: Any, symbol: str) -> bytes:
    """Machine code of the kernel alone, as an object file for this processor."""
    import llvmlite.binding as llvm

    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    module = llvm.parse_assembly(made.inspect_llvm())
    for thing in [*module.functions, *module.global_variables]:
        if thing.name != symbol and not thing.is_declaration:
            thing.linkage = "internal"
    machine = llvm.Target.from_default_triple().create_target_machine(
        cpu=llvm.get_host_cpu_name(),
        features=llvm.get_host_cpu_features().flatten(),
        opt=3,
        reloc="pic",
        codemodel="small",
    )
    options = llvm.create_pipeline_tuning_options(speed_level=0)
    builder = llvm.create_pass_builder(machine, options)
    passes = llvm.create_new_module_pass_manager()
    passes.add_global_dead_code_eliminate_pass()
    passes.run(module, builder)
    return bytes(machine.emit_object(module))
