"""Certificate and label of one copy of an edition, as PDF with the type embedded.

Takes facts and a small picture; gives an A4 page and an A7 label, the same bytes every time. The
type is Bitstream Vera, which comes with the PDF library under its own free licence.
Tests: tests/files/test_certificate.py.
"""

from __future__ import annotations

import io
from typing import Any

from firstsheet.engine.editions import roman
from firstsheet.engine.records.edition import CertificateFacts, EditionSize
from firstsheet.engine.units import size_words
from firstsheet.files.jobsheet.typesetting import ACCENT, HAIR, INK, MM, QUIET, Pen
from firstsheet.files.jobsheet.words import Row

__all__ = ["certificate_pdf", "certificate_rows", "certificate_statement", "label_pdf"]

_PLAIN, _BOLD = "Vera", "VeraBd"
_A4 = (210 * MM, 297 * MM)  # ISO 216
_A7 = (105 * MM, 74 * MM)
_SIDE = 25 * MM
_LABEL_SIDE = 6 * MM


def certificate_statement(facts: CertificateFacts) -> tuple[str, ...]:
    """What the certificate says, in sentences."""
    proofs = {0: "without artist's proofs", 1: "beside one artist's proof"}.get(
        facts.proofs, f"beside {facts.proofs} artist's proofs"
    )
    if facts.series == "number":
        edition = f"an edition of {facts.edition_size}, {proofs}"
        said = [f"This sheet is number {facts.position} of {edition}."]
    else:
        said = [
            f"This sheet is artist's proof {roman(facts.position)} of {roman(facts.proofs)}, "
            f"outside an edition of {facts.edition_size}."
        ]
    if len(facts.sizes) > 1:
        words = "; ".join(size_words(one.width_mm, one.height_mm) for one in facts.sizes)
        said.append(f"The edition covers these sizes of picture together: {words}.")
    elif facts.sizes:
        said.append("The edition is in this size only.")
    if facts.replaces_spoiled:
        said.append("An earlier sheet of this number was spoiled; this one takes its place.")
    return tuple(said)


def certificate_rows(facts: CertificateFacts) -> tuple[Row, ...]:
    """Labels and values, in order; what is not known is left out."""
    rows = (
        ("Artist", facts.artist),
        ("Title", facts.title),
        ("Picture of", facts.year),
        ("Printed", facts.printed),
        ("Number", facts.label),
        ("Picture", _size(facts.image)),
        ("Sheet", _size(facts.sheet)),
        ("Technique", facts.technique),
        ("Paper", facts.paper),
        ("Inks", facts.inks),
        ("Note", facts.note),
    )
    return tuple(Row(label, value) for label, value in rows if value)


def _size(size: EditionSize | None) -> str:
    return size_words(size.width_mm, size.height_mm) if size else ""


def certificate_pdf(facts: CertificateFacts, jpeg: bytes) -> bytes:
    """The certificate: one A4 page with room for a signature.

    Parameters
    ----------
    jpeg
        The small picture; empty leaves its place out.
    """
    canvas, pen = _begin(facts, _A4, "Certificate")
    right, y = _A4[0] - _SIDE, _A4[1] - 30 * MM
    width = right - _SIDE
    canvas.setFillColorRGB(*ACCENT)
    canvas.rect(_SIDE, y + 6 * MM, 11 * MM, 1.6, stroke=0, fill=1)
    pen.text(_SIDE, y, "Certificate of authenticity", size=10, font=_PLAIN, grey=QUIET)
    y -= 13 * MM
    for line in pen.lines(facts.title, width=width, size=21, font=_BOLD)[:2]:
        pen.text(_SIDE, y, line, size=21, font=_BOLD)
        y -= 9 * MM
    pen.text(
        _SIDE, y, pen.fit(facts.artist, width=width, size=12, font=_PLAIN), size=12, font=_PLAIN
    )
    y -= 8 * MM
    if jpeg:
        y = _picture(canvas, jpeg, (_SIDE, y, width, 68 * MM)) - 9 * MM
    for sentence in certificate_statement(facts):
        y = pen.paragraph(_SIDE, y, sentence, width=width, size=10, font=_PLAIN) - 1.5 * MM
    y -= 4 * MM
    for row in certificate_rows(facts)[2:]:
        pen.text(_SIDE, y, row.label, size=9, font=_PLAIN, grey=QUIET)
        y = pen.paragraph(_SIDE + 30 * MM, y, row.value, width=width - 30 * MM, size=9, font=_PLAIN)
        y -= 1.2 * MM
    _sign(pen, (_SIDE, 38 * MM), (width - 10 * MM) / 2, "Signature")
    _sign(pen, (_SIDE + (width + 10 * MM) / 2, 38 * MM), (width - 10 * MM) / 2, "Place and date")
    foot = f"{facts.identity} · {facts.made_by}"
    pen.text(
        _SIDE, 15 * MM, pen.fit(foot, width=width, size=6.5, font=_PLAIN), size=6.5, font=_PLAIN,
        grey=QUIET,
    )  # fmt: skip
    return _end(canvas)


