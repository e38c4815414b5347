"""What is read for one night, one job or one span gives the same pages, to the byte, as the whole book does."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from compliance.book.store import Book
from compliance.cli import nearby
from compliance.cli.issuing import Form, Office, Wanted, rendered
from compliance.cli.main import main
from compliance.cli.paging import client_wanted, month_days, month_wanted, proof_wanted
from compliance.cli.progress import Progress
from compliance.cli.shell import Shell, whole
from compliance.intake import samples, seeded_book
from compliance.records.envelope import Entry
from compliance.reports.issue import Head
from compliance.reports.span import looks_back_to
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


def test_balances_lists_and_findings_are_the_same_whether_the_whole_book_is_read_or_what_they_need(
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
    asked += [("check", "--counts", "--from", middle, "--to", end), ("check", "--json", "--to", middle)]
    near = [told(*args) for args in asked]
    monkeypatch.setattr(nearby, "around", lambda book, ids, besides=(): whole(book))
    for args, said_near in zip(asked, near, strict=True):
        assert said_near == told(*args), args


# ---- the owner's summary -----------------------------------------------------------------------------------------


def the_same(shell: Shell, month: str) -> Office:
    """Hold the summary of a month, made of what it needs, against that of the whole book; returns what was read."""
    span = month_days(month)
    with shell.open() as book:
        near, whole = Office.for_summary(shell, book, Progress(), *span), Office.open(shell, book, Progress())
        assert said(near, month_wanted(near, *span, Form())) == said(whole, month_wanted(whole, *span, Form())), month
        return near


def test_a_summary_is_the_same_whether_the_whole_book_is_read_or_what_its_month_needs(shell: Shell) -> None:
    """Every month of each book, before any summary is issued, and again when all of them are."""
    with shell.open() as book:
        months = sorted({str(record.payload["fields"]["date"])[:7] for record in book.records(kind="run")})
    for month in months:
        the_same(shell, month)
    for month in months:
        assert main(["--book", str(shell.folder), "month", month, "--out", str(shell.folder / "pages")], shell) == 0
    for month in months:
        the_same(shell, month)


def test_years_of_summaries_are_read_only_as_far_back_as_late_records_reach(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Seventeen months of a rig, each summary issued at its end; then a late night and corrections of the first months,
    a new site, a new person, an old row: the next summary tells of them as if the whole book had been read, and the one
    after that looks back a year again.
    """
    folder = tmp_path / "book"
    seeded_book.make(folder, 0, rigs=1)
    shell = Shell(folder, now=lambda: clock)

    def done(*args: str) -> None:
        who = () if args[0] == "log" else ("--who", "Ruth Okafor")
        assert main(["--book", str(folder), *args, *who], shell) == 0, capsys.readouterr().err

    def issued(month: str) -> Office:
        office = the_same(shell, month)
        done("month", month, "--out", str(tmp_path / "pages"))
        return office

    by_month: dict[str, list[Entry]] = {}
    for one in map(seeded_book.stored, seeded_book.nights(1, 2_600, rigs=1)):
        by_month.setdefault(one.device_time[:7], []).append(one)
    *months, last = by_month
    assert len(months) > 14 and len(by_month[last]) > len(LATE)
    for month in months:
        clock = datetime.fromisoformat(by_month[month][-1].device_time)
        with Book.open(folder) as book:
            book.append(by_month[month], receipt_time=by_month[month][-1].device_time)
        done("month", month, "--out", str(tmp_path / "pages"))
    assert the_same(shell, months[-1]).start == looks_back_to(f"{months[-1]}-01")

    clock = datetime.fromisoformat(by_month[last][-1].device_time)
    for number, late in enumerate(LATE):
        with shell.open() as book:
            runs = {str(r.payload["fields"]["date"]): r for r in book.records(kind="run")}
        second = [day for day in runs if day.startswith(months[1])]
        late(done, second[number + 2], tmp_path)
        with Book.open(folder) as book:
            book.append(by_month[last][number : number + 1], receipt_time=shell.stamp())
        office = issued(last)
        assert office.start <= looks_back_to(f"{last}-01")


def _late_night(done: Callable[..., None], day: str, folder: Path) -> None:
    file = folder / "late.toml"
    file.write_text(
        f'rig = "Big Blue"\nlead = "Eli Sandoval"\ndate = {day}\nused = "90 gal"\nrecovered = "70 gal"\n'
        'where = "Port Alder receiving station"\n[[line]]\nline = "stop"\nsite = "Copperleaf Row north"\n',
        encoding="utf-8",
    )
    done("log", "--from", str(file))


def _correction(done: Callable[..., None], day: str, folder: Path) -> None:
    done("correct", f"{day}-big-blue", "used", "77 gal", "--reason", "keyed wrong", "--why", "a digit")


def _new_person(done: Callable[..., None], day: str, folder: Path) -> None:
    done("add", "person", "Wren Tully")


def _new_site(done: Callable[..., None], day: str, folder: Path) -> None:
    done("add", "site", "Far Quay", "client=Copperleaf Row Owners")


def _known_client(done: Callable[..., None], day: str, folder: Path) -> None:
    done("edit", "client", "Copperleaf Row Owners", "contact=the desk")


def _new_meter(done: Callable[..., None], day: str, folder: Path) -> None:
    done("add", "instrument", "Spare meter", "kind=meter", "measures=supply", "unit=gal", "step=1 count")


def _cancelled(done: Callable[..., None], day: str, folder: Path) -> None:
    done("cancel", f"{day}-big-blue", "--why", "entered twice")


LATE = (_new_person, _new_site, _late_night, _correction, _known_client, _cancelled, _new_meter)
"""Each once, the owner's next summary after it."""
