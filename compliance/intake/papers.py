"""What comes after the night: a ticket, a file to keep, a finding that somebody accepts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any, Final

from compliance.intake.checked import Bench, Checked, bench, today
from compliance.intake.frame import FRAME, claimed, finished, named, reason, strange_keys
from compliance.intake.moments import check_date
from compliance.intake.near import did_you_mean
from compliance.intake.spots import find_line, find_record, find_run
from compliance.intake.text import check_text, shown, words
from compliance.intake.values import MOST_ITEMS, blank, check_fields
from compliance.records import kinds
from compliance.records.answer import without_value
from compliance.records.fields import WHERE_WORDS
from compliance.records.problem import Problem
from compliance.records.state import State
from compliance.records.ticketing import ticket_number
from compliance.records.views import RunView, TicketView

LARGEST_FILE: Final = 50_000_000
"""Bytes of one attachment."""
MEDIA: Final[Mapping[str, str]] = {
    ".jpg": "image/jpeg", ".jpeg": "image/jpeg", ".png": "image/png", ".heic": "image/heic", ".webp": "image/webp",
    ".pdf": "application/pdf", ".txt": "text/plain", ".csv": "text/csv",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}  # fmt: skip
"""Kinds of file that are kept, by the end of their name. Nothing in them is ever run or parsed."""

MOST_NAMED: Final = 10
"""Findings that an error names."""

_UNPRINTED = '\\/:*?"<>|'


def check_ticket(raw: Mapping[str, Any], *, state: State, where: str, now: datetime, who: str = "") -> Checked:
    """A ticket: fields of the group 'ticket' and handovers [{run, line}], the handovers that it is for.

    line may be left out for a run that names the place of its water without a line of its own. A ticket without
    handovers is for the one that has its number at its place, once that is in the book: it may come before the card.
    """
    work = bench(state, now)
    fields = check_fields("ticket", raw, "", where, work, extra=FRAME | {"handovers"})
    handovers = [
        spot
        for n, item in enumerate(_handovers(raw, where, work), start=1)
        if (spot := _handover(item, state, f"{where}, handover no. {n}", work)) is not None
    ]
    if not raw.get("handovers") and without_value(fields.get("place")) is not None:
        step = "name the place whose ticket it is, or add handovers = [{run, line}]"
        work.problem("it is not said which handover the ticket is for, nor of which place it is", where, step)
    who = claimed(raw, where, work) or who
    known = any(ticket.fields == fields and _alike(ticket, handovers) for ticket in state.tickets)
    if not known and (there := _of_its_number(fields, state)):
        work.notes.append(
            f"{where}: ticket {fields.get('number')} is in the book already as {', '.join(there)}; if it is the same "
            "paper, cancel one of the two and complete or correct the other"
        )
    payload = {"fields": fields, "handovers": [_as_handed_in(spot, state) for spot in handovers], "who": who}
    day = str(fields.get("date", ""))
    written = day if day[:1].isdigit() else ""
    return finished(kinds.TICKET, payload, raw, where, work, now, known=known, event_time=written)


def _handovers(raw: Mapping[str, Any], where: str, work: Bench) -> list[Mapping[str, Any]]:
    items = raw.get("handovers") or ()
    if not isinstance(items, list | tuple) or not all(isinstance(i, Mapping) for i in items) or len(items) > MOST_ITEMS:
        step = 'write handovers = [{run = "2026-09-14-big-blue", line = "4"}]'
        work.problem(f"'handovers' is {shown(items)}, not a list of handovers", where, step)
        return []
    return list(items)


def _alike(ticket: TicketView, handovers: Sequence[tuple[str, str]]) -> bool:
    """Whether a ticket of the book is for these handovers, or for whichever has its number where none are named."""
    if not handovers:
        return ticket.by_number or bool(ticket.waits)
    return set(ticket.handovers) == set(handovers)


def _of_its_number(fields: Mapping[str, Any], state: State) -> list[str]:
    """The beginnings of the ids of tickets that have its number; of another place only where both name theirs."""
    number, place = ticket_number(fields.get("number")), fields.get("place")

    def elsewhere(other: Any) -> bool:
        said = without_value(place) is None and without_value(other) is None
        return said and state.registers.key("place", str(place)) != state.registers.key("place", str(other))

    return [
        ticket.record[:8]
        for ticket in state.tickets
        if number is not None and ticket_number(ticket.fields.get("number")) == number
        if not elsewhere(ticket.fields.get("place"))
    ]


def _as_handed_in(spot: tuple[str, str], state: State) -> dict[str, str]:
    """A line of a run as it is written down: by the record of its own hand-in."""
    run = state.run(spot[0])
    record, line = spot if run is None else run.origin(spot[1])
    return {"run": record, "line": line}


def _handover(item: Mapping[str, Any], state: State, where: str, work: Bench) -> tuple[str, str] | None:
    """A handover by the record of its run and its line there."""
    strange_keys(item, ("run", "line"), "handover", where, work)
    run = find_run(item.get("run"), state, where)
    if isinstance(run, Problem):
        work.problems.append(run)
        return None
    line = find_line(run, item.get("line"), where)
    if isinstance(line, Problem):
        work.problems.append(line)
        return None
    if line is None:
        line_number = _only_handover(run, where, work)
        return None if line_number is None else (run.record, line_number)
    if line.kind != "hand over":
        work.problem(f"line {line.n} of {run.ref} is a {line.kind!r}, no handover", where, _lines_that_fit(run))
        return None
    return run.record, line.n


def _only_handover(run: RunView, where: str, work: Bench) -> str | None:
    """The handover meant when no line is named: the only one, or the one that the run's 'where' stands for."""
    lines = [line.n for line in run.lines if line.kind == "hand over"]
    if len(lines) == 1:
        return lines[0]
    if not lines and run.get("where") not in WHERE_WORDS:
        return ""
    fault = f"{run.ref} has {len(lines)} handovers" if lines else f"{run.ref} has no handover"
    work.problem(fault, where, _lines_that_fit(run))
    return None


