"""Numbers in sentences lead to the figure they are, and to no other."""

from __future__ import annotations

from firstsheet.bench.worked import own_figures, parts_of, worked_of
from firstsheet.engine.records import Finding
from firstsheet.engine.records.figure import Figure, How, Input


def _figure(key: str, number: float, value: str, *inputs: tuple[str, float, str]) -> Figure:
    held = tuple(Input(name=name, number=one, value=shown) for name, one, shown in inputs)
    how = How(formula="a ÷ b", inputs=held, source="a table")
    return Figure(key=key, label=key, value=value, number=number, how=how)


FIGURES = (
    _figure("over-2", 86.98, "87 %"),
    _figure("over-5", 51.61, "51.6 %"),
    _figure("mean", 6.304, "6.3 ΔE00"),
    _figure("width", 263.03, "263 mm (10.4 in)"),
    _figure("luminance", 142.19, "142 cd/m²", ("light", 500.0, "500 lux")),
    _figure("levels", 28.0, "28 of 256", ("share", 2.0557, "2.0557 %")),
)


def _keys(text: str) -> list[tuple[str, str]]:
    return [(one.text, one.key) for one in parts_of(text, FIGURES) if one.key]


def test_the_parts_are_the_text() -> None:
    text = "In 500 lux the white gives 142 cd/m²; 28 of 256 levels, 1,234 px."
    assert "".join(one.text for one in parts_of(text, FIGURES)) == text


def test_a_number_is_the_figure_it_rounds() -> None:
    text = "The paper changes 87 % by more than ΔE00 2, 52 % by more than 5; mean 6.3, most 24.7."
    assert _keys(text) == [("87 %", "over-2"), ("52 %", "over-5"), ("6.3", "mean")]


def test_a_unit_must_agree() -> None:
    assert _keys("87 mm, 263 % and 263 ppi") == []
    assert _keys("263 × 175 mm") == [("263", "width")]


def test_an_input_is_known_by_its_unit_only() -> None:
    assert _keys("In 500 lux") == [("500 lux", "luminance")]
    assert _keys("500 of them; 2.1 % lies there") == [("2.1 %", "levels")]


def test_a_small_bare_count_is_no_figure_even_where_one_rounds_to_it() -> None:
    near_one = (_figure("noise", 0.96, "0.96 ΔE00"), _figure("grain", 3.1, "3.1 L*"))
    text = "May be dust: 3 hairs and 1 bright speck; grain 3.1 L* high."
    assert [(one.text, one.key) for one in parts_of(text, near_one) if one.key] == [
        ("3.1 L*", "grain"),
    ]


def test_dates_versions_and_parts_of_longer_numbers_are_left_alone() -> None:
    assert _keys("A28, 28.5, 1,028, docs/28 and 28:1") == []


def test_a_finding_explains_what_it_measured_itself() -> None:
    found = Finding(
        code="less-detail",
        weight="caution",
        found="About 308 ppi of true detail.",
        consequence="Sure by 93 %.",
        choices=(),
        source="edges and grain",
        figures={"true_ppi": 307.8, "confidence_percent": 93, "enlarged": True},
    )
    own = own_figures(found)
    assert [(one.label, one.value) for one in own] == [
        ("true", "307.8 ppi"),
        ("confidence", "93 %"),
    ]
    parts = parts_of(found.found, own)
    (worked,) = worked_of(parts, own)
    assert worked.key == "less-detail/true_ppi"
    assert worked.how.source == "edges and grain"
    assert worked_of(parts_of("nothing", own), own) == ()
