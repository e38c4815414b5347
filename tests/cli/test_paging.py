"""Pages go out one by one, stay as they were issued, and say what a later record changed."""

from __future__ import annotations

import csv
import io
import re
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from compliance.cli import issuing
from compliance.cli.issuing import Form, Office
from compliance.cli.main import main
from compliance.cli.paging import client_wanted, month_wanted, proof_wanted
from compliance.cli.progress import Progress
from compliance.cli.shell import Shell
from compliance.records.state import gather
from compliance.reports.issue import Head, span_in
from compliance.water.versions import stood
from tests.cases import SAMPLES
from tests.cli.conftest import Desk, Said

ROUTE = "2026-09-03-big-blue"
WHO = ("--who", "Priya Lund")


def out(book: Desk) -> tuple[str, Path]:
    return "--out", book.folder.parent / "pages"


def files(said: Said) -> dict[str, Path]:
    assert said.code == 0, said.err
    return {Path(line.strip()).suffix: Path(line.strip()) for line in said.out.splitlines() if line.startswith("  ")}


def contents(said: Said) -> dict[str, bytes]:
    return {end: path.read_bytes() for end, path in files(said).items()}


def words(said: Said) -> str:
    return files(said)[".html"].read_text(encoding="utf-8")


def later(book: Desk, case: str) -> list[Path]:
    """The files of a case of the later book, whose registers are brought in."""
    (folder,) = SAMPLES.rglob(f"case-{case}-*")
    more = SAMPLES / "later" / "registers.toml"
    assert not more.is_file() or book("log", "--from", more).code == 0
    return sorted(folder.glob("[0-9]*.toml"))


def touched(book: Desk) -> dict[str, list[dict[str, Any]]]:
    """What the list of touched pages says, by page."""
    found: dict[str, list[dict[str, Any]]] = {}
    for row in book("pages", "--touched", "--json").json:
        found.setdefault(row["about"], []).append(row)
    return found


def test_case_20_a_correction_after_two_proofs_went_out(book: Desk) -> None:
    """Both are listed with their own figures; version 1 stays to the byte; version 2 says what it replaces and differs
    in, and names no other client; a first page of the third job says nothing of a version that nobody saw.
    """
    run, correction = later(book, "20")
    assert book("log", "--from", run).code == 0
    walk, apron, yard = "Old Depot walk, November", "Lantern Street apron, November", "Quillon yard, November"
    first = {job: contents(book("proof", job, *out(book))) for job in (walk, apron)}
    assert touched(book) == {}
    assert book("log", "--from", correction).code == 0
    found = touched(book)
    assert set(found) == {walk, apron}
    rows = {row["figure"]: (row["printed"], row["now"]) for row in found[walk]}
    assert rows["captured, 2026-11-12-quiet-moth.s1"] == ("56.64, no ±", "73.29, no ±")
    assert rows["used, 2026-11-12-quiet-moth.s1"] == ("65.86, no ±", "85.24, no ±")
    assert rows["where the water went, 2026-11-12-quiet-moth.s1"][1].startswith(
        "handed over at Port Alder receiving station 70.82"
    )
    assert rows["division of load 2026-11-12-quiet-moth.l1"] == ("version 1", "version 2")
    assert not any("s2" in str(row) or "s3" in str(row) for row in found[walk])
    second = book("proof", walk, *out(book))
    assert second.out.startswith("Issued as old-depot-market-2, which replaces old-depot-market-1.\n")
    text = words(second)
    assert "What differs from old-depot-market-1" in text and "56.64" in text and "73.29" in text
    assert "version 2 of its division" in text
    assert not any(name in text for name in ("Lantern", "Quillon", "apron", "1900", "900 sq ft"))
    own = words(book("proof", apron, *out(book)))
    assert "keyed wrong" in own and "1,900" in own and "900 sq ft" in own
    fresh = words(book("proof", yard, *out(book)))
    assert "version" not in fresh and "What differs" not in fresh and "57.59" in fresh
    for job, made in first.items():
        assert contents(book("proof", job, "--version", "1", *out(book))) == made
    assert touched(book) == {}


