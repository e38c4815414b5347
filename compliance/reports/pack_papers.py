"""Parts of an answer pack that stand in no proof: tickets, permissions and training, what the rules found. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from compliance.records.views import Fields
from compliance.reports import timeline
from compliance.reports.awaited import handover_lines, own_lines
from compliance.reports.model import (
    Block,
    Bullets,
    Cell,
    Column,
    Heading,
    Paragraph,
    Table,
)
from compliance.reports.numbers import typed_text
from compliance.reports.pack_parts import PLACES, Pack, known_text, nothing
from compliance.reports.pack_withheld import Goes, place_text, told_finding
from compliance.reports.refs import Source, handover, permission_text
from compliance.reports.seen import seen_text
from compliance.reports.words import Words
from compliance.rules.catalogue import named
from compliance.rules.rule import Finding
from compliance.water.results import Line


def _handovers(pack: Pack) -> Iterator[tuple[Source, Line]]:
    """The handovers of the water of these jobs, each once, also where nobody knows how much of it was theirs."""
    seen: set[Line] = set()
    for job in pack.jobs:
        source = pack.source(job)
        for where in handover_lines(source, job):
            if where not in seen:
                seen.add(where)
                yield source, where


def _led_away(pack: Pack) -> Iterator[tuple[Source, Line]]:
    """The lines at which water of these jobs was led away without having been in a tank."""
    for job in pack.jobs:
        source = pack.source(job)
        for stop in job.stops:
            yield from ((source, where) for where, line in source.stop_span(stop) if line.kind == "led away")


def ticket_blocks(pack: Pack, goes: Goes) -> Iterator[Block]:
    words = pack.words
    columns = (Column(words("pack.ticket"), width=3), Column(words("where.place"), width=4),
               Column(words("pack.when"), width=4), Column(words("pack.accepted"), "right", width=3),
               Column(words("pack.received_by"), width=4))  # fmt: skip
    rows = []
    for source, where in _handovers(pack):
        told = handover(source, where)
        place = told.place if PLACES in goes else words("pack.place_withheld")
        rows.append(tuple(Cell(one) for one in (told.ticket, place, told.when, told.accepted, told.received_by)))
    if rows:
        yield Table(columns, tuple(rows), note=words("pack.tickets_note"))


def in_force_blocks(pack: Pack, goes: Goes) -> Iterator[Block]:
    """Permissions for the places the water went to, and the training of the crew, as of that day."""
    words = pack.words
    if not pack.jobs:
        yield nothing(pack)
        return
    yield Heading(words("pack.permissions"), 3)
    items = []
    for source, where in (*_handovers(pack), *_led_away(pack)):
        line, run = source.line(where), source.run(where)
        fields: Fields = line.fields if line else {"place": run.get("where")}
        day = (known_text(fields.get("at")) or run.day)[:10]
        said = permission_text(source, fields.get("permission"), fields.get("place"), day)
        place = place_text(source, fields.get("place"), goes)
        items.append(words("pack.permission", day=timeline.day(day, words), place=place, said=said))
    yield Bullets(tuple(dict.fromkeys(items))) if items else nothing(pack)
    yield Heading(words("pack.training"), 3)
    labels = [words.label("person", name) for name in ("name", "role", "training", "trained_on", "trained_to")]
    columns = tuple(Column(label, width=3) for label in (*labels, words("pack.that_day")))
    rows = tuple(_person(pack, name, day) for name, day in _crew(pack).items())
    yield Table(columns, rows, note=words("pack.training_note"))


def _crew(pack: Pack) -> dict[str, str]:
    """Who was on the runs of these jobs -> the first day."""
    found: dict[str, str] = {}
    for record in dict.fromkeys(record for job in pack.jobs for record in job.runs):
        run = next(one for one in pack.state.runs if one.record == record)
        names = [known_text(run.get("lead")), *(part.strip() for part in known_text(run.get("crew")).split(","))]
        for name in names:
            if name:
                found.setdefault(pack.state.registers.name("person", name), run.day)
    return found


def _person(pack: Pack, name: str, day: str) -> tuple[Cell, ...]:
    words = pack.words
    entry = pack.state.registers.find("person", name) or {}
    on, to = known_text(entry.get("trained_on")), known_text(entry.get("trained_to"))
    if not on and not to:
        answer = "pack.training_unknown"
    else:
        answer = "pack.training_held" if (not on or on <= day) and (not to or day <= to) else "pack.training_not_held"
    cells = [Cell(typed_text(entry.get(field), words)) for field in ("role", "training")]
    cells += [Cell(timeline.day(one, words) if one else typed_text(None, words)) for one in (on, to)]
    return (Cell(name), *cells, Cell(words(answer, day=timeline.day(day, words))))


def finding_blocks(pack: Pack, goes: Goes) -> Iterator[Block]:
    """What our own rules found about these jobs, as the owner sees it; of the rest of a shared night only how many."""
    words = pack.words
    ours = [one for one in pack.findings if _is_ours(pack, one)]
    if len(ours) < len(pack.findings):
        yield Paragraph(words("pack.findings_elsewhere", n=len(pack.findings) - len(ours)), "muted")
    ours = [one for one in ours if told_finding(one, goes)]
    if not ours:
        return
    yield Paragraph(words("pack.findings_note"), "muted")
    columns = (
        Column(words("pack.finding"), width=4),
        Column(words("pack.about"), width=4),
        Column(words("pack.seen"), width=8),
    )
    rows = [(Cell(_title(one, words)), Cell(one.about), Cell(seen_text(one, words))) for one in ours]
    yield Table(columns, tuple(rows))


def _title(finding: Finding, words: Words) -> str:
    rule = named(finding.rule)
    title = rule.title.in_(words.language) if rule else finding.slug
    return words("pack.finding_title", severity=words(f"severity.{finding.severity}"), title=title, rule=finding.rule)


def _is_ours(pack: Pack, finding: Finding) -> bool:
    """Whether a finding speaks of these jobs alone: of one of their stops or lines, or of a run that nobody shares."""
    for job in pack.jobs:
        source = pack.source(job)
        own = own_lines(source, job)
        if finding.about in {stop.ref for stop in job.stops}:
            return True
        if finding.lines and all(line in own for line in finding.lines):
            return True
        if any(run.ref == finding.about and not source.shares_run(run) for run in pack.state.runs):
            return True
    return False
