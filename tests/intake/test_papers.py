"""What comes after the night: tickets, files to keep, accepted findings."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.intake.papers import LARGEST_FILE, MEDIA, check_accept, check_attach, check_ticket
from compliance.records.state import State

from .errors import THREE_NUMBERS, TWO_DUMPS
from .making import NIGHT, NOW, Pages, pages

REF = "2026-09-14-big-blue"
SHA = "ab" * 32


def state(book: Pages) -> State:
    found = book.state
    assert found is not None
    return found


def ticket(book: Pages, **raw: Any) -> Any:
    whole = {"number": "NY-2231", "accepted": "361 gal", "date": "2026-09-28", **raw}
    return check_ticket(whole, state=state(book), where="cmd", now=NOW)


def attach(book: Pages, **raw: Any) -> Any:
    whole = {"run": REF, "name": "drain.JPG", "sha256": SHA, "size": 5, "what": "NE inlet", "who": "Rosa", **raw}
    return check_attach(whole, state=state(book), where="cmd", now=NOW)


BUSINESS = "business Bluebank Wash Recovery"


def accept(book: Pages, raw: dict[str, Any] | None = None, **more: Any) -> Any:
    whole = {"rule": "register-2", "about": BUSINESS, "why": "checked", "until": "2026-12-01", "who": "Ruth"}
    return check_accept({**whole, **(raw or {})}, state=state(book), where="cmd", now=NOW, **more)


def said(found: Any) -> list[str]:
    return [problem.what for problem in found.problems]


def test_a_ticket_is_put_to_its_handover() -> None:
    """By run and line; the day of the ticket is the day of the record."""
    book = pages(NIGHT)
    found = ticket(book, handovers=[{"run": REF, "line": "4"}], received_by="Lowell Pruitt")
    assert found.payload == {
        "fields": {"number": "NY-2231", "date": "2026-09-28", "accepted": "361 gal", "received_by": "Lowell Pruitt"},
        "handovers": [{"run": state(book).runs[0].record, "line": "4"}],
        "who": "",
    }  # fmt: skip
    assert found.event_time == "2026-09-28"
    assert ticket(book, handovers=[{"run": REF}], date="not read").event_time == "2026-10-01"


def test_a_ticket_given_twice_has_nothing_new() -> None:
    """The same fields for the same handovers."""
    book = pages(NIGHT)
    raw = {"number": "NY-2231", "handovers": [{"run": REF, "line": "4"}]}
    book.take("ticket", raw)
    assert check_ticket(raw, state=state(book), where="cmd", now=NOW).payload is None
    assert ticket(book, handovers=[{"run": REF, "line": "4"}]).payload is not None


def test_a_second_ticket_of_one_number_is_told() -> None:
    """It is handed in all the same, since two places may count alike; of another place it is another ticket."""
    book = pages(NIGHT)
    first = {"number": "NY-7", "place": "North Yard station"}
    book.take("ticket", first)
    (there,) = state(book).tickets
    for place, told in (("north yard  station", 1), (None, 1), ("South Plant", 0)):
        where = {} if place is None else {"place": place}
        found = ticket(book, number="ny-7", accepted="350 gal", handovers=[{"run": REF, "line": "4"}], **where)
        assert found.payload is not None
        notes = [note for note in found.notes if "is in the book already as " + there.record[:8] in note]
        assert len(notes) == told, place
    assert not [note for note in ticket(book, number="NY-8", place="North Yard station").notes if "already" in note]


def test_the_only_handover_needs_no_line() -> None:
    """Nor does a run that names its place and has no line for it; of several, one must be named."""
    book = pages(NIGHT, THREE_NUMBERS, TWO_DUMPS)
    assert ticket(book, handovers=[{"run": REF}]).payload["handovers"][0]["line"] == "4"
    assert ticket(book, handovers=[{"run": "2026-09-16-little-heron"}]).payload["handovers"][0]["line"] == ""
    assert said(ticket(book, handovers=[{"run": "2026-09-17-big-blue"}])) == ["2026-09-17-big-blue has 2 handovers"]


def test_a_ticket_needs_its_number_and_a_handover_or_its_place() -> None:
    """All that is missing at once."""
    found = ticket(pages(NIGHT), number="")
    nothing = "it is not said which handover the ticket is for, nor of which place it is"
    assert said(found) == ["'Ticket number' is missing", nothing]
    assert said(ticket(pages(NIGHT), place="not read", handovers=[])) == [nothing]


def test_a_ticket_may_come_before_its_night() -> None:
    """It names its place and no handover, and given twice it has nothing new, before its night or after."""
    book = pages()
    raw = {"number": "NY-7", "place": "North Yard station"}
    assert ticket(book, **raw).payload["handovers"] == []
    book.take("ticket", raw)
    assert check_ticket(raw, state=state(book), where="cmd", now=NOW).payload is None
    *others, dump = NIGHT["line"]
    book.take("run", {**NIGHT, "line": [*others, {**dump, "ticket": "NY-7"}]})
    assert state(book).tickets_of(state(book).runs[0].record, "4")
    assert check_ticket(raw, state=state(book), where="cmd", now=NOW).payload is None
    named = {**raw, "number": "NY-8", "handovers": [{"run": REF, "line": "4"}]}
    book.take("ticket", named)
    again = {**raw, "number": "NY-8"}
    assert check_ticket(again, state=state(book), where="cmd", now=NOW).payload is not None


def test_a_file_is_kept_with_a_run_or_a_line_of_it() -> None:
    """Its kind by the end of its name; the bytes are not looked into."""
    book = pages(NIGHT)
    found = attach(book, line="s1")
    assert found.payload == {
        "record": state(book).runs[0].record, "line": "2", "name": "drain.JPG", "sha256": SHA, "size": 5,
        "media": "image/jpeg", "what": "NE inlet", "who": "Rosa",
    }  # fmt: skip
    book.take("cancel", {"run": REF, "why": "x"})
    assert attach(book).payload["line"] == ""


def test_a_file_is_kept_with_any_other_record() -> None:
    """A ticket has no lines."""
    book = pages(NIGHT)
    record = book.take("ticket", {"number": "1", "handovers": [{"run": REF}], "id": "ticket one"})[0]
    assert attach(book, run="", record=record.id).payload["record"] == record.id
    assert said(attach(book, run="", record=record.id, line="2")) == ["only a run has lines"]


def test_the_same_file_twice_has_nothing_new() -> None:
    """The same bytes under the same name with the same line."""
    from dataclasses import replace

    from compliance.records.views import Attachment

    book = state(pages(NIGHT))
    kept = Attachment("f" * 32, book.runs[0].record, "", "drain.JPG", SHA, 5, "image/jpeg", "NE inlet")
    raw = {"run": REF, "name": "drain.JPG", "sha256": SHA, "size": 5, "what": "NE inlet", "who": "Rosa"}
    assert check_attach(raw, state=replace(book, attachments=(kept,)), where="", now=NOW).payload is None


@pytest.mark.parametrize(
    ("raw", "what"),
    [
        ({"size": 0}, "the file is empty"),
        ({"size": LARGEST_FILE + 1}, "a file of 50 MB at most is kept"),
        ({"size": True}, "a file of 50 MB at most is kept"),
        ({"size": "5"}, "a file of 50 MB at most is kept"),
        ({"sha256": "AB" * 32}, f"'{('AB' * 32)[:57]}...' is not a SHA-256 in hexadecimal"),
        ({"sha256": None}, "'' is not a SHA-256 in hexadecimal"),
        ({"name": "run.exe"}, "'run.exe' is not a kind of file that is kept"),
        ({"name": ""}, "the file has no name"),
        ({"name": "../../book.pdf"}, "'../../book.pdf' is a path or no name of a file"),
        ({"name": "C:\\night.pdf"}, "'C:\\\\night.pdf' is a path or no name of a file"),
        ({"name": ".."}, "'..' is a path or no name of a file"),
        ({"name": "a\x00.pdf"}, "there is a character that cannot be printed (U+0000) after 1 others"),
        ({"line": "77"}, f"run {REF} has no line '77'"),
        ({"run": "nothing"}, "no record is called 'nothing'"),
        ({"who": ""}, "it is not said who says so"),
        ({"what": "\x07"}, "there is a character that cannot be printed (U+0007) after 0 others"),
    ],
)  # fmt: skip
def test_a_file_that_cannot_be_kept_says_why(raw: dict[str, Any], what: str) -> None:
    """Each fault by itself; the name never becomes a path."""
    assert said(attach(pages(NIGHT), **raw)) == [what]


@pytest.mark.parametrize("end", MEDIA)
def test_kinds_of_file_are_known_by_the_end_of_their_name(end: str) -> None:
    """In any case."""
    assert attach(pages(NIGHT), name=f"x{end.upper()}").payload["media"] == MEDIA[end]


def test_a_finding_is_accepted_by_name_for_a_reason_until_a_day() -> None:
    """It still shows; a second time there is nothing new."""
    book = pages(NIGHT)
    found = accept(book)
    assert found.payload == {
        "rule": "register-2", "about": BUSINESS, "why": "checked", "until": "2026-12-01", "who": "Ruth"
    }  # fmt: skip
    book.take("accept", found.payload)
    assert accept(book).payload is None
    assert accept(book).problems == ()


def test_only_a_finding_that_stands_can_be_accepted() -> None:
    """An acceptance of nothing would wait for a finding that nobody has seen."""
    book = pages(NIGHT)
    wrong = accept(book, {"rule": "registre-2"})
    assert said(wrong) == ["'registre-2' is not the id of a rule"]
    assert wrong.problems[0].next_step == "did you mean 'register-2'?"
    wrong = accept(book, {"about": "business Bluebank Wash Recovry"})
    assert said(wrong) == ["there is no finding register-2 about 'business Bluebank Wash Recovry'"]
    assert wrong.problems[0].next_step == f"did you mean '{BUSINESS}'?"
    wrong = accept(book, {"about": "zzz"})
    assert wrong.problems[0].next_step.endswith(f"for this rule: {BUSINESS}")
    wrong = accept(book, {"rule": "escape-1", "about": REF})
    assert wrong.problems[0].next_step.endswith("for this rule: none")
    assert wrong.payload is None


def test_a_day_that_cannot_be_read_accepts_nothing() -> None:
    """'until' is a date."""
    assert said(accept(pages(NIGHT), {"until": "spring"})) == [
        "'spring' is not written as dates are here, the year first"
    ]  # fmt: skip
