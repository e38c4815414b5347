"""The map of the documents answers a newcomer's question in two clicks, and the glossary says each word once."""

from __future__ import annotations

import re

from compliance.devtools.here import DOCS, ROOT
from compliance.records.answer import NOT_RECORDED, NOT_YET, WRITTEN
from compliance.rules.rule import SEVERITIES

ROW = re.compile(r"^\| (.+?) \| (.+) \|$", re.M)


def rows(text: str) -> list[tuple[str, str]]:
    """The rows of the tables of a text: left cell, right cell."""
    return [(left, right) for left, right in ROW.findall(text) if not set(left) <= set("-: ")]


def test_each_question_of_the_map_leads_to_a_place() -> None:
    """The README leads to the map, and each question there to a heading or to the page that is about it."""
    assert "](docs/README.md)" in (ROOT / "README.md").read_text(encoding="utf-8")
    text = (DOCS / "README.md").read_text(encoding="utf-8")
    section = text.partition("## A question, and where its answer stands")[2].partition("\n## ")[0]
    questions = [(left, right) for left, right in rows(section) if left.endswith((".", "?"))]
    assert len(questions) >= 15
    assert [left for left, right in questions if "](" not in right] == []


def test_the_glossary_says_each_word_once() -> None:
    """A term has one meaning: it begins one row."""
    words = [
        word.strip("* ").lower()
        for left, _ in rows((DOCS / "glossary.md").read_text(encoding="utf-8"))
        for word in re.findall(r"\*\*(.+?)\*\*", left)
    ]
    assert len(words) > 60
    assert sorted({word for word in words if words.count(word) > 1}) == []


def test_the_glossary_has_the_words_that_pages_and_lists_use_of_their_own() -> None:
    """Severities and kinds of page, from the code, and the four answers without a value."""
    text = (DOCS / "glossary.md").read_text(encoding="utf-8")
    wanted = [*SEVERITIES, *WRITTEN, NOT_RECORDED, NOT_YET, "not known", "federal floor", "house policy"]
    assert [word for word in wanted if word not in text] == []
