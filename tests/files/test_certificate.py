"""Certificate and label, read back by readers that we did not write."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import pypdf
import pypdfium2
import pytest

from firstsheet.cms.build import space_profile
from firstsheet.engine.records.edition import CertificateFacts
from firstsheet.files.jobsheet.certificate import (
    certificate_pdf,
    certificate_statement,
    label_pdf,
)
from firstsheet.files.writing.small_jpeg import small_jpeg

BOTH = pytest.mark.parametrize("write", [certificate_pdf, label_pdf])
RED = np.full((200, 300, 3), (190, 40, 30), np.uint8)


@pytest.fixture(scope="module")
def jpeg() -> bytes:
    return small_jpeg(RED, profile=space_profile("srgb"))


def facts(**changes: Any) -> CertificateFacts:
    fields: dict[str, Any] = {
        "artist": "Ada Merrow", "title": "The Quay at Merrowick", "year": "2024",
        "printed": "2026-12", "label": "7/30", "series": "number", "position": 7,
        "edition_size": 30, "proofs": 3, "sizes": [{"width_mm": 400, "height_mm": 267}],
        "image": {"width_mm": 400, "height_mm": 267},
        "sheet": {"width_mm": 483, "height_mm": 329}, "technique": "Pigment print",
        "paper": "Chalk Matte 310", "inks": "nine pigment inks", "note": "",
        "replaces_spoiled": False, "identity": "edition quay, print 12, plan 0123456789ab",
        "made_by": "firstsheet 0.1.0",
    }  # fmt: skip
    return CertificateFacts.model_validate(fields | changes)


def text_of(pdf: bytes) -> str:
    return " ".join(pypdf.PdfReader(io.BytesIO(pdf)).pages[0].extract_text().split())


def test_the_certificate_holds_every_fact(jpeg: bytes) -> None:
    told = text_of(certificate_pdf(facts(), jpeg))

    for words in (
        "The Quay at Merrowick", "Ada Merrow", "2024", "2026-12", "7/30",
        "This sheet is number 7 of an edition of 30, beside 3 artist's proofs.",
        "400 × 267 mm (15.7 × 10.5 in)", "483 × 329 mm", "Pigment print", "Chalk Matte 310",
        "nine pigment inks", "Signature", "Place and date", "print 12, plan 0123456789ab",
    ):  # fmt: skip
        assert words in told, words


def test_the_label_holds_what_belongs_on_the_back(jpeg: bytes) -> None:
    told = text_of(label_pdf(facts(), jpeg))

    for words in ("The Quay at Merrowick", "Ada Merrow, 2024", "7/30", "Pigment print on Chalk"):
        assert words in told, words


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"proofs": 0}, "This sheet is number 7 of an edition of 30, without artist's proofs."),
        ({"proofs": 1}, "This sheet is number 7 of an edition of 30, beside one artist's proof."),
        (
            {"series": "proof", "position": 2, "label": "A.P. II/III"},
            "This sheet is artist's proof II of III, outside an edition of 30.",
        ),
        (
            {"replaces_spoiled": True},
            "An earlier sheet of this number was spoiled; this one takes its place.",
        ),
        ({}, "The edition is in this size only."),
    ],
)
def test_the_statement_says_what_the_sheet_is(changes: dict[str, Any], sentence: str) -> None:
    assert sentence in certificate_statement(facts(**changes))


def test_sizes_that_share_an_edition_are_all_named() -> None:
    sizes = [{"width_mm": 300, "height_mm": 200}, {"width_mm": 600, "height_mm": 400}]

    (_, words) = certificate_statement(facts(sizes=sizes))

    assert "300 × 200 mm" in words
    assert "600 × 400 mm" in words


@BOTH
def test_every_font_is_embedded(write: Any, jpeg: bytes) -> None:
    page: Any = pypdf.PdfReader(io.BytesIO(write(facts(), jpeg))).pages[0]
    fonts = page["/Resources"]["/Font"]

    assert len(fonts) >= 1
    for font in fonts.values():
        descriptor = font.get_object()["/FontDescriptor"]
        assert "/FontFile2" in descriptor, font


@BOTH
def test_the_same_facts_give_the_same_bytes(write: Any, jpeg: bytes) -> None:
    assert write(facts(), jpeg) == write(facts(), jpeg)


@pytest.mark.parametrize(
    ("write", "size_mm"), [(certificate_pdf, (210, 297)), (label_pdf, (105, 74))]
)
def test_the_page_is_of_its_size_and_shows_the_picture(
    write: Any, size_mm: tuple[float, float], jpeg: bytes
) -> None:
    page = pypdfium2.PdfDocument(write(facts(), jpeg))[0]
    assert page.get_size() == pytest.approx([side / 25.4 * 72 for side in size_mm], abs=0.01)

    drawn = np.asarray(page.render(scale=1.0).to_numpy())[:, :, :3].astype(int)
    red = (drawn[:, :, 2] > 150) & (drawn[:, :, 0] < 80)  # BGR
    assert red.sum() > 3000
    without = pypdfium2.PdfDocument(write(facts(), b""))[0].render(scale=1.0).to_numpy()
    bare = without[:, :, :3].astype(int)
    assert not ((bare[:, :, 2] > 150) & (bare[:, :, 0] < 80)).any()


def test_long_words_and_other_letters_stay_on_the_page(jpeg: bytes) -> None:
    long = facts(
        title="A very long title that goes on " * 8, note="Καΐκι στο λιμάνι, Łódź, ladja " * 12
    )
    pdf = certificate_pdf(long, jpeg)

    page = pypdfium2.PdfDocument(pdf)
    assert len(page) == 1
    drawn = np.asarray(page[0].render(scale=1.0).to_numpy())[:, :, :3]
    assert (drawn[:, -20:] == 255).all()  # nothing runs off the right edge
    assert (drawn[-20:] == 255).all()
