"""Records about other records: correct, complete, cancel. What they change is found by the names people use."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any, Final

from compliance.intake.checked import Bench, Checked, bench
from compliance.intake.entries import record_id
from compliance.intake.frame import finished, named, reason, strange_keys
from compliance.intake.moments import Night
from compliance.intake.near import did_you_mean, nearest
from compliance.intake.run import ALL_KINDS, check_line
from compliance.intake.text import shown, words
from compliance.intake.values import blank, check_value
from compliance.records import kinds
from compliance.records.fields import GROUPS, LINE_KINDS, Field
from compliance.records.problem import Problem
from compliance.records.state import LineView, RunView, State, folded

_FIELDS: Final[Mapping[str, tuple[str, ...]]] = {
    kinds.CORRECT: ("run", "line", "field", "value", "was", "reason", "why"),
    kinds.COMPLETE: ("run", "line", "field", "value", "add_after", "line_values", "why"),
    kinds.CANCEL: ("run", "record", "why"),
}
_REASONS: Final = {
    "keyed wrong": kinds.KEYED_WRONG, "read wrong": kinds.READ_WRONG,
    "mal capturado": kinds.KEYED_WRONG, "mal leido": kinds.READ_WRONG,
}  # fmt: skip


@dataclass(frozen=True)
class Spot:
    """Where an amendment lands: a run, a line of it (None for the run's own fields), and a field."""

    run: RunView
    line: LineView | None
    field: Field

    @property
    def group(self) -> str:
        """The group of the field table in which the field stands."""
        return "run" if self.line is None else self.line.kind

    @property
    def now(self) -> Any:
        """What stands there now; None when nothing was recorded yet."""
        return self.run.get(self.field.name) if self.line is None else self.line.get(self.field.name)

    def holds(self, raw: Mapping[str, Any], value: Any, how: str, why: str, who: str) -> bool:
        """Whether the book says so already, or this very amendment was made before, whatever has been amended since.

        By its own id where it has one; without one by its words, so that the same file twice changes nothing.
        """
        if value == self.now:
            return True
        own = (words(raw.get("id")) or "").strip()
        n = "" if self.line is None else self.line.n
        return any(
            change.record == record_id(own) if own else (change.reason, change.why, change.who) == (how, why, who)
            for change in self.run.changes
            if (change.line, change.field, change.now) == (n, self.field.name, value)
        )


def find_run(name: Any, state: State, where: str) -> RunView | Problem:
    """The run that a ref, a record id or the beginning of one names."""
    text = (words(name) or "").strip()
    if not text:
        return Problem("it is not said which run", where, "name it by its date and rig, like 2026-09-14-big-blue")
    run = state.run(text)
    if run is not None:
        return run
    refs = [view.ref for view in reversed(state.runs)]
    return Problem(
        f"no run is called {shown(text)}", where, did_you_mean(text, refs, "`washwater list` shows them all")
    )


def find_line(run: RunView, n: Any, where: str) -> LineView | Problem | None:
    """A line by its number, or by 's4' for the fourth stop; None for the run's own fields (nothing given)."""
    text = (words(n) or "").strip()
    if not text:
        return None
    stops = [line for line in run.lines if line.kind == "stop"]
    if text[:1] in "sS" and text[1:].isdigit():
        number = int(text[1:])
        if 1 <= number <= len(stops):
            return stops[number - 1]
        return Problem(f"run {run.ref} has no stop {number}", where, f"it has {len(stops)} stops")
    line = run.line(text)
    if line is not None:
        return line
    lines = ", ".join(f"{line.n} {line.kind}" for line in run.lines) or "none"
    return Problem(f"run {run.ref} has no line {shown(text)}", where, f"its lines: {lines}")


def find_field(group: str, name: Any, where: str) -> Field | Problem:
    """A field by its name in the table, or by its label in either language."""
    text = (words(name) or "").strip()
    for row in GROUPS[group]:
        if folded(text) in (row.name, folded(row.en), folded(row.es)):
            return row
    names = [row.name for row in GROUPS[group]]
    labels = {folded(row.en): row.name for row in GROUPS[group]}
    near = nearest(text, (*names, *labels)) if text else None
    step = f"did you mean {labels.get(near, near)!r}?" if near else f"docs/fields.md lists the fields of {group!r}"
    fault = f"{shown(text)} is not a field of {group!r}" if text else f"it is not said which field of {group!r}"
    return Problem(fault, where, step)


def check_correct(raw: Mapping[str, Any], *, state: State, where: str, now: datetime, who: str = "") -> Checked:
    """A value that was wrong: {run, line, field, value, reason, who}, and perhaps why, and was as a check.

    What stood there is filled in from the book. A field that is not recorded yet is completed, not corrected.
    """
    work = _start(kinds.CORRECT, raw, state, where, now)
    spot = _spot(raw, state, where, work)
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
            work.problem(f"{spot.field.en} of {spot.run.ref} is not recorded yet", where, step)
        _was(spot, raw, where, work)
    payload = _amendment(spot, value)
    payload |= {"was": spot.now if spot else None, "reason": how, "why": why, "who": said}
    return finished(kinds.CORRECT, payload, raw, where, work, now, known=known)


def check_complete(raw: Mapping[str, Any], *, state: State, where: str, now: datetime, who: str = "") -> Checked:
    """What was not recorded yet: {run, line, field, value, who}; or a forgotten line: {run, add_after, line_values}.

    line_values holds 'line' (its kind) and its fields; add_after is the number of the line before it, '' or '0' for
    the beginning. Anything that stands there already ('not read' too) is a correction.
    """
    work = _start(kinds.COMPLETE, raw, state, where, now)
    if "line_values" in raw or "add_after" in raw:
        return _forgotten_line(raw, state, where, now, work, who)
    spot = _spot(raw, state, where, work)
    value = _value(spot, raw, where, work)
    said, why = named(raw, where, work, who), reason(raw, "why", where, work)
    known = spot is not None and value is not None and spot.holds(raw, value, "", why, said)
    if spot is not None and spot.now is not None and not known:
        work.problem(
            f"{spot.field.en} of {spot.run.ref} says {_brief(spot.now)} already",
            where,
            "if that is wrong, correct it and say whether it was keyed wrong or read wrong",
        )
    payload = {**_amendment(spot, value), "who": said, **({"why": why} if why else {})}
    return finished(kinds.COMPLETE, payload, raw, where, work, now, known=known)


def _forgotten_line(raw: Mapping[str, Any], state: State, where: str, now: datetime, work: Bench, who: str) -> Checked:
    for key in ("line", "field", "value"):
        if key in raw:
            work.problem(f"{key!r} does not go with add_after", where, "put the new line's fields under [line_values]")
    run = _run(raw.get("run"), state, where, work)
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
    fields = {}
    if kind is not None:
        work.night = replace(work.night) if run is None else night_of(run, work)
        fields = check_line(kind, values, "", f"{where}, [line_values] ({kind})", work)
    payload = {
        "run": "" if run is None else run.record,
        "after": "" if after == "0" else after,
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
    why = reason(raw, "why", where, work)
    if not why:
        work.problem("it is not said why", f"{where}, why", "a cancelled record still shows, with its reason")
    payload = {"record": record, "why": why, "who": named(raw, where, work, who)}
    return finished(kinds.CANCEL, payload, raw, where, work, now, known=known)


def find_record(name: Any, state: State, where: str) -> tuple[str, bool] | Problem:
    """The id of the record that a ref or (the beginning of) an id names, and whether it is cancelled already."""
    text = (words(name) or "").strip()
    run = state.run(text)
    if run is not None:
        return run.record, run.cancelled is not None
    records = {
        *(view.record for view in state.runs),
        *(change.record for view in state.runs for change in view.changes),
        *(ticket.record for ticket in state.tickets),
        *(attachment.record for attachment in state.attachments),
        *(acceptance.record for acceptance in state.acceptances),
    }
    found = [record for record in records if len(text) >= 6 and record.startswith(text)]
    if len(found) == 1:
        return found[0], False
    if found:
        return Problem(f"{len(found)} records begin with {shown(text)}", where, "give more of the id")
    if not text:
        return Problem("it is not said which record", where, "name a run by its date and rig, any other by its id")
    refs = [view.ref for view in reversed(state.runs)]
    return Problem(f"no record is called {shown(text)}", where, did_you_mean(text, refs, "`washwater list` shows them"))


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


def _run(name: Any, state: State, where: str, work: Bench) -> RunView | None:
    run = find_run(name, state, f"{where}, run")
    if isinstance(run, Problem):
        work.problems.append(run)
        return None
    return run


def _spot(raw: Mapping[str, Any], state: State, where: str, work: Bench) -> Spot | None:
    run = _run(raw.get("run"), state, where, work)
    if run is None:
        return None
    line = find_line(run, raw.get("line"), f"{where}, line")
    if isinstance(line, Problem):
        work.problems.append(line)
        return None
    row = find_field("run" if line is None else line.kind, raw.get("field"), f"{where}, field")
    if isinstance(row, Problem):
        work.problems.append(row)
        return None
    return Spot(run, line, row)


def _value(spot: Spot | None, raw: Mapping[str, Any], where: str, work: Bench) -> Any:
    if blank(raw.get("value")):
        work.problem("no value is given", f"{where}, value", "give it, or 'not read', or 'not applicable'")
        return None
    return None if spot is None else _read(spot, raw["value"], "value", where, work)


def _read(spot: Spot, raw: Any, path: str, where: str, work: Bench) -> Any:
    beside = spot.run.fields if spot.line is None else spot.line.fields
    work.night = night_of(spot.run, work)
    return check_value(spot.group, spot.field, raw, path, f"{where}, {path}", work, beside)


def _was(spot: Spot, raw: Mapping[str, Any], where: str, work: Bench) -> None:
    """`was` is a check on the reader's eyes: it must be what the book says now."""
    if blank(raw.get("was")) or spot.now is None:
        return
    trial = replace(work, problems=[], notes=[], typed={})
    was = _read(spot, raw["was"], "was", where, trial)
    work.problems += trial.problems
    if not trial.problems and was != spot.now:
        work.problem(
            f"{spot.field.en} of {spot.run.ref} does not say {_brief(was)} but {_brief(spot.now)}",
            f"{where}, was",
            "look whether this is the right run, line and field",
        )


def _amendment(spot: Spot | None, value: Any) -> dict[str, Any]:
    if spot is None:
        return {}
    line = "" if spot.line is None else spot.line.n
    return {"run": spot.run.record, "line": line, "field": spot.field.name, "value": value}


def _missing_or_strange(raw: Mapping[str, Any], key: str, what: str) -> str:
    return f"it is not said {what}" if blank(raw.get(key)) else f"{shown(raw[key])} is not an answer to {what}"


def _brief(value: Any) -> str:
    """A stored value on one line, for a message."""
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {part}" for key, part in value.items())
    return f"a list of {len(value)}" if isinstance(value, list) else shown(value)
