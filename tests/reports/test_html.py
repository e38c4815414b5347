"""The HTML page: the same words as the PDF, marked up for machines that read aloud, with nothing from outside."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from compliance.reports import html, picture
from compliance.reports.model import (
    Bullets,
    Cell,
    Column,
    Fact,
    Facts,
    Footer,
    Heading,
    OpenItems,
    Page,
    Paragraph,
    Statement,
    Table,
)
from compliance.reports.text import printable, word

from . import sample_pages as samples
from .reading import bare, html_read, words_of

PAGES = [samples.proof(), samples.proof("A4"), samples.month(), samples.everything()]
ALLOWED = {
    *("html", "head", "meta", "title", "style", "body", "main", "header", "footer", "section", "hr"),
    *("h1", "h2", "h3", "p", "dl", "div", "dt", "dd", "ul", "li", "span"),
    *("table", "caption", "thead", "tbody", "tfoot", "tr", "th", "td"),
    *("figure", "figcaption", "details", "summary", "svg", "rect", "polyline", "polygon", "text"),
}


@pytest.mark.parametrize("page", PAGES)
def test_the_same_page_is_the_same_text(page):
    """Made twice, it is equal."""
    assert html.render(page) == html.render(page)


@pytest.mark.parametrize("page", PAGES)
def test_every_label_and_value_stands_in_the_text(page):
    """All that the model says can be read, charts included."""
    _, text = html_read(html.render(page))
    body = bare(text)
    assert [one for one in words_of(page) if bare(one) not in body and one not in (page.kind, "test")] == []


@pytest.mark.parametrize("page", PAGES)
def test_nothing_is_fetched_and_nothing_runs(page):
    """Only plain elements; no script, link, frame, picture file, address or handler anywhere."""
    tags, _ = html_read(html.render(page))
    assert {tag for tag, _ in tags} <= ALLOWED
    names = {name for _, attributes in tags for name in attributes}
    assert not names & {"src", "href", "srcset", "action", "data", "style", "xlink:href"}
    assert not any(name.startswith("on") for name in names)
    assert "url(" not in html.render(page)
    assert "@import" not in html.render(page)
    assert "default-src 'none'" in html.render(page)


@settings(max_examples=200, deadline=None)
@given(st.text(min_size=1, max_size=120))
def test_any_text_is_text_and_makes_no_element(text):
    """The elements are those of the same page with a harmless word in its place, and the text comes back."""

    def page(word_: str) -> Page:
        return Page(
            "test",
            f"T{word_}",
            "1",
            "en",
            "letter",
            (Fact(f"K{word_}", f"V{word_}"),),
            (
                Heading(f"H{word_}"),
                Paragraph(f"P{word_}"),
                Facts((Fact("a", f"F{word_}"),)),
                Table(
                    tuple(Column(f"L{word_}") for _ in range(4)),
                    ((Cell(f"C{word_}"),) * 4,),
                    (Cell(f"S{word_}"),) * 4,
                    f"Q{word_}",
                    f"N{word_}",
                ),
                Bullets((f"B{word_}",)),
                OpenItems(f"O{word_}", (f"I{word_}",)),
                Statement(f"Z{word_}", f"A{word_}", f"R{word_}", f"D{word_}"),
            ),
            Footer(f"W{word_}", (f"X{word_}", word("code points", "en"))),
            f"Y{word_}",
            f"U{word_}",
        )

    harmless, _ = html_read(html.render(page("中")))
    tags, read = html_read(html.render(page(f"中{text}")))
    assert [tag for tag, _ in tags] == [tag for tag, _ in harmless]
    assert [sorted(one) for _, one in tags] == [sorted(one) for _, one in harmless]
    body = bare(read)
    for lead in "TKVHPFLCSQNBOIZARDWXYU":
        assert bare(printable(f"{lead}中{text}")) in body


def test_markup_in_a_picture_is_text_too():
    """Labels of charts and of the water's way make no elements either."""
    page = samples.of(samples.bars())
    chart = page.blocks[0]
    evil = "</text></svg><script>alert(1)</script>"
    changed = html.render(samples.of(type(chart)(chart.kind, evil, evil, (evil,) * 4, chart.series, evil, evil)))
    tags, _ = html_read(changed)
    assert {tag for tag, _ in tags} <= ALLOWED


@pytest.mark.parametrize("page", PAGES)
def test_tables_name_their_rows_and_columns(page):
    """A caption where there is one, scope on every heading, roles kept where a narrow screen turns rows to cards."""
    tags, _ = html_read(html.render(page))
    heads = [attributes for tag, attributes in tags if tag == "th"]
    assert heads
    assert all(one["scope"] in ("row", "col") for one in heads)
    assert all(one.get("role") for tag, one in tags if tag in ("table", "tr", "th", "td", "thead", "tbody"))
    pictures = [one for tag, one in tags if tag == "svg"]
    assert all(one["role"] == "img" and one["aria-label"] for one in pictures)
    figures = sum(tag == "figure" for tag, _ in tags)
    assert sum(tag == "details" for tag, _ in tags) == figures


@pytest.mark.parametrize("page", PAGES)
def test_the_document_says_its_language_and_its_headings_step_down(page):
    """lang is set, there is one h1, and no level is left out on the way down."""
    tags, _ = html_read(html.render(page))
    assert tags[0] == ("html", {"lang": page.language})
    levels = [int(tag[1]) for tag, _ in tags if re.fullmatch("h[1-6]", tag)]
    assert levels.count(1) == 1
    assert levels[0] == 1


def _light(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("ink", [picture.INK, picture.MUTED, picture.ACCENT])
@pytest.mark.parametrize("ground", [picture.PAPER, picture.TINT])
def test_text_stands_out_from_its_ground(ink, ground):
    """Contrast of at least 4.5 to 1 (WCAG's formula) for each colour in which words are set."""
    light, dark = sorted((_light(ink), _light(ground)), reverse=True)
    assert (light + 0.05) / (dark + 0.05) >= 4.5


def test_each_picture_is_drawn_for_wide_and_for_narrow_screens():
    """Two drawings, of which the style sheet shows one."""
    tags, _ = html_read(html.render(samples.proof()))
    assert [one["class"] for tag, one in tags if tag == "svg"] == ["wide", "narrow"]


def test_code_points_are_explained_where_they_are_shown():
    """The note is the PDF's."""
    assert word("code points", "es") in html.render(Page("t", "中", "", "es", "A4", (), (), Footer("")))
    assert word("code points", "en") not in html.render(samples.proof())


def test_an_empty_table_and_nothing_awaited_are_said():
    """Silence is never a table without rows."""
    text = html.render(samples.of(Table((Column("a"),), ()), OpenItems("Awaited", (), "Nothing is awaited.")))
    assert word("no entries", "en") in text
    assert "Nothing is awaited." in text
