"""Numbers in sentences lead to the figure they are, and to no other."""

from __future__ import annotations

from firstsheet.bench.worked import own_figures, parts_of, worked_of
from firstsheet.engine.findings import finding, said, shown
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


def test_the_parts_are_the_text_and_lead_to_the_figures_they_show() -> None:
    sentence = said(
        f"{shown('over-2', '87 %')} shifts, {shown('unknown', '12 px')}; mean "
        f"{shown('mean', '6.3')}.",
        "found",
    )
    parts = parts_of(sentence.text, sentence.spans, FIGURES)

    assert "".join(one.text for one in parts) == "87 % shifts, 12 px; mean 6.3."
    assert [(one.text, one.key) for one in parts if one.key] == [
        ("87 %", "over-2"),
        ("6.3", "mean"),
    ]


def test_a_number_that_was_not_said_to_be_a_figure_leads_nowhere() -> None:
    """However alike they look: 263 mm of sheet is not the picture's width."""
    assert [one.key for one in parts_of("263 mm", (), FIGURES)] == [""]


def test_a_finding_explains_what_it_measured_itself() -> None:
    found = finding(
        code="less-detail",
        weight="caution",
        found=f"About {shown('true_ppi', '308 ppi')} of true detail.",
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
    parts = parts_of(found.found, found.spans, own)
    (worked,) = worked_of(parts, own)
    assert worked.key == "less-detail/true_ppi"
    assert worked.how.source == "edges and grain"
    assert worked_of(parts_of("nothing", (), own), own) == ()
