"""Repairs in tickets: read as written, written as read, and slips that name table and line."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstsheet.engine.errors import TicketError
from firstsheet.engine.records import RepairWish, Ticket
from firstsheet.store.repair_tables import REPAIR_KEYS, repairs_text, text_repairs
from firstsheet.store.ticket_changes import changed_ticket, line_text
from firstsheet.store.ticket_keys import TicketKey
from firstsheet.store.tickets import ticket_from_options, ticket_from_toml, ticket_to_toml

HEAD = 'picture = "ferry-stairs.tif"\nstock = "chalk-matte"\n'
FIRST = """
[[repair]]
kind = "chroma"
box = [0.1, 0.5, 0.4, 0.9]
colour = [32, 20.5, -58]
reach = 18
strength = 0.5
"""
SECOND = FIRST.replace("chroma", "shadow").replace("0.5\n", "0.25\n")
WISH = RepairWish(
    kind="chroma", box=(0.1, 0.5, 0.4, 0.9), lab=(32.0, 20.5, -58.0), reach=18.0, strength=0.5
)

share = st.floats(0, 0.5, allow_subnormal=False)
wishes = st.builds(
    RepairWish,
    kind=st.sampled_from(["chroma", "shadow", "highlight"]),
    box=st.tuples(share, share, st.floats(0.51, 1), st.floats(0.51, 1)),
    lab=st.tuples(st.floats(0, 100), st.floats(-128, 128), st.floats(-128, 128)),
    reach=st.floats(0.1, 100),
    strength=st.floats(0, 1),
)


def test_repairs_are_read_in_their_order() -> None:
    ticket = ticket_from_toml(HEAD + FIRST + SECOND)

    assert ticket.repairs[0] == WISH
    assert ticket.repairs[1].kind == "shadow"
    assert ticket.repairs[1].strength == 0.25


@given(st.lists(wishes, max_size=4))
def test_repairs_written_and_read_back_are_exactly_the_same(some: list[RepairWish]) -> None:
    ticket = Ticket(picture="a.tif", stock="b", repairs=tuple(some))

    assert ticket_from_toml(ticket_to_toml(ticket)) == ticket
    assert text_repairs(repairs_text(some)) == tuple(some)


def test_the_written_table_reads_like_the_page() -> None:
    text = ticket_to_toml(Ticket(picture="a.tif", stock="b", repairs=(WISH,)))

    assert '[[repair]]\nkind = "chroma"\nbox = [0.1, 0.5, 0.4, 0.9]\n' in text
    assert "colour = [32, 20.5, -58]\nreach = 18\nstrength = 0.5\n" in text


@pytest.mark.parametrize(
    ("text", "says", "right"),
    [
        (FIRST + SECOND.replace("0.25", "1.5"), "line 16: [[repair]] 2: strength = 1.5 is out",
         "from 0 to 1"),
        (FIRST + SECOND.replace("shadow", "shaddow"), "line 12: [[repair]] 2: kind = “shaddow”",
         "Perhaps “shadow”?"),
        (FIRST.replace("reach = 18\n", ""), "line 4: [[repair]] 1: reach", "Write reach = 18."),
        (FIRST.replace("0.4, 0.9", "0.05, 0.9"), "line 6: [[repair]] 1: box = "
         "[0.1, 0.5, 0.05, 0.9] is an empty box", "left, top, right and bottom"),
        (FIRST.replace("32, 20.5, -58", "32, 20.5"), "colour = [32, 20.5] is not three numbers",
         "L* 0 to 100"),
        (FIRST.replace("reach", "reech"), "line 8: the key “reech” in [[repair]] 1:",
         "Perhaps “reach”?"),
        (FIRST.replace("[[repair]]", "[repair]"), "line 4: repair", "two brackets: [[repair]]"),
        ("\n[print]\nrepair = 1\n", "line 5: the key “repair”", "Known here"),
        (FIRST * 17, "[[repair]] 17:", "Keep 16 at most"),
    ],
)  # fmt: skip
def test_a_slip_names_table_line_value_and_what_would_be_right(
    text: str, says: str, right: str
) -> None:
    with pytest.raises(TicketError) as slip:
        ticket_from_toml(HEAD + text)

    assert says in slip.value.found
    assert right in slip.value.choice


def test_a_value_in_place_of_tables_is_explained() -> None:
    with pytest.raises(TicketError) as slip:
        ticket_from_toml(HEAD + 'repair = "none"\n')

    assert "line 3: repair" in slip.value.found
    assert "[[repair]]" in slip.value.choice


def test_options_leave_repairs_as_they_stand() -> None:
    ticket = ticket_from_toml(HEAD + FIRST)

    assert ticket_from_options(base=ticket, width="300mm").repairs == (WISH,)


def test_a_line_of_repairs_is_set_and_taken_back() -> None:
    ticket = Ticket(picture="a.tif", stock="b")
    changed, slips = changed_ticket(ticket, {"repair": repairs_text([WISH]), "print.width": "4in"})
    assert not slips
    assert changed.repairs == (WISH,)
    assert text_repairs(line_text(changed, "repair")) == (WISH,)
    back, slips = changed_ticket(changed, {"repair": ""})
    assert (back.repairs, slips) == ((), {})


@pytest.mark.parametrize("text", ["1", "[3]", "[{kind = 'chroma'}]", "[", "chroma"])
def test_a_line_that_is_no_repair_leaves_the_ticket_as_it_was(text: str) -> None:
    ticket = Ticket(picture="a.tif", stock="b")
    same, slips = changed_ticket(ticket, {"repair": text})

    assert same == ticket
    assert slips["repair"].choice


@pytest.mark.parametrize("key", REPAIR_KEYS, ids=lambda key: key.key)
def test_every_key_of_a_repair_is_explained_with_its_example(key: TicketKey) -> None:
    page = (Path(__file__).parents[2] / "docs" / "ticket.md").read_text(encoding="utf-8")
    (section,) = (
        part for part in re.split(r"^## ", page, flags=re.MULTILINE)
        if part.startswith("[[repair]]")
    )  # fmt: skip

    assert f"| `{key.key} = {key.example}` |" in section
    assert key.read(tomllib.loads(f"x = {key.example}")["x"]) is not None
    assert {one.field for one in REPAIR_KEYS} == set(RepairWish.model_fields)
