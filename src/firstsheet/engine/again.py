"""What has changed since a print was made, in words, with the nearest way.

Takes what was found of picture, stock, versions, decisions and codes; gives findings. Nothing is
opened or measured here. Tests: tests/engine/test_again.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from firstsheet.engine.findings import choice, finding
from firstsheet.engine.records import Finding
from firstsheet.engine.records.again import CodeDifference, PictureFound, StockFound
from firstsheet.engine.units import plain_number

__all__ = [
    "decision_findings",
    "difference_findings",
    "needs_a_word",
    "picture_findings",
    "stock_findings",
    "version_findings",
]

_SEEN_DE00 = 1.0  # below it nobody sees a difference side by side (common practice)
_PARTS = {
    "ticket": "what was wanted",
    "size": "size, crop or raster",
    "sheet": "the place on the sheet",
    "sharpen": "sharpening",
    "colour": "the conversion of colour",
    "repairs": "repairs",
    "output": "the kind of file",
    "stock": "the stock",
}


def picture_findings(found: PictureFound) -> tuple[Finding, ...]:
    """What has become of the picture."""
    if found.status == "same":
        return ()
    if found.status == "moved":
        return (
            finding(
                code="again-picture-moved",
                weight="fine",
                found=f"The picture has moved: it is {found.path} now, byte for byte.",
                consequence=f"It was {found.before}. The print is not touched by that.",
            ),
        )
    if found.status == "edited":
        return (
            finding(
                code="again-picture-edited",
                weight="caution",
                found=f"The picture was edited since: {found.path} has other bytes.",
                consequence="The file that was printed was not found, so the print cannot be the "
                "same; what differs is measured below.",
                choices=(
                    choice(
                        "Name a folder to look in for the file that was printed.",
                        option="--look-in FOLDER",
                    ),
                    choice("Make it of the edited picture.", option="--nearest"),
                ),
            ),
        )
    return (
        finding(
            code="again-picture-gone",
            weight="stop",
            found=f"The picture is gone: {found.before} is not there, and no file beside it has "
            "its content.",
            consequence="Without it nothing can be printed; the ledger keeps only a small proof.",
            choices=(
                choice("Name a folder to look in.", option="--look-in FOLDER"),
                choice("Name another file to make it of.", option="--picture FILE --nearest"),
            ),
        ),
    )


def stock_findings(name: str, found: StockFound) -> tuple[Finding, ...]:
    """What has become of the stock."""
    if not found.is_there:
        return (
            finding(
                code="again-stock-retired",
                weight="fine",
                found=f"The stock {name} is no longer among yours.",
                consequence="It is used as it was kept, with its profile. Whether the paper can "
                "still be had is for you to see.",
            ),
        )
    told = []
    if not found.same_profile:
        told.append(
            finding(
                code="again-profile-replaced",
                weight="fine",
                found=f"The profile of {name} was replaced since.",
                consequence="The profile that was used is kept, and is used again. If printer, ink "
                "or paper changed too, the new profile may come nearer to the first print.",
                choices=(choice("To print with today's profile, make it anew from its ticket."),),
            )
        )
    if found.changed:
        told.append(
            finding(
                code="again-stock-changed",
                weight="caution",
                found=f"The stock {name} says otherwise today: {'; '.join(found.changed)}.",
                consequence="The print is made as the stock was kept; look at the print dialog.",
            )
        )
    return tuple(told)


def version_findings(
    before: Mapping[str, str], now: Mapping[str, str], difference: CodeDifference | None
) -> tuple[Finding, ...]:
    """Which parts are others, and whether this picture's pixels tell."""
    changed = [
        f"{name} {before.get(name, 'none')} → {now.get(name, 'none')}"
        for name in sorted({*before, *now})
        if before.get(name) != now.get(name)
    ]
    if not changed:
        return ()
    if difference is None:
        words = "Whether this picture's pixels differ could not be measured."
    elif difference.differing == 0:
        words = f"No code differs on {difference.points} points of this picture."
    else:
        words = "By how much this picture's pixels differ is said below."
    return (
        finding(
            code="again-versions",
            weight="fine",
            found=f"Other versions: {', '.join(changed)}.",
            consequence=words,
            figures={"changed": len(changed)},
        ),
    )


