"""Stocks on the bench: their facts, changes of margins and notes, and the colours they hold.

Takes names and profiles; gives records and points in Lab. Tests: tests/web/test_bench_frames.py.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.lab import lab_to_xyz
from firstsheet.engine.colour.spaces import SPACES
from firstsheet.engine.errors import TicketError
from firstsheet.engine.records import Record
from firstsheet.jobs.answers import StockShowAnswer
from firstsheet.jobs.planning.ticket_source import stock_for

if TYPE_CHECKING:
    from firstsheet.jobs.planning.colour_path import ColourPath

__all__ = ["Cloud", "GamutAnswer", "Shell", "change_stock", "gamut", "paper_path"]

_STEPS = 12  # cells along each edge of the device cube
_POINTS = 4000
_FIELDS = ("title", "surface", "native_ppi", "margins", "media_setting", "notes")


class Shell(Record):
    """The surface of what a paper holds: corners of triangles in Lab, with their colours."""

    points: tuple[tuple[float, float, float], ...]
    triangles: tuple[tuple[int, int, int], ...]
    srgb: tuple[tuple[int, int, int], ...]


class Cloud(Record):
    """A sample of a picture's colours."""

    points: tuple[tuple[float, float, float], ...]
    srgb: tuple[tuple[int, int, int], ...]


class GamutAnswer(Record):
    """A paper's colours against a picture's own, media-relative Lab."""

    paper: Shell
    picture: Cloud | None
    words: str


def change_stock(
    name: str, changes: dict[str, str], stocks_dir: Path | None = None
) -> StockShowAnswer:
    """Change what a person may say of a stock; a demo stock becomes an own one.

    Raises
    ------
    TicketError, StockError
        If a field or its words cannot be, or there is no such stock.
    """
    from firstsheet.engine.records import Stock
    from firstsheet.jobs.stocks import margins_from, show
    from firstsheet.store.stocks import add_stock

    unknown = [key for key in changes if key not in _FIELDS]
    if unknown:
        raise TicketError(
            f"A stock has no “{unknown[0]}” that could be changed.",
            "Nothing was changed.",
            f"These can be: {', '.join(_FIELDS)}.",
            "unknown-key",
        )
    stock, profile = stock_for(name, stocks_dir)
    values: dict[str, Any] = dict(changes)
    if "margins" in values:
        values["margins"] = margins_from(values["margins"] or None)
    if "native_ppi" in values:
        values["native_ppi"] = int(values["native_ppi"])
    changed = Stock.model_validate({**stock.model_dump(), **values})
    add_stock(changed, profile, directory=stocks_dir, replace=True)
    return show(name, stocks_dir)


def paper_path(name: str, stocks_dir: Path | None) -> ColourPath:
    """A way onto a paper from any picture, to look at the paper alone."""
    from firstsheet.cms.chain import srgb_chain
    from firstsheet.jobs.planning.colour_path import ColourPath

    _, profile = stock_for(name, stocks_dir)
    return ColourPath(srgb_chain(profile, black_point=False))


def gamut(way: ColourPath, small: NDArray[np.float64] | None) -> GamutAnswer:
    """The shell of what the paper holds, and a sample of the picture's colours."""
    device, triangles = _cube_surface(way.chain.paper.channels)
    lab = np.asarray(way.chain.printed_lab(device))
    shell = Shell(points=_rounded(lab), triangles=tuple(triangles), srgb=_srgb(lab))
    picture = None
    if small is not None:
        pixels = small.reshape(-1, small.shape[-1])
        step = max(1, len(pixels) // _POINTS)
        wanted = np.asarray(way.wanted_lab(pixels[None, ::step], lambda: None))[0]
        picture = Cloud(points=_rounded(wanted), srgb=_srgb(wanted))
    return GamutAnswer(
        paper=shell,
        picture=picture,
        words="The solid is what the paper holds; the points are colours of the picture. Points "
        "outside cannot be printed as they are.",
    )


def _cube_surface(
    channels: int,
) -> tuple[NDArray[np.float64], list[tuple[int, int, int]]]:
    """Device values on the six faces of the cube (of three inks, black left out), and triangles."""
    axis = np.linspace(0.0, 1.0, _STEPS + 1)
    first, second = (part.ravel() for part in np.meshgrid(axis, axis, indexing="ij"))
    faces: list[NDArray[np.float64]] = []
    triangles: list[tuple[int, int, int]] = []
    for fixed in range(3):
        for end in (0.0, 1.0):
            face = np.empty((first.size, 3))
            face[:, fixed] = end
            face[:, (fixed + 1) % 3], face[:, (fixed + 2) % 3] = first, second
            at = len(faces) * first.size
            for i in range(_STEPS):
                for j in range(_STEPS):
                    a = at + i * (_STEPS + 1) + j
                    b, c, d = a + 1, a + _STEPS + 1, a + _STEPS + 2
                    triangles += [(a, b, d), (a, d, c)]
            faces.append(face)
    device = np.concatenate(faces)
    if channels == 1:
        device = device.mean(axis=1, keepdims=True)
    elif channels == 4:
        device = np.concatenate([device, np.zeros((len(device), 1))], axis=1)
    return device, triangles


def _rounded(lab: NDArray[Any]) -> tuple[tuple[float, float, float], ...]:
    return tuple((float(x[0]), float(x[1]), float(x[2])) for x in np.round(lab, 1).tolist())


def _srgb(lab: NDArray[Any]) -> tuple[tuple[int, int, int], ...]:
    rgb = np.clip(SPACES["srgb"].from_xyz_d50(lab_to_xyz(lab)), 0.0, 1.0)
    return tuple((int(r), int(g), int(b)) for r, g, b in np.rint(rgb * 255).tolist())
