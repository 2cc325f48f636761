"""What a picture is worth at each size, and what a new scan would have to be."""

from __future__ import annotations

from pathlib import Path

from firstsheet.engine.errors import TicketError
from firstsheet.engine.streams import Progress, StopCheck
from firstsheet.engine.units import parse_length_mm
from firstsheet.jobs.answers import RescanJobAnswer, SizesAnswer

__all__ = ["rescan_answer", "size_answer", "sizes_of"]


def _quiet(_doing: str, _share: float) -> None:
    return None


def _never() -> None:
    return None


def size_answer(
    picture: Path,
    *,
    page: int | None = None,
    distance: str | None = None,
    progress: Progress = _quiet,
    stop: StopCheck = _never,
) -> SizesAnswer:
    """Give the table of standard sizes for a picture."""
    from firstsheet.engine.sizing.size import HALF_METRE_MM
    from firstsheet.files.reading.opening import open_picture

    distance_mm = HALF_METRE_MM if distance is None else parse_length_mm(distance)
    with open_picture(picture, page=page, progress=progress, stop=stop) as opened:
        width_px, height_px = opened.facts.width_px, opened.facts.height_px
    return sizes_of(picture.name, width_px, height_px, distance_mm=distance_mm)


def sizes_of(name: str, width_px: int, height_px: int, *, distance_mm: float) -> SizesAnswer:
    """Give the table of standard sizes for so many pixels."""
    from firstsheet.engine.sizing.size import largest_sizes, size_table

    return SizesAnswer(
        picture=name,
        width_px=width_px,
        height_px=height_px,
        rows=size_table(width_px, height_px, distance_mm=distance_mm),
        largest=largest_sizes(width_px, height_px),
    )


def rescan_answer(
    picture: Path | None,
    *,
    film: str,
    width: str | None = None,
    height: str | None = None,
    long_side: str | None = None,
    ppi: str = "300",
    page: int | None = None,
    progress: Progress = _quiet,
    stop: StopCheck = _never,
) -> RescanJobAnswer:
    """Say how finely a film must be scanned for a print, and whether a file is enough.

    Raises
    ------
    TicketError
        If the film, a length or the ppi cannot be read, or no size is given.
    """
    from firstsheet.engine.sizing.rescan import rescan
    from firstsheet.files.reading.opening import open_picture

    file_px: tuple[int, int] | None = None
    channels = 3
    if picture is not None:
        with open_picture(picture, page=page, progress=progress, stop=stop) as opened:
            file_px = (opened.facts.width_px, opened.facts.height_px)
            channels = 1 if opened.facts.colour_model == "grey" else 3
    width_mm = None if width is None else parse_length_mm(width)
    height_mm = None if height is None else parse_length_mm(height)
    if long_side is not None:
        upright = file_px is not None and file_px[1] > file_px[0]
        width_mm, height_mm = (
            (None, parse_length_mm(long_side)) if upright else (parse_length_mm(long_side), None)
        )
    answer = rescan(
        film,
        width_mm=width_mm,
        height_mm=height_mm,
        ppi=_ppi(ppi),
        file_px=file_px,
        channels=channels,
    )
    return RescanJobAnswer(picture=picture.name if picture is not None else "", answer=answer)


def _ppi(text: str) -> float:
    try:
        ppi = float(text.replace(",", "."))
    except ValueError:
        ppi = 0.0
    if not 20 <= ppi <= 3000:
        raise TicketError(
            f"“{text}” is not a print resolution.",
            "How fine the film must be scanned depends on it.",
            "Give a number from 20 to 3000, such as 300.",
            "bad-option",
        )
    return ppi
