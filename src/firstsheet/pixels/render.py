"""From an opened picture to rows of the finished sheet, streamed through threads.

Takes a RowSource, a RenderJob and the plain colour data of cms.link; writes every row of the
sheet to a RowSink once. The bytes are the same for any number of threads and any division into
bands. Theory: docs/theory/speed.md, resampling.md, sharpening.md. Tests: tests/pixels/.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.errors import RefusedPictureError
from firstsheet.engine.streams import Progress, RowSink, RowSource, StopCheck
from firstsheet.pixels.bands import BandWork, Stages, plan_bands
from firstsheet.pixels.compose import picture_free_rows, write_bare_rows
from firstsheet.pixels.job import RenderJob, choose_kernel, choose_light
from firstsheet.pixels.lines import (
    AxisNumbers,
    Decoding,
    DirectRows,
    Geometry,
    RowMaker,
    Spool,
    SpoolRows,
    geometry,
)
from firstsheet.pixels.native import prepare, vertical_kernel
from firstsheet.pixels.repairs import PlacedRepairs, aim_numbers, place_repairs
from firstsheet.pixels.sharpening import sharpen_tables
from firstsheet.pixels.tables import (
    LabTables,
    keep_tables,
    lab_tables,
    paper_tables,
    straight_lab_tables,
)
from firstsheet.pixels.workers import Work, run_all

if TYPE_CHECKING:
    from firstsheet.cms.link import PaperLink, SourceColour

__all__ = [
    "RenderJob",
    "kernels_needed",
    "reduced_picture",
    "render",
    "render_array",
    "row_makers",
    "stages_of",
]

Floats = NDArray[np.float64]
_LUMA = {  # stand-in for L* where no colorimetry is known, and how a step of it is shared out
    "grey": ((1.0,), (1.0,)),
    "rgb": ((0.2126, 0.7152, 0.0722), (1.0, 1.0, 1.0)),
    "lab": ((1.0, 0.0, 0.0), (1.0, 0.0, 0.0)),
}


def render(
    source: RowSource,
    job: RenderJob,
    source_colour: SourceColour | None,
    paper_link: PaperLink | None,
    sink: RowSink,
    *,
    progress: Progress | None = None,
    stop: StopCheck | None = None,
    threads: int = 2,
) -> None:
    """Make the sheet, every row once.

    Parameters
    ----------
    source
        The opened picture.
    job
        Sheet, place, crop, sharpening, coding.
    source_colour
        How its codes become colour; may be None for mode `as-is`.
    paper_link
        The paper's side; needed for mode `paper`, unused otherwise.
    sink
        Takes the rows; the array given to `write` is used again afterwards.
    progress, stop
        Called from the calling thread about ten times a second.
    threads
        Working threads; the bytes do not depend on them.

    Raises
    ------
    RefusedPictureError
        If the file is damaged where it is read, or sharpening is wished for inks whose colour
        is not known.
    StoppedError
        When `stop` says so; all threads have left then.
    """
    tell = progress or _silent
    check = stop or _go_on
    turned_share = 0.6 if job.orientation >= 5 else 0.0
    stages = stages_of(source, job, source_colour, paper_link)
    prepare(kernels_needed(source, stages), tell)
    plan = geometry(
        stored_px=(source.width_px, source.height_px),
        crop=job.crop,
        orientation=job.orientation,
        output_px=(job.width_px, job.height_px),
        kernel_name=choose_kernel(job.scale) if job.kernel == "auto" else job.kernel,
    )
    write_bare_rows(job, sink, picture_free_rows(job))
    with row_makers(source, stages, plan, threads, tell, check, turned_share) as make_maker:
        bands = plan_bands(job.height_px, threads)

        def worker(work: Work) -> Callable[[int], None]:
            mine = BandWork(stages, sink)

            def one(piece: int) -> None:
                low, high = bands[piece]
                start = max(0, low - stages.margin)
                end = min(job.height_px, high + stages.margin)
                mine.run(
                    make_maker(start, end),
                    low,
                    high,
                    reversed_down=plan.reversed_down and not plan.turned,
                    alive=work.alive,
                    done=lambda rows: work.add(rows / (high - low)),
                )

            return one

        run_all(
            len(bands), threads, worker,
            words="Making the sheet", progress=tell, stop=check, share=(turned_share, 1.0),
        )  # fmt: skip
    tell("Making the sheet", 1.0)


@contextlib.contextmanager
def row_makers(
    source: RowSource,
    stages: Stages,
    plan: Geometry,
    threads: int,
    progress: Progress,
    stop: StopCheck,
    share: float,
) -> Iterator[Callable[[int, int], RowMaker]]:
    """What makes rows for a band: the source itself, or a spool of a picture on its side."""
    numbers = AxisNumbers(plan, stages.channels)
    decoding = _decoding(stages)

    def direct(low: int, high: int) -> RowMaker:
        return DirectRows(source, numbers, decoding, low, high)

    if not plan.turned:
        yield direct
        return
    job = stages.job
    spool = Spool(
        width_px=job.width_px,
        height_px=job.height_px,
        channels=stages.channels,
        from_right=plan.reversed_down,
    )
    try:
        bands = plan_bands(job.width_px, threads)

        def worker(work: Work) -> Callable[[int], None]:
            def one(piece: int) -> None:
                low, high = bands[piece]
                spool.fill(direct(low, high), low, high, work.alive)
                work.add(1.0)

            return one

        run_all(
            len(bands), threads, worker,
            words="Turning the picture", progress=progress, stop=stop, share=(0.0, share),
        )  # fmt: skip
        yield lambda _low, _high: SpoolRows(spool)
    finally:
        spool.close()


# ---- what the job needs ----------------------------------------------------------------------


def stages_of(
    source: RowSource,
    job: RenderJob,
    source_colour: SourceColour | None,
    paper_link: PaperLink | None,
) -> Stages:
    """Choose the steps of this job and lay out their numbers."""
    channels = source.channels
    paper = None
    if job.mode == "paper":
        if paper_link is None or source_colour is None:
            raise ValueError("paper colour needs a source colour and a paper link")
        paper = paper_tables(paper_link)
    sharpening = sharpen_tables(job.sharpen)
    curves = source_colour is not None and source_colour.kind == "curves" and job.mode != "as-is"
    light = job.light
    if light == "auto":
        light = choose_light(job.scale)
    lab: LabTables | None = None
    engine = keep = None
    scale = paper_link.xyz_scale if paper_link is not None and paper is not None else None
    offset = paper_link.xyz_offset if paper_link is not None and paper is not None else None
    repairs = _placed_repairs(source, job, possible=paper is not None or curves)
    aim = None
    if repairs is not None and paper_link is not None and paper is not None:
        scale, offset, aim = None, None, aim_numbers(paper_link)  # after the repairs
    if curves and source_colour is not None:
        lab = lab_tables(source_colour, scale, offset)
        if paper is None:
            keep = keep_tables(source_colour)
    elif paper is not None and source_colour is not None:
        engine = _through_engine(source_colour)
        lab = straight_lab_tables(scale, offset)
    luma, lift = _lightness_shares(job, channels, needed=sharpening is not None and lab is None)
    return Stages(
        job=job,
        source=source_colour,
        channels=channels,
        plane_mode=0 if curves and light == "linear" else 1,
        lab=lab,
        engine=engine,
        paper=paper,
        keep=keep,
        luma=np.array(luma, dtype=np.float32),
        lift=np.array(lift, dtype=np.float32),
        sharpen=sharpening,
        repairs=repairs,
        aim=aim,
    )


def _placed_repairs(source: RowSource, job: RenderJob, *, possible: bool) -> PlacedRepairs | None:
    """The job's repairs laid over its pixels."""
    if not job.repairs:
        return None
    if not possible:
        from firstsheet.engine.loss.repair.words import NO_WAY_BACK  # brings the records along

        raise RefusedPictureError(*NO_WAY_BACK)
    width, height = source.width_px, source.height_px
    if job.orientation >= 5:
        width, height = height, width
    left, top, across, down = job.crop
    lies = (left / width, top / height, across / width, down / height)
    return place_repairs(job.repairs, size_px=(job.width_px, job.height_px), lies=lies)


