"""Handing in: one append, acknowledged after; a second time changes nothing."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from compliance.book.incoming import Conflict
from compliance.book.store import Book
from compliance.intake import handin
from compliance.intake.checked import Checked
from compliance.intake.handin import HandedIn, hand_in, hand_in_all, next_ref, not_yet, start_book
from compliance.intake.run import check_run
from compliance.intake.validate import check
from compliance.records.problem import ComplianceError

from .desk import clock, state, token
from .making import NIGHT, NOW, REGISTERS

REF = "2026-09-14-big-blue"


def night(book: Book, **more: Any) -> Checked:
    return check_run({**NIGHT, **more}, state=state(book), where="night", now=NOW)


def put(book: Book, checked: Checked, **more: Any) -> HandedIn:
    return hand_in(book, checked, state=state(book), now=clock(), token=token, **more)


def test_a_book_starts_with_its_business_and_registers(book: Book) -> None:
    """The business first, then all the rest in one go."""
    kinds = [record.kind for record in book.records()]
    assert kinds[0] == "book"
    assert set(kinds[1:]) == {"register"}
    assert state(book).registers.find("tank", "big blue recovery") is not None


def test_a_book_is_not_started_without_its_business(tmp_path: Path) -> None:
    """Nor with a fault anywhere in the file."""
    for raw in ({"rig": [{"name": "X"}]}, {**REGISTERS, "boats": []}):
        checked = check("registers", raw, state=None, where="r", now=NOW)
        with pytest.raises(ComplianceError):
            start_book(tmp_path / "book", checked, now=clock(), token=token)
    with pytest.raises(ComplianceError, match="the business is missing"):
        start_book(tmp_path / "book", [], now=clock(), token=token)
    assert not (tmp_path / "book").exists()


def test_a_night_is_acknowledged_after_it_is_in_the_book(book: Book) -> None:
    """Its name, at most three things to do, what the office will complete: three lines."""
    done = put(book, night(book), things=("cover the NE inlet", "read the tank", "get the ticket", "sweep"))
    assert done.new
    assert done.ref == REF
    assert done.record is not None
    assert book.record(done.record.id).payload["fields"]["rig"] == "Big Blue"
    assert done.lines == (
        f"handed in as {REF}",
        "before you leave: cover the NE inlet; read the tank; get the ticket",
        "the office will complete: End, Where the fresh water came from, Recovered, Water that got away and 10 more",
    )  # fmt: skip
    assert state(book).runs[0].ref == REF


def test_the_three_lines_come_in_spanish(book: Book) -> None:
    """With the labels of the field table."""
    done = put(book, night(book), things=("leer el tanque",), language="es")
    assert done.lines[0] == f"enviado como {REF}"
    assert done.lines[1] == "antes de irse: leer el tanque"
    assert done.lines[2].startswith("la oficina completa lo demás: Fin, De dónde vino el agua limpia, ")


def test_a_cancelled_night_leaves_nothing_to_complete(book: Book) -> None:
    """Two lines are enough."""
    done = put(book, night(book, cancelled="storm warning", line=[]))
    assert done.lines == (f"handed in as {REF}", "the office has nothing to complete")


def test_a_stop_that_was_not_worked_is_asked_for_nothing() -> None:
    """What was not read is not asked again either."""
    asked = "start end supply used recovered got_away drains agent_use filters rain"
    fields = dict.fromkeys(asked.split(), "x")
    line = {"line": "stop", "fields": {"site": "X", "not_worked": "gate locked"}}
    assert not_yet({"fields": fields, "lines": [line]}, "en") == []
    assert not_yet({"fields": {**fields, "rain": "not read"}, "lines": []}, "en") == []
    assert not_yet({"fields": {k: v for k, v in fields.items() if k != "rain"}, "lines": []}, "es") == ["Lluvia"]


def test_the_second_night_of_a_rig_gets_a_number(book: Book) -> None:
    """The ref that is told is the one by which the book knows it."""
    for ref in (REF, f"{REF}-2", f"{REF}-3"):
        done = put(book, night(book, remark=ref))
        assert done.ref == ref
        assert done.record is not None
        run = state(book).run(done.record.id)
        assert run is not None
        assert run.ref == ref
    assert next_ref({"date": "2026-09-14", "rig": "X"}, None) == "2026-09-14-x"


def test_the_same_id_twice_changes_nothing(book: Book) -> None:
    """Though the clock of the device went on."""
    first = put(book, night(book, id="case 2"))
    size = book.head()
    again = put(book, night(book, id="case 2"))
    assert (again.new, again.ref, again.record) == (False, REF, first.record)
    assert again.lines == (f"handed in before as {REF}; nothing was changed",)
    assert book.head() == size


def test_the_same_id_with_other_content_shows_both_sides(book: Book) -> None:
    """What the book has, what came; nothing is written."""
    put(book, night(book, id="case 2"))
    size = book.head()
    with pytest.raises(Conflict, match=r"payload\.fields\.used: the book has nothing, this entry has .451 gal."):
        put(book, night(book, id="case 2", used="451 gal"))
    assert book.head() == size


def test_a_night_without_an_id_is_known_by_its_words(book: Book) -> None:
    """The same file handed in twice is one night; one word different is another."""
    put(book, night(book))
    assert put(book, night(book)).lines == (f"handed in before as {REF}; nothing was changed",)
    assert put(book, night(book, remark="second round")).ref == f"{REF}-2"


def test_a_night_that_was_cancelled_says_so(book: Book) -> None:
    """Handed in again it does not quietly come back."""
    put(book, night(book))
    cancel = check("cancel", {"run": REF, "why": "twice", "who": "Tom"}, state=state(book), where="c", now=NOW)[0]
    done = put(book, cancel)
    assert done.record is not None
    assert done.lines == (f"handed in as cancel {done.record.id[:8]}",)
    assert put(book, cancel_again(book)).lines == ("the book says so already; nothing was changed",)
    assert put(book, night(book)).lines[0].startswith(f"handed in before as {REF} and cancelled since")


def cancel_again(book: Book) -> Checked:
    return check("cancel", {"run": REF, "why": "twice", "who": "Tom"}, state=state(book), where="c", now=NOW)[0]


def test_a_night_is_known_by_its_words_after_its_date_was_corrected(book: Book) -> None:
    """The record says what was handed in, whatever the office found out since."""
    put(book, night(book))
    raw = {"run": REF, "field": "date", "value": "2026-09-13", "reason": "keyed wrong", "who": "Tom"}
    put(book, check("correct", raw, state=state(book), where="c", now=NOW)[0])
    again = put(book, night(book))
    assert not again.new
    assert again.ref == "2026-09-13-big-blue"


def test_problems_stop_a_hand_in(book: Book) -> None:
    """All of them, and nothing is written."""
    size = book.head()
    with pytest.raises(ComplianceError) as refused:
        put(book, night(book, rain="drizzle", used="plenty"))
    assert len(refused.value.problems) == 2
    assert book.head() == size


def test_other_entries_are_named_by_what_they_are(book: Book) -> None:
    """An entry of a register by its name, a ticket by its number."""
    put(book, night(book))
    raw = {"number": "NY-2231", "handovers": [{"run": REF}], "who": "Tom"}
    done = put(book, check("ticket", raw, state=state(book), where="t", now=NOW)[0])
    assert done.lines[0].startswith("handed in as ticket NY-2231 (")
    added = check("registers", {"rig": [{"name": "Goose"}]}, state=state(book), where="r", now=NOW)[0]
    assert put(book, added).lines == ("handed in as rig 'Goose'",)


def test_many_entries_are_written_all_or_none(book: Book) -> None:
    """Those with nothing new are passed over."""
    raw = {"rig": [{"name": "Big Blue"}, {"name": "Goose"}, {"name": "Gander"}]}
    found = check("registers", raw, state=state(book), where="r", now=NOW)
    new = hand_in_all(book, found, now=clock(), token=token, receipt_time="2026-10-02T08:00:00-06:00")
    assert [record.payload["name"] for record in new] == ["Goose", "Gander"]
    assert {record.receipt_time for record in new} == {"2026-10-02T08:00:00-06:00"}
    found = check("registers", raw, state=state(book), where="r", now=NOW)
    assert hand_in_all(book, found, now=clock(), token=token) == []
    bad = check("registers", {"rig": [{"name": "X"}, {"nam": "Y"}]}, state=state(book), where="r", now=NOW)
    with pytest.raises(ComplianceError):
        hand_in_all(book, bad, now=clock(), token=token)
    assert state(book).registers.find("rig", "X") is None


def test_a_hand_in_without_the_state_still_knows_its_id(book: Book) -> None:
    """Then it is named by the id of its record."""
    checked = night(book, id="case 2")
    first = hand_in(book, checked, state=None, now=clock(), token=token)
    again = hand_in(book, checked, state=None, now=clock(), token=token)
    assert first.record is not None
    assert (first.new, again.new, again.ref) == (True, False, first.record.id)


@pytest.mark.parametrize("own", [{}, {"id": "case 2"}])
def test_a_night_is_the_same_after_the_registers_learned_its_names(book: Book, own: dict[str, str]) -> None:
    """A site that was free text then and is on the register now makes no second night, and no conflict."""
    used = {"method": "fills", "tank": "big blue fresh", "times": "1"}
    line = {"line": "stop", "site": "harbor deck", "drain_list": [{"name": "NE", "on": "21:30"}], "used": used}
    first = put(book, night(book, line=[line], **own))
    site = check("registers", {"site": [{"name": "Harbor DECK"}]}, state=state(book), where="r", now=NOW)
    hand_in_all(book, site, now=clock(), token=token)
    changed = night(book, line=[line], **own)
    assert first.record is not None
    assert changed.payload is not None
    assert changed.payload["lines"][0]["fields"]["site"] == "Harbor DECK"
    assert changed.payload != first.record.payload
    again = put(book, changed)
    assert (again.new, again.record) == (False, first.record)


def test_a_reason_that_does_not_apply_is_none() -> None:
    """'not applicable' in place of a reason leaves the night as it is."""
    line = {"line": "stop", "fields": {"site": "X", "not_worked": "not applicable"}}
    assert "Area" in not_yet({"fields": {"cancelled": "not applicable"}, "lines": [line]}, "en")
    assert not_yet({"fields": {"cancelled": "storm"}, "lines": [line]}, "en") == []


def test_what_every_worked_stop_answers_is_not_asked_of_the_run() -> None:
    """'not read' at one stop and an amount at the other are two answers; with one stop silent the run is asked."""
    stops = [{"line": "stop", "fields": {"used": used}} for used in ("not read", "40 gal")]
    gate = {"line": "stop", "fields": {"not_worked": "gate locked"}}
    assert "Used (fresh water drawn)" not in not_yet({"fields": {}, "lines": [*stops, gate]}, "en")
    assert "Recovered" in not_yet({"fields": {}, "lines": stops}, "en")
    silent = {"line": "stop", "fields": {}}
    assert "Used (fresh water drawn)" in not_yet({"fields": {}, "lines": [*stops, silent]}, "en")
    assert "Used (fresh water drawn)" in not_yet({"fields": {}, "lines": [gate]}, "en")


def test_a_night_before_a_field_came_is_not_asked_for_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """The day of the night tells, not the day of the hand-in."""
    came = tuple(replace(row, since="2026-10-01" if row.name == "rain" else "") for row in handin.GROUPS["run"])
    monkeypatch.setattr(handin, "GROUPS", {**handin.GROUPS, "run": came})
    assert "Rain" not in not_yet({"fields": {"date": "2026-09-30"}, "lines": []}, "en")
    assert "Rain" in not_yet({"fields": {"date": "2026-10-01"}, "lines": []}, "en")
