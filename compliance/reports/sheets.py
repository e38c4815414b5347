"""What a workbook holds, and a page as such sheets. Pure; `workbook` writes them."""

from __future__ import annotations

from dataclasses import dataclass, replace

from compliance.reports import hours
from compliance.reports.model import (
    Bullets,
    Cell,
    Chart,
    Column,
    Facts,
    Heading,
    Hours,
    OpenItems,
    Page,
    PageBreak,
    Paragraph,
    Photos,
    Small,
    Statement,
    Table,
    WaterPath,
)
from compliance.reports.picture import path_table
from compliance.reports.text import word


@dataclass(frozen=True)
class Sheet:
    """One sheet: a table, if any, then charts. name: any text; it is made to fit the format's rules."""

    name: str
    table: Table | None
    charts: tuple[Chart, ...] = ()


def page_sheets(page: Page) -> tuple[Sheet, ...]:
    """A page as sheets: its words first, then a sheet a table; the charts under one heading have a sheet of their own.

    A chart brings the table behind it along, so that it prints whole, at its size, whatever stands elsewhere.
    """
    language = page.language
    words: list[tuple[Cell, Cell]] = []
    sheets: list[Sheet] = []
    heading, fresh = "", True

    def say(*pairs: tuple[str, str]) -> None:
        words.extend((Cell(label), Cell(value)) for label, value in pairs if value)

    say(("", page.issuer), ("", page.title), (word("number", language), page.number))
    say((word("status", language), page.status), *((fact.label, fact.value) for fact in page.facts))
    for block in page.blocks:
        match block:
            case Heading(text, level):
                heading, fresh = text, fresh or level == 2
                if words and words[-1][0].tone == "strong":
                    words.pop()  # what stands under it is on sheets of its own
                words.append((Cell(text, tone="strong"), Cell("")))
            case Table():
                sheets.append(Sheet(block.caption or heading or page.title, block))
                fresh = False
            case Hours(title):
                sheets.append(Sheet(title or heading, hours.table(block)))
                fresh = False
            case WaterPath(title, _, _, note):
                sheets.append(Sheet(title or heading, replace(path_table(block, language), note=note)))
                fresh = False
            case Chart(_, title) if fresh or not sheets or not sheets[-1].charts:
                sheets.append(
                    Sheet(title if heading in (sheet.name for sheet in sheets) else heading or title, None, (block,))
                )
                fresh = False
            case Chart():
                sheets[-1] = replace(sheets[-1], charts=(*sheets[-1].charts, block))
            case Paragraph(text):
                say(("", text))
            case Facts(pairs):
                say(*((fact.label, fact.value) for fact in pairs))
            case Bullets(items):
                say(*(("", item) for item in items))
            case OpenItems(title, items, none):
                say(*((title if at == 0 else "", item) for at, item in enumerate(items or (none,))))
            case Statement(sentence, name, role, date):
                say(("", sentence), (word("name", language), name))
                say((word("role", language), role), (word("date", language), date))
            case Photos(photos):
                say(*((photo.caption, photo.note) for photo in photos))
            case Small(lines):
                say(*(("", line) for line in lines))
            case PageBreak():
                pass
    say(*(("", line) for line in (page.footer.sentence, *page.footer.code)))
    first = Table((Column(word("this page", language)), Column(page.number)), tuple(words))
    return (Sheet(word("this page", language), first), *sheets)