def test_a_version_of_a_division_can_be_redone_by_hand(book: Desk) -> None:
    """Version 1 as it was printed, version 2 as it is now; a run has none, and neither has a load a third."""
    run, correction = later(book, "20")
    load = "2026-11-12-quiet-moth.l1"
    assert book("log", "--from", run).code == 0
    now = book("balance", load).out
    assert book("balance", load, "--version", "1").out == now
    book("proof", "Old Depot walk, November", *out(book))
    assert book("log", "--from", correction).code == 0
    assert book("balance", load, "--version", "1").out == now
    assert "56.64" in now and "73.29" not in now
    assert book("balance", load, "--version", "2").out == book("balance", load).out
    assert "73.29" in book("balance", load).out
    assert "the last one is version 2" in book("balance", load, "--version", "3").err
    assert "has no version 1" in book("balance", "2026-11-12-quiet-moth", "--version", "1").err


def test_case_25_the_card_says_60_the_office_keyed_600(book: Desk) -> None:
    """The proof that is out says 342.86; after the correction it is listed, and version 2 says 34.29, keyed wrong."""
    run, correction = later(book, "25")
    assert book("log", "--from", run).code == 0
    job = "2026-11-18-quiet-moth.s1"
    first = book("proof", job, *out(book))
    made = contents(first)
    assert "342.86" in words(first)
    assert book("log", "--from", correction).code == 0
    (rows,) = touched(book).values()
    told = {row["figure"]: (row["printed"], row["now"]) for row in rows}
    assert told[f"captured, {job}"] == ("342.86, no ±", "34.29, no ±")
    second = words(book("proof", job, *out(book)))
    assert all(part in second for part in ("342.86", "34.29", "keyed wrong", "What differs from"))
    assert contents(book("proof", job, "--version", "1", *out(book))) == made


def test_a_version_of_a_proof_is_as_it_was_issued_or_the_next_one(book: Desk) -> None:
    """A second version that would say the same is not issued; one that is not there is refused."""
    book.case("01")
    job = "Alder Oven dock, September"
    first = book("proof", job, "--version", "1", *out(book))
    assert first.out.startswith("Issued as alder-oven-bakery-1.")
    assert "would say the same" in book("proof", job, "--version", "2", *out(book)).err
    assert "there is no version 3" in book("proof", job, "--version", "3", *out(book)).err
    assert contents(book("proof", job, "--version", "1", *out(book))) == contents(first)
    client = ("client", "Alder Oven Bakery", "--from", "2026-09-01", "--to", "2026-09-30", *out(book))
    assert contents(book(*client, "--version", "1")) == contents(book(*client))


def test_every_proof_of_a_month_is_issued_in_turn(book: Desk) -> None:
    """New ones, replaced ones and unchanged ones are told apart; a job without work has none."""
    book.case("01")
    book.case("02")
    book.case("10")
    book("proof", "Alder Oven dock, September", *out(book))
    said = book("proof", "--month", "2026-09", *out(book))
    lines = said.out.splitlines()
    assert said.code == 0, said.err
    assert lines[0] == "alder-oven-bakery-1, issued before  Alder Oven dock, September"
    assert f"alder-oven-bakery-2, new  {ROUTE}.s1" in lines
    made = len(lines) - 1
    assert lines[-1] == f"{made} proofs: {made - 1} issued now, 1 issued before and unchanged; in {out(book)[1]}"
    book("correct", ROUTE, "used", "31 gal", "--line", "3", "--reason", "keyed wrong", "--why", "a digit", *WHO)
    again = book("proof", "--month", "2026-09", *out(book)).out
    assert re.search(rf"^quillon-fish-counter-\d, replaces quillon-fish-counter-1  {ROUTE}.s2$", again, re.M)
    assert book("proof", "--month", "2026-12", *out(book)).out.startswith("0 proofs")


def test_proofs_of_a_month_that_are_interrupted_are_whole_up_to_then(book: Desk, monkeypatch: Any) -> None:
    """How many are done is said; the next call does the rest, and none is there twice or by half."""
    book.case("02")
    real, calls = issuing.rendered, iter(range(100))

    def tired(*args: Any) -> Any:
        if next(calls) == 3:
            raise KeyboardInterrupt
        return real(*args)

    with monkeypatch.context() as patched:
        patched.setattr(issuing, "rendered", tired)
        said = book("proof", "--month", "2026-09", *out(book))
    assert said.code == 2
    assert said.out.endswith("Stopped after 3 of 8 proofs; each of these is whole. Run it again for the rest.\n")
    assert book("verify", "--deep").code == 0
    assert len(book("pages", "--json").json) == 3
    rest = book("proof", "--month", "2026-09", *out(book))
    assert rest.out.splitlines()[-1].startswith("8 proofs: 5 issued now, 3 issued before")


