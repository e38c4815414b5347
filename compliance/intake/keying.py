"""The keying workbook, read back: cards that the office keyed, as nights for the validator.

Row 1 of each sheet is hidden and names the columns, so that headings may be in either language and columns may be
moved. A hidden sheet holds the version of the form. Nothing is worked out: a cell with a formula is refused.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, time
from decimal import Decimal
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal, NamedTuple
from zipfile import BadZipFile, ZipFile

from compliance.intake.card_lines import NIGHT, STOP, Ask
from compliance.intake.card_lines import STOPS as LINES
from compliance.intake.fromfile import Read
from compliance.intake.keyed_night import Row, night_of
from compliance.intake.serial import read_serial
from compliance.records import kinds
from compliance.records.names import folded
from compliance.records.problem import Problem
from compliance.records.registers import Registers

if TYPE_CHECKING:
    from compliance.intake.oldbooks.archive import Archive

VERSION: Final = 1
"""Of the form: which columns there are and what they mean."""
FORM_SHEET: Final = "washwater form"
"""The hidden sheet: A1 says what the workbook is, B1 its version, B2 the unit of volume that its headings print."""
FORM: Final = "keying workbook"
NIGHTS: Final = ("nights", "noches")
STOPS: Final = ("stops", "paradas")
"""What the two sheets are called, in English and in Spanish."""
NUMBER: Final = "n"
"""The column of a stop's number on its card; a row without one follows the row above it."""
LARGEST: Final = 10_000_000
"""Bytes of a keying workbook: a year of cards fits many times."""

MOST_ROWS: Final = 5_000
_HEADS: Final = 2
"""The hidden row of keys and the row of headings."""
_MOST_COLUMNS: Final = 100
_BOOK_PART: Final = "xl/workbook.xml"
_LARGEST_BOOK_PART: Final = 200_000


@dataclass
class _Sheet:
    """The rows of one sheet that hold anything. numbers: the row in the file of each."""

    rows: list[Row] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


def is_keying_workbook(path: str | Path) -> bool:
    """Whether the file is a workbook made by `washwater template`, of any version. Reads its list of sheets only."""
    return f'name="{FORM_SHEET}"'.encode() in _list_of_sheets(path)


def language_of(path: str | Path) -> Literal["en", "es"]:
    """The language in which a keying workbook is made, by the names of its sheets; English where they do not tell."""
    return "es" if f'name="{NIGHTS[1]}"'.encode() in _list_of_sheets(path).lower() else "en"


def _list_of_sheets(path: str | Path) -> bytes:
    """The part of a workbook that names its sheets; b'' of any other file."""
    try:
        with ZipFile(path) as archive:
            info = archive.getinfo(_BOOK_PART)
            return archive.read(info) if info.file_size <= _LARGEST_BOOK_PART else b""
    except (OSError, KeyError, ValueError, BadZipFile, NotImplementedError, RuntimeError, EOFError):
        return b""  # all that zipfile raises of a file that is no archive, is cut short, encrypted or packed otherwise


def read_keying(path: str | Path, registers: Registers | None = None) -> list[Read] | list[Problem]:
    """The nights of a keying workbook as raw entries for `validate.check`, or every problem with the workbook itself.

    registers: of the book, for a tank or meter that the card leaves unnamed; a card that names them needs none.
    What a value may be is the validator's to say; here stands what only the workbook can tell: a serial that is no
    serial, a stop without its night, a tick that is no answer.
    """
    where = Path(path).name
    found = _sheets(Path(path), where)
    if isinstance(found, Problem):
        return [found]
    nights, stops, unit = found
    language = language_of(path)
    at = ("en", "es").index(language)
    problems = [*nights.problems, *stops.problems]
    serials = _Serials()
    by_card = _stops_of_cards(stops.rows, serials, problems)
    keyed = _nights_of_cards(nights.rows, serials, problems)
    problems += serials.problems()
    read = []
    for card, row in keyed.items():
        if card not in by_card:
            problems.append(Problem(f"card {card} has no stop", row.where, f"add its stops on the sheet {STOPS[at]!r}"))
            continue
        raw = night_of(row, by_card[card], registers, unit, language)
        if isinstance(raw, list):
            problems += raw
        else:
            read.append(Read(kinds.RUN, raw, f"{row.where} (card {card})"))
    for card, rows in by_card.items():
        if card not in keyed and rows:
            what = f"the card {card} of this stop has no row of its own on the sheet {NIGHTS[at]!r}"
            problems.append(Problem(what, rows[0].where, "key the night too, or correct the serial"))
    if not problems and not read:
        problems.append(Problem("no card is keyed in this workbook", where, f"fill in the sheet {NIGHTS[at]!r}"))
    return problems or read


# ---- the file ------------------------------------------------------------------------------------------------


