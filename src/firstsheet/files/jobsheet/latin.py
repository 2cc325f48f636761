"""Names in Latin letters, for paper whose fonts know no other script.

Takes text; gives text with Greek and Cyrillic letters transliterated and marks dropped that
Western European type lacks. Greek follows ELOT 743 / UN resolution V/19 (1987), Cyrillic the
BGN/PCGN habit, both from memory. Tests: tests/files/test_jobsheet_type.py.
"""

from __future__ import annotations

import unicodedata

__all__ = ["in_latin"]

_GREEK = (
    "α=a β=v γ=g δ=d ε=e ζ=z η=i θ=th ι=i κ=k λ=l μ=m ν=n ξ=x ο=o π=p ρ=r σ=s ς=s τ=t υ=y φ=f "
    "χ=ch ψ=ps ω=o "
)
_CYRILLIC = (
    "а=a б=b в=v г=g д=d е=e ж=zh з=z и=i й=y к=k л=l м=m н=n о=o п=p р=r с=s т=t у=u ф=f "
    "х=kh ц=ts ч=ch ш=sh щ=shch ъ=' ы=y ь=' э=e ю=yu я=ya ё=yo є=ye і=i ї=yi ґ=g ђ=dj ј=j "
    "љ=lj њ=nj ћ=c џ=dz ў=u "
)
_UNMARKED = "ł=l đ=d ı=i ħ=h ŋ=n ŧ=t ə=e"
_TABLE = dict(pair.split("=") for pair in (_GREEK + _CYRILLIC + _UNMARKED).split())
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
