"""Handing in: one append, acknowledged after it is on the disk, in at most three lines.

Handing in the same thing twice changes nothing: the same id with the same content, or a night without an id that the
book holds word for word. The same id with other content is refused, both sides shown.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from compliance.intake.checked import Checked
from compliance.intake.entries import Token, entry
from compliance.records import kinds
from compliance.records.answer import WRITTEN
from compliance.records.envelope import Entry, Record
from compliance.records.fields import GROUPS, OFFICE, PROOF, TRUCK
from compliance.records.names import folded, slug
from compliance.records.problem import ComplianceError, Problem
from compliance.records.quick import dataclass
from compliance.records.state import State

if TYPE_CHECKING:
    from compliance.book.store import Appended, Book

MOST_THINGS: Final = 3
"""What a tired person is told to do before leaving: at most so much."""
MOST_LABELS: Final = 4
"""Fields named in the line about what the office will complete."""

WORDS: Final[Mapping[str, Mapping[str, str]]] = {
    "en": {
        "handed in": "handed in as {name}",
        "known": "handed in before as {name}; nothing was changed",
        "cancelled": "handed in before as {name} and cancelled since; nothing changed (an id of its own makes it new)",
        "nothing new": "the book says so already; nothing was changed",
        "before": "before you leave: {things}",
        "office": "the office will complete: {labels}",
        "more": "{labels} and {n} more",
        "done": "the office has nothing to complete",
    },
    "es": {
        "handed in": "enviado como {name}",
        "known": "ya se había enviado como {name}; no se cambió nada",
        "cancelled": "ya se había enviado como {name} y después se canceló; nada cambió (con un id propio es nuevo)",
        "nothing new": "el libro ya lo dice; no se cambió nada",
        "before": "antes de irse: {things}",
        "office": "la oficina completa lo demás: {labels}",
        "more": "{labels} y {n} más",
        "done": "la oficina no tiene nada que completar",
    },
}  # fmt: skip


@dataclass(frozen=True)
class HandedIn:
    """What became of an entry. record: in its place in the book, None when there was nothing new to write.

    new: whether it was written now. ref: how people name it. lines: at most three, for the person who handed it in.
    """

    record: Record | None
    new: bool
    ref: str
    lines: tuple[str, ...]


def hand_in(
    book: Book,
    checked: Checked,
    *,
    state: State | None,
    now: str,
    token: Token,
    receipt_time: str = "",
    things: Sequence[str] = (),
    wanted: Sequence[str] = (),
    language: str = "en",
) -> HandedIn:
    """Write one checked entry, or find that the book holds it already.

    state: of the book before. now: the device's clock, RFC 3339; receipt_time: that of the machine of the book, `now`
    when it is the same. things: what is to be done before leaving, most urgent first; at most three are told. wanted:
    labels of what the rules miss besides the fields that are simply not there: a ticket to come, a drain of a list.
    Raises ComplianceError when there are problems, or the book cannot be written, and Conflict when the id is in use.
    """
    say = WORDS[language]
    if checked.problems:
        raise ComplianceError(*checked.problems)
    if checked.payload is None:
        return HandedIn(None, False, "", (say["nothing new"],))
    before = _same_night(book, checked, state)
    if before is not None:
        return _known(before, state, language)
    made = entry(checked, now=now, token=token)
    appended = _appended(book, made, receipt_time or now)
    if not appended.new:
        return _known(book.record(made.id), state, language)
    record = appended.new[0]
    if record.kind != kinds.RUN:
        return HandedIn(record, True, record.id, (say["handed in"].format(name=_named(record)),))
    ref = next_ref(record.payload["fields"], state)
    return HandedIn(record, True, ref, _three_lines(record, ref, things, wanted, language))


def _appended(book: Book, made: Entry, receipt_time: str) -> Appended:
    """Append; an id that is in use is compared by what its entry says, not by when or how it was spelled.

    The clock of the device goes on between two hand-ins of one draft, and a register may have learned a name.
    """
    from compliance.book.incoming import Conflict

    try:
        return book.append([made], receipt_time=receipt_time)
    except Conflict:
        held = book.record(made.id)
        if held.kind == made.kind == kinds.RUN and as_typed(held.payload) == as_typed(made.payload):
            made = replace(made, payload=held.payload, event_time=held.event_time)
        return book.append([replace(made, device_time=held.device_time)], receipt_time=receipt_time)


def hand_in_all(
    book: Book, checked: Sequence[Checked], *, now: str, token: Token, receipt_time: str = ""
) -> list[Record]:
    """Write many entries, all or none; those with nothing new are passed over. Returns the records that are new.

    Raises ComplianceError with the problems of all of them.
    """
    made = [entry(one, now=now, token=token) for one in _sound(checked) if one.payload is not None]
    return list(book.append(made, receipt_time=receipt_time or now).new) if made else []


def start_book(folder: Path, checked: Sequence[Checked], *, now: str, token: Token) -> Book:
    """Start a book from a checked registers file; the entry of kind 'book' comes first in it.

    Raises ComplianceError with all problems, or when there is a book in the folder already.
    """
    from compliance.book.store import Book

    sound = _sound(checked)
    first = next((one for one in sound if one.kind == kinds.BOOK), None)
    if first is None:
        raise ComplianceError.one(
            "the business is missing, with which a book begins", str(folder), "add [business] with name, unit, zone"
        )
    book = Book.create(folder, entry(first, now=now, token=token), now=first.device_time or now)
    hand_in_all(book, [one for one in sound if one is not first], now=now, token=token)
    return book


def _sound(checked: Sequence[Checked]) -> Sequence[Checked]:
    problems: list[Problem] = [problem for one in checked for problem in one.problems]
    if problems:
        raise ComplianceError(*problems)
    return checked


def next_ref(fields: Mapping[str, Any], state: State | None) -> str:
    """How people will name a run that is handed in now: its day and rig, with a number from the second on."""
    day, rig = str(fields["date"]), slug(str(fields["rig"]))
    handed_in = [one for run in state.runs for one in run.handed_in_as] if state is not None else []
    before = sum(one.day == day and slug(str(one.get("rig"))) == rig for one in handed_in)
    return f"{day}-{rig}" if before == 0 else f"{day}-{rig}-{before + 1}"


def _same_night(book: Book, checked: Checked, state: State | None) -> Record | None:
    """The run of the book that says the same word for word, for a night that came without an id of its own."""
    if checked.kind != kinds.RUN or checked.id_text or state is None or checked.payload is None:
        return None
    registers, fields, said = state.registers, checked.payload["fields"], as_typed(checked.payload)
    rig = registers.key("rig", str(fields["rig"]))
    like = [
        run.record
        for joined in state.runs
        for run in joined.handed_in_as
        if (run.day == fields["date"] and registers.key("rig", str(run.get("rig"))) == rig)
        or any(change.field in ("rig", "date") for change in run.changes)
    ]
    return next((record for record in book.by_ids(like).values() if as_typed(record.payload) == said), None)


def as_typed(payload: Mapping[str, Any]) -> Any:
    """A night as it was typed, case and accents aside: the same whatever the registers have learned since.

    Who handed it in and who keyed it stay out of it: the same night from two hands is one night.
    """
    whole = copy.deepcopy([payload["fields"], {line["n"]: [line["line"], line["fields"]] for line in payload["lines"]}])
    for path, text in payload["typed"].items():
        first, *rest = path.split("/")
        at: Any = whole[1][first][1] if first[0].isdigit() else whole[0]
        for part in (rest if first[0].isdigit() else [first, *rest])[:-1]:
            at = at[int(part) - 1] if isinstance(at, list) else at[part]
        at[path.rpartition("/")[2]] = text
    whole[0].pop("keyed_by", None)
    return _folded(whole)


def _folded(value: Any) -> Any:
    if isinstance(value, str):
        return folded(value)
    if isinstance(value, dict):
        return {key: _folded(part) for key, part in value.items()}
    return [_folded(part) for part in value] if isinstance(value, list) else value


def _known(record: Record, state: State | None, language: str) -> HandedIn:
    run = state.run(record.id) if state is not None else None
    ref = record.id if run is None else run.ref
    word = "known" if run is None or run.cancelled is None else "cancelled"
    return HandedIn(record, False, ref, (WORDS[language][word].format(name=ref),))


def _named(record: Record) -> str:
    p = record.payload
    match record.kind:
        case kinds.REGISTER | kinds.SAME_AS:
            return f"{p['what']} {p['name']!r}"
        case kinds.TICKET:
            return f"{record.kind} {p['fields']['number']} ({record.id[:8]})"
        case _:
            return f"{record.kind} {record.id[:8]}"


def _three_lines(
    record: Record, ref: str, things: Sequence[str], wanted: Sequence[str], language: str
) -> tuple[str, ...]:
    say = WORDS[language]
    lines = [say["handed in"].format(name=ref)]
    if things:
        lines.append(say["before"].format(things="; ".join(thing.rstrip(".") for thing in things[:MOST_THINGS])))
    labels = list(dict.fromkeys([*not_yet(record.payload, language), *wanted]))
    if not labels:
        return (*lines, say["done"])
    shown = ", ".join(labels[:MOST_LABELS])
    if len(labels) > MOST_LABELS:
        shown = say["more"].format(labels=shown, n=len(labels) - MOST_LABELS)
    return (*lines, say["office"].format(labels=shown))


def not_yet(payload: Mapping[str, Any], language: str) -> list[str]:
    """Labels of the fields of a night that somebody is still going to be asked for, each once, the run's first.

    'not read' is an answer and is not asked again; a stop that was not worked is asked for nothing more. What
    every worked stop answers is not asked of the run.
    """
    day = str(payload["fields"].get("date", ""))
    wanted = [("run", payload["fields"])]
    wanted += [
        (line["line"], line["fields"]) for line in payload["lines"] if not _told(line["fields"].get("not_worked"))
    ]
    stops = [fields for group, fields in wanted if group == "stop"]
    labels = (
        row.es if language == "es" else row.en
        for group, fields in wanted
        if not _told(payload["fields"].get("cancelled"))
        for row in GROUPS[group]
        if not (group == "run" and stops and all(row.name in stop for stop in stops))
        if row.need in (TRUCK, OFFICE, PROOF) and row.name not in fields and row.since <= day
    )
    return list(dict.fromkeys(labels))


def _told(reason: Any) -> bool:
    """Whether a reason was given; 'not applicable' is none."""
    return reason is not None and reason not in WRITTEN
