"""Customs and rules of editions: labels, Roman numbers, states, what is told as information.

Takes terms and copies; gives labels, counts and findings. Customs: numbers as a fraction in pencil
under the picture on the left, artist's proofs up to 10 % of the edition with Roman numbers of
their own (check values, "Editions": several texts agree). The French text is cited, not applied.
Tests: tests/engine/test_editions.py.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from firstsheet.engine.errors import LedgerError
from firstsheet.engine.findings import choice, finding
from firstsheet.engine.records import Finding
from firstsheet.engine.records.edition import (
    CopyLine,
    CopyState,
    EditionCopy,
    EditionSize,
    EditionState,
    EditionTerms,
    Series,
)
from firstsheet.engine.units import size_words

__all__ = [
    "FRENCH_LIMIT",
    "FRENCH_TEXT",
    "copy_label",
    "copy_state",
    "customary_proofs",
    "edition_findings",
    "edition_state",
    "parse_copy",
    "roman",
    "same_size",
]

FRENCH_LIMIT = 30
FRENCH_TEXT = (
    "Code général des impôts (France), annexe III, article 98 A, II, 7° (from decree 95-172 of "
    "17 February 1995); the same limit in Directive 2006/112/EC, annex IX, part A, point 7"
)
_PROOF_SHARE = 0.1
_ROMAN = (
    (1000, "M"), (900, "CM"), (500, "D"), (400, "CD"), (100, "C"), (90, "XC"),
    (50, "L"), (40, "XL"), (10, "X"), (9, "IX"), (5, "V"), (4, "IV"), (1, "I"),
)  # fmt: skip
_SAME_MM = 2.0  # a print is as large as its edition says, within this


def roman(number: int) -> str:
    """A number from 1 in Roman letters.

    Examples
    --------
    >>> roman(4), roman(9), roman(14), roman(1994)
    ('IV', 'IX', 'XIV', 'MCMXCIV')
    """
    if number < 1:
        raise ValueError(f"{number} has no Roman letters")
    letters = ""
    for value, letter in _ROMAN:
        count, number = divmod(number, value)
        letters += letter * count
    return letters


def copy_label(series: Series, position: int, terms: EditionTerms) -> str:
    """What is written on the sheet.

    Examples
    --------
    >>> terms = EditionTerms(
    ...     name="quay", title="Quay", artist="Ada Merrow", year="2026", size=30, proofs=3
    ... )
    >>> copy_label("number", 7, terms), copy_label("proof", 2, terms)
    ('7/30', 'A.P. II/III')
    """
    if series == "number":
        return f"{position}/{terms.size}"
    return f"A.P. {roman(position)}/{roman(terms.proofs)}"


def parse_copy(words: str, *, proof: bool = False) -> tuple[Series, int]:
    """Read what people write for a copy: Roman letters mean an artist's proof.

    Parameters
    ----------
    proof
        Whether plain digits mean a proof.

    Raises
    ------
    LedgerError
        If it is no number of a copy.

    Examples
    --------
    >>> parse_copy("7"), parse_copy("7/30"), parse_copy("II"), parse_copy("A.P. IV/V")
    (('number', 7), ('number', 7), ('proof', 2), ('proof', 4))
    """
    bare = words.strip().upper()
    named = re.match(r"^(A\.? ?P\.?|E\.? ?A\.?)\s*", bare)
    if named is not None:
        proof, bare = True, bare[named.end() :]
    first = bare.split("/")[0].strip()
    if first.isdecimal() and 0 < len(first) <= 6:
        return ("proof" if proof else "number"), int(first)
    if first and not set(first) - set("IVXLCDM"):
        position = next((one for one in range(1, 4000) if roman(one) == first), 0)
        if position:
            return "proof", position
    raise LedgerError(
        f"“{words}” is no number of a copy.",
        "Nothing was done.",
        "Write 7 or 7/30; for an artist's proof II or A.P. II/III.",
        "bad-copy",
    )


def customary_proofs(size: int) -> int:
    """Artist's proofs that custom allows beside an edition of this size: a tenth, at least one.

    Examples
    --------
    >>> customary_proofs(30), customary_proofs(25), customary_proofs(5)
    (3, 2, 1)
    """
    return max(1, math.floor(size * _PROOF_SHARE + 1e-9))


def same_size(one: EditionSize, other: EditionSize) -> bool:
    """Whether two pictures are of one size, in either direction, within 2 mm.

    Examples
    --------
    >>> a3 = EditionSize(width_mm=400, height_mm=267)
    >>> same_size(a3, EditionSize(width_mm=266.7, height_mm=400.05))
    True
    """
    first, second = (sorted((size.width_mm, size.height_mm)) for size in (one, other))
    return all(abs(a - b) <= _SAME_MM for a, b in zip(first, second, strict=True))


def copy_state(lines: Sequence[CopyLine], *, is_replaced: bool) -> tuple[CopyState, int | None]:
    """Where a copy is, by the lines that stand; and who has it.

    Parameters
    ----------
    lines
        Its history, oldest first.
    is_replaced
        Whether another sheet has its number now.
    """
    state: CopyState = "held"
    holder: int | None = None
    for line in lines:
        if line.is_withdrawn or line.kind == "withdrawn":
            continue
        if line.kind == "given":
            state, holder = ("given" if state != "spoiled" else state), line.holder
        elif line.kind == "returned":
            state, holder = ("held" if state != "spoiled" else state), None
        else:
            state = "spoiled"
    if is_replaced:
        return "replaced", None
    return state, holder


def edition_state(terms: EditionTerms, copies: Sequence[EditionCopy]) -> EditionState:
    """Count an edition's copies."""
    numbers = {copy.position for copy in copies if copy.series == "number"}
    proofs = {copy.position for copy in copies if copy.series == "proof"}
    states = [copy.state for copy in copies]
    return EditionState(
        numbered=len(numbers),
        free=terms.size - len(numbers),
        proofs_numbered=len(proofs),
        proofs_free=terms.proofs - len(proofs),
        held=states.count("held"),
        given=states.count("given"),
        spoiled=states.count("spoiled") + states.count("replaced"),
    )


