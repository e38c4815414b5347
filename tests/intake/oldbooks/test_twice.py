"""What is in the book already, or stands in the file twice, is told and not written again."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.intake.oldbooks.writing import new_rows
from compliance.records.envelope import Record
from compliance.records.state import State, gather
from tests.intake.making import NIGHT, Pages, pages
from tests.intake.oldbooks.looking import look, states, work

HEAD = "Date,Rig,Client,Used,Recovered,Ticket,Notes\n"
REF = "2026-09-14-big-blue"
ONE = "2021-09-03,Big Blue,Alder Foods,450,430,T-1,ok\n"


def with_rows(made: Pages, text: str, name: str = "old.csv", said: str = "") -> State:
    """The book after the new rows of a file were written into it."""
    assert made.state is not None
    for checked in new_rows(look(text, name, state=made.state, said=said), who="the office"):
        assert checked.payload is not None
        seq = len(made.records) + 1
        made.records.append(
            Record(seq, f"{seq:032x}", checked.kind, 1, checked.event_time, "2026-10-01", "2026-10-01", checked.payload)
        )
    return gather(made.records)


def test_the_same_file_again_changes_nothing() -> None:
    """Row by row, by the hash of the file; also a row that is asked about now."""
    state = with_rows(pages(), HEAD + ONE)
    found = look(HEAD + ONE, state=state)
    assert states(found) == ["duplicate"]
    assert work(found)[0].reasons == ["this row was imported before"]
    assert new_rows(found, who="") == []


def test_a_row_that_was_read_otherwise_before_is_told_with_both() -> None:
    """Another mapping does not make it new."""
    state = with_rows(pages(), HEAD + ONE)
    found = look(HEAD + ONE, state=state, said='unit = "L"\n[columns]\nRecovered = "not used"\n')
    assert work(found)[0].reasons == [
        "this row was imported before, and read otherwise: used 450 gal then, 450 L now; "
        "recovered 430 gal then, nothing now"
    ]


def test_a_row_of_another_file_that_says_the_same_is_known() -> None:
    """The book was saved again with a row more, in another order, with other remarks and capitals."""
    state = with_rows(pages(), HEAD + ONE, "2021.csv")
    text = HEAD + "2021-09-04,Big Blue,Alder Foods,450,430,T-2,\n2021-09-03,BIG BLUE,alder  foods,450,430,t-1,fine\n"
    found = look(text, state=state)
    assert states(found) == ["new", "duplicate"]
    assert work(found)[1].reasons == ["row 2 of 2021.csv, imported before, says the same"]


def test_each_row_of_the_book_answers_for_one_row_of_the_file() -> None:
    """Two alike that were kept are two; a third is not one of them."""
    keep = 'repeated_rows = "keep"'
    state = with_rows(pages(), HEAD + ONE + ONE, said=keep)
    assert len(state.old_rows) == 2
    again = HEAD + "\n" + ONE + ONE + ONE
    assert states(look(again, "b.csv", state=state, said=keep)) == ["duplicate", "duplicate", "new"]


def test_a_row_that_stands_twice_in_the_file_is_taken_once() -> None:
    """Unless the mapping says that both happened; on another sheet the sheet is named."""
    found = look(HEAD + ONE + "2021-09-03,big blue,ALDER FOODS,450,430,T-1,again\n")
    assert states(found) == ["new", "duplicate"]
    assert work(found)[1].reasons == ["row 2 says the same"]
    assert states(look(HEAD + ONE + ONE, said='repeated_rows = "keep"')) == ["new", "new"]
    from tests.intake.oldbooks.looking import workbook

    rows = [("Date", "Used"), ("2021-09-03", 450)]
    found = look(workbook({"2021": rows, "copy 2021": rows}), "a.xlsx", said='sheet_names = "nothing"')
    assert work(found)[1].reasons == ["row 2 of sheet '2021' says the same"]


def test_rows_that_differ_in_a_column_that_is_not_read_are_asked_about() -> None:
    """They may be two nights whose figures stand under a heading that nobody knows; one answer is for the file."""
    head = "Date,Client,Qty out,,Fee\n"
    text = head + "2021-09-03,A,450,x,9\n2021-09-03,a,310,x,9\n2021-09-03,A,310,x,9\n2021-09-03,A,450,,9\n"
    found = look(text)
    assert states(found) == ["new", "questioned", "duplicate", "questioned"]
    assert [line.reasons for line in work(found)[1:]] == [
        ["row 2 says the same in the columns that are read, another thing in column C, 'Qty out'"],
        ["row 3 says the same"],
        ["row 2 says the same in the columns that are read, another thing in column D"],
    ]
    (asked,) = found.questions
    assert asked.key == "repeated_rows" and asked.rows == 2
    assert asked.answers == ('repeated_rows = "duplicate"', 'repeated_rows = "keep"')
    assert asked.also == "name that column under [columns], where it says what was used, recovered or the like"
    assert states(look(text, said='repeated_rows = "duplicate"')) == ["new"] + ["duplicate"] * 3
    assert states(look(text, said='repeated_rows = "keep"')) == ["new"] * 4
    assert states(look(text, said='[columns]\n"Qty out" = "used"')) == ["new", "new", "duplicate", "questioned"]


def test_noughts_behind_the_point_make_no_other_row() -> None:
    """A spreadsheet shows them in one copy of a file and not in the next; those of a ticket are its name."""
    head = "Date,Rig,Used,Recovered,Meter end,Ticket\n"
    row = "2021-09-03,Heron,{},{},{},{}\n"
    found = look(
        head + row.format("450", "~430.5", "1000.10", "1.10") + row.format("450.00", "~430.50", "1000.1", "1.10")
    )
    assert states(found) == ["new", "duplicate"]
    found = look(head + row.format("450", "430", "1", "1.1") + row.format("450", "430", "1", "1.10"))
    assert states(found) == ["new", "new"]


def test_a_figure_in_another_unit_is_no_double() -> None:
    """450 litres are not 450 gallons."""
    assert states(look("Date,Used\n2021-09-03,450\n2021-09-03,450 L\n")) == ["new", "new"]


@pytest.mark.parametrize(
    ("row", "state", "why"),
    [
        ("2026-09-14,big blue,,450,410,,", "duplicate", f"the book holds the night {REF} of this rig and day"),
        ("2026-09-14,Little Heron,,450,410,,", "new", ""),
        ("2026-09-13,Big Blue,,450,410,,", "new", ""),
        ("2026-09-14,,,450,410,,", "questioned", f"the book holds {REF} of this day, and the row names no rig"),
        ("2026-09-14,Little Heron,,450,410,ny-2231,", "duplicate", "the book holds ticket ny-2231 of this day"),
        ("2026-09-15,Little Heron,,450,410,NY-2231,", "duplicate", "the book holds ticket NY-2231 of this day"),
        ("2026-09-20,Big Blue,,450,410,NY-2231,", "questioned",
         "the book holds ticket NY-2231 of another day, 2026-09-14"),
        ("2026-09-20,Big Blue,,450,410,later,", "new", ""),
    ],
)  # fmt: skip
def test_nights_and_tickets_of_the_book_are_not_taken_again(row: str, state: str, why: str) -> None:
    """By rig and day, by the number of the ticket about that day; what may be another night is asked about."""
    made = pages(NIGHT)
    made.take("ticket", {"number": "NY-2231", "handovers": [{"run": "2026-09-14-big-blue", "line": "4"}]})
    found = look(HEAD + row + "\n", state=made.state)
    (line,) = work(found)
    assert (line.state, line.reasons) == (state, [why] if why else [])


def test_the_mapping_says_what_becomes_of_nights_that_the_book_may_hold() -> None:
    """They are known, or they are others."""
    row = HEAD + "2026-09-14,,,450,410,,\n"
    state = pages(NIGHT).state
    assert states(look(row, state=state)) == ["questioned"]
    assert states(look(row, state=state, said='same_day = "duplicate"')) == ["duplicate"]
    assert states(look(row, state=state, said='same_day = "new"')) == ["new"]


def test_a_night_that_was_cancelled_is_not_held_against_a_row() -> None:
    """It does not count any more; its ticket neither."""
    made = pages(NIGHT)
    made.take("ticket", {"number": "NY-2231", "handovers": [{"run": "2026-09-14-big-blue", "line": "4"}]})
    made.take("cancel", {"run": "2026-09-14-big-blue", "why": "keyed twice"})
    found = look(HEAD + "2026-09-14,Big Blue,,450,410,NY-2231,\n", state=made.state)
    assert states(found) == ["new"]


def test_a_ticket_on_a_night_counts_like_one_that_came_later() -> None:
    """Its number stands on the run, or on the handover."""
    night: dict[str, Any] = {**NIGHT, "rig": "Little Heron", "ticket": "NY-7"}
    found = look(HEAD + "2026-09-14,Old Rig,,450,410,NY-7,\n", state=pages(night).state)
    assert states(found) == ["duplicate"]


def test_a_refused_row_stays_refused_whatever_is_in_the_book() -> None:
    """It was never imported."""
    state = with_rows(pages(), HEAD + ONE)
    assert states(look(HEAD + ONE.replace("450", "-450"), state=state)) == ["refused"]


def test_a_row_that_was_cancelled_may_come_again() -> None:
    """With a better mapping, for example."""
    made = pages()
    state = with_rows(made, HEAD + ONE)
    payload = {"record": state.old_rows[0].record, "why": "wrong unit", "who": "the office"}
    made.records.append(Record(99, "f" * 32, "cancel", 1, "2026-10-01", "2026-10-01", "2026-10-01", payload))
    assert states(look(HEAD + ONE, state=gather(made.records))) == ["new"]
