"""What commands answer with --json is described in the docs, and the description is current."""

from __future__ import annotations

import json
import re
from pathlib import Path

import jsonschema
import pytest

from firstsheet.engine.sizing.rescan import rescan
from firstsheet.jobs import answers

FOLDER = Path(__file__).parents[2] / "docs" / "schema"
NAMES = [name for name in answers.__all__ if name.endswith("Answer")]


def kebab(name: str) -> str:
    return re.sub(r"(?<!^)(?=[A-Z])", "-", name).lower()


@pytest.mark.parametrize("name", NAMES)
def test_the_schema_of_each_answer_is_current(name: str) -> None:
    kept = json.loads((FOLDER / f"{kebab(name)}.schema.json").read_text(encoding="utf-8"))
    fresh = getattr(answers, name).model_json_schema(mode="serialization")

    jsonschema.Draft202012Validator.check_schema(kept)
    assert {**kept, "title": ""} == {
        **fresh,
        "title": "",
        "$schema": "https://json-schema.org/draft/2020-12/schema",
    }, "run tools/write_schemas.py"


def test_no_schema_is_left_over() -> None:
    kept = {path.name for path in FOLDER.glob("*.schema.json")}

    assert kept == {"plan.schema.json", *(f"{kebab(name)}.schema.json" for name in NAMES)}


def test_a_made_answer_fits_its_schema() -> None:
    answer = answers.RescanJobAnswer(picture="", answer=rescan("6x7", width_mm=500))
    schema = json.loads((FOLDER / "rescan-job-answer.schema.json").read_text(encoding="utf-8"))

    jsonschema.validate(json.loads(answer.model_dump_json()), schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"picture": ""}, schema)