def _lightness_shares(
    job: RenderJob, channels: int, *, needed: bool
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Weights of a stand-in for L*, where the colours' meaning is not known."""
    model = job.colour_model or {1: "grey", 3: "rgb"}.get(channels, "cmyk")
    if model in _LUMA:
        return _LUMA[model]
    if needed:
        raise RefusedPictureError(
            "The picture is already in inks, and is to be printed as it is.",
            "Sharpening acts on lightness, and mixing inks to change lightness would change "
            "colours.",
            "Choose --sharpen off, or let the picture be converted.",
            "inks-cannot-be-sharpened",
        )
    return (0.0,) * channels, (0.0,) * channels


def _through_engine(colour: SourceColour) -> Callable[[Floats], Floats]:
    """Codes to XYZ by the colour engine itself, for profiles that are tables."""
    from firstsheet.engine.colour.lab import lab_to_xyz

    def to_xyz(codes: Floats) -> Floats:
        return np.asarray(lab_to_xyz(colour.to_lab(codes)))

    return to_xyz


def _decoding(stages: Stages) -> Decoding:
    """How stored codes are read before they are summed."""
    if stages.plane_mode == 1 or stages.lab is None:
        return Decoding(0, np.zeros(1, np.float32))
    return Decoding(1 if stages.lab.shared else 2, stages.lab.lut)


def kernels_needed(source: RowSource, stages: Stages) -> list[str]:
    """Names of the kernels that these stages call."""
    names = [vertical_kernel(source.dtype), "resample_horizontal"]
    sharpened, bits = stages.sharpen is not None, stages.job.bits
    if stages.lab is not None and (sharpened or stages.paper is not None):
        names.append("to_lab")
    elif sharpened:
        names.append("luma")
    if sharpened:
        names.append("sharpen")
    if stages.repairs is not None:
        names += ["repair", "recode" if stages.paper is None else "aim"]
    if stages.paper is not None:
        return [*names, stages.paper.kernel_name(bits)]
    return [*names, f"keep_u{bits}" if sharpened else f"plain_u{bits}"]


def _silent(_words: str, _share: float) -> None:
    """Nobody listens."""


def _go_on() -> None:
    """Nobody stops."""


# ---- small pictures, kept in memory ----------------------------------------------------------


class ArraySink:
    """Keeps the rows it is given."""

    def __init__(self, shape: tuple[int, int, int]) -> None:
        self.codes = np.empty(shape, np.uint16)

    def write(self, top: int, rows: NDArray[np.uint16]) -> None:
        """Copy the rows to their place."""
        self.codes[top : top + len(rows)] = rows


def reduced_picture(
    source: RowSource,
    *,
    crop: tuple[float, float, float, float],
    orientation: int,
    long_side_px: int,
    source_colour: SourceColour | None = None,
    progress: Progress | None = None,
    stop: StopCheck | None = None,
    threads: int = 2,
) -> Floats:
    """The cropped, upright picture reduced to a long side, as codes 0..1, (rows, width, channels).

    Never enlarged. With `source_colour` it is reduced in the light the print is reduced in;
    without, in encoded values.
    """
    return _small_array(
        source, crop, orientation, long_side_px, source_colour, None, "keep",
        progress, stop, threads,
    )  # fmt: skip


def render_array(
    source: RowSource,
    job: RenderJob,
    source_colour: SourceColour,
    paper_link: PaperLink,
    *,
    long_side_px: int,
    progress: Progress | None = None,
    stop: StopCheck | None = None,
    threads: int = 2,
) -> tuple[Floats, Floats]:
    """The picture of a job without its sheet, small: codes 0..1, and paper device values 0..1.

    The same steps as `render`, without sharpening, whose radius belongs to the full size.
    """
    encoded = _small_array(
        source, job.crop, job.orientation, long_side_px, source_colour, None, "keep",
        progress, stop, threads,
    )  # fmt: skip
    device = _small_array(
        source, job.crop, job.orientation, long_side_px, source_colour, paper_link, "paper",
        progress, stop, threads,
    )  # fmt: skip
    return encoded, device


def _small_array(
    source: RowSource,
    crop: tuple[float, float, float, float],
    orientation: int,
    long_side_px: int,
    source_colour: SourceColour | None,
    paper_link: PaperLink | None,
    mode: str,
    progress: Progress | None,
    stop: StopCheck | None,
    threads: int,
) -> Floats:
    """One small picture through `render`."""
    factor = min(1.0, long_side_px / max(crop[2], crop[3]))
    width, height = (max(1, int(side * factor + 0.5)) for side in crop[2:])
    channels = source.channels if paper_link is None else paper_link.clut.shape[-1]
    job = RenderJob(
        sheet_width_px=width,
        sheet_height_px=height,
        picture_left_px=0,
        picture_top_px=0,
        width_px=width,
        height_px=height,
        crop=crop,
        orientation=orientation,
        mode="paper" if mode == "paper" else "keep",
        white_device=(1.0,) * channels,
    )
    sink = ArraySink((height, width, channels))
    render(
        source, job, source_colour, paper_link, sink,
        progress=progress, stop=stop, threads=threads,
    )  # fmt: skip
    return sink.codes / 65535.0