def edition_findings(
    terms: EditionTerms, others: Sequence[EditionTerms] = (), *, fixed: bool = False
) -> tuple[Finding, ...]:
    """What custom and published rules say of an edition; information, no advice.

    Parameters
    ----------
    others
        Other editions of the same picture, in other sizes or on other papers.
    fixed
        Whether numbers have been given: then nothing can be chosen any more.
    """
    found = [_proofs(terms)]
    total = sum(one.size + one.proofs for one in (terms, *others))
    found.append(_french(terms, others, total))
    if others:
        names = ", ".join(one.name for one in others)
        found.append(
            finding(
                code="edition-other-editions",
                weight="caution",
                found=f"The same picture has other editions: {names}.",
                consequence=f"Together they are {total} copies with all proofs. Whoever buys one "
                "may have been told that there are fewer.",
                choices=("Tell buyers of every edition, or let one edition cover all sizes.",),
                figures={"copies": total},
                source="common practice, no source",
            )
        )
    if not terms.sizes:
        found.append(
            finding(
                code="edition-sizes-open",
                weight="caution",
                found="The edition does not say which sizes it covers.",
                consequence="A buyer cannot know whether a larger one would be another edition.",
                choices=(
                    choice("Name them.", option="--size-of-picture 400x267mm, once for each"),
                ),
                source="common practice, no source",
            )
        )
    elif len(terms.sizes) > 1:
        words = "; ".join(size_words(one.width_mm, one.height_mm) for one in terms.sizes)
        found.append(
            finding(
                code="edition-shared-sizes",
                weight="fine",
                found=f"One edition covers {len(terms.sizes)} sizes: {words}.",
                consequence=f"They share the {terms.size} numbers.",
            )
        )
    if fixed:
        found = [one.model_copy(update={"choices": ()}) for one in found]
    return tuple(found)


def _proofs(terms: EditionTerms) -> Finding:
    custom = customary_proofs(terms.size)
    figures: dict[str, float | int | str | bool] = {"proofs": terms.proofs, "customary": custom}
    source = "custom of the trade: 5 to 10 % of the edition (several texts agree)"
    if terms.proofs > custom:
        return finding(
            code="edition-many-proofs",
            weight="caution",
            found=f"{terms.proofs} artist's proofs beside an edition of {terms.size}.",
            consequence=f"Custom allows about a tenth, here {custom}; more is looked at askance.",
            choices=(choice(f"Keep to {custom}.", option=f"--proofs {custom}"),),
            figures=figures,
            source=source,
        )
    return finding(
        code="edition-proofs",
        weight="fine",
        found=f"{terms.proofs} artist's proofs, numbered apart in Roman letters.",
        consequence=f"Custom allows up to a tenth of the edition, here {custom}.",
        figures=figures,
        source=source,
    )


def _french(terms: EditionTerms, others: Sequence[EditionTerms], total: int) -> Finding:
    where = " over all its editions" if others else ""
    over = total > FRENCH_LIMIT
    return finding(
        code="edition-french-text",
        weight="caution" if over else "fine",
        found=f"{total} copies{where} with all proofs: {'above' if over else 'within'} the "
        f"{FRENCH_LIMIT} of the French and European texts.",
        consequence="There a photograph counts as a work of art for tax when it is taken by the "
        "artist, printed by the artist or under the artist's control, signed, and numbered within "
        "thirty copies, all sizes and supports together; the text names no proofs beside them. "
        "This is information, not legal advice: texts change, and other countries have other "
        "rules.",
        figures={"copies": total, "limit": FRENCH_LIMIT, "size": terms.size},
        source=FRENCH_TEXT,
    )
