"""Old books made by chance, with known contents: whatever its habits, a row that is taken says what was written.

The files are written by the few lines below, with csv and openpyxl, and by nothing of the program under test.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import openpyxl
from hypothesis import event, given, settings
from hypothesis import strategies as st

from compliance.intake.oldbooks.headings import BY_NAME, VOLUME_OF
from compliance.intake.oldbooks.lines import NEW, STATES, WORK, Line
from compliance.intake.oldbooks.preview import Preview
from compliance.records.answer import WRITTEN
from compliance.records.problem import Problem
from compliance.records.quantity import Quantity, stored
from tests.intake.oldbooks.looking import TODAY, look, refused_or, work

IN_THE_BOOK = {date(2026, 9, 14)}
"""The night that the book holds: a row of it is a duplicate, which is the affair of other tests."""
LAST = date(2026, 9, 30)
MANY = settings(max_examples=200, deadline=None)
MONTHS = "Jan Feb March April May June July Aug Sept Oct Nov Dec".split()  # noqa: SIM905  (read as it is said)
MESES = (
    "enero", "febrero", "marzo", "abril", "mayo", "junio", "julio", "agosto", "septiembre", "octubre", "noviembre",
    "diciembre",
)  # fmt: skip
HEADINGS = {
    "date": ("Date", "DATE WORKED", "Fecha", "Service date:"),
    "rig": ("Rig", "Truck", "Camión", "Remolque"),
    "client": ("Client", "Customer name", "Cliente"),
    "used": ("Used (gal)", "Gallons used", "Galones utilizados", "Water used (gal)"),
    "recovered": ("Recovered (gal)", "Gal. reclaimed", "Galones recuperados"),
    "ticket": ("Ticket #", "Recibo No.", "Manifest number"),
    "remarks": ("Notes", "Remarks", "Observaciones"),
    "": ("Fuel $", "Hours", "Weather"),
}
"""Column -> what may stand over it; '' is a column that nobody reads."""


@dataclass(frozen=True)
class Night:
    """What really happened, as far as anybody wrote it down. Amounts: None where nothing was written."""

    day: date
    rig: str
    client: str
    used: Decimal | str | None
    recovered: Decimal | str | None
    about: bool
    ticket: str
    remarks: str


@dataclass(frozen=True)
class Habits:
    """How somebody keeps a book."""

    columns: tuple[str, ...]
    headings: tuple[str, ...]
    dates: str
    comma: bool
    thousands: bool
    unit: bool
    titles: int
    every: int
    blank: int
    total: int
    total_label: str
    workbook: bool
    separator: str
    codec: str

    @property
    def mapping(self) -> str:
        """What the keeper of the book would answer."""
        lines = []
        if self.dates in ("us", "eu", "us short", "eu dots", "us weekday", "eu dia"):
            lines.append(f'dates = "{"month" if self.dates.startswith("us") else "day"} first"')
        return "\n".join([*lines, f'decimal = "{"comma" if self.comma else "point"}"'])


DIAS = ("lun", "mar", "mié", "jue", "vie", "sáb", "dom")
TOTALS = (
    "Total",
    "TOTALES:",
    "Sub-tot",
    "Sub tot.",
    "Subt.",
    "ttl",
    "Page total",
    "Suma de la hoja",
    "Week 2",
    "Sem. 3",
)
DATES: dict[str, Callable[[date], str]] = {
    "iso": date.isoformat,
    "iso slashes": lambda day: f"{day.year}/{day.month}/{day.day}",
    "us": lambda day: f"{day.month}/{day.day}/{day.year}",
    "us short": lambda day: f"{day.month:02}-{day.day:02}-{day.year % 100:02}",
    "eu": lambda day: f"{day.day:02}/{day.month:02}/{day.year}",
    "eu dots": lambda day: f"{day.day}.{day.month}.{day.year}",
    "written": lambda day: f"{MONTHS[day.month - 1]} {day.day}, {day.year}",
    "written short": lambda day: f"{day.day}-{MONTHS[day.month - 1][:3]}-{day.year % 100:02}",
    "escrita": lambda day: f"{day.day} de {MESES[day.month - 1]} de {day.year}",
    "weekday": lambda day: f"{day:%A} {day.isoformat()}",
    "us weekday": lambda day: f"{day.month}/{day.day}/{day.year} {day:%a}",
    "eu dia": lambda day: f"{DIAS[day.weekday()]} {day.day}/{day.month}/{day.year}",
    "escrita dia": lambda day: f"{day.day} de {MESES[day.month - 1]} de {day.year} ({DIAS[day.weekday()]})",
    "count": lambda day: str((day - date(1899, 12, 30)).days),
    "typed": date.isoformat,
}

_words = st.sampled_from(
    ["Alder Foods", "Ridge Road Motors", "Harbor Lane Diner", "Taller Ñandú", "Plaza 7", "O'Dell & Co"]
)
_amounts = st.one_of(
    st.decimals(Decimal(0), Decimal(9999), places=2), st.integers(0, 9999).map(Decimal), st.none(),
    st.sampled_from(["n/a", "did not read"]),
)  # fmt: skip
_remarks = st.sampled_from(["", "ok", "two, with a comma", 'a "quoted" word', "two\nlines", "=1+1", "12 1/2 in"])
_nights = st.builds(
    Night, st.dates(date(1990, 1, 1), LAST).filter(lambda day: day not in IN_THE_BOOK),
    st.sampled_from(["Big Blue", "Little Heron"]), _words, _amounts, _amounts,
    st.booleans(), st.just(""), _remarks,
)  # fmt: skip


@st.composite
def books(draw: st.DrawFn) -> tuple[list[Night], Habits]:
    """Some nights, each with a ticket of its own, and somebody's habits."""
    nights = [
        Night(night.day, night.rig, night.client, night.used, night.recovered, night.about, f"{n:05}", night.remarks)
        for n, night in enumerate(draw(st.lists(_nights, min_size=1, max_size=12)), start=1)
    ]
    columns = tuple(draw(st.permutations(list(HEADINGS))))
    workbook = draw(st.booleans())
    habits = Habits(
        columns,
        tuple(draw(st.sampled_from(HEADINGS[column])) for column in columns),
        draw(st.sampled_from([kind for kind in DATES if workbook or kind != "typed"])),
        draw(st.booleans()),
        draw(st.booleans()),
        draw(st.booleans()),
        draw(st.integers(0, 2)),
        draw(st.integers(2, 20)),
        draw(st.integers(2, 20)),
        draw(st.sampled_from([0, 1, 2])),
        draw(st.sampled_from(TOTALS)),
        workbook,
        draw(st.sampled_from([",", ";", "\t", "|"])),
        draw(st.sampled_from(["utf-8", "utf-8-sig", "cp1252", "utf-16"])),
    )
    return nights, habits


