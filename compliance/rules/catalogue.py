"""All rules, in the order of their topics. An id is permanent: a rule that goes keeps its id from ever coming back."""

from __future__ import annotations

from typing import Final

from compliance.rules import (
    acidity,
    agents,
    agreement,
    backups,
    escapes,
    filters,
    missing,
    names,
    paint,
    places,
    readings,
    recovery,
    tickets,
    times,
    water,
)
from compliance.rules.rule import Rule

ALL: Final[tuple[Rule, ...]] = (
    *missing.RULES,
    *names.RULES,
    *escapes.RULES,
    *places.RULES,
    *tickets.RULES,
    *acidity.RULES,
    *water.RULES,
    *agreement.RULES,
    *readings.RULES,
    *recovery.RULES,
    *times.RULES,
    *agents.RULES,
    *paint.RULES,
    *filters.RULES,
    *backups.RULES,
)


def named(name: str, rules: tuple[Rule, ...] = ALL) -> Rule | None:
    """A rule by its id or its slug."""
    return next((rule for rule in rules if name in (rule.id, rule.slug)), None)
