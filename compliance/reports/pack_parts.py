"""The parts of an answer pack, each a page of its own, so that what is withheld was never put in. Pure.

A job's parts are taken from its own proof, which names no other client. Other jobs in a load are a count and gallons;
other stops of a night are 'another stop' with its times.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from compliance.records.answer import without_value
from compliance.records.inquiries import Inquiry
from compliance.records.sentences import local_permit_governs
from compliance.records.state import Fields, LineView, RunView, State
from compliance.reports import timeline
from compliance.reports.awaited import own_lines
from compliance.reports.inquiry_search import Found
from compliance.reports.model import (
    Block,
    Bullets,
    Cell,
    Column,
    Fact,
    Footer,
    Heading,
    Hours,
    Language,
    OpenItems,
    Page,
    PageBreak,
    Paper,
    Paragraph,
    Photos,
    Statement,
    Stretch,
    Table,
    Tick,
    Tone,
)
from compliance.reports.numbers import typed_text
from compliance.reports.proof import mixed_notes, proof_page
from compliance.reports.refs import Source, handover, permission_text
from compliance.reports.values import measure_text, value_text
from compliance.reports.words import Words
from compliance.rules.rule import Finding
from compliance.water.jobs import job_facts
from compliance.water.results import JobFacts, Line, Night, StopFacts

LETTER, TIMELINE, WATER, PLACES, DRAINS, AGENTS, FILTERS = (
    "letter", "timeline", "water", "places", "drains", "agents", "filters",
)  # fmt: skip
TICKETS, PHOTOS, FORCE, INCIDENTS, CORRECTIONS, GAPS, REMARKS, METHOD, FINDINGS = (
    "tickets", "photos", "in force", "incidents", "corrections", "gaps", "remarks", "method", "findings",
)  # fmt: skip
PARTS: Final = (
    LETTER, TIMELINE, WATER, PLACES, DRAINS, AGENTS, FILTERS, TICKETS, PHOTOS, FORCE, INCIDENTS, CORRECTIONS, GAPS,
    REMARKS, METHOD, FINDINGS,
)  # fmt: skip
"""What a pack can hold, in its order; the index stands before and the list of what was withheld behind."""
HELD_BACK: Final = (FINDINGS,)
"""Parts that stay at home unless the owner says otherwise."""

_PATHS: Final = {"where.title": PLACES, "water.title": WATER, "drains.title": DRAINS, "agents.title": AGENTS,
                 "filters.title": FILTERS, "rain.title": FILTERS, "wrong.title": INCIDENTS,
                 "changes.title": CORRECTIONS, "files.title": PHOTOS, "remarks.title": REMARKS,
                 "check.title": METHOD}  # fmt: skip
"""Heading of a proof -> the part into which what stands under it goes."""


@dataclass(frozen=True)
class Pack:
    """What a pack is made from. jobs: those of the stops that are near. findings: of their runs."""

    state: State
    night: Night
    inquiry: Inquiry
    found: Found
    jobs: tuple[JobFacts, ...]
    findings: tuple[Finding, ...]
    issued: str
    language: Language = "en"
    paper: Paper = "letter"

    @property
    def words(self) -> Words:
        """The words of its pages."""
        return Words(self.language)

    def source(self, job: JobFacts) -> Source:
        """For a page of one client's job."""
        client = self.state.registers.key("client", job.client) if job.client else ""
        return Source(self.state, self.night, self.words, client)

    def stops(self) -> Iterator[tuple[JobFacts, StopFacts]]:
        """Every stop of these jobs, with its job."""
        for job in self.jobs:
            yield from ((job, stop) for stop in job.stops)


def jobs_near(state: State, night: Night, found: Found) -> tuple[JobFacts, ...]:
    """The jobs of the stops that are near, in the order in which they were found."""
    near = {(spot.run.record, spot.line.n) for spot in found.near if spot.line.kind == "stop"}
    names = dict.fromkeys(
        stop.job
        for run in night.runs.values()
        for stop in run.stops
        if near & {(where.record, where.line) for where in stop.lines}
    )
    return tuple(job for name in names if (job := job_facts(state, night, name)) is not None)


