"""Stocks: the papers a person prints on, each one TOML file beside its profile.

Takes a folder; gives Stock records and their profiles' bytes. Three demo stocks come with the
program; a person's own live where the platform keeps user data. A file appears whole or not at
all. Tests: tests/store/test_stocks.py.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import tempfile
from collections.abc import Callable, Mapping
from importlib.resources import files
from pathlib import Path

from firstsheet.engine.errors import FirstsheetError, OutputError, StockError
from firstsheet.engine.records import Stock
from firstsheet.store.regular import regular_size
from firstsheet.store.stock_text import STOCK_NAME, stock_from_toml, stock_to_toml
from firstsheet.store.toml_text import nearest, read_text

__all__ = [
    "add_stock",
    "builtin_names",
    "get_stock",
    "load_stocks",
    "remove_stock",
    "stock_file",
    "stock_profile_bytes",
    "stocks_folder",
]

_LONGEST_PROFILE_BYTES = 64 * 2**20


def stocks_folder(directory: Path | None = None) -> Path:
    """Where the person's own stocks live: the given folder, or the platform's place for data."""
    if directory is not None:
        return Path(directory)
    from platformdirs import user_data_dir

    return Path(user_data_dir("firstsheet", appauthor=False)) / "stocks"


def _builtin_folder() -> Path:
    return Path(str(files("firstsheet"))) / "data" / "stocks"


def builtin_names() -> tuple[str, ...]:
    """Names of the demo stocks that come with the program."""
    return tuple(sorted(path.stem for path in _builtin_folder().glob("*.toml")))


def load_stocks(
    directory: Path | None = None,
    spoilt: Callable[[str, FirstsheetError], None] | None = None,
) -> Mapping[str, Stock]:
    """All stocks by name, sorted; a person's own stock hides a demo stock of the same name.

    Parameters
    ----------
    directory
        The person's stocks instead of the platform's place; it need not exist yet.
    spoilt
        Told the name of each stock whose file has a slip, and the slip; it is left out then.

    Raises
    ------
    TicketError
        If a stock's file has a slip, with file, line, value and what would be right, and there is
        nobody to tell.
    """
    found: dict[str, Stock] = {}
    for folder in (_builtin_folder(), stocks_folder(directory)):
        for path in sorted(folder.glob("*.toml")):
            try:
                found[path.stem] = _read(path)
            except FirstsheetError as error:
                if spoilt is None:
                    raise
                found.pop(path.stem, None)  # nor is the demo stock meant that it hides
                spoilt(path.stem, error)
    return dict(sorted(found.items()))


def get_stock(name: str, directory: Path | None = None) -> Stock:
    """One stock by its name; only its own file is read.

    Raises
    ------
    StockError
        If there is none; the choice names those that come close.
    """
    return _read(stock_file(name, directory))


def stock_file(name: str, directory: Path | None = None) -> Path:
    """The TOML file of a stock.

    Raises
    ------
    StockError
        If there is none of that name.
    """
    if STOCK_NAME.match(name):
        for folder in (stocks_folder(directory), _builtin_folder()):
            path = folder / f"{name}.toml"
            if path.is_file():
                return path
    known = sorted({*builtin_names(), *(p.stem for p in stocks_folder(directory).glob("*.toml"))})
    raise StockError(
        f"No stock is called “{name}”.",
        "Without paper and printer nothing can be planned.",
        f"{nearest(name, known)} Add one of your own with `firstsheet stock add`.",
        "unknown-stock",
    )


def _read(path: Path) -> Stock:
    stock = stock_from_toml(read_text(path, "stock"), name=str(path))
    if stock.name != path.stem:
        raise StockError(
            f"{path} holds a stock called “{stock.name}”.",
            "A stock is found by its file's name, so the two must agree.",
            f"Call the file {stock.name}.toml, or the stock {path.stem}.",
            "stock-name-differs",
        )
    return stock


def stock_profile_bytes(stock: Stock, directory: Path | None = None) -> bytes:
    """The bytes of a stock's profile.

    Raises
    ------
    StockError
        If the profile's file is missing, cannot be read, or is not the one that was measured.
    """
    path = stock_file(stock.name, directory).parent / stock.profile_file
    try:
        if regular_size(path) > _LONGEST_PROFILE_BYTES:
            raise OSError("it is larger than any profile")
        profile = path.read_bytes()
    except OSError as error:
        raise StockError(
            f"The profile of {stock.title}, {path}, cannot be read: {error.strerror or error}.",
            "Without it the paper's colours are not known.",
            "Put the file back, or add the stock again.",
            "stock-profile-missing",
            f"firstsheet stock add --name {stock.name}",
        ) from error
    measured = stock.facts.profile.sha256 if stock.facts else ""
    if measured and hashlib.sha256(profile).hexdigest() != measured:
        raise StockError(
            f"The profile of {stock.title}, {path}, is not the one that was measured.",
            "Its white, black and limits are no longer those that the stock says.",
            "Put the earlier file back, or add the stock again.",
            "stock-profile-changed",
            f"firstsheet stock add --name {stock.name}",
        )
    return profile


def add_stock(
    stock: Stock, profile: bytes, *, directory: Path | None = None, replace: bool = False
) -> Path:
    """Keep a stock and its profile; gives the TOML's path.

    Parameters
    ----------
    stock
        What to keep; its `profile_file` becomes the copy beside it.
    profile
        The ICC profile's bytes.
    directory
        As in `load_stocks`; made if it does not exist.
    replace
        Whether an own stock of that name may be replaced.

    Raises
    ------
    StockError
        If the name cannot be one, or is taken.
    OutputError
        If the files cannot be written whole.
    """
    if not STOCK_NAME.match(stock.name):
        raise StockError(
            f"“{stock.name}” cannot be a stock's name.",
            "Tickets and files call the stock by it.",
            "Take small letters, digits and single hyphens: chalk-matte.",
            "stock-name",
        )
    folder = stocks_folder(directory)
    path = folder / f"{stock.name}.toml"
    if not replace and (path.exists() or stock.name in builtin_names()):
        raise StockError(
            f"A stock called {stock.name} is there already.",
            "Old tickets mean that one; it is not replaced in silence.",
            "Take another name, or allow replacing it.",
            "stock-exists",
        )
    # Named by content: until the stock's own file is replaced, the old pair stays a pair.
    profile_file = f"{stock.name}-{hashlib.sha256(profile).hexdigest()[:12]}.icc"
    kept = stock.model_copy(update={"profile_file": profile_file})
    before = _own_profile(path)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _write_whole(folder / profile_file, profile)
        _write_whole(path, stock_to_toml(kept).encode("utf-8"))
        if before is not None and before.name != profile_file:
            before.unlink(missing_ok=True)
    except OSError as error:
        if before is None or before.name != profile_file:
            with contextlib.suppress(OSError):
                (folder / profile_file).unlink()
        raise OutputError(
            f"The stock cannot be kept in {folder}: {error.strerror or error}.",
            "What was there before is unchanged.",
            "Make room or rights there, or name another folder.",
            "stock-not-written",
            "--stocks FOLDER",
        ) from error
    return path


def _own_profile(path: Path) -> Path | None:
    """The copy of the profile that a kept stock owns; None where it owns none."""
    try:
        stock = stock_from_toml(read_text(path, "stock"), name=str(path))
    except FirstsheetError:  # none there yet, or one that cannot be read
        return None
    own = re.fullmatch(re.escape(stock.name) + r"-[0-9a-f]{12}\.icc", stock.profile_file)
    return path.parent / stock.profile_file if own else None


def _write_whole(path: Path, content: bytes) -> None:
    """Write beside, flush to the disk, then take the final name: whole or not at all."""
    handle, temporary = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(content)
            out.flush()
            os.fsync(out.fileno())
        Path(temporary).chmod(0o644)
        Path(temporary).replace(path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise


def remove_stock(name: str, directory: Path | None = None) -> None:
    """Forget one of the person's own stocks, with its copy of the profile.

    Raises
    ------
    StockError
        If there is none of that name, or it is a demo stock.
    """
    path = stock_file(name, directory)
    if path.parent == _builtin_folder():
        raise StockError(
            f"{name} is a demo stock that comes with the program.",
            "It cannot be removed.",
            "An own stock of that name would hide it.",
            "stock-is-demo",
        )
    profile = _own_profile(path)
    path.unlink()
    if profile is not None:
        profile.unlink(missing_ok=True)
