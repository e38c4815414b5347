"""A page as JSON: nothing is lost, and nothing that is no page is read."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.records.problem import ComplianceError
from compliance.reports.model import (
    Cell,
    Column,
    Heading,
    Paragraph,
    Table,
)
from compliance.reports.page_json import from_json, map_text, to_json

from . import sample_pages as samples


@pytest.mark.parametrize("page", [samples.proof(), samples.proof("A4"), samples.month(), samples.everything()])
def test_a_page_comes_back_from_its_json_unchanged(page):
    """Reading what was written gives an equal page, and writing that gives equal text."""
    text = to_json(page)
    assert from_json(text) == page
    assert to_json(from_json(text)) == text


@given(st.text(), st.text())
def test_any_text_survives_the_json(label, text):
    """Quotes, newlines, lone surrogates and all come back as they were."""
    page = samples.of(Paragraph(text), Table((Column(label),), ((Cell(text),),)))
    assert from_json(to_json(page)) == page


def test_the_json_is_canonical():
    """Keys are sorted, nothing is spaced, and what has its default value is left out."""
    text = to_json(samples.of(Heading("Water")))
    assert text == json.dumps(json.loads(text), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert '{"block":"Heading","text":"Water"}' in text


@pytest.mark.parametrize(
    "change",
    [
        lambda page: page.pop("title"),
        lambda page: page.update(colour="red"),
        lambda page: page.update(title=7),
        lambda page: page.update(paper="A5"),
        lambda page: page.update(blocks={}),
        lambda page: page["blocks"].append({"block": "Script", "text": "x"}),
        lambda page: page["blocks"].append({"block": "Heading", "text": "x", "level": 1}),
        lambda page: page["blocks"].append({"block": "Heading", "text": "x", "level": True}),
        lambda page: page["blocks"].append("Heading"),
        lambda page: page.update(footer=[]),
        lambda page: page["blocks"].append(
            {"block": "Table", "columns": [{"label": "a"}], "rows": [[{"text": "1", "number": 1.5}]]}
        ),
    ],
)
def test_what_is_not_a_page_is_refused(change):
    """Unknown and missing keys, wrong types, floats and unknown blocks are refused, not repaired."""
    page = json.loads(to_json(samples.of(Heading("Water"))))
    change(page)
    with pytest.raises(ComplianceError):
        from_json(json.dumps(page))


def test_text_that_is_not_json_is_refused():
    """A damaged file is a problem with a next step, not a traceback."""
    with pytest.raises(ComplianceError) as caught:
        from_json("{")
    assert caught.value.problems[0].next_step


def test_mapping_text_keeps_what_does_not_change():
    """The same page comes back where no string changed, and every string passes through where one does."""
    page = samples.everything()
    assert map_text(page, lambda text: text) is page
    assert map_text(page, str.upper).title == page.title.upper()
