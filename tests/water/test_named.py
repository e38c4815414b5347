"""What the lines of a run name: tanks and supply meters."""

from __future__ import annotations

from decimal import Decimal

from compliance.water.named import UNREGISTERED, own_tanks, supply_readings, tanks_named
from tests.reports.making import Bench, book

METER = {"name": "Supply", "rig": "Big Blue", "kind": "meter", "measures": "supply", "unit": "gal", "step": "1"}
TANKS = [
    {"name": "yard", "rig": "Big Blue", "role": "holding"},
    {"name": "fresh", "rig": "Big Blue", "role": "fresh"},
    {"name": "recovery", "rig": "Big Blue", "role": "recovery"},
]


def night(*lines: dict[str, object]) -> Bench:
    registers = {
        "business": {"name": "Bluebank Wash Recovery", "unit": "gal", "zone": "America/Denver"},
        "rig": [{"name": "Big Blue"}, {"name": "Sandpiper"}],
        "tank": TANKS,
        "instrument": [METER],
    }
    run = {"id": "night", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "aboard"}
    return book(registers, {**run, "line": [*lines, {"line": "stop", "site": "Arcade"}]})


def test_a_rig_has_its_recovery_tanks_first_then_those_for_holding_and_never_the_fresh_one() -> None:
    """Whatever their order on the register; a rig without any has one, which is on no register."""
    registers = night().state.registers
    assert [tank["name"] for tank in own_tanks(registers, "Big Blue").values()] == ["recovery", "yard"]
    (only,) = own_tanks(registers, "Sandpiper").values()
    assert only["role"] == UNREGISTERED and only["rig"] == "Sandpiper"


def test_a_supply_meter_is_read_where_its_figure_stands_and_nowhere_else() -> None:
    """A tank is no meter, and a reading that was not taken is none."""
    state = night(
        {"line": "reading", "of": "Supply", "shows": "1000"},
        {"line": "reading", "of": "recovery", "shows": "empty"},
        {"line": "reading", "of": "Supply", "shows": "not read"},
    ).state
    meter = (state.registers.key("rig", "Big Blue"), state.registers.key("instrument", "Supply"))
    assert supply_readings(state.registers, state.runs[0]) == {"1": (meter, Decimal(1000))}


def test_tanks_are_named_by_lines_and_by_the_marks_in_their_amounts() -> None:
    """From where, to where, and the tank whose marks were read before and after; what names none adds none."""
    marks = {"method": "mark", "tank": "recovery", "before": "200 gal", "after": "empty"}
    run = night(
        {"line": "stop", "site": "Quay", "recovered": marks},
        {"line": "move", "tank": "recovery", "to": "yard", "amount": "200 gal"},
        {"line": "hand over", "place": "Station", "amount": "30 gal"},
    ).state.runs[0]
    assert tanks_named(run) == {"recovery", "yard"}
