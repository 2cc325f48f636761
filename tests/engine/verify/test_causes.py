"""Each cause has a made example with known truth, and is found first.

The examples are made by other means than the models that look for them: inks left out of a real
press profile, spectra of its real patches changed, second conversions through the demo papers.
"""

from __future__ import annotations

import struct
from collections.abc import Callable
from dataclasses import dataclass
from itertools import permutations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from firstsheet.cms.build import space_profile
from firstsheet.cms.chain import Chain, build_chain, srgb_chain
from firstsheet.engine.colour.lab import xyz_to_lab
from firstsheet.engine.colour.spectra import spectra_to_xyz
from firstsheet.engine.records.verification import Aim, Cause
from firstsheet.engine.verify.causes import Circumstances, Prediction, likely_causes
from firstsheet.engine.verify.compare import roles_of
from firstsheet.files.reading.measured.weights import spectral_weights

Floats = NDArray[np.float64]
PAPERS = Path(__file__).parents[3] / "src/firstsheet/data/papers"
NOISE = 0.25  # of an instrument, in each of L*, a*, b*


def wanted() -> Floats:
    """Paper, black, greys and three rings of colours, Lab relative to paper."""
    ring = np.arange(0, 2 * np.pi, np.pi / 4)
    colours = [[light, 50 * np.cos(t), 50 * np.sin(t)] for light in (40, 60, 75) for t in ring]
    greys = [[light, 0, 0] for light in (85, 70, 55, 40, 25)]
    return np.array([[100, 0, 0], [0, 0, 0], *greys, *colours], dtype=np.float64)


def causes(aim: Floats, read: Floats, known: Circumstances | None = None) -> tuple[Cause, ...]:
    noisy = read + np.random.default_rng(7).normal(0, NOISE, read.shape)
    roles = roles_of([Aim(name=str(i), lab=tuple(one)) for i, one in enumerate(aim)])
    return likely_causes(aim, noisy, roles, known or Circumstances())


@dataclass
class Press:
    """A real CMYK process: the profile that libvips carries, and its measured spectra."""

    chain: Chain
    waves: Floats
    spectra: Floats

    @property
    def ink(self) -> Floats:
        return self.chain.device_from_lab(wanted())

    def printed(self, ink: Floats) -> Floats:
        return self.chain.printed_lab_absolute(ink)

    def lab(self, spectra: Floats) -> Floats:
        table = spectral_weights("D50", "2", 10)
        return xyz_to_lab(spectra_to_xyz(spectra, self.waves, table))


@pytest.fixture(scope="module")
def press() -> Press:
    pyvips = pytest.importorskip("pyvips")
    profile = bytes(pyvips.Operation.call("profile_load", "cmyk"))
    count = struct.unpack(">I", profile[128:132])[0]
    tags = {
        name: (at, size)
        for name, at, size in (
            struct.unpack(">4sII", profile[132 + 12 * i : 144 + 12 * i]) for i in range(count)
        )
    }
    if b"targ" not in tags:
        pytest.skip("this profile carries no measurements")
    at, size = tags[b"targ"]
    text = profile[at + 8 : at + size].decode("latin-1").replace("\r", "\n")
    values = np.array(text.split("BEGIN_DATA\n")[1].split("END_DATA")[0].split(), dtype=float)
    rows = values.reshape(-1, 44)
    order = np.argsort(-rows[:, 6])  # by Y: the paper first, the darkest last
    kept = rows[[order[0], *order[20::48], order[-1]]]
    return Press(srgb_chain(profile), np.arange(380, 740, 10, dtype=float), kept[:, 8:] / 100)


@pytest.mark.parametrize("ink", [0, 1, 2, 3], ids=["cyan", "magenta", "yellow", "black"])
@pytest.mark.parametrize("left", [0.0, 0.4, 0.7])
def test_a_missing_or_weak_ink_is_named(press: Press, ink: int, left: float) -> None:
    weaker = press.ink
    weaker[:, ink] *= left

    first = causes(press.printed(press.ink), press.printed(weaker))[0]

    assert first.code == f"weak-{('cyan', 'magenta', 'yellow', 'black')[ink]}"
    assert first.mean_after is not None
    assert first.mean_after < 0.75 * first.mean_before


@pytest.mark.parametrize("share", [0.8, 0.9, 1.12])
def test_another_media_setting_is_told_by_the_ink_of_all_colours(
    press: Press, share: float
) -> None:
    ink = press.ink

    first = causes(press.printed(ink), press.printed(np.clip(ink * share, 0, 1)))[0]

    assert (first.code, first.chance) == ("media-setting", "likely")
    assert ("less" if share < 1 else "more") in first.reason


@pytest.mark.parametrize("tint", ["cream", "grey"])
def test_another_paper_is_told_by_its_white(press: Press, tint: str) -> None:
    """The same inks on a paper that takes more of the blue, or of all light."""
    share = 1.0 - 0.22 * np.exp(-np.square((press.waves - 400.0) / 80.0))
    if tint == "grey":
        share = 0.93 - 0.08 * (press.waves - 380.0) / 350.0

    found = causes(press.lab(press.spectra), press.lab(press.spectra * share))

    assert "other-paper" in [one.code for one in found[:2]]
    assert found[0].chance == "likely"


def brightened(press: Press, amount: float) -> Floats:
    """Fluorescence about 440 nm, as far as the ink lets light in and out."""
    glow = amount * np.exp(-np.square((press.waves - 440.0) / 22.0))
    through = press.spectra[:, 6:7] / press.spectra[0, 6]
    return np.asarray(press.spectra + glow * through)


