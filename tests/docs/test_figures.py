"""The figures of the theory pages: drawn now, linked with words, and fed with published numbers."""

from __future__ import annotations

import base64
import importlib
import io
import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

ROOT = Path(__file__).parents[2]
THEORY, SCRIPTS = ROOT / "docs" / "theory", ROOT / "docs" / "figures"
NAMES = sorted(path.stem for path in SCRIPTS.glob("*_*.py"))
LINK = re.compile(r"!\[([^\]]*)\]\(([^)]+\.svg)\)")
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
TENTHS = 0.35  # px: another machine may round a coordinate the other way
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def drawn() -> Callable[[str], str]:
    """What a script draws now, once for all tests."""
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(SCRIPTS))
        patch.syspath_prepend(str(ROOT / "tools"))
        tool = importlib.import_module("draw_figures")
        known: dict[str, str] = {}

        def draw(name: str) -> str:
            if name not in known:
                known[name] = tool.drawn(name)
            return known[name]

        return draw


def committed(name: str) -> str:
    return (THEORY / f"{name.replace('_', '-')}.svg").read_text(encoding="utf-8")


def without_pictures(svg: str) -> str:
    return re.sub(r'href="data:[^"]+"', "", svg)


def pictures(svg: str) -> list[Any]:
    packed = re.findall(r'href="data:image/\w+;base64,([^"]+)"', svg)
    return [np.asarray(Image.open(io.BytesIO(base64.b64decode(one)))).astype(int) for one in packed]


def texts(svg: str) -> list[str]:
    return [one.text or "" for one in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def links() -> list[tuple[str, str, str]]:
    """Page, words and file of every drawing on a theory page."""
    found = []
    for page in sorted(THEORY.glob("*.md")):
        for words, target in LINK.findall(page.read_text(encoding="utf-8")):
            found.append((page.name, " ".join(words.split()), target))
    return found


@pytest.mark.parametrize("name", NAMES)
def test_a_figure_is_what_its_script_draws_now(drawn: Callable[[str], str], name: str) -> None:
    now, before = drawn(name), committed(name)

    assert texts(now) == texts(before), f"python tools/draw_figures.py {name}"
    bare, old = without_pictures(now), without_pictures(before)
    assert NUMBER.sub("", bare) == NUMBER.sub("", old)
    numbers, earlier = ([float(n) for n in NUMBER.findall(svg)] for svg in (bare, old))
    np.testing.assert_allclose(numbers, earlier, atol=TENTHS)
    for fresh, kept in zip(pictures(now), pictures(before), strict=True):
        assert fresh.shape == kept.shape
        assert np.abs(fresh - kept).mean() < 2.0  # of 255: another packer may round otherwise


@pytest.mark.parametrize("name", NAMES)
def test_a_figure_is_whole_small_and_reads_at_720_pixels(name: str) -> None:
    svg = committed(name)
    root = ElementTree.fromstring(svg)
    left, top, wide, high = (float(side) for side in root.attrib["viewBox"].split())

    assert root.tag == f"{SVG}svg"
    assert (left, top) == (0.0, 0.0)
    assert wide <= 720.0
    assert len(svg.encode()) < 60_000
    for text in root.iter(f"{SVG}text"):
        assert 0.0 <= float(text.attrib["x"]) <= wide
        assert 0.0 <= float(text.attrib["y"]) <= high
    for element in root.iter():
        for key, value in element.attrib.items():
            assert not value.startswith(("http:", "https:", "file:")), (element.tag, key)


def test_every_script_has_a_page_that_shows_its_figure_in_words_too() -> None:
    shown = {target for _, _, target in links()}

    assert {f"{name.replace('_', '-')}.svg" for name in NAMES} == shown
    assert {path.name for path in THEORY.glob("*.svg")} == shown


@pytest.mark.parametrize(("page", "words", "target"), links())
def test_a_figure_has_words_for_who_cannot_see_it_and_a_caption(
    page: str, words: str, target: str
) -> None:
    text = (THEORY / page).read_text(encoding="utf-8")
    script = f"docs/figures/{target.removesuffix('.svg').replace('-', '_')}.py"

    assert len(words.split()) >= 8
    after = text[text.index(f"]({target})") + len(target) + 3 :].strip().split("\n\n")[0]
    assert f"`{script}`" in after
    assert target.startswith(page.removesuffix(".md"))
    assert (THEORY / target).is_file()


def marks(svg: str) -> list[str]:
    """Rings and squares, in which figures show what others published."""
    return re.findall(r'<circle [^>]+r="3.4"[^>]+>|<rect [^>]+width="6" height="6"[^>]+>', svg)


@pytest.mark.published
@pytest.mark.parametrize(
    ("name", "table", "column"),
    [
        ("acutance_eye", "mannos_sakrison.csv", "sensitivity"),
        ("acutance_steps", "acutance.csv", "mannos_aperture"),
        ("colour_differences", "ciede2000.csv", "expected"),
        ("colour_tones", "density.csv", "d_of_lightness"),
        ("proof_scale", "press_soft_proof.csv", "paper_bpc_g"),
        ("rescan_gain", "rescan_spi.csv", "needed_spi"),
        ("resampling_kernels", "kernels.csv", "height"),
        ("resampling_kernels", "kernel_responses.csv", "response"),
        ("sizing_verdicts", "one_arc_minute.csv", "ppi"),
        ("viewing_light", "light_on_paper.csv", "luminance_cd_m2"),
        ("viewing_light", "light_for_screen.csv", "luminance_cd_m2"),
    ],
)
def test_points_of_others_come_from_their_published_table(
    drawn: Callable[[str], str],
    monkeypatch: pytest.MonkeyPatch,
    name: str,
    table: str,
    column: str,
) -> None:
    """A figure drawn from a changed table has changed points, and unchanged curves."""
    before = drawn(name)
    script = sys.modules[name]
    read = sys.modules["sources"].published
    asked = []

    def changed(wanted: str) -> list[dict[str, str]]:
        asked.append(wanted)
        rows: list[dict[str, str]] = read(wanted)
        if wanted != table:
            return rows
        return [
            row | {column: str(0.5 * float(row[column]))} if row[column] else row for row in rows
        ]

    monkeypatch.setattr(script, "published", changed)
    after = script.draw()

    assert table in asked
    assert marks(before) != marks(after)
    assert re.findall("<polyline[^>]+>", before) == re.findall("<polyline[^>]+>", after)
