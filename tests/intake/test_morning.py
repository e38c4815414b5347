"""The morning list holds what is still needed, oldest first, and every answer finds its place."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from compliance.intake.morning import Need, after_ticket, entry_of, needs
from compliance.records.state import State
from compliance.records.views import BackedUp
from compliance.rules.run import Report, check
from compliance.rules.scene import Scene
from compliance.water.fold import calculate

from .making import REGISTERS, Pages

WHO = "Ruth Okafor"
STATION = "North Yard station"


def book(*nights: dict[str, Any], **registers: Any) -> Pages:
    """A book that was opened in January, so that every night is judged."""
    made = Pages()
    business = {**REGISTERS["business"], "handed_in": "2026-01-01T08:00-07:00"}
    made.take("registers", {**REGISTERS, "business": business, **registers})
    for night in nights:
        made.take("run", night)
    return made


def state(made: Pages) -> State:
    found = made.state
    assert found is not None
    backup = BackedUp("f" * 32, "2026-09-30T08:00:00-06:00", "", "", 0, 0)
    return replace(found, backups=(*found.backups, backup))


def listed(made: Pages, *drafts: str, there: State | None = None) -> tuple[Need, ...]:
    there = there or state(made)
    scene = Scene(there, calculate(there), date(2026, 10, 1))
    report = check(scene)
    assert isinstance(report, Report)
    return needs(scene, report, drafts)


def told(found: tuple[Need, ...], *kinds_: str) -> list[tuple[str, str]]:
    return [(one.about, one.needed) for one in found if one.kind in kinds_]


def answered(made: Pages, need: Need, answer: Any) -> State:
    """The book after one answer, which the validator must take."""
    assert need.ask is not None
    kind, raw = entry_of(need.ask, answer, state(made), WHO)
    assert made.take(kind, raw), raw
    return state(made)


NIGHT: dict[str, Any] = {
    "rig": "Big Blue", "lead": "Rosa Iglesias", "date": "2026-09-14", "where": "see lines", "start": "21:00",
    "end": "02:00", "supply": "yard", "used": "450 gal", "recovered": "400 gal", "got_away": "saw none",
    "drains": "as planned", "agent_use": "none used", "filters": "same", "rain": "none",
}  # fmt: skip
STOP: dict[str, Any] = {
    "line": "stop", "site": "Fernwood Plaza", "client": "Alder Foods", "arrived": "21:20", "left": "23:40",
    "surface": "brick", "area": "900 ft2",
}  # fmt: skip
DUMP: dict[str, Any] = {
    "line": "hand over", "place": STATION, "amount": "400 gal", "tank_after": "empty", "connection": "hose",
    "at": "01:10", "permission": "TC-114", "ticket": "NY-1",
}  # fmt: skip


def without(of: dict[str, Any], *names: str, **more: Any) -> dict[str, Any]:
    return {**{name: value for name, value in of.items() if name not in names}, **more}


def night(*lines: dict[str, Any], of: dict[str, Any] = NIGHT) -> dict[str, Any]:
    return {**of, "line": list(lines)}


def test_a_whole_night_needs_nothing() -> None:
    """Only the registers do: nobody wrote an address down yet."""
    assert {one.kind for one in listed(book(night(STOP, DUMP)))} == {"register"}


def test_a_ticket_without_a_handover_is_on_the_list_until_one_has_its_number() -> None:
    """By its own day, else that on which it came; a night from long before the book was begun is asked of nobody."""
    made = book(night(STOP, DUMP))
    raw = {"number": "NY-2", "place": STATION, "date": "2026-09-15", "accepted": "380 gal", "received_by": "L. Pruitt"}
    made.take("ticket", raw)
    made.take("ticket", {**raw, "number": "NY-0", "date": "2025-09-15"})
    (need,) = [one for one in listed(made) if one.kind == "ticket"]
    assert (need.day, need.about, need.ask) == ("2026-09-15", "ticket NY-2", None)
    assert need.needed == f"ticket NY-2 of {STATION}: no handover has its number yet"
    assert "washwater complete RUN ticket NY-2 --line N" in need.next_step
    made.take("ticket", {**without(raw, "date"), "handed_in": "2026-09-20T08:00-06:00"})
    assert told(listed(made), "ticket") == [
        ("ticket NY-2", f"ticket NY-2 of {STATION}: another ticket has its number"),
    ] * 2  # fmt: skip
    assert [one.day for one in listed(made) if one.kind == "ticket"] == ["2026-09-15", "2026-09-20"]
    made.take("cancel", {"record": state(made).tickets[-1].record, "why": "entered twice", "who": WHO})
    made.take("correct", {
        "run": "2026-09-14-big-blue", "line": "2", "field": "ticket", "value": "NY-2", "reason": "keyed wrong",
        "why": "the sheet says 2", "who": WHO,
    })  # fmt: skip
    assert told(listed(made), "ticket") == []


def test_each_field_is_a_question_of_its_own_oldest_night_first() -> None:
    """The crew's before the office's before a page's; where it stands is said in words."""
    older = without(NIGHT, "rain", date="2026-09-12")
    later = without(NIGHT, "end")
    made = book(
        {**later, "line": [without(STOP, "area", "left"), without(DUMP, "connection")]}, {**older, "line": [STOP, DUMP]}
    )
    found = [one for one in listed(made) if one.kind == "field"]
    assert [(one.day, one.about, one.needed) for one in found] == [
        ("2026-09-12", "2026-09-12-big-blue", "Rain (the run)"),
        ("2026-09-14", "2026-09-14-big-blue", "End (the run)"),
        ("2026-09-14", "2026-09-14-big-blue/1", "Area (stop 1, Fernwood Plaza)"),
        ("2026-09-14", "2026-09-14-big-blue/1", "Left (stop 1, Fernwood Plaza)"),
        ("2026-09-14", "2026-09-14-big-blue/2", f"Kind of connection (line 2, hand over, {STATION})"),
    ]
    assert found[0].next_step.startswith("asked of the crew")
    for need, answer in zip(found, ["none", "02:00", "900 ft2", "23:40", "hose"], strict=True):
        answered(made, need, answer)
    assert told(listed(made), "field") == []


