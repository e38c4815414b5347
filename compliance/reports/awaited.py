"""What a proof is still waiting for: fields not recorded yet, tickets that are to come, water still aboard.

In a closed month nobody waits for a field any more: it is an open item for good, and is called not recorded.

The findings decide what is missing, here it is only said for one client: nothing of another's stop is named.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from compliance.records.views import RunView
from compliance.reports import parts, timeline
from compliance.reports.numbers import figure_text, hundredths_text
from compliance.reports.refs import Source, accepted_awaited, handover
from compliance.reports.words import Words
from compliance.rules.catalogue import named
from compliance.rules.missing import wanting_of_unjudged
from compliance.rules.rule import Finding, Missing
from compliance.water.results import JobFacts, Line, StopFacts

PAPERS: Final = ("place-3", "ticket-1", "ticket-3")
"""Rules whose absent paper a proof awaits; the fields that they look at are left out of the list of missing fields."""


def awaited(source: Source, job: JobFacts, findings: Iterable[Finding]) -> tuple[str, ...]:
    """Every open item of a job, one sentence each."""
    missing: list[str] = []
    for finding in findings:
        view = source.state.run(finding.about) if finding.missing else None
        missing += _papers(source, job, finding) if view is None else _fields(source, job, view, finding.missing)
    for record in own_runs(job):
        view = source.runs[record]
        if view.day < source.state.judged_from:
            missing += _fields(source, job, view, wanting_of_unjudged(source.state, source.night, view))
    later = (*_escapes(source, job), *_tickets(source, job), *_astray(source, job), *_aboard(source, job))
    return tuple(dict.fromkeys([*missing, *later]))


def status(words: Words, items: Sequence[str], *, escaped: bool = False) -> str:
    """One line beside the title: how many items are awaited, open once the month is closed, or that none is.

    escaped: water got away, which nobody has to turn the sheet to learn.
    """
    if items:
        said = words.count("month.open" if words.closed else "status.awaited", len(items))
    else:
        said = words("status.complete")
    return words("status.escaped", status=said) if escaped else said


def own_lines(source: Source, job: JobFacts) -> dict[Line, StopFacts | None]:
    """The lines that speak of this job: those of its stops (with the stop), and its handovers (with None)."""
    found: dict[Line, StopFacts | None] = {}
    for stop in job.stops:
        for where, _ in source.stop_span(stop):
            found[where] = stop
    for where in handover_lines(source, job):
        found.setdefault(where, None)
    return found


def own_runs(job: JobFacts) -> Sequence[str]:
    """The records of the runs on which the stops of this job stand."""
    return list(dict.fromkeys(where.record for stop in job.stops for where in stop.lines))


def handover_lines(source: Source, job: JobFacts) -> Sequence[Line]:
    """The lines at which water of this job left for a place, whether or not it is known how much of it."""
    ends = [end.line for end in parts.ends(source, job.stops) if end.way == "handed over"]
    unknown = [one.draw.line for one in parts.untold(source, job.stops) if one.draw.way == "handed over"]
    return list(dict.fromkeys([*ends, *unknown]))


def _fields(source: Source, job: JobFacts, run: RunView, wanting: Sequence[Missing]) -> Iterable[str]:
    """The missing fields of one run that concern this job, grouped by the line they stand on.

    What a run as a whole lacks is told where we worked on it; a run that only took our water away may be all others'.
    """
    ours = own_lines(source, job)
    worked_on = run.record in own_runs(job)
    by_line: dict[tuple[str, str, str], list[Missing]] = {}
    for one in wanting:
        if worked_on if one.group == "run" else Line(run.record, one.line) in ours:
            by_line.setdefault((one.group if one.line == "" else "", one.line, one.entry), []).append(one)
    for (group, n, entry), fields in by_line.items():
        labels = ", ".join(dict.fromkeys(source.words.label(one.group, one.field) for one in fields))
        where = _where(source, Line(run.record, n), entry, handed_over=group == "hand over")
        key = "awaited.not_recorded" if source.words.closed else "awaited.fields"
        yield source.words(key, where=where, fields=labels)


def _papers(source: Source, job: JobFacts, finding: Finding) -> Iterable[str]:
    """A missing permission or ticket of one of our own handovers. Other rules speak to the owner alone."""
    rule = named(finding.rule)
    if finding.rule not in PAPERS or rule is None:
        return
    ours = set(handover_lines(source, job)) | set(own_lines(source, job))
    for where in finding.lines:
        line = source.line(where) if where in ours else None
        comes_later = finding.rule == "ticket-1" and line is not None and line.get("ticket") == "later"
        if where in ours and not comes_later:
            title = rule.title.in_(source.words.language)
            yield source.words("awaited.fields", where=_where(source, where, "", handed_over=True), fields=title)


def _where(source: Source, where: Line, entry: str, *, handed_over: bool = False) -> str:
    """Where a field is missing. handed_over: it is of the one place that a run without lines names."""
    words, run = source.words, source.run(where)
    if entry:
        return entry
    line = source.line(where)
    day = timeline.day(run.day, words)
    if line is None and handed_over:
        return words("awaited.handover", place=source.place_text(run.get("where")), day=day)
    if line is None:
        return words("awaited.run", day=day)
    if line.kind == "stop":
        return words("awaited.stop", day=day)
    if line.kind in ("hand over", "led away"):
        return words("awaited.handover", place=source.place_text(line.get("place")), day=day)
    return words("awaited.line", what=words(f"kind.{line.kind}"), day=day)


def _escapes(source: Source, job: JobFacts) -> Iterable[str]:
    for stop in job.stops:
        if parts.got_away_without_a_line(stop):
            yield source.words("awaited.escape", day=timeline.day(source.stop_run(stop).day, source.words))


def _tickets(source: Source, job: JobFacts) -> Iterable[str]:
    for where in handover_lines(source, job):
        line = source.line(where)
        named = line.get("ticket") if line else source.run(where).get("ticket")
        if named == "later" and not source.state.tickets_of(where.record, where.line):
            found = handover(source, where)
            yield source.words("awaited.ticket", place=found.place, when=found.when)
        elif accepted_awaited(source, where):
            key = "awaited.not_recorded" if source.words.closed else "awaited.fields"
            label = source.words.label("hand over", "accepted")
            yield source.words(key, where=_where(source, where, "", handed_over=True), fields=label)


def _astray(source: Source, job: JobFacts) -> Iterable[str]:
    """What the crew could not say is still asked: a page is not complete while nobody knows where the water is."""
    for draw in parts.astray(source, job.stops):
        day = timeline.day(source.runs[draw.line.record].day, source.words)
        yield source.words("awaited.astray", day=day)


def _aboard(source: Source, job: JobFacts) -> Iterable[str]:
    aboard = [end for end in parts.ends(source, job.stops) if end.way == "aboard"]
    if aboard:
        amount = parts.sum_of(aboard)
        if isinstance(amount, int):
            text = hundredths_text(amount, source.unit)
        else:
            text = figure_text(amount.figure, source.unit, source.words)
        yield source.words("awaited.aboard", amount=text)
