"""What an import has to ask, each question once for the file, with the lines of a mapping that answer it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field
from typing import Final

from compliance.intake.oldbooks.cells import DECIMAL, SAYS
from compliance.intake.oldbooks.dating import BLANK_DATES, DATES, TURNED, YEAR
from compliance.intake.oldbooks.filemap import CHOICES, EACH_ROW, SAME_AS_ABOVE, Waiting, quoted
from compliance.intake.oldbooks.headings import NOT_USED
from compliance.intake.oldbooks.lines import QUESTIONED, WORK, Line
from compliance.intake.oldbooks.reading import (
    ABOVE_HEADINGS,
    COLUMNS_KEY,
    LEAVE_OUT,
    SHEET_NAMES,
    UNIT,
    SheetRead,
)
from compliance.intake.oldbooks.table import Sheet
from compliance.intake.oldbooks.twice import REPEATED_ROWS, SAME_DAY
from compliance.intake.text import shown
from compliance.records.answer import NOT_RECORDED
from compliance.records.quick import dataclass

_MOST_TEXTS: Final = 12
"""Texts that are asked about each; more of them are counted, and each of their rows still says why."""
_LONGEST_ASKED: Final = 60
"""Characters of a text that is written out in a question."""
_ASKS: Final[Mapping[str, str]] = {
    DATES: "dates like {text} can be read in two ways, and nothing in the file says in which",
    DECIMAL: "figures like {text} can be read in two ways, and nothing in the file says in which",
    TURNED: "date cells whose day is never above 12 stand beside dates that were left as texts: a spreadsheet may have"
            " turned them",
    BLANK_DATES: "rows have figures and no date",
    UNIT: "a column of units names another unit than the figures beside it were read in",
    YEAR: "dates have no year, and none stands in the name of the sheet, in a title or around them",
    SHEET_NAMES: "nobody knows what the names of the sheets name",
    SAME_DAY: "rows may be nights, or tickets, that the book holds already",
    REPEATED_ROWS: "rows say what another row does in the columns that are read, and differ in one that is not",
    LEAVE_OUT: "rows hold figures and not one word, or are called a total and do not agree",
    ABOVE_HEADINGS: "rows above the headings look like work: they belong to no column yet",
}  # fmt: skip
_ALSO: Final[Mapping[str, str]] = {
    BLANK_DATES: "put each job on one line of the file first: what stands on two comes in as two rows",
    REPEATED_ROWS: "name that column under [columns], where it says what was used, recovered or the like",
}


@dataclass(frozen=True)
class Asked:
    """One question for the file as a whole. rows: how many wait for it.

    answers: lines of a mapping, any one of which answers it; each can be copied as it stands. under: the same for
    lines that stand below the name of a sheet, by that name. also: what else may be written, in words.
    """

    key: str
    why: str
    rows: int
    answers: tuple[str, ...] = ()
    under: Mapping[str, str] = field(default_factory=dict)
    also: str = ""

    @property
    def write(self) -> tuple[str, ...]:
        """What to write, line by line, for somebody who reads it."""
        lines = [f"{'or' if n else 'write'}: {answer}" for n, answer in enumerate(self.answers)]
        lines += [f"write below [[sheet]] and name = {_key(sheet)}: {line}" for sheet, line in self.under.items()]
        return (*lines, *([f"{'or ' if lines else 'write '}{self.also}"] if self.also else []))

    @property
    def waiting(self) -> Waiting:
        """The same for a mapping, as comments where the answers belong."""
        rows = "1 row waits" if self.rows == 1 else f"{self.rows:,} rows wait"
        return Waiting(f"{self.why} ({rows})", self.answers, self.under, self.also)


def asked_of(
    sheets_without_headings: Iterable[Sheet], reads: Sequence[SheetRead], lines: Sequence[Line]
) -> list[Asked]:
    """Every question that a file leaves open, the ones about whole sheets first."""
    return [*_without_headings(sheets_without_headings), *_without_dates(reads), *_by_rows(lines)]


def _by_rows(lines: Sequence[Line]) -> list[Asked]:
    """What waits for an answer, each once: the choices first, then what texts stand for, the commonest first."""
    waiting: dict[str, list[Line]] = {}
    texts: Counter[tuple[str, str]] = Counter()
    for line in lines:
        if line.state != QUESTIONED:
            continue
        for key in dict.fromkeys(fault.key for fault in line.faults):
            waiting.setdefault(key, []).append(line)
        texts.update((fault.column, fault.text) for fault in line.faults if fault.key == SAYS)
    found = [_question(key, waiting[key]) for key in _ASKS if key in waiting]
    found += [_stands_for(column, text, n) for (column, text), n in texts.most_common(_MOST_TEXTS)]
    if len(texts) > _MOST_TEXTS:
        rest = sum(texts.values()) - sum(n for _, n in texts.most_common(_MOST_TEXTS))
        more = f"{len(texts) - _MOST_TEXTS} more texts: see the rows"
        found.append(Asked(SAYS, more, rest, also='a line of the same kind for each, says.COLUMN."TEXT" = "..."'))
    return found


def _stands_for(column: str, text: str, rows: int) -> Asked:
    """What a text in a column stands for."""
    why = f"{column}: what {shown(text)} stands for"
    key = f"says.{column}.{_key(text)}"
    if column == "date":
        also = f'{key} = "2021-09-03", with its day; or leave_out, if it is no work'
        answers = (f"{key} = {quoted(SAME_AS_ABOVE)}",)
    else:
        also, answers = "what it stands for in place of that", (f"{key} = {quoted(NOT_RECORDED)}",)
    if len(text) > _LONGEST_ASKED:
        return Asked(SAYS, why, rows, also=f'says.{column}."its whole text" = {quoted(NOT_RECORDED)}, or another')
    return Asked(SAYS, why, rows, answers, also=also)


def _key(text: str) -> str:
    """A text as the key of a mapping, to be copied; what nobody could see, or a terminal would obey, is spelled out."""
    return "".join(c if c.isprintable() else f"\\U{ord(c):08X}" for c in quoted(text))


def _question(key: str, lines: Sequence[Line]) -> Asked:
    text = next((fault.text for line in lines for fault in line.faults if fault.key == key and fault.text), "")
    why = _ASKS[key].format(text=repr(text))
    if key == UNIT:
        also = (
            "another unit, where it holds for the whole file; or, under [columns], "
            f'"the heading of that column" = {quoted(NOT_USED)}, where it is wrong'
        )
        return Asked(key, why, len(lines), (f"unit = {quoted(EACH_ROW)}", 'unit = "L"'), also=also)
    if key in CHOICES:
        answers = tuple(f"{key} = {quoted(option)}" for option in CHOICES[key])
        return Asked(key, why, len(lines), answers, also=_ALSO.get(key, ""))
    if key == YEAR:
        return Asked(key, why, len(lines), also="year = and the year, like 2021: for the file, or below a sheet's name")
    numbers: dict[str, list[int]] = {}
    for line in lines:
        numbers.setdefault(line.sheet, []).append(line.number)
    under = {sheet: f"leave_out = {rows}" for sheet, rows in numbers.items()}
    if key == ABOVE_HEADINGS:
        also = "heading_rows = [] below the name of the sheet, and [sheet.columns] by letters, if they are work"
    else:
        also = f"{BLANK_DATES} = {quoted(SAME_AS_ABOVE)}, if they are work of the day above"
    return Asked(key, why, len(lines), under=under, also=also)


def _without_headings(sheets: Iterable[Sheet]) -> list[Asked]:
    """Sheets on which no headings were found: they may hold work, and are not read until somebody says."""
    return [
        Asked(
            "sheet",
            f"on {_sheet(sheet.name)} no row of headings is recognised",
            len(sheet.rows),
            under={sheet.name: "read = false"},
            also="heading_rows = [...] there, with their numbers, and [sheet.columns] with what each of them is",
        )
        for sheet in sheets
    ]


def _without_dates(reads: Sequence[SheetRead]) -> list[Asked]:
    """Sheets on which no column is that of the dates."""
    return [
        Asked(
            COLUMNS_KEY,
            f"on {_sheet(read.layout.sheet.name)} no column is recognised as that of the dates",
            sum(line.kind == WORK for line in read.lines),
            also='"its heading, or its letter" = "date" under [columns]',
        )
        for read in reads
        if "date" not in read.layout.columns
    ]


def _sheet(name: str) -> str:
    return f"sheet {name!r}" if name else "its one sheet"
