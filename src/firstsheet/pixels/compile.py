"""Compile kernels in a process of their own: `python -m firstsheet.pixels.compile FOLDER NAME...`.

So the compiler's memory never burdens the process that prints. Called by `pixels.native`.
"""

from __future__ import annotations

import gc
import sys
from pathlib import Path

from firstsheet.pixels.native import store

__all__: list[str] = []


def _leave_machine_code_out() -> None:
    """Only the optimised intermediate code is taken; numba would make machine code of each helper.

    It asks each of its libraries for an address that is never called here. Where numba names
    these steps otherwise, nothing changes but the time.
    """
    from numba.core import codegen

    def no_address(library: codegen.JITCodeLibrary, _name: str) -> int:
        library._ensure_finalized()
        return 1

    codegen.JITCodeLibrary.get_pointer_to_function = no_address
    codegen.JITCodeLibrary._finalize_specific = lambda _library: None


if __name__ == "__main__":
    gc.disable()  # a tenth of the time, for 60 MB more in a process that ends at once
    _leave_machine_code_out()
    store(sys.argv[2:], Path(sys.argv[1]))