def test_a_field_in_a_list_is_asked_for_its_entry() -> None:
    """Each drain, product and filter stage by its own name."""
    stop = {
        **STOP,
        "drain_list": [{"name": "NE inlet", "method": "mat", "seen": "none seen", "on": "21:00", "off": "23:00"},
                       {"name": "SW inlet", "method": "mat", "seen": "none seen", "on": "21:00"}],
        "agents": [{"agent": "Citrus degreaser"}], "filter_list": [{"what": "sock", "opening": "100 um"}],
    }  # fmt: skip
    made = book(night(stop, DUMP))
    found = [one for one in listed(made) if one.kind == "field"]
    assert [one.needed for one in found] == [
        "Cleaned or changed (stop 1, Fernwood Plaza, sock)",
        "Concentrate used (stop 1, Fernwood Plaza, Citrus degreaser)",
        "Taken off (stop 1, Fernwood Plaza, SW inlet)",
    ]  # fmt: skip
    for need, answer in zip(found, ["same", "1 gal", "23:10"], strict=True):
        answered(made, need, answer)
    (line, _) = state(made).runs[0].lines
    assert line.get("drain_list")[1]["off"] == "2026-09-14T23:10:00-06:00"
    assert told(listed(made), "field") == []


def test_a_ticket_that_is_to_come_is_asked_by_its_number_and_then_what_it_says() -> None:
    """Said to be later, or not recorded at all; what they accepted and who received it follow."""
    made = book(
        night(STOP, {**DUMP, "ticket": "later"}),
        night(STOP, without(DUMP, "ticket"), of={**NIGHT, "date": "2026-09-20"}),
    )
    found = [one for one in listed(made) if one.kind == "ticket"]
    assert [(one.day, one.about, one.needed) for one in found] == [
        ("2026-09-15", "2026-09-14-big-blue/2", f"ticket of {STATION}, to come"),
        ("2026-09-21", "2026-09-20-big-blue/2", f"ticket of {STATION}"),
    ]
    there = answered(made, found[0], "NY-2231")
    (ticket,) = there.tickets
    assert dict(ticket.fields) == {"number": "NY-2231", "place": STATION}
    assert ticket.handovers == ((there.runs[0].record, "2"),)
    accepted, received = after_ticket(ticket.record, there)
    assert (accepted.needed, received.needed) == ("Accepted (ticket NY-2231)", "Received by (ticket NY-2231)")
    assert told(listed(made), "field") == [
        ("2026-09-14-big-blue/2", "Accepted (ticket NY-2231)"),
        ("2026-09-14-big-blue/2", "Received by (ticket NY-2231)"),
    ]  # fmt: skip
    answered(made, accepted, "390 gal")
    there = answered(made, received, "Ana Lind")
    assert after_ticket(ticket.record, there) == () == after_ticket("nothing", there)
    assert told(listed(made), "field") == []
    assert [one.about for one in listed(made) if one.kind == "ticket"] == ["2026-09-20-big-blue/2"]


THREE = {
    **without(NIGHT, "recovered"), "where": STATION, "recovered": "400 gal", "ticket": "later",
}  # fmt: skip


