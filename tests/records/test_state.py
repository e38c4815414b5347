"""What the records say together: nothing is overwritten, and the order of arrival does not matter."""

from __future__ import annotations

from itertools import permutations
from typing import Any

import pytest

from compliance.records import kinds
from compliance.records.changes import added_number
from compliance.records.envelope import SCHEMA
from compliance.records.problem import BookDamaged
from compliance.records.state import State, gather, run_order
from compliance.records.views import Change, LineView, RunView, line_order
from tests.records.writing import DAY, book, cancel, complete, correct, record, register, rid, run, same


def test_a_book_begins_with_its_business() -> None:
    """Its facts, its unit, when it was opened, how many records it holds."""
    state = book()
    assert state.business["name"] == "Bluebank"
    assert (state.unit, state.size, state.opened) == ("gal", 1, f"{DAY}T23:01:00-06:00")
    assert gather([]).unit == "gal"


def test_the_facts_of_the_business_change_one_by_one() -> None:
    """A later record says what is new; the rest stays."""
    state = book(("b", kinds.REGISTER, {"what": "business", "name": "", "fields": {"signer": "Ruth"}, "who": ""}))
    assert state.business == {"name": "Bluebank", "unit": "gal", "zone": "America/Denver", "signer": "Ruth"}


def test_the_registers_are_what_their_records_say() -> None:
    """Entries, and which of two spellings stays."""
    state = book(register("client", "Alder Foods", phone="555-0142"), same("client", "AF", "Alder Foods"))
    assert state.registers.find("client", "af") == {"name": "Alder Foods", "phone": "555-0142"}


def test_a_run_is_named_by_its_day_and_rig() -> None:
    """A second one of the day gets a number, in the order of the book."""
    state = book(run("a"), run("b", rig="BIG blue"), run("c", rig="Élan nº 2"))
    assert {view.record: view.ref for view in state.runs} == {
        rid("a"): f"{DAY}-big-blue", rid("b"): f"{DAY}-big-blue-2", rid("c"): f"{DAY}-elan-no-2",
    }  # fmt: skip


def test_a_run_is_found_by_ref_id_or_the_beginning_of_its_id() -> None:
    """Six digits or more, and only when one run begins so."""
    state = book(run("abc"), run("abd", rig="Heron"))
    assert state.run(f"{DAY}-heron") is state.run(rid("abd"))
    assert state.run(rid("abc")[:6]) is state.run(rid("abc"))
    assert state.run(rid("abc")[:4]) is None
    assert state.run("6162") is None
    assert state.run("nothing here") is None
    assert book(run("abc"), run("abcd", rig="Heron")).run(rid("abc")[:6]) is None


def test_a_run_shows_its_fields_and_lines() -> None:
    """By name and number; what nobody answered is None."""
    view = book(run("a", lines=[("stop", {"site": "Plaza"}), ("remark", {"text": "late"})])).runs[0]
    assert (view.get("rig"), view.get("used"), view.day) == ("Big Blue", None, DAY)
    line = view.line("2")
    assert line == LineView("2", "remark", {"text": "late"})
    assert line is not None
    assert (line.get("text"), line.get("x")) == ("late", None)
    assert view.line("3") is None
    assert (view.who, view.handed_in, view.received) == ("Rosa", f"{DAY}T23:02:00-06:00", f"{DAY}T23:02:00-06:00")


def test_a_correction_keeps_what_stood_there() -> None:
    """The field says the new value, the change says both, with reason and name."""
    state = book(run("a", used="450 gal"), correct("c", "a", "", "used", "400 gal", "450 gal"))
    view = state.runs[0]
    assert view.get("used") == "400 gal"
    received = f"{DAY}T23:03:00-06:00"
    assert view.changes == (
        Change(rid("c"), "correct", "", "used", "450 gal", "400 gal", "keyed wrong", "", "office", received),
    )


def test_a_line_is_corrected_in_its_place() -> None:
    """Only that line, only that field."""
    lines = [("stop", {"site": "Plaza"}), ("stop", {"site": "Dock"})]
    view = book(run("a", lines=lines), correct("c", "a", "2", "site", "Dock Street")).runs[0]
    assert [line.get("site") for line in view.lines] == ["Plaza", "Dock Street"]


