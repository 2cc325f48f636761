"""The plan's sharpening and look: fitted, eased for sharpened files, or told to be unknown."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
import pytest
from PIL import Image
from scipy import ndimage

from firstsheet.engine.detail.verdict import analyse
from firstsheet.engine.records import DetailWish, Finding, Place, Stock, Ticket
from firstsheet.engine.records.detail import DetailFacts, HaloFacts
from firstsheet.engine.records.plan import SharpenPlan, SizePlan
from firstsheet.engine.records.sharpness import LookPlan, PrintNoise
from firstsheet.engine.sharpness.findings import look_findings
from firstsheet.engine.sharpness.output import sharpen_plan
from firstsheet.engine.sharpness.predict import eased_share, overshoot_on_print, plan_sharpening

Picture = np.ndarray[tuple[int, ...], np.dtype[np.float64]]


@lru_cache(maxsize=8)
def measured(blur_px: float, gain: float = 0.0) -> DetailFacts:
    """What is measured of a picture of tilted edges, blurred and then sharpened by SciPy."""
    rng = np.random.default_rng(5)
    height, width = 640, 900
    down, across = np.mgrid[0:height, 0:width].astype(np.float64)
    picture = np.full((height, width), 55.0)
    for _ in range(50):
        angle, at = rng.uniform(0, np.pi), rng.uniform(-0.4, 0.4)
        side = np.cos(angle) * (across / width - 0.5) + np.sin(angle) * (down / height - 0.5)
        picture += np.where(side > at, 1.0, -1.0) * rng.uniform(-9, 9)
    soft = ndimage.gaussian_filter(picture, blur_px)
    crisp = soft + gain * (soft - ndimage.gaussian_filter(soft, 1.5))
    crisp = np.clip(crisp + rng.normal(0, 0.4, crisp.shape), 0, 100)
    return analyse(width, height, lambda t, b, left, r: crisp[t:b, left:r].astype(np.float32))


@lru_cache(maxsize=1)
def flat() -> DetailFacts:
    """A picture without an edge."""
    even = np.random.default_rng(3).normal(60, 0.5, (200, 300)).astype(np.float32)
    return analyse(300, 200, lambda t, b, left, r: even[t:b, left:r])


def made(blur_px: float, overshoot: float = 0.0, noise_l: float = 0.4) -> DetailFacts:
    """Facts of a picture with a Gaussian blur, as they would be measured."""
    half, tenth = 0.187391 / blur_px, 0.341541 / blur_px
    edges = flat().edges.model_copy(
        update={"half_cpp": half, "tenth_cpp": tenth, "confidence": 0.9, "told": "measured"}
    )
    halo = HaloFacts(
        edges=20,
        overshoot_percent=100 * overshoot,
        undershoot_percent=100 * overshoot,
        width_px=4.0 if overshoot else None,
        told="clear" if overshoot else "none",
        confidence=0.95,
    )
    noise = flat().noise.model_copy(update={"sigma_l": noise_l})
    return flat().model_copy(update={"edges": edges, "halo": halo, "noise": noise})


def sized(scale: float = 1.0, ppi: float = 360.0) -> SizePlan:
    return SizePlan(
        crop_left_px=0, crop_top_px=0, crop_width_px=1300, crop_height_px=900,
        crop_loss_percent=0, crop_loss_mm=(0, 0, 0, 0), width_px=round(1300 * scale),
        height_px=round(900 * scale), ppi=ppi, width_mm=1300 * scale / ppi * 25.4,
        height_mm=900 * scale / ppi * 25.4, effective_ppi=ppi / scale, scale=scale,
        enlarged=scale > 1, resample="none" if scale == 1 else "enlarge" if scale > 1 else "reduce",
        verdicts=(),
    )  # fmt: skip


def ticket(sharpen: Any = None, distance_mm: float = 500.0) -> Ticket:
    return Ticket(
        picture="p.tif",
        stock="s",
        detail=DetailWish(sharpen=sharpen),
        place=Place(distance_mm=distance_mm),
    )


def stock(surface: Any = "matte") -> Stock:
    return Stock(name="s", title="S", profile_file="s.icc", surface=surface)


def planned(
    detail: DetailFacts | None, wish: Any = None, scale: float = 1.0, surface: Any = "matte"
) -> tuple[SharpenPlan, LookPlan | None, tuple[Finding, ...]]:
    sharp, look = plan_sharpening(ticket(wish), stock(surface), sized(scale), detail)
    return sharp, look, look_findings(ticket(wish), sharp, look, detail)


def manual(wish: Any, surface: str = "matte") -> SharpenPlan:
    return sharpen_plan(wish=wish, radius_mm=None, surface=surface, distance_mm=500, ppi=360)


USUAL = manual(1).model_copy(update={"name": "usual"})


def test_before_the_picture_is_measured_the_manual_sharpening_holds() -> None:
    sharp, look, found = planned(None)
    assert (sharp, look, found) == (USUAL, None, ())
    assert planned(None, "fitted")[0] == USUAL
    assert planned(None, "off")[0] == manual("off")


def test_an_unsharpened_file_gets_what_was_asked_for() -> None:
    for wish in (None, "off", 0.6, 1.7):
        sharp, look, _ = planned(made(0.7), wish)
        assert sharp == (USUAL if wish is None else manual(wish))
        assert look is not None
        assert not look.eased


def test_fitted_becomes_what_the_plan_uses() -> None:
    sharp, look, _ = planned(made(0.7), "fitted")
    assert look is not None
    assert look.fitted is not None
    assert (sharp.name, sharp.strength) == ("fitted", look.fitted.strength)
    assert sharp.gain == pytest.approx(look.fitted.gain)
    assert sharp.radius_mm == look.fitted.radius_mm
    assert look.acutance_sharpened == pytest.approx(look.fitted.reached, abs=1e-3)


def test_a_blurred_file_is_fitted_with_more_than_a_sharp_one_and_matte_with_more_than_gloss() -> (
    None
):
    sharp_gloss, sharp_matte = (planned(made(0.6), "fitted", 1, s)[0] for s in ("gloss", "matte"))
    soft_gloss = planned(made(1.8), "fitted", 1, "gloss")[0]
    assert soft_gloss.gain > sharp_gloss.gain
    assert sharp_matte.gain > sharp_gloss.gain


@pytest.mark.slow
def test_the_whole_way_from_a_made_picture_gives_soft_files_more_and_sharpened_ones_less() -> None:
    usual, soft, sharpened = (
        planned(measured(*how), "fitted", 1, "gloss") for how in ((0.7,), (1.9,), (0.7, 1.5))
    )
    assert usual[0].strength < soft[0].strength
    eased = planned(measured(0.7, 1.5), None, 1, "gloss")[1]
    assert eased is not None
    assert eased.eased
    assert sharpened[0].strength < usual[0].strength


def test_without_edges_fitted_falls_back_to_the_usual_and_says_so() -> None:
    sharp, look, found = planned(flat(), "fitted")
    assert sharp == USUAL
    assert look is not None
    assert (look.fitted, look.basis) == (None, "pixels")
    assert look.sentence.startswith("At best, for no edges could be measured: ")
    told = [one for one in found if one.code == "fitted-cannot-be-told"]
    assert len(told) == 1
    assert told[0].consequence.endswith("the usual one is taken.")


def test_the_usual_is_eased_for_a_sharpened_file_and_numbers_are_taken_literally() -> None:
    detail = made(0.8, 0.1)
    sharp, look, found = planned(detail)
    assert sharp.strength < 0.8
    assert sharp.name == "eased"
    assert look is not None
    assert look.eased
    assert look.wished_strength == 1.0
    assert planned(detail, 1.0)[0] == manual(1.0)
    said = next(one for one in found if one.code == "sharpened-already")
    assert said.consequence == (
        f"Halos add up, so the output sharpening is eased from 1.00 to {sharp.strength:.2f}."
    )
    assert said.choices[1].change == {"detail.sharpen": "1"}


def test_fitted_leaves_less_to_a_file_that_is_sharpened_already() -> None:
    unsharpened, before = (planned(made(0.8, gain), "fitted")[0] for gain in (0.0, 0.08))
    assert before.strength < unsharpened.strength


@pytest.mark.parametrize("factor", [1.5, 2.0, 3.0])
def test_overshoot_melts_when_the_file_is_made_smaller_as_another_resampler_shows(
    factor: float,
) -> None:
    x = np.arange(-300, 300)
    step = ndimage.gaussian_filter1d(np.where(x > 0.3, 70.0, 30.0), 0.8)
    crisp = step + 1.2 * (step - ndimage.gaussian_filter1d(step, 1.5))
    rim = np.interp(np.arange(0, 600, 0.05), np.arange(600), np.maximum(crisp - 70, 0))
    rim_px = 0.05 * np.count_nonzero(rim > rim.max() / 2)
    count = round(600 / factor) - 2
    left = []
    for phase in (0.0, 0.25, 0.5, 0.75):
        box = (phase * factor, 0.0, (phase + count) * factor, 3.0)
        picture = Image.fromarray(np.tile(crisp.astype(np.float32), (3, 1)))
        small = np.asarray(picture.resize((count, 3), Image.Resampling.BICUBIC, box=box))[1]
        left.append(small[5:-5].max() - 70)

    detail = made(0.8, 0.1)
    detail = detail.model_copy(
        update={"halo": detail.halo.model_copy(update={"width_px": 2 * rim_px})}
    )
    said = overshoot_on_print(detail, 1 / factor) / overshoot_on_print(detail, 1.0)
    assert said == pytest.approx(np.mean(left) / (crisp.max() - 70), abs=0.13)


@pytest.mark.parametrize(("share", "left"), [(0.0, 1.0), (0.03, 1.0), (0.075, 0.5), (0.5, 0.25)])
def test_what_is_left_of_a_strength_falls_with_the_overshoot(share: float, left: float) -> None:
    assert eased_share(share) == pytest.approx(left)


def test_a_soft_enlargement_is_said_to_be_soft_with_three_ways_out() -> None:
    _, look, found = planned(made(1.8), None, 2.5)
    assert look is not None
    said = next(one for one in found if one.code == "look-soft")
    assert said.weight == "caution"
    assert said.found == look.sentence
    assert said.consequence.startswith("From 50 cm (20 in) it looks soft: sharpness 0.")
    assert said.choices[0].text.startswith("Use fitted sharpening: stronger, strength ")
    assert said.choices[0].change == {"detail.sharpen": "fitted"}
    assert said.choices[1].change.keys() == {"place.distance"}
    assert said.choices[2].text == "Print it smaller."


def test_grain_is_spoken_of_where_the_eye_sees_it_and_else_not() -> None:
    look = planned(made(0.7))[1]
    assert look is not None
    seen = PrintNoise(
        sigma_l=1.3, size_mm=0.3, distance_mm=500, visible=True, times_threshold=5.0,
        gone_from_mm=1500, sentence="Medium grain, 0.30 mm on the print, gone from 1.5 m on.",
    )  # fmt: skip
    unseen = seen.model_copy(update={"visible": False})
    with_grain, without = (
        look_findings(ticket(), USUAL, look.model_copy(update={"grain": grain}), made(0.7))
        for grain in (seen, unseen)
    )
    said = next(one for one in with_grain if one.code == "grain-seen")
    assert said.consequence == (
        "From 50 cm (20 in) it is plainly seen: 1.3 L* on the print, 5.0 times what the eye can "
        "just see."
    )
    assert not any(one.code == "grain-seen" for one in without)
