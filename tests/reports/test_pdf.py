"""The PDF: whole text, same bytes, nothing fetched, and sheets that hold together."""

from __future__ import annotations

import socket
import threading
import time
from dataclasses import replace
from io import BytesIO

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from compliance.reports import html, pdf
from compliance.reports.charts import figures
from compliance.reports.model import (
    Bullets,
    Cell,
    Chart,
    Column,
    Fact,
    Facts,
    Footer,
    Heading,
    OpenItems,
    Page,
    PageBreak,
    Paragraph,
    Series,
    Small,
    Statement,
    Table,
    WaterNode,
    WaterPath,
)
from compliance.reports.text import printable, word

from . import sample_pages as samples
from .reading import bare, pdf_text, words_of

REMARK = ("The sock at D3 was plugged; we moved the vacuum. " * 420)[:20_000]


@pytest.mark.parametrize("page", [samples.proof(), samples.month("A4"), samples.everything()])
def test_the_same_page_is_the_same_bytes(page):
    """A page made again can be compared with the issued one."""
    assert pdf.render(page) == pdf.render(page)


def test_another_page_is_other_bytes():
    """One changed gallon changes the file."""
    one, other = (samples.of(Paragraph(f"Captured {n} gal")) for n in (965, 966))
    assert pdf.render(one) != pdf.render(other)


@pytest.mark.parametrize("page", [samples.proof(), samples.proof("A4"), samples.month(), samples.everything()])
def test_every_label_and_value_can_be_read_back(page):
    """Titles, facts, cells, captions, notes, items, statement, code: all of it is text in the file."""
    text = bare(pdf_text(pdf.render(page)))
    words = [one for one in words_of(page) if one != "test"]
    words += [line for block in page.blocks if isinstance(block, Chart) for line in figures(block)]
    drawn_in_words = {block.label_title for block in page.blocks if isinstance(block, Chart)}
    missing = [one for one in words if bare(one) not in text and one not in drawn_in_words | {page.kind}]
    assert missing == []


@pytest.mark.parametrize(("paper", "size"), [("letter", (612, 792)), ("A4", (595, 842))])
def test_the_paper_is_the_one_asked_for(paper, size):
    """Letter and A4, to the point."""
    for sheet in PdfReader(BytesIO(pdf.render(samples.proof(paper)))).pages:
        assert (round(sheet.mediabox.width), round(sheet.mediabox.height)) == size


@pytest.mark.parametrize("paper", ["letter", "A4"])
def test_the_sample_record_has_its_first_sheet_complete(paper):
    """Places, water, picture, open items and the signature line of an ordinary job fit one sheet."""
    sheets = PdfReader(BytesIO(pdf.render(samples.proof(paper)))).pages
    first = bare(sheets[0].extract_text())
    assert len(sheets) == 2
    assert bare("Signature") in first
    assert bare("What else was recorded") not in first


def test_each_sheet_says_which_it_is_and_that_the_local_permit_governs():
    """'page n of m' and the fixed sentence stand at every foot."""
    sheets = PdfReader(BytesIO(pdf.render(samples.of(*[Paragraph(REMARK)] * 3)))).pages
    assert len(sheets) > 3
    for at, sheet in enumerate(sheets, 1):
        text = bare(sheet.extract_text())
        assert bare(samples.SENTENCE) in text
        assert f"page{at}of{len(sheets)}" in text


def test_a_spanish_page_counts_its_sheets_in_spanish():
    """The renderer's own words follow the page's language."""
    assert "página1de" in bare(pdf_text(pdf.render(samples.everything())))


def test_the_file_carries_language_title_author_and_outline():
    """What a reader program or an archive asks for, and nothing that acts by itself."""
    reader = PdfReader(BytesIO(pdf.render(samples.proof())))
    assert reader.trailer["/Root"]["/Lang"] == "en"
    assert reader.metadata is not None
    assert reader.metadata.title == "Record of wash-water recovery GP-0007"
    assert reader.metadata.author == "Bluebank Wash Recovery"
    flat = str(reader.outline)
    for title in ("Record of wash-water recovery", "What else was recorded", "How to check this page"):
        assert title in flat
    assert "/OpenAction" not in reader.trailer["/Root"]
    assert not any("/Annots" in sheet for sheet in reader.pages)


@settings(max_examples=200, deadline=None)
@given(st.text(min_size=1, max_size=120))
def test_any_text_is_printed_as_typed(text):
    """In a cell, a paragraph, a fact and the title: what comes out is what went in, or its code points."""
    page = Page(
        "test",
        f"T{text}",
        "1",
        "en",
        "letter",
        (Fact("Site", f"F{text}"),),
        (Paragraph(f"P{text}"), Table((Column("a"),), ((Cell(f"C{text}"),),))),
        Footer(samples.SENTENCE),
    )
    read = bare(pdf_text(pdf.render(page)))
    for lead in "TFPC":
        assert bare(printable(f"{lead}{text}")) in read


