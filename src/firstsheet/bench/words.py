"""Words that the rooms say for the command line, made fit for a page.

Takes texts; gives texts. Tests: tests/web/test_bench_words.py, and the examples here.
"""

from __future__ import annotations

import re

__all__ = ["without_options"]


def without_options(text: str) -> str:
    """A text without the spelling of the command line, which a page has no use for.

    >>> without_options("Take it: --intent perceptual (ticket: intent in [colour]).")
    'Take it.'
    >>> without_options("Copy it again; --inspect looks at what is there.")
    'Copy it again.'
    >>> without_options("See every place: firstsheet losses, or What is lost on the bench.")
    'See every place.'
    """
    plain = re.sub(r"[:,]? ?(--[a-z-]+[^()]*)\(ticket: [^)]*\)", "", text)
    plain = re.sub(r" \(--[a-z-]+[^)]*\)|[:,] --[a-z-]+( [a-z0-9|-]+)?(?=\.)", "", plain)
    plain = re.sub(r"[;,] --[a-z-]+ [^.;]*(?=[.;])", "", plain)
    plain = re.sub(r": firstsheet [a-z]+(, or [^.]*)?(?=\.)", "", plain)
    return re.sub(r" +(?=[.,])", "", plain).strip()
