"""Where water may go: a permit of the place, the sewer authority's point, somebody's leave, on that day."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.water.results import EARLIER
from compliance.water.volume import Unknown
from tests.rules.samples import base, found, outcome, scene, with_load

STOP = base()["lines"][1]
LOAD = "2026-09-14-big-blue.l1"


def to(place: str, **fields: Any) -> dict[str, Any]:
    """The base night with its water handed over elsewhere."""
    return {"line": {"4": {"place": place, **fields}}}


def led_to(place: str, **fields: Any) -> dict[str, Any]:
    led = {"line": "led away", "place": place, **fields}
    return {"lines": [STOP, led], "night": {"where": "no water"}, "without": ["recovered"]}


# ---- place-1 -------------------------------------------------------------------------------------------------


def test_written_leave_is_no_permit() -> None:
    """An owner cannot allow what only a permit can."""
    leave = {"permission": [{"name": "MS-3", "kind": "written leave"}], **to("Dock Street inlet")}
    assert "'MS-3' (written leave)" in found(scene(leave), "place-1")[0].compared_with


def test_a_permit_without_its_first_day_is_not_valid() -> None:
    """Dates that nobody recorded allow nothing."""
    undated = {"name": "MS-4", "place": "Mole beach", "kind": "permit", "given_by": "the state"}
    beach = {"name": "Mole beach", "kind": "surface water", "address": "Mole Road"}
    (finding,) = found(scene({"permission": [undated], "place": [beach], **to("Mole beach")}), "place-1")
    assert "'MS-4' (permit), valid from a day not recorded" in finding.compared_with


def test_leading_water_to_the_street_counts() -> None:
    """Water that never entered the tank is looked at too, and a bare name of such a place is enough."""
    (finding,) = found(scene(led_to("CUNETA o calle", permission="not applicable")), "place-1")
    assert finding.seen == "water was led away to 'CUNETA o calle', a gutter or street"


@pytest.mark.parametrize("name", ["storm drain", "Desagüe pluvial", "gutter or street"])
def test_a_place_may_be_named_by_its_kind(name: str) -> None:
    """A crew that writes 'storm drain' without a register entry has said enough."""
    assert len(found(scene(to(name)), "place-1")) == 1


def test_a_place_of_unknown_kind_cannot_be_told() -> None:
    """Neither pass nor fault, for all three rules that ask for the kind."""
    strange = scene(to("South Plant"))
    for rule in ("place-1", "place-2", "ticket-1"):
        assert outcome(strange, rule) == "cannot tell: the kind of place is not on file"
    unkind = {"place": [{"name": "South Plant", "address": "2 Mole Road"}], **to("South Plant")}
    assert outcome(scene(unkind), "place-1").startswith("cannot tell")


def test_a_permit_in_force_is_said_in_silence() -> None:
    """The rule says by which answer it is silent."""
    permitted = scene(to("Dock Street inlet", permission="MS-3"))
    assert outcome(permitted, "place-1") == "silent: a permit on file, valid that day, names the place"
    assert outcome(permitted, "place-3") == outcome(permitted, "place-4") == "does not apply"


def test_a_refused_load_went_nowhere() -> None:
    """No rule about places speaks of water that was not taken."""
    refused = scene(to("Dock Street inlet", refused="gate shut"))
    for rule in ("place-1", "place-2", "place-3", "place-4", "ticket-1"):
        assert outcome(refused, rule) == "does not apply"


def test_no_permit_at_all_says_so() -> None:
    """Nothing on file, and a name that is on no register, are told apart."""
    bare = {"place": [{"name": "Mole beach", "kind": "surface water", "address": "Mole Road"}]}
    unnamed = [*base()["lines"][:3], {"line": "hand over", "place": "Mole beach", "tank_after": "empty"}]
    assert found(scene(bare, {"lines": unnamed}), "place-1")[0].compared_with.endswith("none on file")
    named = found(scene(bare, to("Mole beach", permission="MS-9")), "place-1")[0]
    assert named.compared_with.endswith("'MS-9' is on no register")


# ---- place-2 -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("designated", "severity"), [("no", "not met"), ("not known", "look at"), (None, "look at")])
def test_an_unknown_point_is_a_question(designated: str | None, severity: str) -> None:
    """'Not designated' is a fault; not knowing is something to look at."""
    place = {"name": "South Plant", "kind": "receiving station", "address": "2 Mole Road"}
    if designated is not None:
        place["designated"] = designated
    (finding,) = found(scene({"place": [place], **to("South Plant")}), "place-2")
    assert finding.severity == severity
    assert finding.seen.endswith(designated or "not recorded yet")


def test_places_outside_the_sewer_are_not_asked() -> None:
    """A hauler or a lawn is no discharge point of a sewer; neither is water that was not carried."""
    hauler = {"place": [{"name": "Dry Fork", "kind": "hauler", "address": "7 Pit Lane"}], **to("Dry Fork")}
    assert outcome(scene(hauler), "place-2") == "does not apply"
    assert outcome(scene(led_to("Mall cleanout")), "place-2") == "does not apply"


def test_the_place_may_spell_its_site_another_way() -> None:
    """Two spellings of one site are one site."""
    spelled = {"place": [{"name": "Mall cleanout", "site": "ALDER  Mall"}]}
    assert outcome(scene(spelled, to("Mall cleanout", permission="Mall leave")), "place-2") == "does not apply"


def test_water_of_before_cannot_be_told() -> None:
    """A heel from earlier loads may have come from anywhere."""
    mall = to("Mall cleanout", permission="Mall leave")
    heel = scene({"line": {"1": {"shows": "2 in"}}}, mall)
    assert outcome(heel, "place-2") == "cannot tell: whose water was in the tank is not known"


def test_owners_that_are_not_known_fall_back_to_the_load() -> None:
    """Where nobody can say whose water left, all stops of the load may have given it."""
    mall = scene(to("Mall cleanout", permission="Mall leave"))
    (draw,) = mall.night.loads[LOAD].draws
    blind = with_load(mall, LOAD, draws=(type(draw)(draw.way, draw.line, draw.load, draw.place, draw.known, None),))
    assert outcome(blind, "place-2") == "does not apply"
    unknown = with_load(blind, LOAD, opening=Unknown("not read", "not read"))
    assert outcome(unknown, "place-2").startswith("cannot tell")
    quay = scene({"line": {"2": {"site": "Fish Quay"}}}, to("Mall cleanout", permission="Mall leave"))
    (draw,) = quay.night.loads[LOAD].draws
    blind = with_load(quay, LOAD, draws=(type(draw)(draw.way, draw.line, draw.load, draw.place, draw.known, None),))
    assert outcome(blind, "place-2").startswith("found: water of Fish Quay")


def test_without_a_draw_the_stops_of_the_run_are_asked() -> None:
    """A handover that the calculator could not place in a load is judged by the run's own stops."""
    mall = scene(to("Mall cleanout", permission="Mall leave"))
    assert outcome(with_load(mall, LOAD, draws=()), "place-2") == "does not apply"
    quay = scene({"line": {"2": {"site": "Fish Quay"}}}, to("Mall cleanout", permission="Mall leave"))
    assert outcome(with_load(quay, LOAD, draws=()), "place-2").startswith("found")