def test_another_measuring_condition_is_told_by_blue_alone(press: Press) -> None:
    aim, read = press.lab(brightened(press, 0.10)), press.lab(press.spectra)

    unknown = causes(aim, read)
    stated = causes(aim, read, Circumstances(illumination="M2", expected_illumination="M1"))

    assert unknown[0].code == "measuring-condition"
    assert stated[0].code == "measuring-condition"
    assert stated[0].chance == "likely"
    assert "The readings are M2, the aims M1." in stated[0].reason


def test_an_aged_lamp_is_told_where_the_condition_is_the_same(press: Press) -> None:
    aim, read = press.lab(brightened(press, 0.10)), press.lab(brightened(press, 0.02))
    known = Circumstances(illumination="M1", expected_illumination="M1")

    assert causes(aim, read, known)[0].code == "aged-lamp"


def test_one_factor_on_everything_is_the_instruments_scale(press: Press) -> None:
    found = causes(press.lab(press.spectra), press.lab(press.spectra * 0.93))

    assert found[0].code == "instrument-scale"
    assert "darker by one factor, without a tint" in found[0].reason


def test_a_print_read_too_early_is_told_by_the_clock(press: Press) -> None:
    ink = press.ink
    known = Circumstances(hours_since_print=0.5)

    first = causes(press.printed(ink), press.printed(ink * 0.93), known)[0]

    assert first.code == "not-dried"
    assert first.reason.startswith("It was read 30 minutes after printing")


def test_a_day_later_the_same_difference_is_not_blamed_on_drying(press: Press) -> None:
    ink = press.ink
    found = causes(
        press.printed(ink), press.printed(ink * 0.9), Circumstances(hours_since_print=30)
    )

    assert "not-dried" not in [one.code for one in found]


@pytest.fixture(scope="module")
def papers() -> dict[str, bytes]:
    return {path.name.split("_")[0]: path.read_bytes() for path in sorted(PAPERS.glob("*.icc"))}


def second(paper: bytes, device: Floats, space: str) -> Floats:
    """Device values converted once more, as if they were colours of a working space."""
    again = build_chain(
        source_profile=space_profile(space),
        colour_model="rgb",
        paper_profile=paper,
        intent="perceptual",
        black_point=True,
    )
    return again.device(device)


Predict = Callable[[Chain, Floats], tuple[Prediction, ...]]


def predictions(papers: dict[str, bytes], own: str, device: Floats) -> tuple[Prediction, ...]:
    """Twice by relative colorimetric from sRGB, and each paper as it would show these values."""
    chain = srgb_chain(papers[own])
    srgb = chain.device(device)
    found = [Prediction("converted-twice", "Twice", chain.printed_lab_absolute(srgb), "")]
    for name, profile in papers.items():
        if name != own:
            lab = srgb_chain(profile).printed_lab_absolute(device)
            found.append(Prediction(f"paper-{name}", name, lab, ""))
    return tuple(found)


@pytest.mark.parametrize("own", ["glossy", "matte", "newsprint"])
@pytest.mark.parametrize("space", ["srgb", "a98-rgb"])
def test_a_second_conversion_is_told_even_where_its_space_is_not_ours(
    papers: dict[str, bytes], own: str, space: str
) -> None:
    chain = srgb_chain(papers[own])
    device = chain.device_from_lab(wanted())
    read = chain.printed_lab_absolute(second(papers[own], device, space))
    known = Circumstances(predictions=predictions(papers, own, device))

    assert causes(chain.printed_lab_absolute(device), read, known)[0].code == "converted-twice"


@pytest.mark.parametrize(("own", "other"), list(permutations(["glossy", "matte", "newsprint"], 2)))
def test_another_known_paper_is_named(papers: dict[str, bytes], own: str, other: str) -> None:
    chain = srgb_chain(papers[own])
    device = chain.device_from_lab(wanted())
    read = srgb_chain(papers[other]).printed_lab_absolute(device)
    known = Circumstances(predictions=predictions(papers, own, device))

    first = causes(chain.printed_lab_absolute(device), read, known)[0]

    assert (first.code, first.chance) == (f"paper-{other}", "likely")


def test_a_good_print_needs_no_cause(papers: dict[str, bytes]) -> None:
    chain = srgb_chain(papers["glossy"])
    device = chain.device_from_lab(wanted())
    aim = chain.printed_lab_absolute(device)

    assert causes(aim, aim, Circumstances(predictions=predictions(papers, "glossy", device))) == ()


def test_differences_without_a_pattern_are_given_no_cause(papers: dict[str, bytes]) -> None:
    chain = srgb_chain(papers["glossy"])
    device = chain.device_from_lab(wanted())
    aim = chain.printed_lab_absolute(device)
    scattered: Any = aim + np.random.default_rng(5).normal(0, 5, aim.shape)
    scattered[0] = aim[0]

    known = Circumstances(predictions=predictions(papers, "glossy", device))
    assert causes(aim, scattered, known) == ()


def test_drift_is_named_by_the_earlier_readings(papers: dict[str, bytes]) -> None:
    chain = srgb_chain(papers["glossy"])
    aim = chain.printed_lab_absolute(chain.device_from_lab(wanted()))
    shifted = aim + np.array([0.0, 1.2, -1.2])
    shifted[0] = aim[0]

    found = causes(aim, shifted, Circumstances(drift="The difference grew over 8 readings."))

    assert [one.code for one in found] == ["drift"]
