"""Draw the figures of docs/theory/ with the program's own functions.

Run: python tools/draw_figures.py [NAME ...]; without names, all of them. Each script in
docs/figures/ draws one: `regions_planted.py` gives docs/theory/regions-planted.svg.
"""

from __future__ import annotations

import importlib
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[1]
SCRIPTS = ROOT / "docs" / "figures"
THEORY = ROOT / "docs" / "theory"


def names() -> list[str]:
    """Scripts that draw a figure: those named after a page and what is seen."""
    return sorted(path.stem for path in SCRIPTS.glob("*_*.py"))


def drawn(name: str) -> str:
    """The SVG that a script draws now."""
    for folder in (str(SCRIPTS), str(ROOT / "demo")):
        if folder not in sys.path:
            sys.path.insert(0, folder)
    svg: str = importlib.import_module(name).draw()
    return svg


def place_of(name: str) -> Path:
    """Where a script's figure lies."""
    return THEORY / f"{name.replace('_', '-')}.svg"


def main(wished: list[str]) -> None:
    """Write the wished figures."""
    for name in wished or names():
        start = time.process_time()
        svg = drawn(name)
        place_of(name).write_text(svg, encoding="utf-8")
        took = time.process_time() - start
        print(f"{place_of(name).name}: {len(svg) / 1000:.1f} kB, {took:.1f} s")


if __name__ == "__main__":
    main([wish.replace("-", "_").removesuffix(".svg") for wish in sys.argv[1:]])
