"""Papers and intents in the order of what this very picture loses, with a reason for each.

Takes the losses of one picture on each paper by each intent; gives them ranked, those that print
alike recognised. Theory: docs/theory/regions.md. Tests: tests/engine/loss/regions/test_ranking.py.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from firstsheet.engine.loss.regions.judge import WORTH_RANK
from firstsheet.engine.loss.regions.words import share_words
from firstsheet.engine.records import Intent, Record
from firstsheet.engine.records.losses import PictureLosses

__all__ = [
    "SAME_DE00",
    "USUAL",
    "PaperLoss",
    "Trial",
    "best_usual",
    "intent_words",
    "rank_papers",
]

USUAL: Final[tuple[Intent, ...]] = ("relative", "perceptual")  # proposed for photographs

SAME_DE00: Final = 0.5  # two prints that stay closer everywhere are the same print
_KEPT_STEP: Final = 0.02
_PLAINLY: Final = 10.0  # plain shifts worth naming: a tenth of the picture off by ten, say
_MUCH_BLACK: Final = 5.0  # per cent of the picture whose drawing ends in black: worth naming
_INTENT_WORDS: Final[Mapping[Intent, str]] = {
    "perceptual": "perceptual",
    "relative": "relative colorimetric",
    "saturation": "saturation",
    "absolute": "absolute colorimetric",
}


class Trial(Record):
    """One paper with one intent, before they are put in order."""

    stock: str
    title: str
    intent: Intent
    losses: PictureLosses
    same_as: Intent | None = None  # an earlier intent that prints this picture the same there


class PaperLoss(Record):
    """One paper with one intent, in its place."""

    place: int  # 1 loses least; those alike share a place
    stock: str
    title: str
    intent: Intent
    lost_total: float  # visible steps x per cent of the picture, summed over what truly loses
    moved_total: float  # plain shifts of colour beyond Delta E00 5, in fives, x per cent
    hurt_percent: float
    modelling_kept: float | None
    black_drawn_percent: float  # drawing that prints as the paper's black
    white_drawn_percent: float  # drawing that falls into bare paper
    mean_shift_de00: float
    worst: str  # the region that loses most, in words; empty where nothing does
    same_as: Intent | None
    reason: str


def rank_papers(trials: Sequence[Trial]) -> tuple[PaperLoss, ...]:
    """Least lost first.

    What counts, in this order: what the regions truly lose together with plain shifts of colour,
    the modelling kept all over, the mean shift. Differences too small to be worth a repair count
    as none. An intent that prints the same as an earlier one on its paper stands right behind it
    and shares its place.
    """
    leaders = sorted(
        (one for one in trials if one.same_as is None),
        key=lambda one: (*_worth(one), one.losses.mean_shift_de00, one.stock, one.intent),
    )
    ranked: list[PaperLoss] = []
    place = 0
    for at, trial in enumerate(leaders):
        before = leaders[at - 1] if at else None
        if before is None or _order(before) != _order(trial):
            place += 1
        ranked.append(_paper_loss(trial, place, _reason(trial, before)))
        for follower in trials:
            if follower.stock == trial.stock and follower.same_as == trial.intent:
                words = f"Prints this picture the same as {_INTENT_WORDS[trial.intent]}."
                ranked.append(_paper_loss(follower, place, words))
    return tuple(ranked)


def best_usual(order: Sequence[PaperLoss]) -> PaperLoss:
    """The first that may be proposed; where its paper's relative loses as little, that one."""
    first = next(one for one in order if one.intent in USUAL)
    for one in order:
        if (one.stock, one.intent, one.place) == (first.stock, "relative", first.place):
            return one
    return first


def intent_words(order: Sequence[PaperLoss]) -> str:
    """Say which of the two proposed intents loses least on one paper, and by what."""
    best = best_usual(order)
    other = next((one for one in order if one.intent in USUAL and one.intent != best.intent), None)
    name = _INTENT_WORDS[best.intent]
    if other is None:
        return f"Only {name} was compared, so it stands."
    others_name = _INTENT_WORDS[other.intent]
    if best.same_as or other.same_as:
        return f"{others_name.capitalize()} prints this picture the same: {name}, by habit."
    if best.place == other.place:
        return f"{others_name.capitalize()} loses as little of this picture: {name}, by habit."
    said, than = _told_apart(best, other)
    return f"{name.capitalize()} {said}; {others_name} {than}."


