"""From ticket to plan: opens the picture, builds the colour chain, measures, decides.

The one path that `plan`, `proof` and `make` share, so that they can never show two numbers.
A `Prepared` keeps what the outputs need; close it, or use it in a `with`.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from firstsheet import __version__
from firstsheet.engine.bands import Progress, StopCheck
from firstsheet.engine.planrecord import ColourPlan, Plan, SheetPlan, SizePlan
from firstsheet.engine.records import Finding, Intent, PictureFacts, Stock, Ticket
from firstsheet.jobs.losses import Losses, compare_intents, measure_losses
from firstsheet.jobs.source import Stamp, stock_for

if TYPE_CHECKING:
    from firstsheet.cms.chain import Chain
    from firstsheet.cms.link import PaperLink, SourceColour
    from firstsheet.files.opening import OpenedPicture

__all__ = ["PROOF_LONG_SIDE_PX", "Mode", "Prepared", "colour_mode", "prepare"]

PROOF_LONG_SIDE_PX = 1500  # proof, loss map and loss figures share one reduced picture
_LINK_SAMPLES = 20_000  # colours of the picture on which the fast path is measured

Mode = Literal["paper", "keep", "as-is"]


@dataclass(frozen=True, eq=False)
class Prepared:
    """A plan with the opened picture and the colour chain it was made from."""

    plan: Plan
    opened: OpenedPicture
    chain: Chain
    source_colour: SourceColour
    link: PaperLink | None  # None where the print file is not converted for paper
    small: NDArray[np.float64]  # (h, w, c), encoded 0..1, upright and cropped, for proofs
    losses: Losses | None
    stamp: Stamp | None  # of the picture before it was opened

    def close(self) -> None:
        """Let the picture go."""
        self.opened.close()

    def __enter__(self) -> Prepared:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


@dataclass(frozen=True, eq=False)
class _Colour:
    plan: ColourPlan
    chain: Chain
    source: SourceColour
    link: PaperLink | None
    losses: Losses | None


def colour_mode(ticket: Ticket, facts: PictureFacts) -> Mode:
    """Say whether the print file is converted for paper, kept, or already converted.

    A file that carries a printer's profile is never converted again unless the person insists.
    """
    converted = facts.profile is not None and facts.profile.kind == "output"
    if converted and facts.colour_model != "cmyk" and not ticket.colour.convert_again:
        return "as-is"
    return "keep" if ticket.colour.keep else "paper"


def prepare(
    ticket: Ticket,
    *,
    stocks_dir: Path | None,
    progress: Progress,
    stop: StopCheck,
) -> Prepared:
    """Open, measure and decide; nothing is written.

    Raises
    ------
    FirstsheetError
        As the rooms say: a slip, a refused picture, an unusable profile, a stop.
    """
    from firstsheet.engine.plan import make_plan, size_and_sheet
    from firstsheet.files.opening import open_picture

    stock, paper_profile = stock_for(ticket.stock, stocks_dir)
    stamp = Stamp.of(ticket.picture)
    opened = open_picture(
        Path(ticket.picture),
        page=ticket.page,
        background=ticket.background,
        read_as=ticket.colour.read_as,
        answers=ticket.answers,
        progress=progress,
        stop=stop,
    )
    try:
        facts = opened.facts
        size, sheet, _ = size_and_sheet(ticket, facts, stock)
        small = _small(opened, facts, size, progress, stop)
        colour = _colour(ticket, opened, stock, paper_profile, small, progress, stop)
        plan = make_plan(
            ticket=ticket,
            facts=facts,
            stock=stock,
            colour=colour.plan,
            loss=colour.losses.facts if colour.losses is not None else None,
            version=__version__,
            extra_findings=_mark_findings(ticket, size, sheet),
        )
    except BaseException:
        opened.close()
        raise
    return Prepared(
        plan, opened, colour.chain, colour.source, colour.link, small, colour.losses, stamp
    )


def _small(
    opened: OpenedPicture,
    facts: PictureFacts,
    size: SizePlan,
    progress: Progress,
    stop: StopCheck,
) -> NDArray[np.float64]:
    from firstsheet.pixels.render import reduced_picture

    progress("Reducing for the proof", 0.0)
    return reduced_picture(
        opened.source,
        crop=(size.crop_left_px, size.crop_top_px, size.crop_width_px, size.crop_height_px),
        orientation=facts.orientation,
        long_side_px=min(PROOF_LONG_SIDE_PX, max(size.width_px, size.height_px)),
        progress=progress,
        stop=stop,
    )


def _mark_findings(ticket: Ticket, size: SizePlan, sheet: SheetPlan) -> tuple[Finding, ...]:
    if not (ticket.output.ruler or ticket.output.key):
        return ()
    from firstsheet.files.rulerkey import border_marks

    return border_marks(
        sheet,
        picture_width_px=size.width_px,
        picture_height_px=size.height_px,
        ppi=size.ppi,
        channels=3,
        ruler=ticket.output.ruler,
        key=ticket.output.key,
    ).findings


def _colour(
    ticket: Ticket,
    opened: OpenedPicture,
    stock: Stock,
    paper_profile: bytes,
    small: NDArray[np.float64],
    progress: Progress,
    stop: StopCheck,
) -> _Colour:
    from firstsheet.cms.chain import build_chain
    from firstsheet.cms.link import measure_link, paper_link, source_colour

    facts = opened.facts
    mode = colour_mode(ticket, facts)
    assert stock.facts is not None
    floor = stock.facts.floor_p99_de00
    wished: Intent = "relative" if ticket.colour.intent == "auto" else ticket.colour.intent
    black_point = ticket.colour.black_point and wished != "absolute"
    progress("Comparing the intents", 0.2)
    intents = compare_intents(
        small,
        source_profile=opened.profile_bytes,
        colour_model=facts.colour_model,
        paper_profile=paper_profile,
        black_point=ticket.colour.black_point,
        chosen=wished,
        floor_de00=floor,
        stop=stop,
    )
    if ticket.colour.intent == "auto":
        from firstsheet.engine.loss_intents import recommend_intent

        wished = recommend_intent(intents)[0]
        black_point = ticket.colour.black_point
    chain = build_chain(
        source_profile=opened.profile_bytes,
        colour_model=facts.colour_model,
        paper_profile=paper_profile,
        intent=wished,
        black_point=black_point,
    )
    source = source_colour(chain)
    link = None
    words, mean, p99, most = "", 0.0, 0.0, 0.0
    if mode == "paper":
        progress("Measuring the colour link", 0.5)
        link = paper_link(chain)
        pixels = small.reshape(-1, small.shape[-1])
        error = measure_link(chain, link, pixels[:: max(1, len(pixels) // _LINK_SAMPLES)])
        words, mean, p99, most = link.words, error.mean, error.p99, error.max
    losses = None
    if mode != "as-is":
        progress("Measuring what the paper takes", 0.7)
        losses = measure_losses(small, chain, floor_de00=floor, intents=intents, stop=stop)
    plan = ColourPlan(
        mode=mode,
        source_name=_source_name(facts),
        source_profile_sha256=_sha256(opened.profile_bytes),
        intent=wished,
        black_point=black_point,
        source_black_xyz=_three(chain.source_black_xyz),
        paper_black_xyz=_three(chain.paper_black_xyz),
        link=words,
        link_mean_de00=round(mean, 6),
        link_p99_de00=round(p99, 6),
        link_max_de00=round(most, 6),
        paper_white_device=chain.paper_white_device,
    )
    return _Colour(plan, chain, source, link, losses)


def _source_name(facts: PictureFacts) -> str:
    if facts.profile is not None and facts.profile.kind != "broken" and facts.profile.description:
        return facts.profile.description
    return facts.read_as or facts.colour_model


def _sha256(data: bytes) -> str:
    import hashlib

    return hashlib.sha256(data).hexdigest()


def _three(xyz: NDArray[np.float64]) -> tuple[float, float, float]:
    x, y, z = (round(float(value), 9) for value in xyz)
    return x, y, z