def _sheets(path: Path, where: str) -> tuple[_Sheet, _Sheet, str] | Problem:
    """Nights and stops as they stand in the workbook, and the unit of volume of its headings."""
    from compliance.intake.oldbooks.archive import broken, looked_through

    try:
        with path.open("rb") as file:
            data = file.read(LARGEST + 1)
    except OSError as error:
        return Problem(f"the file cannot be read: {error.strerror or error}", where, "look at its name")
    if len(data) > LARGEST:
        return Problem(f"the file is larger than {LARGEST // 1_000_000} MB", where, "key fewer cards in one workbook")
    archive = looked_through(data, where)
    if isinstance(archive, Problem):
        return archive
    try:
        book = _parsed(archive)
    except Exception as error:  # only the parser works in there, and each broken part makes it raise something else
        return broken(error, where)
    unit = _unit(book, where)
    if isinstance(unit, Problem):
        return unit
    return _sheet(book, NIGHTS, NIGHT, where), _sheet(book, STOPS, (_NUMBERED, *STOP), where), unit


class _Cell(NamedTuple):
    """A cell as the parser gives it. kind: its data type, 'f' of a formula, 'e' of an error; column: its letter."""

    value: Any
    kind: str
    column: str


_Parsed = Mapping[str, Mapping[int, Sequence[_Cell]]]
"""Name of a sheet -> number of a row that holds anything -> its cells from the first column on."""


def _parsed(archive: Archive) -> _Parsed:
    """All that is wanted of the file. Raises whatever the parser makes of a broken part."""
    from openpyxl import DEFUSEDXML, load_workbook

    assert DEFUSEDXML, "openpyxl refuses entity bombs only when defusedxml is installed"
    book = load_workbook(BytesIO(archive.data), read_only=True, data_only=False, keep_links=False)
    wanted = (folded(FORM_SHEET), *NIGHTS, *STOPS)
    return {name: _filled(book[name]) for name in book.sheetnames if folded(name) in wanted}


def _filled(sheet: Any) -> Mapping[int, Sequence[_Cell]]:
    """The rows that hold anything, as they stand in the file, whatever the sheet claims of its own size."""
    sheet.reset_dimensions()
    found: dict[int, Sequence[_Cell]] = {}
    for n, row in enumerate(sheet.iter_rows(max_col=_MOST_COLUMNS), start=1):
        if any(cell.value is not None for cell in row):
            found[n] = [_Cell(cell.value, cell.data_type, getattr(cell, "column_letter", "?")) for cell in row]
        if len(found) > MOST_ROWS + _HEADS:
            break
    return found


def _unit(book: _Parsed, where: str) -> str | Problem:
    """The unit of a form of this version, or why the workbook is none."""
    if FORM_SHEET not in book:
        return Problem("this is no keying workbook", where, "make one with `washwater template`")
    cells = [cell.value for n, row in book[FORM_SHEET].items() if n <= 2 for cell in row[:2]]
    what, version, _, unit = [*cells, None, None, None, None][:4]
    if what != FORM or version != VERSION or unit not in ("gal", "L"):
        shown = version if isinstance(version, int) else "unknown"
        return Problem(
            f"this keying workbook is of version {shown}, and this program reads version {VERSION}",
            where,
            "make a new one with `washwater template` and copy the rows into it, or bring the program up to date",
        )
    return str(unit)


# ---- a sheet -------------------------------------------------------------------------------------------------

_NUMBERED: Final = Ask(NUMBER, "stop", "site", words=("stop", "parada"))
_CARD: Final = "card"


def _sheet(book: _Parsed, names: Sequence[str], asks: Sequence[Ask], where: str) -> _Sheet:
    found = _Sheet()
    name = next((name for name in book if folded(name) in names), None)
    if name is None:
        found.problems.append(Problem(f"the sheet {names[0]!r} is missing", where, _NEW))
        return found
    rows, place = book[name], f"{where}, sheet {name}, row"
    keys = [str(cell.value or "") for cell in rows.get(1, ())]
    if _CARD not in keys or not set(keys) <= {ask.key for ask in asks} | {_CARD, ""}:
        found.problems.append(Problem("the hidden first row of the sheet was changed", f"{place} 1", _NEW))
        return found
    for n, row in rows.items():
        cells = _cells(row, keys, f"{place} {n}", found.problems) if n > _HEADS else None
        if cells:
            found.rows.append(Row(f"{place} {n}", cells))
    if len(rows) > MOST_ROWS + _HEADS:
        step = "split the workbook"
        found.problems.append(Problem(f"more than {MOST_ROWS:,} rows are filled in", f"{place} {max(rows)}", step))
    return found


_NEW: Final = "copy the rows into a new workbook from `washwater template`"


