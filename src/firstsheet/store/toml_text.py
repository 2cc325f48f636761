"""TOML texts with the line of every key, and slips that name it.

Takes a text and its name; gives its values and, for each key, its line. A slip says file, line,
key, value and what would be right. Tests: tests/store/test_toml_text.py.
"""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from firstsheet.engine.errors import TicketError
from firstsheet.store.regular import regular_size

__all__ = ["TomlText", "nearest", "read_text", "shown"]

_TABLE = re.compile(r"^\s*\[+\s*([^\]]+?)\s*\]+\s*(#.*)?$")
_KEY = re.compile(r"^\s*(\"[^\"]+\"|'[^']+'|[A-Za-z0-9_\-.]+)\s*=")
_AT = re.compile(r"\(at (?:line (\d+), column \d+|end of document)\)$")
_LONGEST_BYTES = 1_000_000  # nobody types a longer ticket


def read_text(path: Path, what: str) -> str:
    """Read a small UTF-8 file, or say what is wrong with it.

    Parameters
    ----------
    path
        The file.
    what
        What it is to be, for the message: `ticket` or `stock`.
    """
    try:
        size = regular_size(path)
        if size > _LONGEST_BYTES:
            raise TicketError(
                f"{path} is {size / 1e6:.1f} MB long.",
                f"A {what} is a short text, so this is something else.",
                f"Name the {what} itself, a .toml file.",
                "not-a-text",
            )
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise TicketError(
            f"{path} is not a text in UTF-8: byte {error.start} is no character of it.",
            f"It cannot be read as a {what}.",
            "Save it as UTF-8, or name the right file.",
            "not-a-text",
        ) from error
    except OSError as error:
        raise TicketError(
            f"{path} cannot be read: {error.strerror or error}.",
            f"Without the {what} nothing is decided.",
            "Check the name and the folder.",
            "cannot-read",
        ) from error


def shown(value: object) -> str:
    """A value as it is written in TOML, for messages.

    >>> shown("400"), shown(True), shown(3)
    ('“400”', 'true', '3')
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f"“{value}”"
    return str(value)


def nearest(word: str, known: Iterable[str]) -> str:
    """A sentence that names the closest known words, or all of them.

    >>> nearest("widht", ["width", "height", "sheet"])
    'Perhaps “width”?'
    """
    names = list(known)
    near = difflib.get_close_matches(word, names, n=2, cutoff=0.6)
    if near:
        return "Perhaps " + " or ".join(f"“{one}”" for one in near) + "?"
    return "Known here: " + ", ".join(names) + "."


class TomlText:
    """A parsed TOML text that knows the line of each key.

    Parameters
    ----------
    text
        The text.
    name
        How messages call it, usually the path.
    what
        `ticket` or `stock`.

    Raises
    ------
    TicketError
        If the text is not TOML; it names the line and shows it.
    """

    def __init__(self, text: str, name: str, what: str) -> None:
        self.name, self.what = name, what
        self._lines = text.splitlines()
        try:
            self.values: Mapping[str, Any] = tomllib.loads(text)
        except tomllib.TOMLDecodeError as error:
            raise self._not_toml(str(error)) from error
        except (ValueError, RecursionError) as error:  # endless digits, endless brackets
            raise TicketError(
                f"{name} holds a number or a nesting that has no end.",
                f"The {what} cannot be read.",
                "Look for a key held down too long.",
                "not-toml",
            ) from error
        self._where = _key_lines(self._lines)

    def _not_toml(self, message: str) -> TicketError:
        at = _AT.search(message)
        number = int(at[1]) if at and at[1] else max(1, len(self._lines))
        reason = _AT.sub("", message).strip().lower()
        line = self._lines[number - 1].strip() if number <= len(self._lines) else ""
        hint = 'Write key = value; put words and lengths in quotes: width = "400 mm".'
        bare = re.match(r"^([A-Za-z0-9_\-]+)\s*=\s*([^\"'\[{\s][^\"'#]*?)\s*(#.*)?$", line)
        if bare and not re.fullmatch(r"[-+]?[0-9.]+|true|false", bare[2]):
            hint = f'Words and lengths stand in quotes: {bare[1]} = "{bare[2]}".'
        return TicketError(
            f"{self.name}, line {number}: “{line}” is not TOML ({reason}).",
            f"The {self.what} cannot be read.",
            hint,
            "not-toml",
        )

    def line(self, section: str, key: str | None = None) -> int:
        """Line of a key, or of its section's head; 1 where neither can be found."""
        return self._where.get((section, key or ""), self._where.get((section, ""), 1))

    def slip(
        self, section: str, key: str, value: object, choice: str, code: str, why: str = ""
    ) -> TicketError:
        """A slip about one key."""
        place = f"{_section_shown(section)} {key}" if section else key
        return TicketError(
            f"{self.name}, line {self.line(section, key)}: {place} = {shown(value)}"
            + (f" {why}" if why else " cannot be")
            + ".",
            f"The {self.what} is not used.",
            choice,
            code,
        )

    def unknown(self, section: str, key: str, known: Iterable[str]) -> TicketError:
        """A key that means nothing here."""
        within = f" in {_section_shown(section)}" if section else ""
        return TicketError(
            f"{self.name}, line {self.line(section, key)}: the key “{key}”{within} is not known.",
            "A key that is passed over would be a wish not heard, so nothing is done.",
            nearest(key, known),
            "unknown-key",
        )

    def unknown_section(self, section: str, known: Iterable[str]) -> TicketError:
        """A table that means nothing here."""
        return TicketError(
            f"{self.name}, line {self.line(section)}: the section [{section}] is not known.",
            "A section that is passed over would be a wish not heard, so nothing is done.",
            nearest(section, known),
            "unknown-section",
        )


def _section_shown(section: str) -> str:
    """How a section is called; `repair#2` is the second of its kind.

    >>> _section_shown("print"), _section_shown("repair#2")
    ('[print]', '[[repair]] 2:')
    """
    name, _, number = section.partition("#")
    return f"[[{name}]] {number}:" if number else f"[{name}]"


def _key_lines(lines: list[str]) -> dict[tuple[str, str], int]:
    """(section, key) to line number; ("section", "") is the head. Long strings are stepped over.

    The second of several tables of one name is called `name#2`.
    """
    where: dict[tuple[str, str], int] = {}
    counts: dict[str, int] = {}
    section, inside = "", ""
    for number, line in enumerate(lines, start=1):
        if inside:
            inside = "" if inside in line else inside
            continue
        head, entry = _TABLE.match(line), _KEY.match(line)
        if head:
            section = head[1].strip("\"' ")
            where.setdefault((section, ""), number)
            if line.lstrip().startswith("[["):
                counts[section] = counts.get(section, 0) + 1
                section = f"{section}#{counts[section]}"
                where[(section, "")] = number
        elif entry:
            key = entry[1].strip("\"'")
            inner, _, last = key.rpartition(".")
            where.setdefault((inner or section, last), number)
            where.setdefault((inner or section, ""), number)
        for fence in ('"""', "'''"):
            if line.count(fence) % 2:
                inside = fence
    return where
