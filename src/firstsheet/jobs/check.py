"""Says what a picture holds, before any paper is chosen."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal, cast

from firstsheet.engine.detail.dust.places import dust_sentence, mark_places
from firstsheet.engine.detail.verdict import film_detail
from firstsheet.engine.records import Finding, PictureFacts
from firstsheet.engine.streams import Progress, StopCheck
from firstsheet.jobs.answers import CheckAnswer
from firstsheet.jobs.dust_marks import write_marks
from firstsheet.jobs.planning.detail import detail_of, spi_on_film
from firstsheet.jobs.planning.open_picture import BOMB

__all__ = ["check_picture"]


def check_picture(
    path: Path,
    *,
    page: int | None = None,
    read_as: str | None = None,
    background: str | None = None,
    answers: Mapping[str, str] | None = None,
    inspect: bool = False,
    film: str | None = None,
    marks: Path | None = None,
    progress: Progress,
    stop: StopCheck,
) -> CheckAnswer:
    """Open, count and judge a picture.

    Parameters
    ----------
    marks
        Where to draw the small picture with what may be dust; left out, it is not drawn.

    Raises
    ------
    RefusedPictureError, QuestionError
        As `files.reading.opening.open_picture`.
    """
    from firstsheet.files.reading.opening import open_picture

    with open_picture(
        path,
        page=page,
        read_as=read_as,
        background=cast(Literal["paper", "black"] | None, background),
        answers=answers,
        allow_bomb=(answers or {}).get(BOMB) == "open",
        inspect_only=inspect,
        progress=progress,
        stop=stop,
    ) as opened:
        facts = opened.facts
        detail = None if inspect else detail_of(opened, progress=progress, stop=stop)
        on_film, spi = None, None
        if film is not None and detail is not None:
            spi = spi_on_film(film, facts.width_px, facts.height_px)
            on_film = film_detail(detail, scan_spi=spi)
        places = mark_places(detail.dust, facts, spi=spi) if detail and detail.dust else ()
        words = dust_sentence(detail.dust, places) if detail else ""
        if marks is not None and detail is not None:
            write_marks(marks, opened, places, words, progress=progress, stop=stop)
    return CheckAnswer(
        verdict=_verdict(facts),
        picture=facts,
        detail=detail,
        film=on_film,
        marks=places,
        dust_words=words,
        marks_file=str(marks) if marks is not None and detail is not None else "",
    )


def _verdict(facts: PictureFacts) -> str:
    stops = [finding for finding in facts.findings if finding.weight == "stop"]
    minds = [finding for finding in facts.findings if finding.weight == "caution"]
    name = Path(facts.path).name
    pixels = f"{facts.width_px} × {facts.height_px} pixels"
    if stops:
        return f"{name}, {pixels}: stop. {_first(stops)}"
    if minds:
        others = f" and {len(minds) - 1} more to mind" if len(minds) > 1 else ""
        return f"{name}, {pixels}: printable; mind this{others}: {_first(minds)}"
    return f"{name}, {pixels}: nothing to object to."


def _first(findings: list[Finding]) -> Any:
    return findings[0].found
