"""Write the JSON schemas in docs/schema/ from the records; run it when a record changed.

Takes nothing; writes docs/schema/plan.schema.json. A test holds the file against the record.
"""

from __future__ import annotations

import json
from pathlib import Path

from firstsheet.engine.planrecord import Plan

FOLDER = Path(__file__).parents[1] / "docs" / "schema"


def main() -> None:
    """Write every schema."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    schema = Plan.model_json_schema(mode="serialization") | {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A Firstsheet plan",
    }
    path = FOLDER / "plan.schema.json"
    path.write_text(
        json.dumps(schema, indent=2, ensure_ascii=False, sort_keys=True) + "\n", "utf-8"
    )
    print(path)


if __name__ == "__main__":
    main()
