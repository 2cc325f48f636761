"""A vivid blue made duller at constant hue: in CIELAB it turns violet, in Oklab it does not."""

from __future__ import annotations

from typing import Any

import numpy as np
from drawing import ACCENT, INK, SECOND, Axis, Drawing, Look, ticks
from sources import colour_science

from firstsheet.engine.colour.hue import lab_of_oklab, oklab_of_lab
from firstsheet.engine.colour.lab import lab_to_xyz, xyz_to_lab
from firstsheet.engine.colour.spaces import SPACES

__all__ = ["draw"]


def library_hues(library: Any, lab: Any) -> dict[str, Any]:
    """Hues of CIELAB D50 in two spaces by another library, degrees."""
    d50, d65 = np.array([0.3457, 0.3585]), np.array([0.3127, 0.3290])
    xyz = library.chromatic_adaptation(
        library.Lab_to_XYZ(lab, d50),
        library.xy_to_XYZ(d50),
        library.xy_to_XYZ(d65),
        method="Von Kries",
        transform="Bradford",
    )
    return {
        "oklab": hue(library.XYZ_to_Oklab(xyz)),
        "ipt": hue(library.XYZ_to_IPT(xyz)),
    }


def hue(space: Any) -> Any:
    """Angle of the two colour coordinates, degrees."""
    return np.degrees(np.arctan2(space[..., 2], space[..., 1])) % 360.0


def swatches(drawing: Drawing, lab: Any, top: float) -> None:
    """A row of the colours themselves."""
    rgb = SPACES["srgb"].from_xyz_d50(lab_to_xyz(lab))
    drawing.picture(rgb[None], 470, top, 228, 34, smooth=False)


def draw() -> str:
    """One panel and two rows of colour."""
    drawing = Drawing(high_px=330)
    panel = drawing.panel(
        58, 32, 380, 248, title="Hue turned on the way to grey, sRGB blue",
        x=Axis(title="share of the chroma that is kept", low=0.1, high=1.0,
               ticks=ticks(0.1, 1.0, 0.1)),
        y=Axis(title="degrees", low=-10.0, high=50.0, ticks=ticks(-10, 50, 10)),
    )  # fmt: skip
    blue = xyz_to_lab(SPACES["srgb"].to_xyz_d50((0.0, 0.0, 1.0)))
    share = np.linspace(0.1, 1.0, 46)
    straight = blue * np.stack([np.ones(46), share, share], axis=-1)
    kept = lab_of_oklab(oklab_of_lab(blue) * np.stack([np.ones(46), share, share], axis=-1))
    library = colour_science()
    for lab, look in ((straight, Look(SECOND, 1.8, "6 3")), (kept, Look(ACCENT))):
        told = hue(oklab_of_lab(lab))
        panel.curve(share, told - told[-1], look)
        other = library_hues(library, lab)
        for space, mark in (("oklab", "ring"), ("ipt", "triangle")):
            turned = other[space] - other[space][-1]
            panel.points(share[::5], turned[::5], mark)  # type: ignore[arg-type]
    panel.legend(
        (
            (Look(SECOND, 1.8, "6 3"), "at constant CIELAB hue"),
            (Look(ACCENT), "at constant Oklab hue"),
            (("ring", INK), "Oklab by colour-science"),
            (("triangle", INK), "IPT by colour-science"),
        ),
        196, 16,
    )  # fmt: skip
    steps = np.linspace(0.1, 1.0, 12)
    ones = np.ones(12)
    drawing.text(470, 70, "at constant CIELAB hue")
    swatches(drawing, blue * np.stack([ones, steps, steps], axis=-1), 78)
    drawing.text(470, 150, "at constant Oklab hue")
    scaled = oklab_of_lab(blue) * np.stack([ones, steps, steps], axis=-1)
    swatches(drawing, lab_of_oklab(scaled), 158)
    drawing.text(470, 212, "10 %")
    drawing.text(698, 212, "100 % of the chroma", anchor="end")
    return drawing.svg()
