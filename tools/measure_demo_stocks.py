"""Measure the profiles of the demo stocks and keep the facts in their files.

Takes nothing; rewrites [facts] in src/firstsheet/data/stocks/*.toml, so that no run has to
measure them again. A test holds the kept facts against a fresh measurement.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import tomlkit

from firstsheet.cms.inspect import inspect_paper
from firstsheet.store.stock_text import stock_from_toml

FOLDER = Path(__file__).parents[1] / "src" / "firstsheet" / "data" / "stocks"
DECIMALS = 4


def rounded(value: Any) -> Any:
    """Floats to four decimals, everything within."""
    if isinstance(value, float):
        return round(value, DECIMALS)
    if isinstance(value, dict):
        return {key: rounded(one) for key, one in value.items()}
    if isinstance(value, list):
        return [rounded(one) for one in value]
    return value


def main() -> None:
    """Measure every demo stock."""
    for path in sorted(FOLDER.glob("*.toml")):
        text = path.read_text(encoding="utf-8")
        stock = stock_from_toml(text, name=str(path))
        facts = inspect_paper((path.parent / stock.profile_file).read_bytes())
        document = tomlkit.parse(text)
        document.pop("facts", None)
        kept = rounded(facts.model_dump(mode="json", exclude_none=True))
        bare = tomlkit.dumps(document).rstrip() + "\n\n"
        note = "# measured by tools/measure_demo_stocks.py\n"
        bare = bare.replace(note, "").rstrip() + "\n\n"
        table = tomlkit.document()
        table.add("facts", tomlkit.item(kept))
        path.write_text(bare + note + tomlkit.dumps(table), encoding="utf-8")
        print(path.name)


if __name__ == "__main__":
    main()
