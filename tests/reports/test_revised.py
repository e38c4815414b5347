"""Why a page that replaces another one differs, in words that name no other client."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from compliance.reports.model import Table
from tests.reports.making import Bench, book, keep_proof, past, proof, texts

REGISTERS: Mapping[str, Any] = {
    "business": {"name": "Bluebank Wash Recovery", "unit": "gal", "zone": "America/Denver"},
    "rig": [{"name": "Big Blue"}],
    "tank": [{"name": "tank", "rig": "Big Blue", "role": "recovery", "capacity": "500 gal"}],
    "client": [{"name": "Mine"}, {"name": "Theirs"}],
    "site": [{"name": "my yard", "client": "Mine"}, {"name": "their yard", "client": "Theirs"}],
    "job": [{"name": "mine", "client": "Mine"}],
}
CANCELLED = "A record of the same load was cancelled after that page was issued."
OWN = "A record of this job's own work was cancelled after that page was issued."
CORRECTED = "What was corrected or came late, and when, stands under 'Corrections and late entries'."
ELSEWHERE = "This job's own records are as they were"


def look(shows: str) -> dict[str, str]:
    return {"line": "reading", "of": "tank", "shows": shows}


@pytest.fixture
def shared() -> Bench:
    """Mine, 100 gal, and theirs on the night after, 150 gal; 250 in the tank, of which 200 are handed over."""
    first = [look("empty"), {"line": "stop", "site": "my yard", "job": "mine"}, look("100 gal")]
    second = [{"line": "stop", "site": "their yard"}, look("250 gal"),
              {"line": "hand over", "place": "plant", "amount": "200 gal"}, look("50 gal")]  # fmt: skip
    given = {"rig": "Big Blue", "lead": "Marisol Vega"}
    return book(
        REGISTERS,
        {**given, "id": "one", "date": "2026-09-01", "where": "aboard", "line": first},
        {**given, "id": "two", "date": "2026-09-02", "where": "see lines", "line": second},
    )


def note(bench: Bench, number: str) -> str:
    """What stands under the figures that differ."""
    page = proof(bench, "mine", replaces=number, replaced=past(bench, number))
    (table,) = [one for one in page.blocks if isinstance(one, Table) and one.columns[1].label == "Printed there"]
    assert table.rows and not any("Theirs" in text or "their yard" in text for text in texts(page))
    return table.note


def test_a_cancelled_night_of_another_client_is_a_record_of_the_same_load(shared: Bench) -> None:
    """Of 200 handed over 80 were ours; without the second night all 100 are aboard. Our own records did not change."""
    number = keep_proof(shared, "mine")
    shared.put({"kind": "cancel", "id": "c", "run": "2026-09-02-big-blue", "why": "entered for Theirs twice",
                "who": "Priya Lund"})  # fmt: skip
    said = note(shared, number)
    assert CANCELLED in said
    assert CORRECTED not in said and OWN not in said and ELSEWHERE not in said


def test_a_cancelled_night_of_its_own_is_said_to_be_its_own(shared: Bench) -> None:
    """A second night of the same job, cancelled after the page."""
    lines = [look("50 gal"), {"line": "stop", "site": "my yard", "job": "mine"}, look("90 gal")]
    night = {"rig": "Big Blue", "lead": "Marisol Vega", "id": "three", "date": "2026-09-03", "where": "aboard"}
    shared.put({**night, "line": lines})
    number = keep_proof(shared, "mine")
    shared.put({"kind": "cancel", "id": "c", "run": "2026-09-03-big-blue", "why": "entered twice", "who": "Priya Lund"})
    said = note(shared, number)
    assert OWN in said and CANCELLED not in said and ELSEWHERE not in said


def correct(run: str, line: str, shows: str) -> dict[str, str]:
    return {"kind": "correct", "id": "c", "run": run, "line": line, "field": "shows", "value": shows,
            "reason": "keyed wrong", "why": "a digit", "who": "Priya Lund"}  # fmt: skip


def test_a_correction_of_its_own_record_is_pointed_to(shared: Bench) -> None:
    """Its own look was 120 and not 100: that stands with both values under its corrections."""
    number = keep_proof(shared, "mine")
    shared.put(correct("2026-09-01-big-blue", "3", "120 gal"))
    said = note(shared, number)
    assert CORRECTED in said and ELSEWHERE not in said


def test_a_correction_of_another_clients_record_is_looked_for_under_no_heading(shared: Bench) -> None:
    """Their look was 260 and not 250: of our records none changed, so the page does not send its reader to look."""
    number = keep_proof(shared, "mine")
    shared.put(correct("2026-09-02-big-blue", "2", "260 gal"))
    said = note(shared, number)
    assert ELSEWHERE in said and CORRECTED not in said and CANCELLED not in said
