"""The door for a file from before the book: read once, recognised by its bytes and never by its name alone."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from hashlib import sha256
from pathlib import Path
from typing import Final

from compliance.intake.oldbooks import limits
from compliance.intake.oldbooks.delimited import SEPARATORS, read_delimited
from compliance.intake.oldbooks.table import OldBook, rows_named
from compliance.intake.oldbooks.telling import Say, unsaid
from compliance.records.problem import Problem

_ARCHIVE: Final = b"PK\x03\x04"
_OLE: Final = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_ENCRYPTED: Final = "EncryptedPackage".encode("utf-16-le")
_MARKUP: Final = (
    b"<!doctype", b"<html", b"<head", b"<body", b"<table", b"<meta", b"<?xml", b"<div", b"<style", b"<script",
)  # fmt: skip
_OTHERS: Final = {
    b"%PDF": "a PDF", b"{\\rtf": "a text with formats", b"\x89PNG": "a picture", b"\xff\xd8\xff": "a picture",
    b"Rar!": "an archive", b"7z\xbc\xaf": "an archive", b"\x1f\x8b": "an archive",
}  # fmt: skip
_SAVE: Final = "open it in a spreadsheet and save it as .xlsx or .csv, then import that"


def read_bytes(path: Path) -> bytes | Problem:
    """The bytes of the file, read once: what is kept, hashed and parsed is the same. At most `limits.FILE`."""
    try:
        with path.open("rb") as file:
            data = file.read(limits.FILE + 1)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        return Problem(f"the file cannot be read: {why}", str(path), "look at its name and whether it may be read")
    if len(data) > limits.FILE:
        return limits.beyond(f"more than {limits.FILE // 1_000_000} MB", path.name)
    return data


def open_book(
    data: bytes,
    name: str,
    *,
    headings: Callable[[Iterable[str]], int],
    separator: str = "",
    say: Say = unsaid,
) -> OldBook | Problem:
    """The sheets in a file, or the one thing that is wrong with it.

    name: for messages. headings, separator, say: see `delimited.read_delimited`.
    """
    digest = sha256(data).hexdigest()
    problem = _no_spreadsheet(data, name)
    if problem is not None:
        return problem
    if data.startswith(_ARCHIVE):
        from compliance.intake.oldbooks.workbook import read_workbook  # the library takes 0.2 s to load

        opened = read_workbook(data, name, say)
        if isinstance(opened, Problem):
            return opened
        notes = [f"sheet {sheet!r} is hidden; it is read like the others" for sheet in opened.hidden]
        for sheet, rows in opened.hidden_rows.items():
            what = "is hidden; it is" if len(rows) == 1 else "are hidden; they are"
            notes.append(f"{rows_named(rows)} of sheet {sheet!r} {what} read like the others")
        if opened.formulas:
            cells = "1 cell holds" if opened.formulas == 1 else f"{opened.formulas:,} cells hold"
            notes.append(f"{cells} a formula: its last value is taken where the file has one, nothing is worked out")
        if opened.unvalued:
            without = "1 of them has" if opened.unvalued == 1 else f"{opened.unvalued:,} of them have"
            notes.append(f"{without} no value in the file: open it in a spreadsheet and save it, and they will")
        return OldBook(name, digest, opened.sheets, tuple(notes))
    read = read_delimited(data, name, headings=headings, separator=separator, say=say)
    if isinstance(read, Problem):
        return read
    notes = [f"fields are separated by a {SEPARATORS[read.separator]}"]
    if read.letters != "UTF-8":
        notes.append(f"letters are read as {read.letters}")
    return OldBook(name, digest, (read.sheet,), tuple(notes))


def _no_spreadsheet(data: bytes, name: str) -> Problem | None:
    if not data.strip():
        return Problem("the file is empty", name, "look whether it is the right file")
    if data.startswith(_OLE):
        if _ENCRYPTED in data:
            return Problem(
                "the workbook is locked with a password", name, "open it, take the password off, and save it as .xlsx"
            )
        return Problem("this is a workbook of the old binary kind (.xls), or another old document", name, _SAVE)
    if data.removeprefix(b"\xef\xbb\xbf").lstrip()[:200].lower().startswith(_MARKUP):
        return Problem("this is a web page or another page of markup, and no spreadsheet", name, _SAVE)
    other = next((what for magic, what in _OTHERS.items() if data.startswith(magic)), None)
    if other is not None:
        return Problem(f"this is {other}, and no spreadsheet", name, _SAVE)
    if Path(name).suffix.lower() in (".xlsx", ".xlsm") and not data.startswith(_ARCHIVE):
        return Problem("the file is called a workbook and is none", name, _SAVE)
    return None
