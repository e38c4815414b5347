"""What is withheld is kept out of the parts that go: each field belongs to one part."""

from __future__ import annotations

import json

import pytest

from compliance.records.fields import GROUPS, LINE_KINDS
from compliance.reports.model import Cell, Footer, OpenItems, Page, WaterFlow, WaterNode, WaterPath
from compliance.reports.pack_parts import PARTS
from compliance.reports.pack_withheld import Goes, awaiting, masked, open_items, part_of, told_finding
from compliance.reports.page_json import to_json
from compliance.reports.words import LANGUAGES, Words
from compliance.rules.rule import Finding, Missing
from compliance.rules.rule import Words as Both

LAID = "2026-09-21-big-blue"


def goes(*home: str) -> Goes:
    return Goes(set(PARTS) - set(home))


def finding(rule: str, *missing: Missing) -> Finding:
    both = Both("x", "x")
    return Finding(rule, rule, "missing", "practice", "run", LAID, "2026-09-21", both, "x", "x", "x", missing=missing)


@pytest.mark.parametrize(
    ("group", "name", "part"),
    [
        ("stop", "drain_list/1/on", "drains"),
        ("stop", "area", ""),
        ("stop", "used", "water"),
        ("run", "ticket", "tickets"),
        ("run", "crew", ""),
        ("hand over", "place", "places"),
        ("hand over", "ticket", "tickets"),
        ("hand over", "permission", "in force"),
        ("hand over", "amount", "water"),
        ("hand over", "refused", "incidents"),
        ("led away", "amount", "water"),
        ("escape", "amount", "incidents"),
        ("remark", "text", "remarks"),
        ("ticket", "accepted", "tickets"),
        ("agent in tank", "amount", "agents"),
        ("reading", "shows", "water"),
    ],
)
def test_each_field_belongs_to_one_part(group: str, name: str, part: str) -> None:
    """The amount of what got away is told with it; that of a handover with the water."""
    assert part_of(group, name) == part


def test_every_kind_of_line_belongs_to_a_part() -> None:
    """But stops, which are the jobs themselves; a part that is named is one that there is."""
    assert {kind for kind in LINE_KINDS if not part_of(kind, "")} == {"stop"}
    named = {part_of(group, row.name) for group, rows in GROUPS.items() for row in rows}
    assert named - {""} <= set(PARTS)


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_water_path_without_places_names_none_in_any_of_its_bytes(language: str) -> None:
    """Neither as a label nor as the name of a node; a worked-out share stays marked as one."""
    words = Words(language)  # type: ignore[arg-type]
    amount = Cell("60 gal")
    marked = words("path.mark.worked_out", label="Slip Street cleanout")
    nodes = (
        WaterNode("used", "used", "Used", amount),
        WaterNode("handed over Slip Street cleanout", "place", marked, amount),
        WaterNode("handed over Quay station", "place", "Quay station", amount),
    )
    flows = tuple(WaterFlow("used", node.id, amount) for node in nodes[1:])
    path = WaterPath("way", nodes, flows)
    (shown,) = masked([path], "water", goes("places"), words)
    text = to_json(Page("x", "x", "", language, "letter", (), (shown,), Footer("x")))  # type: ignore[arg-type]
    assert "Slip" not in text
    assert "Quay" not in text
    hidden = words("pack.place_withheld")
    assert isinstance(shown, WaterPath)
    assert [node.label for node in shown.nodes[1:]] == [words("path.mark.worked_out", label=hidden), hidden]
    assert list(masked([path], "water", goes("tickets"), words)) == [path]
    assert len({node["id"] for node in json.loads(text)["blocks"][0]["nodes"]}) == 3


def test_a_field_of_a_part_at_home_is_not_awaited() -> None:
    """A finding whose fields all stay is left out, one of a paper that stays too."""
    drains, rain = Missing("run", "drains", "truck"), Missing("run", "rain", "truck")
    kept = list(awaiting([finding("missing-1", drains, rain), finding("missing-1", drains)], goes("drains")))
    assert [one.missing for one in kept] == [(rain,)]
    paper = finding("ticket-1", Missing("hand over", "tank", "office"))
    assert list(awaiting([paper], goes("tickets"))) == []
    assert list(awaiting([paper], goes("drains"))) == [paper]


@pytest.mark.parametrize("language", LANGUAGES)
def test_an_open_item_of_a_part_at_home_is_not_listed(language: str) -> None:
    """What got away, a ticket to come, what is aboard; no place is named where places stay, no heading is bare."""
    words = Words(language)  # type: ignore[arg-type]
    where = words("awaited.handover", place="Quay station", day="Sep 21")
    items = (
        words("awaited.escape", day="Sep 21"),
        words("awaited.ticket", place="Quay station", when="Sep 21"),
        words("awaited.aboard", amount="5 gal"),
        words("awaited.fields", where=where, fields="At"),
        words("awaited.fields", where=words("awaited.run", day="Sep 21"), fields="Rain"),
    )
    block = OpenItems("Open items", items, "Nothing is awaited.")
    assert open_items(block, goes("findings"), words) == block
    for home, left in (
        ("incidents", {1, 2, 3, 4}),
        ("tickets", {0, 2, 3, 4}),
        ("water", {0, 1, 3, 4}),
        ("places", {0, 2, 4}),
    ):
        shown = open_items(block, goes(home), words)
        assert (set(shown.items), shown.none) == ({items[n] for n in left}, words("pack.open_none")), home


def test_a_finding_about_a_part_at_home_is_not_told() -> None:
    """By the topic of its rule, and by the fields that it names."""
    assert not told_finding(finding("ticket-2"), goes("tickets"))
    assert told_finding(finding("ticket-2"), goes("drains"))
    assert told_finding(finding("time-1"), goes("drains"))
    assert not told_finding(finding("missing-1", Missing("run", "drains", "truck")), goes("drains"))
