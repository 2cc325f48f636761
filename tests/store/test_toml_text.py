"""TOML texts that know their lines."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstsheet.engine.errors import TicketError
from firstsheet.store.toml_text import TomlText, nearest, read_text

TEXT = """# a ticket
picture = "a.tif"

[print]   # how large
"width" = "3 mm"
  sheet = "A4"

[colour]
read-as = "srgb"
crop.shape = "1:1"
"""


@pytest.mark.parametrize(
    ("section", "key", "line"),
    [
        ("", "picture", 2),
        ("print", None, 4),
        ("print", "width", 5),
        ("print", "sheet", 6),
        ("colour", "read-as", 9),
        ("crop", "shape", 10),
        ("print", "nowhere", 4),
        ("nowhere", "nothing", 1),
    ],
)
def test_the_line_of_each_key_is_known(section: str, key: str | None, line: int) -> None:
    assert TomlText(TEXT, "ticket", "ticket").line(section, key) == line


def test_keys_inside_a_long_string_are_no_keys() -> None:
    text = 'notes = """\nname = 3\n[print]\n"""\nname = "x"\n'

    assert TomlText(text, "stock", "stock").line("", "name") == 5


@pytest.mark.parametrize(
    ("text", "line", "right"),
    [
        ("[print]\nwidth = 400 mm\n", 2, 'width = "400 mm"'),
        ("stock = chalk-matte\n", 1, 'stock = "chalk-matte"'),
        ("[print\nwidth = '3 mm'\n", 1, "key = value"),
        ('a = "x"\na = "y"\n', 2, "key = value"),
        ('a = "x', 1, "key = value"),
    ],
)
def test_what_is_not_toml_names_its_line_and_what_would_be_right(
    text: str, line: int, right: str
) -> None:
    with pytest.raises(TicketError) as slip:
        TomlText(text, "my.toml", "ticket")

    assert slip.value.found.startswith(f"my.toml, line {line}: ")
    assert "is not TOML" in slip.value.found
    assert right in slip.value.choice


@pytest.mark.parametrize("text", ["a = " + "[" * 50_000, "a = " + "1" * 5_000])
def test_what_has_no_end_is_a_slip_and_no_crash(text: str) -> None:
    with pytest.raises(TicketError, match="has no end"):
        TomlText(text, "my.toml", "ticket")


def test_a_near_word_is_named_and_otherwise_all_are() -> None:
    assert nearest("wdith", ["width", "sheet"]) == "Perhaps “width”?"
    assert nearest("zzz", ["width", "sheet"]) == "Known here: width, sheet."


def test_a_missing_file_a_folder_and_a_picture_are_told_apart(tmp_path: Path) -> None:
    with pytest.raises(TicketError, match=r"none\.toml cannot be read"):
        read_text(tmp_path / "none.toml", "ticket")
    with pytest.raises(TicketError, match="cannot be read"):
        read_text(tmp_path, "ticket")
    picture = tmp_path / "p.tif"
    picture.write_bytes(b"II*\x00\xff\xfe\xfd")
    with pytest.raises(TicketError, match="is not a text in UTF-8: byte 4"):
        read_text(picture, "ticket")
    picture.write_bytes(b"a" * 2_000_000)
    with pytest.raises(TicketError, match="A ticket is a short text"):
        read_text(picture, "ticket")


def test_a_byte_order_mark_is_stepped_over(tmp_path: Path) -> None:
    path = tmp_path / "t.toml"
    path.write_bytes(b'\xef\xbb\xbfpicture = "a.tif"\n')

    assert TomlText(read_text(path, "ticket"), "t", "ticket").values == {"picture": "a.tif"}
