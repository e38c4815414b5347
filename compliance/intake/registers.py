"""Entries of the registers and the facts of the business, one at a time or a whole file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any, Final

from compliance.intake.checked import Bench, Checked, bench
from compliance.intake.frame import FRAME, claimed, finished, strange_keys
from compliance.intake.near import did_you_mean
from compliance.intake.text import shown, words
from compliance.intake.values import blank, check_fields, spelled
from compliance.records import kinds
from compliance.records.answer import WRITTEN, without_value
from compliance.records.fields import GROUPS, REF, REGISTERS
from compliance.records.names import folded
from compliance.records.problem import Problem
from compliance.records.registers import Registers
from compliance.records.state import State
from compliance.records.views import Fields

BUSINESS: Final = "business"
SAME_AS: Final = "same_as"
MOST_ENTRIES: Final = 10_000
"""Entries of one register in one file."""
_KEYS: Final = (BUSINESS, *REGISTERS, SAME_AS)


def check_business(raw: Mapping[str, Any], *, state: State | None, where: str, now: datetime, who: str = "") -> Checked:
    """The facts of the business: for a new book (state None; name, unit and zone are needed), or what changes.

    The payload of a new book is of kind 'book', a change is one of kind 'register' about 'business'.
    """
    work = bench(state, now)
    fields = check_fields(BUSINESS, raw, "", where, work, extra=FRAME, required=state is None)
    said = claimed(raw, where, work) or who
    if state is None:
        return finished(kinds.BOOK, {"fields": fields, "who": said}, raw, where, work, now)
    if state.runs and fields.get("unit", state.unit) != state.unit:
        work.problem(
            f"the unit of this book is {state.unit} and there are nights in it",
            f"{where}, Unit of volume (unit)",
            "a book keeps its unit: start a new book for another one",
        )
    new = {name: value for name, value in fields.items() if state.business.get(name) != value}
    payload = {"what": BUSINESS, "name": str(state.business.get("name", "")), "fields": new, "who": said}
    return finished(kinds.REGISTER, payload, raw, where, work, now, known=not new)


def check_register(
    what: str, raw: Mapping[str, Any], *, state: State | None, where: str, now: datetime, who: str = ""
) -> Checked:
    """One entry of a register, new or changed; fields that stand there already are left out of the payload."""
    if what not in REGISTERS:
        step = did_you_mean(what, REGISTERS, f"use one of: {', '.join(REGISTERS)}")
        return Checked(kinds.REGISTER, None, "", (Problem(f"{shown(what)} is not a register", where, step),))
    work = bench(state, now)
    return _entry(what, raw, work, work.registers.find(what, words(raw.get("name"))), where, now, who)


def check_same_as(raw: Mapping[str, Any], *, state: State | None, where: str, now: datetime, who: str = "") -> Checked:
    """Two spellings of one entry: {what, name, is}. The entry that `is` names stays; `name` means it from now on."""
    return _same_as(raw, bench(state, now), where, now, who)


def check_registers(
    raw: Mapping[str, Any], *, state: State | None, where: str, now: datetime, who: str = ""
) -> list[Checked]:
    """A whole registers file, in the order in which registers refer to each other; an entry may name any other.

    With state None it starts a book: the table [business] must be there.
    """
    work = bench(state, now)
    done = []
    strange = [key for key in raw if key not in _KEYS and key not in FRAME]
    for key in strange:
        work.problem(
            f"{shown(key)} is not a register", where, did_you_mean(str(key), _KEYS, f"use: {', '.join(_KEYS)}")
        )
    business = raw.get(BUSINESS)
    if isinstance(business, Mapping):
        first = check_business(business, state=state, where=f"{where}, [business]", now=now, who=who)
        work.unit = work.unit if first.payload is None else first.payload["fields"].get("unit", work.unit)
        done.append(first)
    elif business is not None or state is None:
        fault = "the table [business] is missing" if business is None else "'business' is not a table"
        work.problem(fault, where, "write [business] with name, unit and zone")
    standing = work.registers
    entries = [(what, item) for what in REGISTERS for item in _items(raw, what, where, work)]
    pairs = _items(raw, SAME_AS, where, work)
    work.registers = _with_names(standing, entries)
    seen: set[tuple[str, str]] = set()
    for what, item in entries:
        name = words(item.get("name")) or ""
        if (what, folded(name)) in seen:
            work.problem(f"{what} {shown(name)} stands twice in this file", where, "make one entry of the two")
        seen.add((what, folded(name)))
        done.append(_entry(what, item, _fresh(work), standing.find(what, name), where, now, who))
    done += [_same_as(item, _fresh(work), f"{where}, same_as", now, who) for item in pairs]
    if work.problems:
        done.insert(0, Checked(kinds.REGISTER, None, "", tuple(work.problems)))
    return done


def _fresh(work: Bench) -> Bench:
    return replace(work, problems=[], notes=[], typed={})


def _items(raw: Mapping[str, Any], key: str, where: str, work: Bench) -> Sequence[Mapping[str, Any]]:
    items = raw.get(key, ())
    if isinstance(items, list | tuple) and all(isinstance(item, Mapping) for item in items):
        if len(items) <= MOST_ENTRIES:
            return items
        fault = f"{len(items)} entries are more than the {MOST_ENTRIES} that are taken"
        work.problem(fault, where, "split the file")
        return ()
    work.problem(f"{key!r} is {shown(items)}, not a list of entries", where, f"write each as a table, [[{key}]]")
    return ()


def _with_names(standing: Registers, entries: Sequence[tuple[str, Mapping[str, Any]]]) -> Registers:
    """The registers with the names of this file, so that its entries can refer to each other."""
    merged: dict[str, dict[str, Fields]] = {what: dict(known) for what, known in standing.entries.items()}
    for what, item in entries:
        name = words(item.get("name")) or ""
        if name.strip():
            merged.setdefault(what, {}).setdefault(folded(name), {"name": name.strip()})
    return Registers(merged, standing.same)


def _entry(
    what: str, raw: Mapping[str, Any], work: Bench, standing: Fields | None, where: str, now: datetime, who: str
) -> Checked:
    name = (words(raw.get("name")) or "").strip()
    here = f"{where}, {what} {shown(name)}" if name else f"{where}, {what}"
    known = standing or {}
    fields = check_fields(what, raw, "", here, work, extra=FRAME, required=not known, beside={**known, **raw})
    new = {key: value for key, value in fields.items() if key != "name" and known.get(key) != value}
    _can_be_meant(what, {**known, **fields}, new, here, work)
    payload = {
        "what": what,
        "name": str(known.get("name", fields.get("name", ""))),
        "fields": new,
        "who": claimed(raw, here, work) or who,
    }
    return finished(kinds.REGISTER, payload, raw, here, work, now, known=bool(known) and not new)


def _can_be_meant(what: str, whole: Fields, new: Fields, here: str, work: Bench) -> None:
    """A problem of days that no permission and a limit that no house can have; a note for a name on no register.

    whole: the entry as it would stand; new: what is said of it now.
    """
    for row in GROUPS[what]:
        value = new.get(row.name)
        if value is None or value in WRITTEN:
            continue
        unknown = row.type == REF and work.registers.find(row.of, value) is None
        if unknown and not any(repr(value) in note for note in work.notes):  # a near name is told already
            work.notes.append(f"{here}: {value!r} is on the register of no {row.of} yet")
    if new.get("none_yet") == "yes" and without_value(new.get("value")) is None:
        work.problem("it has a value and is 'none yet'", here, 'give one of the two: value, or none_yet = "yes"')
    first, last = (whole.get(name) for name in ("valid_from", "valid_to"))
    if {"valid_from", "valid_to"} & new.keys() and _days(first, last) and str(last) < str(first):
        fault = f"it would be valid to {last}, which is before {first}, from which it is valid"
        work.problem(fault, here, "look at both days; leave the second one out when it has no end")


def _days(*values: Any) -> bool:
    return all(isinstance(value, str) and value not in WRITTEN for value in values)


def _same_as(raw: Mapping[str, Any], work: Bench, where: str, now: datetime, who: str) -> Checked:
    keys = ("what", "name", "is")
    strange_keys(raw, keys, "same as", where, work)
    what, name, other = (words(raw.get(key)) or "" for key in keys)
    for key in keys:
        if blank(raw.get(key)):
            work.problem(f"{key!r} is missing", where, "write what = a register, name = one spelling, is = the other")
    if what.strip() and what not in REGISTERS:
        work.problem(f"{shown(what)} is not a register", where, did_you_mean(what, REGISTERS, ", ".join(REGISTERS)))
    registers = work.registers
    known = registers.key(what, name) == registers.key(what, other)
    if not work.problems and folded(name) == folded(other):
        work.problem(f"{name!r} and {other!r} are the same name already", where, "nothing needs to be joined")
    if not work.problems and registers.find(what, other) is None:
        entries = [str(entry["name"]) for entry in registers.all(what)]
        step = did_you_mean(other, entries, f"add it first, as a {what}")
        work.problem(f"{other!r} is not on the register of {what}s", where, step)
    payload = {
        "what": what,
        "name": name.strip(),
        "is": spelled(other.strip(), (what,), where, work),
        "who": claimed(raw, where, work) or who,
    }
    return finished(kinds.SAME_AS, payload, raw, where, work, now, known=known)
