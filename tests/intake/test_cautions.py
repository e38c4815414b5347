"""Cautions are shown where the danger is entered, in both languages, and defer to those who decide."""

from __future__ import annotations

import re
from typing import Any

import pytest

from compliance.intake.cautions import TABLE, agent_kind, cautions_for
from compliance.intake.run import check_run

from .making import NIGHT, NOW, pages

STATE = pages().state
assert STATE is not None
REGISTERS = STATE.registers


def names(run: dict[str, Any] | None = None, **line: Any) -> list[str]:
    kind = line.pop("line", "stop")
    texts = cautions_for(run or {}, [{"line": kind, "fields": line}], REGISTERS, "en")
    return [caution.name for caution in TABLE if caution.en in texts]


@pytest.mark.parametrize(
    ("line", "name"),
    [
        ({"agents": [{"agent": "Bright bleach"}]}, "bleach and acid"),
        ({"agents": [{"agent": "pool CLORO"}]}, "bleach and acid"),
        ({"line": "agent in tank", "agent": "Muriatic acid 20 %"}, "bleach and acid"),
        ({"agents": [{"agent": "Blue Stuff"}]}, "unknown product"),
        ({"old_paint": "yes"}, "old paint"),
        ({"old_paint": "not known"}, "old paint"),
        ({"hot": "yes"}, "hot water"),
        ({"line": "reading", "of": "T", "shows": "12 in"}, "tank"),
        ({"line": "solids", "what": "sludge"}, "tank"),
        ({"recovered": {"method": "mark", "tank": "T", "before": "empty", "after": "9 in"}}, "tank"),
        ({"surface": "concrete, parking GARAGE"}, "exhaust"),
        ({"remark": "adentro del sótano"}, "exhaust"),
        ({"surface": "banqueta"}, "traffic"),
        ({"site": "Hillrow garage"}, "exhaust"),
        ({"drain_list": [{"name": "NE", "public": "yes"}]}, "traffic"),
        ({"line": "escape", "what": "x", "reached": "gutter or street"}, "traffic"),
        ({"line": "escape", "what": "x"}, "escape"),
        ({"got_away": "yes"}, "escape"),
    ],
)
def test_a_danger_is_answered_where_it_is_entered(line: dict[str, Any], name: str) -> None:
    """One row of the table each."""
    assert name in names(**line)


def test_what_holds_no_danger_brings_no_caution() -> None:
    """An ordinary stop is not talked over."""
    assert (
        names(
            site="Alder Foods yard", surface="brick", hot="no", old_paint="no", agents=[{"agent": "Citrus degreaser"}]
        )
        == []
    )
    assert names({"got_away": "saw none"}) == []


def test_a_run_that_lost_water_is_told_what_to_do() -> None:
    """From the run's own answer as well."""
    assert names({"got_away": "yes"}) == ["escape"]
    assert names({"used": {"method": "mark"}, "remark": "washed inside"}) == ["tank", "exhaust"]


@pytest.mark.parametrize(
    ("name", "entry", "kind"),
    [
        ("Bright bleach", {}, "bleach"),
        ("Citrus degreaser", {}, "degreaser"),
        ("Sheetless", {"kind": "detergent", "data_sheet": "no"}, ""),
        ("Strong acid", {"kind": "acid", "data_sheet": "no"}, "acid"),
        ("Plain soap", {"data_sheet": "yes"}, ""),
        ("Ácido suave", {}, "acid"),
    ],
)
def test_a_product_is_what_its_register_or_its_name_says(name: str, entry: dict[str, str], kind: str) -> None:
    """One without a data sheet is an unknown product, unless it is a greater danger."""
    made = pages()
    if entry:
        made.take("registers", {"agent": [{"name": name, **entry}]})
    state = made.state
    assert state is not None
    assert agent_kind(name, state.registers) == kind


def test_only_some_may_be_asked_for() -> None:
    """By name."""
    fields = {"hot": "yes", "old_paint": "yes"}
    line = [{"line": "stop", "fields": fields}]
    assert len(cautions_for({}, line, REGISTERS, "en")) == 2
    assert cautions_for({}, line, REGISTERS, "en", frozenset({"hot water"})) == (TABLE[3].en,)


@pytest.mark.parametrize("caution", TABLE, ids=lambda caution: caution.name)
def test_every_caution_defers_in_both_languages(caution: Any) -> None:
    """To the data sheet, the local code, the maker's manual, or those who are licensed or trained."""
    assert re.search(r"data sheet|local code|licensed|manual|confined-space code", caution.text("en"))
    assert re.search(r"hoja|código local|licencia|manual|código de espacios", caution.text("es"))


def test_an_entry_brings_its_cautions_in_the_language_asked_for() -> None:
    """With a night that has a tank reading; none are shown beside problems."""
    found = check_run(NIGHT, state=STATE, where="f", now=NOW, language="es")
    assert [text[:24] for text in found.cautions] == ["Lea el tanque desde afue"]
    assert check_run({**NIGHT, "rig": ""}, state=STATE, where="f", now=NOW).cautions == ()
