"""A list of tickets is read as it comes, and what is wrong with the file is told."""

from __future__ import annotations

import pytest

from compliance.intake.ticketfile import LARGEST, MOST, Slip, TicketFile, read_tickets
from compliance.records.problem import Problem


def read(text: str, encoding: str = "utf-8") -> TicketFile:
    found = read_tickets(text.encode(encoding), "list.csv")
    assert isinstance(found, TicketFile), found
    return found


def refused(data: bytes) -> Problem:
    found = read_tickets(data, "list.csv")
    assert isinstance(found, Problem)
    return found


def test_rows_become_slips_by_their_headings() -> None:
    """A cell that is blank says nothing; blank rows are passed over and still counted."""
    found = read("number,date,place,accepted,received_by\nA-1,2026-09-07,Dry Fork,308 gal,Ana Lind\n\n ,,,,\nA-2,,,,\n")
    assert found.slips == (
        Slip(2, {"number": "A-1", "date": "2026-09-07", "place": "Dry Fork", "accepted": "308 gal",
                 "received_by": "Ana Lind"}),
        Slip(5, {"number": "A-2"}),
    )  # fmt: skip
    assert found.passed_over == ()


@pytest.mark.parametrize("heading", ["Ticket number", "NUMBER", "número de recibo", "number"])
def test_headings_are_names_or_labels_in_either_language(heading: str) -> None:
    """Whatever their case."""
    assert read(f"{heading}\nA-1\n").slips[0].fields == {"number": "A-1"}


def test_headings_with_spaces_for_underscores_are_known() -> None:
    """As people type them."""
    assert read("number;Received_By\nA-1;Ana\n").slips[0].fields == {"number": "A-1", "received_by": "Ana"}
    assert read("number;received by\nA-1;Ana\n").slips[0].fields == {"number": "A-1", "received_by": "Ana"}


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
def test_delimiters_and_code_pages_are_found_out(delimiter: str, encoding: str) -> None:
    """From the headings, and from the bytes."""
    text = delimiter.join(("number", "place")) + "\r\n" + delimiter.join(("A-1", "Señal")) + "\r\n"
    assert read(text, encoding).slips[0].fields == {"number": "A-1", "place": "Señal"}


def test_other_columns_are_passed_over_and_told() -> None:
    """Those of a preview are known and not told."""
    found = read("row,number,colour,our volume,difference,outcome,because,days after,\n2,A-1,red,1,2,matched,x,3,\n")
    assert found.slips == (Slip(2, {"number": "A-1"}),)
    assert found.passed_over == ("colour",)


def test_a_row_may_name_its_handovers() -> None:
    """Several with semicolons; a row that is too short or too long is taken as far as it goes."""
    found = read('number,for\nA-1,"2026-09-07-big-blue/3; 2026-09-08-big-blue/4;"\nA-2\nA-3,x/1,more\n')
    assert [slip.named for slip in found.slips] == [("2026-09-07-big-blue/3", "2026-09-08-big-blue/4"), (), ("x/1",)]


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"", "the file is empty"),
        (b" \n\n", "the file is empty"),
        (b"PK\x03\x04\0\0", "the file is no text"),
        (b"place,date\nx,y\n", "no column is headed 'number'"),
        (b"number,Ticket number\n1,2\n", "two columns are headed 'number'"),
        (b'number,place\n1,"half\n', "the file cannot be read as CSV: unexpected end of data"),
        (b"x" * (LARGEST + 1), "the file is larger than 2 MB"),
        (b"number\n" + b"1\n" * (MOST + 1), "5,001 tickets are more than the 5,000 that are taken"),
    ],
)
def test_a_file_that_is_no_list_is_refused(data: bytes, what: str) -> None:
    """With one message that says what to do."""
    problem = refused(data)
    assert problem.what == what
    assert problem.where.startswith("list.csv") and problem.next_step


def test_the_longest_list_is_taken() -> None:
    """To the last row."""
    assert len(read("number\n" + "1\n" * MOST).slips) == MOST
