"""What a proof still waits for, and what it does not wait for."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from compliance.reports.model import OpenItems, Table
from tests.reports.making import Bench, findings_of, proof, sample, texts
from tests.reports.proofs import OURS, TWO_CLIENTS, block, fact, own_night, tables


def test_what_nobody_recorded_is_awaited_and_not_read_is_not(september: Bench) -> None:
    """'Not recorded yet' makes an open item, 'not read' is an answer; the status counts what is awaited."""
    page = proof(september, "2026-09-23-little-heron.s1", findings=findings_of(september))
    items = block(page, OpenItems).items
    assert page.status == f"{len(items)} items awaited"
    assert "Stop of Sep 23, 2026: Area, Arrived, Left, Surface" in items
    assert any(one.startswith("Handover at Alder Oven cleanout") and "Kind of connection" in one for one in items)
    complete = proof(september, "2026-09-14-big-blue.s1", findings=findings_of(september))
    assert "not read" in fact(complete, "Surface, area")
    assert block(complete, OpenItems).items == (
        "Handover at Port Alder receiving station (receiving station), Sep 14, 2026: Accepted by them",
    )


def test_water_still_aboard_and_a_ticket_to_come_are_open_items() -> None:
    """Both are awaited without any finding: the water until it is handed over, the ticket until it arrives."""
    bench = Bench([]).put(TWO_CLIENTS).put(
        {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "aboard",
         "recovered": "100 gal", "line": [
             {"line": "reading", "of": "tank", "shows": "empty"},
             {"line": "stop", "site": "my yard"},
             {"line": "hand over", "place": "a hauler", "amount": "40 gal", "ticket": "later", "at": "23:00"},
         ]}
    )  # fmt: skip
    items = [one.replace("\u00a0", " ") for one in block(proof(bench, "2026-09-01-big-blue.s1"), OpenItems).items]
    assert items == [
        "Ticket of a hauler, Sep 1, 2026, 11:00 pm",
        "Water still aboard, not handed over yet: 60 gal (stated, no ±)",
    ]


def test_an_absent_permission_is_awaited_by_name() -> None:
    """A handover without any permission on file is an open item of its own."""
    bench = own_night({"line": "hand over", "place": "plant", "amount": "100 gal", "tank_after": "empty"})
    items = block(proof(bench, OURS, findings=findings_of(bench)), OpenItems).items
    assert any("Handover at plant" in one and "without a permission on file" in one for one in items)


def test_a_night_that_no_rule_judges_still_says_what_it_lacks() -> None:
    """Nothing is called complete only because it is older than the book."""
    night = {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-06-01", "where": "not known",
             "line": [{"line": "stop", "site": "my yard"}]}  # fmt: skip
    bench = Bench([]).put(TWO_CLIENTS).put(night)
    assert bench.state.judged_from > "2026-06-01"
    page = proof(bench, "2026-06-01-big-blue.s1")
    (items,) = [one for one in page.blocks if isinstance(one, OpenItems)]
    assert page.status == "3 items awaited" and len(items.items) == 3
    assert "Run of Jun 1, 2026: " in items.items[0].replace("\u00a0", " ") and "Used" in items.items[0]


def handed_over_on_anothers_night(**theirs: Any) -> Bench:
    """Our water stays aboard, and leaves on the next night, which is another client's and says next to nothing."""
    ours = {"id": "n1", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "aboard",
            "used": "120 gal", "recovered": "100 gal", "line": [{"line": "stop", "site": "my yard"}]}  # fmt: skip
    next_night = {"id": "n2", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-02", "where": "plant",
                  "line": [{"line": "stop", "site": "their yard"}], **theirs}  # fmt: skip
    return Bench([]).put(TWO_CLIENTS).put(ours).put(next_night)


