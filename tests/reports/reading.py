"""Reading a page model and its renderings back, for tests."""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass
from html.parser import HTMLParser
from io import BytesIO

from pypdf import PdfReader

_NOT_WORDS = {"kind", "language", "paper", "tone", "align", "id", "source", "target", "number", "plus_minus"}


def words_of(value: object) -> list[str]:
    """Every string that a reader of the page should find: texts and labels, not kinds, ids and exact numbers."""
    if isinstance(value, str):
        return [value] if value.strip() else []
    if isinstance(value, tuple):
        return [word for one in value for word in words_of(one)]
    if is_dataclass(value):
        named = [f.name for f in fields(value) if f.name not in _NOT_WORDS]
        return [word for name in named for word in words_of(getattr(value, name))]
    return []


def bare(text: str) -> str:
    """Text without any white space, as lines may break anywhere."""
    return re.sub(r"\s+", "", text)


def pdf_text(data: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(BytesIO(data)).pages)


class _Document(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.parts: list[str] = []
        self.style = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))
        self.style = tag == "style"

    def handle_endtag(self, tag: str) -> None:
        self.style = False

    def handle_data(self, data: str) -> None:
        if not self.style:
            self.parts.append(data)


def html_read(text: str) -> tuple[list[tuple[str, dict[str, str]]], str]:
    """The elements of a document with their attributes, and its text."""
    reader = _Document()
    reader.feed(text)
    reader.close()
    return reader.tags, "".join(reader.parts)
