"""What a page asks about one picture on the table: a spot, other papers, readings, the cost.

Takes a table and a plan; gives records. The numbers come through the print's own chain.
Tests: tests/web/test_bench_frames.py.
"""

from __future__ import annotations

import contextlib
import math
import shutil
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

import numpy as np
from numpy.typing import NDArray

from firstsheet.bench.answers import (
    Asked,
    CompareAnswer,
    CompareRow,
    Estimate,
    LossView,
    Question,
    SpotAnswer,
    SpotColour,
)
from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.colour.lab import lab_to_xyz
from firstsheet.engine.colour.spaces import GREYS, SPACES
from firstsheet.engine.loss.repair.record import RepairField
from firstsheet.engine.records import PictureFacts, Ticket
from firstsheet.engine.records.plan import LossFacts, Plan
from firstsheet.engine.units import plain_number
from firstsheet.jobs.answers import CompareAnswer as Compared
from firstsheet.jobs.planning.colour_path import ColourPath, RepairedPath

if TYPE_CHECKING:
    from firstsheet.bench.levels import Levels

__all__ = [
    "CMYK_ASKS",
    "comparison",
    "estimate",
    "loss_view",
    "pace_px_per_second",
    "profiles_beside",
    "questions",
    "spot",
]

_LOOKS_ALIKE = ("colour.keep",)  # readings that differ in the print, not in the picture
_SPOT_PX = 5  # a side of the square that is read
_WORDS = (
    (1.0, "No difference to be seen."),
    (2.0, "Just seen when held side by side."),
    (5.0, "Seen side by side, hardly alone."),
    (10.0, "Plainly another colour."),
    (math.inf, "Quite another colour."),
)
CMYK_ASKS = "cmyk-untagged"  # code of the question what a CMYK picture was made for
_MOST_PROFILES, _MOST_PROFILE_BYTES = 12, 32 << 20  # that are offered; that are read
_PX_PER_SECOND = 20e6  # until this machine has made a print
_START_SECONDS = 1.0
_LEAST_SECONDS = 0.1


def profiles_beside(picture: Path) -> tuple[Path, ...]:
    """CMYK profiles that lie in a picture's own folder, by name."""
    from firstsheet.cms.profile import profile_facts

    found: list[Path] = []
    try:
        near = sorted(picture.resolve().parent.iterdir())
    except OSError:
        return ()
    for path in near:
        if len(found) == _MOST_PROFILES:
            break
        if path.suffix.lower() not in (".icc", ".icm") or path.is_symlink():
            continue
        with contextlib.suppress(OSError):
            if path.stat().st_size <= _MOST_PROFILE_BYTES:
                facts = profile_facts(path.read_bytes())
                if facts.kind != "broken" and facts.colour_space == "CMYK":
                    found.append(path)
    return tuple(found)


# ---- a spot ------------------------------------------------------------------------------------


