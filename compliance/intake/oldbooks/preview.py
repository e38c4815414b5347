"""What an import would do, before it does anything: every row with its state, every question once for the file."""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Mapping, Sequence, Set
from dataclasses import replace
from datetime import date
from typing import Final

from compliance.intake.oldbooks.asked import Asked, asked_of
from compliance.intake.oldbooks.delimited import SEPARATORS
from compliance.intake.oldbooks.filemap import EACH_ROW, FileMap, SheetMap, written
from compliance.intake.oldbooks.habits import habits_of
from compliance.intake.oldbooks.headings import BY_NAME, NOT_USED, VOLUME_OF, known_headings, names_units
from compliance.intake.oldbooks.layout import Layout, laid_out, named_by_sheets
from compliance.intake.oldbooks.lines import ASIDE, NEW, STATES, WORK, Line, TotalSaid
from compliance.intake.oldbooks.opening import open_book
from compliance.intake.oldbooks.reading import SheetRead, read_sheet
from compliance.intake.oldbooks.table import OldBook, letter, rows_named
from compliance.intake.oldbooks.telling import Say, unsaid
from compliance.intake.oldbooks.twice import mark_doubles
from compliance.records.names import folded
from compliance.records.problem import Problem
from compliance.records.quick import dataclass
from compliance.records.state import State


@dataclass(frozen=True)
class Preview:
    """What an import would do. lines: every row of the sheets that are read, in their order.

    settled: the mapping by which the file was read, what was recognised included. unread: sheets without headings.
    """

    book: OldBook
    sheets: tuple[SheetRead, ...]
    lines: tuple[Line, ...]
    questions: tuple[Asked, ...]
    told: tuple[str, ...]
    settled: FileMap

    @property
    def counts(self) -> dict[str, int]:
        """State -> rows of work, each state named, also those without any."""
        found = Counter(line.state for line in self.lines if line.kind == WORK)
        return {state: found[state] for state in STATES}

    @property
    def aside(self) -> dict[str, int]:
        """Kind -> rows that are no work; blank ones between the first and the last row as well."""
        found = Counter(line.kind for line in self.lines)
        blank = sum(read.layout.sheet.blank for read in self.sheets)
        return {kind: found[kind] for kind in ASIDE} | {"blank": blank}

    @property
    def totals(self) -> tuple[TotalSaid, ...]:
        """Every total that the file holds, beside what its rows add up to."""
        return tuple(total for read in self.sheets for total in read.totals)

    @property
    def totals_told(self) -> list[str]:
        """The same in words, one line each; of those that cannot be read one for all that stand in the same rows."""
        unread: dict[tuple[str, str], list[int]] = {}
        for total in self.totals:
            if total.says is None:
                unread.setdefault((total.sheet, total.column), []).append(total.row)
        columns: dict[tuple[str, tuple[int, ...]], list[str]] = {}
        for (sheet, column), rows in unread.items():
            columns.setdefault((sheet, tuple(rows)), []).append(column)
        told = [
            f"{'' if total.agrees else '! '}total in {total.text}" for total in self.totals if total.says is not None
        ]
        for (sheet, numbers), names in columns.items():
            place = rows_named(numbers) + (f" of sheet {sheet!r}" if sheet else "")
            told.append(f"! total{'s' * (len(numbers) > 1)} in {place}, {', '.join(names)}: cannot be read")
        return told

    @property
    def mapping(self) -> str:
        """The settled mapping as the text of a file, the questions in it as comments to be answered."""
        title = f"How {self.book.name} is read by `washwater import`."
        return written(self.settled, title=title, waiting=[one.waiting for one in self.questions])


def preview(
    data: bytes,
    name: str,
    *,
    said: FileMap,
    state: State,
    today: date,
    only: Sequence[str] = (),
    say: Say = unsaid,
) -> Preview | Problem:
    """Read a file and say what would become of each row; writes nothing.

    data: the bytes of the file. name: its name. said: the mapping. state: of the book. today: where the business is.
    only: names of the sheets to read, all when there are none. say: is told how far it is, in a few words.
    """
    separator = next((mark for mark, word in SEPARATORS.items() if word == said.choice("separator")), "")
    book = open_book(data, name, headings=known_headings, separator=separator, say=say)
    if isinstance(book, Problem):
        return book
    wanted = [sheet for sheet in book.sheets if sheet.rows and said.sheet(sheet.name).read is not False]
    missing = [one for one in only if one not in [sheet.name for sheet in book.sheets]]
    if missing:
        names = ", ".join(repr(sheet.name) for sheet in book.sheets)
        return Problem(f"there is no sheet {missing[0]!r}", name, f"the file has the sheets {names}")
    wanted = [sheet for sheet in wanted if not only or sheet.name in only]
    placed = {sheet.name: laid_out(sheet, said, name) for sheet in wanted}
    layouts = [layout for layout in placed.values() if layout is not None]
    without = [sheet for sheet in wanted if placed[sheet.name] is None]
    layouts, unnamed = named_by_sheets(layouts, said, state.registers)
    habits = habits_of(layouts, said)
    reads = tuple(
        read_sheet(
            layout,
            habits,
            said,
            state.unit,
            today,
            unnamed=any(layout.sheet is one.sheet for one in unnamed),
            say=say,
        )
        for layout in layouts
    )
    lines = tuple(line for read in reads for line in read.lines)
    say("looking for what is in the book already")
    mark_doubles(lines, state, book.sha256, said)
    asked = asked_of(without, reads, lines)
    told = (
        *book.notes,
        *habits.told,
        *_without_figures(reads),
        *_units(reads, said, state.unit),
        *_not_found(said, book, layouts),
        *_since_the_book(lines, state),
    )
    shown = {"dates": habits.dates, "decimal": habits.decimal}
    return Preview(book, reads, lines, tuple(asked), told, _settled(reads, said, shown))