def test_parts_of_the_heel_are_known_by_name() -> None:
    """'Earlier loads' is the owner that no stop stands for."""
    heel = scene({"line": {"1": {"shows": "2 in"}}}, to("Mall cleanout", permission="Mall leave"))
    parts = heel.night.loads[LOAD].draws[0].parts
    assert parts is not None and EARLIER in parts


# ---- place-3, place-4 ----------------------------------------------------------------------------------------


def plant(**permission: Any) -> dict[str, Any]:
    """A handover to a plant with one permission on file, and none named on the line."""
    place = {"name": "South Plant", "kind": "treatment plant", "address": "2 Mole Road", "designated": "yes"}
    lines = [*base()["lines"][:3], {"line": "hand over", "place": "South Plant", "tank_after": "empty"}]
    entry = {"name": "SP-1", "place": "South Plant", **permission}
    return {"place": [place], "lines": lines, "permission": [entry] if permission else []}


def test_not_needed_because_is_an_answer() -> None:
    """With its reason it answers the question, whatever the day; without one it does not."""
    answered = scene(plant(kind="not needed", because="the plant is ours"))
    assert outcome(answered, "place-3") == "silent" and outcome(answered, "place-4") == "silent"
    (finding,) = found(scene(plant(kind="not needed")), "place-3")
    assert finding.seen.endswith("the register says 'not needed' without a reason")


def test_naming_one_is_enough_for_place_3() -> None:
    """Whether it is valid is another rule's question."""
    for answer in ("M-9", "not applicable"):
        made = plant()
        made["lines"][3]["permission"] = answer
        assert outcome(scene(made), "place-3") == "silent"
    assert outcome(scene(plant()), "place-3").startswith("found")


def test_a_permission_of_another_place_does_not_count() -> None:
    """What is valid elsewhere is not valid here, and the finding says where it is for."""
    made = plant()
    made["lines"][3]["permission"] = "SD-0417"
    (finding,) = found(scene(made), "place-4")
    assert "'SD-0417' (permit), valid from 2026-01-01 to 2026-12-31, for 'North Plant'" in finding.compared_with


@pytest.mark.parametrize(
    ("permission", "result"),
    [
        ({}, "does not apply"),
        ({"kind": "permit", "valid_from": "2026-09-15"}, "silent"),
        ({"kind": "permit", "valid_from": "2026-09-16"}, "found"),
        ({"kind": "permit", "valid_from": "2026-01-01", "valid_to": "2026-09-14"}, "found"),
        ({"kind": "permit", "valid_from": "2026-01-01", "valid_to": "2026-09-15"}, "silent"),
        ({"kind": "permit"}, "cannot tell"),
        ({"kind": "permit", "valid_to": "2026-09-15"}, "cannot tell"),
        ({"kind": "permit", "valid_to": "2026-09-14"}, "found"),
        ({"kind": "not needed", "because": "ours", "valid_to": "2026-09-14"}, "found"),
    ],
)
def test_the_day_of_the_handover_decides(permission: dict[str, Any], result: str) -> None:
    """First and last day count; the handover after midnight is of the next day; unknown dates cannot be told."""
    made = plant(**permission)
    made["lines"][3]["at"] = "01:30"
    assert outcome(scene(made), "place-4").startswith(result)


def test_a_name_on_no_register_cannot_be_told() -> None:
    """Nobody knows the dates of a permission that is not on file."""
    made = plant()
    made["lines"][3]["permission"] = "SP-9"
    assert outcome(scene(made), "place-4") == "cannot tell: the permission 'SP-9' is on no register"
