"""A way with repairs on papers without kernels: only what moves is printed again."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from firstsheet.cms.chain import srgb_chain
from firstsheet.engine.loss.repair.record import RepairField
from firstsheet.jobs.planning.colour_path import ColourPath, RepairedPath, Unrepaired
from firstsheet.store.stocks import get_stock, stock_profile_bytes

LIES = (0.0, 0.0, 1.0, 1.0)


def never() -> None:
    """Nobody stops."""


@pytest.mark.slow
def test_without_kernels_what_a_repair_leaves_alone_is_not_printed_again() -> None:
    way = ColourPath(srgb_chain(stock_profile_bytes(get_stock("chalk-matte"))))
    way.__dict__["_colours"] = None  # as for papers of four inks: the engine itself prints
    codes = np.random.default_rng(5).random((40, 60, 3))
    mask = np.zeros((40, 60), np.float32)
    mask[10:20, 10:30] = 1.0
    shift = np.zeros((2, 2, 2, 3), np.float32)
    shift[..., 0] = 6.0
    repaired = RepairedPath(way, (RepairField(shift, mask),))
    known = Unrepaired(way.wanted_lab(codes, never), way.printed_lab(codes, never))
    printed: list[int] = []
    print_colours = way.printed_of

    def counted(lab: Any) -> Any:
        printed.append(lab.reshape(-1, 3).shape[0])
        return print_colours(lab)

    anew = repaired.printed_lab(codes, never, LIES)
    way.printed_of = counted  # type: ignore[method-assign, assignment]
    quick = repaired.printed_lab(codes, never, LIES, known)

    assert sum(printed) == 200
    assert quick == pytest.approx(anew, abs=0.02)  # single precision on the way
    still = mask == 0.0
    assert (quick[still] == known.printed_lab[still]).all()
    assert np.abs(quick[~still] - known.printed_lab[~still]).max(axis=-1).min() > 0.1
