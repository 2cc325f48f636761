"""A faultless scan, to be given one fault at a time."""

from collections.abc import Callable
from typing import Any

import pytest

from firstsheet.engine.records import ChannelFacts, PictureFacts, ProfileFacts


def profile(**changes: Any) -> ProfileFacts:
    values: dict[str, Any] = {
        "description": "sRGB IEC61966-2.1",
        "device_class": "mntr",
        "colour_space": "RGB",
        "kind": "working",
        "space": "srgb",
        "wide": False,
        "size_bytes": 480,
    }
    return ProfileFacts(**{**values, **changes})


def channel(name: str, **changes: Any) -> ChannelFacts:
    values: dict[str, Any] = {
        "name": name,
        "lowest": 300,
        "highest": 64000,
        "levels_used": 50000,
        "clipped_low_percent": 0.0,
        "clipped_high_percent": 0.0,
        "largest_low_patch_percent": 0.0,
        "largest_high_patch_percent": 0.0,
        "comb_percent": 0.0,
    }
    return ChannelFacts(**{**values, **changes})


def make_scan(**changes: Any) -> PictureFacts:
    """A faultless 16-bit scan with a profile.

    `profile` may be a dict of changes to the faultless one, `channels` a dict of them by name.
    """
    if isinstance(changes.get("profile"), dict):
        changes["profile"] = profile(**changes["profile"])
    if isinstance(changes.get("channels"), dict):
        changes["channels"] = tuple(channel(name, **c) for name, c in changes["channels"].items())
    values: dict[str, Any] = {
        "path": "ferry-stairs.tif",
        "suffix": ".tif",
        "sha256": "0" * 64,
        "size_bytes": 39_600_000,
        "format": "TIFF",
        "compression": "none",
        "page": 1,
        "pages": 1,
        "stored_width_px": 3000,
        "stored_height_px": 2200,
        "orientation": 1,
        "width_px": 3000,
        "height_px": 2200,
        "colour_model": "rgb",
        "bits": 16,
        "sample_format": "uint",
        "true_bits": 16,
        "tag_ppi_x": 300.0,
        "tag_ppi_y": 300.0,
        "profile": profile(),
        "channels": (channel("R"), channel("G"), channel("B")),
        "mask_confidence": 0.0,
    }
    return PictureFacts(**{**values, **changes})


@pytest.fixture(scope="session")
def scan() -> Callable[..., PictureFacts]:
    """Give `scan(**changes)`: the facts of a faultless scan with these changes."""
    return make_scan