def figure(amount: Decimal | str | None, about: bool, habits: Habits) -> Any:
    """An amount as it is written."""
    if amount is None:
        return ""
    if isinstance(amount, str):
        return amount
    if habits.workbook and not habits.unit and not about:
        return float(amount)
    text = f"{amount:,}" if habits.thousands else f"{amount}"
    if habits.comma:
        text = text.translate(str.maketrans(",.", ".,"))
    return f"{'~' if about else ''}{text}{' gal' if habits.unit else ''}"


def table(nights: Sequence[Night], habits: Habits) -> list[list[Any]]:
    """The rows of the file, with all that stands between them."""
    wide = len(habits.columns)
    rows: list[list[Any]] = [[f"Wash log, page {n}", *[""] * (wide - 1)] for n in range(habits.titles)]
    rows.append(list(habits.headings))
    for n, night in enumerate(nights, start=1):
        day: Any = night.day if habits.dates == "typed" else DATES[habits.dates](night.day)
        cells = {
            "date": day, "rig": night.rig, "client": night.client, "used": figure(night.used, night.about, habits),
            "recovered": figure(night.recovered, False, habits), "ticket": night.ticket, "remarks": night.remarks,
            "": "12",
        }  # fmt: skip
        rows.append([cells[column] for column in habits.columns])
        if n % habits.blank == 0:
            rows.append([""] * wide)
        if n % habits.every == 0:
            rows.append(list(habits.headings))
    if habits.total:
        sums = {name: total(nights, name) + (Decimal(7) if habits.total == 2 else 0) for name in ("used", "recovered")}
        cells = {name: figure(amount, False, habits) for name, amount in sums.items()} | {"client": habits.total_label}
        rows.append([cells.get(column, "") for column in habits.columns])
    return rows