def decision_findings(before: Mapping[str, Any], now: Mapping[str, Any]) -> tuple[Finding, ...]:
    """Which parts of the plan would be decided otherwise today.

    Parameters
    ----------
    before, now
        As `engine.planning.decisions` gives them; picture and versions are told elsewhere.
    """
    told = []
    for name, words in _PARTS.items():
        differing = _differing(before.get(name), now.get(name))
        if differing:
            shown = "; ".join(differing[:4]) + (
                f" and {len(differing) - 4} more" if differing[4:] else ""
            )
            told.append(f"{words} ({shown})")
    if not told:
        return ()
    return (
        finding(
            code="again-plan-differs",
            weight="caution",
            found=f"The program decides otherwise today: {'; '.join(told)}.",
            consequence="By how much this picture's pixels differ is said below.",
            figures={"parts": len(told)},
        ),
    )


def _differing(before: Any, now: Any, path: str = "") -> list[str]:
    """Paths at which two trees differ, with both values."""
    if isinstance(before, Mapping) and isinstance(now, Mapping):
        found = []
        for name in [*before, *(one for one in now if one not in before)]:
            below = f"{path}.{name}" if path else str(name)
            if name not in before and now[name] in (None, (), [], {}, "", False):
                continue  # a field that came later and says nothing
            found += _differing(before.get(name), now.get(name), below)
        return found
    if _alike(before, now):
        return []
    return [f"{path or 'value'} {_shown(before)} → {_shown(now)}"]


def _alike(before: Any, now: Any) -> bool:
    numbers = (int, float)
    if isinstance(before, numbers) and isinstance(now, numbers):
        return abs(before - now) <= 1e-9 * max(1.0, abs(before), abs(now))
    if isinstance(before, (list, tuple)) and isinstance(now, (list, tuple)):
        return len(before) == len(now) and all(map(_alike, before, now))
    return bool(before == now)


def _shown(value: Any) -> str:
    if isinstance(value, float):
        return plain_number(value, 4)
    text = str(value)
    return text if len(text) <= 40 else f"{text[:39]}…"


def difference_findings(difference: CodeDifference | None) -> tuple[Finding, ...]:
    """By how much the print would differ, as the paper shows it."""
    if difference is None:
        return (
            finding(
                code="again-not-compared",
                weight="caution",
                found="The print of today could not be held against the first one.",
                consequence="The ledger kept no codes of it, or the picture or the kind of file "
                "changed.",
            ),
        )
    if difference.differing == 0:
        return (
            finding(
                code="again-same-pixels",
                weight="fine",
                found=f"On {difference.points} points, evenly over the picture, every code is the "
                "same as in the first print.",
                consequence="It is the same print.",
                figures={"points": difference.points},
            ),
        )
    seen = difference.p95_de00 >= _SEEN_DE00
    return (
        finding(
            code="again-other-pixels",
            weight="caution" if seen else "fine",
            found=f"The print differs from the first one by ΔE00 "
            f"{plain_number(difference.mean_de00, 2)} on average, "
            f"{plain_number(difference.p95_de00, 2)} at 95 %, "
            f"{plain_number(difference.max_de00, 2)} at most, on {difference.points} points.",
            consequence="Side by side that will be seen."
            if seen
            else "Side by side that is hardly to be seen.",
            figures={
                "points": difference.points,
                "differing": difference.differing,
                "mean_de00": round(difference.mean_de00, 4),
                "p95_de00": round(difference.p95_de00, 4),
                "max_de00": round(difference.max_de00, 4),
            },
            source="ΔE00 of 1 as just visible side by side: common practice, no source",
        ),
    )


def needs_a_word(picture: PictureFound, difference: CodeDifference | None) -> bool:
    """Whether a person must decide before it is made: the print would be another one."""
    if picture.status in ("edited", "gone"):
        return True
    return difference is None or difference.differing > 0
