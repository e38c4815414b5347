"""Books made in memory for the pages: the sample jobs, through the same validator as every door."""

from __future__ import annotations

import tomllib
from calendar import monthrange
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import UTC, date, datetime
from io import BytesIO
from pathlib import Path
from typing import Any

from pypdf import PdfReader

from compliance.intake.entries import entry
from compliance.intake.validate import check
from compliance.records import kinds
from compliance.records.envelope import Entry, Record
from compliance.records.state import State, gather
from compliance.reports.figures import Figures
from compliance.reports.imprint import Imprint
from compliance.reports.issue import Head, closes, payload, prepare
from compliance.reports.model import Page
from compliance.reports.page_json import map_text
from compliance.reports.proof import proof_page
from compliance.reports.revised import Past
from compliance.reports.touched import restated
from compliance.rules.rule import Finding
from compliance.rules.run import Report
from compliance.rules.run import check as check_book
from compliance.rules.scene import Scene
from compliance.water.fold import calculate
from compliance.water.jobs import job_facts
from compliance.water.results import Night
from compliance.water.versions import at

SAMPLES = Path(__file__).parents[2] / "sample_jobs"
OPENED = "2026-08-01T08:00:00-06:00"
HEAD = Head(48, "ab" * 32)
NOW = datetime(2026, 12, 1, 12, tzinfo=UTC)


@dataclass
class Bench:
    """A book that grows record by record."""

    records: list[Record]

    @property
    def state(self) -> State:
        return gather(self.records)

    @property
    def night(self) -> Night:
        return calculate(self.state)

    def put(self, raw: Mapping[str, Any], where: str = "a test") -> Bench:
        """Hand something in, as a file of entries would be; a problem fails the test."""
        raw = dict(raw)
        is_register = "business" in raw or _is_registers(raw)
        received = str(raw.get("handed_in") or (OPENED if is_register else NOW.isoformat()))
        state = gather(self.records) if self.records else None
        kind = str(raw.pop("kind", "registers" if is_register else "run"))
        now = datetime.fromisoformat(OPENED) if is_register else NOW
        for one in check(kind, raw, state=state, where=where, now=now, who="Priya Lund"):
            assert not one.problems, [str(problem) for problem in one.problems]
            self.add(entry(one, now=received, token=lambda: (len(self.records) + 1).to_bytes(16, "big")), received)
        return self

    def add(self, made: Entry, received: str) -> None:
        """Append an entry as the book would, in its place."""
        self.records.append(
            Record(
                len(self.records) + 1,
                made.id,
                made.kind,
                made.schema,
                made.event_time,
                made.device_time,
                received,
                made.payload,
            )
        )

    def case(self, *folders: str) -> Bench:
        """Hand in the files of sample jobs, in order."""
        for folder in folders:
            for path in sorted((SAMPLES / folder).glob("[0-9]*.toml")):
                self.put(read_toml(path), path.name)
        return self


def read_toml(path: Path) -> dict[str, Any]:
    """A file of entries, its figures as text."""
    return tomllib.loads(path.read_text(encoding="utf-8"), parse_float=str)


def _is_registers(raw: Mapping[str, Any]) -> bool:
    return not {"rig", "run", "record"} & set(raw) or isinstance(raw.get("rig"), list)


def sample(*folders: str) -> Bench:
    """A book with the sample registers and the given cases."""
    return Bench([]).put(read_toml(SAMPLES / "registers.toml")).case(*folders)


def book(registers: Mapping[str, Any], *nights: Mapping[str, Any]) -> Bench:
    """A book of one's own."""
    made = Bench([]).put(registers)
    for night in nights:
        made.put(night)
    return made


def texts(page: Page) -> Sequence[str]:
    """Every string on a page."""
    found: list[str] = []
    map_text(page, lambda text: found.append(text) or text)  # type: ignore[func-returns-value]
    return found


NINE = (
    "case-01-one-stop",
    "case-02-route-night",
    "case-03-three-nights",
    "case-05-no-meter",
    "case-08-hauler-ticket",
    "case-10-not-worked",
    "case-12-overflow",
    "case-22-three-numbers",
    "case-23-unread-dump",
)
"""The cases on which figures in the page tests rest; others may be added to the sample jobs at any time."""