@pytest.mark.parametrize(
    ("args", "what"),
    [
        ((), "it is not said of what"),
        (("A job", "--month", "2026-09"), "it is not said of what"),
        (("--month", "2026-09", "--preview"), "--preview and --version are of one page"),
        (("--month", "2026-09", "--version", "1"), "--preview and --version are of one page"),
        (("--month", "September"), "is not a month"),
        (("Nobody's dock",), "no job is called"),
    ],
)
def test_a_proof_is_of_one_job_or_of_one_month(book: Desk, args: tuple[str, ...], what: str) -> None:
    """Anything else is refused with what to do."""
    said = book("proof", *args)
    assert said.code == 2 and what in said.err


def test_a_job_that_is_nearly_named_is_suggested(book: Desk) -> None:
    """A slip of the keyboard is not a dead end."""
    book.case("01")
    assert "did you mean 'Alder Oven dock, September'?" in book("proof", "Alder Oven dock, Septembr").err


def test_another_paper_is_a_page_of_its_own(book: Desk) -> None:
    """A4 beside letter, Spanish beside English: none replaces another, and each is found again."""
    book.case("01")
    job = "Alder Oven dock, September"
    forms = [(), ("--paper", "A4"), ("--lang", "es"), ("--lang", "es", "--paper", "A4")]
    made = [book("proof", job, *form, *out(book)) for form in forms]
    assert [said.out.splitlines()[0] for said in made] == [f"Issued as alder-oven-bakery-{n}." for n in range(1, 5)]
    for form, said in zip(forms, made, strict=True):
        assert contents(book("proof", job, *form, *out(book))) == contents(said)
    rows = book("pages", "--json").json
    assert [row["page"] for row in rows] == ["proof", "proof A4", "proof es", "proof es A4"]
    assert {(row["version"], row["replaced by"]) for row in rows} == {(1, "")}


def test_pages_are_listed_in_three_forms(book: Desk) -> None:
    """Empty ones are said in words; versions are counted, from the closing on for a month."""
    assert book("pages").out == "No page was issued yet.\n"
    assert book("pages", "--touched").out == "No page prints a figure that the records say otherwise now.\n"
    assert book("pages", "--touched", "--json").json == []
    book.case("01")
    month = ("month", "2026-09", *out(book))
    book(*month)
    book.clock = book.clock.replace(month=10, day=2)
    assert book("month", "close", "2026-09", *WHO, *out(book)).code == 0
    versions = [row["version"] for row in book("pages", "--json").json]
    assert versions == ["before closing", 1]
    rows = list(csv.reader(io.StringIO(book("pages", "--csv").out)))
    assert rows[0] == ["date", "number", "page", "about", "version", "replaced by"] and len(rows) == 3
    wrong = ("--reason", "read wrong", "--why", "at an angle")
    assert book("correct", "2026-09-01-big-blue", "shows", "27.0 in", "--line", "3", *wrong, *WHO).code == 0
    listed = list(csv.reader(io.StringIO(book("pages", "--touched", "--csv").out)))
    assert listed[0] == ["number", "about", "figure", "printed", "now"]
    assert {row[0] for row in listed[1:]} == {"summary-2"}
    assert book("pages", "--touched").out.splitlines()[-1].startswith("Each page stays as it was issued.")


