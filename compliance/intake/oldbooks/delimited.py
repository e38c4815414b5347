"""A text file of separated fields (.csv, .tsv, .txt): its letters, its separator, its quoted line breaks."""

from __future__ import annotations

import codecs
import csv
import io
from collections import Counter
from collections.abc import Callable, Iterable
from itertools import islice
from typing import Final

from compliance.intake.oldbooks import limits
from compliance.intake.oldbooks.table import Row, Sheet
from compliance.intake.oldbooks.telling import Say, told, unsaid
from compliance.intake.oldbooks.texts import text_cell
from compliance.records.problem import Problem
from compliance.records.quick import dataclass

SEPARATORS: Final = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
_LOOKED_AT: Final = 60
"""Lines that decide which separator a file has."""
_UNICODE: Final = (
    (codecs.BOM_UTF8, "utf-8-sig", "UTF-8"),
    (codecs.BOM_UTF16_LE, "utf-16", "UTF-16"),
    (codecs.BOM_UTF16_BE, "utf-16", "UTF-16"),
)


@dataclass(frozen=True)
class Delimited:
    """A text file that was read. letters: how its bytes were read; separator: one of `SEPARATORS`."""

    sheet: Sheet
    letters: str
    separator: str


def read_delimited(
    data: bytes,
    where: str,
    *,
    headings: Callable[[Iterable[str]], int],
    separator: str = "",
    say: Say = unsaid,
) -> Delimited | Problem:
    """The one sheet of a text file, or the one thing that is wrong with it.

    headings: how many of some texts are known headings, which tells the separator better than counting it does.
    separator: the one to use, where it is known. say: is told how far it is.
    """
    decoded = _decoded(data, where)
    if isinstance(decoded, Problem):
        return decoded
    text, letters = decoded
    first, _, rest = text.partition("\n")
    stated = first.strip("\r ").strip('"').lower()
    if stated.startswith("sep=") and stated[4:] in SEPARATORS:  # a line for spreadsheets, which do not show or count it
        separator, text = separator or stated[4:], rest
    separator = separator or _separator(text, headings)
    rows = _rows(text, separator, where, say)
    if isinstance(rows, Problem):
        return rows
    blank = rows[-1].number - rows[0].number + 1 - len(rows) if rows else 0
    return Delimited(Sheet("", tuple(rows), blank), letters, separator)


def _decoded(data: bytes, where: str) -> tuple[str, str] | Problem:
    """The text of a file and what its letters are called; never a guess among code pages but the two common ones."""
    for mark, codec, name in _UNICODE:
        if data.startswith(mark):
            try:
                return data.decode(codec), name
            except UnicodeDecodeError:
                return Problem(f"the file begins as {name} and goes on as something else", where, _SAVE_AS_UTF8)
    if b"\0" in data:
        return Problem("the file is no text: there are zero bytes in it", where, _SAVE_AS_UTF8)
    try:
        return data.decode("utf-8"), "UTF-8"
    except UnicodeDecodeError:
        pass
    try:
        return data.decode("cp1252"), "Windows-1252"
    except UnicodeDecodeError:
        return data.decode("latin-1"), "Latin-1"  # takes every byte; what is no letter is refused cell by cell


_SAVE_AS_UTF8: Final = "open it in a spreadsheet and save it as .xlsx, or as .csv in UTF-8"


def _separator(text: str, headings: Callable[[Iterable[str]], int]) -> str:
    """The separator under which most headings are known; then the one that cuts most lines into equally many."""
    found = []
    for order, separator in enumerate(SEPARATORS):
        lines = _cut(text, separator)
        widths = Counter(len(line) for line in lines if len(line) > 1)
        width, times = widths.most_common(1)[0] if widths else (1, 0)
        known = max((headings(line) for line in lines), default=0)
        found.append((known, times * (width > 1), -order, separator))
    return max(found)[3]


def _cut(text: str, separator: str) -> list[list[str]]:
    try:
        with _long_fields():
            return list(islice(csv.reader(io.StringIO(text[:100_000], newline=""), delimiter=separator), _LOOKED_AT))
    except csv.Error:
        return []


class _long_fields:
    """Fields as long as the file: a long one is refused with its row, not with the whole file."""

    def __enter__(self) -> None:
        self._before = csv.field_size_limit(limits.FILE)

    def __exit__(self, *error: object) -> None:
        csv.field_size_limit(self._before)


def _rows(text: str, separator: str, where: str, say: Say) -> list[Row] | Problem:
    rows: list[Row] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    try:
        with _long_fields():
            for number, fields in enumerate(told(reader, say, "reading rows of the file"), start=1):
                while fields and not fields[-1].strip():
                    fields.pop()
                if not fields:
                    continue
                if len(fields) > limits.COLUMNS:
                    return limits.too_many_columns(where)
                if len(rows) == limits.ROWS:
                    return limits.too_many_rows(where)
                rows.append(Row(number, tuple(map(text_cell, fields))))
    except csv.Error:  # read loosely, an open quote swallows the rows behind it without a word
        step = "look for a quote mark that opens a field and is not closed, or stands within one: double it"
        return Problem("the quote marks do not match", f"{where}, line {reader.line_num} or before", step)
    return rows
