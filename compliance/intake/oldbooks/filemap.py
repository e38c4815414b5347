"""The mapping of a file: what its columns are and how its habits are meant, as a TOML file that people can edit.

What a mapping says is never overruled; what it does not say is recognised or asked. The mapping that was settled on is
written down with the rows, so that anybody can read the file again in the same way.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field
from typing import Any, Final

from compliance.intake.moments import FIRST_YEAR, LAST_YEAR
from compliance.intake.near import did_you_mean
from compliance.intake.oldbooks.amounts import DECIMALS
from compliance.intake.oldbooks.days import DAY_COUNTS, ORDERS
from compliance.intake.oldbooks.delimited import SEPARATORS
from compliance.intake.oldbooks.headings import BY_NAME, NAME, NOT_USED
from compliance.intake.oldbooks.table import visible
from compliance.intake.text import check_text, shown
from compliance.records.answer import NOT_RECORDED
from compliance.records.problem import Problem
from compliance.records.quantity import UNITS, VOLUME
from compliance.records.quick import dataclass

FORMAT: Final = 1
SAME_AS_ABOVE: Final = "same as above"
DUPLICATE, KEEP, NEW = "duplicate", "keep", "new"
NOTHING: Final = "nothing"
EACH_ROW: Final = "each row"
"""As the unit of a mapping: what the column of units says, row by row."""
YES, NO = "yes", "no"
VOLUME_UNITS: Final = tuple(name for name, (dimension, _) in UNITS.items() if dimension == VOLUME)
NAMES: Final = tuple(column.name for column in BY_NAME.values() if column.reads == NAME)

CHOICES: Final[Mapping[str, Sequence[str]]] = {
    "dates": ORDERS,
    "turned_dates": (YES, NO),
    "day_count": DAY_COUNTS,
    "decimal": DECIMALS,
    "unit": (*VOLUME_UNITS, EACH_ROW),
    "used_from_meter": VOLUME_UNITS,
    "blank_dates": (SAME_AS_ABOVE,),
    "repeated_rows": (DUPLICATE, KEEP),
    "same_day": (DUPLICATE, NEW),
    "sheet_names": (*NAMES, "job", NOTHING),
    "separator": tuple(SEPARATORS.values()),
}
"""Key -> what it may say. All of them are for the file as a whole."""

MEANING: Final[Mapping[str, str]] = {
    "dates": "how 03/04/2021 is read",
    "turned_dates": "whether a spreadsheet turned day and month of the date cells round",
    "day_count": "from which year a spreadsheet counted days",
    "decimal": "the mark before decimals: 1,200 or 1.200",
    "unit": "of figures that name none; each row: what the column of units says, row by row",
    "used_from_meter": "take meter end - meter start as the water used, in this unit",
    "blank_dates": "a blank date is that of the row above",
    "repeated_rows": "two rows that say the same: one night written twice, or two nights",
    "same_day": "rows of a day of which the book holds a night too",
    "sheet_names": "what the names of the sheets name",
    "separator": "between the fields of a text file",
}
_TABLES: Final = ("columns", "values", "says", "sheet")
_OF_A_SHEET: Final = ("name", "read", "heading_rows", "leave_out", "year", "columns", "values")


@dataclass(frozen=True)
class SheetMap:
    """What a mapping says of one sheet. heading_rows: numbers of the one or two rows of headings; () for none.

    leave_out: numbers of rows that are no work. columns: heading or letter -> column; values: column -> what every row
    of the sheet says.
    """

    name: str
    read: bool | None = None
    heading_rows: tuple[int, ...] | None = None
    leave_out: frozenset[int] = frozenset()
    year: int | None = None
    columns: Mapping[str, str] = field(default_factory=dict)
    values: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class FileMap:
    """What a mapping says of a whole file. choices: by key of `CHOICES`, only those that were made.

    says: column ('' for all) -> text of a cell -> what it stands for: an answer without a value, or another text.
    """

    choices: Mapping[str, str] = field(default_factory=dict)
    year: int | None = None
    columns: Mapping[str, str] = field(default_factory=dict)
    values: Mapping[str, str] = field(default_factory=dict)
    says: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    sheets: tuple[SheetMap, ...] = ()

    def choice(self, key: str) -> str:
        """What was chosen, '' when nothing was."""
        return self.choices.get(key, "")

    def sheet(self, name: str) -> SheetMap:
        """What is said of the sheet of that name; nothing, when it is not named."""
        return next((one for one in self.sheets if one.name == name), SheetMap(name))

    def meaning(self, column: str, text: str) -> str | None:
        """What the text of a cell stands for in a column, None when nothing was said of it."""
        found = self.says.get(column, {}).get(text)
        return self.says.get("", {}).get(text) if found is None else found


EMPTY: Final = FileMap()


@dataclass(frozen=True)
class Waiting:
    """An open question, written into a mapping as comments. answers: lines, one of which answers it.

    under: the same for lines below the name of a sheet, by that name. also: what else may be written, in words.
    """

    question: str
    answers: tuple[str, ...] = ()
    under: Mapping[str, str] = field(default_factory=dict)
    also: str = ""


def read_map(data: bytes, where: str) -> FileMap | list[Problem]:
    """A mapping from the bytes of its file, or everything that is wrong with it."""
    try:
        raw = tomllib.loads(data.decode("utf-8-sig"))
    except UnicodeDecodeError:
        return [Problem("the mapping is not UTF-8 text", where, "save it as UTF-8, then try again")]
    except (tomllib.TOMLDecodeError, ValueError, RecursionError) as error:
        return [Problem(f"the mapping is not TOML: {error}", where, "look at quotes, brackets and commas")]
    return _Reader(where).file(raw)


class _Reader:
    """Reads a mapping and collects what is wrong with it."""

    def __init__(self, where: str) -> None:
        self.where = where
        self.problems: list[Problem] = []

    def file(self, raw: Mapping[str, Any]) -> FileMap | list[Problem]:
        self.known(raw, ("format", "year", *CHOICES, *_TABLES), self.where)
        if raw.get("format", FORMAT) != FORMAT:
            self.problem(f"the mapping has format {raw['format']!r}; this program knows {FORMAT}", self.where)
        choices = {key: self.chosen(key, raw[key]) for key in CHOICES if key in raw}
        sheets = raw.get("sheet", [])
        if not isinstance(sheets, list) or not all(isinstance(one, dict) for one in sheets):
            self.problem("'sheet' is no list of tables", self.where, 'write [[sheet]] and name = "..." under it')
            sheets = []
        found = FileMap(
            choices,
            self.year(raw, self.where),
            self.columns(raw, self.where),
            self.values(raw, self.where),
            self.says(raw),
            self.sheets(sheets),
        )
        return self.problems or found

    def problem(self, what: str, where: str, next_step: str = "see docs/old-books.md") -> None:
        self.problems.append(Problem(what, where, next_step))

    def misplaced(self, key: str, value: Any, where: str) -> bool:
        """Whether a line is of the file as a whole and stands below a line in brackets, where TOML takes it for part
        of that; it is told.
        """
        choice = key in CHOICES and value in CHOICES[key]
        if not choice and not (key in ("says", "year") and not isinstance(value, str)):
            return False
        self.problem(f"{key} stands below a line in brackets", where, "write it above the first line in brackets")
        return True

    def known(self, raw: Mapping[str, Any], keys: Iterable[str], where: str) -> None:
        keys = tuple(keys)
        for key, value in raw.items():
            if key not in keys and not self.misplaced(key, value, where):
                step = did_you_mean(key, keys, f"it takes {', '.join(keys)}")
                self.problem(f"{shown(key)} is nothing that a mapping says", where, step)

    def chosen(self, key: str, raw: Any) -> str:
        options = CHOICES[key]
        if isinstance(raw, str) and raw in options:
            return raw
        self.problem(f"{key} = {shown(raw)} is no answer", self.where, f"use one of: {', '.join(options)}")
        return ""

    def year(self, raw: Mapping[str, Any], where: str) -> int | None:
        year = raw.get("year")
        if year is None or (type(year) is int and FIRST_YEAR <= year <= LAST_YEAR):
            return year
        self.problem(f"year = {shown(year)} is no year", where, f"give one from {FIRST_YEAR} to {LAST_YEAR}, like 2021")
        return None

    def texts(self, raw: Mapping[str, Any], key: str, where: str) -> dict[str, str]:
        table = raw.get(key, {})
        if not isinstance(table, dict):
            self.problem(f"{key!r} is no table", where, f"write [{key}] and its lines under it")
            return {}
        table = {name: value for name, value in table.items() if not self.misplaced(name, value, f"{where}, {key}")}
        return {name: text for name, value in table.items() if (text := self.text(value, f"{where}, {key}, {name}"))}

    def text(self, raw: Any, where: str) -> str:
        text = check_text(raw if isinstance(raw, str) else None, where, name=True)
        if isinstance(text, Problem):
            self.problems.append(text)
            return ""
        if not text:
            self.problem("nothing stands behind the sign", where, f"write what is meant, or {NOT_RECORDED!r}")
        return text

    def columns(self, raw: Mapping[str, Any], where: str) -> dict[str, str]:
        found = self.texts(raw, "columns", where)
        for heading, name in found.items():
            if name not in BY_NAME and name != NOT_USED:
                step = did_you_mean(name, (*BY_NAME, NOT_USED), f"use one of: {', '.join(BY_NAME)}, {NOT_USED}")
                self.problem(f"{shown(name)} is no column", f"{where}, columns, {heading}", step)
        return found

    def values(self, raw: Mapping[str, Any], where: str) -> dict[str, str]:
        found = self.texts(raw, "values", where)
        allowed = (*NAMES, "job")
        self.known(found, allowed, f"{where}, values")
        return found

    def says(self, raw: Mapping[str, Any]) -> dict[str, dict[str, str]]:
        table = raw.get("says", {})
        if not isinstance(table, dict):
            self.problem("'says' is no table", self.where, 'write [says] and lines like "-" = "not recorded"')
            return {}
        everywhere = {key: value for key, value in table.items() if not isinstance(value, dict)}
        found = {"": self.texts({"says": everywhere}, "says", self.where)} if everywhere else {}
        for column, inner in table.items():
            if isinstance(inner, dict):
                self.known({column: inner}, BY_NAME, f"{self.where}, says")
                found[column] = self.texts({column: inner}, column, f"{self.where}, says")
        return found

    def sheets(self, raw: Sequence[Mapping[str, Any]]) -> tuple[SheetMap, ...]:
        found = tuple(self.sheet(one, n) for n, one in enumerate(raw, start=1))
        names = [one.name for one in found]
        for name in sorted({name for name in names if names.count(name) > 1}):
            where = f"{self.where}, sheet {shown(name)}"
            self.problem("the sheet is named twice", where, "write all of it below one [[sheet]]")
        return found

    def sheet(self, raw: Mapping[str, Any], n: int) -> SheetMap:
        name = raw.get("name")
        where = f"{self.where}, sheet {shown(name) if isinstance(name, str) else f'no. {n}'}"
        self.known(raw, _OF_A_SHEET, where)
        if not isinstance(name, str):
            self.problem("the sheet has no name", where, 'add name = "..."; a text file has one sheet, of name ""')
        read = raw.get("read")
        if read is not None and not isinstance(read, bool):
            self.problem(f"read = {shown(read)} is no answer", where, "write true or false")
        headings = self.rows(raw, "heading_rows", where)
        if headings is not None and (len(headings) > 2 or (len(headings) == 2 and headings[1] != headings[0] + 1)):
            self.problem("headings stand in one row, or in two that follow each other", where, "heading_rows = [3, 4]")
        return SheetMap(
            str(name),
            read if isinstance(read, bool) else None,
            headings,
            frozenset(self.rows(raw, "leave_out", where) or ()),
            self.year(raw, where),
            self.columns(raw, where),
            self.values(raw, where),
        )

    def rows(self, raw: Mapping[str, Any], key: str, where: str) -> tuple[int, ...] | None:
        numbers = raw.get(key)
        if numbers is None:
            return None
        if isinstance(numbers, list) and all(type(number) is int and number > 0 for number in numbers):
            return tuple(numbers)
        self.problem(f"{key} is no list of row numbers", where, f"write {key} = [3], as a spreadsheet numbers its rows")
        return None


def written(found: FileMap, *, title: str = "", waiting: Sequence[Waiting] = ()) -> str:
    """A mapping as the text of its file; `read_map` of it gives the same mapping.

    title: a first line of comment. waiting: questions that are open, each a comment where its answer belongs: above the
    first table, since a line below it would be of that table, or below the name of its sheet.
    """
    lines = [f"# {line}" for line in title.splitlines()] + [f"format = {FORMAT}"]
    lines += [f"{key} = {quoted(found.choices[key])}  # {MEANING[key]}" for key in CHOICES if key in found.choices]
    if found.year is not None:
        lines.append(f"year = {found.year}")
    for column, inner in found.says.items():  # no table: what is still to be answered may stand beside it
        lines += [f"{f'says.{column}' if column else 'says'}.{quoted(t)} = {quoted(s)}" for t, s in inner.items()]
    if waiting:
        lines += ["", "# Still open. Take the # away before one line of a question, before all three of a [[sheet]]."]
    for one in waiting:
        if not one.under:
            lines += _open(one.question, one.answers, one.also)
    lines += _table("columns", found.columns) + _table("values", found.values)
    for sheet in found.sheets:
        lines += _sheet(sheet, [(one, one.under[sheet.name]) for one in waiting if sheet.name in one.under])
    named = {sheet.name for sheet in found.sheets}
    for one in waiting:
        for name, line in one.under.items():
            if name not in named:
                lines += ["", *_open(one.question, ("[[sheet]]", f"name = {quoted(name)}", line), one.also)]
    return "\n".join(lines) + "\n"


def _sheet(sheet: SheetMap, waiting: Sequence[tuple[Waiting, str]] = ()) -> list[str]:
    lines = ["", "[[sheet]]", f"name = {quoted(sheet.name)}"]
    if sheet.read is not None:
        lines.append(f"read = {str(sheet.read).lower()}")
    if sheet.heading_rows is not None:
        lines.append(f"heading_rows = {list(sheet.heading_rows)}")
    if sheet.leave_out:
        lines.append(f"leave_out = {sorted(sheet.leave_out)}")
    if sheet.year is not None:
        lines.append(f"year = {sheet.year}")
    for one, line in waiting:
        key = line.partition(" = ")[0]
        answers = () if any(written.startswith(f"{key} = ") for written in lines) else (line,)
        lines += _open(one.question, answers, one.also if answers else f"add it above, {line}")
    return lines + _table("sheet.columns", sheet.columns) + _table("sheet.values", sheet.values)


def _open(question: str, answers: Sequence[str], also: str) -> list[str]:
    lines = [f"# {visible(question)}", *(f"#   {visible(answer)}" for answer in answers)]
    return [*lines, *([f"#   (or {visible(also)})"] if also else [])]


def _table(name: str, values: Mapping[str, str]) -> list[str]:
    if not values:
        return []
    return ["", f"[{name}]", *(f"{quoted(key)} = {quoted(value)}" for key, value in values.items())]


def quoted(text: str) -> str:
    """A text as TOML and JSON both write it."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
