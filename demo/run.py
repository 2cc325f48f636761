"""The demo: photographs an invented harbour town and makes a print of each picture.

Run: python demo/run.py [--out FOLDER]. Writes FOLDER/pictures, FOLDER/tickets and FOLDER/prints.
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
from firstsheet.files.writing.whole import write_whole
from firstsheet.jobs.make import make_print
from harbour.pictures import DemoPicture, make_pictures

__all__ = ["main", "run_demo"]

TICKETS = Path(__file__).parent / "tickets"
_PICTURES_SHARE = 0.5  # of the demo's time, about


def run_demo(out: Path, progress: Progress, stop: StopCheck) -> list[str]:
    """Make pictures, tickets and prints in a folder.

    Returns
    -------
    list
        What was found, one paragraph for each print.

    Raises
    ------
    OutputError
        If the folder cannot be written.
    StoppedError
        From `stop`; what was finished before stays.
    """
    pictures = make_pictures(
        out / "pictures", lambda doing, share: progress(doing, share * _PICTURES_SHARE), stop
    )
    share_of_one = (1 - _PICTURES_SHARE) / len(pictures)
    found = []
    for number, picture in enumerate(sorted(pictures, key=lambda one: one.name)):
        begin = _PICTURES_SHARE + number * share_of_one

        def step(doing: str, share: float, begin: float = begin, name: str = picture.name) -> None:
            progress(f"{name}: {doing}", begin + share * share_of_one)

        found.append(_print_one(picture, out, step, stop))
    return found


def _print_one(picture: DemoPicture, out: Path, progress: Progress, stop: StopCheck) -> str:
    """Make one print; an error is told in its place and does not stop the others."""
    ticket, folder = out / "tickets" / f"{picture.name}.toml", out / "prints" / picture.name
    write_whole(ticket, (TICKETS / ticket.name).read_bytes())
    try:
        verdict = make_print(
            ticket, {}, out=folder, replace=True, stocks_dir=None, progress=progress, stop=stop
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
    out: Path = parser.parse_args(words).out
    begun_s = time.monotonic()
    try:
        with working("Making the demo", quiet=False) as work:
            found = run_demo(out, work.progress, work.stop)
    except FirstsheetError as error:
        print(error, file=sys.stderr)
        return error.exit_code
    print("\n".join(found))
    took_s = time.monotonic() - begun_s
    print(f"Done in {took_s:.0f} s. Begin with the job sheets in {out / 'prints'}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
