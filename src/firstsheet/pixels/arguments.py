"""The kinds of the arguments of every kernel, one letter each, for callers and compiler alike.

b h f i q are addresses of uint8, uint16, float32, int32 and int64; n is a whole number.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

__all__ = ["ARGUMENTS", "LANES", "ROWS", "TILE"]

LANES = 16  # rows side by side in `resample_horizontal`
ROWS = 4  # source rows added together in `resample_vertical`
TILE = 256  # pixels worked on together once they are planes

_DOWN = "nnnnn" + "infnn" + "fnnfnfnn"
_PAPER = "ffnnqnffnfqnfnfi"
ARGUMENTS: Mapping[str, str] = MappingProxyType(
    {
        "resample_horizontal": "fnnqinfnnffnfnqn",
        "aim": "fnnqnff",
        "resample_vertical_f32": "f" + _DOWN,
        "resample_vertical_u16": "h" + _DOWN,
        "resample_vertical_u8": "b" + _DOWN,
        "keep_u16": "fffnnqnnnfffffi" + "hnnnn",
        "keep_u8": "fffnnqnnnfffffi" + "bnnnn",
        "loss": "ffnf",
        "luma": "fnnqnnffq",
        "measure": "hnff",
        "paper_eight_u16": _PAPER + "hnnnn",
        "paper_eight_u8": _PAPER + "bnnnn",
        "paper_four_u16": _PAPER + "hnnnn",
        "paper_four_u8": _PAPER + "bnnnn",
        "plain_u16": "fnnqnnnffi" + "hnnnn",
        "plain_u8": "fnnqnnnffi" + "bnnnn",
        "recode": "fnfnnqnnnfffnfi",
        "repair": "fnnqnqfnfnnififnfi",
        "screen": "fnfbfib",
        "shade": "fnfbb",
        "sharpen": "fnqnfnffff",
        "spread": "hnnfnf",
        "to_lab": "fnnqnnnfffifnqn",
        "interleave": "fnf",
    }
)
