"""A small picture on which what may be dust is marked, for the eye to judge.

Takes an opened picture and the places; writes one PNG, whole or not at all. Drawing:
`pixels.dust_marks`. Tests: tests/jobs/test_marks.py.
"""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from firstsheet import __version__
from firstsheet.engine.detail.dust.places import MarkPlace
from firstsheet.engine.streams import Progress, StopCheck

if TYPE_CHECKING:
    from firstsheet.files.reading.opening import OpenedPicture

__all__ = ["write_marks"]

_LONG_SIDE_PX = 1500


def write_marks(
    path: Path,
    opened: OpenedPicture,
    places: tuple[MarkPlace, ...],
    words: str,
    *,
    progress: Progress,
    stop: StopCheck,
) -> None:
    """Draw the picture, reduced, with every place marked and numbered.

    Raises
    ------
    OutputError
        If it would replace the picture itself, or could not be written.
    """
    from firstsheet.cms.build import space_profile
    from firstsheet.cms.chain import build_chain
    from firstsheet.cms.link import source_colour
    from firstsheet.files.writing.png import write_png8
    from firstsheet.files.writing.whole import write_whole
    from firstsheet.pixels.dust_marks import marked_picture
    from firstsheet.pixels.proof import show_printed
    from firstsheet.pixels.render import reduced_picture
    from firstsheet.pixels.team import worker_count

    facts, srgb = opened.facts, space_profile("srgb")
    chain = build_chain(
        source_profile=opened.profile_bytes,
        colour_model=facts.colour_model,
        paper_profile=srgb,
        intent="relative",
        black_point=False,
    )
    small = reduced_picture(
        opened.source,
        crop=(0.0, 0.0, float(facts.width_px), float(facts.height_px)),
        orientation=facts.orientation,
        long_side_px=_LONG_SIDE_PX,
        source_colour=source_colour(chain),
        progress=progress,
        stop=stop,
        threads=worker_count(),
    )
    shown = show_printed(chain.wanted_lab(small), chain, space="srgb", white="screen", stop=stop)
    drawn = marked_picture(
        (shown.rgb // 257).astype("uint8"),
        places,
        scale=small.shape[1] / facts.width_px,
        words=words,
        title=Path(facts.path).name,
    )
    with tempfile.TemporaryDirectory() as folder:
        made = Path(folder) / "marks.png"
        text = {
            "Title": f"What may be dust on {Path(facts.path).name}",
            "Software": f"firstsheet {__version__}",
            "Source": f"SHA-256 {facts.sha256}",
        }
        write_png8(made, drawn, srgb, text=text)
        write_whole(path, made.read_bytes(), original=Path(facts.path))
