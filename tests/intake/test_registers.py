"""Registers and the business: one entry, a whole file, what is new in it and what is not."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.intake.registers import (
    MOST_ENTRIES,
    check_business,
    check_register,
    check_registers,
    check_same_as,
)  # fmt: skip
from compliance.records import kinds

from .making import NIGHT, NOW, REGISTERS, pages


def one(what: str, raw: dict[str, Any], made: Any = None) -> Any:
    return check_register(what, raw, state=(made or pages()).state, where="cmd", now=NOW, who="Ruth")


def whole(raw: dict[str, Any], state: Any) -> Any:
    return check_registers(raw, state=state, where="registers.toml", now=NOW, who="Ruth")


def said(found: Any) -> list[str]:
    return [problem.what for checked in found for problem in checked.problems]


def test_a_new_book_begins_with_its_business() -> None:
    """The first record is of kind 'book', with name, unit and zone."""
    found = whole(REGISTERS, None)
    assert said(found) == []
    assert found[0].kind == kinds.BOOK
    assert found[0].payload == {"fields": REGISTERS["business"], "who": "Ruth"}
    assert {checked.kind for checked in found[1:]} == {kinds.REGISTER}


@pytest.mark.parametrize(
    ("raw", "what"),
    [
        ({"rig": [{"name": "Big Blue"}]}, "the table [business] is missing"),
        ({"business": []}, "'business' is not a table"),
        ({"business": {"name": "B", "zone": "UTC"}}, "'Unit of volume' is missing"),
    ],
)
def test_a_new_book_needs_its_business(raw: dict[str, Any], what: str) -> None:
    """Without it nothing begins."""
    assert what in said(whole(raw, None))


def test_a_file_given_twice_has_nothing_new() -> None:
    """Every entry says so, and none is handed in again."""
    found = whole(REGISTERS, pages().state)
    assert said(found) == []
    assert all(checked.payload is None for checked in found)
    assert all(checked.notes[-1].endswith("the book says so already") for checked in found)


def test_only_what_changed_is_in_the_payload() -> None:
    """Fields that stand there stay out of it, and the entry keeps its spelling."""
    found = one("tank", {"name": "BIG BLUE RECOVERY", "role": "recovery", "capacity": "500 gallons"})
    assert found.payload == {
        "what": "tank", "name": "Big Blue recovery", "fields": {"capacity": "500 gal"}, "who": "Ruth",
        "typed": {"capacity": "500 gallons"},
    }  # fmt: skip


def test_a_change_is_read_in_the_light_of_what_stands_there() -> None:
    """A step in gallons fits a meter that is known to count gallons."""
    found = one("instrument", {"name": "Blue supply meter", "step": "0.5 gal"})
    assert found.payload["fields"] == {"step": "0.5 count"}


def test_a_limit_has_a_value_or_is_none_yet() -> None:
    """Both at once are asked back; either alone is taken."""
    found = one("limit", {"name": "recovery ratio", "value": "90 %", "none_yet": "yes"})
    assert said([found]) == ["it has a value and is 'none yet'"]
    for alone in ({"value": "90 %"}, {"none_yet": "yes"}, {"value": "not read", "none_yet": "yes"}):
        assert said([one("limit", {"name": "recovery ratio", **alone})]) == []


def test_entries_of_one_file_may_name_each_other_in_any_order() -> None:
    """A tank above its rig, a place above its site: spelled alike, and no note of something near."""
    raw = {
        "rig": [{"name": "Slate Gull"}], "tank": [{"name": "Gull tank", "rig": "slate gull", "role": "recovery"}],
        "place": [{"name": "Ramp cleanout", "site": "ALDER RAMP"}], "site": [{"name": "Alder Ramp"}],
    }  # fmt: skip
    found = whole(raw, pages().state)
    assert said(found) == []
    fields = {checked.payload["name"]: checked.payload["fields"] for checked in found}
    assert fields["Gull tank"]["rig"] == "Slate Gull"
    assert fields["Ramp cleanout"]["site"] == "Alder Ramp"
    assert [note for checked in found for note in checked.notes] == []


def test_two_spellings_are_joined() -> None:
    """The payload names the entry that stays, as its register spells it; a second time there is nothing new."""
    made = pages()
    raw = {"what": "client", "name": "Alder Food Co", "is": "ALDER foods"}
    found = check_same_as(raw, state=made.state, where="cmd", now=NOW, who="Ruth")
    assert found.payload == {"what": "client", "name": "Alder Food Co", "is": "Alder Foods", "who": "Ruth"}
    made.take("same as", raw)
    assert check_same_as(raw, state=made.state, where="cmd", now=NOW).payload is None


def test_an_entry_and_its_other_spelling_come_in_one_file() -> None:
    """The file that adds a client may join a spelling to it."""
    raw = {"client": [{"name": "Tern Laundry"}], "same_as": [{"what": "client", "name": "Tern", "is": "Tern Laundry"}]}
    found = whole(raw, pages().state)
    assert said(found) == []
    assert found[-1].kind == kinds.SAME_AS


def test_same_as_says_all_that_is_missing() -> None:
    """And what does not belong to it."""
    found = check_same_as({"wat": "client"}, state=pages().state, where="cmd", now=NOW)
    assert [problem.what for problem in found.problems] == [
        "'wat' does not belong to 'same as'", "'what' is missing", "'name' is missing", "'is' is missing",
    ]  # fmt: skip


def test_a_register_that_is_none_is_asked_back() -> None:
    """With the one that was meant."""
    found = one("instruments", {"name": "M"})
    assert found.problems[0].next_step == "did you mean 'instrument'?"


def test_an_entry_without_a_name_cannot_be_referred_to() -> None:
    """The name is needed, and so is what its register needs."""
    assert [problem.what for problem in one("rig", {"plate": "T 1"}).problems] == ["'Rig' is missing"]


def test_the_unit_of_a_book_is_fixed_by_its_first_night() -> None:
    """Before, it may change; after, another unit means another book."""
    raw = {"unit": "L"}
    early = check_business(raw, state=pages().state, where="cmd", now=NOW)
    assert early.payload is not None
    assert early.payload["fields"] == {"unit": "L"}
    late = check_business(raw, state=pages(NIGHT).state, where="cmd", now=NOW)
    assert late.problems[0].what == "the unit of this book is gal and there are nights in it"
    assert check_business({"unit": "gal"}, state=pages(NIGHT).state, where="", now=NOW).payload is None


def test_a_new_book_of_litres_reads_bare_numbers_as_litres() -> None:
    """The unit that a file begins with holds for its own entries."""
    business = {**REGISTERS["business"], "unit": "litros"}
    tank = {"name": "T", "rig": "R", "role": "recovery", "capacity": "2000"}
    found = whole({"business": business, "tank": [tank]}, None)
    assert found[1].payload["fields"]["capacity"] == "2000 L"


def test_who_says_so_may_stand_in_the_entry() -> None:
    """A name, which is a claim; else that of the caller."""
    assert one("rig", {"name": "X", "who": "tom adlow"}).payload["who"] == "Tom Adlow"
    assert one("rig", {"name": "X"}).payload["who"] == "Ruth"
    assert one("rig", {"name": "X", "who": "a\nb"}).problems[0].what == "'a\\nb' is more than one line"


def test_the_day_of_the_hand_in_is_that_of_the_entry() -> None:
    """A file may say when it was handed in; else it is today at the place."""
    found = one("rig", {"name": "X", "handed_in": "2026-09-02T06:40"})
    assert (found.event_time, found.device_time) == ("2026-09-02", "2026-09-02T06:40:00-06:00")
    assert one("rig", {"name": "X"}).event_time == "2026-10-01"


def test_what_is_wrong_with_a_whole_file_is_said_at_once() -> None:
    """Strange keys, lists that are none, entries that stand twice, too many of them."""
    raw: dict[str, Any] = {
        "boats": [], "rig": {"name": "X"}, "client": [{"name": "A"}, {"name": "a"}],
        "site": [{"name": "x"}] * (MOST_ENTRIES + 1), "place": [{"nam": "P"}],
    }  # fmt: skip
    assert said(whole(raw, pages().state)) == [
        "'boats' is not a register", "'rig' is a table of keys, not a list of entries",
        f"{MOST_ENTRIES + 1} entries are more than the {MOST_ENTRIES} that are taken",
        "client 'a' stands twice in this file", "'nam' is not a field of 'place'", "'Place' is missing",
    ]  # fmt: skip


def test_a_permission_ends_after_it_begins_whichever_day_is_changed() -> None:
    """The days that stand there already are looked at with the new one; a day that is not known is before nothing."""
    made = pages()
    made.take("registers", {"permission": [{"name": "TC-114", "valid_to": "2026-12-31"}]})
    late = one("permission", {"name": "TC-114", "valid_from": "2027-01-01"}, made)
    assert [problem.what for problem in late.problems] == [
        "it would be valid to 2026-12-31, which is before 2027-01-01, from which it is valid"
    ]
    for days in ({"valid_to": "2026-01-01"}, {"valid_from": "not read"}, {"given_by": "the sewer authority"}):
        assert one("permission", {"name": "TC-114", **days}, made).problems == ()


def test_a_size_of_nothing_is_refused_and_an_error_of_nothing_is_not() -> None:
    """A tank of 0 gal is a slip of the key; 'not read' is an answer, and so is an accuracy of 0."""
    assert [problem.what for problem in one("tank", {"name": "Big Blue recovery", "depth": "0"}).problems] == [
        "0 in is no size"
    ]
    kept = {"name": "Big Blue recovery", "depth": "not read", "accuracy": "0 %", "width": "40"}
    assert one("tank", kept).problems == ()


def test_a_name_that_is_on_no_register_is_told_once() -> None:
    """It may be added later; one that is near a known name is asked back instead."""
    (note,) = one("site", {"name": "Old Mill", "client": "Nobody Ltd"}).notes
    assert note == "cmd, site 'Old Mill': 'Nobody Ltd' is on the register of no client yet"
    (note,) = one("site", {"name": "Old Mill", "client": "Alder Food"}).notes
    assert note.endswith("'Alder Food' is not on the register; 'Alder Foods' is")
    assert one("site", {"name": "Old Mill", "client": "alder foods"}).notes == ()