def _told_apart(best: PaperLoss, other: PaperLoss) -> tuple[str, str]:
    """The figure that speaks for the better one, of both."""
    lost = other.lost_total - best.lost_total
    moved = other.moved_total - best.moved_total
    if lost >= max(moved, WORTH_RANK):
        shares = share_words(best.hurt_percent), share_words(other.hurt_percent)
        if best.hurt_percent < 0.8 * other.hurt_percent:
            first = f"truly harms {shares[0]} of the picture" if best.hurt_percent else ""
            return first or "truly harms no place of the picture", f"harms {shares[1]}"
        less = f"{100.0 * (1.0 - best.lost_total / other.lost_total):.0f} %"
        return f"loses {less} less in the same areas", "more"
    kept = best.modelling_kept, other.modelling_kept
    if moved < WORTH_RANK and kept[0] is not None and kept[1] is not None and kept[0] > kept[1]:
        return f"keeps {100.0 * kept[0]:.0f} % of the separation", f"keeps {100.0 * kept[1]:.0f} %"
    return (
        f"moves colours by ΔE00 {best.mean_shift_de00:.1f} on average",
        f"by {other.mean_shift_de00:.1f}",
    )


def _worth(trial: Trial) -> tuple[int, int]:
    losses = trial.losses
    kept = losses.modelling_kept if losses.modelling_kept is not None else 1.0
    return round((losses.lost_total + losses.moved_total) / WORTH_RANK), -round(
        min(kept, 1.0) / _KEPT_STEP
    )


def _order(trial: Trial) -> tuple[int, int, int]:
    return (*_worth(trial), round(trial.losses.mean_shift_de00 / SAME_DE00))


def _worst(losses: PictureLosses) -> str:
    hurt = [one for one in losses.regions if one.weight == "caution"]
    return hurt[0].words if hurt else ""


def _reason(trial: Trial, before: Trial | None) -> str:
    black = trial.losses.ends.black_drawn_percent
    if black < _MUCH_BLACK:
        return _reason_but_black(trial, before)
    told = f"{share_words(black)} of the picture merges into one black where the file holds detail."
    return f"{_reason_but_black(trial, before)} {told}"


def _reason_but_black(trial: Trial, before: Trial | None) -> str:
    losses = trial.losses
    lead = "Loses least. " if before is None else ""
    if before is not None and _order(before) == _order(trial):
        return "Loses as little as the one before."
    plain = f"colours move by ΔE00 {losses.mean_shift_de00:.1f} on average"
    if losses.moved_total > max(losses.lost_total, _PLAINLY):
        places = f"; worst place: {_worst(losses)}" if losses.lost_total > 0.0 else "."
        return f"{lead}Plainly changed all over: {plain}{places}"
    if losses.lost_total > 0.0:
        share = share_words(losses.hurt_percent).capitalize()
        return f"{lead}{share} of the picture loses visibly; worst: {_worst(losses)}"
    if losses.modelling_kept is not None and losses.modelling_kept < 0.995:
        kept = f"keeps {100.0 * losses.modelling_kept:.0f} % of its separation overall"
        return f"{lead}No area loses visibly; the picture {kept}."
    return f"{lead}No area loses visibly; {plain}."


def _paper_loss(trial: Trial, place: int, reason: str) -> PaperLoss:
    losses = trial.losses
    return PaperLoss(
        place=place,
        stock=trial.stock,
        title=trial.title,
        intent=trial.intent,
        lost_total=losses.lost_total,
        moved_total=losses.moved_total,
        hurt_percent=losses.hurt_percent,
        modelling_kept=losses.modelling_kept,
        black_drawn_percent=losses.ends.black_drawn_percent,
        white_drawn_percent=losses.ends.white_drawn_percent,
        mean_shift_de00=losses.mean_shift_de00,
        worst=_worst(losses),
        same_as=trial.same_as,
        reason=reason,
    )
