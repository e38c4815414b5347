"""Where things stand on a sheet: its titles, its one or two rows of headings, and what each column is."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import PurePath
from typing import Final

from compliance.intake.oldbooks import days, limits
from compliance.intake.oldbooks.filemap import EACH_ROW, NAMES, NOTHING, FileMap, SheetMap
from compliance.intake.oldbooks.headings import (
    BY_NAME,
    NOT_USED,
    UNDER,
    half_recognised,
    names_units,
    recognised,
    unit_in,
)
from compliance.intake.oldbooks.table import Row, Sheet, letter, visible
from compliance.records.names import folded
from compliance.records.quantity import unit_named
from compliance.records.quick import dataclass
from compliance.records.registers import Registers

_LOOKED_AT: Final = 40
"""Rows of a sheet among which its headings are looked for."""
_FEWEST: Final = 2
"""Columns that have to be recognised before a row counts as headings: a lone word may stand anywhere, unless the
mapping names other columns by their letters.
"""
_MADE_ON: Final = re.compile(r"\b(print|updat|revis|as of|impres|actualiz|version|copyright)")
_NAMES_NOTHING: Final = frozenset((
    "sheet", "hoja", "page", "pagina", "tab", "table", "tabla", "data", "datos", "log", "logs", "wash", "water", "agua",
    "lavado", "job", "jobs", "work", "trabajo", "trabajos", "record", "records", "registro", "registros", "report",
    "book", "libro", "bitacora", "list", "lista", "month", "mes", "year", "ano", "old", "all", "todo", "main", "total",
    "totals", "week", "semana", "q", "copy", "copia", "de", "of", "the", "el", "la",
))  # fmt: skip
"""Words in the name of a sheet that name no rig, client or site; numbers do not either."""
_WORDS: Final = re.compile(r"[^\W\d_]+")
_REGISTER_OF: Final = {"rig": "rig", "client": "client", "site": "site", "job": "job", "lead": "person"}


@dataclass(frozen=True)
class Layout:
    """How one sheet is read.

    headings: numbers of their rows. labels: what stands over each column. columns: column -> its index, from 0.
    units: column -> the unit that its heading names. aside: index -> why a column with a heading is not read.
    values: column -> what every row says. found: where such a value, or the year, was found, in words. titled: columns
    whose value stands in a title.
    """

    sheet: Sheet
    headings: tuple[int, ...]
    labels: tuple[str, ...]
    columns: Mapping[str, int]
    units: Mapping[str, str]
    aside: Mapping[int, str]
    titles: tuple[str, ...]
    values: Mapping[str, str]
    year: int | None
    found: tuple[str, ...]
    titled: frozenset[str]

    @property
    def body(self) -> Sequence[Row]:
        """The rows below the headings."""
        last = self.headings[-1] if self.headings else 0
        return [row for row in self.sheet.rows if row.number > last]

    def place(self, index: int) -> str:
        """A column by its letter and its heading, as it is told."""
        label = self.labels[index] if index < len(self.labels) else ""
        return f"column {letter(index)}" + (f", {label!r}" if label else "")

    def key(self, index: int) -> str:
        """How a mapping names a column: by its heading where no other has the same, else by its letter."""
        label = self.labels[index] if index < len(self.labels) else ""
        return label if label and self.labels.count(label) == 1 else letter(index)


def laid_out(sheet: Sheet, said: FileMap, file: str) -> Layout | None:
    """How a sheet is read by what the mapping says and what is recognised; None when no headings are found."""
    own = said.sheet(sheet.name)
    rows = _heading_rows(sheet, said, own)
    if rows is None:
        return None
    labels = _labels(rows)
    width = max((len(row.cells) for row in sheet.rows), default=0)
    labels = (*labels, *[""] * (width - len(labels)))
    names = [_mapped(label, index, own, said) for index, label in enumerate(labels)]
    columns = {name: index for index, name in reversed(list(enumerate(names))) if name and name != NOT_USED}
    aside: dict[int, str] = {}
    known = _known(labels, names)
    for index, label in enumerate(labels):
        name = known[index]
        if not names[index] and name and name not in columns:
            columns[name] = index
        elif name and name != NOT_USED and columns[name] != index:
            aside[index] = f"column {letter(columns[name])} is taken for {name!r}"
        elif not name and said.choice("unit") == EACH_ROW and names_units(label):
            aside[index] = "unit of each row"
        elif label and (not name or name == NOT_USED):
            aside[index] = NOT_USED
    first = rows[0].number if rows else 0
    above = [row for row in sheet.rows if row.number < first]
    titles = tuple(row.text for row in above)
    in_titles, found = _values_in_titles(above, columns)
    told = {**said.values, **own.values}
    year, from_where = _year(sheet, said, own, above, file)
    return Layout(
        sheet,
        tuple(row.number for row in rows),
        labels,
        {name: columns[name] for name in BY_NAME if name in columns},
        {name: unit for name, index in columns.items() if (unit := unit_in(labels[index]))},
        aside,
        titles,
        {**in_titles, **told},
        year,
        (*found, *([from_where] if from_where else [])),
        frozenset(in_titles.keys() - told.keys()),
    )


def _heading_rows(sheet: Sheet, said: FileMap, own: SheetMap) -> tuple[Row, ...] | None:
    """The rows of headings: those that the mapping names, else those under which most columns are known."""
    if own.heading_rows is not None:
        return tuple(row for row in sheet.rows if row.number in own.heading_rows)
    best: tuple[Row, ...] | None = None
    by_letter = any(letter(index) in table for table in (own.columns, said.columns) for index in range(limits.COLUMNS))
    most = (0 if by_letter else _FEWEST - 1, 0, 0)
    rows = sheet.rows[:_LOOKED_AT]
    for place, row in enumerate(rows):
        choices: list[tuple[Row, ...]] = [(row,)]
        following = rows[place + 1] if place + 1 < len(rows) else None
        if following is not None and following.number == row.number + 1 and _may_be_headings(following):
            choices.append((row, following))
        for choice in choices:
            labels = _labels(choice)
            names = _known(
                labels, [_mapped(label, index, own, said, letters=False) for index, label in enumerate(labels)]
            )
            known = {name for name in names if name} - {NOT_USED}
            units = sum(bool(name and unit_in(label)) for name, label in zip(names, labels, strict=True))
            # one row before two: a title above headings adds nothing to them
            found = len(known), units, -len(choice)
            if found > most:
                best, most = choice, found
    return best


def _known(labels: Sequence[str], mapped: Sequence[str]) -> list[str]:
    """What each column is: what the mapping says, what its heading says, or, for a column that no heading names whole,
    what half of one does.
    """
    names = [name or recognised(label) for name, label in zip(mapped, labels, strict=True)]
    for index, label in enumerate(labels):
        if not names[index] and (half := half_recognised(label)) not in names:
            names[index] = half
    return names


def _may_be_headings(row: Row) -> bool:
    """No figure and no date: a second row of headings has words only."""
    return all(cell.number is None and cell.day is None and not _dated(cell.text) for cell in row.cells)


def _dated(text: str) -> bool:
    return any(c.isdigit() for c in text) and days.said(text) is not None


def _labels(rows: Sequence[Row]) -> tuple[str, ...]:
    """What stands over each column. A word of the upper row reaches over the columns to its right, as if it were merged
    with them, where both together say something that is known, and the lower row alone nothing else.
    """
    if not rows:
        return ()
    tops = [_one_line(cell.text) for cell in rows[0].cells]
    if len(rows) == 1:
        return tuple(tops)
    subs = [_one_line(cell.text) for cell in rows[1].cells]
    width = max(len(tops), len(subs))
    tops += [""] * (width - len(tops))
    subs += [""] * (width - len(subs))
    labels: list[str] = []
    reaching = ""
    for top, sub in zip(tops, subs, strict=True):
        reaching = top or reaching
        counted = f"{top} ({sub})" if top and unit_named(sub.rstrip(".")) is not None else ""
        if recognised(counted) and unit_in(counted):
            labels.append(counted)
            continue
        both = f"{reaching}{UNDER}{sub}" if reaching and sub else ""
        known = recognised(both)
        labels.append(both if both and (top or (known and recognised(sub) in ("", known))) else sub or top)
    return tuple(labels)


def _one_line(text: str) -> str:
    return visible(" ".join(text.split()))


def _mapped(label: str, index: int, own: SheetMap, said: FileMap, *, letters: bool = True) -> str:
    """What the mapping says a column is, by its heading or its letter; '' when it says nothing."""
    for table in (own.columns, said.columns):
        for key, name in table.items():
            if label and folded(key) == folded(label):
                return name
        if letters and letter(index) in table:
            return table[letter(index)]
    return ""


def _values_in_titles(rows: Sequence[Row], columns: Mapping[str, int]) -> tuple[dict[str, str], list[str]]:
    """'Rig: Big Blue' over the headings, in one cell or in two: what every row of the sheet says."""
    values: dict[str, str] = {}
    found = []
    for row in rows:
        texts = [_one_line(cell.text) for cell in row.cells if cell.text and not cell.fault]
        for place, text in enumerate(texts):
            label, colon, value = text.partition(":")
            if colon and not value.strip() and place + 1 < len(texts):
                value = texts[place + 1]
            name = recognised(label.strip())
            if colon and value.strip() and name in NAMES and name not in columns and name not in values:
                values[name] = value.strip()
                found.append(f"{name} is {value.strip()!r}, from the title in row {row.number}")
    return values, found


def _year(sheet: Sheet, said: FileMap, own: SheetMap, titles: Sequence[Row], file: str) -> tuple[int | None, str]:
    """The year of dates that have none, and where it was found; what the mapping says comes first."""
    if own.year or said.year:
        return own.year or said.year, ""
    if (year := days.year_named(sheet.name)) is not None:
        return year, f"years that are missing are {year}, from the name of the sheet"
    named = {
        year: row.number
        for row in reversed(titles)
        for cell in row.cells
        if not _dated(cell.text) and not _MADE_ON.search(folded(cell.text))
        if (year := days.year_named(cell.text)) is not None
    }
    if len(named) == 1:
        ((year, number),) = named.items()
        return year, f"years that are missing are {year}, from the title in row {number}"
    if not sheet.name and not named and (year := days.year_named(PurePath(file).stem)) is not None:
        return year, f"years that are missing are {year}, from the name of the file"
    return None, ""


def named_by_sheets(
    layouts: Sequence[Layout], said: FileMap, registers: Registers
) -> tuple[list[Layout], list[Layout]]:
    """The layouts with what the names of their sheets say, and those of which nobody knows what the name says."""
    what = said.choice("sheet_names")
    done: list[Layout] = []
    unknown: list[Layout] = []
    for layout in layouts:
        name = _without_dates(layout.sheet.name)
        open_ = [column for column in (*NAMES, "job") if column not in layout.columns and column not in layout.values]
        if what == NOTHING or not name or not open_ or (not what and said.sheet(layout.sheet.name).values):
            done.append(layout)
        elif what:
            done.append(_with_value(layout, what, name, "as the mapping says") if what in open_ else layout)
        elif (column := _registered(name, open_, registers)) is not None:
            done.append(_with_value(layout, column, name, "which is on that register"))
        else:
            done.append(layout)
            if {"rig", "client", "site"} & set(open_):
                unknown.append(layout)
    return done, unknown


def _with_value(layout: Layout, column: str, name: str, why: str) -> Layout:
    told = f"{column} is {name!r}, from the name of the sheet, {why}"
    return replace(layout, values={column: name, **layout.values}, found=(*layout.found, told))


def _registered(name: str, columns: Sequence[str], registers: Registers) -> str | None:
    return next(
        (
            column
            for column in columns
            if column in _REGISTER_OF and registers.find(_REGISTER_OF[column], name) is not None
        ),
        None,
    )


def _without_dates(name: str) -> str:
    """The name of a sheet without year and month; '' when nothing is left that could name anything."""
    words = [word for word in _one_line(name).split(" ") if days.year_named(word) is None and not days.is_month(word)]
    left = " ".join(words).strip(" -_,.()")
    names = any(word not in _NAMES_NOTHING and not days.is_month(word) for word in _WORDS.findall(folded(left)))
    return left if names else ""
