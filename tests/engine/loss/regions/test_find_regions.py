"""Regions on pictures and papers that were made, so that the truth is known."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from firstsheet.engine.colour.lab import lab_to_lch, lch_to_lab
from firstsheet.engine.loss.regions.find import RegionMap, find_regions, wanted_cells

MM_PER_PX = 0.3
SIDE = 96  # of a planted patch, whole cells
BACKGROUND = (60.0, 0.0, 0.0)
PLACES = {"upper left": (48, 48), "upper right": (48, 456), "lower left": (336, 48)}

Places = dict[str, tuple[tuple[float, float, float], float]]


def planted(patches: Places) -> np.ndarray:
    """Even grey with textured patches: place -> colour and texture, L* deviation."""
    lab = np.empty((480, 600, 3))
    lab[:] = BACKGROUND
    texture = np.random.default_rng(11).normal(0.0, 1.0, (SIDE // 2, SIDE // 2))
    for place, (colour, deviation) in patches.items():
        lab[at(place)] = colour
        lab[at(place)][..., 0] += deviation * np.repeat(np.repeat(texture, 2, 0), 2, 1)
    return lab


def at(place: str) -> tuple[slice, slice]:
    top, left = PLACES[place]
    return slice(top, top + SIDE), slice(left, left + SIDE)


def flattened(lab: np.ndarray, place: str, kept: float) -> None:
    mean = lab[at(place)].mean(axis=(0, 1))
    lab[at(place)] = mean + kept * (lab[at(place)] - mean)


def found(wanted: np.ndarray, printed: np.ndarray, **options: float) -> RegionMap:
    cells = wanted_cells(wanted, mm_per_px=MM_PER_PX, distance_mm=500.0)
    return find_regions(cells, printed, floor_de00=1.0, black_l=options.get("black_l", 0.0))


BLUE, ORANGE, GREEN = (35.0, 20.0, -55.0), (60.0, 40.0, 60.0), (50.0, -40.0, 35.0)
SHARE = SIDE * SIDE / (480 * 600) * 100.0


def test_a_print_without_loss_leaves_nothing_to_do() -> None:
    wanted = planted({"upper left": (BLUE, 4.0)})
    losses = found(wanted, wanted.copy()).losses

    assert losses.nothing_to_do
    assert losses.regions == ()
    assert losses.verdict == "Nothing to do: the paper shows this picture as it is meant."
    assert losses.modelling_kept == pytest.approx(1.0)


def test_a_flattened_patch_is_found_where_it_lies_with_what_it_keeps() -> None:
    wanted = planted({"upper left": (ORANGE, 4.0), "lower left": (BLUE, 4.0)})
    printed = wanted.copy()
    flattened(printed, "lower left", 0.54)
    (region,) = found(wanted, printed).losses.regions

    assert region.kinds == ("flattened",)
    assert region.weight == "caution"
    assert (region.place, region.pieces) == ("lower left", 1)
    assert region.modelling_kept == pytest.approx(0.54, abs=0.005)
    assert region.area_percent == pytest.approx(SHARE, rel=0.01)
    assert region.area_mm2 == pytest.approx((SIDE * MM_PER_PX) ** 2, rel=0.01)
    assert region.box == pytest.approx((48 / 600, 336 / 480, 144 / 600, 432 / 480))
    assert region.words == (
        "deep blue, lower left, 3 % of the picture: only 54 % of the tonal separation survives."
    )


def test_a_large_shift_that_keeps_its_modelling_is_fine() -> None:
    wanted = planted({"upper left": (ORANGE, 4.0)})
    printed = wanted.copy()
    printed[at("upper left")] += (-8.0, 0.0, 0.0)
    losses = found(wanted, printed).losses
    (region,) = losses.regions

    assert region.mean_de00 > 6.0
    assert (region.weight, region.kinds, region.rank) == ("fine", ("moved",), 0.0)
    assert losses.nothing_to_do
    assert losses.hurt_percent == 0.0
    assert losses.moved_fine_percent == pytest.approx(SHARE, rel=0.01)
    assert losses.verdict.startswith("Nothing to do: 3 % of the picture moves by ΔE00 2 or more")


def oklab_hue(library: Any, lab: np.ndarray) -> float:
    """Hue of a colour by another library, its own adaptation included, degrees."""
    d50, d65 = np.array([0.3457, 0.3585]), np.array([0.3127, 0.3290])
    xyz = library.chromatic_adaptation(
        library.Lab_to_XYZ(lab, d50),
        library.xy_to_XYZ(d50),
        library.xy_to_XYZ(d65),
        method="Von Kries",
        transform="Bradford",
    )
    _, a, b = library.XYZ_to_Oklab(xyz)
    return float(np.degrees(np.arctan2(b, a)))


def test_a_turned_hue_is_told_in_degrees_and_direction(colour_science: Any) -> None:
    wanted = planted({"upper right": (BLUE, 4.0)})
    printed = wanted.copy()
    lch = lab_to_lch(printed[at("upper right")])
    lch[..., 2] += 15.0
    printed[at("upper right")] = lch_to_lab(lch)
    (region,) = found(wanted, printed).losses.regions

    assert region.kinds == ("hue",)
    assert region.hue_toward == "violet"
    assert region.hue_turn_degrees == pytest.approx(
        oklab_hue(colour_science, lch_to_lab(lab_to_lch(BLUE) + np.array([0.0, 0.0, 15.0])))
        - oklab_hue(colour_science, np.array(BLUE)),
        abs=0.3,
    )
    assert "toward violet" in region.words


def test_the_worst_loss_leads_and_the_harmless_shift_comes_last() -> None:
    wanted = planted(
        {"upper left": (ORANGE, 4.0), "upper right": (BLUE, 4.0), "lower left": (GREEN, 4.0)}
    )
    printed = wanted.copy()
    printed[at("upper left")] += (-10.0, 0.0, 0.0)
    flattened(printed, "upper right", 0.6)
    flattened(printed, "lower left", 0.2)
    regions = found(wanted, printed).losses.regions

    assert [one.place for one in regions] == ["lower left", "upper right", "upper left"]
    assert [one.weight for one in regions] == ["caution", "caution", "fine"]
    # 1.2156 is S_L of CIEDE2000 at L* 35 over that at 50: 1 + 0.015 * 15^2 / sqrt(20 + 15^2)
    assert regions[0].rank == pytest.approx(regions[1].rank * 0.8 / 0.4 * 1.2156, rel=0.03)


def test_rank_grows_with_area() -> None:
    wanted = planted({"upper left": (BLUE, 4.0), "upper right": (GREEN, 4.0)})
    printed = wanted.copy()
    flattened(printed, "upper left", 0.3)
    half = (slice(48, 96), slice(456, 552))
    whole = printed[at("upper right")].copy()
    flattened(printed, "upper right", 0.3)
    printed[half] = whole[:48]
    first, second = found(wanted, printed).losses.regions

    assert (first.place, second.place) == ("upper left", "upper right")
    assert first.area_percent == pytest.approx(2.0 * second.area_percent, rel=0.05)


def test_shadow_drawing_that_prints_as_one_black_is_told_as_such() -> None:
    wanted = planted({"lower left": ((8.0, 0.0, 0.0), 2.0)})
    printed = wanted.copy()
    printed[..., 0] = np.maximum(printed[..., 0], 17.0)
    losses = found(wanted, printed, black_l=17.0).losses
    (region,) = losses.regions

    assert region.kinds == ("black",)
    assert region.modelling_kept == pytest.approx(0.0, abs=0.01)
    assert losses.ends.black_percent == pytest.approx(SHARE, rel=0.01)
    assert losses.ends.black_drawn_percent == pytest.approx(SHARE, rel=0.01)


def test_an_even_black_has_nothing_to_lose() -> None:
    wanted = planted({"lower left": ((3.0, 0.0, 0.0), 0.0)})
    printed = wanted.copy()
    printed[..., 0] = np.maximum(printed[..., 0], 17.0)

    assert found(wanted, printed, black_l=17.0).losses.nothing_to_do


def test_broad_steps_that_merge_count_although_no_cell_is_drawn() -> None:
    wanted = planted({"lower left": ((10.0, 0.0, 0.0), 0.0)})
    for step in range(4):  # a wedge of four even greys, 24 px each
        wanted[336:432, 48 + 24 * step : 72 + 24 * step, 0] = 4.0 + 4.0 * step
    printed = wanted.copy()
    printed[..., 0] = np.maximum(printed[..., 0], 17.0)
    (region,) = found(wanted, printed, black_l=17.0).losses.regions

    assert region.kinds == ("black",)
    assert region.modelling_kept == pytest.approx(0.0, abs=0.01)


def test_highlight_drawing_at_bare_paper_is_told_as_such() -> None:
    wanted = planted({"upper left": ((94.0, 0.0, 0.0), 3.0)})
    printed = wanted.copy()
    printed[at("upper left")] = (99.5, 0.0, 0.0)
    losses = found(wanted, printed).losses
    (region,) = losses.regions

    assert region.kinds == ("paper-white",)
    assert losses.ends.white_largest_mm2 == pytest.approx((SIDE * MM_PER_PX) ** 2, abs=0.05)


def test_a_smooth_form_that_is_flattened_counts() -> None:
    wanted = planted({"lower left": (BLUE, 0.0)})
    wanted[at("lower left")][..., 0] += np.linspace(-10.0, 10.0, SIDE)
    printed = wanted.copy()
    flattened(printed, "lower left", 0.3)
    printed[at("lower left")][..., 1:] *= 0.8  # duller, of the same hue
    regions = found(wanted, printed).losses.regions
    kept = [one.modelling_kept for one in regions if one.weight == "caution"]

    assert kept == pytest.approx([0.3], abs=0.02)


def test_a_neutral_that_takes_on_a_cast_is_told() -> None:
    wanted = planted({})
    printed = wanted + np.array([0.0, 0.0, 4.0])
    (region,) = found(wanted, printed).losses.regions

    assert region.kinds == ("neutral",)
    assert region.place == "all over"
    assert "should be neutral and prints 4.0 toward yellow" in region.words


def test_skin_like_colours_are_watched_for_hue_and_chroma_not_for_lightness() -> None:
    skin = (65.0, 18.0, 20.0)
    wanted = planted({"upper left": (skin, 3.0), "upper right": (skin, 3.0)})
    printed = wanted.copy()
    printed[at("upper left")] += (-6.0, 0.0, 0.0)
    printed[at("upper right")] += (0.0, 9.0, 0.0)
    first, second = found(wanted, printed).losses.regions

    assert first.place == "upper right"
    assert "skin-like" in first.kinds
    assert (second.place, second.weight) == ("upper left", "fine")


def test_colours_apart_are_regions_apart_though_they_touch() -> None:
    wanted = planted({"upper left": (BLUE, 4.0)})
    wanted[48:144, 144:240] = np.array(ORANGE) + (wanted[at("upper left")] - BLUE)
    printed = wanted.copy()
    for columns in (slice(48, 144), slice(144, 240)):
        part = printed[48:144, columns]
        mean = part.mean(axis=(0, 1))
        printed[48:144, columns] = mean + 0.3 * (part - mean)
    names = [one.colour for one in found(wanted, printed).losses.regions]

    assert len(names) == 2
    assert any("blue" in name for name in names)
    assert any("orange" in name for name in names)


def test_the_map_marks_each_told_region() -> None:
    wanted = planted({"upper left": (BLUE, 4.0), "lower left": (GREEN, 4.0)})
    printed = wanted.copy()
    flattened(printed, "upper left", 0.2)
    flattened(printed, "lower left", 0.5)
    regions = found(wanted, printed)

    assert regions.cell_px == 8
    assert regions.labels.shape == (60, 75)
    assert regions.labels[8, 8] == 1
    assert regions.labels[45, 8] == 2
    assert regions.labels[30, 60] == 0


def test_many_losses_are_told_in_a_bounded_list() -> None:
    rng = np.random.default_rng(9)
    wanted = np.repeat(np.repeat(rng.uniform(10.0, 90.0, (15, 20, 3)), 32, 0), 32, 1)
    wanted[..., 1:] -= 50.0
    wanted[..., 0] += rng.normal(0.0, 3.0, wanted.shape[:2])
    printed = 0.4 * wanted + np.array([30.0, 0.0, 0.0])
    losses = found(wanted, printed).losses

    assert 5 < len(losses.regions) <= 16
    assert losses.hurt_percent <= 100.0


def test_pictures_of_other_sizes_are_a_slip_of_the_program() -> None:
    wanted = planted({})

    with pytest.raises(ValueError, match="printed is"):
        found(wanted, wanted[:-1])


def test_a_small_area_is_overlooked_from_afar() -> None:
    wanted = planted({"upper left": (BLUE, 0.0)})
    printed = wanted.copy()
    lch = lab_to_lch(printed[at("upper left")])
    lch[..., 2] += 20.0
    printed[at("upper left")] = lch_to_lab(lch)
    seen = []
    for distance_mm in (500.0, 3000.0):
        cells = wanted_cells(wanted, mm_per_px=MM_PER_PX, distance_mm=distance_mm)
        (region,) = find_regions(cells, printed, floor_de00=1.0, black_l=0.0).losses.regions
        seen.append(region.visibility)
        assert region.rank == pytest.approx(region.lost * region.area_percent * seen[-1], rel=1e-3)

    # 28.8 mm square is as large as a disc of 32.5 mm: 3.7 degrees at 50 cm, 0.62 at 3 m
    assert seen == pytest.approx([1.0, 0.62], abs=0.01)


def test_a_single_cell_that_keeps_its_steps_makes_no_hole() -> None:
    wanted = planted({"upper left": (BLUE, 4.0)})
    printed = wanted.copy()
    flattened(printed, "upper left", 0.3)
    kept = (slice(88, 96), slice(88, 96))
    printed[kept] = wanted[kept]
    (region,) = found(wanted, printed).losses.regions

    assert region.pieces == 1
    assert region.area_percent == pytest.approx(SHARE)


def test_alike_areas_in_one_place_are_told_as_one_with_their_pieces() -> None:
    wanted = planted({"upper left": (BLUE, 4.0)})
    wanted[:, 88:96] = BACKGROUND
    printed = wanted.copy()
    for columns in (slice(48, 88), slice(96, 144)):
        part = printed[48:144, columns]
        mean = part.mean(axis=(0, 1))
        printed[48:144, columns] = mean + 0.3 * (part - mean)
    (region,) = found(wanted, printed).losses.regions

    assert region.pieces == 2
    assert "in 2 pieces" in region.words


def test_a_grey_that_only_moves_is_said_to_stay_neutral() -> None:
    wanted = planted({"upper left": ((40.0, 0.0, 0.0), 4.0)})
    printed = wanted.copy()
    printed[at("upper left")] += (6.0, 0.0, 0.0)
    (region,) = found(wanted, printed).losses.regions

    assert region.weight == "fine"
    assert region.words.endswith("and neutrality are kept; nothing to do.")
