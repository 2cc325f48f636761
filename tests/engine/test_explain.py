"""Each figure's formula, worked out anew from the inputs beside it, gives the figure."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from firstsheet.engine.explain import figures
from firstsheet.engine.planning import make_plan
from firstsheet.engine.records import (
    IntentFacts,
    PictureFacts,
    ProfileFacts,
    Stock,
    StockFacts,
    Ticket,
)
from firstsheet.engine.records.figure import Figure
from firstsheet.engine.records.plan import ColourPlan, LossFacts

FACTS = PictureFacts(
    path="ferry-stairs.tif", sha256="0" * 64, size_bytes=1, format="TIFF", compression="none",
    page=1, pages=1, stored_width_px=5600, stored_height_px=4500, orientation=1, width_px=5600,
    height_px=4500, colour_model="rgb", bits=16, sample_format="uint", true_bits=16,
)  # fmt: skip
STOCK = Stock(
    name="chalk-matte", title="Chalk Matte 310", profile_file="x.icc", surface="matte",
    facts=StockFacts(
        profile=ProfileFacts(), white_lab=(95.7, 0.3, -1.2), black_lab=(17.0, 0.5, 1.0),
        white_density=0.05, black_density=1.6, contrast=38.0, gamut_volume=400_000.0,
        intents=(IntentFacts(intent="relative", has_table=True),),
        floor_p95_de00=0.3, floor_p99_de00=0.5, floor_max_de00=2.0,
    ),
)  # fmt: skip
LOSS = LossFacts(
    mean_de00=2.5, p95_de00=8.0, max_de00=21.0, floor_de00=0.5,
    bands_percent=(50.0, 20.0, 15.0, 10.0, 5.0), merged_shadow_levels=12,
    merged_shadow_percent=3.0, white_l=95.7, black_l=17.0, contrast=38.83,
)  # fmt: skip
COLOUR = ColourPlan(
    mode="paper", source_name="sRGB", source_profile_sha256="", intent="relative",
    black_point=True, link="a link", link_p99_de00=0.02,
)  # fmt: skip


def shown() -> dict[str, Figure]:
    ticket = Ticket.model_validate(
        {
            "picture": "ferry-stairs.tif",
            "stock": "chalk-matte",
            "film": "6x7",
            "print": {"width_mm": 400.0, "sheet": "A3+"},
            "crop": {"shape": "3:2"},
            "place": {"distance_mm": 1500.0, "illuminance_lux": 200.0},
        }
    )
    plan = make_plan(
        ticket=ticket, facts=FACTS, stock=STOCK, colour=COLOUR, loss=LOSS, version="test"
    )
    return {one.key: one for one in figures(plan)}


Sum = Callable[..., float]
# the formulas as the page says them, typed anew
SUMS: dict[str, Sum] = {
    "width": lambda pixels, ppi: pixels / ppi * 25.4,
    "height": lambda pixels, ppi: pixels / ppi * 25.4,
    "effective-ppi": lambda pixels, inches: pixels / inches,
    "scale": lambda printed, file: printed / file,
    "crop-loss": lambda part, whole: 100 - 100 * part / whole,
    "border-top": lambda bare, ppi: bare / ppi * 25.4,
    "border-right": lambda bare, ppi: bare / ppi * 25.4,
    "border-bottom": lambda bare, ppi: bare / ppi * 25.4,
    "border-left": lambda bare, ppi: bare / ppi * 25.4,
    "sharpen-radius": lambda pixels, ppi: pixels / ppi * 25.4,
    "halo-width": lambda factor, radius: factor * radius,
    "paper-luminance": lambda lux, reflectance: lux * reflectance / math.pi,
    "contrast": lambda white, black: white / black,
    "loss-over-2": lambda *shares: sum(shares),
    "loss-over-5": lambda *shares: sum(shares),
    "file-bytes": lambda w, h, channels, bits: w * h * channels * bits / 8 / 1e6,
}


@pytest.mark.parametrize("key", SUMS)
def test_the_formula_gives_the_figure(key: str) -> None:
    figure = shown()[key]
    again = SUMS[key](*(one.number for one in figure.how.inputs))
    assert figure.number == pytest.approx(again, rel=2e-3, abs=2e-3)


@pytest.mark.parametrize("distance_mm", [300, 500, 1500])
def test_one_arc_minute_gives_the_ppi_needed(distance_mm: int) -> None:
    figure = shown()[f"needed-ppi-{distance_mm}"]
    assert figure.number == pytest.approx(25.4 / (distance_mm * math.tan(math.radians(1 / 60))))


def test_each_figure_says_formula_inputs_and_source() -> None:
    for figure in shown().values():
        assert figure.label
        assert figure.value
        assert figure.how.formula
        assert figure.how.inputs
        assert figure.how.source


def test_nothing_is_left_unexplained_and_no_key_comes_twice() -> None:
    keys = set(shown())
    assert set(SUMS) <= keys
    assert {"loss-mean", "merged-levels", "needed-spi", "link-error", "paper-black"} <= keys
