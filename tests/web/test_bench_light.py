"""The print in the light where it hangs, beside the screen that shows it."""

from __future__ import annotations

import io
import math
import re

import numpy as np
import pytest
from PIL import Image
from visitors import Visitor  # type: ignore[import-not-found]

from firstsheet.engine.light.viewing import shown_share


def test_a_perfect_white_is_as_bright_as_the_screen_in_377_lux() -> None:
    # L = E * rho / pi, rho = 1 (definition of a Lambertian surface): 120 * pi = 377.0 lux.
    assert shown_share(120 * math.pi, 120) == pytest.approx(1.0)
    assert shown_share(188.5, 120) == pytest.approx(0.5, abs=1e-4)


@pytest.mark.parametrize(("lux", "white"), [(-1, 120), (100, 0)])
def test_impossible_lights_are_refused(lux: float, white: float) -> None:
    with pytest.raises(ValueError, match="must be"):
        shown_share(lux, white)


def _first_tile(visitor: Visitor, tiles: dict[str, str]) -> np.ndarray:
    url = tiles["url"].replace("{z}", "0").replace("{x}", "0").replace("{y}", "0")
    data = visitor.client.get(url.replace(".jpg", ".png")).content
    codes = np.asarray(Image.open(io.BytesIO(data)).convert("RGB"), dtype=float) / 255
    # Display P3 has the curve of sRGB (IEC 61966-2-1).
    return np.where(codes <= 0.04045, codes / 12.92, ((codes + 0.055) / 1.055) ** 2.4)


def test_tiles_under_a_dim_light_have_that_share_of_the_proofs_light(visitor: Visitor) -> None:
    draft = visitor.open("ferry stairs.tif")
    view = visitor.change(draft, place__light="100")
    proof, lit = (_first_tile(visitor, view["tiles"][kind]) for kind in ("proof", "lit"))
    bright = proof > 0.2
    assert bright.any()
    assert np.median(lit[bright] / proof[bright]) == pytest.approx(100 / (120 * math.pi), abs=0.003)
    assert view["light"]["shows"]
    assert "100 lux" in view["light"]["words"]


def test_the_bare_paper_is_darkened_with_its_picture(visitor: Visitor) -> None:
    """Y by the definition of L* (CIE 15), of the paper and of what is shown of it."""
    draft = visitor.open("ferry stairs.tif")
    view = visitor.change(draft, place__light="100")
    lightness = float(re.findall(r"[\d.]+", view["light"]["white_css"])[0])
    stock = next(one["value"] for one in view["sentence"] if one["key"] == "stock")
    white = visitor.get(f"/api/stocks/{stock}")["stock"]["facts"]["white_lab"][0]
    shown, paper = (((one + 16) / 116) ** 3 for one in (lightness, white))
    assert shown / paper == pytest.approx(100 / (120 * math.pi), abs=0.002)


def test_a_light_brighter_than_the_screen_is_said_and_not_shown(visitor: Visitor) -> None:
    draft = visitor.open("ferry stairs.tif")
    view = visitor.change(draft, place__light="2000")
    assert "lit" not in view["tiles"]
    assert not view["light"]["shows"]
    assert "nothing is darkened" in view["light"]["words"]