def test_a_handover_without_a_line_gets_one_by_the_first_answer() -> None:
    """The second answer goes to that line, and no figure changes by it."""
    made = book({**THREE, "line": [STOP]})
    before = calculate(state(made))
    found = [one for one in listed(made) if one.kind == "field"]
    assert [one.needed for one in found] == [
        f"Kind of connection (the handover to {STATION})", f"Time (the handover to {STATION})",
    ]  # fmt: skip
    answered(made, found[0], "hose")
    there = answered(made, found[1], "01:10")
    (_, line) = there.runs[0].lines
    assert (line.n, line.kind, dict(line.fields)) == (
        "1.1", "hand over", {"place": STATION, "connection": "hose", "at": "2026-09-15T01:10:00-06:00"},
    )  # fmt: skip
    after = calculate(there)
    (was,), (now) = before.loads.values(), list(after.loads.values())
    assert [load.captured for load in now] == [was.captured]
    assert [(load.closing, [draw.place for draw in load.draws]) for load in now] == [(was.closing, [STATION])]
    assert not any("Kind of connection" in needed for _, needed in told(listed(made), "field"))


def test_a_ticket_keeps_its_handover_where_no_line_can_be_added_without_losing_it() -> None:
    """Then it is told how, and not asked."""
    made = book({**THREE, "line": [STOP]})
    made.take(
        "ticket",
        {"number": "NY-1", "accepted": "1 gal", "received_by": "x", "handovers": [{"run": "2026-09-14-big-blue"}]},
    )
    found = [one for one in listed(made) if one.kind == "field"]
    assert [one.ask for one in found] == [None, None]
    assert "cancel the ticket" in found[0].next_step


def test_the_ticket_of_a_run_without_a_line_is_entered_for_the_run() -> None:
    """Its place is the one that the run names."""
    made = book({**THREE, "line": [STOP]})
    (need,) = (one for one in listed(made) if one.kind == "ticket")
    there = answered(made, need, "NY-9")
    assert there.tickets[0].handovers == ((there.runs[0].record, ""),)
    assert there.tickets[0].fields["place"] == STATION


def test_registers_are_asked_entry_by_entry_and_the_business_too() -> None:
    """Only entries that a night names; what is not needed is not asked."""
    made = book(night(STOP, DUMP))
    found = [one for one in listed(made) if one.kind == "register"]
    assert [(one.day, one.about, one.needed) for one in found[:2]] == [
        ("", "business Bluebank Wash Recovery", "Who signs pages"),
        ("", "business Bluebank Wash Recovery", "Role of the signer"),
    ]
    (place,) = (one for one in found if one.about == f"place {STATION}")
    assert (place.day, place.needed) == ("2026-09-14", "Address")
    answered(made, found[0], "Ruth Okafor")
    there = answered(made, place, "9 Outfall Road")
    assert there.business["signer"] == "Ruth Okafor"
    assert there.registers.find("place", STATION)["address"] == "9 Outfall Road"  # type: ignore[index]
    assert len([one for one in listed(made) if one.kind == "register"]) == len(found) - 2


def test_what_is_not_a_value_is_told_with_what_to_do() -> None:
    """An escape, water aboard, a name on no register, an old backup, a draft; look-at findings are left to `check`."""
    made = book(
        night({**STOP, "site": "Fernwod Plaza"}, {"line": "escape", "what": "hose", "reached": "storm drain"},
              of={**NIGHT, "where": "aboard", "date": "2026-09-12"}),
    )  # fmt: skip
    there = replace(state(made), backups=())
    found = listed(made, "night-2026-09-30-abc123", "old", there=there)
    plain = [one for one in found if one.ask is None]
    assert [(one.day, one.kind, one.about) for one in plain] == [
        ("", "backup", "business Bluebank Wash Recovery"),
        ("", "draft", "old"),
        ("2026-09-12", "act now", "2026-09-12-big-blue.s1"),
        ("2026-09-12", "water aboard", "2026-09-12-big-blue.l1"),
        ("2026-09-12", "missing", "2026-09-12-big-blue"),
        ("2026-09-30", "draft", "night-2026-09-30-abc123"),
    ]
    assert all(one.next_step and one.needed for one in plain)
    assert "washwater log --draft old" in plain[1].next_step
    assert not any(one.kind == "water aboard" for one in listed(book(night(STOP, {**DUMP, "at": "2026-09-30T08:00"}))))


def test_what_somebody_accepted_is_left_out() -> None:
    """Until its day; the rest stays."""
    made = book(night(STOP, without(DUMP, "ticket", "connection")))
    assert {one.kind for one in listed(made)} >= {"field", "ticket"}
    for rule, about in (("missing-1", "2026-09-14-big-blue"), ("ticket-1", "2026-09-14-big-blue/2")):
        made.take("accept", {"rule": rule, "about": about, "why": "they closed", "until": "2026-12-31"})
    assert not {one.kind for one in listed(made)} & {"field", "ticket"}


def test_nights_from_before_the_book_are_not_asked_about() -> None:
    """Their tickets are matched when they come, but nobody is sent for them."""
    made = book(night(STOP, {**DUMP, "ticket": "later"}))
    before = replace(state(made), opens_on="2026-10-01")
    assert [one.kind for one in listed(made, there=before) if one.day] == []
