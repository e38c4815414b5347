"""A name leads to its entry, however it is spelled and whatever it was called before."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.records.registers import Registers, enter


def registers(*said: tuple[str, str, dict[str, Any]], same: dict[tuple[str, str], str] | None = None) -> Registers:
    """The registers after these were entered one by one. said: (register, name as typed, fields)."""
    entries: dict[str, dict[str, dict[str, Any]]] = {}
    for what, name, fields in said:
        enter(entries, {"what": what, "name": name, "fields": fields})
    return Registers(entries, same or {})


def test_an_entry_is_found_by_any_spelling_and_grows() -> None:
    """Case, accents and doubled spaces make no difference; what was typed first is shown."""
    known = registers(("site", "Plaza Fernández", {"area": "5 ft2"}), ("site", "plaza  FERNANDEZ", {"drains": 2}))
    assert known.find("site", "PLAZA fernández") == {"name": "Plaza Fernández", "area": "5 ft2", "drains": 2}
    assert known.name("site", "plaza fernandez") == "Plaza Fernández"
    assert known.name("site", "Elsewhere") == "Elsewhere"
    assert known.find("site", None) is None
    assert known.find("site", "Elsewhere") is None
    assert known.find("place", "Plaza Fernández") is None


@pytest.mark.parametrize(
    ("said", "stands"),
    [
        ([{"value": "90 %"}, {"none_yet": "yes"}], {"none_yet": "yes"}),
        ([{"none_yet": "yes"}, {"value": "90 %"}], {"value": "90 %"}),
        ([{"value": "90 %"}, {"none_yet": "yes"}, {"value": "85 %"}], {"value": "85 %"}),
        ([{"value": "90 %"}, {"none_yet": "no"}], {"value": "90 %", "none_yet": "no"}),
        ([{"value": "90 %", "none_yet": "yes"}], {"value": "90 %"}),
    ],
)
def test_a_limit_can_be_taken_back_to_none_yet(said: list[dict[str, str]], stands: dict[str, str]) -> None:
    """The later of the two is what is so, and the other no longer stands beside it."""
    known = registers(*(("limit", "recovery ratio", fields) for fields in said))
    assert known.find("limit", "recovery ratio") == {"name": "recovery ratio", **stands}


def test_two_spellings_joined_are_one_entry() -> None:
    """'same as' leads to the entry that stays, over several steps, and never in a circle for ever."""
    known = registers(
        ("client", "Alder Foods", {}), ("client", "Alder Food Co", {}),
        same={("client", "alder food co"): "alder foods", ("client", "af"): "alder food co"},
    )  # fmt: skip
    assert known.name("client", "af") == "Alder Foods"
    assert known.key("client", "AF") == known.key("client", "alder foods")
    assert [entry["name"] for entry in known.all("client")] == ["Alder Foods"]
    circle = Registers({"client": {}}, {("client", "a"): "b", ("client", "b"): "a"})
    assert circle.find("client", "a") is None


def test_the_tanks_of_a_rig_are_known_by_their_role() -> None:
    """Another rig's tanks, and other roles, stay out."""
    known = registers(
        ("tank", "A", {"rig": "big blue", "role": "recovery"}), ("tank", "B", {"rig": "Big Blue", "role": "fresh"}),
        ("tank", "C", {"rig": "Heron", "role": "recovery"}), ("tank", "D", {"role": "recovery"}),
    )  # fmt: skip
    assert [tank["name"] for tank in known.tanks("Big Blue", "recovery")] == ["A"]


def test_a_name_that_is_read_is_a_tank_before_it_is_an_instrument() -> None:
    """A reading line names either; what is on neither register is no instrument."""
    known = registers(("tank", "Big Blue", {}), ("instrument", "Big Blue", {}), ("instrument", "Hose meter", {}))
    assert known.instrument_read("big blue") is None
    assert known.instrument_read("hose meter") == {"name": "Hose meter"}
    assert known.instrument_read("Elsewhere") is None
