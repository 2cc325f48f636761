"""The whole analysis names the right limit and says so in plain words."""

import numpy as np
import pytest
from scanmaker import ScanSpec, crossing_cpp, make_scan  # type: ignore[import-not-found]

from firstsheet.engine.detail.verdict import analyse, film_detail
from firstsheet.engine.records.detail import DetailFacts
from firstsheet.engine.sharpness.predict import mtf_shape


def _facts(**parts: object) -> DetailFacts:
    spec = ScanSpec(**{"seed": 5, "size_px": 640, "grain": 0.02, **parts})
    plane = make_scan(spec)
    return analyse(spec.size_px, spec.size_px, lambda t, b, le, r: plane[t:b, le:r])


@pytest.mark.slow
def test_a_soft_scanner_is_named_and_a_rescan_promised_with_a_bound() -> None:
    facts = _facts(scanner_sigma_px=1.2, lens_sigma_px=0.6)
    whole = crossing_cpp(float(np.hypot(1.2, 0.6)), 0.1)

    assert facts.share == pytest.approx(whole / 0.5, rel=0.1)
    assert facts.effective_megapixels == pytest.approx(0.4096 * (whole / 0.5) ** 2, rel=0.2)
    assert (facts.limit, facts.rescan) == ("scanner", "gains")
    # lens alone 0.6 px against 1.34 px with the scanner: at most 2.2 times
    assert facts.rescan_gain == pytest.approx(2.2, rel=0.25)
    film = film_detail(facts, scan_spi=4000)
    assert film is not None
    assert film.true_spi == pytest.approx(4000 * whole / 0.5, rel=0.1)
    assert film.gain is not None
    assert film.gain * film.true_spi <= 80 * 50.8 * 1.01
    assert film.sentence.startswith("Scanned at 4,000 spi, holds about ")


@pytest.mark.slow
def test_a_soft_negative_is_named_and_a_rescan_not_recommended() -> None:
    facts = _facts(scanner_sigma_px=0.6, lens_sigma_px=1.6)
    assert (facts.limit, facts.rescan, facts.rescan_gain) == (
        "negative or lens", "only sharper grain", None,
    )  # fmt: skip
    assert any("would only give sharper grain" in sentence for sentence in facts.sentences)
    film = film_detail(facts, scan_spi=3200)
    assert film is not None
    assert film.sentence.endswith("a finer scan would only give sharper grain.")


@pytest.mark.slow
def test_an_enlargement_is_the_limit_whatever_else_there_is() -> None:
    facts = _facts(factor=1.9, lens_sigma_px=0.3, scanner_sigma_px=0.3)
    assert facts.limit == "enlargement"
    assert facts.share == pytest.approx(1 / 1.9, rel=0.12)
    assert any(sentence.startswith("Shows the rhythm of an enlargement, likely ×1.90")
               for sentence in facts.sentences)  # fmt: skip


@pytest.mark.slow
def test_a_sharp_scan_is_limited_by_its_pixels() -> None:
    facts = _facts(lens_sigma_px=0.3, scanner_sigma_px=0.3)
    assert facts.limit == "pixels"
    assert facts.sentences[0] == "Has 0.4 megapixels and holds detail down to its pixels."
    shape = mtf_shape(facts)
    assert shape is not None
    assert shape.half_cpp == facts.edges.half_cpp


def test_a_sky_alone_cannot_tell_anything_and_says_so() -> None:
    plane = make_scan(ScanSpec(scene="sky", size_px=256))
    facts = analyse(256, 256, lambda t, b, le, r: plane[t:b, le:r])
    assert (facts.share, facts.effective_megapixels, facts.limit) == (None, None, "cannot tell")
    assert "cannot be told" in facts.sentences[0]
    assert film_detail(facts, scan_spi=2400) is None
    assert mtf_shape(facts) is None


@pytest.mark.parametrize("shape", [(16, 400), (40, 40), (130, 20), (200, 1000)])
def test_odd_and_empty_pictures_pass_through(shape: tuple[int, int]) -> None:
    height, width = shape
    for plane in (np.full(shape, 100.0), np.zeros(shape), np.random.default_rng(0).random(shape)):
        facts = analyse(width, height, lambda t, b, le, r, p=plane: p[t:b, le:r])  # type: ignore[misc]
        assert facts.limit in ("cannot tell", "pixels")


def test_no_sign_of_enlargement_is_less_sure_in_a_compressed_picture() -> None:
    plane = make_scan(ScanSpec(seed=5, size_px=256, jpeg_quality=70))
    facts = analyse(256, 256, lambda t, b, le, r: plane[t:b, le:r])
    assert facts.enlarged.verdict == "no sign"
    assert facts.enlarged.confidence <= 0.7
    assert (
        facts.sentences[1]
        == "Shows no sign of having been enlarged; its compression could hide one."
    )


@pytest.mark.parametrize("shape", [(1, 1), (15, 40), (40, 3)])
def test_of_a_few_pixels_nothing_is_told(shape: tuple[int, int]) -> None:
    plane = np.random.default_rng(3).uniform(0.0, 100.0, shape)
    facts = analyse(shape[1], shape[0], lambda t, b, le, r: plane[t:b, le:r])
    assert facts.share is None
    assert (facts.limit, facts.enlarged.verdict) == ("cannot tell", "cannot tell")
    assert (facts.read_percent, facts.edges.edges, facts.noise.tiles) == (0.0, 0, 0)
    assert facts.sentences[0].startswith("Has below 0.1 megapixels; how much of that")
