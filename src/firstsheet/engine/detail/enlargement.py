"""Was the picture enlarged? Joins the rhythm of interpolation and the mirror images.

Takes a Survey; gives an EnlargedFacts. The rhythm is what a clean file shows; JPEG drowns it, and
then what lies above the old pixels' limit can still be told for a mirror image of what lies below.
Theory: docs/theory/true-detail.md. Tests: tests/engine/detail/test_enlargement.py.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from firstsheet.engine.detail.mirrors import Mirror, MirrorTrace, mirror_of, mirror_trace
from firstsheet.engine.detail.resampled import by_rhythm, lost_above
from firstsheet.engine.detail.survey import Survey
from firstsheet.engine.records.detail import EnlargedFacts

__all__ = ["enlarged"]

# All limits from made pictures, tools/derive_enlarged.py; what came near them is said beside.
_CLEAR: Final = 20.0  # strength on both axes; untouched JPEG stayed under 11
_LIKE: Final = 0.12  # reductions without a wider kernel stayed under 0.11
_LEAST_RATE: Final = 0.24  # below it, the old blocks of a JPEG that was made smaller look alike
# Above this rate the mirror lies where a reduction's would: more is asked there.
_CLOSE_RATE, _CLOSE_LIKE, _CLOSE_LOST = 0.47, 0.15, 0.3
# Other lines of no kin tell of blocks that were resampled along: least and most that may stand,
# and the share of the strength.
_LEAST_PEER, _MOST_PEER, _PEER_SHARE = 8.0, 25.0, 0.05
_MOST_COMB, _COMB_SHARE = 2.6, 0.01  # for the other teeth of a comb, and of the strength
# In a large picture chance lines stand higher beside a strong one, but far from as high as those
# of old blocks: beside wrong rates of such strength these had 0.34 and more, or a comb above 11.
_STRONG, _STRONG_PEER_SHARE, _STRONG_COMB = 100.0, 0.13, 3.0
# Doubling and fourfold enlargement beat with the blocks; they must pass the eighths beside them.
_EIGHTH_LIKE, _TWICE, _FOURFOLD = 0.3, 2.0, 3.0
_ON_STEPS: Final = 0.95  # cosine; a colour filter pattern lies on pixels, a doubling between them
_SAME: Final = 0.03  # share by which both ways may differ
_LEAST_PX: Final = 160  # side below which nothing is said


def enlarged(survey: Survey) -> EnlargedFacts:
    """Say whether the picture was enlarged, where one of two traces is beyond doubt.

    Notes
    -----
    That resampling correlates the spectrum with itself, and that this outlives JPEG: D.
    Vazquez-Padin, C. Mosquera, F. Perez-Gonzalez, "Two-dimensional statistical test for the
    presence of almost cyclostationarity on images", 2010, and later work on spectral correlation.
    """
    facts = by_rhythm(survey)
    if min(survey.width_px, survey.height_px) < _LEAST_PX or not survey.strips:
        return facts
    across = mirror_trace(survey.strips, survey.width_px, down=False)
    down = mirror_trace(survey.strips, survey.height_px, down=True)
    mirror = mirror_of(across, down)
    if facts.verdict == "enlarged":
        return _doubted(facts, mirror)
    if mirror is not None and _sure(mirror, survey):
        return _told(facts, mirror.rate, mirror.likeness, mirror.strength / _CLEAR)
    even = _even_factor(across, down)
    if even is not None:
        return _told(facts, even[0], even[1], even[1] / _EIGHTH_LIKE)
    return facts


def _sure(mirror: Mirror, survey: Survey) -> bool:
    """True where nothing but an enlargement leaves such a line."""
    if mirror.rate < _LEAST_RATE or mirror.strength < _CLEAR or mirror.likeness < _LIKE:
        return False
    if not _alone(mirror):
        return False
    if mirror.rate <= _CLOSE_RATE:
        return True
    return mirror.likeness >= _CLOSE_LIKE and lost_above(survey, mirror.rate) >= _CLOSE_LOST


def _alone(mirror: Mirror) -> bool:
    """True where no other line of its own stands beside it, and no comb runs through it."""
    share = min(_PEER_SHARE * mirror.strength, _MOST_PEER)
    teeth = max(_MOST_COMB, _COMB_SHARE * mirror.strength)
    if mirror.peer <= max(_LEAST_PEER, share) and mirror.comb <= teeth:
        return True
    if mirror.strength < _STRONG or mirror.rate > _CLOSE_RATE:
        return False
    teeth = max(_STRONG_COMB, _COMB_SHARE * mirror.strength)
    return mirror.peer <= _STRONG_PEER_SHARE * mirror.strength and mirror.comb <= teeth


def _doubted(facts: EnlargedFacts, mirror: Mirror | None) -> EnlargedFacts:
    """Take a factor back where the mirror images tell of resampled blocks, or of another rate."""
    if facts.factor is None or mirror is None:
        return facts
    clear = mirror.strength >= _CLEAR and mirror.likeness >= _LIKE
    if not clear:
        return facts
    same = abs(mirror.rate * facts.factor - 1.0) <= _SAME
    if _alone(mirror) and same:
        return facts.model_copy(update={"mirrored": round(mirror.likeness, 2)})
    return facts.model_copy(update={"verdict": "maybe enlarged", "factor": None, "confidence": 0.4})


def _even_factor(across: MirrorTrace, down: MirrorTrace) -> tuple[float, float] | None:
    """Rate and likeness of a doubling or a fourfold enlargement; None where blocks may do it."""
    like = [np.abs(axis.eighths) for axis in (across, down)]
    least, most = np.minimum(*like), np.maximum(*like)
    if least[2] >= max(_EIGHTH_LIKE, _FOURFOLD * most[3]):
        return 0.25, float(least[2])
    on_steps = all(
        abs(axis.eighths[4].real) >= _ON_STEPS * abs(axis.eighths[4]) for axis in (across, down)
    )
    beside = max(most[2], most[3], most[5])  # at a quarter it may be the overtone of four times
    if least[4] >= max(_EIGHTH_LIKE, _TWICE * beside) and on_steps:
        return 0.5, float(least[4])
    return None


def _told(facts: EnlargedFacts, rate: float, likeness: float, surplus: float) -> EnlargedFacts:
    """An enlargement told by its mirror images."""
    confidence = 0.8 + 0.15 * (1.0 - 1.0 / max(surplus, 1.0))
    return facts.model_copy(
        update={
            "verdict": "enlarged",
            "factor": round(1.0 / rate, 3),
            "confidence": round(confidence, 3),
            "mirrored": round(likeness, 2),
            "told_by": "mirror images",
        }
    )
