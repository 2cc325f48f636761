"""Colour data the pixel tests share."""

from __future__ import annotations

from pathlib import Path

import pytest

import firstsheet
from firstsheet.cms.chain import Chain, build_chain
from firstsheet.cms.link import PaperLink, SourceColour, paper_link, source_colour

PAPERS = Path(firstsheet.__file__).parent / "data" / "papers"


@pytest.fixture(scope="session")
def srgb_profile() -> bytes:
    """The sRGB profile that libvips carries."""
    import pyvips

    return bytes(pyvips.Operation.call("profile_load", "srgb"))


@pytest.fixture(scope="session")
def chain(srgb_profile: bytes) -> Chain:
    """From sRGB to a glossy paper, relative with black point compensation."""
    return build_chain(
        source_profile=srgb_profile,
        colour_model="rgb",
        paper_profile=(PAPERS / "glossy_synthetic_v4.icc").read_bytes(),
        intent="relative",
        black_point=True,
    )


@pytest.fixture(scope="session")
def colour(chain: Chain) -> SourceColour:
    """The picture's side of that chain."""
    return source_colour(chain)


@pytest.fixture(scope="session")
def link(chain: Chain) -> PaperLink:
    """The paper's side of that chain."""
    return paper_link(chain)
