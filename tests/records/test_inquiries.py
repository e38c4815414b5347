"""Inquiries as the records tell of them: what was asked, what followed, what is on hold."""

from __future__ import annotations

from typing import Any

from compliance.records import kinds
from compliance.records.envelope import Record
from compliance.records.inquiries import Inquiry, called, chain, fold, holds
from compliance.records.state import gather

OPEN = {"fields": {"asked_by": "Lena Ostrow", "case": "TC-9"}, "who": "Ruth Okafor"}


def record(n: int, kind: str, **payload: Any) -> Record:
    at = f"2026-09-{n:02d}T08:00:00-06:00"
    return Record(n, f"{n:032x}", kind, 1, at, at, at, payload)


def opened(n: int = 1, **more: Any) -> Record:
    return record(n, kinds.INQUIRY, **{**OPEN, **more})


def step(n: int, what: str, *held: str, of: int = 1) -> Record:
    return record(n, kinds.INQUIRY_STEP, inquiry=f"{of:032x}", step=what, holds=list(held), who="Ruth Okafor", why="so")


def only(*records: Record, **cancelled: str) -> Inquiry:
    (one,) = fold(records, {key.removeprefix("r"): why for key, why in cancelled.items()})
    return one


def test_a_changed_field_keeps_what_it_said() -> None:
    """Both values stand in the changes, with why and who."""
    said = record(2, kinds.INQUIRY, inquiry=f"{1:032x}", fields={"case": "TC-10"}, why="misheard", who="Priya Lund")
    one = only(opened(), said)
    assert (one.get("case"), one.get("due"), one.ref) == ("TC-10", None, "inquiry-1")
    (change,) = one.changes
    assert (change.was, change.now, change.why, change.who) == ("TC-9", "TC-10", "misheard", "Priya Lund")


def test_what_a_search_names_is_on_hold_until_the_inquiry_is_closed() -> None:
    """Opened again, it holds them again; cancelled, it holds nothing."""
    searched = step(2, "searched", "aa", "bb", "aa")
    assert only(opened(), searched).touched == ("aa", "bb")
    assert only(opened(), searched).held == {"aa", "bb"}
    assert only(opened(), searched, step(3, "closed")).held == frozenset()
    assert only(opened(), searched, step(3, "closed"), step(4, "opened again")).held == {"aa", "bb"}
    assert only(opened(), searched, **{f"r{1:032x}": "a double"}).held == frozenset()


def test_whoever_destroys_records_is_told_which_inquiries_hold_them() -> None:
    """Only those that name one of the records, and are open."""
    both = fold([opened(1), opened(2), step(3, "held", "aa"), step(4, "held", "bb", of=2)], {})
    assert [one.ref for one in holds(both, ["bb", "cc"])] == ["inquiry-2"]
    assert list(holds(both, ["cc"])) == []


def test_a_cancelled_step_and_a_step_of_nothing_are_passed_over() -> None:
    """The inquiry is as if they had not been made."""
    searched = step(2, "searched", "aa")
    assert only(opened(), searched, **{f"r{searched.id}": "wrong place"}).steps == ()
    assert only(opened(), step(2, "searched", "aa", of=9)).steps == ()


def test_follow_ups_are_one_chain_from_whichever_end() -> None:
    """Two that follow one, and one that follows one of these; another inquiry is not among them."""
    first, other = opened(1), opened(2)
    second, third = opened(3, follows=first.id), opened(4, follows=first.id)
    last = opened(5, follows=third.id)
    all_of = fold([first, other, second, third, last], {})
    refs = ["inquiry-1", "inquiry-3", "inquiry-4", "inquiry-5"]
    for at in (0, 2, 3, 4):
        assert [one.ref for one in chain(all_of, all_of[at])] == refs
    assert [one.ref for one in chain(all_of, all_of[1])] == ["inquiry-2"]


def test_an_inquiry_is_found_by_its_name_its_case_and_its_record() -> None:
    """A case number that two share names neither."""
    state = gather([opened(1), opened(2, fields={"case": "tc-11"}), opened(3, fields={"case": "TC-11"})])
    assert [one.ref for one in state.inquiries] == ["inquiry-1", "inquiry-2", "inquiry-3"]
    for name in ("inquiry-1", "TC-9", "tc-9", f"{1:032x}"):
        found = state.inquiry(name)
        assert found is not None
        assert found.seq == 1
    assert state.inquiry("TC-11") is None
    assert [one.ref for one in called(state.inquiries, "TC-11")] == ["inquiry-2", "inquiry-3"]
    assert state.inquiry("00000") is None
    assert state.inquiry("000000") is None


def test_a_case_number_means_the_inquiry_that_counts_and_nobody_is_called_nothing() -> None:
    """One that was cancelled is found by it only where it is the only one."""
    first, second, plain = opened(1), opened(2), opened(3, fields={"asked_by": "Lena Ostrow"})
    known = fold([first, second, plain], {first.id: "opened twice"})
    assert [one.ref for one in called(known, "TC-9")] == ["inquiry-2"]
    assert [one.ref for one in called(known, "inquiry-1")] == ["inquiry-1"]
    assert [one.ref for one in called(fold([first], {first.id: "wrong book"}), "TC-9")] == ["inquiry-1"]
    assert list(called(known, "")) == []