def test_every_page_comes_out_the_same_from_the_records_that_stood_then(book: Desk) -> None:
    """PDF, HTML, JSON and workbook of all that was issued, first versions and later ones, a closing and what restates
    it: made again from the records up to their size, whatever came since, they are the bytes that the book keeps.
    """
    for case in ("01", "02", "22"):
        book.case(case)
    book("proof", "--month", "2026-09", *out(book))
    book("client", "Alder Oven Bakery", "--from", "2026-09-01", "--to", "2026-09-30", *out(book))
    book.clock = datetime(2026, 10, 2, 15, tzinfo=UTC)
    assert book("month", "close", "2026-09", *WHO, *out(book)).code == 0
    wrong = ("--reason", "keyed wrong", "--why", "a digit")
    assert book("correct", ROUTE, "used", "31 gal", "--line", "3", *wrong, *WHO).code == 0
    book("proof", "--month", "2026-09", *out(book))
    book("month", "2026-10", *out(book))
    assert book("month", "2026-09", "--version", "2", *out(book)).code == 0
    book.case("12")
    book("month", "reopen", "2026-09", "--why", "a card was found", *WHO)
    seen = 0
    shell = Shell(book.folder)
    with shell.open() as opened:
        records = list(opened.records())
        for page in gather(records).issued:
            state = gather(stood(records, page.size, page.number))
            then = Office(shell, opened, state, page.date, read=lambda state=state: state)
            match page.page:
                case "proof":
                    wanted = proof_wanted(then, page.about, Form())
                case "month":
                    wanted = month_wanted(then, *span_in(page.about)[1:], Form())
                case _:
                    wanted = client_wanted(then, *span_in(page.about), Form())
            head = Head(page.size, page.root)
            made = issuing.rendered(wanted, page.number, page.date, page.replaces, head, book.folder)
            assert {sha256(data).hexdigest() for data in made.values()} == set(page.files.values()), page.number
            assert dict(wanted.figures) == dict(page.figures)
            assert opened.head_at(page.size).root_hex == page.root
            seen += 1
    assert seen > 20


@pytest.mark.parametrize("when", ["judging by the rules", "making the page"])
def test_a_page_says_the_record_code_of_what_it_was_made_from(book: Desk, monkeypatch: Any, when: str) -> None:
    """A record that another program writes meanwhile is not in the page, and not in its code."""
    book.case("01")
    book.case("02")
    before = book("verify", "--json").json
    real = Progress.say

    def slow(progress: Progress, what: str) -> None:
        """Another rig hands in while the page is being made."""
        if what.startswith(when) and not book.folder.with_name("done").exists():
            book.folder.with_name("done").touch()
            assert main(["--book", str(book.folder), "add", "client", "Somebody New"]) == 0
        real(progress, what)

    with monkeypatch.context() as patched:
        patched.setattr(Progress, "say", slow)
        said = book("proof", "--month", "2026-09", *out(book))
    assert said.code == 0, said.err
    assert "9 proofs: 9 issued now" in said.out
    pages = {row["number"]: row for row in book("pages", "--json").json}
    assert len(pages) == 9
    first = (out(book)[1] / "alder-oven-bakery-1.html").read_text(encoding="utf-8")
    assert before["root"] in first
    assert book("verify").code == 0
    assert book("pages", "--touched", "--json").json == []


def test_a_span_that_ends_before_it_begins_or_holds_nothing_gets_no_number(book: Desk) -> None:
    """Each is refused with what to do; a preview keeps nothing and may be of anything."""
    book.case("02")
    book.clock = datetime(2026, 10, 2, 18, tzinfo=UTC)
    before = book("verify", "--json").json["records"]
    for first, last, what in (
        ("2026-09-30", "2026-09-01", "the first day, 2026-09-30, is after the last, 2026-09-01"),
        ("2026-12-01", "2026-12-31", "2026-12-01 has not come yet"),
        ("2026-08-01", "2026-08-31", "nothing is recorded up to 2026-08-31"),
        ("2026-09-01", "2026-09-02", "nothing is recorded up to 2026-09-02"),
        ("2026-09-10", "2026-09-12", "no work for 'Old Depot Market' is recorded from 2026-09-10 to 2026-09-12"),
    ):
        said = book("client", "Old Depot Market", "--from", first, "--to", last, *out(book))
        assert said.code == 2
        assert said.err.startswith(what + "\n")
    assert book("verify", "--json").json["records"] == before
    span = ("--from", "2026-09-10", "--to", "2026-09-12")
    assert book("client", "Old Depot Market", *span, "--preview", *out(book)).code == 0


