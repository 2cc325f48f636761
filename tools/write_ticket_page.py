"""Write docs/ticket.md from the table of ticket keys; run it when a key changed.

Takes nothing; writes the page. A test holds every key and example against it.
"""

from __future__ import annotations

from pathlib import Path

from firstsheet.store.repair_tables import REPAIR_KEYS
from firstsheet.store.ticket_keys import SECTIONS

PAGE = Path(__file__).parents[1] / "docs" / "ticket.md"

HEAD = """\
# The ticket

A ticket is a small TOML text that says what is wanted. `firstsheet plan`, `make` and `proof` take
one instead of a picture; `firstsheet plan PICTURE … --ticket-out FILE` writes one from options.
Only `picture` and `stock` must be there; whatever is left out stands at its default.

```toml
picture = "scans/ferry-stairs.tif" # relative to the ticket's own folder
stock = "chalk-matte"
film = "6x7"

[print]
width = "400 mm"
sheet = "A3+"

[border]
kind = "even"

[place]
distance = "1.5 m"
light = "200 lux"
```

Lengths are written with their unit and in quotes: `"400 mm"`, `"40 cm"`, `"15 in"`, `"1.5 m"`,
`"8 1/2 in"`, `"6 ft"`. A bare number could be either, so it is not guessed. A key or section that
is not known stops everything and names its line, because a wish passed over in silence would spoil
a sheet.
"""

NOTES = {
    "print": "At most one of `width`, `height` and `long-side`. With none of them the picture "
    "fills the sheet less a border: 6 mm up to 10 in, 13 mm up to 20 in, 19 mm up to 30 in, 25 mm "
    "above (long side of the sheet; common practice, no source), or the unprintable margin where "
    "that is wider. What is printed there: see [theory/sizing.md](theory/sizing.md).",
    "crop": "Without `shape` the whole picture is printed and the border takes up the rest.",
    "border": "An even border keeps the whole picture: where shapes differ, the plan says how to "
    'get it, by trimming the sheet or by `shape = "sheet"`. '
    "See [theory/layout.md](theory/layout.md).",
    "place": "Without it: half a metre, 500 lux.",
    "detail": "The file's own pixel count is never exceeded unless `allow-enlarge` is true.",
    "answers": "",
}

REPAIRS = """
## [[repair]]

Local changes of colour that give back what the paper would take. `firstsheet losses` proposes
them, `--repair 1,3` takes them into the ticket; they can be changed by hand. Each stands in a
table of its own, with two brackets, and they act one after another. Every key must be there.

```toml
[[repair]]
kind = "chroma"
box = [0.1, 0.5, 0.4, 0.9]
colour = [32, 20, -58]
reach = 18
strength = 0.5
```
"""

TAIL = """
## [answers]

Replies to questions that only a person can answer, by the code of the finding that asked:

```toml
[answers]
alpha-partly = "paper"
```
"""


def main() -> None:
    """Write the page."""
    parts = [HEAD]
    for section, keys in SECTIONS.items():
        parts.append(f"\n## {f'[{section}]' if section else 'At the top'}\n")
        if NOTES.get(section):
            parts.append(f"\n{NOTES[section]}\n")
        parts.append("\n| example | meaning |\n| --- | --- |\n")
        parts += [f"| `{one.key} = {one.example}` | {one.meaning} |\n" for one in keys]
    parts.append(REPAIRS)
    parts.append("\n| example | meaning |\n| --- | --- |\n")
    parts += [f"| `{one.key} = {one.example}` | {one.meaning} |\n" for one in REPAIR_KEYS]
    parts.append(TAIL)
    PAGE.write_text("".join(parts), encoding="utf-8")
    print(PAGE)


if __name__ == "__main__":
    main()