def total(nights: Sequence[Night], name: str) -> Decimal:
    """What a column adds up to."""
    return sum((a for night in nights if isinstance(a := getattr(night, name), Decimal)), Decimal(0))


def file_of(nights: Sequence[Night], habits: Habits) -> tuple[bytes, str]:
    """The bytes of the file, and its name."""
    rows = table(nights, habits)
    if habits.workbook:
        book = openpyxl.Workbook()
        sheet = book.active
        assert sheet is not None
        for number, row in enumerate(rows, start=1):
            for column, value in enumerate(row, start=1):
                if value != "":
                    cell = sheet.cell(number, column)
                    cell.value = value
                    if isinstance(value, str):
                        cell.data_type = "s"
        held = io.BytesIO()
        book.save(held)
        return held.getvalue(), "book.xlsx"
    out = io.StringIO()
    csv.writer(out, delimiter=habits.separator).writerows(rows)
    return out.getvalue().encode(habits.codec), "book.csv"


def said_by(line: Line, name: str) -> Quantity | str | None:
    """What was read of an amount, to be compared as a number."""
    text = line.fields.get(name)
    return stored(text) if text is not None and text[-1] == "l" else text


def meant(amount: Decimal | str | None, about: bool) -> Quantity | str | None:
    """What was written, as it should be read."""
    if isinstance(amount, Decimal):
        return Quantity(amount, amount, "gal", about)
    return {"n/a": "not applicable", "did not read": "not read", None: None}[amount]


def assert_right(line: Line, night: Night) -> None:
    """A row that is taken says what was written."""
    assert line.fields["date"] == night.day.isoformat()
    assert (line.fields["rig"], line.fields["client"]) == (night.rig, night.client)
    assert line.fields["ticket"] == night.ticket
    assert line.fields.get("remarks", "") == night.remarks
    assert said_by(line, "used") == meant(night.used, night.about)
    assert said_by(line, "recovered") == meant(night.recovered, False)


def by_ticket(found: Preview) -> dict[str, Line]:
    return {line.fields.get("ticket", ""): line for line in found.lines if line.kind == WORK}


@MANY
@given(books())
def test_with_the_answers_of_its_keeper_every_row_is_read_as_it_was_meant(made: tuple[list[Night], Habits]) -> None:
    """All of them, in their order; titles, headings, blank rows and totals are none of them."""
    nights, habits = made
    found = look(*file_of(nights, habits), said=habits.mapping)
    assert [line.state for line in work(found)] == [NEW] * len(nights)
    for line, night in zip(work(found), nights, strict=True):
        assert_right(line, night)
    assert found.aside["title"] == habits.titles
    assert found.aside["headings"] == 1 + len(nights) // habits.every
    assert found.aside["total"] == bool(habits.total)
    event(habits.dates)
    event("workbook" if habits.workbook else habits.codec)


@MANY
@given(books())
def test_without_any_answer_nothing_is_taken_that_was_not_meant(made: tuple[list[Night], Habits]) -> None:
    """A row is read as it was meant, or it is asked about: never something else."""
    nights, habits = made
    found = look(*file_of(nights, habits))
    lines = by_ticket(found)
    for night in nights:
        line = lines[night.ticket]
        if line.state == NEW:
            assert_right(line, night)
        else:
            assert line.state == "questioned"
            assert {fault.key for fault in line.faults} <= {"dates", "decimal", "turned_dates"}
        event(line.state)
    assert bool(found.questions) == any(line.state == "questioned" for line in lines.values())


@MANY
@given(books())
def test_a_total_agrees_when_it_was_added_up_well(made: tuple[list[Night], Habits]) -> None:
    """And is told with both figures when it was not."""
    nights, habits = made
    found = look(*file_of(nights, habits), said=habits.mapping)
    told = {total_.column: total_ for total_ in found.totals}
    assert set(told) == ({"used", "recovered"} if habits.total else set())
    for name, one in told.items():
        assert one.agrees == (habits.total == 1)
        assert one.adds_up == total(nights, name)
        assert one.says == one.adds_up + (7 if habits.total == 2 else 0)


