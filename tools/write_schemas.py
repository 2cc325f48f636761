"""Write the JSON schemas in docs/schema/ from the records; run it when a record changed.

Takes nothing; writes the plan's schema and one for what each command answers with `--json`.
Tests hold the files against the records.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from firstsheet.engine.records import Record
from firstsheet.engine.records.plan import Plan
from firstsheet.jobs import answers

FOLDER = Path(__file__).parents[1] / "docs" / "schema"
DRAFT = "https://json-schema.org/draft/2020-12/schema"


def kebab(name: str) -> str:
    """`StockListAnswer` as `stock-list-answer`."""
    return re.sub(r"(?<!^)(?=[A-Z])", "-", name).lower()


def schema_of(record: type[Record], title: str) -> dict[str, Any]:
    """The schema of what the record is written as."""
    return record.model_json_schema(mode="serialization") | {"$schema": DRAFT, "title": title}


def main() -> None:
    """Write every schema."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    schemas = {"plan": schema_of(Plan, "A Firstsheet plan")}
    for name in answers.__all__:
        if name.endswith("Answer"):
            schemas[kebab(name)] = schema_of(getattr(answers, name), f"Firstsheet: {kebab(name)}")
    for old in FOLDER.glob("*.schema.json"):
        if old.name.removesuffix(".schema.json") not in schemas:
            old.unlink()
    for name, schema in schemas.items():
        text = json.dumps(schema, indent=2, ensure_ascii=False, sort_keys=True) + "\n"
        (FOLDER / f"{name}.schema.json").write_text(text, encoding="utf-8")
        print(name)


if __name__ == "__main__":
    main()
