"""Corrections and completions, put in place one at a time; what stood there before is told."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from compliance.records import kinds
from compliance.records.envelope import Record
from compliance.records.views import Change, LineView


def apply(change: Record, fields: dict[str, Any], lines: dict[str, LineView]) -> list[Change]:
    """Put one correction or completion into the fields of a run and its lines; returns what it changed.

    A line, or an entry of a list, that is not there leaves all as it is: what it concerned came otherwise since.
    """
    p = change.payload
    who, received = p.get("who", ""), change.receipt_time
    if "add" in p:
        n = added_number(p["after"], lines)
        lines[n] = LineView(n, p["add"]["line"], dict(p["add"]["fields"]))
        return [Change(change.id, change.kind, n, "", None, p["add"]["line"], "", p.get("why", ""), who, received)]
    line, path = p["line"], p["field"]
    if line != "" and line not in lines:
        return []
    target = fields if line == "" else lines[line].fields
    assert isinstance(target, dict)
    name, *rest = path.split("/")
    try:
        was = value_at(target.get(name), rest)
    except LookupError:
        return []
    if change.kind == kinds.COMPLETE and was is not None:
        return []  # somebody answered before; `complete` fills only what is not recorded yet
    target[name] = _with(target.get(name), rest, p["value"])
    reason, why = p.get("reason", ""), p.get("why", "")
    return [Change(change.id, change.kind, line, path, was, p["value"], reason, why, who, received)]


def value_at(value: Any, path: list[str]) -> Any:
    """What stands within a stored value: ['1', 'on'] is 'on' of the first entry of a list; None for what is absent.

    Raises LookupError where the path leads nowhere.
    """
    for part in path:
        if isinstance(value, list) and part.isdecimal() and 1 <= int(part) <= len(value):
            value = value[int(part) - 1]
        elif isinstance(value, Mapping):
            value = value.get(part)
        else:
            raise LookupError(part)
    return value


def _with(value: Any, path: list[str], new: Any) -> Any:
    """A stored value with something else at a path in it; the value itself stays as it is."""
    if not path:
        return new
    first, *rest = path
    if isinstance(value, list):
        at = int(first) - 1
        return [*value[:at], _with(value[at], rest, new), *value[at + 1 :]]
    return {**value, first: _with(value.get(first), rest, new)}


def added_number(after: str, lines: Mapping[str, Any]) -> str:
    """The number of a line that is added after another: 3.1, then 3.2."""
    base = after or "0"
    k = 1
    while f"{base}.{k}" in lines:
        k += 1
    return f"{base}.{k}"
