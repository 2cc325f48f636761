"""The demo: photographs an invented harbour town and makes a print of each picture.

Run: python demo/run.py [--out FOLDER]. Writes FOLDER/pictures, FOLDER/tickets, FOLDER/prints and
FOLDER/ledger.sqlite3, which remembers them; your own ledger is not touched.
Only the pictures are special to the demo: the tickets go through the same job as anybody's.
Pictures that are there and whole are kept. Tests: tests/harbour/test_run.py.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Sequence
from pathlib import Path

from firstsheet.cli.progress import working
from firstsheet.engine.errors import FirstsheetError
from firstsheet.engine.streams import Progress, StopCheck
from harbour.beside import pictures_beside
from harbour.pictures import DemoPicture

__all__ = ["main", "run_demo"]

TICKETS = Path(__file__).parent / "tickets"
_PAINTING = 0.6  # share of the demo's time, about
_PICTURES = 4


def run_demo(out: Path, progress: Progress, stop: StopCheck, *, divisor: int = 1) -> list[str]:
    """Make pictures, tickets and prints in a folder.

    Parameters
    ----------
    divisor
        Makes each side of the pictures that many times smaller, for tests.

    Returns
    -------
    list
        What was found, one paragraph for each print.

    Raises
    ------
    OSError, OutputError
        If the folder cannot be written.
    StoppedError
        From `stop`; what was finished before stays.
    """
    painted, printed = 0.0, 0.0

    def painting(doing: str, share: float) -> None:
        nonlocal painted
        painted = share
        progress(doing, _PAINTING * painted + (1 - _PAINTING) * printed)

    found: list[str] = []
    with pictures_beside(out / "pictures", painting, stop, divisor=divisor) as pictures:
        _prepare_kernels()
        for picture in pictures:

            def printing(doing: str, share: float, name: str = picture.name) -> None:
                nonlocal printed
                printed = (len(found) + share) / _PICTURES
                progress(f"{name}: {doing}", _PAINTING * painted + (1 - _PAINTING) * printed)

            found.append(_print_one(picture, out, printing, stop))
    return found


def _prepare_kernels() -> None:
    """Compile what prints need, on a machine's first run, while the first picture is painted."""
    import numpy as np

    from firstsheet.pixels.native import prepare_print

    prepare_print(np.uint16, bits=16, converted=True)


def _print_one(picture: DemoPicture, out: Path, progress: Progress, stop: StopCheck) -> str:
    """Make one print; an error is told in its place and does not stop the others."""
    from firstsheet.files.writing.whole import write_whole
    from firstsheet.jobs.make import make_print

    ticket, folder = out / "tickets" / f"{picture.name}.toml", out / "prints" / picture.name
    write_whole(ticket, (TICKETS / ticket.name).read_bytes())
    try:
        verdict = make_print(
            ticket,
            {},
            out=folder,
            replace=True,
            stocks_dir=None,
            progress=progress,
            stop=stop,
            ledger=out / "ledger.sqlite3",
        ).verdict
    except FirstsheetError as error:
        if error.code == "stopped":
            raise
        verdict = str(error)
    title = picture.name.replace("-", " ").capitalize()
    return f"{title}. {picture.words}\n  {verdict}\n  Look in {folder}\n"


def main(words: Sequence[str] | None = None) -> int:
    """Run the demo, print what was found, and give the exit code."""
    parser = argparse.ArgumentParser(
        description="Photograph an invented harbour town and make a print of each picture."
    )
    parser.add_argument(
        "--out",
        type=Path,
        default=Path(__file__).parent / "out",
        help="folder for pictures, tickets and prints (default: %(default)s)",
    )
    parser.add_argument(
        "--divisor",
        type=int,
        default=1,
        help="make each side of the pictures that many times smaller, for a quick look",
    )
    given = parser.parse_args(words)
    out: Path = given.out
    begun_s = time.monotonic()
    try:
        with working("Making the demo", quiet=False) as work:
            found = run_demo(out, work.progress, work.stop, divisor=given.divisor)
    except FirstsheetError as error:
        print(error, file=sys.stderr)
        return error.exit_code
    except OSError as error:
        print(f"The demo could not be made. {error}", file=sys.stderr)
        return 6
    print("\n".join(found))
    took_s = time.monotonic() - begun_s
    print(f"Done in {took_s:.0f} s. Begin with the job sheets in {out / 'prints'}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
