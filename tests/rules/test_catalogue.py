"""The catalogue is permanent, complete in words, and says nothing that it cannot stand behind."""

from __future__ import annotations

import re
from dataclasses import FrozenInstanceError, fields

import pytest

from compliance.rules.catalogue import ALL, named
from compliance.rules.rule import ARITHMETIC, NO_SOURCE, SCOPES, SEVERITIES, Rule

EVER = {
    "missing-1": "fields-not-recorded",
    "missing-2": "destination-not-recorded",
    "register-1": "name-not-on-register",
    "register-2": "entry-fields-not-recorded",
    "escape-1": "escape-seen",
    "place-1": "place-not-allowed",
    "place-2": "hauled-away-from-designated-point",
    "place-3": "handover-without-permission",
    "place-4": "permission-not-valid-that-day",
    "place-5": "other-water-to-a-place-not-allowed",
    "ticket-1": "handover-without-ticket",
    "ticket-2": "ticket-amounts-disagree",
    "ticket-3": "load-refused",
    "ticket-4": "ticket-says-two-amounts",
    "ph-1": "sewer-ph-below-federal-floor",
    "ph-2": "ph-in-hazardous-waste-range",
    "ph-3": "ph-outside-permission",
    "water-1": "tank-over-capacity",
    "water-2": "ratio-above-one",
    "water-3": "not-explained-beyond-interval",
    "water-4": "readings-run-backwards",
    "water-5": "identical-measured-ratios",
    "water-6": "readings-do-not-meet",
    "water-7": "two-methods-disagree",
    "water-8": "reading-that-cannot-be",
    "water-9": "meter-moved-between-runs",
    "water-10": "no-word-of-where-it-went",
    "water-11": "aboard-beside-an-empty-tank",
    "recovery-1": "recovery-below-threshold",
    "time-1": "entered-long-after",
    "time-2": "water-aboard-too-long",
    "time-3": "times-out-of-order",
    "time-4": "runs-of-a-rig-overlap",
    "agent-1": "data-sheet-not-on-file",
    "agent-2": "bleach-and-acid-on-one-run",
    "paint-1": "old-paint-disturbed",
    "filter-1": "filter-stages-out-of-order",
    "backup-1": "backup-too-old",
}
"""Every id that was ever given out. A line is added for a new rule, and none is ever changed or taken away."""

OVER_CLAIMS = re.compile(
    r"\b(certified|compliant|approved|guaranteed|verified|tamper-proof|zero discharge|safe|eco|"
    r"certificad[oa]s?|cumple|aprobad[oa]s?|garantizad[oa]s?|verificad[oa]s?|inviolable|segur[oa]s?|ecológic[oa]s?|oficial)\b"
    r"|100 ?%|no water entered|no entró agua",
    re.IGNORECASE,
)

every_rule = pytest.mark.parametrize("rule", ALL, ids=lambda rule: rule.id)


def test_ids_are_permanent() -> None:
    """Each id means what it always meant, and none is used twice."""
    assert {rule.id: rule.slug for rule in ALL} == EVER
    assert len({rule.slug for rule in ALL}) == len(ALL)


@every_rule
def test_every_rule_has_a_source_or_says_that_it_has_none(rule: Rule) -> None:
    """A citation, 'common practice, no source' or 'arithmetic' stands on every row."""
    assert rule.citations
    for one in rule.citations:
        if "CFR" in one.source:
            assert one.mark, "a federal text says how well it was read"
    if rule.basis == "arithmetic":
        assert ARITHMETIC in rule.citations
    assert str(NO_SOURCE) == "common practice, no source"


@every_rule
def test_every_rule_is_told_in_full(rule: Rule) -> None:
    """Title in two languages, trigger, reason and remedy; a crew's words come in both languages."""
    for text in (rule.title.en, rule.title.es, rule.looks_for, rule.why, rule.next_step, rule.example):
        assert text.strip()
    assert rule.severity in SEVERITIES and rule.scope in SCOPES
    assert rule.crew is None or (rule.crew.en and rule.crew.es and rule.crew.en != rule.crew.es)
    assert rule.severity != "act now" or rule.crew is not None
    for one in rule.parameters:
        assert one.meaning and one.source and rule.params[one.name] == one.value


@every_rule
def test_no_rule_over_claims(rule: Rule) -> None:
    """Words that claim more than a record can show stand in no text of a rule."""
    texts = [getattr(rule, field.name) for field in fields(rule)]
    said = " ".join(str(text) for text in texts if not callable(text))
    assert OVER_CLAIMS.search(said) is None, OVER_CLAIMS.search(said)


def test_a_rule_is_found_by_id_and_by_slug() -> None:
    """Both names lead to the same row, and an unknown one to none."""
    assert named("ph-1") is named("sewer-ph-below-federal-floor")
    assert named("ph-9") is None


def test_rows_are_frozen() -> None:
    """Nobody changes a rule while it runs."""
    with pytest.raises(FrozenInstanceError):
        ALL[0].severity = "look at"  # type: ignore[misc]
