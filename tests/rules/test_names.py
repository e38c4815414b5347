"""Names on no register, and entries that lack something."""

from __future__ import annotations

from typing import Any

import pytest

from tests.rules.samples import base, found, layered, scene, with_state


def test_one_finding_a_run_for_all_names() -> None:
    """However many names are unknown, there is one finding, and it points at their lines."""
    strange = {"site": "Nowhere", "client": "Nobody", "agents": [{"agent": "Mystery", "amount": "1 gal"}]}
    handed = {"place": "South Plant", "permission": "SP-9"}
    (finding,) = found(scene({"line": {"2": strange, "4": handed}}), "register-1")
    for name in ("Nowhere", "Nobody", "Mystery", "South Plant", "SP-9"):
        assert repr(name) in finding.seen
    assert [one.line for one in finding.lines] == ["2", "4"]


def test_the_place_that_the_run_names_counts() -> None:
    """'Where the water is' names a place too."""
    night = {"lines": base()["lines"][:3], "night": {"where": "South Plant"}}
    (finding,) = found(scene(night), "register-1")
    assert finding.seen == "place 'South Plant'"


def test_agent_in_the_tank_counts() -> None:
    """A product poured into the tank is a product used."""
    line = {"line": "agent in tank", "agent": "Mystery", "amount": "1 gal"}
    (finding,) = found(scene({"lines": [*base()["lines"], line]}), "register-1")
    assert finding.seen == "agent 'Mystery'"


def test_spelling_does_not_matter_and_same_as_is_followed() -> None:
    """Case and doubled spaces are no other name, and a recorded 'same as' is an answer."""
    assert found(scene({"line": {"2": {"site": "ALDER  mall"}}}), "register-1") == ()
    other = scene({"line": {"2": {"site": "The Mall", "client": "Alder Mall Owners"}}})
    assert len(found(other, "register-1")) == 1
    registers = other.state.registers
    same = {**registers.same, ("site", "the mall"): "alder mall"}
    known = with_state(other, registers=type(registers)(registers.entries, same))
    assert found(known, "register-1") == ()


@pytest.mark.parametrize(
    ("entry", "missing"),
    [
        ({"kind": "permit"}, ["Given by", "Valid from"]),
        ({"kind": "not needed", "because": "our own yard drain"}, []),
    ],
)
def test_a_permission_that_is_not_needed_lacks_nothing(entry: dict[str, Any], missing: list[str]) -> None:
    """Who gave it, and from when, is asked only of a permission that was given."""
    permission = {"name": "SD-0500", "place": "Yard drain", "valid_from": "2026-01-01", **entry}
    if missing:
        permission.pop("valid_from")
    place = {"name": "Yard drain", "kind": "sewer cleanout", "address": "18 Quay Street, Port Alder"}
    line = {"4": {"place": "Yard drain", "permission": "SD-0500"}}
    made = {"permission": [permission], "place": [place], "line": line}
    seen = [one.seen for one in found(scene(made), "register-2")]
    assert seen == ([f"not recorded yet: {' and '.join(missing)}"] if missing else [])


def test_a_fresh_water_tank_needs_no_capacity() -> None:
    """No level of it is ever worked out."""
    fresh = {"tank": [{"name": "fresh", "rig": "Big Blue", "role": "fresh"}]}
    assert found(scene(fresh), "register-2") == ()
    recovery = {"tank": [{"name": "second", "rig": "Big Blue", "role": "recovery"}]}
    assert [one.about for one in found(scene(recovery), "register-2")] == ["tank second"]


@pytest.mark.parametrize(
    ("said", "missing"),
    [
        ({"shape": "rectangle", "length": "66 in", "width": "50 in"}, "Inside depth"),
        ({"shape": "upright cylinder"}, "Inside diameter and Inside depth"),
        ({"mark_step": "0.5 in"}, "Shape"),
        ({"shape": "not known"}, ""),
        ({"shape": "horizontal cylinder", "length": "60 in", "diameter": "not read"}, ""),
        ({}, ""),
    ],
)
def test_a_tank_read_by_marks_lacks_the_sizes_that_its_shape_needs(said: dict[str, str], missing: str) -> None:
    """Without one of them no mark becomes a volume, and nothing else says which; no shape, nothing asked."""
    tank = {"name": "second", "rig": "Big Blue", "role": "recovery", "capacity": "500 gal", **said}
    seen = [one.seen for one in found(scene({"tank": [tank]}), "register-2")]
    assert seen == ([f"not recorded yet: {missing}"] if missing else [])


def test_entries_that_no_run_names_are_not_looked_at() -> None:
    """A register may be filled ahead of the work."""
    assert found(scene({"place": [{"name": "Some day"}]}), "register-2") == ()


def test_an_entry_is_told_once_however_many_runs_name_it() -> None:
    """Two nights at one bare site make one finding about the site, dated by the first."""
    site = {"site": [{"name": "Bare Lot", "client": "Alder Mall Owners"}], "line": {"2": {"site": "Bare Lot"}}}
    twice = layered(site, {"nights": [{"date": "2026-09-15", "handed_in": "2026-09-16T06:40-06:00"}]})
    (finding,) = found(scene(twice), "register-2")
    assert (finding.about, finding.day) == ("site Bare Lot", "2026-09-14")