def test_complete_fills_only_what_is_not_recorded_yet() -> None:
    """Where somebody answered before, 'not read' included, it changes nothing."""
    state = book(run("a", used="not read"), complete("b", "a", "", "used", "5 gal"),
                 complete("c", "a", "", "rain", "none"))  # fmt: skip
    view = state.runs[0]
    assert (view.get("used"), view.get("rain")) == ("not read", "none")
    assert [change.field for change in view.changes] == ["rain"]


def test_a_forgotten_line_comes_behind_the_one_before_it() -> None:
    """Added lines are numbered 3.1, 3.2 behind 3, and 0.1 before the first."""
    entries = [("stop", {"site": str(n)}) for n in range(1, 12)]
    add = {"line": "remark", "fields": {"text": "x"}}
    state = book(
        run("a", lines=entries),
        *((f"f{n}{after}", kinds.COMPLETE, {"run": rid("a"), "after": after, "add": add, "who": "office"})
          for n, after in enumerate(("2", "2", "", "2.1"))),
    )  # fmt: skip
    numbers = [line.n for line in state.runs[0].lines]
    assert numbers == ["0.1", "1", "2", "2.1", "2.1.1", "2.2", *map(str, range(3, 12))]
    assert added_number("2", {"2.1": 0}) == "2.2"
    assert line_order("2.10") > line_order("2.9")


def test_a_cancelled_record_no_longer_counts_and_stays() -> None:
    """A run is marked; a correction, a ticket, a file, an acceptance drop out."""
    state = book(
        run("a", used="5 gal"), correct("b", "a", "", "used", "6 gal"),
        ("t", kinds.TICKET, {"fields": {"number": "1"}, "handovers": [{"run": rid("a"), "line": "1"}], "who": ""}),
        ("f", kinds.ATTACH, {"record": rid("a"), "name": "p.jpg", "sha256": "0" * 64, "size": 5,
                             "media": "image/jpeg", "what": "drain", "who": ""}),
        ("x", kinds.ACCEPT, {"rule": "water-1", "about": "a", "why": "w", "until": DAY, "who": "Ruth"}),
    )  # fmt: skip
    assert state.runs[0].get("used") == "6 gal"
    assert state.tickets_of(rid("a"), "1")[0].fields == {"number": "1"}
    assert state.tickets_of(rid("a"), "2") == []
    assert state.attachments[0].about == rid("a")
    assert state.attachments[0].line == ""
    assert state.acceptances[0].rule == "water-1"
    entries = [
        run("a", used="5 gal"), correct("b", "a", "", "used", "6 gal"),
        ("t", kinds.TICKET, {"fields": {"number": "1"}, "handovers": [], "who": ""}),
        ("f", kinds.ATTACH, {"record": rid("a"), "line": "1", "name": "p.jpg", "sha256": "0" * 64, "size": 5,
                             "media": "image/jpeg", "what": "drain", "who": ""}),
        ("x", kinds.ACCEPT, {"rule": "water-1", "about": "a", "why": "w", "until": DAY, "who": "Ruth"}),
        *(cancel(f"no{name}", name) for name in "abtfx"),
    ]  # fmt: skip
    state = book(*entries)
    assert state.runs[0].cancelled == "twice"
    assert state.runs[0].get("used") == "5 gal"
    assert (state.tickets, state.attachments, state.acceptances) == ((), (), ())


def test_an_issued_page_is_remembered_with_its_figures() -> None:
    """What it printed, of which book, and what it replaces."""
    state = book(("i", kinds.ISSUE, {
        "page": "proof", "number": "P-1", "about": "job", "date": DAY, "files": {"pdf": "0" * 64},
        "made_from": {"size": 1, "root": "ab"}, "figures": {"used": "450"}, "replaces": "", "who": "",
    }))  # fmt: skip
    page = state.issued[0]
    assert (page.number, page.size, page.root, page.figures) == ("P-1", 1, "ab", {"used": "450"})