def _lines_that_fit(run: RunView) -> str:
    lines = ", ".join(f"{line.n} ({line.get('place')})" for line in run.lines if line.kind == "hand over")
    return f"give the line of a handover: {lines}" if lines else "look whether this is the right run"


def check_attach(raw: Mapping[str, Any], *, state: State, where: str, now: datetime, who: str = "") -> Checked:
    """A file to keep: {run or record, line, name, sha256, size, what, who}; the bytes are stored by the caller.

    copy: {sha256, size} of the picture of a photo without position and device, made by the caller too.
    """
    work = bench(state, now)
    strange_keys(raw, ("run", "record", "line", "name", "sha256", "size", "what", "copy"), "attach", where, work)
    about = raw.get("run") if not blank(raw.get("run")) else raw.get("record")
    record, line = _about(about, raw.get("line"), state, where, work)
    name = _file_name(raw.get("name"), where, work)
    size, sha256 = raw.get("size"), words(raw.get("sha256")) or ""
    if not isinstance(size, int) or isinstance(size, bool) or not 0 < size <= LARGEST_FILE:
        fault = "the file is empty" if size == 0 else f"a file of {LARGEST_FILE // 1_000_000} MB at most is kept"
        work.problem(fault, where, "look whether it is the right file")
    if len(sha256) != 64 or not set(sha256) <= set("0123456789abcdef"):
        work.problem(f"{shown(sha256)} is not a SHA-256 in hexadecimal", where, "it is made from the bytes of the file")
    media = MEDIA.get("." + name.rpartition(".")[2].lower())
    if name and media is None:
        work.problem(f"{shown(name)} is not a kind of file that is kept", where, f"use one of {', '.join(MEDIA)}")
    what = reason(raw, "what", where, work)
    run = state.run(record)
    own = (record, line) if run is None else run.origin(line)
    payload = {
        "record": own[0], "line": own[1], "name": name, "sha256": sha256, "size": size, "media": media, "what": what,
        "who": named(raw, where, work, who),
    }  # fmt: skip
    if raw.get("copy") is not None:
        payload["copy"] = {key: raw["copy"][key] for key in ("sha256", "size")}
    known = any((a.about, a.line, a.sha256, a.name) == (record, line, sha256, name) for a in state.attachments)
    return finished(kinds.ATTACH, payload, raw, where, work, now, known=known)