def all_cases() -> Bench:
    """A book with every sample job, in the order of their numbers."""
    return sample(*sorted(path.name for path in SAMPLES.glob("case-*")))


def proof(bench: Bench, job: str, **options: Any) -> Page:
    """The proof of a job in a book."""
    state, night = bench.state, bench.night
    facts = job_facts(state, night, job)
    assert facts is not None
    closed = all(closes(state, night.runs[stop.run].date) for stop in facts.stops)
    found = options.pop("findings", ())
    usual = {"number": "bakery-1", "issued": "2026-10-02", "head": Head(state.size, "ab" * 32)}
    return proof_page(state, night, found, facts, imprint(options, **usual), **{"closed": closed, **options})


def imprint(options: dict[str, Any], **usual: Any) -> Imprint:
    """What stands around a page; what of it is among the options is taken out of these."""
    given = {field.name: options.pop(field.name) for field in fields(Imprint) if field.name in options}
    return Imprint(**{**usual, **given})


def findings_of(bench: Bench, today: str = "2026-10-02") -> tuple[Finding, ...]:
    """Every finding of a book on a day."""
    report = check_book(Scene(bench.state, bench.night, date.fromisoformat(today)))
    assert isinstance(report, Report)
    return report.findings


def keep(
    bench: Bench, page: str, about: str, under: str, figures: Mapping[str, str], *, day: str = "2026-10-01"
) -> str:
    """Issue a page as the book would, from all that it holds; returns its number."""
    prepared = prepare(page, about, under, bench.state.issued)
    head = Head(len(bench.records), "ab" * 32)
    held = payload(page, about, prepared, date=day, files={"application/pdf": "f" * 64}, head=head, figures=figures,
                   who="Priya Lund")  # fmt: skip
    _add(bench, kinds.ISSUE, held, day)
    return prepared.number


def keep_proof(bench: Bench, job: str, **options: Any) -> str:
    """Issue the proof of a job."""
    facts = job_facts(bench.state, bench.night, job)
    assert facts is not None
    return keep(bench, "proof", facts.job, facts.client, figures_of(bench).of_job(job), **options)


def keep_month(bench: Bench, first: str, last: str, **options: Any) -> str:
    """Issue the owner's summary of a span, with what it says of earlier ones."""
    figures = figures_of(bench)
    told = dict(one.figure for one in restated(figures, first, last))
    return keep(bench, "month", f"{first}..{last}", "summary", {**figures.of_month(first, last), **told}, **options)


def close_month(bench: Bench, month: str, page: str = "", day: str = "2026-10-01") -> Bench:
    """Close a month. page: the summary that goes with it."""
    last = f"{month}-{monthrange(int(month[:4]), int(month[5:]))[1]}"
    held = {"month": month, "page": page, "size": len(bench.records), "root": "ab" * 32, "who": "Ruth Okafor",
            "figures": dict(figures_of(bench).divisions(f"{month}-01", last))}  # fmt: skip
    return _add(bench, kinds.CLOSE, held, day)


def reopen_month(bench: Bench, month: str, why: str, day: str = "2026-10-03") -> Bench:
    """Open a month again."""
    return _add(bench, kinds.REOPEN, {"month": month, "why": why, "who": "Ruth Okafor"}, day)


def _add(bench: Bench, kind: str, held: Mapping[str, Any], day: str) -> Bench:
    n = len(bench.records) + 1
    bench.add(Entry(f"{n:032x}", kind, day, f"{day}T08:00:00-06:00", held), f"{day}T08:00:00-06:00")
    return bench


def figures_of(bench: Bench) -> Figures:
    """What pages print of the records as they are now."""
    return Figures(bench.state, bench.night)


def past(bench: Bench, number: str) -> Past:
    """An issued page, with what the records said when it was made."""
    page = next(one for one in bench.state.issued if one.number == number)
    return Past(page, *at(bench.records, page.size, number))


def pdf_texts(data: bytes) -> list[str]:
    """The text of each sheet of a PDF."""
    return [sheet.extract_text() for sheet in PdfReader(BytesIO(data)).pages]
