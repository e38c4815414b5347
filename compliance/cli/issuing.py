"""Issuing: an open book with what it says, from which pages go out one by one, each kept as it was issued.

Each page is one whole step: its files are kept by the book before the record that names them, and the record is one
transaction. Whoever is interrupted has all pages up to then, and none by half.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import field, replace
from datetime import date
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from compliance.cli import nearby
from compliance.cli.progress import Progress
from compliance.cli.shell import Shell, refused
from compliance.records import kinds
from compliance.records.names import slug
from compliance.records.problem import ComplianceError, Problem
from compliance.records.quick import dataclass

if TYPE_CHECKING:
    from compliance.book.store import Book
    from compliance.records.closing import Closing
    from compliance.records.envelope import Record
    from compliance.records.state import State
    from compliance.records.views import Issued
    from compliance.reports.figures import Figures
    from compliance.reports.imprint import Imprint
    from compliance.reports.issue import Head
    from compliance.reports.model import Page
    from compliance.reports.revised import Past
    from compliance.rules.rule import Finding
    from compliance.rules.run import Report
    from compliance.rules.scene import Scene
    from compliance.water.results import Night

Build = Callable[[str, str, str, "Head | None"], "Page"]
"""(number, date of issue, number of the replaced page, record code) -> the page."""

_TYPES = {"pdf": "application/pdf", "html": "text/html", "json": "application/json",
          "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"}  # fmt: skip
"""Ending of a file -> its media type in the record of issue."""
_LONGEST_NAME = 120
"""Characters of a preview's file name: a job may be called by a whole sentence."""
_PASTS = 3
"""Earlier sizes of the book of which the water is kept in mind at a time."""


@dataclass(frozen=True)
class Form:
    """How a page is set: language 'en' or 'es', paper 'letter' or 'A4'."""

    language: Any = "en"
    paper: Any = "letter"

    def imprint(self, number: str, issued: str, replaces: str, head: Head | None) -> Imprint:
        """What stands around a page of this form."""
        from compliance.reports.imprint import Imprint

        return Imprint(number, issued, replaces, self.language, self.paper, head)


@dataclass(frozen=True)
class Wanted:
    """A page to be issued. kind and about say which earlier page it replaces; figures, what could change later."""

    kind: str
    about: str
    counted_under: str
    build: Build
    figures: Mapping[str, str]
    workbook: bool = False


@dataclass(frozen=True)
class Out:
    """What became of it: the files written, the number, and whether it was issued now."""

    files: tuple[Path, ...]
    number: str
    new: bool
    replaces: str