def test_the_gaps_of_another_clients_night_stand_on_no_page_of_ours() -> None:
    """Of the night on which our water left, only the handover is ours: its place, its gaps, when it was recorded."""
    bench = handed_over_on_anothers_night()
    bench.put({"kind": "correct", "id": "c", "run": "2026-09-02-big-blue", "field": "lead", "value": "Eli Sandoval",
               "reason": "keyed wrong", "why": "another hand"})  # fmt: skip
    bench.put({"kind": "correct", "id": "d", "run": "2026-09-02-big-blue", "field": "where", "value": "a hauler",
               "reason": "keyed wrong", "why": "the wrong place"})  # fmt: skip
    page = proof(bench, OURS, findings=findings_of(bench))
    said = [one.replace("\u00a0", " ") for one in texts(page)]
    assert not any("Run of Sep 2" in one for one in said)
    items = [one.replace("\u00a0", " ") for one in block(page, OpenItems).items]
    assert any(
        one.startswith("Handover at a hauler, Sep 2, 2026: Handover without a permission on file") for one in items
    )
    assert "Handover at a hauler, Sep 2, 2026: recorded Dec 1, 2026, 5:00 am, 90 days after it ended" in said
    *_, changes = tables(page)
    assert [row[2:4] for row in changes] == [["plant", "a hauler"]]


def test_a_load_that_its_ticket_refuses_is_said_and_awaited() -> None:
    """The tank is empty, and the other side says that it took nothing: no page calls that complete."""
    bench = sample("case-08-hauler-ticket")
    refused = {"kind": "ticket", "number": "DF-1", "place": "Dry Fork Hauling", "refused": "foam", "who": "Ruth Okafor",
               "handovers": [{"run": "2026-09-07-big-blue", "line": "3"}]}  # fmt: skip
    bench.put(refused)
    page = proof(bench, "2026-09-07-big-blue.s1", findings=findings_of(bench))
    assert any("refused the water: foam" in text for text in texts(page))
    (items,) = [one for one in page.blocks if isinstance(one, OpenItems)]
    assert any("A load was refused" in item for item in items.items)


def accepted_items(bench: Bench, **options: Any) -> list[str]:
    """What is awaited of what a place accepted."""
    items = block(proof(bench, OURS, **options), OpenItems).items
    return [one.replace("\u00a0", " ") for one in items if one.endswith("Accepted by them")]


@pytest.mark.parametrize(
    ("told", "waits"),
    [
        ({"ticket": "R-1"}, True),
        ({"ticket": "R-1", "accepted": "98 gal"}, False),
        ({"ticket": "R-1", "accepted": "not applicable"}, False),
        ({"ticket": "later"}, False),
        ({"ticket": "not applicable"}, False),
        ({"ticket": "R-1", "refused": "foam"}, False),
        ({}, False),
    ],
)
def test_a_ticket_without_their_volume_is_awaited(told: Mapping[str, str], waits: bool) -> None:
    """'Accepted: not recorded yet' and 'nothing is awaited' do not stand on one page."""
    gone = {"line": "hand over", "place": "plant", "amount": "100 gal", "tank_after": "empty"}
    bench = own_night({**gone, **told})
    assert accepted_items(bench) == ["Handover at plant, Sep 1, 2026: Accepted by them"] * waits
    if waits:
        assert block(proof(bench, OURS, closed=True), OpenItems).items == (
            "Handover at plant, Sep 1, 2026, not recorded: Accepted by them",
        )


def test_a_ticket_that_came_later_answers_for_their_volume_or_waits_too() -> None:
    """A paper without an amount is still waited for; the line's own figure is enough beside it."""
    gone = {"line": "hand over", "place": "plant", "amount": "100 gal", "tank_after": "empty", "ticket": "later"}
    paper = {"kind": "ticket", "number": "T-1", "handovers": [{"run": "2026-09-01-big-blue", "line": "3"}]}
    assert accepted_items(own_night(gone).put(paper)) == ["Handover at plant, Sep 1, 2026: Accepted by them"]
    assert accepted_items(own_night(gone).put({**paper, "accepted": "97 gal"})) == []
    bench = own_night({**gone, "accepted": "98 gal"}).put(paper)
    assert accepted_items(bench) == []
    assert "accepted: 98 gal\n" in block(proof(bench, OURS), Table).rows[0][3].text
