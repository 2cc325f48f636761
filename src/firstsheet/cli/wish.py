"""The options that say a wish, shared by `plan`, `proof` and `make`.

Every option is a line of the ticket under another spelling: `--width 381mm` is `width = "381 mm"`.
The words are turned into a ticket by `store.tickets`; nothing is computed here.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

__all__ = ["answer_option", "common_options", "out_option", "replace_option", "wish_options"]

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]

_PLACE_LAMPS = ["daylight", "warm", "neutral", "window", "unknown"]


def _answers(
    _context: click.Context, _parameter: click.Parameter, given: tuple[str, ...]
) -> dict[str, str] | None:
    """Read CODE=REPLY pairs."""
    answers = {}
    for words in given:
        code, equals, reply = words.partition("=")
        if not (code and equals and reply):
            raise click.BadParameter(f"“{words}” is not CODE=REPLY, such as float-over-one=clip.")
        answers[code.strip()] = reply.strip()
    return answers or None


answer_option: Decorator = click.option(
    "--answer",
    "answers",
    multiple=True,
    callback=_answers,
    metavar="CODE=REPLY",
    help="Reply to a question a finding asked; may be given again.",
)

_WISH: list[Decorator] = [
    click.option("--stock", metavar="NAME", help="Paper and printer; see `firstsheet stock list`."),
    click.option("--width", metavar="LENGTH", help="Width of the picture on paper: 381mm, 15in."),
    click.option("--height", metavar="LENGTH", help="Height of the picture on paper."),
    click.option("--long-side", metavar="LENGTH", help="Longer side of the picture on paper."),
    click.option("--sheet", metavar="SHEET", help="A4, A3+, 17x22in or 483x330mm. Default A4."),
    click.option(
        "--turn",
        type=click.Choice(["auto", "as-given"]),
        help="auto turns the sheet to the picture's shape.",
    ),
    click.option("--shape", metavar="W:H", help="Crop to a shape, such as 3:2 or 1:1."),
    click.option(
        "--offset",
        metavar="X,Y",
        help="Where the crop lies, each -1 to 1; 0,-1 keeps the top edge.",
    ),
    click.option(
        "--border",
        metavar="WORDS",
        help="centred, weighted, `even 25mm`, or four lengths: top right bottom left.",
    ),
    click.option("--shift", metavar="X,Y", help="Move the picture on the sheet: 5mm,-3mm."),
    click.option("--distance", metavar="LENGTH", help="Viewing distance. Default 50cm."),
    click.option("--light", metavar="LUX", help="Light on the print, lux. Default 500."),
    click.option("--lamp", type=click.Choice(_PLACE_LAMPS), help="Kind of lamp there."),
    click.option(
        "--intent",
        type=click.Choice(["auto", "perceptual", "relative", "saturation", "absolute"]),
        help="Rendering intent; auto takes what this picture loses least by.",
    ),
    click.option(
        "--black-point/--no-black-point",
        default=None,
        help="Black point compensation. Default on.",
    ),
    click.option(
        "--keep-colour",
        is_flag=True,
        default=None,
        help="Keep the picture's own colour space (a lab converts).",
    ),
    click.option(
        "--convert-again",
        is_flag=True,
        default=None,
        help="Insist on converting a file already converted for a printer.",
    ),
    click.option(
        "--read-as", metavar="SPACE", help="Space of a file without a profile: srgb, a98-rgb…"
    ),
    click.option(
        "--repair",
        metavar="N,N|none",
        help="Take repairs by their numbers in `losses`, such as 1 or 1,3; none takes all back.",
    ),
    click.option("--ppi", metavar="native|own|N", help="Raster of the print file. Default native."),
    click.option(
        "--sharpen",
        metavar="off|fitted|N",
        help="Output sharpening: a strength, 1 being normal, or fitted to file, paper and "
        "distance. Default 1, less where the file is sharpened already.",
    ),
    click.option("--radius", metavar="LENGTH", help="Sharpening radius on paper. Default 0.14mm."),
    click.option(
        "--allow-enlarge",
        is_flag=True,
        default=None,
        help="Allow more pixels than the file has; the factor is told.",
    ),
    click.option("--bits", type=click.Choice(["8", "16"]), help="Bits per channel. Default 16."),
    click.option(
        "--compression",
        type=click.Choice(["none", "lzw", "deflate"]),
        help="Compression of the print file. Default none.",
    ),
    click.option("--ruler", is_flag=True, default=None, help="Print a 100 mm ruler in the border."),
    click.option("--key", is_flag=True, default=None, help="Print a small key line in the border."),
    click.option(
        "--proof-space",
        type=click.Choice(["display-p3", "srgb"]),
        help="Space of the soft proof. Default display-p3.",
    ),
    click.option(
        "--proof-white",
        type=click.Choice(["paper", "screen"]),
        help="Show the paper's own white (paper) or the screen's.",
    ),
    click.option("--page", type=click.IntRange(min=1), help="Page of a file with several."),
    click.option(
        "--background",
        type=click.Choice(["paper", "black"]),
        help="What lies under partly clear pixels.",
    ),
    click.option("--film", metavar="FORMAT", help="Film the scan comes from: 35mm, 6x7, 56x70mm."),
    answer_option,
]

_COMMON: list[Decorator] = [
    click.option(
        "--stocks",
        "stocks_dir",
        type=click.Path(file_okay=False),
        help="Folder of stocks instead of your own.",
    ),
    click.option("--json", "as_json", is_flag=True, help="Answer for programs."),
]


out_option: Decorator = click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Folder to make. Default: a folder beside the picture, named after picture and stock.",
)
replace_option: Decorator = click.option(
    "--replace", is_flag=True, help="Replace an earlier folder of ours there."
)


def _apply(options: list[Decorator], command: Callable[..., Any]) -> Callable[..., Any]:
    for option in reversed(options):
        command = option(command)
    return command


def wish_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command every option of a wish."""
    return _apply(_WISH, command)


def common_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command `--stocks` and `--json`."""
    return _apply(_COMMON, command)
