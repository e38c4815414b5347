"""Twelve old books with different habits, each with what is in it, counted and added up by hand."""

from __future__ import annotations

import tomllib
from collections import Counter
from decimal import Decimal
from typing import Any

import pytest

from compliance.intake.oldbooks.filemap import EMPTY, FileMap, quoted, read_map, written
from compliance.intake.oldbooks.lines import NEW, Line
from compliance.intake.oldbooks.preview import Preview
from compliance.records.answer import WRITTEN
from tests.intake.oldbooks.looking import BOOKS, look, work

EXPECTED: dict[str, dict[str, dict[str, Any]]] = tomllib.loads((BOOKS / "expected.toml").read_text(encoding="utf-8"))
CASES = [(name, how) for name, both in EXPECTED.items() for how in both]
NAMES = [f"{name} {how}" for name, how in CASES]


def said(name: str, how: str) -> FileMap:
    """The mapping of a case; none where it is looked at plainly."""
    if how == "plain":
        return EMPTY
    path = BOOKS / f"{name[:2]}.mapping.toml"
    found = read_map(path.read_bytes(), path.name)
    assert isinstance(found, FileMap), found
    return found


def seen(name: str, how: str) -> Preview:
    return look((BOOKS / name).read_bytes(), name, said=said(name, how))


def added_up(lines: list[Line], column: str) -> str:
    """The figures of a column, in the unit that they share."""
    points = [q for line in lines if (q := line.quantities.get(column)) is not None and q.point is not None]
    points += [q for line in lines if column not in line.quantities and (q := from_meter(line, column)) is not None]
    units = {quantity.unit for quantity in points} or {"gal"}
    assert len(units) == 1
    return f"{sum((q.point or Decimal(0) for q in points), Decimal(0))} {units.pop()}"


def from_meter(line: Line, column: str) -> Any:
    """A figure that was taken from the meter has no cell of its own."""
    from compliance.records.quantity import stored

    text = line.fields.get(column)
    return stored(text) if text is not None and text not in WRITTEN else None


def silent(lines: list[Line], column: str) -> dict[str, int]:
    """Answers without a value, and how many rows give them."""
    found = Counter(line.fields.get(column, "not recorded") for line in lines)
    return {kind: n for kind, n in found.items() if kind in (*WRITTEN, "not recorded")}


@pytest.mark.parametrize(("name", "how"), CASES, ids=NAMES)
def test_a_book_holds_what_was_counted_in_it(name: str, how: str) -> None:
    """Rows by state and kind, sums, answers without a value, totals that agree, and the questions that are asked."""
    expected = EXPECTED[name][how]
    found = seen(name, how)
    new = [line for line in found.lines if line.state == NEW]
    assert list(found.counts.values()) == expected["counts"]
    assert {kind: n for kind, n in found.aside.items() if n} == expected["aside"]
    assert added_up(new, "used") == expected["used"]
    assert added_up(new, "recovered") == expected["recovered"]
    assert silent(new, "used") == expected.get("no_used", {})
    assert silent(new, "recovered") == expected.get("no_recovered", {})
    agreeing = [total.agrees for total in found.totals]
    assert [agreeing.count(True), agreeing.count(False)] == expected["totals"]
    assert [asked.key for asked in found.questions] == expected["questions"]
    assert sum(len(line.looks) for line in new) == expected.get("looks", sum(len(line.looks) for line in new))


@pytest.mark.parametrize(("name", "how"), CASES, ids=NAMES)
def test_rows_say_what_stands_in_them(name: str, how: str) -> None:
    """Word for word: every field that was read, and none besides."""
    lines = {(line.sheet, line.number): line for line in work(seen(name, how))}
    for row in EXPECTED[name][how].get("rows", []):
        place = row.get("sheet", ""), row["row"]
        assert lines[place].fields == {key: value for key, value in row.items() if key not in ("sheet", "row")}


def test_some_rows_of_most_books_are_spelled_out() -> None:
    """Else the test above would pass on nothing."""
    assert sum(len(case.get("rows", [])) for both in EXPECTED.values() for case in both.values()) > 20


@pytest.mark.parametrize(("name", "how"), CASES, ids=NAMES)
def test_the_settled_mapping_reads_the_book_in_the_same_way(name: str, how: str) -> None:
    """What was recognised and shown by the rows stands in it: written down and used again, nothing changes."""
    first = seen(name, how)
    settled = read_map(written(first.settled).encode(), "settled.toml")
    assert settled == first.settled
    assert isinstance(settled, FileMap)
    again = look((BOOKS / name).read_bytes(), name, said=settled)
    assert [(line.state, line.kind, line.fields) for line in again.lines] == [
        (line.state, line.kind, line.fields) for line in first.lines
    ]
    assert written(again.settled) == written(first.settled)


@pytest.mark.parametrize(("name", "how"), CASES, ids=NAMES)
def test_the_saved_mapping_with_its_questions_is_a_mapping(name: str, how: str) -> None:
    """Questions stand in it as comments."""
    found = seen(name, how)
    assert read_map(found.mapping.encode(), "saved.toml") == found.settled
    assert found.mapping.count(" wait") >= len(found.questions)


@pytest.mark.parametrize(("name", "how"), CASES, ids=NAMES)
def test_what_a_preview_says_to_write_can_be_written_as_it_stands(name: str, how: str) -> None:
    """Take the # away before the first answer of every question: it is a mapping, and none of them is asked again."""
    found = seen(name, how)
    text = found.mapping
    answered = [one for one in found.questions if one.answers or one.under]
    for one in answered:
        whole = [f"[[sheet]]\nname = {quoted(sheet)}\n{line}" for sheet, line in one.under.items()]
        for lines in [*one.answers[:1], *whole]:
            comment = "".join(f"#   {line}\n" for line in lines.splitlines())
            if comment not in text:  # below the sheet, which the mapping names already
                lines = lines.splitlines()[-1]
                comment = f"#   {lines}\n"
            assert comment in text
            text = text.replace(comment, f"{lines}\n", 1)
    answers = read_map(text.encode(), "saved.toml")
    assert isinstance(answers, FileMap), answers
    again = look((BOOKS / name).read_bytes(), name, said=answers)
    assert not {(one.key, one.why) for one in again.questions} & {(one.key, one.why) for one in answered}


@pytest.mark.parametrize("name", EXPECTED)
def test_every_row_of_a_book_is_accounted_for(name: str) -> None:
    """Rows that are read, aside, blank or on sheets without headings: none is lost on the way."""
    found = seen(name, "plain")
    read = {read.layout.sheet.name for read in found.sheets}
    for sheet in found.book.sheets:
        if sheet.name in read:
            assert [line.number for line in found.lines if line.sheet == sheet.name] == [r.number for r in sheet.rows]
        else:
            assert any(asked.key == "sheet" and asked.rows == len(sheet.rows) for asked in found.questions)


def test_there_are_twelve_and_each_is_described() -> None:
    """The README tells their habits."""
    files = sorted(path.name for path in BOOKS.iterdir() if path.suffix in (".csv", ".tsv", ".xlsx"))
    assert files == sorted(EXPECTED) and len(files) == 12
    text = (BOOKS / "README.md").read_text(encoding="utf-8")
    assert all(f"`{name}`" in text for name in files)
