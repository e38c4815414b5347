"""A page as PDF: the same page gives the same bytes.

Black on white with one muted accent, the fixed sentence and 'page n of m' at the foot of each sheet. reportlab
writes no structure tags, so readers who need them get the HTML page, which says the same words.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from io import BytesIO
from typing import Any

from reportlab.lib.pagesizes import A4, letter
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus.doctemplate import BaseDocTemplate, PageTemplate
from reportlab.platypus.flowables import CondPageBreak, Flowable, Spacer
from reportlab.platypus.frames import Frame

from compliance.reports import charts, fonts, hours, picture
from compliance.reports.flow import Lines, PhotoRow, Picture, Scaled, Type, bookmark, colour
from compliance.reports.grid import CAPTION, Rows, fact_rows, table_rows
from compliance.reports.model import (
    Block,
    Bullets,
    Chart,
    Fact,
    Facts,
    Heading,
    Hours,
    OpenItems,
    Page,
    PageBreak,
    Paragraph,
    Photo,
    Photos,
    Pictures,
    Small,
    Statement,
    Table,
    WaterPath,
    no_pictures,
)
from compliance.reports.picture import ACCENT, HAIR, INK, MUTED
from compliance.reports.text import printable_page, word

_SIDE = 46.0
_TOP = 36.0
_FOOT = 46.0
_BARELY_BEGUN = 0.75
_SCALES = (1.0, 0.95, 0.9, 0.86, 0.82)
"""How much smaller a first sheet may be set to stay one sheet: text of 6.9 points is the least that prints clearly."""

_BODY = Type()
_BOLD = Type(bold=True)
_FAINT = Type(colour=MUTED)
_ITEM = Type(after=2)
_H2 = Type(11, 14, True, ACCENT, before=8, after=4)
_H3 = Type(8.8, 12, True, INK, before=4, after=3)
_NOTE = Type(6.9, 9.2, colour=MUTED, after=6)
_CODE = Type(6.2, 8.2, colour=MUTED, after=1)
_TITLE = Type(17, 21, True, INK, after=1)
_ISSUER = Type(8.4, 11, True, ACCENT, after=1)
_STATUS = Type(8.4, 11.2, True, INK, after=4)
_TONES = {"plain": _BODY, "strong": _BOLD, "muted": _FAINT}


class _Sheets(Canvas):  # type: ignore[misc]
    """A canvas that knows at its end how many sheets there were and fills that in on each."""

    def save(self) -> None:
        count = self.getPageNumber() - 1
        self.beginForm("sheets")
        self.setFont(fonts.REGULAR, 6.6)
        self.setFillColor(colour(MUTED))
        self.drawString(0, 0, str(count))
        self.endForm()
        super().save()


def render(page: Page, pictures: Pictures = no_pictures, *, sheets: str = "") -> bytes:
    """The page as the bytes of a PDF file, on the paper that it names; its photos come from `pictures`.

    sheets: begins the label of each sheet, 'A-' for A-1, A-2, where the page is one of several in a file; '' numbers
    them as 'page 1 of 2'.
    """
    page, code_points = printable_page(page)
    fonts.register()
    wide, high = letter if page.paper == "letter" else A4
    sentence, cut = fonts.shortened(page.footer.sentence, wide - 2 * _SIDE, 6.6, 3)
    foot = _FOOT + (len(sentence) - 1) * 8.4
    builder = _Builder(page, wide - 2 * _SIDE, high - _TOP - foot, pictures)
    story = builder.story()
    last = [*page.footer.code, *([page.footer.sentence] if cut else [])]
    if code_points:
        last.append(word("code points", page.language))
    story += [Spacer(1, 6), *(Lines(line, _CODE) for line in last)] if last else []
    out = BytesIO()
    doc = BaseDocTemplate(
        out,
        pagesize=(wide, high),
        title=f"{page.title} {page.number}".strip().replace("\n", " "),
        author=page.issuer,
        subject=page.kind,
        creator="washwater",
        lang=page.language,
        displayDocTitle=True,
        invariant=1,
    )
    frame = Frame(_SIDE, foot, builder.wide, builder.high, 0, 0, 0, 0)
    doc.addPageTemplates(PageTemplate("sheet", [frame], onPage=_foot_of(page, sentence, wide, sheets)))
    doc.build(story, canvasmaker=_Sheets)
    return out.getvalue()


def _foot_of(page: Page, sentence: list[str], wide: float, sheets: str) -> Callable[[Any, Any], None]:
    def foot(canvas: Any, doc: Any) -> None:
        if doc.page == 1:
            canvas.showOutline()
            bookmark(canvas, page.title, 0, 0)
        top = 26 + len(sentence) * 8.4 + 4
        canvas.setStrokeColor(colour(HAIR))
        canvas.setLineWidth(0.5)
        canvas.line(_SIDE, top, wide - _SIDE, top)
        canvas.setFillColor(colour(MUTED))
        canvas.setFont(fonts.REGULAR, 6.6)
        y = top - 9.5
        for line in sentence:
            canvas.drawString(_SIDE, y, line)
            y -= 8.4
        canvas.drawRightString(wide - _SIDE, y, _whose(page, wide - 2 * _SIDE - 90))
        if sheets:
            canvas.drawString(_SIDE, y, f"{sheets}{doc.page}")
            return
        which = word("page", page.language).format(n=doc.page)
        canvas.drawString(_SIDE, y, which)
        canvas.saveState()
        canvas.translate(_SIDE + fonts.width(which, 6.6), y)
        canvas.doForm("sheets")
        canvas.restoreState()

    return foot


def _whose(page: Page, room: float) -> str:
    """Issuer, title and number in one line of so many points; where it is too long, the number is kept whole."""
    number = f" · {page.number}" if page.number else ""
    named = " · ".join(part for part in (page.issuer, page.title) if part)
    short, _ = fonts.shortened(named, max(room - fonts.width(number, 6.6), 20), 6.6, 1)
    return f"{short[0]}{number}"


class _Bar(Flowable):  # type: ignore[misc]
    """The rule under the title, and a pale one elsewhere."""

    def __init__(self, wide: float, pale: bool = False) -> None:
        super().__init__()
        self.wide, self.pale = wide, pale

    def wrap(self, wide: float, high: float) -> tuple[float, float]:
        return self.wide, 7

    def draw(self) -> None:
        self.canv.setDash([])
        self.canv.setStrokeColor(colour(HAIR if self.pale else ACCENT))
        self.canv.setLineWidth(0.5 if self.pale else 1.6)
        self.canv.line(0, 4, self.wide, 4)


class _Signature(Flowable):  # type: ignore[misc]
    """The line on which a person signs."""

    def __init__(self, wide: float, label: str) -> None:
        super().__init__()
        self.wide, self.label = wide, label

    def wrap(self, wide: float, high: float) -> tuple[float, float]:
        return self.wide, 29

    def draw(self) -> None:
        self.canv.setDash([])
        self.canv.setStrokeColor(colour(INK))
        self.canv.setLineWidth(0.6)
        self.canv.line(0, 12, self.wide * 0.46, 12)
        self.canv.setFillColor(colour(MUTED))
        self.canv.setFont(fonts.REGULAR, 6.8)
        self.canv.drawString(0, 3.5, self.label)


class _Builder:
    """Turns blocks into pieces for a sheet with so much room, in points."""

    def __init__(self, page: Page, wide: float, high: float, pictures: Pictures) -> None:
        self.page, self.wide, self.high, self.pictures = page, wide, high, pictures
        self.tallest = high - 60  # leaves room for a heading above what cannot be broken
        self.depth = 0
        self.heading = ""

    def story(self) -> list[Flowable]:
        """All pieces of the page, in order."""
        page = self.page
        whole = self._first_sheet()
        out = [whole] if whole else self._head()
        made = [self._pieces(block) for block in page.blocks]
        for at, (block, pieces) in enumerate(zip(page.blocks, made, strict=True)):
            if whole and at < self._first():
                continue
            if isinstance(block, Heading | Chart | Hours | WaterPath | OpenItems | Statement):
                out.append(CondPageBreak(min(self._least(made, at), self.high * 0.98)))
            out += pieces
        return out

    def _first(self) -> int:
        """How many blocks are meant for the first sheet: those before the first page break, none without one."""
        return next((at for at, one in enumerate(self.page.blocks) if isinstance(one, PageBreak)), 0)

    def _first_sheet(self) -> Flowable | None:
        """The first sheet as one, a little smaller where it would run over; None where that does not help either."""
        count = self._first()
        for scale in _SCALES if count else ():
            smaller = _Builder(self.page, self.wide / scale, self.high / scale, self.pictures)
            pieces = [*smaller._head(), *(piece for one in self.page.blocks[:count] for piece in smaller._pieces(one))]
            whole = Scaled(pieces, scale, self.wide)
            if whole.height <= self.high:
                return whole
        return None

    def _head(self) -> list[Flowable]:
        page = self.page
        out: list[Flowable] = [Lines(page.issuer, _ISSUER)] if page.issuer else []
        out.append(Lines(page.title, _TITLE))
        state = " · ".join(part for part in (page.number, page.status) if part)
        if state:
            out.append(Lines(state, _STATUS))
        out.append(_Bar(self.wide))
        if page.facts:
            out.append(self._facts(page.facts))
        return out

    def _least(self, made: list[list[Flowable]], at: int) -> float:
        """The room for a block's start: a heading with what it heads, a picture with its title, a whole statement."""
        if at >= len(made) or not made[at] or isinstance(self.page.blocks[at], PageBreak):
            return 0
        first = made[at][0]
        if isinstance(first, Rows):
            return first.least
        tall: float
        _, tall = first.wrap(self.wide, self.high)
        if isinstance(self.page.blocks[at], Heading):
            around: float = first.getSpaceBefore() + first.getSpaceAfter()
            return tall + around + self._least(made, at + 1)
        count = {Chart: 3, Hours: 3, WaterPath: 3, OpenItems: 2, Statement: 5}.get(type(self.page.blocks[at]), 0)
        if count:
            whole: float = sum(
                piece.wrap(self.wide, self.high)[1] + piece.getSpaceAfter() for piece in made[at][:count]
            )
            return whole
        return min(tall, 36)

    def _pieces(self, block: Block) -> list[Flowable]:
        language = self.page.language
        match block:
            case Heading(text, level):
                self.depth = min(level - 1, self.depth + 1)
                self.heading = text
                return [Lines(text, _H2 if level == 2 else _H3, entry=(text, self.depth))]
            case Paragraph(text, tone):
                return [Lines(text, _TONES[tone])]
            case Facts(pairs):
                return [self._facts(pairs)] if pairs else []
            case Table():
                return self._table(block)
            case Bullets(items):
                return [*(Lines(item, _ITEM, indent=10, sign="•") for item in items), Spacer(1, 3)]
            case OpenItems(title, items, none):
                listed = [Lines(item, _ITEM, indent=12, sign="☐") for item in items]
                empty = [Lines(none, _BODY)] if none and not items else []
                return [Lines(title, _BOLD), *listed, *empty, Spacer(1, 3)]
            case Statement():
                return self._statement(block)
            case WaterPath(title, _, _, _):
                return self._drawn(title, picture.water_path(block, self.wide, language), ())
            case Chart(_, title):
                drawing = charts.layout(block, self.wide, language)
                words = (*charts.figures(block), block.note) if block.note else charts.figures(block)
                return self._drawn(title, drawing, words)
            case Hours(title):
                return self._drawn(title, hours.layout(block, self.wide), (block.note,) if block.note else ())
            case PageBreak():
                # a sheet that only carries over the end of the one before is gone on with
                return [CondPageBreak(self.high * _BARELY_BEGUN)]
            case Photos(photos):
                shown = [self._photo(one) for one in photos]
                return [PhotoRow(shown[at : at + 2], self.wide) for at in range(0, len(shown), 2)]
            case Small(lines):
                return [*(Lines(line, _CODE) for line in lines), Spacer(1, 3)]

    def _table(self, block: Table) -> list[Flowable]:
        language = self.page.language
        # a caption stands again on every sheet, so it is short there; a long one is also printed whole, above
        caption, cut = fonts.shortened(block.caption, self.wide, CAPTION.size, 2, CAPTION.bold)
        above = [Lines(block.caption, CAPTION)] if cut else []
        table = replace(block, caption="\n".join(caption))
        again = f"({word('continued', language)})"
        if not block.caption:  # then the heading above it says what it is
            again = f"{self.heading} {again}".strip()
        rows = table_rows(table, self.wide, self.tallest, again, word("no entries", language))
        return [*above, rows, *([Lines(block.note, _NOTE)] if block.note else [])]

    def _facts(self, pairs: tuple[Fact, ...]) -> Rows:
        return fact_rows([(fact.label, fact.value) for fact in pairs], self.wide, self.tallest)

    def _photo(self, photo: Photo) -> tuple[bytes | None, str, str]:
        data = self.pictures(photo.shown)
        lost = "" if data is not None else word("photo lost", self.page.language)
        return data, "\n".join(part for part in (photo.caption, lost) if part), photo.note

    def _drawn(self, title: str, drawing: picture.Drawing, words: tuple[str, ...]) -> list[Flowable]:
        notes = [Lines(line, _CODE) for line in (*drawing.notes, *words)]
        if not drawing.shapes and not notes:
            return []
        shown = [Picture(drawing, self.tallest)] if drawing.shapes else []
        heading = [Lines(title, _H3)] if title else []
        return [*heading, *shown, *notes, Spacer(1, 5)]

    def _statement(self, block: Statement) -> list[Flowable]:
        language = self.page.language
        parts = (("name", block.name), ("role", block.role), ("date", block.date))
        pairs = [(word(key, language), value or "_" * 24) for key, value in parts]
        return [
            _Bar(self.wide, pale=True),
            Lines(block.sentence, _BODY),
            fact_rows(pairs, self.wide, self.tallest, most=3),
            _Signature(self.wide, word("signature", language)),
            Spacer(1, 3),
        ]
