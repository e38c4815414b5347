"""The record codes that a page prints, read back from its bytes.

A page that left the house is the witness that whoever holds the book cannot change: its record in the book can be
written anew together with the rest.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterator
from functools import cache

from compliance.reports.issue import Head
from compliance.reports.model import Language
from compliance.reports.words import LANGUAGES, Words


def codes(data: bytes) -> frozenset[Head]:
    """The record codes that a page prints (PDF, HTML, JSON or workbook): one, as a rule.

    None for a preview, for words that this version no longer has, and where no text can be read.
    """
    try:
        for text in _texts(data):
            if found := frozenset(_said(text)):
                return found
    except Exception:  # a damaged file, which is no page of ours: each reader has errors of its own
        pass
    return frozenset()


def _said(text: str) -> Iterator[Head]:
    for language in LANGUAGES:
        for size, root in _pattern(language).findall(text):
            yield Head(int(size.replace(",", "")), root)


@cache
def _pattern(language: Language) -> re.Pattern[str]:
    """The line of the record code in the words of a language, wherever a reader of text breaks it."""
    words = re.escape(Words(language)("code", size="SIZE", root="ROOT")).replace(r"\ ", r"\s+")
    return re.compile(words.replace("SIZE", r"(\d[\d,]*)").replace("ROOT", "([0-9a-f]{64})(?![0-9a-f])"))


def _texts(data: bytes) -> Iterator[str]:
    if data.startswith(b"%PDF"):
        from pypdf import PdfReader

        yield from (sheet.extract_text() for sheet in reversed(PdfReader(io.BytesIO(data)).pages))  # it comes last
    elif zipfile.is_zipfile(io.BytesIO(data)):
        with zipfile.ZipFile(io.BytesIO(data)) as book:
            yield from (book.read(name).decode() for name in book.namelist() if name.endswith(".xml"))
    else:
        yield data.decode(errors="replace")
