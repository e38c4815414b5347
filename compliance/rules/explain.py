"""A rule in words, under fixed headings; the same text on the command line, in docs/rules.md and as JSON."""

from __future__ import annotations

from typing import Any

from compliance.records.sentences import local_permit_governs
from compliance.rules.catalogue import ALL
from compliance.rules.rule import SCOPES, Parameter, Rule
from compliance.rules.say import plain


def explain(rule: Rule) -> str:
    """Everything that a rule has to say about itself, one heading a paragraph."""
    parts = [
        f"{rule.id}  {rule.slug}",
        f"{rule.title.en} / {rule.title.es}\nSeverity: {rule.severity}. Asked of: {SCOPES[rule.scope]}.",
        f"What it looks for\n{rule.looks_for}",
        f"Why\n{rule.why}",
        f"Basis and citation\n{_basis(rule)}",
        f"Parameters\n{_parameters(rule)}",
        f"What to do\n{rule.next_step[0].upper()}{rule.next_step[1:]}.",
    ]
    if rule.caution:
        parts.append(f"Caution\n{rule.caution}")
    parts.append("A record that makes it speak\n" + "\n".join(f"    {line}" for line in rule.example.splitlines()))
    parts.append(local_permit_governs("en"))
    return "\n\n".join(parts) + "\n"


def _basis(rule: Rule) -> str:
    from_day = f" Applies to days from {rule.applies_from}." if rule.applies_from else ""
    return f"{rule.basis}: " + "; ".join(str(one) for one in rule.citations) + "." + from_day


def _parameters(rule: Rule) -> str:
    return "\n".join(_parameter(one) for one in rule.parameters) or "none"


def _parameter(one: Parameter) -> str:
    value = f"{plain(one.value)} {one.unit}".strip()
    return f"{one.name} = {value}: {one.meaning} ({one.source})"


def rules_json(rules: tuple[Rule, ...] = ALL) -> list[dict[str, Any]]:
    """Every rule as plain data: texts and lists of texts, parameter values as decimal strings."""
    return [
        {
            "id": rule.id,
            "slug": rule.slug,
            "title": {"en": rule.title.en, "es": rule.title.es},
            "severity": rule.severity,
            "basis": rule.basis,
            "citations": [{"source": one.source, "mark": one.mark} for one in rule.citations],
            "scope": rule.scope,
            "parameters": [
                {
                    "name": one.name,
                    "value": str(one.value),
                    "unit": one.unit,
                    "meaning": one.meaning,
                    "source": one.source,
                }
                for one in rule.parameters
            ],
            "applies_from": rule.applies_from or None,
            "looks_for": rule.looks_for,
            "why": rule.why,
            "next_step": rule.next_step,
            "caution": rule.caution or None,
            "crew": None if rule.crew is None else {"en": rule.crew.en, "es": rule.crew.es},
            "example": rule.example,
        }
        for rule in rules
    ]