def test_a_stop_at_which_nobody_worked_is_proved_only_on_request(book: Desk) -> None:
    """It says why nobody worked, and how the page is had all the same."""
    book.case("10")
    job = book("query", "select stop from stops where not_worked is not ''", "--json").json[0]["stop"]
    said = book("proof", job, *out(book))
    assert said.code == 2
    assert f"nobody worked at '{job}': " in said.err
    assert "--not-worked" in said.err
    assert book("proof", job, "--preview", *out(book)).code == 0
    assert book("proof", job, "--not-worked", *out(book)).code == 0


def test_the_name_of_a_run_leads_to_the_jobs_at_which_somebody_worked(book: Desk) -> None:
    """A night is no job: its worked stops are offered, and no other."""
    book.case("10")
    run = book("query", "select run from stops where not_worked is not ''", "--json").json[0]["run"]
    said = book("proof", run, *out(book))
    assert said.code == 2
    stops = book("query", f"select job, not_worked from stops where run = '{run}'", "--json").json
    worked = [row["job"] for row in stops if not row["not_worked"]]
    assert f"do this: that is a run; its jobs are: {', '.join(worked)}\n" in said.err


def test_a_proof_without_a_client_is_counted_among_proofs(book: Desk, tmp_path: Path) -> None:
    """Its number is not that of an owner's summary."""
    night = tmp_path / "night.toml"
    night.write_text(
        'rig = "Big Blue"\nlead = "Marisol Vega"\ndate = "2026-09-02"\nwhere = "aboard"\n'
        '[[line]]\nline = "stop"\nsite = "The old mill"\n'
    )
    assert book("log", "--from", night).code == 0
    assert files(book("proof", "2026-09-02-big-blue.s1", *out(book)))[".pdf"].name == "proof-1.pdf"


def test_a_client_of_old_books_alone_has_a_summary(book: Desk) -> None:
    """Somebody who is on no register and in no run, but in the rows of an old file."""
    from compliance.book.store import Book
    from compliance.records import kinds
    from compliance.records.envelope import Entry

    row = {"date": "2021-09-03", "client": "Old Mill", "used": "450 gal"}
    held = {"fields": row, "typed": {}, "method": kinds.OLD_METHOD, "file": "old.csv", "sha256": "a" * 64, "sheet": "",
            "row": 2, "mapping": "b" * 64, "who": ""}  # fmt: skip
    with Book.open(book.folder) as opened:
        opened.append([Entry("e" * 32, kinds.OLD_ROW, "2021-09-03", "2026-09-01T08:00:00Z", held)],
                      receipt_time="2026-09-01T08:00:00Z")  # fmt: skip
    said = book("client", "Old Mill", "--from", "2021-01-01", "--to", "2021-12-31", *out(book))
    assert "From before this book" in words(said)
    assert book("client", "New Mill", "--from", "2021-01-01", "--to", "2021-12-31").code == 2


def test_previews_of_two_jobs_lie_side_by_side(book: Desk, tmp_path: Path) -> None:
    """The second took the place of the first without a word."""
    book.case("02")
    jobs = [f"{ROUTE}.s1", f"{ROUTE}.s2"]
    assert [book("proof", job, "--preview", "--out", tmp_path / "pages").code for job in jobs] == [0, 0]
    assert {path.stem for path in (tmp_path / "pages").iterdir()} == {
        f"preview-proof-{ROUTE}-s1",
        f"preview-proof-{ROUTE}-s2",
    }


def test_a_corrected_area_touches_the_pages_that_print_it(book: Desk) -> None:
    """A proof prints it and the film that follows from it, a month the depth of water on it."""
    book.case("01")
    assert book("proof", "Alder Oven dock, September", *out(book)).code == 0
    assert book("month", "2026-09", *out(book)).code == 0
    spot = ("correct", "2026-09-01-big-blue", "area", "2600 ft2", "--line", "2", "--who", "Ruth Okafor")
    assert book(*spot, "--reason", "keyed wrong", "--why", "plan of the site").code == 0
    rows = book("pages", "--touched", "--json").json
    assert [(row["figure"], row["printed"], row["now"]) for row in rows] == [
        ("area, 2026-09-01-big-blue.s1", "2,400, no ±", "2,600, no ±"),
        ("area, 2026-09-01-big-blue", "2,400, no ±", "2,600, no ±"),
    ]
