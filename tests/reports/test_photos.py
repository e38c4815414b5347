"""Photos on a page: in the file itself, beside their words, and told to be missing where nobody has them."""

from __future__ import annotations

import re
from base64 import a85decode, b64decode
from hashlib import sha256
from io import BytesIO

from pypdf import PdfReader

from compliance.reports import html, pdf
from compliance.reports.model import Heading, Photo, Photos
from compliance.reports.page_json import from_json, to_json
from compliance.reports.sheets import page_sheets
from compliance.reports.text import word
from tests.intake.taking import photo, picture

from . import sample_pages as samples
from .reading import bare, html_read, pdf_text

WIDE, TALL = photo(made=picture(700, 200)), photo(made=picture(200, 700, "olive"))
KEPT = {sha256(data).hexdigest(): data for data in (WIDE, TALL)}
FIRST, SECOND = KEPT
PAGE = samples.of(
    Heading("Photos"),
    Photos(
        (
            Photo("NE inlet, covered", FIRST, "original 1\nthis copy 2"),
            Photo("Tamarack \"Arcade\" <drain> & berm", SECOND),
            Photo("gone " * 400, "0" * 64),
        )
    ),
)  # fmt: skip


def test_a_pdf_holds_the_bytes_of_its_photos() -> None:
    """As they are kept, so that a page made again is the same; captions and hashes stand beside them."""
    data = pdf.render(PAGE, KEPT.get)
    sheet = PdfReader(BytesIO(data)).pages[0]
    objects = [one.get_object() for one in sheet["/Resources"]["/XObject"].values()]
    files = [a85decode(b"<~" + one._data.strip(), adobe=True) for one in objects if one["/Subtype"] == "/Image"]
    assert sorted(files) == sorted([WIDE, TALL])
    assert data == pdf.render(PAGE, KEPT.get)
    text = bare(pdf_text(data))
    for said in ("NE inlet, covered", 'Tamarack "Arcade" <drain> & berm', "this copy 2"):
        assert bare(said) in text


def test_a_photo_that_nobody_has_is_told_to_be_missing() -> None:
    """In its place, in the page's language; a caption without end is cut and does not take the sheet."""
    data = pdf.render(PAGE)
    assert not PdfReader(BytesIO(data)).pages[0].images
    assert len(PdfReader(BytesIO(data)).pages) == 1
    assert bare(word("photo lost", "en")) in bare(pdf_text(data))
    assert html.render(PAGE).count(word("photo lost", "en")) == 3


def test_a_web_page_holds_its_photos_and_fetches_nothing() -> None:
    """Each with its caption as the words for those who do not see it."""
    text = html.render(PAGE, KEPT.get)
    tags, words = html_read(text)
    shown = [found for name, found in tags if name == "img"]
    assert [one["alt"] for one in shown] == ["NE inlet, covered", 'Tamarack "Arcade" <drain> & berm']
    assert [b64decode(one["src"].removeprefix("data:image/jpeg;base64,")) for one in shown] == [WIDE, TALL]
    assert "this copy 2" in words and "img-src data:" in text
    assert not re.search(r"(src|href)=\"(?!data:)", text)


def test_many_photos_take_the_sheets_that_they_need() -> None:
    """Six or more to a sheet, none lost."""
    page = samples.of(Photos(tuple(Photo(f"photo {n}", SECOND) for n in range(21))))
    sheets = PdfReader(BytesIO(pdf.render(page, KEPT.get))).pages
    assert 3 <= len(sheets) <= 4
    text = bare("".join(sheet.extract_text() for sheet in sheets))
    assert all(f"photo{n}" in text for n in range(21))
    assert samples.of(Photos(())) and '<div class="photos">' not in html.render(samples.of(Photos(())))


def test_a_page_names_its_photos_by_hash() -> None:
    """In its JSON, which can be read back, and by caption in a workbook."""
    assert from_json(to_json(PAGE)) == PAGE
    rows = page_sheets(PAGE)[0].table
    assert rows is not None and ("NE inlet, covered", "original 1\nthis copy 2") in [
        tuple(cell.text for cell in row) for row in rows.rows
    ]