def _about(about: Any, n: Any, state: State, where: str, work: Bench) -> tuple[str, str]:
    found = find_record(about, state, where)
    if isinstance(found, Problem):
        work.problems.append(found)
        return "", ""
    run = state.run(found[0])
    if run is None:
        if not blank(n):
            work.problem("only a run has lines", f"{where}, line", "leave the line out")
        return found[0], ""
    line = find_line(run, n, f"{where}, line")
    if isinstance(line, Problem):
        work.problems.append(line)
        return run.record, ""
    return run.record, "" if line is None else line.n


def _file_name(raw: Any, where: str, work: Bench) -> str:
    """The name of a file as data only: it never becomes a path."""
    if blank(raw):
        work.problem("the file has no name", where, "give the name that people know it by")
        return ""
    name = check_text(raw, f"{where}, name", name=True)
    if isinstance(name, Problem):
        work.problems.append(name)
        return ""
    found = sorted(set(name) & set(_UNPRINTED))
    if found or set(name) <= {"."}:
        work.problem(f"{shown(name)} is a path or no name of a file", where, "give the name alone, without its folder")
        return ""
    return name


def check_accept(raw: Mapping[str, Any], *, state: State, where: str, now: datetime, who: str = "") -> Checked:
    """A finding that stands, accepted by somebody, for a reason, until a day: {rule, about, why, until, who}."""
    work = bench(state, now)
    strange_keys(raw, ("rule", "about", "why", "until"), "accept", where, work)
    rule, about = ((words(raw.get(key)) or "").strip() for key in ("rule", "about"))
    if not rule:
        work.problem("it is not said which rule", f"{where}, rule", "`washwater rules` lists them")
    if not about:
        work.problem("it is not said what the finding is about", f"{where}, about", "name it as `washwater check` does")
    why = reason(raw, "why", where, work)
    if not why and blank(raw.get("why")):
        work.problem("it is not said why", f"{where}, why", "an accepted finding still shows, with its reason")
    until = None if blank(raw.get("until")) else check_date(raw["until"], f"{where}, until")
    if until is None:
        work.problem("it is not said until when", f"{where}, until", "give a day, on which it is looked at again")
    elif isinstance(until, Problem):
        work.problems.append(until)
    elif until < today(now, work.night.zone):
        work.problem(f"{until} has passed", f"{where}, until", "give a day to come, on which it is looked at again")
    payload = {"rule": rule, "about": about, "why": why, "until": until, "who": named(raw, where, work, who)}
    known = any((a.rule, a.about, a.why, a.until) == (rule, about, why, until) for a in state.acceptances)
    if not (known or work.problems):
        _stands(rule, about, state, where, work, now)
    return finished(kinds.ACCEPT, payload, raw, where, work, now, known=known)


def _stands(rule: str, about: str, state: State, where: str, work: Bench, now: datetime) -> None:
    """A problem where there is no such finding to accept: its acceptance would be waiting for one that nobody knows."""
    from compliance.rules.catalogue import ALL
    from compliance.rules.run import check
    from compliance.rules.scene import Scene
    from compliance.water.fold import calculate

    ids = [one.id for one in ALL]
    if rule not in ids:
        step = did_you_mean(rule, ids, "`washwater rules` lists them")
        work.problem(f"{shown(rule)} is not the id of a rule", f"{where}, rule", step)
        return
    report = check(Scene(state, calculate(state), date.fromisoformat(today(now, work.night.zone))), only=[rule])
    names = [] if isinstance(report, Problem) else [one.about for one in report.findings]
    if about not in names:
        stands = ", ".join(names[:MOST_NAMED]) + (", ..." if len(names) > MOST_NAMED else "")
        step = did_you_mean(about, names, f"`washwater check` shows what stands; for this rule: {stands or 'none'}")
        work.problem(f"there is no finding {rule} about {shown(about)}", f"{where}, about", step)
