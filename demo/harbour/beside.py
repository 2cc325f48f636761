"""Paints the demo's photographs in another process, while the ones that are ready are printed.

Takes a folder; gives the pictures one by one as they become whole.
Tests: tests/harbour/test_run.py.
"""

from __future__ import annotations

import multiprocessing
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from multiprocessing.sharedctypes import Synchronized
from multiprocessing.synchronize import Event
from pathlib import Path

from firstsheet.engine.errors import StoppedError
from firstsheet.engine.streams import Progress, StopCheck
from harbour.pictures import DemoPicture, make_pictures
from harbour.scenes import SCENES

__all__ = ["pictures_beside"]

_LOOK_EVERY_S = 0.1


@contextmanager
def pictures_beside(
    folder: Path, progress: Progress, stop: StopCheck, *, divisor: int = 1
) -> Iterator[Iterator[DemoPicture]]:
    """Start painting; on leaving, painting is stopped and nothing half done stays.

    Parameters
    ----------
    folder, divisor
        As of `make_pictures`.
    progress
        Told the share of painting done, while the next picture is waited for.
    stop
        Asked while the next picture is waited for.

    Yields
    ------
    Iterator
        Every picture in the order of SCENES. It raises what the painter met: OSError for a
        full disk, ChildProcessError when the painter was ended from outside.
    """
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe(duplex=False)
    stopped, share = context.Event(), context.Value("d", 0.0)
    painter = context.Process(
        target=_paint, args=(folder, divisor, there, stopped, share), name="painter", daemon=True
    )
    painter.start()
    there.close()
    try:
        yield _as_they_come(here, share, progress, stop)
    finally:
        stopped.set()
        painter.join()
        here.close()


def _as_they_come(
    painted: Connection, share: Synchronized[float], progress: Progress, stop: StopCheck
) -> Iterator[DemoPicture]:
    for scene in SCENES:
        while not painted.poll(_LOOK_EVERY_S):
            stop()
            progress(f"photographing {scene.name}", share.value)
        try:
            answer = painted.recv()
        except EOFError:
            raise ChildProcessError(f"The painter ended before {scene.name} was ready.") from None
        if isinstance(answer, BaseException):
            raise answer
        yield answer


def _paint(
    folder: Path, divisor: int, to: Connection, stopped: Event, share: Synchronized[float]
) -> None:
    """Paint all pictures and send each one, or the error that ended it; runs in the process."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C reaches both; the other one decides

    def stop() -> None:
        if stopped.is_set():
            raise StoppedError("Stopped by you.", "Nothing half done is left.", "", "stopped")

    whole, before = sum(scene.weight for scene in SCENES), 0.0
    try:
        for scene in SCENES:

            def step(
                _: str, done: float, start: float = before, weight: float = scene.weight
            ) -> None:
                share.value = (start + weight * done) / whole

            (picture,) = make_pictures(folder, step, stop, divisor=divisor, only=scene.name)
            before += scene.weight
            to.send(picture)
    except Exception as error:
        to.send(error)
