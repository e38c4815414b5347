"""Records as a test writes them down: a name, a kind and a payload each, in the order of a book."""

from __future__ import annotations

from typing import Any

from compliance.records import kinds
from compliance.records.envelope import SCHEMA, Record
from compliance.records.state import State, gather

DAY = "2026-09-14"


def rid(name: str) -> str:
    return name.encode().hex().ljust(32, "0")


def record(seq: int, name: str, kind: str, payload: dict[str, Any], schema: int = SCHEMA) -> Record:
    moment = f"{DAY}T23:{seq:02}:00-06:00"
    return Record(seq, rid(name), kind, schema, DAY, moment, moment, payload)


def run(name: str, rig: str = "Big Blue", lines: Any = (), who: str = "Rosa", **fields: Any) -> tuple[str, str, Any]:
    made = [{"n": str(n), "line": kind, "fields": dict(f)} for n, (kind, f) in enumerate(lines, start=1)]
    whole = {"rig": rig, "lead": who, "date": DAY, "where": "aboard", **fields}
    return name, kinds.RUN, {"fields": whole, "lines": made, "typed": {}, "who": who}


def book(*entries: tuple[str, str, Any]) -> State:
    first = ("book", kinds.BOOK, {"fields": {"name": "Bluebank", "unit": "gal", "zone": "America/Denver"}, "who": ""})
    return gather(record(seq, *entry) for seq, entry in enumerate((first, *entries), start=1))


def register(what: str, name: str, **fields: Any) -> tuple[str, str, Any]:
    return f"{what}{name}", kinds.REGISTER, {"what": what, "name": name, "fields": fields, "who": ""}


def same(what: str, name: str, other: str) -> tuple[str, str, Any]:
    return f"same{name}", kinds.SAME_AS, {"what": what, "name": name, "is": other, "who": ""}


def correct(name: str, of: str, line: str, field: str, value: Any, was: Any = None) -> tuple[str, str, Any]:
    return name, kinds.CORRECT, {
        "run": rid(of), "line": line, "field": field, "value": value, "was": was, "reason": "keyed wrong", "why": "",
        "who": "office",
    }  # fmt: skip


def complete(name: str, of: str, line: str, field: str, value: Any) -> tuple[str, str, Any]:
    return name, kinds.COMPLETE, {"run": rid(of), "line": line, "field": field, "value": value, "who": "office"}


def cancel(name: str, of: str) -> tuple[str, str, Any]:
    return name, kinds.CANCEL, {"record": rid(of), "why": "twice", "who": "office"}