def label_pdf(facts: CertificateFacts, jpeg: bytes) -> bytes:
    """The label for the back: A7, lying, with a line for a signature."""
    canvas, pen = _begin(facts, _A7, "Label")
    top = _A7[1] - _LABEL_SIDE
    left = _LABEL_SIDE
    if jpeg:
        _picture(canvas, jpeg, (_LABEL_SIDE, top, 28 * MM, 34 * MM))
        left += 32 * MM
    width = _A7[0] - _LABEL_SIDE - left
    y = top - 9
    for line in pen.lines(facts.title, width=width, size=11, font=_BOLD)[:2]:
        pen.text(left, y, line, size=11, font=_BOLD)
        y -= 13
    pen.text(
        left, y, pen.fit(f"{facts.artist}, {facts.year}", width=width, size=8, font=_PLAIN),
        size=8, font=_PLAIN,
    )  # fmt: skip
    y -= 13
    pen.text(left, y, facts.label, size=11, font=_BOLD)
    y -= 12
    for words in (
        " on ".join(part for part in (facts.technique, facts.paper) if part),
        facts.inks,
        f"picture {_size(facts.image)}" if facts.image else "",
        f"sheet {_size(facts.sheet)}" if facts.sheet else "",
        f"printed {facts.printed}" if facts.printed else "",
    ):
        if words:
            y = pen.paragraph(left, y, words, width=width, size=6.5, font=_PLAIN)
    whole = _A7[0] - 2 * _LABEL_SIDE
    _sign(pen, (_LABEL_SIDE, 13 * MM), whole, "Signature")
    pen.text(
        _LABEL_SIDE, 3.5 * MM, pen.fit(facts.identity, width=whole, size=5, font=_PLAIN), size=5,
        font=_PLAIN, grey=QUIET,
    )  # fmt: skip
    return _end(canvas)


def _begin(facts: CertificateFacts, size: tuple[float, float], kind: str) -> tuple[Any, Pen]:
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen.canvas import Canvas

    for name in (_PLAIN, _BOLD):
        if name not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(name, f"{name}.ttf"))
    canvas = Canvas(None, pagesize=size, invariant=1, pageCompression=1, initialFontName=_PLAIN)
    canvas.setTitle(f"{kind}: {facts.title}, {facts.label}")
    canvas.setAuthor(facts.artist)
    canvas.setCreator(facts.made_by)
    canvas.setProducer(facts.made_by)
    canvas.setSubject(facts.identity)
    return canvas, Pen(canvas)


def _end(canvas: Any) -> bytes:
    canvas.showPage()
    data: bytes = canvas.getpdfdata()
    return data


def _picture(canvas: Any, jpeg: bytes, box: tuple[float, float, float, float]) -> float:
    """Draw the picture as large as the box allows, from its top; gives where it ends."""
    from reportlab.lib.utils import ImageReader

    left, top, width, height = box
    image = ImageReader(io.BytesIO(jpeg))
    wide, high = image.getSize()
    scale = min(width / wide, height / high)
    canvas.drawImage(image, left, top - high * scale, wide * scale, high * scale)
    canvas.setStrokeGray(HAIR)
    canvas.setLineWidth(0.4)
    canvas.rect(left, top - high * scale, wide * scale, high * scale, stroke=1, fill=0)
    return float(top - high * scale)


def _sign(pen: Pen, at: tuple[float, float], width: float, words: str) -> None:
    """A line to write on, with what belongs there below it."""
    x, y = at
    pen.canvas.setStrokeGray(INK)
    pen.canvas.setLineWidth(0.5)
    pen.canvas.line(x, y, x + width, y)
    pen.text(x, y - 9, words, size=7, font=_PLAIN, grey=QUIET)