# ---- how it was read ---------------------------------------------------------------------------------------------


def _without_figures(reads: Sequence[SheetRead]) -> list[str]:
    """What no column of a sheet says, while columns were passed over: one of them may, under an unknown heading."""
    missing: list[str] = []
    for read in reads:
        columns = read.layout.columns
        if NOT_USED not in read.layout.aside.values() or "accepted" in columns or not any(
            line.kind == WORK for line in read.lines
        ):  # fmt: skip
            continue
        missing += [name for name, ways in _SAID_BY.items() if not columns.keys() & ways and name not in missing]
    if not missing:
        return []
    return [
        f"! no column is read as the water {' or '.join(sorted(missing, reverse=True))}: rows come in without it; if a "
        "column above that is not used says it, write under [columns], for example: "
        f'"its heading" = "{max(missing)}"'
    ]


_SAID_BY: Final[Mapping[str, Set[str]]] = {
    "used": {"used", "meter_start", "meter_end"},
    "recovered": {"recovered", "tank_start", "tank_end"},
}
"""Which columns tell how much water was used or recovered. A sheet of tickets has what was accepted instead."""


def _units(reads: Sequence[SheetRead], said: FileMap, unit: str) -> list[str]:
    """Which figures name no unit anywhere, and what they were taken for."""
    bare = sorted(
        {
            name
            for read in reads
            for name in read.layout.columns
            if BY_NAME[name].reads == VOLUME_OF and name not in read.layout.units
        }
    )
    chosen = said.choice("unit")
    if not bare or chosen not in ("", EACH_ROW):
        return []
    figures, of_the_book = f"figures without a unit in {', '.join(bare)} are taken in", f"{unit}, the unit of the book"
    if chosen == EACH_ROW:
        by_row = f"{figures} that of the column of units, row by row, and in {of_the_book}, where it has none"
        units = {
            (name, unit)
            for read in reads
            for name, unit in read.layout.units.items()
            if BY_NAME[name].reads == VOLUME_OF
        }
        own = [f"{name} is taken in {unit}, as its heading says" for name, unit in sorted(units)]
        return ["; ".join([by_row, *own])]
    return [f"{figures} {of_the_book}"]


def _since_the_book(lines: Sequence[Line], state: State) -> list[str]:
    """New rows of days from which the book judges nights: they would never be judged."""
    late = sum(line.state == NEW and line.fields["date"] >= state.opens_on for line in lines)
    if not late or not state.opens_on:
        return []
    rows = "1 new row is" if late == 1 else f"{late:,} new rows are"
    return [
        f"{rows} of {state.opens_on} or later, when the book was begun: no rule judges an old row; "
        "a night that is to be judged is handed in with `washwater log`"
    ]


def _not_found(said: FileMap, book: OldBook, layouts: Sequence[Layout]) -> list[str]:
    """What the mapping names and the file does not hold: harmless, and likely a slip of the pen."""
    names = {sheet.name for sheet in book.sheets}
    told = [f"the mapping names a sheet {one.name!r}, which the file does not have" for one in said.sheets
            if one.name not in names]  # fmt: skip
    known = {folded(label) for layout in layouts for label in layout.labels} | {
        letter(index) for layout in layouts for index in range(len(layout.labels))
    }
    headings = [*said.columns, *(heading for one in said.sheets for heading in one.columns)]
    return told + [
        f"the mapping names a column {heading!r}, which no sheet has"
        for heading in headings
        if layouts and folded(heading) not in known and heading not in known
    ]


def _settled(reads: Sequence[SheetRead], said: FileMap, habits: Mapping[str, str]) -> FileMap:
    """The mapping by which the file was read: what was said, what was recognised, what the rows showed."""
    choices = {**{key: value for key, value in habits.items() if value}, **said.choices}
    columns = {
        (name := read.layout.sheet.name): _columns(read.layout, {*said.columns, *said.sheet(name).columns})
        for read in reads
    }
    alike = len({tuple(sorted(one.items())) for one in columns.values()}) == 1
    sheets = [
        SheetMap(
            read.layout.sheet.name,
            None,
            read.layout.headings,
            said.sheet(read.layout.sheet.name).leave_out,
            read.layout.year,
            {} if alike else columns[read.layout.sheet.name],
            {name: text for name, text in read.layout.values.items() if name not in read.layout.titled},
        )
        for read in reads
    ]
    named = {sheet.name for sheet in sheets}
    others = [one for one in said.sheets if one.name not in named]
    shared = next(iter(columns.values())) if alike else said.columns
    return replace(said, choices=choices, columns=shared, values={}, sheets=(*sheets, *others))


def _columns(layout: Layout, said: Container[str]) -> dict[str, str]:
    """Heading or letter -> column, those that are left aside too. said: what the mapping names already; a column of
    units is only left aside where it does.
    """
    names = {index: name for name, index in layout.columns.items()}
    return {
        layout.key(index): names.get(index, NOT_USED) for index, label in enumerate(layout.labels)
        if index in names or (index in layout.aside and not (names_units(label) and layout.key(index) not in said))
    }  # fmt: skip