@dataclass
class Office:
    """An open book, what it says and where the water went; kept up with the pages that are issued from it.

    read: reads the state again, when another program has written to the book. start: from which day on all runs are
    in it, for the summary for which it was opened.
    """

    shell: Shell
    book: Book
    state: State
    today: str
    read: Callable[[], State]
    progress: Progress = field(default_factory=Progress)
    start: str = ""

    @classmethod
    def open(cls, shell: Shell, book: Book, progress: Progress) -> Office:
        """Read the whole book."""
        from compliance.records.state import gather

        def read() -> State:
            return gather(progress.each(book.records(), book.head().size, "reading records"))

        return cls._of(shell, book, progress, read)

    @classmethod
    def around(
        cls, shell: Shell, book: Book, progress: Progress, ids: Iterable[str], besides: Sequence[str] = nearby.PAGES
    ) -> Office:
        """Read only what these runs need, by record, and all pages: see `nearby.around`.

        Read again where their water went on to other runs, of which a page tells too.
        """
        asked = set(ids)
        office = cls._of(shell, book, progress, partial(nearby.around, book, asked, besides))
        more = _followed(office.night, asked)
        return office if more <= asked else cls._of(shell, book, progress, partial(nearby.around, book, more, besides))

    @classmethod
    def for_summary(cls, shell: Shell, book: Book, progress: Progress, first: str, last: str) -> Office:
        """Read what the owner's summary of a span needs, mostly a year before it; and all pages and old rows."""
        start = nearby.summary_from(book, first, last)
        if not start:
            return cls.open(shell, book, progress)
        progress.say(f"reading the records from {start} on")
        ids = nearby.runs_for_summary(book, start, last)
        office = cls._of(shell, book, progress, partial(nearby.around, book, ids, nearby.PAGES_AND_OLD_ROWS))
        return replace(office, start=start)

    @classmethod
    def _of(cls, shell: Shell, book: Book, progress: Progress, read: Callable[[], State]) -> Office:
        state = read()
        return cls(shell, book, state, shell.zone_today(state), read, progress)

    @cached_property
    def night(self) -> Night:
        """Where the water went; pages and closings change nothing of it."""
        from compliance.water.fold import calculate

        self.progress.say("working out where the water went")
        return calculate(self.state)

    @cached_property
    def scene(self) -> Scene:
        """What the rules look at."""
        from compliance.rules.scene import Scene

        return Scene(self.state, self.night, date.fromisoformat(self.today))

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What the rules find, for the open items of a page."""
        from compliance.rules.run import check

        self.progress.say("judging by the rules")
        return _findings_of(check(self.scene))

    def findings_between(self, first: str, last: str) -> tuple[Finding, ...]:
        """What the rules find about the runs of some days, for the open items of a summary."""
        from compliance.rules.run import check_between

        if (first, last) not in self._judged:
            self.progress.say("judging by the rules")
            self._judged[first, last] = _findings_of(check_between(self.scene, first, last))
        return self._judged[first, last]

    @property
    def figures(self) -> Figures:
        """What pages print of the records as they are now."""
        from compliance.reports.figures import Figures

        if self._figures is None or self._figures.state is not self.state:
            self._figures = Figures(self.state, self.night)
        return self._figures

    _figures: Figures | None = None
    _judged: dict[tuple[str, str], tuple[Finding, ...]] = field(default_factory=dict)
    _past: dict[int, tuple[State, Night]] = field(default_factory=dict)

    # ---- versions ------------------------------------------------------------------------------------------------

    def page(self, number: str) -> Issued | None:
        """The page with this number."""
        return next((one for one in self.state.issued if one.number == number), None)

    def past(self, number: str) -> Past | None:
        """An issued page with what the records said when it was made; None for '' and for a number that is on none."""
        from compliance.reports.revised import Past
        from compliance.water.versions import at

        page = self.page(number)
        if page is None:
            return None
        own = {one.seq for one in self.state.issued} | {one.seq for one in self.state.closings}
        size = next(n for n in range(page.size, 0, -1) if n not in own)  # pages and closings move no water
        if size not in self._past:
            self.progress.say(f"looking up what the records said for {number}")
            for old in list(self._past)[: 1 - _PASTS]:
                del self._past[old]
            self._past[size] = at(self.book.records(), size)
        return Past(page, *self._past[size])

    def at(self, closing: Closing) -> Office:
        """The office as it was when a month was closed: no record that came later is in it."""
        from compliance.records.state import gather
        from compliance.water.versions import stood

        then = gather(stood(self.book.records(), closing.size, closing.page))
        return Office(self.shell, self.book, then, closing.day, lambda: then, self.progress)

    def versions(self, wanted: Wanted) -> Sequence[Issued]:
        """The pages of this kind and matter, version 1 first."""
        from compliance.reports.issue import versions

        return versions(self.state, wanted.kind, wanted.about)

    def kept(self, page: Issued, out: Path) -> Out:
        """Write out the files of a page as they were issued, byte for byte."""
        from compliance.book import files

        endings = {media: end for end, media in _TYPES.items()}
        made = {endings[media]: files.get(self.shell.folder, sha).read_bytes() for media, sha in page.files.items()}
        ordered = {end: made[end] for end in _TYPES if end in made}
        return Out(_write(out, page.number, ordered), page.number, False, page.replaces)

    # ---- issuing -------------------------------------------------------------------------------------------------

    def issue(self, wanted: Wanted, out: Path, who: str, *, made_from: Head | None = None) -> Out:
        """Issue a page, unless the last one of its kind says the same: then that one is written out again.

        made_from: how the book stood when the records were read that the page is made of; now, unless it is said.
        """
        last = self.last_unless_changed(wanted)
        if last is not None:
            return self.kept(last, out)
        return self.issue_anew(wanted, out, who, made_from=made_from)

    def last_unless_changed(self, wanted: Wanted) -> Issued | None:
        """The last page of this kind and matter, if made again it would be the same bytes."""
        from compliance.reports.issue import Head

        before = [one for one in self.state.issued if one.page == wanted.kind and one.about == wanted.about]
        if not before:
            return None
        last = before[-1]
        again = rendered(wanted, last.number, last.date, last.replaces, Head(last.size, last.root), self.shell.folder)
        return last if {_TYPES[end]: _digest(data) for end, data in again.items()} == dict(last.files) else None

    def issue_anew(
        self,
        wanted: Wanted,
        out: Path,
        who: str,
        *,
        made_from: Head | None = None,
        before: Callable[[str, Head], tuple[str, Mapping[str, Any]]] | None = None,
    ) -> Out:
        """Issue a page, whatever the last one says.

        before: (number, record code) -> kind and payload of a record that stands before that of the issue, both being
        written or neither.
        """
        from compliance.book import files
        from compliance.intake.checked import Checked
        from compliance.intake.entries import entry
        from compliance.reports.issue import payload, prepare

        self.progress.say(f"making the page: {wanted.kind}, {wanted.about}")
        prepared = prepare(wanted.kind, wanted.about, wanted.counted_under, self.state.issued)
        head = made_from or self.head()
        made = rendered(wanted, prepared.number, self.today, prepared.replaces, head, self.shell.folder)
        kept = {_TYPES[end]: files.put(self.shell.folder, data) for end, data in made.items()}
        form = payload(
            wanted.kind, wanted.about, prepared, date=self.today, files=kept, head=head, figures=wanted.figures, who=who
        )
        forms = [*([before(prepared.number, head)] if before else []), (kinds.ISSUE, form)]
        now = self.shell.stamp()
        entries = [entry(Checked(kind, dict(one), self.today), now=now, token=self.shell.token) for kind, one in forms]
        self.took(self.book.append(entries, receipt_time=now).new)
        return Out(_write(out, prepared.number, made), prepared.number, True, prepared.replaces)

    def head(self) -> Head:
        """The record code of what was read: another program may have written to the book since."""
        from compliance.reports.issue import Head

        stands = self.book.head()
        if stands.size != self.state.size:
            stands = self.book.head_at(self.state.size)
        return Head(stands.size, stands.root_hex)

    def took(self, new: Iterable[Record]) -> None:
        """Take in records of this program's own: pages and closings, which move no water."""
        from compliance.records.closing import closed, reopened
        from compliance.records.state import gather

        for record in new:
            state = self.state
            if record.seq != state.size + 1:  # another program wrote in between
                self.state = self.read()
                for name in ("night", "scene", "findings"):
                    self.__dict__.pop(name, None)
                self._judged = {}
                return
            if record.kind == kinds.ISSUE:
                state = replace(state, issued=(*state.issued, *gather([record]).issued))
            else:
                made = closed(record) if record.kind == kinds.CLOSE else reopened(record)
                state = replace(state, closings=(*state.closings, made))
            self.state = replace(state, size=record.seq)

    def preview(self, wanted: Wanted, out: Path) -> Out:
        """The page without number and record code; the book does not keep it."""
        made = rendered(wanted, "", self.today, "", None, self.shell.folder)
        name = slug(f"preview {wanted.kind} {wanted.about}")[:_LONGEST_NAME]
        return Out(_write(out, name, made), "", False, "")

    def version(self, wanted: Wanted, n: int, out: Path, who: str) -> Out:
        """Version n of a page: as it was issued, or, being the next one, issued now.

        Raises ComplianceError when there is no such version, or the next one would say the same.
        """
        before = self.versions(wanted)
        if 1 <= n <= len(before):
            return self.kept(before[n - 1], out)
        if n != len(before) + 1:
            raise refused(f"there is no version {n}", "--version", f"the last one is version {len(before)}")
        if self.last_unless_changed(wanted) is not None:
            raise refused(
                f"version {n} would say the same as version {n - 1}", "--version",
                "nothing that the page prints has changed",
            )  # fmt: skip
        return self.issue_anew(wanted, out, who)