def pages(pack: Pack, wanted: Iterable[str], without: frozenset[str] = frozenset()) -> dict[str, Page]:
    """Part -> its page, for the parts that are wanted, in their order; the letter is the owner's and not among them.

    without: SHA-256 of photos' copies that stay at home. A part of which there is nothing says so.
    """
    wanted = set(wanted)
    proofs = [(job, _sections(pack, job, without)) for job in pack.jobs]
    made: dict[str, Callable[[], Iterable[Block]]] = {
        TIMELINE: lambda: _timeline(pack, wanted), TICKETS: lambda: _tickets(pack), FORCE: lambda: _in_force(pack),
        FINDINGS: lambda: _findings(pack),
    }  # fmt: skip
    found: dict[str, Page] = {}
    for part in PARTS:
        if part in wanted and part != LETTER:
            blocks = tuple(made[part]()) if part in made else tuple(_of_jobs(pack, part, proofs))
            found[part] = page(pack, part, blocks or (Paragraph(pack.words("pack.nothing")),))
    return found


def page(pack: Pack, part: str, blocks: tuple[Block, ...], facts: tuple[Fact, ...] = ()) -> Page:
    """A page of a pack."""
    words = pack.words
    return Page(
        f"pack {part}", title(words, part), pack.inquiry.ref, pack.language, pack.paper, facts, blocks,
        Footer(local_permit_governs(pack.language)), str(pack.state.business.get("name", "")),
    )  # fmt: skip


def title(words: Words, part: str) -> str:
    """What a part is called."""
    return words(f"pack.part.{part.replace(' ', '_')}")


# ---- parts of the jobs' own proofs -------------------------------------------------------------------------------


def _sections(pack: Pack, job: JobFacts, without: frozenset[str]) -> Mapping[str, Sequence[Block]]:
    """Part -> what the proof of a job says of it."""
    words = pack.words
    missing = [one for one in pack.findings if one.missing]  # only what is missing; what is amiss is another part
    whole = proof_page(
        pack.state, pack.night, missing, job, number="", issued=pack.issued, language=pack.language, paper=pack.paper
    )
    heads = {words(key): part for key, part in _PATHS.items()}
    found: dict[str, list[Block]] = {part: [] for part in PARTS}
    part = WATER
    shown = [fact for fact in whole.facts if fact.label != words("fact.issued")]
    found[WATER].append(_facts(shown))
    for block in whole.blocks:
        match block:
            case Heading(text) if text in heads:
                part = heads[text]
                if part == FILTERS:
                    found[part].append(Heading(text, 3))
            case Heading() | PageBreak() | Statement():
                pass
            case OpenItems():
                found[GAPS].append(block)
            case Photos(photos):
                left = tuple(photo for photo in photos if photo.shown not in without)
                found[PHOTOS] += [Photos(left)] if left else []
            case Table() if part == PHOTOS:
                pass  # names and hashes of the originals, photos that are withheld among them
            case _:
                found[part].append(block)
    source = pack.source(job)
    notes = mixed_notes(source, job, again=False)
    found[WATER] += [Bullets(tuple(notes))] if notes else []
    return found


def _facts(shown: Iterable[Fact]) -> Table:
    rows = tuple((Cell(fact.label, tone="strong"), Cell(fact.value)) for fact in shown)
    return Table((Column(" ", width=2), Column(" ", width=6)), rows)


def _of_jobs(
    pack: Pack, part: str, proofs: Sequence[tuple[JobFacts, Mapping[str, Sequence[Block]]]]
) -> Iterator[Block]:
    for job, sections in proofs:
        blocks = sections[part]
        if blocks:
            yield Heading(job.job)
            yield from blocks


# ---- the night, to the minute ------------------------------------------------------------------------------------


