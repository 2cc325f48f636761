"""The three demo papers as the engine sees them: what is printed of any colour."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from firstsheet.cms.chain import build_chain

PAPERS = Path(__file__).parents[4] / "src/firstsheet/data/papers"

Printed = Callable[[Any], Any]


def printed_by(path: Path, *, black_point: bool) -> Printed:
    """What a paper shows of colours, by the relative colorimetric intent."""
    chain = build_chain(
        source_profile=b"",
        colour_model="lab",
        paper_profile=path.read_bytes(),
        intent="relative",
        black_point=black_point,
    )

    def printed(lab: Any) -> Any:
        return chain.printed_lab(chain.device_from_lab(chain.aim_from_wanted(lab)))

    return printed


@pytest.fixture(scope="session", params=["glossy", "matte", "newsprint"])
def paper_name(request: pytest.FixtureRequest) -> str:
    """Each of the three papers."""
    return str(request.param)


@pytest.fixture(scope="session")
def printed(paper_name: str) -> Printed:
    """What it shows, its black point compensated."""
    return printed_by(_path(paper_name), black_point=True)


@pytest.fixture(scope="session")
def printed_hard(paper_name: str) -> Printed:
    """What it shows with the black point left alone: dark tones merge."""
    return printed_by(_path(paper_name), black_point=False)


def _path(name: str) -> Path:
    (path,) = (one for one in PAPERS.glob("*.icc") if name in one.stem)
    return path
