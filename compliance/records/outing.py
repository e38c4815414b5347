"""Two hand-ins of one outing, told by a record 'same outing', become one run.

The lines of the second follow those of the first, their numbers continued; nothing is ordered by the clocks of two
devices. What both say alike counts once: a line of the same thing at the same time, or the reading with which one
ends and the other begins. What they say differently stays visible as a change of kind 'same outing':

* the second speaks for the end of the outing, the first for its start and for all else;
* of two answers to what was seen, used or done, the graver stands for the whole, and each for the stops of its own
  part, about which it was asked;
* of two amounts neither stands, unless the one goes on where the other ends: nobody knows whether they are two halves
  or two words for one figure, until somebody completes it.

All this follows from the records alone and not from the order in which they came.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal, InvalidOperation
from typing import Any, Final

from compliance.records.changes import added_number
from compliance.records.fields import GROUPS, MEASURE
from compliance.records.kinds import SAME_OUTING
from compliance.records.views import Change, LineView, Outing, Part, RunView

AT_THE_END: Final = ("end", "where", "ticket")
"""Fields of a run that tell how it ended."""
GRAVER: Final[Mapping[str, tuple[str, ...]]] = {
    "got_away": ("yes", "did not look", "not read"),
    "drains": ("except", "not watched", "not read"),
    "agent_use": ("used",),
    "rain": ("heavy", "some", "not known"),
    "filters": ("changed", "cleaned"),
    "sock": ("changed", "cleaned"),
    "cartridges": ("changed", "cleaned"),
}
"""Answers about a part of an outing that hold for the whole of it, gravest first."""
OF_A_STOP: Final = tuple(row.name for row in GROUPS["stop"] if row.name in GRAVER)
"""Of these, the answers that each stop has too: its own, or else its run's."""
AMOUNTS: Final = tuple(row.name for row in GROUPS["run"] if row.type == MEASURE)

_ENDS: Final[Mapping[str, tuple[str, str, str]]] = {
    "meter": ("meter", "start", "end"),
    "mark": ("tank", "before", "after"),
}
"""Method of an amount -> what was read, and the two looks; the one may go on where the other ends."""
_NAMED: Final[Mapping[str, str]] = {
    "stop": "site", "reading": "of", "hand over": "place", "take on": "place", "led away": "place",
    "tank full": "tank", "use again": "tank", "move": "tank", "agent in tank": "agent",
}  # fmt: skip
"""Kind of line -> the field that tells what it is about: with its time, that makes it one line and no other."""


# ---- which hand-ins belong together --------------------------------------------------------------------------


def chains(known: Iterable[str], outings: Iterable[Outing]) -> list[list[tuple[str, Outing | None]]]:
    """The hand-ins of each outing of more than one, first to last, each with the record that joined it to the others.

    known: the records of the runs that count. A run that is cancelled or not in the book yet is passed over. Where a
    run is said to follow two others, or to be followed by two, the earliest record in the book is taken.
    """
    after: dict[str, Outing] = {}
    taken: set[str] = set()
    for outing in outings:
        if outing.first not in after and outing.second not in taken and outing.first != outing.second:
            after[outing.first] = outing
            taken.add(outing.second)
    counting = set(known)
    found = []
    for first in (first for first in after if first not in taken):
        chain: list[tuple[str, Outing | None]] = [(first, None)]
        while (next_ := after.get(chain[-1][0])) is not None:
            chain.append((next_.second, next_))
        here = [one for one in chain if one[0] in counting]
        if len(here) > 1:
            found.append(here)
    return found


def moved(runs: Iterable[RunView]) -> dict[tuple[str, str], tuple[str, str]]:
    """(record, line) of every hand-in that was joined to others -> where that stands now; line '' for the run."""
    found = {}
    for run in runs:
        for part in run.parts:
            found[part.view.record, ""] = (run.record, "")
            found.update(((part.view.record, own), (run.record, n)) for own, n in part.lines.items())
    return found


# ---- joining them --------------------------------------------------------------------------------------------


def join(parts: Sequence[tuple[RunView, Outing | None]]) -> RunView:
    """One run out of its hand-ins, first to last, each with the record that joined it to the one before."""
    first = parts[0][0]
    run = replace(first, parts=(Part(first, {line.n: line.n for line in first.lines}),))
    for view, outing in parts[1:]:
        assert outing is not None
        run = _two(run, view, outing)
    return run


def _two(run: RunView, view: RunView, outing: Outing) -> RunView:
    fields, differ = _fields(run, view)
    said = [name for name in OF_A_STOP if _differ(run.get(name), view.get(name))]
    twins = dict(_twins(run.lines, view.lines))
    before = [_with_answers(line, run, said, twins.values()) for line in run.lines]
    after = [_with_answers(line, view, said, twins) for line in view.lines]
    lines, numbers, unlike = _lines(before, replace(view, lines=tuple(after)))
    changes = [
        Change(outing.record, SAME_OUTING, n, name, was, now, "", outing.why, outing.who, outing.received)
        for n, name, was, now in (*(("", *one) for one in differ), *unlike)
    ]
    own = [replace(change, line=numbers[change.line]) if change.line else change for change in view.changes]
    latest = max(run, view, key=lambda one: one.seq)
    return replace(
        run,
        fields=fields,
        lines=tuple(lines),
        changes=(*run.changes, *own, *changes),
        parts=(*run.parts, Part(view, numbers, outing.record)),
        handed_in=latest.handed_in,
        received=latest.received,
    )


def _differ(first: Any, second: Any) -> bool:
    """Whether both answered, and not alike."""
    return None not in (first, second) and first != second


