"""Names in Latin letters, for paper whose fonts know no other script.

Takes text; gives text with Greek and Cyrillic letters transliterated and marks dropped that
Western European type lacks. Greek follows ELOT 743 / UN resolution V/19 (1987), Cyrillic the
BGN/PCGN habit, both from memory. Tests: tests/files/test_jobsheet_type.py.
"""

from __future__ import annotations

import unicodedata

__all__ = ["in_latin"]

_GREEK = dict(
    zip(
        "αβγδεζηθικλμνξοπρσςτυφχψω",
        ["a", "v", "g", "d", "e", "z", "i", "th", "i", "k", "l", "m", "n", "x", "o", "p", "r", "s", "s", "t", "y", "f", "ch", "ps", "o"],
        strict=True,
    )
)
_CYRILLIC = dict(
    zip(
        "абвгдежзийклмнопрстуфхцчшщъыьэюяёєіїґђјљњћџў",
        ["a", "b", "v", "g", "d", "e", "zh", "z", "i", "y", "k", "l", "m", "n", "o", "p", "r", "s", "t", "u", "f", "kh", "ts", "ch", "sh", "shch", "'", "y", "'", "e", "yu", "ya", "yo", "ye", "i", "yi", "g", "dj", "j", "lj", "nj", "c", "dz", "u"],
        strict=True,
    )
)
_UNMARKED = {"ł": "l", "đ": "d", "ı": "i", "ħ": "h", "ŋ": "n", "ŧ": "t", "ə": "e"}
_TABLE = _GREEK | _CYRILLIC | _UNMARKED
_PAIRS = (("ου", "ou"), ("Ου", "Ou"), ("ΟΥ", "OU"))


def in_latin(words: str) -> str:
    """Transliterate what has a table; leave everything else as it is.

    Examples
    --------
    >>> in_latin("Лодка у причала"), in_latin("Καΐκι στο λιμάνι"), in_latin("Łódź")
    ('Lodka u prichala', 'Kaiki sto limani', 'Lódz')
    """
    for pair, latin in _PAIRS:
        words = words.replace(pair, latin)
    return "".join(_letter(letter) for letter in unicodedata.normalize("NFC", words))


def _letter(letter: str) -> str:
    if _western(letter):
        return letter
    for form in (letter, unicodedata.normalize("NFD", letter)[0]):
        latin = _TABLE.get(form.lower())
        if latin is not None:
            return latin.capitalize() if form != form.lower() else latin
        if _western(form):
            return form
    return letter


def _western(letter: str) -> bool:
    try:
        letter.encode("cp1252")
    except UnicodeEncodeError:
        return False
    return True