def _cells(row: Sequence[_Cell], keys: Sequence[str], here: str, problems: list[Problem]) -> dict[str, str]:
    """The filled cells of a row as text."""
    cells = {}
    for i, cell in enumerate(row):
        text = _text(cell.value)
        if not text.strip():
            continue
        key = keys[i] if i < len(keys) else ""
        at = f"{here}, column {cell.column}"
        if cell.kind == "f":
            problems.append(Problem("there is a formula in a cell", at, "type the value itself"))
        elif cell.kind == "e":
            problems.append(Problem(f"the cell holds an error, {text[:20]}", at, "type the value, or leave it empty"))
        elif not key:
            step = "take it out, or write it as a remark"
            problems.append(Problem(f"{text[:40]!r} stands in a column that the form does not have", at, step))
        else:
            cells[key] = text.strip()
    return cells


def _text(value: Any) -> str:
    """What a cell shows, as it would be typed: figures by their digits, days and times by themselves."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        number = Decimal(repr(value))
        return str(int(number)) if number == number.to_integral_value() else f"{number:f}"
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time(0) else value.isoformat(timespec="minutes")
    if isinstance(value, time):
        return value.isoformat(timespec="minutes")
    return str(value)


# ---- cards ---------------------------------------------------------------------------------------------------


class _Serials:
    """Reads the serials of cards, and tells each that is none once, with all rows that have it."""

    def __init__(self) -> None:
        self.wrong: dict[str, tuple[Problem, list[str]]] = {}

    def read(self, row: Row) -> str | None:
        """The serial of a row as it is printed, None where it is none."""
        typed = row.cells.get(_CARD, "")
        if not typed:
            read: str | Problem = Problem("the serial of the card is missing", row.where, "it is printed on the card")
        else:
            read = read_serial(typed, row.where)
        if isinstance(read, str):
            return read
        self.wrong.setdefault(folded(typed), (read, []))[1].append(row.where)
        return None

    def problems(self) -> list[Problem]:
        """What is wrong with serials."""
        return [Problem(one.what, rows_together(rows), one.next_step) for one, rows in self.wrong.values()]


def rows_together(wheres: Sequence[str]) -> str:
    """Several places like 'FILE, sheet stops, row 3' as one: 'FILE, sheet stops, rows 3 to 5 and 9'."""
    of_sheet: dict[str, list[int]] = {}
    for where in wheres:
        sheet, _, n = where.rpartition(", row ")
        of_sheet.setdefault(sheet, []).append(int(n))
    return "; ".join(f"{sheet}, {_rows_in_words(sorted(rows))}" for sheet, rows in of_sheet.items())


def _rows_in_words(rows: Sequence[int]) -> str:
    runs: list[list[int]] = []
    for n in rows:
        if runs and n == runs[-1][-1] + 1:
            runs[-1].append(n)
        else:
            runs.append([n])
    parts = [f"{run[0]} to {run[-1]}" if len(run) > 2 else " and ".join(map(str, run)) for run in runs]
    return f"{'row' if len(rows) == 1 else 'rows'} {', '.join(parts)}"


def _nights_of_cards(rows: Sequence[Row], serials: _Serials, problems: list[Problem]) -> dict[str, Row]:
    """The rows of nights by the serial of their card."""
    found: dict[str, Row] = {}
    for row in rows:
        card = serials.read(row)
        if card in found:
            what = f"card {card} is keyed in this workbook already ({found[card].where})"
            problems.append(Problem(what, row.where, "take one of the two out"))
        elif card is not None:
            found[card] = Row(row.where, {**row.cells, _CARD: card})
    return found


def _stops_of_cards(rows: Sequence[Row], serials: _Serials, problems: list[Problem]) -> dict[str, list[Row]]:
    """The rows of stops by the serial of their card, in the order of their numbers."""
    found: dict[str, dict[int, Row]] = {}
    for row in rows:
        card = serials.read(row)
        if card is None:
            continue
        known = found.setdefault(card, {})
        n = _number(row.cells, max(known, default=0) + 1)
        if n is None or not 1 <= n <= LINES:
            what = f"{row.cells.get(NUMBER, n)!r} is not the number of a stop: a card has stops 1 to {LINES}"
            step = "correct the number; what stands on a second card has the serial of that card"
            problems.append(Problem(what, row.where, step))
        elif n in known:
            what = f"card {card} has stop {n} twice"
            problems.append(Problem(what, row.where, "give each stop its own number, from 1 up"))
        else:
            known[n] = Row(row.where, {key: text for key, text in row.cells.items() if key not in (_CARD, NUMBER)})
    return {card: [known[n] for n in sorted(known)] for card, known in found.items()}


def _number(cells: Mapping[str, str], following: int) -> int | None:
    text = cells.get(NUMBER)
    if text is None:
        return following
    return int(text) if text.isascii() and text.isdigit() and len(text) < 4 else None
