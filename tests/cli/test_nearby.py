"""What is read for one night, one job or one span gives the same pages, to the byte, as the whole book does."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from compliance.book.store import Book
from compliance.cli import nearby
from compliance.cli.issuing import Form, Office, Wanted, rendered
from compliance.cli.main import main
from compliance.cli.paging import client_wanted, month_days, proof_wanted
from compliance.cli.progress import Progress
from compliance.cli.shell import Shell, whole
from compliance.intake import samples, seeded_book
from compliance.reports.issue import Head
from compliance.water.jobs import job_names
from tests.cases import SAMPLES
from tests.cli.conftest import Desk

NOW = datetime(2026, 11, 25, 8, tzinfo=UTC)
HEAD = Head(1, "ab" * 32)


@pytest.fixture(scope="module")
def sample_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every sample case and a clean month."""
    folder = tmp_path_factory.mktemp("sample") / "book"
    tokens = iter(range(1, 10_000))
    samples.make_book(folder, now=NOW, token=lambda: next(tokens).to_bytes(16, "big"))
    return folder


@pytest.fixture(scope="module")
def seeded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three months of six rigs, with loads that stay aboard over a second night."""
    folder = tmp_path_factory.mktemp("seeded") / "book"
    seeded_book.make(folder, 3_000)
    return folder


@pytest.fixture(scope="module")
def later(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The cases of the later book: a bib of two rigs, a ticket before its card, joined and corrected hand-ins."""
    folder = tmp_path_factory.mktemp("later") / "book"
    registers = (SAMPLES / "later" / "registers.toml", *sorted(SAMPLES.glob("later/case-*/[0-9]*.toml")))
    for args in (["init", "--from", SAMPLES / "registers.toml"], *(["log", "--from", file] for file in registers)):
        assert main(["--book", str(folder), *map(str, args)], Shell(folder, now=lambda: NOW)) == 0
    return folder


@pytest.fixture(params=["sample_book", "seeded", "later"])
def shell(request: pytest.FixtureRequest) -> Shell:
    """Each of the books in turn."""
    return Shell(request.getfixturevalue(request.param), now=lambda: NOW)


def said(office: Office, wanted: Wanted) -> tuple[object, ...]:
    """All that a page would say and keep."""
    made = rendered(wanted, "N-1", "2026-11-25", "", HEAD, office.shell.folder)
    return wanted.kind, wanted.about, wanted.counted_under, dict(wanted.figures), made["json"], made["pdf"]


def some(names: list[str], most: int) -> Iterator[str]:
    """Names from all over a list."""
    yield from names[:: max(1, len(names) // most)]


def test_a_proof_is_the_same_whether_the_whole_book_is_read_or_what_its_job_needs(shell: Shell) -> None:
    """Figures, open items, tickets, corrections, annex: jobs from all over the book, of several nights among them."""
    with shell.open() as book:
        whole = Office.open(shell, book, Progress())
        for job in some(job_names(whole.night), 40):
            near = Office.around(shell, book, Progress(), nearby.runs_of(book, job))
            assert said(near, proof_wanted(near, job, Form())) == said(whole, proof_wanted(whole, job, Form())), job
            assert near.state.size == whole.state.size
            assert near.head() == whole.head()


def test_a_clients_summary_is_the_same_whether_the_whole_book_is_read_or_what_its_days_need(shell: Shell) -> None:
    """Every client over the month in the middle, and from there on to the third night from the end."""
    with shell.open() as book:
        whole = Office.open(shell, book, Progress())
        days = sorted(run.date for run in whole.night.runs.values())
        middle = days[len(days) // 2]
        for first, last in (month_days(middle[:7]), (middle, days[-3])):
            ids = nearby.runs_between(book, first, last)
            near = Office.around(shell, book, Progress(), ids, nearby.PAGES_AND_OLD_ROWS)
            for entry in whole.state.registers.all("client")[:12]:
                one, other = (client_wanted(at, str(entry["name"]), first, last, Form()) for at in (near, whole))
                assert said(near, one) == said(whole, other), (entry["name"], first)


def test_what_is_read_for_a_job_is_a_small_part_of_the_book(seeded: Path) -> None:
    """A book of ten times as many nights makes no proof longer to read."""
    with Book.open(seeded) as book:
        (run,) = nearby.runs_of(book, "2001-02-14-big-blue")
        assert len(nearby.around(book, [run]).runs) < 0.3 * sum(1 for _ in book.records(kind="run"))


def test_the_runs_of_a_name_are_found_by_run_load_stop_and_job(sample_book: Path) -> None:
    """However it is called; a name that nothing has gives none."""
    with Book.open(sample_book) as book:
        found = {name: nearby.runs_of(book, name) for name in ("2026-09-03-big-blue", "2026-09-03-big-blue.s4")}
        assert len({tuple(ids) for ids in found.values()}) == 1
        assert nearby.runs_of(book, "nothing of the kind") == []
        assert nearby.first_day(book) == min(str(r.payload["fields"]["date"]) for r in book.records(kind="run"))


def test_a_book_without_a_night_has_no_first_day(book: Desk) -> None:
    """Nothing to read is not an error."""
    with Book.open(book.folder) as opened:
        assert nearby.first_day(opened) is None
        assert nearby.around(opened, ()).runs == ()


def test_balances_and_lists_are_the_same_whether_the_whole_book_is_read_or_what_they_need(
    shell: Shell, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of runs, loads and jobs from all over the book, and of the days in the middle and at both ends."""

    def told(*args: str) -> str:
        capsys.readouterr()
        main(["--book", str(shell.folder), *args], shell)
        return "".join(capsys.readouterr())

    listed = {what: json.loads(told("list", f"{what}s", "--json")) for what in ("run", "load", "job")}
    days = [row["date"] for row in listed["run"]]
    middle, end = days[len(days) // 2], days[-3]
    asked = [("balance", row[what]) for what, rows in listed.items() for row in rows[:: len(rows) // 5]]
    asked += [("balance", "nothing of the kind"), ("balance", f"{listed['run'][0]['run']}.s99")]
    for what in ("runs", "jobs", "loads", "handovers", "pages", "open"):
        asked += [("list", what, *span) for span in (("--from", middle, "--to", end), ("--to", middle))]
    near = [told(*args) for args in asked]
    monkeypatch.setattr(nearby, "around", lambda book, ids, besides=(): whole(book))
    for args, said_near in zip(asked, near, strict=True):
        assert said_near == told(*args), args
