"""One answer, in words for people or as JSON for programs."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from firstsheet.engine.records import Record

__all__ = ["tell"]


def tell(answer: Record, as_json: bool, words: Any) -> None:
    """Print an answer: the record itself, or as `words` says it."""
    if as_json:
        click.echo(json.dumps(answer.model_dump(mode="json"), indent=2, ensure_ascii=False))
    else:
        words(answer)
