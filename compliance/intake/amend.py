"""Records about other records: correct, complete, cancel. What they change is found by `spots`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime
from typing import Any, Final

from compliance.intake.checked import Bench, Checked, bench
from compliance.intake.frame import finished, named, reason, strange_keys
from compliance.intake.moments import Night
from compliance.intake.near import did_you_mean
from compliance.intake.run import ALL_KINDS, check_line
from compliance.intake.spots import Spot, find_line, find_record, run_named, spot_of
from compliance.intake.text import shown, words
from compliance.intake.values import blank, check_value
from compliance.records import kinds
from compliance.records.fields import LINE_KINDS
from compliance.records.names import folded
from compliance.records.problem import Problem
from compliance.records.state import State
from compliance.records.views import RunView

_FIELDS: Final[Mapping[str, tuple[str, ...]]] = {
    kinds.CORRECT: ("run", "line", "field", "value", "was", "reason", "why"),
    kinds.COMPLETE: ("run", "line", "field", "value", "add_after", "line_values", "why"),
    kinds.CANCEL: ("run", "record", "why"),
}
_REASONS: Final = {
    "keyed wrong": kinds.KEYED_WRONG, "read wrong": kinds.READ_WRONG,
    "mal capturado": kinds.KEYED_WRONG, "mal leido": kinds.READ_WRONG,
}  # fmt: skip


def check_correct(raw: Mapping[str, Any], *, state: State, where: str, now: datetime, who: str = "") -> Checked:
    """A value that was wrong: {run, line, field, value, reason, who}, and perhaps why, and was as a check.

    What stood there is filled in from the book. A field that is not recorded yet is completed, not corrected. run may
    be a ticket: its id, or 'ticket 4711'.
    """
    work = _start(kinds.CORRECT, raw, state, where, now)
    spot = spot_of(raw, state, where, work)
    value = _value(spot, raw, where, work)
    how = _REASONS.get(folded(words(raw.get("reason")) or ""))
    if how is None:
        step = 'write "keyed wrong" when the paper said otherwise, "read wrong" when the instrument did'
        work.problem(_missing_or_strange(raw, "reason", "how it came to be wrong"), f"{where}, reason", step)
    said, why = named(raw, where, work, who), reason(raw, "why", where, work)
    known = (
        value is not None and spot is not None and (value == spot.now or spot.holds(raw, value, how or "", why, said))
    )
    if spot is not None and not known:
        if spot.now is None:
            step = "complete it instead: nothing that stood there is replaced"
            work.problem(f"{spot.field.en} of {spot.name} is not recorded yet", where, step)
        _was(spot, raw, where, work)
    if not known:
        _says_closed(None if spot is None else spot.run, state, where, work)
    payload = {} if spot is None else spot.amendment(value)
    payload |= {"was": spot.now if spot else None, "reason": how, "why": why, "who": said}
    return finished(kinds.CORRECT, payload, raw, where, work, now, known=known)


def check_complete(raw: Mapping[str, Any], *, state: State, where: str, now: datetime, who: str = "") -> Checked:
    """What was not recorded yet: {run, line, field, value, who}; or a forgotten line: {run, add_after, line_values}.

    run may be a ticket: its id, or 'ticket 4711'. field may lead into a list: 'drain_list/1/on'. line_values holds
    'line' (its kind) and its fields; add_after is the number of the line before it, '' or '0' for the beginning.
    Anything that stands there already ('not read' too) is a correction.
    """
    work = _start(kinds.COMPLETE, raw, state, where, now)
    if "line_values" in raw or "add_after" in raw:
        return _forgotten_line(raw, state, where, now, work, who)
    spot = spot_of(raw, state, where, work)
    value = _value(spot, raw, where, work)
    said, why = named(raw, where, work, who), reason(raw, "why", where, work)
    known = spot is not None and value is not None and spot.holds(raw, value, "", why, said)
    if spot is not None and spot.now is not None and not known:
        work.problem(
            f"{spot.field.en} of {spot.name} says {_brief(spot.now)} already",
            where,
            "if that is wrong, correct it and say whether it was keyed wrong or read wrong",
        )
    if not known:
        _says_closed(None if spot is None else spot.run, state, where, work)
    payload = {**(spot.amendment(value) if spot else {}), "who": said, **({"why": why} if why else {})}
    return finished(kinds.COMPLETE, payload, raw, where, work, now, known=known)


def _says_closed(run: RunView | None, state: State, where: str, work: Bench) -> None:
    """A note that the month of a run is closed: it locks nothing, and what it was closed with does not change."""
    month = "" if run is None else run.day[:7]
    if month and state.closing_of(month) is not None:
        work.notes.append(
            f"{where}: {month} is closed. Its summary stays as it was issued; a new version says this when it is asked "
            f"for, like `washwater month {month} --version 2`"
        )


def _forgotten_line(raw: Mapping[str, Any], state: State, where: str, now: datetime, work: Bench, who: str) -> Checked:
    for key in ("line", "field", "value"):
        if key in raw:
            work.problem(f"{key!r} does not go with add_after", where, "put the new line's fields under [line_values]")
    run = run_named(raw.get("run"), state, f"{where}, run", work)
    after = (words(raw.get("add_after")) or "").strip()
    values = raw.get("line_values")
    values = values if isinstance(values, Mapping) else {}
    kind = next((k for k in LINE_KINDS if k == folded(words(values.get("line")) or "")), None)
    if kind is None:
        step = did_you_mean(words(values.get("line")) or "", LINE_KINDS, ALL_KINDS)
        work.problem("it is not said what kind of line is added", f"{where}, [line_values], line", step)
    if run is not None and after not in ("", "0"):
        found = find_line(run, after, f"{where}, add_after")
        if isinstance(found, Problem):
            work.problems.append(found)
        elif found is not None:
            after = found.n
    _says_closed(run, state, where, work)
    fields = {}
    if kind is not None:
        work.night = replace(work.night) if run is None else night_of(run, work)
        fields = check_line(kind, values, "", f"{where}, [line_values] ({kind})", work)
    record, own = ("", "") if run is None else run.origin("" if after == "0" else after)
    payload = {
        "run": record,
        "after": own,
        "add": {"line": kind, "fields": fields},
        "who": named(raw, where, work, who),
    }
    if not blank(raw.get("why")):
        payload["why"] = reason(raw, "why", where, work)
    known = run is not None and any(
        not change.field and line_as_added(run, change.line) == (kind, fields) and _base(change.line) == (after or "0")
        for change in run.changes
    )
    return finished(kinds.COMPLETE, payload, raw, where, work, now, known=known)


def line_as_added(run: RunView, n: str) -> tuple[str, Mapping[str, Any]] | None:
    """The kind and fields of a line as they were before anything in it was amended."""
    line = run.line(n)
    if line is None:
        return None
    fields = dict(line.fields)
    for change in reversed(run.changes):
        if change.line == n and change.field:
            fields[change.field] = change.was
    return line.kind, {name: value for name, value in fields.items() if value is not None}


def _base(n: str) -> str:
    return n.rpartition(".")[0]


def check_cancel(raw: Mapping[str, Any], *, state: State, where: str, now: datetime, who: str = "") -> Checked:
    """A record that does not count: {run or record, why, who}. It stays in the book, marked."""
    work = _start(kinds.CANCEL, raw, state, where, now)
    name = raw.get("run") if not blank(raw.get("run")) else raw.get("record")
    found = find_record(name, state, where)
    record, known = "", False
    if isinstance(found, Problem):
        work.problems.append(found)
    else:
        record, known = found
        run = state.run(record)
        if run is not None and run.parts:
            rest = ", ".join(one.ref for one in run.handed_in_as if one.record != record)
            work.notes.append(f"{where}: this is one hand-in of an outing; what was joined to it stays: {rest}")
    why = reason(raw, "why", where, work)
    if not why:
        work.problem("it is not said why", f"{where}, why", "a cancelled record still shows, with its reason")
    payload = {"record": record, "why": why, "who": named(raw, where, work, who)}
    return finished(kinds.CANCEL, payload, raw, where, work, now, known=known)


def night_of(run: RunView, work: Bench) -> Night:
    """What a time without a date means in a run that is in the book."""
    start = str(run.get("start") or "")
    first = datetime.fromisoformat(start).time() if "T" in start else None
    return Night(date.fromisoformat(run.day), first or _earliest(run), work.night.zone)


def _earliest(run: RunView) -> Any:
    """The clock time of the first line that has one: lines are in their order."""
    for line in run.lines:
        for value in line.fields.values():
            if isinstance(value, str) and len(value) >= 25 and value[10:11] == "T" and value[:4].isdigit():
                return datetime.fromisoformat(value).time()
    return None


def _start(kind: str, raw: Mapping[str, Any], state: State, where: str, now: datetime) -> Bench:
    work = bench(state, now)
    strange_keys(raw, _FIELDS[kind], kind, where, work)
    return work


def _value(spot: Spot | None, raw: Mapping[str, Any], where: str, work: Bench) -> Any:
    if blank(raw.get("value")):
        work.problem("no value is given", f"{where}, value", "give it, or 'not read', or 'not applicable'")
        return None
    return None if spot is None else _read(spot, raw["value"], "value", where, work)


def _read(spot: Spot, raw: Any, path: str, where: str, work: Bench) -> Any:
    if spot.run is not None:
        work.night = night_of(spot.run, work)
    return check_value(spot.group, spot.field, raw, path, f"{where}, {path}", work, spot.beside)


def _was(spot: Spot, raw: Mapping[str, Any], where: str, work: Bench) -> None:
    """`was` is a check on the reader's eyes: it must be what the book says now."""
    if blank(raw.get("was")) or spot.now is None:
        return
    trial = replace(work, problems=[], notes=[], typed={})
    was = _read(spot, raw["was"], "was", where, trial)
    work.problems += trial.problems
    if not trial.problems and was != spot.now:
        work.problem(
            f"{spot.field.en} of {spot.name} does not say {_brief(was)} but {_brief(spot.now)}",
            f"{where}, was",
            "look whether this is the right run, line and field",
        )


def _missing_or_strange(raw: Mapping[str, Any], key: str, what: str) -> str:
    return f"it is not said {what}" if blank(raw.get(key)) else f"{shown(raw[key])} is not an answer to {what}"


def _brief(value: Any) -> str:
    """A stored value on one line, for a message."""
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {part}" for key, part in value.items())
    return f"a list of {len(value)}" if isinstance(value, list) else shown(value)