@MANY
@given(books(), st.integers(0, 50))
def test_a_book_that_was_imported_brings_nothing_new(made: tuple[list[Night], Habits], later: int) -> None:
    """Not even when it was saved again with rows added: only those are new."""
    from tests.intake.making import pages

    nights, habits = made
    data, name = file_of(nights, habits)
    book = pages()
    assert book.state is not None
    state = with_rows_of(book, data, name, habits)
    more = Night(LAST - timedelta(days=later), "Big Blue", "Someone new", Decimal(1), Decimal(1), False, "99999", "")
    found = look(*file_of([*nights, more], habits), said=habits.mapping, state=state)
    assert [line.state for line in work(found)] == ["duplicate"] * len(nights) + [NEW]


def with_rows_of(book: Any, data: bytes, name: str, habits: Habits) -> Any:
    """The record book after the file was imported."""
    from compliance.intake.oldbooks.writing import new_rows
    from compliance.records.envelope import Record
    from compliance.records.state import gather

    for checked in new_rows(look(data, name, said=habits.mapping, state=book.state), who=""):
        assert checked.payload is not None
        n = len(book.records) + 1
        book.records.append(
            Record(n, f"{n:032x}", checked.kind, 1, checked.event_time, "2026-10-01", "2026-10-01", checked.payload)
        )
    return gather(book.records)


_odd = st.one_of(
    st.sampled_from([
        "", "", "", "450", "~450", "1,200", "1.200", "-", "?", "n/a", "ditto", '"', "Total", "Subtotal", "Date",
        "Used (gal)", "III",
        "2021-09-03", "03/04/2021", "23/04/2021", "04/23/2021", "Sept 3", "Fri Sept 3", "44442", "2/30/2021", "Sep-21",
        "12 1/2", "empty", "9999999", "-5", "=1+1", "#REF!", "Big Blue", "Alder Foods", "SEASON 2019", "450 L", "1e9",
        "\x07", "\u202e", "400-450", "0", "٣", "²", "½", "1/0", "''", "nan", "inf", "2026-09-14", "2021", "x" * 300,
    ]),
    st.text(max_size=8),
)  # fmt: skip
_heads = st.lists(
    st.sampled_from([
        *(head for heads in HEADINGS.values() for head in heads), "Meter start", "Meter end (gal)", "Tank before (in)",
        "Tank after", "Accepted (L)", "Site", "Job", "",
    ]),
    min_size=1, max_size=8,
)  # fmt: skip


@MANY
@given(_heads, st.lists(st.lists(_odd, max_size=8), max_size=12), st.lists(st.lists(_odd, max_size=3), max_size=2))
def test_whatever_stands_in_the_cells_every_row_is_accounted_for(
    heads: list[str], rows: list[list[str]], titles: list[list[str]]
) -> None:
    """Each row is work in one of four states, or something else with its reason; the settled mapping reads the same."""
    out = io.StringIO()
    csv.writer(out).writerows([*titles, heads, *rows])
    data = out.getvalue().encode()
    found = refused_or(data)
    if isinstance(found, Problem):
        return
    for read in found.sheets:
        assert [line.number for line in read.lines] == [row.number for row in read.layout.sheet.rows]
    for line in found.lines:
        assert line.state in STATES if line.kind == WORK else line.aside
        assert line.state == NEW or line.reasons
        assert line.text.isprintable()
        for name, text in line.fields.items():
            assert text
            if line.state == NEW and BY_NAME[name].reads == VOLUME_OF and text not in WRITTEN:
                assert str(stored(text)) == text
        if line.state == NEW:
            assert date.fromisoformat(line.fields["date"]) <= TODAY
    again = look(data, said=found.settled)
    assert [(line.state, line.fields, line.kind) for line in again.lines] == [
        (line.state, line.fields, line.kind) for line in found.lines
    ]
    assert again.settled == found.settled