def test_a_picture_tag_is_printed_and_nothing_is_fetched(tmp_path):
    """Neither a file nor an address in a person's words is ever opened."""
    hits: list[bytes] = []
    server = socket.create_server(("127.0.0.1", 0))
    server.settimeout(0.2)
    port = server.getsockname()[1]
    stop = threading.Event()

    def listen() -> None:
        while not stop.is_set():
            try:
                talk, _ = server.accept()
            except TimeoutError:
                continue
            hits.append(talk.recv(100))
            talk.close()

    thread = threading.Thread(target=listen)
    thread.start()
    try:
        secret = tmp_path / "secret.png"
        secret.write_bytes(b"not a picture")
        tags = (
            f'<img src="file://{secret}"/>',
            f'<img src="http://127.0.0.1:{port}/x.png"/>',
            "<gate 3> R&D &lt; A & B",
            '<a href="http://127.0.0.1/">x</a><font color="white">hidden</font><onDraw name="x"/>',
        )
        text = bare(pdf_text(pdf.render(samples.of(*map(Paragraph, tags), Bullets(tags)))))
        socket.create_connection(("127.0.0.1", port)).close()  # the listener does hear what comes
        time.sleep(0.3)
    finally:
        stop.set()
        thread.join()
        server.close()
    for tag in tags:
        assert text.count(bare(tag)) == 2
    assert hits == [b""]


@pytest.mark.parametrize(
    "block",
    [
        Paragraph(REMARK),
        Table((Column("Stop"), Column("Remark")), ((Cell("1"), Cell(REMARK)), (Cell("2"), Cell("short")))),
        Table((Column(REMARK), Column("b")), ((Cell("1"), Cell("2")),)),
        Table((Column("a"),), ((Cell("1"),),), caption=REMARK, note="n"),
        Table((Column("a"),), ((Cell("x" * 20_000),),)),
        Facts((Fact("Remark", REMARK), Fact(REMARK, "b"))),
        Bullets((REMARK,)),
        OpenItems(REMARK, (REMARK,)),
        Statement(REMARK, REMARK, REMARK, REMARK),
        Heading(REMARK),
        Small((REMARK,)),
        WaterPath("w", (WaterNode("a", "used", REMARK, Cell(REMARK)),), ()),
        Chart("bars", REMARK, "gal", (REMARK,), (Series("s", (Cell("1 gal", "1", "gal"),)),)),
    ],
)
def test_a_remark_of_twenty_thousand_characters_is_printed_whole(block):
    """Wherever it stands it is broken over sheets and nothing of it is lost."""
    text = pdf_text(pdf.render(samples.of(block)))
    wanted = "x" * 20_000 if "x" * 20_000 in str(block) else bare(REMARK)
    for sentence in (samples.SENTENCE, "page"):
        assert bare(sentence) in bare(text)
    body = bare(text)
    furniture = [bare(samples.SENTENCE), *(f"page{n}of" for n in range(1, 60))]
    pieces = sum(wanted[at : at + 40] in body for at in range(0, len(wanted) - 40, 40))
    # a piece of forty characters is missed only where a sheet's foot stands between its halves
    assert pieces >= len(range(0, len(wanted) - 40, 40)) - 3 * body.count(furniture[0])


def test_a_long_title_sentence_and_code_are_printed_whole():
    """The frame of a page bears 20,000 characters as well as its blocks do."""
    page = Page("t", REMARK, "N", "en", "A4", (), (), Footer(REMARK, (REMARK,)), issuer=REMARK, status=REMARK)
    assert bare(pdf_text(pdf.render(page))).count(bare(REMARK[:49])) >= 5 * 400


def test_a_page_without_blocks_is_a_page():
    """Title, sentence and page number stand alone."""
    page = Page("t", "", "", "en", "letter", (), (), Footer(""))
    assert "page1of1" in bare(pdf_text(pdf.render(page)))
    assert word("no entries", "en") in pdf_text(pdf.render(samples.of(Table((Column("a"), Column("b")), ()))))


def _rows(count: int) -> Table:
    columns = (Column("Stop"), Column("Site"), Column("Used", numeric=True, unit="gal"), Column("Remark"))
    rows = tuple(
        (
            Cell(f"stop-{at}"),
            Cell("Gull Point Market Hall"),
            Cell(f"{at % 997}", f"{at % 997}", "gal"),
            Cell("none"),
        )
        for at in range(count)
    )
    return Table(columns, rows, totals=(Cell("All"), Cell(""), Cell("1"), Cell("")), caption="Stops")


def test_a_table_without_a_caption_goes_on_under_the_heading_above_it():
    """A sheet that begins with "(continued)" alone does not say what goes on there."""
    bare = replace(_rows(90), caption="")
    sheet = PdfReader(BytesIO(pdf.render(samples.of(Heading("By site"), bare)))).pages[1].extract_text()
    assert "By site (continued)" in sheet
    alone = PdfReader(BytesIO(pdf.render(samples.of(bare)))).pages[1].extract_text()
    assert alone.lstrip().startswith("(continued)") or "\n(continued)" in alone


