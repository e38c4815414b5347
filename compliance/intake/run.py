"""A night as it is handed in: the run, its lines, and all that is wrong with them at once."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Final

from compliance.intake.cautions import cautions_for
from compliance.intake.checked import Bench, Checked, bench, today
from compliance.intake.entries import record_id
from compliance.intake.frame import FRAME, claimed, handed_in, id_text
from compliance.intake.moments import Night, check_date, clock_of
from compliance.intake.near import did_you_mean
from compliance.intake.serial import id_text_of, serial_id
from compliance.intake.text import check_text, shown, words
from compliance.intake.values import MOST_ITEMS, blank, check_fields
from compliance.records import fields as table
from compliance.records import kinds
from compliance.records.answer import NOT_APPLICABLE, WRITTEN
from compliance.records.fields import GROUPS, LINE_KINDS
from compliance.records.measure import Measure, read_measure
from compliance.records.names import folded
from compliance.records.problem import Problem
from compliance.records.quantity import Quantity, stored
from compliance.records.state import State

NO_WATER: Final = "no water"
ALL_KINDS: Final = "docs/fields.md lists every kind of line"
_KINDS: Final = {folded(kind): kind for kind in LINE_KINDS}
_FIRST_PATH = re.compile(r"(?:[0-9]{1,4}/)?[a-z_]{1,40}(?:/[a-z_0-9]{1,40}){0,2}")


def check_run(
    raw: Mapping[str, Any], *, state: State | None, where: str, now: datetime, language: str = "en"
) -> Checked:
    """Look at one night as it came from any door.

    raw: keys of the group 'run', 'line' with a list of tables, and of the frame 'id', 'who', 'handed_in', 'first'
    (path -> the figure that stood there before a comparison was shown). state: for its registers, unit and zone.
    now: the clock, with offset. The payload is as in `records.kinds`; paths in 'typed' and 'first' are
    'used', 'used/start', '3/amount', '3/drain_list/1/on' (the third line, its first drain).
    """
    work = bench(state, now)
    lines = _lines(raw, where, work)
    work.night = _night(raw, lines, work)
    fields = check_fields("run", raw, "", where, work, extra=FRAME | {"line", "first"})
    checked = [found for n, line in enumerate(lines, start=1) if (found := _line(n, line, where, work)) is not None]
    device_time, own_id = handed_in(raw, where, work), _own_id(raw, fields, where, work)
    who = claimed(raw, where, work) or fields.get("keyed_by") or fields.get("lead") or ""
    first = _first(raw, where, work)
    if fields.get("cancelled", NOT_APPLICABLE) in WRITTEN and not any(_kind(line) == "stop" for line in lines):
        work.problem(
            "no stop was given",
            where,
            "add [[line]] with line = \"stop\" and its site, worked or with not_worked = \"the reason\"; "
            "or cancelled = \"the reason\" for the whole run",
        )  # fmt: skip
    _start_on_its_date(fields, where, work)
    _water_that_is_nowhere(fields, checked, where, work)
    work.notes += _notes(fields, checked, where, work, now, language)
    payload: dict[str, Any] = {"fields": fields, "lines": checked, "typed": work.typed, "who": who}
    if first:
        payload["first"] = first
    return Checked(
        kinds.RUN,
        None if work.problems else payload,
        event_time(fields),
        tuple(work.problems),
        () if work.problems else cautions_for(fields, checked, work.registers, language),
        tuple(dict.fromkeys(work.notes)),
        own_id,
        device_time,
    )


def _own_id(raw: Mapping[str, Any], fields: Mapping[str, Any], where: str, work: Bench) -> str:
    """The id that came with the night; a card that it was written on is its id, so that one card is one night."""
    given, card = id_text(raw, where, work), fields.get("card", NOT_APPLICABLE)
    if card in WRITTEN:
        return given
    if given and record_id(given) != serial_id(card):
        step = "leave the id out: the serial of the card is the id"
        work.problem(f"both a card ({card}) and an id ({shown(given)}) are given", where, step)
    return id_text_of(card)


def event_time(fields: Mapping[str, Any]) -> str:
    """When a run happened: its start where one is given, or else its date."""
    start = str(fields.get("start", ""))
    return start if "T" in start else str(fields.get("date", ""))


def _lines(raw: Mapping[str, Any], where: str, work: Bench) -> list[Mapping[str, Any]]:
    lines = raw.get("line", ())
    if not isinstance(lines, Sequence) or isinstance(lines, str) or not all(isinstance(x, Mapping) for x in lines):
        work.problem(f"'line' is {shown(lines)}, not a list of lines", where, "write each line as a table, [[line]]")
        return []
    if len(lines) > MOST_ITEMS:
        work.problem(f"{len(lines)} lines are more than the {MOST_ITEMS} that are taken", where, "split the run")
        return []
    return list(lines)


def _kind(line: Mapping[str, Any]) -> str | None:
    kind = line.get("line")
    return _KINDS.get(folded(kind)) if isinstance(kind, str) else None


def _line(n: int, line: Mapping[str, Any], where: str, work: Bench) -> dict[str, Any] | None:
    kind = _kind(line)
    if kind is None:
        here = f"{where}, line {n}"
        if blank(line.get("line")):
            work.problem("it is not said what this line is", here, f'add line = "stop", for example; {ALL_KINDS}')
        else:
            step = did_you_mean(words(line["line"]) or "", LINE_KINDS, ALL_KINDS)
            work.problem(f"{shown(line['line'])} is not a kind of line", here, step)
        return None
    fields = check_line(kind, line, f"{n}/", f"{where}, line {n} ({kind})", work)
    return {"n": str(n), "line": kind, "fields": fields}


def check_line(kind: str, line: Mapping[str, Any], path: str, where: str, work: Bench) -> dict[str, Any]:
    """The fields of one line as stored; its problems are on the bench."""
    return check_fields(kind, line, path, where, work, extra=frozenset({"line"}))


def _night(raw: Mapping[str, Any], lines: Sequence[Mapping[str, Any]], work: Bench) -> Night:
    """What times without a date are counted from: the start, or else the first time that is given."""
    day = check_date(raw.get("date"), "")
    first = next((clock for clock in map(clock_of, _moments(raw, lines)) if clock is not None), None)
    known = None if isinstance(day, Problem) else date.fromisoformat(day)
    if first is not None and first[0] is not None:
        known = first[0]
    return replace(work.night, day=known, first=None if first is None else first[1])


def _moments(raw: Mapping[str, Any], lines: Sequence[Mapping[str, Any]]) -> Iterator[Any]:
    yield raw.get("start")
    for line in lines:
        yield from _moments_in(_kind(line) or "", line)
    yield raw.get("end")


def _moments_in(group: str, raw: Mapping[str, Any]) -> Iterator[Any]:
    for row in GROUPS.get(group, ()):
        if row.type == table.MOMENT:
            yield raw.get(row.name)
        elif row.type == table.GROUP and isinstance(raw.get(row.name), list | tuple):
            for item in raw[row.name]:
                if isinstance(item, Mapping):
                    yield from _moments_in(row.of, item)


def _start_on_its_date(fields: Mapping[str, Any], where: str, work: Bench) -> None:
    start, day = fields.get("start"), fields.get("date")
    if isinstance(start, str) and "T" in start and isinstance(day, str) and start[:10] != day:
        work.problem(
            f"the start {start} is not on the date of the run, {day}",
            f"{where}, Start (start)",
            "a run belongs to the day on which it started: correct one of the two",
        )


GONE: Final = frozenset({"hand over", "use again", "led away", "escape", "move"})
"""Lines that say where water went."""


def _water_that_is_nowhere(
    fields: Mapping[str, Any], lines: Sequence[Mapping[str, Any]], where: str, work: Bench
) -> None:
    """'No water' beside water that was recovered, and no line that says where it went: one of the two is a slip."""
    amount = stated_amount(fields.get("recovered")) if "recovered" in fields else None
    if fields.get("where") != NO_WATER or amount is None or not amount.low:
        return
    if any(line["line"] in GONE for line in lines):
        return
    step = "say where the water is: 'aboard', the name of a place, or 'not known'; or correct what was recovered"
    fault = f"{fields['recovered']} recovered, and the water is said to be nowhere ({NO_WATER!r})"
    work.problem(fault, f"{where}, Where the water is (where)", step)


def _first(raw: Mapping[str, Any], where: str, work: Bench) -> dict[str, str]:
    """The figures that stood before a comparison was shown."""
    first = raw.get("first")
    if first is None:
        return {}
    if not isinstance(first, Mapping) or not all(isinstance(path, str) for path in first):
        work.problem(
            f"'first' is {shown(first)}, not a table", where, "it is a table: path of a field -> the figure given first"
        )
        return {}
    kept = {}
    for path, value in first.items():
        if not _FIRST_PATH.fullmatch(path):
            work.problem(f"{shown(path)} is not the path of a field", f"{where}, first", "write it like '3/amount'")
            continue
        text = check_text(value, f"{where}, first, {path}", name=True)
        if isinstance(text, Problem):
            work.problems.append(text)
        else:
            kept[path] = text
    return kept


def _notes(
    fields: Mapping[str, Any],
    lines: Sequence[Mapping[str, Any]],
    where: str,
    work: Bench,
    now: datetime,
    language: str,
) -> Iterator[str]:
    """What to look at again; none of it stops a hand-in."""
    day, here = fields.get("date"), today(now, work.night.zone)
    if isinstance(day, str) and day > here:
        yield f"{where}: {_say('day ahead', language, day=day, today=here)}"
    over = more_than_it_holds(fields, lines, work, language)
    if over is not None:
        yield f"{where}: {_say('over again', language, over=over)}"


def _say(phrase: str, language: str, **values: object) -> str:
    from compliance.intake.wording import say  # a crew waits for a hand-in, and most have nothing to look at again

    return say(phrase, language, **values)


def more_than_it_holds(
    fields: Mapping[str, Any], lines: Sequence[Mapping[str, Any]], work: Bench, language: str = "en"
) -> str | None:
    """That more was recovered than the rig's recovery tanks hold, though nothing was handed over on the way."""
    if any(line["line"] in ("hand over", "use again", "move", "escape") for line in lines) or "recovered" not in fields:
        return None
    stated = stated_amount(fields["recovered"])
    tanks = work.registers.tanks(str(fields.get("rig", "")), "recovery")
    if stated is None or not tanks or any("capacity" not in tank for tank in tanks):
        return None
    held = [stored(tank["capacity"]).in_unit(work.unit).low for tank in tanks if tank["capacity"] not in WRITTEN]
    room = sum((size for size in held if size is not None), start=Decimal(0))
    least = stated.in_unit(work.unit).low
    if len(held) < len(tanks) or least is None or least <= room:
        return None
    return _say("more than it holds", language, amount=fields["recovered"], room=f"{room:.0f}", unit=work.unit)


def stated_amount(form: Any) -> Quantity | None:
    """The amount of a measure that names one; None for readings, and for an answer without a value."""
    measure = read_measure(form)
    amount = measure.values.get("amount") if isinstance(measure, Measure) else None
    return amount if isinstance(amount, Quantity) else None
