"""A list of tickets is read as it comes, and what is wrong with the file is told."""

from __future__ import annotations

import pytest

from compliance.intake.ticketfile import FOR, LARGEST, MOST, SHORT, Slip, TicketFile, read_tickets
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


def test_a_list_in_spanish_is_read_by_its_short_headings() -> None:
    """With and without accents and full stops, as offices write them."""
    row = "4711;2026-10-03;Estación;412 gal;Ana Lind;lleno;tarde;2026-10-02-big-blue/10\n"
    for head in (
        "numero;fecha;lugar;aceptado;recibió;rechazado;nota;para\n",
        "Núm.;FECHA;Lugar;Cantidad;Recibido por;Rechazado porque;Observación;Para\n",
        "Recibo;Fecha del recibo;Estación;Cantidad aceptada;quien recibe;rechazada;observaciones;for\n",
    ):
        found = read(head + row)
        assert found.passed_over == ()
        assert found.slips == (
            Slip(2, {"number": "4711", "date": "2026-10-03", "place": "Estación", "accepted": "412 gal",
                     "received_by": "Ana Lind", "refused": "lleno", "remark": "tarde"}, ("2026-10-02-big-blue/10",)),
        )  # fmt: skip


def test_a_heading_that_names_a_unit_is_not_taken_for_the_amount() -> None:
    """A bare figure is of the book's own unit, and the heading may say another."""
    assert read("number,gallons,galones\n1,2,3\n").passed_over == ("gallons", "galones")


@pytest.mark.parametrize(("name", "heading"), [(name, one) for name, all in SHORT.items() for one in all])
def test_each_short_heading_names_its_field(name: str, heading: str) -> None:
    """And no label of another field is among them."""
    (slip,) = read(f"{heading};x\n7;7\n").slips if name == "number" else read(f"number;{heading}\n7;r/8\n").slips
    assert slip == (
        Slip(2, {"number": "7"}, ("r/8",)) if name == FOR else Slip(2, {"number": "7", name: slip.fields[name]})
    )


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
        (b"number,Ticket number\n1,2\n", "two columns hold 'number': 'number' and 'Ticket number'"),
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