def test_five_thousand_rows_are_broken_in_time_that_grows_with_them():
    """Ten times the rows take about ten times as long, each row is there, and the head stands on every sheet."""
    began = time.perf_counter()
    pdf.render(samples.of(_rows(500)))
    few = time.perf_counter() - began
    began = time.perf_counter()
    data = pdf.render(samples.of(_rows(5_000)))
    many = time.perf_counter() - began
    assert many < max(25 * few, 2)
    reader = PdfReader(BytesIO(data))
    sheets = [reader.pages[at].extract_text() for at in (0, 1, len(reader.pages) - 1)]
    assert all("Used (gal)" in text for text in sheets)
    assert "(continued)" not in sheets[0]
    assert "Stops (continued)" in sheets[1]
    assert "stop-0\n" in sheets[0]
    assert "stop-4999" in sheets[2]
    assert "All" in sheets[2]


@pytest.mark.parametrize("lines", range(36, 56))
def test_no_heading_stands_alone_at_the_foot_of_a_sheet(lines):
    """A heading moves to the sheet on which what it heads begins."""
    filler = "\n".join(f"line {at}" for at in range(lines))
    for block, first in (
        (_rows(30), "stop-0"),
        (Paragraph("Beneath\n" * 6), "Beneath"),
        (samples.points(), "GP-0008"),
    ):
        page = samples.of(Paragraph(filler), Heading("Part two"), Heading("Section", 3), block)
        sheets = [sheet.extract_text() for sheet in PdfReader(BytesIO(pdf.render(page))).pages]
        heading = next(at for at, text in enumerate(sheets) if "Part two" in text)
        assert first in sheets[heading]


def test_a_break_starts_a_new_sheet():
    """What follows a page break is on the next sheet, also right after a heading."""
    sheets = PdfReader(
        BytesIO(pdf.render(samples.of(Heading("One"), Paragraph("A line.\n" * 20), PageBreak(), Paragraph("Two"))))
    ).pages
    assert len(sheets) == 2
    assert "Two" in sheets[1].extract_text()


def test_a_sheet_that_has_barely_begun_is_gone_on_with() -> None:
    """The end of a first part that ran over by a line leaves no sheet nearly empty."""
    sheets = PdfReader(BytesIO(pdf.render(samples.of(Heading("One"), PageBreak(), Paragraph("Two"))))).pages
    assert len(sheets) == 1


def test_the_note_on_code_points_stands_only_where_one_is_shown():
    """And it says what [U+...] means in the page's language."""
    assert word("code points", "en")[:30] in pdf_text(pdf.render(samples.of(Paragraph("中"))))
    assert "U+" not in pdf_text(pdf.render(samples.proof()))


def test_a_picture_taller_than_the_sheet_is_made_smaller():
    """Sixty places on one picture still make one page, each with its name."""
    nodes = tuple(WaterNode(f"n{at}", "place", f"Place {at}", Cell(f"{at} gal", str(at), "gal")) for at in range(60))
    text = pdf_text(pdf.render(samples.of(Heading("Way"), WaterPath("Way", nodes, ()))))
    assert all(f"Place {at}\n" in text for at in range(60))


def test_a_long_business_name_cuts_itself_short_and_not_the_number():
    """The number is what a reader asks for; page and number stand at the foot of every sheet."""
    page = replace(samples.of(Paragraph("text")), issuer="Bluebank and Sons Wash Water Recovery of Port Alder " * 4,
                   title="Proof", number="harbor-trust-12")  # fmt: skip
    last = pdf_text(pdf.render(page)).splitlines()
    assert any(line.endswith("… · harbor-trust-12") for line in last)


def test_a_picture_of_nothing_has_no_heading_either():
    """A way of water without a place, a chart without labels: no word is left standing over an empty spot."""
    page = samples.of(WaterPath("The way of nothing", (), ()), Chart("bars", "The chart of nothing", "gal", (), ()))
    assert "of nothing" not in pdf_text(pdf.render(page))
    assert "of nothing" not in html.render(page)


def test_a_first_sheet_a_little_too_long_is_set_smaller_and_keeps_its_end():
    """Four fifths of the usual size is the least; the sheets behind have the size that they always have."""
    lines = tuple(Paragraph(f"line {n}") for n in range(42))
    data = pdf.render(samples.of(*lines, Statement("the end", "A", "B"), PageBreak(), Paragraph("behind")))
    first, second = (sheet.extract_text() for sheet in PdfReader(BytesIO(data)).pages)
    assert "line 41" in first and "the end" in first and "behind" in second


def test_a_first_sheet_far_too_long_runs_over_at_its_full_size():
    """Nothing is made so small that it cannot be read: what does not fit goes on overleaf."""
    data = pdf.render(samples.of(Paragraph("many words " * 2000), PageBreak(), Paragraph("behind")))
    sheets = [sheet.extract_text() for sheet in PdfReader(BytesIO(data)).pages]
    assert len(sheets) > 2 and "behind" in sheets[-1]
