"""The demo: makes the pictures of an invented harbour town, and a print of each.

Nothing here is special to the demo but the pictures: the tickets go through the same job as
anybody's.
"""

from __future__ import annotations

import time
from importlib.resources import files
from pathlib import Path

from firstsheet.engine.bands import Progress, StopCheck
from firstsheet.engine.errors import FirstsheetError
from firstsheet.jobs.answers import DemoAnswer, DemoLine
from firstsheet.jobs.make import make_print

__all__ = ["run_demo"]

_PICTURES_SHARE = 0.5  # of the demo's time, roughly


def run_demo(out: Path, *, progress: Progress, stop: StopCheck) -> DemoAnswer:
    """Make pictures, tickets and prints in a folder; what is already whole is kept.

    Raises
    ------
    OutputError
        If the folder cannot be written.
    """
    from firstsheet.files.whole import write_whole
    from firstsheet.harbour.pictures import make_pictures

    begun_s = time.monotonic()
    pictures = make_pictures(
        out / "pictures",
        progress=lambda doing, share: progress(doing, share * _PICTURES_SHARE),
        stop=stop,
    )
    words = {picture.name: picture.words for picture in pictures}
    lines = []
    tickets = sorted((files("firstsheet") / "data" / "demo").iterdir(), key=lambda one: one.name)
    for index, ticket in enumerate(tickets):
        stop()
        name = ticket.name.removesuffix(".toml")
        path = out / "tickets" / ticket.name
        write_whole(path, ticket.read_bytes())
        begin = _PICTURES_SHARE + index / len(tickets) * (1 - _PICTURES_SHARE)
        width = (1 - _PICTURES_SHARE) / len(tickets)
        folder = out / "prints" / name
        verdict = _print_one(path, folder, progress, begin, width, stop)
        lines.append(
            DemoLine(
                name=name.replace("-", " ").capitalize(),
                folder=str(folder),
                words=words.get(name, ""),
                verdict=verdict,
            )
        )
    return DemoAnswer(
        folder=str(out), prints=tuple(lines), seconds=round(time.monotonic() - begun_s, 1)
    )


def _print_one(
    ticket: Path,
    folder: Path,
    progress: Progress,
    begin: float,
    width: float,
    stop: StopCheck,
) -> str:
    """Make one print; a failing one does not stop the rest."""
    try:
        return make_print(
            ticket,
            {},
            out=folder,
            replace=True,
            stocks_dir=None,
            progress=lambda doing, share: progress(
                f"{ticket.stem}: {doing}", begin + share * width
            ),
            stop=stop,
        ).verdict
    except FirstsheetError as error:
        if error.code == "stopped":
            raise
        return str(error)
