"""Compile kernels in a process of their own: `python -m firstsheet.pixels.compile FOLDER NAME...`.

So the compiler's memory never burdens the process that prints. Called by `pixels.native`.
"""

from __future__ import annotations

import gc
import sys
from pathlib import Path

from firstsheet.pixels.native import store

__all__: list[str] = []

if __name__ == "__main__":
    gc.disable()  # a tenth of the time, for 60 MB more in a process that ends at once
    store(sys.argv[2:], Path(sys.argv[1]))