def _findings_of(report: Report | Problem) -> tuple[Finding, ...]:
    if isinstance(report, Problem):
        raise ComplianceError(report)
    return report.findings


def _followed(night: Night, ids: Collection[str]) -> set[str]:
    """These runs, and those on which water of a load that they fed went anywhere."""
    refs = {stop.ref for id in ids if (run := night.runs.get(id)) is not None for stop in run.stops}
    fed = (load for load in night.loads.values() if not refs.isdisjoint(load.stops))
    return {*ids, *(draw.line.record for load in fed for draw in load.draws)}


def rendered(wanted: Wanted, number: str, day: str, replaces: str, head: Head | None, folder: Path) -> dict[str, bytes]:
    """The page's bytes by ending. folder: of the book, which holds the photos; one that is lost holds up no page."""
    from compliance.book import files
    from compliance.reports import html, pdf
    from compliance.reports.page_json import to_json

    page = wanted.build(number, day, replaces, head)
    pictures = partial(files.sound, folder)
    made = {
        "pdf": pdf.render(page, pictures),
        "html": html.render(page, pictures).encode(),
        "json": to_json(page).encode(),
    }
    if wanted.workbook:
        from compliance.reports import workbook
        from compliance.reports.sheets import page_sheets

        title = f"{page.title} {page.number}".strip()
        made["xlsx"] = workbook.render(
            title, page_sheets(page), language=page.language, paper=page.paper, issuer=page.issuer
        )
    return made


def _digest(data: bytes) -> str:
    from hashlib import sha256

    return sha256(data).hexdigest()


def _write(out: Path, name: str, made: Mapping[str, bytes]) -> tuple[Path, ...]:
    from compliance.book import files

    files.make_folder(out)
    written = []
    for end, data in made.items():
        files.write_whole(out / f"{name}.{end}", data)
        written.append(out / f"{name}.{end}")
    return tuple(written)
