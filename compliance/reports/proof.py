"""The proof of recovery: what one client's water did, on a sheet that a stranger can check.

The first sheet says it all; the sheets that follow (`reports.annex`) say how it is known. There is no pass, no fail
and no threshold on it, and nobody else's client is named.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from decimal import Decimal

from compliance.records.sentences import statement
from compliance.records.state import State
from compliance.records.views import LineView
from compliance.reports import annex, parts, revised, timeline
from compliance.reports.awaited import awaited, status
from compliance.reports.figures import division_digest
from compliance.reports.imprint import Imprint, business
from compliance.reports.model import (
    NO_ANSWER,
    Block,
    Cell,
    Column,
    Fact,
    Heading,
    OpenItems,
    Page,
    PageBreak,
    Paragraph,
    Statement,
    Table,
)
from compliance.reports.numbers import (
    answered,
    figure_text,
    known_cell,
    known_text,
    plain,
    quantity_text,
    share_cell,
    told_text,
    typed_text,
)
from compliance.reports.refs import Handover, Source, handover
from compliance.reports.revised import Past
from compliance.reports.watertable import water_table
from compliance.reports.waterway import water_path
from compliance.reports.words import Words
from compliance.rules.rule import Finding
from compliance.water.jobs import job_facts
from compliance.water.results import UNNAMED, JobFacts, Known, Line, Night, StopFacts
from compliance.water.timeline import ASTRAY
from compliance.water.versions import division_version
from compliance.water.volume import Unknown


def proof_page(
    state: State,
    night: Night,
    findings_open: Iterable[Finding],
    job: JobFacts,
    imprint: Imprint,
    *,
    closed: bool = False,
    replaced: Past | None = None,
) -> Page:
    """The page of one job.

    closed: the months of the work are closed (`issue.closes`), so what was 'not recorded yet' is 'not recorded'.
    replaced: the page that this one replaces.
    """
    words = Words(imprint.language, closed)
    client = state.registers.key("client", job.client) if job.client else ""
    source = Source(state, night, words, client)
    items = awaited(source, job, findings_open)
    said = statement(timeline.long_day(imprint.issued, words), imprint.language)
    signer, role = business(state, "signer"), business(state, "signer_role")
    first: tuple[Block, ...] = (
        Heading(words("where.title")),
        *_where_blocks(source, job, again=replaced is not None),
        Heading(words("water.title")),
        water_table(source, job),
        water_path(source, job),
        OpenItems(words("open.title"), items, words("open.none")),
        Statement(said, signer, role, timeline.day(imprint.issued, words)),
    )
    return imprint.page(
        state,
        words,
        kind="proof",
        title=words("proof.title"),
        facts=_facts(source, job, imprint),
        blocks=(*first, PageBreak(), *_revised(source, job, replaced), *annex.blocks(source, job, imprint.number)),
        status=status(words, items, escaped=parts.got_away(source, job.stops)),
    )


def _revised(source: Source, job: JobFacts, past: Past | None) -> Sequence[Block]:
    """Which figures of this job the page that this one replaces printed otherwise."""
    if past is None:
        return ()
    then = replace(source, state=past.state, night=past.night)
    before = job_facts(past.state, past.night, job.job)
    said = {} if before is None else revised.of_job(then, before)
    differing = revised.rows(said, revised.of_job(source, job))
    return revised.blocks(source.words, past.page, differing, revised.why(then, before, source, job))


# ---- the head ------------------------------------------------------------------------------------------------


def _facts(source: Source, job: JobFacts, imprint: Imprint) -> tuple[Fact, ...]:
    words, state = source.words, source.state
    contractor = ", ".join(part for name in ("name", "address", "phone") if (part := business(state, name)))
    site = state.registers.find("site", job.site)
    address = told_text((site or {}).get("address"), "site", "address", words)
    facts = [
        Fact(words("fact.contractor"), contractor),
        Fact(words.label("stop", "client"), source.name("client", job.client or None)),
        Fact(words.label("stop", "site"), f"{source.name('site', job.site or None)}, {address}"),
        Fact(words("fact.job"), job.job),
        Fact(words("fact.when"), "\n".join(_times(source, job))),
        Fact(words("fact.crew"), "; ".join(_crews(source, job))),
        Fact(words("fact.surface"), "; ".join(_surfaces(source, job))),
        Fact(words("fact.issued"), imprint.told(words)),
    ]
    return tuple(facts)


def _times(source: Source, job: JobFacts) -> list[str]:
    """When each stop was worked, and the zone of the clock."""
    words = source.words
    lines, moments = [], []
    for stop in job.stops:
        opened, *_, closed = [*source.stop_lines(stop), *source.stop_lines(stop)]
        arrived, left = opened.get("arrived"), closed.get("left")
        run = source.stop_run(stop)
        if not stop.worked:
            text = words("time.not_worked", day=timeline.day(run.day, words), why=stop.not_worked)
        elif answered(arrived) or answered(left):
            ends = [str(one) if answered(one) else "" for one in (arrived, left)]
            moments += ends
            text = timeline.span(ends[0], ends[1], words)
        else:
            text = words("time.unknown", day=timeline.day(run.day, words), time=typed_text(arrived, words))
        lines.append(text)
    zone = timeline.zone(moments, business(source.state, "zone"))
    return [*dict.fromkeys(lines), f"({zone})"] if zone and moments else list(dict.fromkeys(lines))


def _crews(source: Source, job: JobFacts) -> list[str]:
    found = []
    for stop in job.stops:
        run = source.stop_run(stop)
        found.append(
            source.words("crew", rig=source.name("rig", run.get("rig")), lead=source.name("person", run.get("lead")))
        )
    return list(dict.fromkeys(found))


def _surfaces(source: Source, job: JobFacts) -> list[str]:
    found = []
    for stop in job.stops:
        if stop.worked:
            surface = told_text(source.own_value(stop, "surface"), "stop", "surface", source.words)
            area = source.own_value(stop, "area")
            if not answered(area) and not isinstance(stop.area, Unknown):
                text = figure_text(stop.area, source.words.unit("ft2"), source.words)
            else:
                words = source.words
                text = quantity_text(area, words) if answered(area) else told_text(area, "stop", "area", words)
            found.append(source.words("surface", surface=surface, area=text))
    return list(dict.fromkeys(found)) or [source.words("time.no_work")]


# ---- where the water went ------------------------------------------------------------------------------------


def _where_blocks(source: Source, job: JobFacts, *, again: bool) -> Sequence[Block]:
    words = source.words
    rows = [*_end_rows(source, job), *_untold_rows(source, job), *_past_tank_rows(source, job)]
    if not rows:
        return (Paragraph(words("where.nothing")),)
    columns = (
        Column(words("where.place"), width=6),
        Column(words("where.permission"), width=7),
        Column(words("where.when"), width=4),
        Column(words("where.ticket"), width=5),
        Column(words("where.amount"), "right", width=4),
    )
    notes = mixed_notes(source, job, again=again)
    return (Table(columns, tuple(rows), note="\n".join(notes)),)


def _end_rows(source: Source, job: JobFacts) -> Iterable[tuple[Cell, ...]]:
    for end in parts.ends(source, job.stops):
        if end.way == UNNAMED:
            continue  # it stands in the water table: nobody knows where it went
        amount = (
            known_cell(end.whole, source.unit, source.words)
            if end.whole
            else _of_whole(source, share_cell(end.amount, source.unit, source.words), end.of)
        )
        yield _row(source, end.way, end.line, end.load, amount)


def _of_whole(source: Source, cell: Cell, whole: Known | None) -> Cell:
    """A worked-out share, and under it the reading of which it is a part."""
    if whole is None or isinstance(whole.figure, Unknown):
        return cell
    of = source.words("share.of", amount=known_text(whole, source.unit, source.words))
    return Cell(f"{cell.text}\n{of}")


def _untold_rows(source: Source, job: JobFacts) -> Iterable[tuple[Cell, ...]]:
    words = source.words
    for one in parts.untold(source, job.stops):
        cell = Cell(words("share.unknown"))
        yield _row(source, one.draw.way, one.draw.line, one.draw.load, _of_whole(source, cell, one.draw.known))


def _row(source: Source, way: str, line: Line, load: str, amount: Cell) -> tuple[Cell, ...]:
    words, none = source.words, NO_ANSWER
    if way == "handed over":
        found = handover(source, line)
        return (
            _place_cell(words, found),
            Cell(found.permission),
            _when_cell(words, found),
            _ticket_cell(source, line, load, found),
            amount,
        )
    if way == "aboard":
        facts = source.loads[load]
        rig = source.name("rig", facts.rig)
        return Cell(words("where.aboard", rig=rig)), none, none, none, amount
    if way == ASTRAY:
        return Cell(words(f"way.{way}")), none, none, none, amount
    at = source.line(line)
    moment = at.get("at") if at else None
    when = Cell(timeline.moment(str(moment), words) if answered(moment) else typed_text(moment, words))
    return Cell(words(f"way.{way}"), tone="strong" if way == "escaped" else "plain"), none, when, none, amount


def _place_cell(words: Words, found: Handover) -> Cell:
    lines = [found.place, found.connection]
    if found.refused:
        lines.append(words("where.refused", why=found.refused))
    return Cell("\n".join(lines))


def _when_cell(words: Words, found: Handover) -> Cell:
    ph = (words("where.ph", ph=found.ph),) if found.ph else ()
    return Cell("\n".join((found.when, words("where.by", name=found.by), *ph)))


def _ticket_cell(source: Source, line: Line, load: str, found: Handover) -> Cell:
    words = source.words
    lines = [words("where.ticket_no", number=found.ticket)]
    if found.accepted:
        lines.append(words("where.accepted", amount=found.accepted))
    draw = source.draws.get((load, line))
    ours = None if draw is None or isinstance(draw.known.figure, Unknown) else draw.known.figure.best
    if found.accepted_alone is not None and ours is not None:
        theirs = found.accepted_alone.in_unit(source.unit).point
        if theirs is not None:
            less = plain((theirs - ours).quantize(Decimal("0.01")))
            lines.append(words("where.difference", amount=f"{less} {source.unit}"))
    return Cell("\n".join([*lines, words("where.received", name=found.received_by)]))


def _past_tank_rows(source: Source, job: JobFacts) -> Iterable[tuple[Cell, ...]]:
    """Water that never was in our tank: led away, and what got away before it was captured."""
    words, none = source.words, NO_ANSWER
    read = {
        line: known_cell(known, source.unit, words)
        for stop in job.stops
        for way in ("led away", "got away")
        for known in stop.readings.get(way, ())
        for line in known.how.lines
    }
    for where, line in _own_span(source, job.stops):
        if line.kind == "led away":
            found = handover(source, where)
            amount = read.get(where) or Cell(annex.amount_text(source, line))
            place = Cell(words("where.led_away", place=found.place))
            yield place, Cell(found.permission), Cell(found.when), none, amount
    for where in parts.escapes_before_capture(source, job.stops):
        escape = source.line(where)
        assert escape is not None
        reached = escape.get("reached")
        text = words.choice("escape", "reached", str(reached)) if answered(reached) else typed_text(reached, words)
        at = escape.get("at")
        when = timeline.moment(str(at), words) if answered(at) else typed_text(at, words)
        amount = read.get(where) or Cell(annex.amount_text(source, escape))
        yield Cell(words("where.escaped", reached=text), tone="strong"), none, Cell(when), none, amount
    for stop in job.stops:
        if parts.got_away_without_a_line(stop):
            yield (
                Cell(words("where.escaped_unlisted"), tone="strong"),
                none,
                none,
                none,
                Cell(words.unknown("not recorded yet")),
            )


def _own_span(source: Source, stops: Iterable[StopFacts]) -> Iterable[tuple[Line, LineView]]:
    for stop in stops:
        yield from source.stop_span(stop)


def mixed_notes(source: Source, job: JobFacts, *, again: bool) -> list[str]:
    """For each load that was not this job's alone: whose water it held, by number, and how our part was found.

    again: an earlier page told of it, so that a division made anew is said; a first page says nothing of it.
    """
    words = source.words
    ours = {stop.ref for stop in job.stops}
    notes = []
    fed = {load.name: load for stop in job.stops for load in source.loads_by_stop.get(stop.ref, ())}
    for load in fed.values():
        mine = [stop for stop in job.stops if stop.ref in load.stops]
        others = [words(f"owner.{owner}") for owner in parts.others_in(source, load)]
        if (not set(load.stops) - ours and not others) or parts.held_alone(source, load, ours):
            continue
        held = words.count("mixed.held", parts.jobs_in(source, load), load=load.name)
        if others:
            held = words("mixed.also", held=held, others=", ".join(others))
        version = division_version(source.state, load.name, division_digest(source.night, load.name)) if again else 1
        if version > 1:
            held = words("mixed.version", held=held, n=version)
        why = next((stop.why or load.why for stop in mine if stop.pieces is None), "")
        if why:
            notes.append(words("mixed.unknown", held=held, why=words.clause(why)))
        else:
            bases = ", ".join(dict.fromkeys(words(f"basis.{stop.captured_basis}") for stop in mine))
            notes.append(words("mixed.worked_out", held=held, basis=bases))
    return notes