def _timeline(pack: Pack, wanted: set[str]) -> Iterator[Block]:
    """Each rig that was near: a chart along the clock, and every line with its time."""
    words = pack.words
    records = dict.fromkeys(spot.run.record for spot in pack.found.near)
    for record in records:
        run = next(one for one in pack.state.runs if one.record == record)
        rows = list(_rows(pack, run, wanted))
        yield Heading(words("pack.run", rig=pack.state.registers.name("rig", str(run.get("rig"))), run=run.ref))
        drawn = _hours(pack, run, rows)
        if drawn is not None:
            yield drawn
        columns = (Column(words("pack.when"), width=3), Column(words("pack.line"), "right", width=1),
                   Column(words("pack.what"), width=9))  # fmt: skip
        yield Table(columns, tuple((Cell(row.when), Cell(row.n), Cell(row.text, tone=row.tone)) for row in rows))
        yield Paragraph(words("pack.clock", zone=str(pack.state.business["zone"])), "muted")


@dataclass(frozen=True)
class _Row:
    """One line of the timeline. start, end: as stored, '' where nobody said."""

    n: str
    when: str
    text: str
    label: str
    start: str
    end: str
    strong: bool = False

    @property
    def tone(self) -> Tone:
        return "strong" if self.strong else "plain"


def _rows(pack: Pack, run: RunView, wanted: set[str]) -> Iterator[_Row]:
    """The lines of a run in their order; what belongs to a part that stays at home is left out."""
    words = pack.words
    ours = {
        where: job
        for job, stop in pack.stops()
        for where in _lines_of(pack.source(job), stop)
        if where[0] == run.record
    }
    start, end = (_said(run.get(name)) for name in ("start", "end"))
    yield _row(words, "", words("pack.start"), words("pack.start"), start, start)
    for line in run.lines:
        job = ours.get((run.record, line.n))
        part = {"hand over": PLACES, "led away": PLACES, "escape": INCIDENTS, "remark": REMARKS,
                "agent in tank": AGENTS, "agent jugs": AGENTS}.get(line.kind)  # fmt: skip
        if part is not None and part not in wanted:
            continue
        first, last = _said(line.get("arrived") or line.get("at")), _said(line.get("left") or line.get("at"))
        if line.kind == "stop" and job is None:
            yield _row(words, line.n, words("pack.other_stop"), words("pack.other_stop"), first, last)
        elif line.kind in _OWN and job is None:
            continue  # of another client's stop
        else:
            yield from _line(pack, run, line, job, first, last, wanted)
    yield _row(words, "", words("pack.end"), words("pack.end"), end, end)


_OWN: Final = ("escape", "remark", "led away", "use again")
"""Kinds of line that belong to the stop during which they were written down."""


def _lines_of(source: Source, stop: StopFacts) -> Iterator[tuple[str, str]]:
    for where, _ in source.stop_span(stop):
        yield where.record, where.line


def _line(
    pack: Pack, run: RunView, line: LineView, job: JobFacts | None, first: str, last: str, wanted: set[str]
) -> Iterator[_Row]:
    words = pack.words
    label = words(f"kind.{line.kind}")
    source = pack.source(job) if job is not None else pack.source(pack.jobs[0]) if pack.jobs else None
    said = _details(source, run, line) if source is not None else ""
    strong = line.kind == "escape"
    yield _row(words, line.n, f"{label}: {said}" if said else label, label, first, last, strong=strong)
    if line.kind == "stop" and DRAINS in wanted:
        for drain in line.get("drain_list") or ():
            for name, key in (("on", "pack.drain_on"), ("off", "pack.drain_off")):
                at = _said(drain.get(name))
                if at:
                    text = words(key, name=drain.get("name"), method=typed_text(drain.get("method"), words))
                    yield _row(words, line.n, text, words("drains.title"), at, at)


def _details(source: Source, run: RunView, line: LineView) -> str:
    words = source.words
    match line.kind:
        case "stop":
            if without_value(line.get("not_worked")) is None:
                return words("pack.not_worked", why=line.get("not_worked"))
            return source.name("site", line.get("site"))
        case "hand over" | "led away":
            place = source.place_text(line.get("place"))
            return words("pack.amount", what=place, amount=measure_text(line.get("amount"), words))
        case "reading":
            return words(
                "pack.amount",
                what=str(line.get("of")),
                amount=value_text(source, "reading", "shows", line.get("shows")),
            )
        case "escape":
            return words("pack.amount", what=str(line.get("what")), amount=measure_text(line.get("amount"), words))
        case "remark":
            return str(line.get("text"))
        case _:
            amount = line.get("amount")
            return measure_text(amount, words) if amount is not None else ""


