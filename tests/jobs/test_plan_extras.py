"""Steps of a gradient through the chain of a print, from the file to the plan."""

from pathlib import Path

import numpy as np
import pytest
import tifffile

from firstsheet.cms.build import space_profile
from firstsheet.jobs.plan import plan_print


def _quiet(*_: object) -> None:
    """Nobody listens."""


def _ramp(folder: Path, bits: int) -> Path:
    """A sky that grows lighter downwards by 60 codes of 8 bits over 960 rows."""
    level = np.linspace(120.0, 180.0, 960)[:, None, None] * np.ones((960, 1200, 3)) / 255.0
    full = 2**bits - 1
    codes = np.round(level * full).astype(np.uint8 if bits == 8 else np.uint16)
    path = folder / f"sky-{bits}.tif"
    tifffile.imwrite(path, codes, photometric="rgb", iccprofile=space_profile("srgb"))
    return path


@pytest.mark.parametrize("bits", [8, 16])
def test_a_gradient_of_eight_bits_goes_in_steps_on_the_print_and_one_of_sixteen_does_not(
    tmp_path: Path, bits: int
) -> None:
    options = {"stock": "chalk-matte", "width": "300mm"}

    plan = plan_print(
        _ramp(tmp_path, bits), options, stocks_dir=None, out=None, ticket_out=None,
        progress=_quiet, stop=_quiet,
    ).plan  # fmt: skip

    found = [one for one in plan.findings if one.code == "steps-on-paper"]
    assert len(found) == (1 if bits == 8 else 0)
    if found:
        assert found[0].figures["run_mm"] == pytest.approx(16 * 300 / 1200, rel=0.05)
        assert 0.1 < float(found[0].figures["printed_de00"]) < 1.0
