"""Any stored value as a page shows it: choices and fields in the page's language, typed text as it was typed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from compliance.records.answer import without_value
from compliance.records.fields import DATE, GROUP, GROUPS, MEASURE, MOMENT, QUANTITY, REF, Field
from compliance.records.measure import METHODS, read_value
from compliance.records.quantity import Quantity
from compliance.reports import timeline
from compliance.reports.numbers import quantity_text
from compliance.reports.refs import Source
from compliance.reports.words import Words


def value_text(source: Source, group: str, name: str, value: Any) -> str:
    """One value of a field."""
    words = source.words
    kind = without_value(value)
    if kind is not None:
        return words.unknown(kind)
    row = next((one for one in GROUPS[group] if one.name == name), None)
    if row is None:
        return str(value)
    if row.choices and isinstance(value, str) and any(choice.value == value for choice in row.choices):
        return words.choice(group, name, value)
    return _typed(source, row, value)


def _typed(source: Source, row: Field, value: Any) -> str:
    words = source.words
    if row.type == QUANTITY:
        return level_text(value, words)
    if row.type == MEASURE:
        return measure_text(value, words)
    if row.type == MOMENT:
        return timeline.moment(str(value), words)
    if row.type == DATE:
        return timeline.day(str(value), words)
    if row.type == GROUP:
        return "; ".join(_entry(source, row.of, entry) for entry in value) or words("value.empty_list")
    if row.type == REF and row.of == "place":
        return source.place_text(value)
    if row.type == REF and row.of in source.state.registers.entries:
        return source.name(row.of, value) if _is_own(source, row.of, value) else words("kept.private")
    return str(value)


def _is_own(source: Source, register: str, value: Any) -> bool:
    """Whether a reference names nobody else's client, on a page of one client."""
    entry = source.state.registers.find(register, value) or {}
    if not source.client:
        return True
    if register == "permission":
        return not source.elsewhere(source.state.registers.find("place", entry.get("place")))
    if register not in ("client", "site", "job"):
        return True
    owner = value if register == "client" else entry.get("client")
    return isinstance(owner, str) and source.client_key(owner) == source.client


def _entry(source: Source, group: str, entry: Mapping[str, Any]) -> str:
    return ", ".join(
        f"{source.words.label(group, name)}: {value_text(source, group, name, value)}" for name, value in entry.items()
    )


def level_text(value: Any, words: Words) -> str:
    """A quantity, or a mark that needs no number ('empty', 'full')."""
    if value in ("empty", "full"):
        return words(f"level.{value}")
    return quantity_text(value, words)


def measure_text(value: Any, words: Words) -> str:
    """A stored measure: its method and every reading as it was typed."""
    if not isinstance(value, Mapping):
        return quantity_text(value, words)
    method = str(value["method"])
    read = []
    for key in METHODS[method]:
        if key.name not in value:
            continue
        one = read_value(key, str(value[key.name]))
        if isinstance(one, Quantity):
            text = quantity_text(str(value[key.name]), words) if one.unit != "count" else str(value[key.name])
        else:
            text = level_text(one, words)
        read.append(
            text
            if key.holds in ("ref", "text")
            else words("measure.part", name=words(f"measure.{key.name}"), value=text)
        )
    return words("measure", method=words(f"method.{method}"), read=", ".join(read))
