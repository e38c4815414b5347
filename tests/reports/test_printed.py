"""A page's record code is read back from each of its forms, and nothing else is taken for one."""

from __future__ import annotations

import pytest

from compliance.reports import html, pdf, printed, workbook
from compliance.reports.imprint import record_code
from compliance.reports.issue import Head
from compliance.reports.model import Footer, Heading, Language, Page, Paper, Paragraph, Small
from compliance.reports.page_json import to_json
from compliance.reports.sheets import page_sheets
from compliance.reports.words import LANGUAGES, Words

HEAD = Head(1_234_567, "0123456789abcdef" * 4)


def page(language: Language, paper: Paper, head: Head | None) -> Page:
    """A page with digests that are no record code, and enough text for several sheets."""
    words = Words(language)
    hashes = Small((words("photos.hashes", original="ab" * 32, copy="cd" * 32), f"SHA-256: 5 photos, root {'ef' * 20}"))
    blocks = (Heading("Work"), hashes, *(Paragraph("Curb side. " * 60) for _ in range(40)))
    return Page(
        kind="proof", number="quay-1", title="Proof", language=language, paper=paper, facts=(), blocks=blocks,
        footer=Footer("The local permit governs.", record_code(words, head)), issuer="Bluebank Wash Recovery",
    )  # fmt: skip


def forms(made: Page) -> list[bytes]:
    return [
        pdf.render(made),
        html.render(made).encode(),
        to_json(made).encode(),
        workbook.render("Proof", page_sheets(made), language=made.language, paper=made.paper),
    ]


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("paper", ["letter", "A4"])
def test_the_code_is_read_from_every_form(language: Language, paper: Paper) -> None:
    """PDF, HTML, JSON and workbook, in each language: one code, with its thousands; a preview has none."""
    assert [printed.codes(data) for data in forms(page(language, paper, HEAD))] == [{HEAD}] * 4
    assert [printed.codes(data) for data in forms(page(language, paper, None))] == [frozenset()] * 4


@pytest.mark.parametrize("data", [b"", b"%PDF-1.7 and no more", b"PK\x03\x04", b"\xff\xfe\x00", b"root " + b"ab" * 32])
def test_bytes_that_are_no_page_print_no_code(data: bytes) -> None:
    """Nothing to read, or nothing that can be read."""
    assert printed.codes(data) == frozenset()


def test_a_code_with_too_many_digits_is_none() -> None:
    """A root of 65 digits is no root, a size of 5,000 no size."""
    said = Words("en")("code", size="7", root="a" * 65)
    assert printed.codes(said.encode()) == frozenset()
    assert printed.codes(Words("en")("code", size="7" * 5000, root="a" * 64).encode()) == frozenset()
