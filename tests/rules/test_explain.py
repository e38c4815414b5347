"""A rule explains itself under fixed headings."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from compliance.records.sentences import local_permit_governs
from compliance.rules.catalogue import ALL
from compliance.rules.explain import explain, rules_json
from compliance.rules.rule import Rule

HEADINGS = [
    "What it looks for",
    "Why",
    "Basis and citation",
    "Parameters",
    "What to do",
    "A record that makes it speak",
]


@pytest.mark.parametrize("rule", ALL, ids=lambda rule: rule.id)
def test_headings_come_in_one_order(rule: Rule) -> None:
    """Every rule is told in the same order, its citation and its numbers included."""
    text = explain(rule)
    lines = text.splitlines()
    at = [lines.index(heading) for heading in HEADINGS]
    assert at == sorted(at)
    assert all(one.source in text for one in rule.citations)
    assert all(f"{one.name} = " in text for one in rule.parameters)
    assert ("Caution" in lines) == bool(rule.caution)
    assert text.rstrip().endswith(local_permit_governs("en"))


def test_first_day_is_told() -> None:
    """A rule that began on a day says so."""
    assert "from 2027-01-01" in explain(replace(ALL[0], applies_from="2027-01-01"))


def test_rules_as_data_say_the_same() -> None:
    """The list as JSON holds every rule, and values as text."""
    rows = json.loads(json.dumps(rules_json()))
    assert [row["id"] for row in rows] == [rule.id for rule in ALL]
    floor = next(row for row in rows if row["id"] == "ph-1")
    assert floor["parameters"][0]["value"] == "5.0"
    assert floor["citations"][0]["mark"] == "CFR 2015, re-read in a later copy"
    assert next(row for row in rows if row["id"] == "ticket-2")["crew"] is None