def _said(value: object) -> str:
    return str(value) if without_value(value) is None else ""


def _row(words: Words, n: str, text: str, label: str, start: str, end: str, *, strong: bool = False) -> _Row:
    if not start and not end:
        when = words("pack.no_time")
    elif start == end:
        when = timeline.moment(start, words)
    else:
        when = timeline.span(start, end, words)
    return _Row(n, when, text, label, start, end, strong)


def _hours(pack: Pack, run: RunView, rows: Sequence[_Row]) -> Hours | None:
    """The picture of a run, between its first and last recorded time, in whole hours; None without two times."""
    words, zone = pack.words, ZoneInfo(str(pack.state.business["zone"]))
    known = [datetime.fromisoformat(text) for row in rows for text in (row.start, row.end) if text]
    if not known or min(known) == max(known):
        return None
    first = min(known).astimezone(zone).replace(minute=0, second=0, microsecond=0)
    length = -(-_minutes(first, max(known)) // 60) * 60
    every = 60 if length <= 720 else 120
    ticks = tuple(
        Tick(at, timeline.clock((first.astimezone(UTC) + timedelta(minutes=at)).astimezone(zone).isoformat(), words))
        for at in range(0, length + 1, every)
    )
    stretches = []
    for row in rows:
        if row.start or row.end:
            begins, ends = (
                _minutes(first, datetime.fromisoformat(text)) for text in (row.start or row.end, row.end or row.start)
            )
            bound = "" if row.start and row.end else "end" if row.start else "start"
            begins, ends = min(begins, ends), max(begins, ends)
            stretches.append(Stretch(row.label, begins, ends, f"{row.when}: {row.text}", bound, row.strong))
    return Hours(words("pack.chart"), length, ticks, tuple(stretches), (words("pack.what"), words("pack.when")))


def _minutes(first: datetime, at: datetime) -> int:
    return int((at - first).total_seconds() // 60)


# ---- tickets, permissions and training, findings -----------------------------------------------------------------


def _handovers(pack: Pack) -> Iterator[tuple[Source, Line]]:
    """The handovers of the water of these jobs, each once."""
    seen: set[Line] = set()
    for job, stop in pack.stops():
        source = pack.source(job)
        for piece in stop.pieces or ():
            if piece.way == "handed over" and piece.line not in seen:
                seen.add(piece.line)
                yield source, piece.line


def _tickets(pack: Pack) -> Iterator[Block]:
    words = pack.words
    columns = (Column(words("pack.ticket"), width=3), Column(words("where.place"), width=4),
               Column(words("pack.when"), width=4), Column(words("pack.accepted"), "right", width=3),
               Column(words("pack.received_by"), width=4))  # fmt: skip
    rows = []
    for source, where in _handovers(pack):
        told = handover(source, where)
        rows.append((Cell(told.ticket), Cell(told.place), Cell(told.when), Cell(told.accepted), Cell(told.received_by)))
    if rows:
        yield Table(columns, tuple(rows), note=words("pack.tickets_note"))


def _in_force(pack: Pack) -> Iterator[Block]:
    """Permissions for the places the water went to, and the training of the crew, as of that day."""
    words = pack.words
    yield Heading(words("pack.permissions"), 3)
    items = []
    for source, where in _handovers(pack):
        line, run = source.line(where), source.run(where)
        fields: Fields = line.fields if line else {"place": run.get("where")}
        day = (_said(fields.get("at")) or run.day)[:10]
        said = permission_text(source, fields.get("permission"), fields.get("place"), day)
        place = source.place_text(fields.get("place"))
        items.append(words("pack.permission", day=timeline.day(day, words), place=place, said=said))
    yield Bullets(tuple(dict.fromkeys(items))) if items else Paragraph(words("pack.nothing"))
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
        names = [_said(run.get("lead")), *(part.strip() for part in _said(run.get("crew")).split(","))]
        for name in names:
            if name:
                found.setdefault(pack.state.registers.name("person", name), run.day)
    return found


def _person(pack: Pack, name: str, day: str) -> tuple[Cell, ...]:
    words = pack.words
    entry = pack.state.registers.find("person", name) or {}
    on, to = _said(entry.get("trained_on")), _said(entry.get("trained_to"))
    if not on and not to:
        answer = "pack.training_unknown"
    else:
        answer = "pack.training_held" if (not on or on <= day) and (not to or day <= to) else "pack.training_not_held"
    cells = [Cell(typed_text(entry.get(field), words)) for field in ("role", "training")]
    cells += [Cell(timeline.day(one, words) if one else typed_text(None, words)) for one in (on, to)]
    return (Cell(name), *cells, Cell(words(answer, day=timeline.day(day, words))))


def _findings(pack: Pack) -> Iterator[Block]:
    """What our own rules found about these jobs, as the owner sees it; of the rest of a shared night only how many."""
    words = pack.words
    ours = [one for one in pack.findings if _is_ours(pack, one)]
    if len(ours) < len(pack.findings):
        yield Paragraph(words("pack.findings_elsewhere", n=len(pack.findings) - len(ours)), "muted")
    if not ours:
        return
    yield Paragraph(words("pack.findings_note"), "muted")
    columns = (
        Column(words("pack.finding"), width=4),
        Column(words("pack.about"), width=4),
        Column(words("pack.seen"), width=8),
    )
    rows = [(Cell(f"{one.severity}: {one.rule} {one.slug}"), Cell(one.about), Cell(one.seen)) for one in ours]
    yield Table(columns, tuple(rows))


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


# ---- index, and what was withheld --------------------------------------------------------------------------------


def index_page(pack: Pack, entries: Sequence[tuple[str, str]], files: Sequence[tuple[str, str]]) -> Page:
    """What is in a pack. entries: (title of a part, its first page label); files: (name, SHA-256)."""
    words, asked = pack.words, pack.inquiry
    facts = [
        Fact(words.label("inquiry", name), typed_text(asked.get(name), words))
        for name in ("asked_by", "case", "address")
    ]
    facts.append(Fact(words("pack.made"), timeline.day(pack.issued, words)))
    facts.append(Fact(words("pack.from"), words("code", size=f"{pack.found.size:,}", root=pack.found.root)))
    contents = Table(
        (Column(words("pack.part"), width=7), Column(words("pack.page"), "right", width=2)),
        tuple((Cell(name), Cell(label)) for name, label in entries),
    )
    blocks: list[Block] = [contents]
    if files:
        columns = (Column(words("files.name"), width=4), Column(words("files.hash"), width=9))
        blocks += [Heading(words("pack.files"), 3), Table(columns, tuple((Cell(a), Cell(b)) for a, b in files))]
    return page(pack, "index", tuple(blocks), tuple(facts))


def withheld_page(pack: Pack, parts: Iterable[str], files: int, lost: int) -> Page:
    """What was withheld, by the names of parts and numbers of files, and what was not asked for."""
    words = pack.words
    items = [words("pack.withheld", part=title(words, part)) for part in parts]
    items += [words.count("pack.withheld_files", files)] if files else []
    items += [words.count("pack.lost_files", lost)] if lost else []
    others = sorted({run.ref for says in pack.found.says for run in says.runs} - {s.run.ref for s in pack.found.near})
    asked = [words("pack.not_asked_runs", n=len(others)), words("pack.not_asked_jobs"), words("pack.not_asked_money")]
    blocks: tuple[Block, ...] = (
        Bullets(tuple(items)) if items else Paragraph(words("pack.nothing_withheld")),
        Heading(words("pack.not_asked"), 3),
        Bullets(tuple(asked)),
    )
    return page(pack, "withheld", blocks)
