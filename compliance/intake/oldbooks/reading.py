"""From the sheets of a file to its lines: every row is read, or said why not; nothing is looked up or written here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Final

from compliance.intake.oldbooks import days
from compliance.intake.oldbooks.cells import BLANK_VALUE, Fault, Meant, Value, read_cell
from compliance.intake.oldbooks.dating import Dated, date_rows, reads_as_day
from compliance.intake.oldbooks.filemap import EACH_ROW, FileMap
from compliance.intake.oldbooks.habits import Habits
from compliance.intake.oldbooks.headings import BY_NAME, DAY, ID, LEVEL, NAME, REMARK, VOLUME_OF, names_units
from compliance.intake.oldbooks.layout import Layout
from compliance.intake.oldbooks.lines import HEADING, LEFT_OUT, NOTE, TITLE, TOTAL, WORK, Line, TotalSaid
from compliance.intake.oldbooks.table import BLANK, Cell, Row, letter
from compliance.intake.oldbooks.telling import Say, told, unsaid
from compliance.intake.oldbooks.totals import Sums, is_average, is_bare_total, is_month_alone, is_period, is_total
from compliance.intake.text import shown
from compliance.records.names import folded
from compliance.records.quantity import UNITS, VOLUME, Quantity, unit_named
from compliance.records.quick import dataclass

LEAVE_OUT: Final = "leave_out"
"""The key of a question that the list leave_out of a sheet answers: whether a row is work."""
SHEET_NAMES: Final = "sheet_names"
COLUMNS_KEY: Final = "columns"
"""The key of a question that the table [columns] answers: which column is that of the dates."""
UNIT: Final = "unit"
"""The key of a question that the unit of a mapping answers."""
ABOVE_HEADINGS: Final = "heading_rows"
"""The key of a question about rows above the headings."""
_AVERAGE: Final = "an average, or the largest or smallest of the figures above"
_WORDS: Final = (NAME, ID, REMARK)
"""How columns are read that hold no figure of water."""
_SHORT: Final = 40
"""Characters of a note that may be a heading within the sheet, like 'SEASON 2019'."""
_REPEATED: Final = Decimal("0.6")
"""The part of the headings that has to stand in a row again before it counts as headings repeated."""


@dataclass(frozen=True)
class SheetRead:
    """One sheet, read. lines: all of its rows; totals: what its totals say; told: how it was read, in words."""

    layout: Layout
    lines: tuple[Line, ...]
    totals: tuple[TotalSaid, ...]
    told: tuple[str, ...]


def read_sheet(
    layout: Layout,
    habits: Habits,
    said: FileMap,
    unit: str,
    today: date,
    *,
    unnamed: bool = False,
    say: Say = unsaid,
) -> SheetRead:
    """Read every row of one sheet.

    unit: of the book, for figures that name none. today: where the business is. unnamed: what the name of the sheet
    names is still to be answered. say: is told how far it is.
    """
    return _Reader(layout, habits, said, unit, today, unnamed).read(say)


class _Reader:
    """The workbench for one sheet."""

    def __init__(self, layout: Layout, habits: Habits, said: FileMap, unit: str, today: date, unnamed: bool) -> None:
        self.layout = layout
        self.habits = habits
        self.said = said
        self.today = today
        self.unnamed = unnamed
        self.meant = {name: Meant(BY_NAME[name], self._unit(name, unit), habits, said) for name in layout.columns}
        self.names = [name for name in layout.columns if name != "date"]
        volumes = {name: self.meant[name].unit for name in self.names if BY_NAME[name].reads == VOLUME_OF}
        self.sums = Sums(layout.sheet.name, volumes)
        self.totals: list[TotalSaid] = []
        self.above: dict[str, Value | Fault] = {}
        self._ends: dict[str, Decimal] = {}
        self.units_in = next((i for i, label in enumerate(layout.labels) if self._of_units(i, label)), None)
        self.unread = set(range(len(layout.labels))) - set(layout.columns.values())
        self.dated_above = False  # whether work with a date has come by
        self.years: list[str] = []
        self.headings = [
            frozenset(folded(cell.text) for cell in row.cells if cell.text)
            for row in layout.sheet.rows
            if row.number in layout.headings
        ]

    def _unit(self, name: str, book: str) -> str:
        """The unit of a bare figure in a column: its heading's, the mapping's, the book's."""
        if BY_NAME[name].reads == LEVEL:
            return self.layout.units.get(name, "in")
        chosen = self.said.choice("unit")
        return self.layout.units.get(name) or ("" if chosen == EACH_ROW else chosen) or book

    def _of_units(self, index: int, label: str) -> bool:
        """A column of units that no mapping leaves aside."""
        mapped = {**self.said.columns, **self.said.sheet(self.layout.sheet.name).columns}
        return names_units(label) and mapped.get(label) is None and mapped.get(letter(index)) is None

    def read(self, say: Say) -> SheetRead:
        left_out = self.said.sheet(self.layout.sheet.name).leave_out
        first = self.layout.headings[0] if self.layout.headings else 0
        lines: list[Line] = []
        work: list[tuple[Line, Row, Dated]] = []
        year = self.layout.year
        for row in self.layout.sheet.rows:
            line = Line(self.layout.sheet.name, row.number, WORK, row.text)
            lines.append(line)
            if row.number in left_out:
                line.kind, line.aside = LEFT_OUT, "left out by the mapping"
            elif row.number < first and _like_work(row):
                line.faults.append(Fault("it stands above the headings, and looks like work", ABOVE_HEADINGS))
                continue
            elif row.number < first:
                line.kind, line.aside = TITLE, "above the headings"
            elif row.number in self.layout.headings or self._repeats_headings(row):
                line.kind, line.aside = HEADING, "headings"
            else:
                self._sort(line, row)
                if line.kind == WORK and not self.dated_above:
                    self.dated_above = reads_as_day(self._date_cell(row), self.said)
            if (
                line.kind == NOTE
                and line.aside != _AVERAGE
                and len(line.text) <= _SHORT
                and (named := days.year_named(line.text)) is not None
            ):
                year = named
                self.years.append(f"years that are missing below row {row.number} are {named}, as it says")
            if line.kind in (WORK, TOTAL):
                work.append((line, row, Dated(self._date_cell(row), year)))
        date_rows([dated for line, _, dated in work if line.kind == WORK], self.habits, self.said, self.today)
        for line, row, dated in told(work, say, "understanding rows", len(work)):
            if line.kind == TOTAL:
                self._total(line, row)
            else:
                self._work(line, row, dated)
        return SheetRead(self.layout, tuple(lines), tuple(self.totals), self._told([d for _, _, d in work]))

    # ---- what kind of row it is ---------------------------------------------------------------------------

    def _repeats_headings(self, row: Row) -> bool:
        first = next(cell.text for cell in row.cells if not cell.blank)
        if not any(folded(first) in texts for texts in self.headings):
            return False
        texts = {folded(cell.text) for cell in row.cells if cell.text}
        return any(
            len(texts & heading) >= 2 and len(texts & heading) >= _REPEATED * len(heading) for heading in self.headings
        )

    def _sort(self, line: Line, row: Row) -> None:
        """Work, a total, or a note: by which of its columns hold anything."""
        filled = [name for name in self.names if not row.cell(self.layout.columns[name]).blank]
        dated = not self._date_cell(row).blank
        if not (dated and reads_as_day(self._date_cell(row), self.said)):
            texts = [cell.text for cell in row.cells if cell.text and cell.number is None]
            if self._average(row):
                line.kind, line.aside = NOTE, _AVERAGE
                return
            label = is_total(texts)
            period = "" if label else self._period(row)
            if (label or period) and any(BY_NAME[name].reads not in _WORDS for name in filled):
                line.kind = TOTAL
                line.aside = "a total" if label else f"taken for a total: it says {shown(period)} and figures"
                return
        telling = [name for name in filled if name != "remarks"]
        if not filled and not dated:
            line.kind, line.aside = NOTE, "nothing stands in the columns that are read"
        elif not telling:
            line.kind, line.aside = NOTE, "no work is written in it"
        elif not dated and len(telling) == 1 and BY_NAME[telling[0]].reads in (NAME, ID):
            line.kind, line.aside = NOTE, "a name, and nothing else in the columns that are read"

    def _period(self, row: Row) -> str:
        """'Week 2', where that is all that a row says beside its figures, below work with its dates; else ''.

        Without such work above it, it may be the one row in which somebody wrote down a week. The name of a month
        counts in the column of the dates alone: elsewhere it may be April, who drove.
        """
        index, text = self._one_text(row)
        if not self.dated_above:
            return ""
        month = index == self.layout.columns.get("date") and is_month_alone(text)
        return text if month or is_period(text) else ""

    def _average(self, row: Row) -> bool:
        """Whether 'Average' is all that a row says beside its figures; Max may have led a crew."""
        index, text = self._one_text(row)
        return index != self.layout.columns.get("lead") and is_average(text)

    def _one_text(self, row: Row) -> tuple[int, str]:
        """Column and text of the one cell of a row that is in no column of figures; (-1, '') for none or several."""
        figures = {index for name, index in self.layout.columns.items() if BY_NAME[name].reads not in (DAY, *_WORDS)}
        texts = [(i, cell.text) for i, cell in enumerate(row.cells) if i not in figures and not cell.blank]
        return texts[0] if len(texts) == 1 else (-1, "")

    def _date_cell(self, row: Row) -> Cell:
        index = self.layout.columns.get("date")
        return BLANK if index is None else row.cell(index)

    # ---- a row of work ------------------------------------------------------------------------------------

    def _work(self, line: Line, row: Row, dated: Dated) -> None:
        unit = self._unit_of(line, row)
        values = {name: self._value(name, row, unit) for name in self.names}
        unread = [name for name in self.sums.units if isinstance(values.get(name), Fault)]
        if not dated.cell.blank and self._named_total(line, row, values):
            return
        if dated.cell.blank and _figures(values) and all(map(is_month_alone, words := self._words(row, values))):
            if self.sums.fits(_figures(values)):
                line.kind, line.aside = TOTAL, "a total without a name: the rows above add up to it"
                self._total(line, row)
                return
            if not words:
                why = "only figures stand in this row: a total that has no name, or work"
                line.faults.append(Fault(why, LEAVE_OUT))
        if "date" not in self.layout.columns:
            line.faults.append(Fault("no column is recognised as that of the dates", COLUMNS_KEY))
        elif dated.fault is not None:
            line.faults.append(dated.fault)
        elif dated.day is not None:
            line.fields["date"] = dated.day.isoformat()
            if dated.back:
                line.looks.append(dated.back)
            if dated.cell.text != line.fields["date"]:
                line.typed["date"] = dated.cell.text
        for name, value in values.items():
            self._take(line, name, value, row.cell(self.layout.columns[name]).text)
        for name, text in self.layout.values.items():
            line.fields.setdefault(name, text)
        line.fields = {name: line.fields[name] for name in BY_NAME if name in line.fields}
        if self.unnamed:
            why = f"whether the name of the sheet, {line.sheet!r}, names a rig, a client or a site is not answered"
            line.faults.append(Fault(why, SHEET_NAMES))
        undated = "date" in self.layout.columns and dated.day is None and not reads_as_day(dated.cell, self.said)
        self._other_unit(line, row, values)
        line.unread = {self.layout.place(index): cell.text for index, cell in enumerate(row.cells)
                       if index in self.unread and not cell.blank}  # fmt: skip
        self.sums.add(line, unread, undated=undated)
        self._meter(line)
        self.above = {**self.above, **values}

    def _named_total(self, line: Line, row: Row, values: Mapping[str, Value | Fault]) -> bool:
        """Whether a row with a date is a total all the same; one that does not agree is asked about."""
        if not is_bare_total(cell.text for cell in row.cells if cell.text and cell.number is None):
            return False
        if self.sums.fits(_figures(values)):
            line.kind, line.aside = TOTAL, "a total with a date"
            self._total(line, row)
            return True
        line.faults.append(
            Fault("it is called a total and has a date: a total that does not agree, or work", LEAVE_OUT)
        )
        return False

    def _unit_of(self, line: Line, row: Row) -> str:
        """What a row's own column of units says, where the mapping takes the unit from there; '' where it says none."""
        text = "" if self.units_in is None else row.cell(self.units_in).text
        if self.units_in is None or self.said.choice("unit") != EACH_ROW or not text:
            return ""
        unit = _volume_unit(text)
        if not unit:
            where = self.layout.place(self.units_in)
            line.faults.append(Fault(f"{where}, says {shown(text)}, which is no unit of volume that is known here"))
        return unit

    def _other_unit(self, line: Line, row: Row, values: Mapping[str, Value | Fault]) -> None:
        """Litres are no gallons because nobody looked at the column beside them."""
        text = "" if self.units_in is None else row.cell(self.units_in).text
        unit = _volume_unit(text)
        if self.units_in is None or not unit:
            return
        figures = _figures(values)
        if self.said.choice("unit") == EACH_ROW:  # a heading's own unit holds for its column then, as the answer says
            figures = {name: figure for name, figure in figures.items() if name not in self.layout.units}
        other = next((name for name in self.sums.units if name in figures and figures[name].unit != unit), None)
        if other is not None:
            where = self.layout.place(self.units_in)
            line.faults.append(Fault(f"{other}: {where}, says {unit}, and {figures[other]} was read", UNIT))

    def _value(self, name: str, row: Row, unit: str) -> Value | Fault:
        """unit: of the row's own column of units, for a bare figure below a heading without one; '' for none."""
        cell = row.cell(self.layout.columns[name])
        if cell is BLANK:
            return BLANK_VALUE
        meant = self.meant[name]
        if unit and meant.column.reads == VOLUME_OF and name not in self.layout.units:
            meant = Meant(meant.column, unit, meant.habits, meant.said)
        return read_cell(cell, meant, self.above.get(name))

    def _take(self, line: Line, name: str, value: Value | Fault, text: str) -> None:
        if isinstance(value, Fault):
            line.faults.append(value)
        elif value.stored is not None:
            line.fields[name] = value.stored
            if text != value.stored:
                line.typed[name] = text
            if value.quantity is not None:
                line.quantities[name] = value.quantity
                if value.counts:
                    line.counted.add(name)

    def _words(self, row: Row, values: Mapping[str, Value | Fault]) -> list[str]:
        """What stands in a row beside its figures, in any column, and has a letter in it."""
        figures = {self.layout.columns[name] for name in _figures(values)}
        texts = [cell.text for index, cell in enumerate(row.cells) if index not in figures]
        return [text for text in texts if any(c.isalpha() for c in text)]

    def _meter(self, line: Line) -> None:
        """State the difference of two readings; one that runs backwards is told and never put right."""
        start, end = (_point(line.quantities.get(name)) for name in ("meter_start", "meter_end"))
        if start is not None and end is not None:
            line.difference = end - start
            if line.difference < 0:
                line.looks.append(
                    f"the meter goes from {start:f} back to {end:f}: it began again at zero, or it is another meter; "
                    "both figures are kept, and no difference is taken"
                )
            else:
                self._used(line, line.difference)
        if start is not None:
            before = self._last_end(line)
            if before is not None and start < before:
                line.looks.append(f"the meter begins at {start:f}, below the {before:f} at which it ended before")
        if end is not None:
            self._ends[line.fields.get("rig", "")] = end

    def _last_end(self, line: Line) -> Decimal | None:
        return self._ends.get(line.fields.get("rig", ""))

    def _used(self, line: Line, difference: Decimal) -> None:
        """Hold the water used against the meter, or take it from there where the mapping says so."""
        chosen = self.said.choice("used_from_meter")
        unit = chosen or next((u for n in ("meter_end", "meter_start") if (u := self.layout.units.get(n))), "")
        used = line.quantities.get("used")
        if chosen and "used" not in line.fields and not any(fault.column == "used" for fault in line.faults):
            line.fields["used"] = f"{difference:f} {chosen}"
            line.typed["used"] = f"meter {line.fields['meter_start']} to {line.fields['meter_end']}"
            line.fields = {name: line.fields[name] for name in BY_NAME if name in line.fields}
        elif used is not None and used.point is not None and unit and UNITS[unit][0] == "volume":
            beside = Quantity(difference, difference, unit).in_unit(used.unit).point
            assert beside is not None
            if abs(beside - used.point) > 1:
                line.looks.append(f"used says {used}, the meter {difference:f} {unit}; both are kept")

    # ---- totals -------------------------------------------------------------------------------------------

    def _total(self, line: Line, row: Row) -> None:
        figures: dict[str, Quantity | None] = {}
        for name in self.sums.units:
            cell = row.cell(self.layout.columns[name])
            if not cell.blank:
                value = read_cell(cell, self.meant[name], None)
                figures[name] = value.quantity if isinstance(value, Value) else None
        texts = [cell.text for cell in row.cells if cell.text and cell.number is None]
        label = is_total(texts) or next(filter(is_period, texts), "")
        found = self.sums.total(row.number, label, figures)
        self.totals += found
        if found:
            agrees = all(one.agrees for one in found)
            line.aside += "; it agrees with the rows above" if agrees else "; it does not agree with the rows above"

    # ---- how it was read ----------------------------------------------------------------------------------

    def _told(self, dated: Sequence[Dated]) -> tuple[str, ...]:
        told = []
        taken = [row for row in dated if row.day is not None and row.fault is None]
        serial = next((row for row in taken if row.serial), None)
        if serial is not None:
            n = sum(row.serial for row in taken)
            dates = "1 date is" if n == 1 else f"{n:,} dates are"
            told.append(f"{dates} a spreadsheet's count of days: {serial.cell.text} is {serial.day}")
        near = next((row for row in taken if row.from_near), None)
        if near is not None:
            n = sum(row.from_near for row in taken)
            years = "1 year is that" if n == 1 else f"{n:,} years are those"
            told.append(f"{years} of the rows around them: {near.cell.text!r} is {near.day}")
        return (*self.layout.found, *self.years, *told)


def _figures(values: Mapping[str, Value | Fault]) -> dict[str, Quantity]:
    return {n: v.quantity for n, v in values.items() if isinstance(v, Value) and v.quantity is not None}


def _like_work(row: Row) -> bool:
    """Whether a row above the headings holds a date and a number, each in a cell of its own."""
    dated = [cell for cell in row.cells if cell.day is not None or (cell.number is None and _names_day(cell.text))]
    return bool(dated) and any(cell.number is not None or cell.text.isdigit() for cell in row.cells)


def _names_day(text: str) -> bool:
    said = days.said(text) if any(c.isdigit() for c in text) else None
    return said is not None and said.serial is None


def _volume_unit(text: str) -> str:
    """The unit of volume that a cell names, '' when it names none."""
    unit = unit_named(text) if len(text) <= _SHORT else None
    return unit if unit is not None and UNITS[unit][0] == VOLUME else ""


def _point(quantity: Quantity | None) -> Decimal | None:
    return None if quantity is None else quantity.point
