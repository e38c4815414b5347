"""How a volume was learned: the methods, as they stand in a payload.

A measure is a text (a declared amount like ``~450 gal``, or an answer without a value) or a table with ``method``:

======== ===================================================== =========================================
method   keys                                                 meaning
======== ===================================================== =========================================
declared amount                                               somebody's word
meter    meter, start, end [, old_end, new_start, new_meter]  a register read before and after
mark     tank, before, after                                  a tank level read before and after
fills    tank, times                                          fills of a tank up to its cut-off float
time     flow, minutes                                        run time × the flow of a timed-bucket test
count    vessel, times                                        a known vessel, counted
weight   scale, gross, tare                                   a scale, before and after
ticket   ticket, amount                                       the figure on somebody else's ticket
======== ===================================================== =========================================

``start``, ``end``, ``before``, ``after`` and ``minutes`` may be 'not read'. 'before' and 'after' may be 'empty' or
'full' besides a level or a volume.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any, Final

from compliance.records.answer import WRITTEN
from compliance.records.problem import Problem
from compliance.records.quantity import Quantity, parse, stored
from compliance.records.quick import dataclass


@dataclass(frozen=True)
class Key:
    """One key of a method's table: what it holds ('ref', 'number', 'level', 'quantity', 'text') and in which unit."""

    name: str
    holds: str
    unit: str = ""
    required: bool = True


METHODS: Final[Mapping[str, tuple[Key, ...]]] = {
    "declared": (Key("amount", "quantity", "gal"),),
    "meter": (
        Key("meter", "ref"),
        Key("start", "number", "count"),
        Key("end", "number", "count"),
        Key("old_end", "number", "count", required=False),
        Key("new_start", "number", "count", required=False),
        Key("new_meter", "ref", required=False),
    ),
    "mark": (Key("tank", "ref"), Key("before", "level", "in"), Key("after", "level", "in")),
    "fills": (Key("tank", "ref"), Key("times", "number", "count")),
    "time": (Key("flow", "ref"), Key("minutes", "quantity", "min")),
    "count": (Key("vessel", "ref"), Key("times", "number", "count")),
    "weight": (Key("scale", "ref"), Key("gross", "quantity", "lb"), Key("tare", "quantity", "lb")),
    "ticket": (Key("ticket", "text"), Key("amount", "quantity", "gal")),
}

WITHOUT_INSTRUMENT: Final = ("declared", "ticket")
"""Methods that read no instrument of ours: somebody's word."""

LEVEL_WORDS: Final = ("empty", "full")
"""Marks that everybody reads the same way: no water at the outlet, and the cut-off float reached."""


@dataclass(frozen=True)
class Measure:
    """A measure read back: its method, and its values by key (Quantity, text, or an answer without a value)."""

    method: str
    values: Mapping[str, Quantity | str]


def check_measure(
    value: Any, *, unit: str, where: str, speak: Callable[[str], str] = lambda text: text
) -> tuple[Any, list[Problem]]:
    """Bring a measure as a person or a file gives it into its stored form.

    unit: what a bare declared number means. speak: turns spoken answers ('did not read') into written ones.
    Returns the stored form and every problem found; the form is only good when there are none.
    """
    if isinstance(value, str):
        value = speak(value)
        if value in WRITTEN:
            return value, []
        read = parse(value, unit=unit, where=where)
        return (None, [read]) if isinstance(read, Problem) else (str(read), [])
    if not isinstance(value, Mapping):
        return None, [
            Problem("an amount is a text like '450 gal' or a table with a method", where, "see docs/fields.md")
        ]
    method = value.get("method", "declared")
    if not isinstance(method, str) or method not in METHODS:
        return None, [Problem(f"{method!r} is not a method known here", where, f"use one of {', '.join(METHODS)}")]
    keys = {key.name: key for key in METHODS[method]}
    problems = [
        Problem(f"{name!r} does not belong to the method {method!r}", where, f"it takes {', '.join(keys)}")
        for name in value
        if name != "method" and name not in keys
    ]
    form: dict[str, str] = {"method": method}
    for key in keys.values():
        raw = value.get(key.name)
        if raw is None:
            if key.required:
                problems.append(Problem(f"the method {method!r} needs {key.name!r}", where, "give it, or 'not read'"))
            continue
        kept = _key_value(key, raw, unit, f"{where}, {key.name}", speak)
        if isinstance(kept, Problem):
            problems.append(kept)
        else:
            form[key.name] = kept
    return form, problems


def _key_value(key: Key, raw: Any, unit: str, where: str, speak: Callable[[str], str]) -> str | Problem:
    if isinstance(raw, bool) or not isinstance(raw, str | int | Decimal):
        shown = str(raw).lower() if isinstance(raw, bool) else repr(raw)
        return Problem(f"{shown} is not a text or a whole number", where, "put figures with a point in quotes")
    text = speak(str(raw).strip())
    if key.holds in ("ref", "text") or text in WRITTEN:
        return text
    if key.holds == "level":
        return check_level(text, where)
    read = parse(text, unit=unit if key.unit == "gal" else key.unit, where=where)
    if isinstance(read, Problem):
        return read
    if key.holds == "number":
        return _bare(read, where)
    return str(read)


def _bare(read: Quantity, where: str) -> str | Problem:
    """A register figure: one plain number, kept with the digits that were typed."""
    if read.point is None or read.about:
        return Problem("a register shows one number", where, "give the figure as it stands, or 'not read'")
    return str(read.point)


def check_level(text: str, where: str) -> str | Problem:
    """A tank level as stored: 'empty', 'full', a length or a volume with its unit."""
    if text.lower() in LEVEL_WORDS:
        return text.lower()
    as_length = parse(text, unit="in", where=where)
    if not isinstance(as_length, Problem):
        return str(as_length)
    as_volume = parse(text, unit="gal", where=where)
    if isinstance(as_volume, Problem):
        return Problem(
            f"{text!r} is not a tank level", where, "write inches ('12.5 in'), a volume ('140 gal'), 'empty' or 'full'"
        )
    return str(as_volume)


def read_measure(form: Any) -> Measure | str:
    """Read a stored measure back: a Measure, or the answer without a value that stands in its place."""
    if isinstance(form, str):
        return form if form in WRITTEN else Measure("declared", {"amount": stored(form)})
    method = form["method"]
    values: dict[str, Quantity | str] = {}
    for key in METHODS[method]:
        if key.name in form:
            values[key.name] = read_value(key, form[key.name])
    return Measure(method, values)


def read_value(key: Key, text: str) -> Quantity | str:
    """One stored value of a method's table."""
    if key.holds in ("ref", "text") or text in WRITTEN or (key.holds == "level" and text in LEVEL_WORDS):
        return text
    if key.holds == "number":
        number = Decimal(text)
        return Quantity(number, number, "count")
    return stored(text)