def test_a_record_of_an_unknown_kind_is_kept_and_ignored() -> None:
    """A newer program may have written it; the rest of the book still reads."""
    state = book(("z", "weather", {"wind": "calm"}), run("a"))
    assert (len(state.runs), state.size) == (1, 3)


def test_a_record_of_a_newer_schema_is_not_guessed_at() -> None:
    """It damages nothing, but this program cannot read it."""
    with pytest.raises(BookDamaged, match="written by a newer program"):
        gather([record(1, "a", kinds.RUN, {}, schema=SCHEMA + 1)])


def test_runs_are_in_the_order_of_their_starts() -> None:
    """By day, then by the moment of the start whatever its offset, never by who handed in first."""
    state = book(
        run("late", start=f"{DAY}T23:00:00-06:00"), run("early", start=f"{DAY}T23:30:00-05:00"),
        run("unread", start="not read"), run("day before", date="2026-09-13"),
    )  # fmt: skip
    assert [view.record for view in state.runs] == [rid(name) for name in ("day before", "unread", "early", "late")]
    assert run_order(state.runs[0])[0] == "2026-09-13"


def old_row(name: str, day: str, row: int, **fields: Any) -> tuple[str, str, Any]:
    payload = {
        "fields": {"date": day, **fields}, "typed": {}, "method": "stated in an old file, method unknown",
        "file": "old book.xlsx", "sha256": "ab" * 32, "sheet": "2021", "row": row, "mapping": "cd" * 32, "who": "",
    }  # fmt: skip
    return name, kinds.OLD_ROW, payload


def test_a_row_of_an_old_book_stands_apart_from_the_nights() -> None:
    """It is found with its file, sheet and row, in order of day, and is no run."""
    state = book(old_row("a", "2021-09-03", 7, used="450 gal"), old_row("b", "2021-09-02", 9, client="Alder Foods"))
    assert state.runs == ()
    assert [(row.record, row.day, row.file, row.sheet, row.row) for row in state.old_rows] == [
        (rid("b"), "2021-09-02", "old book.xlsx", "2021", 9), (rid("a"), "2021-09-03", "old book.xlsx", "2021", 7),
    ]  # fmt: skip
    assert state.old_rows[1].get("used") == "450 gal" and state.old_rows[1].sha256 == "ab" * 32
    assert state.old_rows[1].get("recovered") is None
    assert book().old_rows == ()


def test_a_cancelled_row_of_an_old_book_no_longer_counts() -> None:
    """As with every other record that was cancelled."""
    state = book(old_row("a", "2021-09-03", 7), old_row("b", "2021-09-03", 8), cancel("c", "a"))
    assert [row.row for row in state.old_rows] == [8]


ENTRIES = [
    run("a", used="450 gal", lines=[("stop", {"site": "Plaza"})]),
    correct("b", "a", "", "used", "400 gal", "450 gal"),
    complete("c", "a", "1", "area", "5 ft2"),
    run("d", rig="Heron"),
    cancel("e", "d"),
    register("site", "Plaza", drains=1),
]


@pytest.mark.parametrize("order", list(permutations(range(len(ENTRIES))))[::7])
def test_any_order_of_arrival_gives_the_same_nights(order: tuple[int, ...]) -> None:
    """A correction may come before the night it corrects; the fields end up the same."""

    def nights(state: State) -> list[Any]:
        return [(v.record, v.ref, v.fields, v.lines, v.cancelled, sorted(c.now for c in v.changes)) for v in state.runs]

    there = book(*(ENTRIES[n] for n in order))
    assert sorted(nights(there), key=str) == sorted(nights(book(*ENTRIES)), key=str)
    assert there.registers.find("site", "plaza") == {"name": "Plaza", "drains": 1}


def test_views_are_frozen() -> None:
    """Nobody changes what a record said."""
    view = book(run("a")).runs[0]
    assert isinstance(view, RunView)
    with pytest.raises(AttributeError):
        view.ref = "x"  # type: ignore[misc]