def spot(
    levels: Levels,
    way: ColourPath,
    plan: Plan,
    x_mm: float,
    y_mm: float,
    repairs: tuple[RepairField, ...] = (),
) -> SpotAnswer | None:
    """Wanted and printed colour at a place of the picture, mm from its top left; None outside.

    Read from a square of the file's own pixels, as the eye takes in a small spot.
    """
    size = plan.size
    if not (0 <= x_mm < size.width_mm and 0 <= y_mm < size.height_mm):
        return None
    x = int(size.crop_left_px + x_mm / size.width_mm * size.crop_width_px)
    y = int(size.crop_top_px + y_mm / size.height_mm * size.crop_height_px)
    left = min(max(0, x - _SPOT_PX // 2), max(0, levels.width_px - _SPOT_PX))
    top = min(max(0, y - _SPOT_PX // 2), max(0, levels.height_px - _SPOT_PX))
    width, height = min(_SPOT_PX, levels.width_px), min(_SPOT_PX, levels.height_px)
    codes, _ = levels.block(levels.zmax, left, top, width, height)
    chain = way.chain
    wanted = np.asarray(chain.wanted_lab(codes)).reshape(-1, 3)
    as_is = plan.colour.mode == "as-is"
    printed = wanted
    if not as_is:
        lies = (left / levels.width_px, top / levels.height_px,
                width / levels.width_px, height / levels.height_px)  # fmt: skip
        shown = RepairedPath(way, repairs).printed_lab(codes, lambda: None, lies) if repairs else (
            chain.printed_lab(chain.device(codes))
        )  # fmt: skip
        printed = np.asarray(shown, dtype=np.float64).reshape(-1, 3)
    seen_wanted, seen_printed = _mean(wanted), _mean(printed)
    shown = np.asarray(chain.absolute_lab(seen_printed))
    footing = shown if chain.intent == "absolute" else seen_printed
    de00 = float(delta_e_2000(seen_wanted, footing))
    words = next(words for limit, words in _WORDS if de00 < limit)
    return SpotAnswer(
        wanted=_colour(seen_wanted, seen_wanted),
        printed=_colour(footing, shown if plan.ticket.output.proof_white == "paper" else footing),
        de00=round(de00, 2),
        words=f"ΔE00 {de00:.1f}. {words}{_towards(seen_wanted, footing, de00)}",
    )


def _mean(lab: NDArray[np.float64]) -> NDArray[np.float64]:
    """The mean colour of a spot, taken in light."""
    from firstsheet.engine.colour.lab import xyz_to_lab

    return np.asarray(xyz_to_lab(np.asarray(lab_to_xyz(lab)).mean(axis=0)))


def _colour(lab: NDArray[np.float64], shown: NDArray[np.float64]) -> SpotColour:
    rgb = np.clip(SPACES["display-p3"].from_xyz_d50(lab_to_xyz(shown)), 0.0, 1.0)
    lightness, a, b = (float(one) for one in lab)
    return SpotColour(
        lab=(round(lightness, 1), round(a, 1), round(b, 1)),
        words=f"L* {lightness:.1f}, a* {a:.1f}, b* {b:.1f}",
        swatch="color(display-p3 " + " ".join(f"{one:.4f}" for one in rgb) + ")",
    )


def _towards(wanted: NDArray[np.float64], printed: NDArray[np.float64], de00: float) -> str:
    """Into which direction it moves, in words."""
    if de00 < 1.0:
        return ""
    light = float(printed[0] - wanted[0])
    chroma = float(np.hypot(*printed[1:]) - np.hypot(*wanted[1:]))
    parts = []
    if abs(light) >= 1.0:
        parts.append("lighter" if light > 0 else "darker")
    if abs(chroma) >= 1.0:
        parts.append("stronger" if chroma > 0 else "duller")
    if min(np.hypot(*wanted[1:]), np.hypot(*printed[1:])) > 5.0:
        turn = math.degrees(
            math.atan2(
                float(wanted[1] * printed[2] - wanted[2] * printed[1]),
                float(wanted[1] * printed[1] + wanted[2] * printed[2]),
            )
        )
        if abs(turn) >= 3.0:
            parts.append(f"turned by {abs(turn):.0f}° in hue")
    return f" It prints {' and '.join(parts)}." if parts else ""


# ---- other papers --------------------------------------------------------------------------------


def comparison(answer: Compared | None, proof_url: str) -> CompareAnswer:
    """Papers and intents as the command line ranks them, each with a small proof.

    Parameters
    ----------
    answer
        None while they are still being measured.
    proof_url
        Address of a small proof, with {stock} and {intent}.
    """
    if answer is None:
        return CompareAnswer(rows=(), waiting=1, words="")
    rows = tuple(
        CompareRow(
            place=one.place,
            stock=one.stock,
            title=one.title,
            intent=one.intent,
            mean=round(one.mean_shift_de00, 2),
            lost_percent=round(one.hurt_percent, 2),
            figures=f"ΔE00 {one.mean_shift_de00:.1f} on average, {one.hurt_percent:.1f} % "
            "visible loss",
            proof=proof_url.replace("{stock}", one.stock).replace("{intent}", one.intent),
            reason=one.reason,
            changes={"stock": one.stock, "colour.intent": one.intent},
        )
        for one in answer.rows
    )
    words = " ".join((answer.verdict, *(one.found for one in answer.findings)))
    return CompareAnswer(rows=rows, waiting=0, words=words)


# ---- loss and cost -------------------------------------------------------------------------------


def loss_view(loss: LossFacts) -> LossView:
    """The loss with the words of its legend."""
    from firstsheet.pixels.lossmap import SCALE_TOP_DE00, band_words

    return LossView(
        facts=loss,
        top_de00=SCALE_TOP_DE00,
        legend="/loss-scale.png",
        bands=band_words(loss.bands_percent),
        words=f"How far the printed colour is from the wanted one, in CIEDE2000. Below this "
        f"round-trip error of the profile ({loss.floor_de00:.1f}) differences are not counted.",
    )


def estimate(plan: Plan, folder: Path, px_per_second: float | None) -> Estimate:
    """Time and disk that making would take."""
    seconds = _START_SECONDS + _work_px(plan) / (px_per_second or _PX_PER_SECOND)
    size = plan.output.print_file_bytes
    place = next((one for one in (folder, *folder.parents) if one.is_dir()), Path.cwd())
    free = shutil.disk_usage(place).free
    return Estimate(
        seconds=round(seconds, 1),
        bytes=size,
        free_bytes=free,
        words=f"About {_seconds(seconds)}, {_bytes(size)}; {_bytes(free)} are free.",
    )


def pace_px_per_second(plan: Plan, seconds: float) -> float:
    """How fast this machine made a print, for the next estimate."""
    return _work_px(plan) / max(_LEAST_SECONDS, seconds - _START_SECONDS)


def _work_px(plan: Plan) -> int:
    """Pixels that are read and that are made."""
    made = plan.size.width_px * plan.size.height_px
    return made + plan.picture.stored_width_px * plan.picture.stored_height_px


def _seconds(seconds: float) -> str:
    if seconds < 90:
        return f"{max(1, round(seconds))} s"
    return f"{plain_number(seconds / 60)} min"


def _bytes(count: int) -> str:
    return f"{count / 1e9:.1f} GB" if count >= 1e9 else f"{count / 1e6:.0f} MB"


# ---- questions -----------------------------------------------------------------------------------


def questions(
    draft_id: str, ticket: Ticket, facts: PictureFacts | None, asked: str
) -> tuple[Question, ...]:
    """What only a person can say, with the readings to choose from.

    Parameters
    ----------
    facts
        None where the picture could not be opened without an answer.
    asked
        Code of the error that asked, then.
    """

    def thumb(key: str, value: str) -> str:
        if key in _LOOKS_ALIKE:
            return ""
        return f"/api/draft/{draft_id}/thumb?key={key}&value={quote(value)}"

    def question(key: str, code: str, text: str, chosen: str, pairs: Any) -> Question:
        options = tuple(
            Asked(value=value, text=words, thumb=thumb(key, value)) for value, words in pairs
        )
        return Question(code=code, key=key, text=text, chosen=chosen, options=options)

    if facts is None:
        if asked == "float-untagged":
            names = [(name, one.label) for name, one in SPACES.items()]
            text = "The picture has no profile. In which of these does it look right?"
            return (question("colour.read-as", asked, text, ticket.colour.read_as or "", names),)
        if asked == "float-over-one":
            text = "Some values are brighter than paper. What shall become of them?"
            pairs = [("clip", "Cut off at white"), ("compress", "Pressed together smoothly")]
            return (question("answers.float-over-one", asked, text, "", pairs),)
        if asked == CMYK_ASKS and (beside := profiles_beside(Path(ticket.picture))):
            text = "The picture is CMYK and does not say for which press. Which profile is its own?"
            files = [(str(path), path.name) for path in beside]
            return (question("colour.read-as", asked, text, ticket.colour.read_as or "", files),)
        return ()
    found = []
    if facts.read_as and facts.colour_model in ("rgb", "grey"):
        spaces: Any = SPACES if facts.colour_model == "rgb" else GREYS
        names = [(name, one.label) for name, one in spaces.items()]
        text = "The file does not say what its colours mean. In which of these does it look right?"
        found.append(question("colour.read-as", "untagged", text, facts.read_as, names))
    if facts.alpha == "partly-clear":
        text = "Parts of the picture are clear. What lies under them?"
        pairs = [("paper", "Bare paper"), ("black", "Black")]
        found.append(
            question("background", "partly-clear", text, ticket.background or "paper", pairs)
        )
    if facts.pages > 1 and not facts.composite:
        pages = [(str(n), f"Page {n}") for n in range(1, min(facts.pages, 12) + 1)]
        text = f"The file holds {facts.pages} pictures. Which one?"
        found.append(question("page", "several-pages", text, str(facts.page), pages))
    if facts.thumbnail_conflicts:
        text = "The file contradicts itself about which side is up. Which is right?"
        pairs = [("apply", "Turned as its flag says"), ("ignore", "As it is stored")]
        chosen = ticket.answers.get("orientation", "apply")
        found.append(question("answers.orientation", "orientation", text, chosen, pairs))
    if (
        facts.profile is not None
        and facts.profile.kind == "output"
        and (facts.colour_model != "cmyk")
    ):
        text = "The file is already in a printer's colours. What shall be done with them?"
        pairs = [("true", "Leave them as they are"), ("false", "Stop, until the master is found")]
        chosen = "true" if ticket.colour.keep else "false"
        found.append(question("colour.keep", "output-profile", text, chosen, pairs))
    return tuple(found)