def _with_answers(line: LineView, run: RunView, names: Sequence[str], both: Collection[str]) -> LineView:
    """A stop with what its own hand-in answered for all of its stops, where the other one answered otherwise.

    both: the lines that the two hand-ins entered; there both answers hold, and so the graver.
    """
    if line.kind != "stop" or line.n in both:
        return line
    answers = {name: run.get(name) for name in names if line.get(name) is None}
    return replace(line, fields={**line.fields, **answers}) if answers else line


# ---- the fields of the run -----------------------------------------------------------------------------------


def _fields(run: RunView, view: RunView) -> tuple[dict[str, Any], list[tuple[str, Any, Any]]]:
    """The fields of the outing, and (field, what does not stand, what does) for each in which the two differ."""
    fields, differ = dict(run.fields), []
    for name, second in view.fields.items():
        first = fields.get(name)
        if first == second:
            continue
        now = second if first is None and name != "start" else _agreed(name, first, second)
        if now is None:
            fields.pop(name, None)
        else:
            fields[name] = now
        differ += [(name, said, now) for said in (first, second) if said is not None and now not in (said, None)]
        differ += [(name, said, None) for said in (first, second) if said is not None and now is None]
    return fields, differ


def _agreed(name: str, first: Any, second: Any) -> Any:
    """What stands where the two hand-ins differ; None where neither can."""
    if name in AMOUNTS:
        return _goes_on(first, second)
    if name in AT_THE_END:
        return second
    graver = GRAVER.get(name, ())
    if second in graver and (first not in graver or graver.index(second) < graver.index(first)):
        return second
    return first


def _goes_on(first: Any, second: Any) -> dict[str, Any] | None:
    """One measure out of two of the same instrument, the second of which begins with the look that ends the first."""
    if not isinstance(first, Mapping) or not isinstance(second, Mapping) or first["method"] != second["method"]:
        return None
    ends = _ENDS.get(first["method"])
    if ends is None:
        return None
    what, begin, end = ends
    plain = all(set(one) == {"method", *ends} for one in (first, second))
    if not plain or first[what] != second[what] or not _same_look(first[end], second[begin]):
        return None
    return {**first, end: second[end]}


def _same_look(one: str, other: str) -> bool:
    """Whether two figures are one: word for word, or as numbers; 'not read' is none."""
    try:
        return Decimal(one) == Decimal(other)
    except InvalidOperation:
        return one == other and one != "not read"


# ---- lines ---------------------------------------------------------------------------------------------------


def _lines(
    before: Sequence[LineView], view: RunView
) -> tuple[list[LineView], dict[str, str], list[tuple[str, str, Any, Any]]]:
    """All lines in order; the second's own numbers -> the outing's; and what two entries of one line say differently.

    A line that both entered keeps the number of the first, and the others of the second keep the numbers that they
    would have without it: a correction must not give another line its number.
    """
    lines = {line.n: line for line in before}
    last = max((int(n.partition(".")[0]) for n in lines), default=0)
    numbers: dict[str, str] = {}
    unlike: list[tuple[str, str, Any, Any]] = []
    twins = dict(_twins(before, view.lines))
    for line in view.lines:
        twin = twins.get(line.n)
        if twin is None:
            n = numbers[line.n] = _continued(line.n, last, lines)
            lines[n] = LineView(n, line.kind, line.fields, (view.record, line.n))
            continue
        numbers[line.n] = twin
        stands = lines[twin]
        lines[twin] = replace(stands, fields={**line.fields, **stands.fields})
        unlike += [
            (twin, name, value, stands.fields[name])
            for name, value in line.fields.items()
            if name in stands.fields and stands.fields[name] != value
        ]
    return list(lines.values()), numbers, unlike


def _continued(n: str, last: int, lines: Mapping[str, LineView]) -> str:
    """The number in the outing of a line of a later hand-in: '2.1' of it is '13.1' behind eleven lines."""
    whole, _, added = n.partition(".")
    if whole == "0":
        return added_number(str(last), lines)
    return f"{last + int(whole)}" + (f".{added}" if added else "")


def _twins(before: Sequence[LineView], after: Sequence[LineView]) -> Iterator[tuple[str, str]]:
    """(number in the second hand-in, number in the outing) of each line that both entered."""
    free = {key: line.n for line in reversed(before) if (key := _key(line)) is not None}
    for line in after:
        key = _key(line)
        if key is not None and key in free:
            yield line.n, free.pop(key)
    yield from _last_look(before, after)


def _key(line: LineView) -> tuple[str, str, str] | None:
    """What makes a line one and no other: its kind, what it is about, its time; None without these."""
    when = line.get("arrived" if line.kind == "stop" else "at")
    about = line.get(_NAMED.get(line.kind, ""))
    if not isinstance(when, str) or "T" not in when or not isinstance(about, str):
        return None
    return line.kind, about, when


def _last_look(before: Sequence[LineView], after: Sequence[LineView]) -> Iterator[tuple[str, str]]:
    """Readings with which the second hand-in begins and the first ends: one look, where no two times say otherwise."""
    ended = _readings(reversed(before))
    for line in _readings(after):
        for one in ended:
            alike = all(one.get(name) == line.get(name) for name in ("of", "shows"))
            if alike and line.get("shows") != "not read" and None in (one.get("at"), line.get("at")):
                yield line.n, one.n
                ended.remove(one)
                break


def _readings(lines: Iterable[LineView]) -> list[LineView]:
    """The readings at the beginning, up to the first line that is none."""
    found = []
    for line in lines:
        if line.kind != "reading":
            break
        found.append(line)
    return found
