"""One answer, in words for people or as JSON for programs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from firstsheet.engine.records import Record

__all__ = ["tell"]


def tell(answer: Record, as_json: bool, words: Any) -> None:
    """Print an answer: the record itself, or as `words` says it."""
    if as_json:
        click.echo(answer.model_dump_json(indent=2))
    else:
        words(answer)
