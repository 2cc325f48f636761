"""Time what it takes to say how sharp a print will look: solving, the distances, the whole look.

Run: python benchmarks/sharpness.py. Gives processor time, so that a loaded machine matters less.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable

from firstsheet.engine.sharpness.print_chain import INK_SPREAD_MM, Chain, MtfShape
from firstsheet.engine.sharpness.print_response import look
from firstsheet.engine.sharpness.strength import solve_strength
from firstsheet.engine.sharpness.viewing_filter import seen_light

_SURFACES = ("gloss", "matte", "canvas")


def chain(number: int) -> tuple[Chain, str]:
    """A chain that was not met before, so that nothing is remembered."""
    half = 0.08 + 0.01 * (number % 25)
    surface = _SURFACES[number % 3]
    shape = MtfShape(half_cpp=half, tenth_cpp=1.9 * half)
    return Chain(shape=shape, scale=1.2 + 0.01 * number, spread_mm=INK_SPREAD_MM[surface]), surface


def cpu_ms(work: Callable[[int], object], times: int) -> tuple[float, float]:
    """Median and largest processor time of a work, ms."""
    taken = []
    for number in range(times):
        begun = time.process_time()
        work(number)
        taken.append(1e3 * (time.process_time() - begun))
    return statistics.median(taken), max(taken)


def main() -> None:
    """Print one line for each."""
    import numpy as np

    def solve(number: int) -> object:
        one, surface = chain(number)
        return solve_strength(one, 300.0 + 50.0 * (number % 20), surface=surface)

    plane = np.random.default_rng(1).random((1500, 2250, 3))
    works: tuple[tuple[str, Callable[[int], object], int], ...] = (
        ("solving the sharpening of a size not met before", solve, 60),
        ("distances from which it reads as sharp", lambda n: look(chain(n)[0], 500.0), 60),
        (
            "ink and eye over 3.4 megapixels",
            lambda _n: seen_light(plane, pitch_mm=0.15, spread_mm=0.045, distance_mm=1000),
            3,
        ),
    )
    for words, work, times in works:
        median, most = cpu_ms(work, times)
        sys.stdout.write(f"{words}: median {median:.1f} ms, most {most:.1f} ms\n")


if __name__ == "__main__":
    main()
