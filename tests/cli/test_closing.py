"""A month is closed by somebody, on a day; what comes later restates it, and what was issued stays to the byte."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.cases import SAMPLES
from tests.cli.conftest import Desk, Said

SEPTEMBER = "2026-09"
OCTOBER_2 = datetime(2026, 10, 2, 15, tzinfo=UTC)
ON_FRIDAY, ON_MONDAY = datetime(2026, 10, 30, 6, 5, tzinfo=UTC), datetime(2026, 11, 2, 7, 10, tzinfo=UTC)
"""When the first two cards of case 26 were handed in."""
WHO = ("--who", "Ruth Okafor")


@pytest.fixture
def closed(book: Desk) -> Desk:
    """A book whose September is over and closed."""
    book.case("01")
    book.case("02")
    book.clock = OCTOBER_2
    said = close(book)
    assert said.code == 0, said.err
    return book


def out(book: Desk) -> tuple[str, Path]:
    return "--out", book.folder.parent / "pages"


def close(book: Desk, month: str = SEPTEMBER) -> Said:
    return book("month", "close", month, *WHO, *out(book))


def files(said: Said) -> dict[str, Path]:
    return {Path(line.strip()).suffix: Path(line.strip()) for line in said.out.splitlines() if line.startswith("  ")}


def contents(said: Said) -> dict[str, bytes]:
    return {end: path.read_bytes() for end, path in files(said).items()}


def words(said: Said) -> str:
    return files(said)[".html"].read_text(encoding="utf-8")


def read_wrong(book: Desk, shows: str = "27.0 in") -> None:
    said = book("correct", "2026-09-01-big-blue", "shows", shows, "--line", "3", "--reason", "read wrong", "--why",
                "at an angle", *WHO)  # fmt: skip
    assert said.code == 0, said.err


def records(book: Desk) -> int:
    return int(book("verify", "--json").json["records"])


def test_closing_issues_the_summary_and_says_what_it_leaves_behind(book: Desk) -> None:
    """One step: the closing and the summary that goes with it; open items and missing fields are counted."""
    book.case("22")
    book.clock = OCTOBER_2
    before = records(book)
    said = close(book)
    assert said.code == 0, said.err
    assert said.out.startswith("Issued as summary-1.\n")
    assert set(files(said)) == {".pdf", ".html", ".json", ".xlsx"}
    assert "Oct 2, 2026; replaces no page" in words(said)
    assert said.out.endswith("2026-09 is closed. Open items: 1; fields that are 'not recorded' from now on: 18.\n")
    assert records(book) == before + 2
    assert "closed Oct 2, 2026 by Ruth Okafor" in words(said)
    assert "not recorded yet" not in words(said)
    assert book("verify", "--page", files(said)[".pdf"]).out.startswith("Issued by this book as summary-1")


def test_closing_says_that_nights_from_before_the_book_are_not_counted(book: Desk, tmp_path: Path) -> None:
    """They are not judged, so that nothing is open; the summary says 'not recorded' of them all the same."""
    night = tmp_path / "august.toml"
    night.write_text(
        'rig = "Big Blue"\nlead = "Marisol Vega"\ndate = "2026-08-05"\nwhere = "aboard"\n'
        'used = "not read"\nrecovered = "not read"\n\n[[line]]\nline = "stop"\nsite = "Harbor deck"\n'
    )
    assert book("log", "--from", night).code == 0
    night.write_text(night.read_text().replace("2026-08-05", "2026-07-06"))
    assert book("log", "--from", night).code == 0
    assert book("cancel", "2026-07-06-big-blue", "--why", "entered twice", "--who", "Priya Lund").code == 0
    assert "are from before the book" not in close(book, "2026-07").out  # what was cancelled lacks nothing
    said = close(book, "2026-08")
    assert said.out.endswith(
        "2026-08 is closed. Open items: 0; fields that are 'not recorded' from now on: 0.\n"
        "Nights before 2026-08-24 are from before the book: not judged, and what they lack is not counted.\n"
    )
    assert "not recorded" in words(said)


def test_closing_twice_changes_nothing(closed: Desk) -> None:
    """The second time says when it was closed, by whom and as what."""
    before = records(closed)
    said = close(closed)
    assert said.code == 0
    assert said.out == "2026-09 was closed on 2026-10-02 by Ruth Okafor, as summary-1; nothing was changed.\n"
    assert records(closed) == before


def test_a_month_that_is_not_over_is_not_closed(book: Desk) -> None:
    """Its last day has to have passed where the business is: at 3 am UTC it is still the evening of the last day."""
    book.case("01")
    book.clock = datetime(2026, 10, 1, 3, tzinfo=UTC)
    assert "2026-09 is not over" in close(book).err
    book.clock = datetime(2026, 10, 1, 7, tzinfo=UTC)
    assert close(book).code == 0
    assert "is not a month" in close(book, "September").err


def test_a_month_of_which_nothing_can_be_known_is_neither_written_nor_closed(book: Desk) -> None:
    """Before the first night, and where there is none: a number is given to no empty page, and no day is shut away."""
    book.clock = OCTOBER_2
    assert "no night is recorded yet" in close(book).err
    book.case("01")
    before = records(book)
    for said in (close(book, "2026-08"), book("month", "2026-08", *out(book))):
        assert said.code == 2
        assert "nothing is recorded up to 2026-08-31" in said.err
        assert "the first night on record is 2026-09-01" in said.err
    said = book("month", "2026-11", *out(book))
    assert said.code == 2
    assert "2026-11-01 has not come yet" in said.err
    assert book("month", "2026-11", "--preview", *out(book)).code == 0
    assert records(book) == before


def test_a_month_without_a_night_between_others_is_a_month(book: Desk) -> None:
    """That nothing was done in October is known once a night of September is on record."""
    book.case("01")
    book.clock = datetime(2026, 11, 3, 18, tzinfo=UTC)
    assert close(book, "2026-10").code == 0


@pytest.mark.parametrize(("given", "what"), [(("--who", " "), "it is not said who"), (("--who", "a\nb"), "one line")])
def test_a_closing_names_somebody(book: Desk, given: tuple[str, ...], what: str) -> None:
    """A name is a claim, and there has to be one."""
    book.clock = OCTOBER_2
    said = book("month", "close", SEPTEMBER, *given)
    assert said.code == 2 and what in said.err
    assert "it is not said who" in book("month", "close", SEPTEMBER).err


def test_a_closed_month_keeps_its_version_whatever_comes(closed: Desk) -> None:
    """Asked for again it is the same bytes, and says that the records say something else now, and how to have that."""
    first = contents(closed("month", SEPTEMBER, *out(closed)))
    read_wrong(closed)
    closed.case("12")
    said = closed("month", SEPTEMBER, *out(closed))
    assert said.code == 0, said.err
    assert contents(said) == first
    assert "was closed on 2026-10-02; this is its summary as it was issued as summary-1." in said.out
    assert "`washwater month 2026-09 --version 2` issues them." in said.out
    assert contents(closed("month", SEPTEMBER, "--version", "1", *out(closed))) == first


def test_version_two_is_issued_on_request_and_says_what_differs(closed: Desk) -> None:
    """It replaces version 1; there is no version 3 until something changes again; version 1 stays as it was."""
    first = contents(closed("month", SEPTEMBER, *out(closed)))
    same = closed("month", SEPTEMBER, "--version", "2", *out(closed))
    assert same.code == 2 and "version 2 would say the same as version 1" in same.err
    read_wrong(closed)
    second = closed("month", SEPTEMBER, "--version", "2", *out(closed))
    assert second.out.startswith("Issued as summary-2, which replaces summary-1.\n")
    assert "Oct 2, 2026; version 2, replaces no. summary-1 of Oct 2, 2026" in words(second)
    assert "What differs from summary-1 of Oct 2, 2026" in words(second)
    assert "at an angle" in words(second)
    assert "version 3 would say the same as version 2" in closed("month", SEPTEMBER, "--version", "3", *out(closed)).err
    assert "there is no version 9" in closed("month", SEPTEMBER, "--version", "9", *out(closed)).err
    assert "Version 2, as it was issued" in closed("month", SEPTEMBER, "--version", "2", *out(closed)).out
    assert contents(closed("month", SEPTEMBER, "--version", "1", *out(closed))) == first
    assert "this is its summary as it was issued as summary-2" in closed("month", SEPTEMBER, *out(closed)).out
    assert "Replaced by summary-2" in closed("verify", "--page", closed.folder.parent / "pages/summary-1.pdf").out


def test_a_preview_of_a_closed_month_is_what_the_records_say_now(closed: Desk) -> None:
    """The book keeps nothing of it."""
    read_wrong(closed)
    before = records(closed)
    said = closed("month", SEPTEMBER, "--preview", *out(closed))
    assert "3,9" not in said.err and said.code == 0
    assert files(said)[".pdf"].name == "preview-month-2026-09-01-2026-09-30.pdf"
    assert records(closed) == before


def test_another_language_of_a_closed_month_is_of_the_closing_too(closed: Desk) -> None:
    """The Spanish summary, asked for after a correction, holds the figures of the closing and replaces no other."""
    english = json.loads(files(closed("month", SEPTEMBER, *out(closed)))[".json"].read_bytes())
    read_wrong(closed)
    spanish = closed("month", SEPTEMBER, "--lang", "es", *out(closed))
    assert spanish.out.startswith("Issued as summary-2.\n")
    made = json.loads(files(spanish)[".json"].read_bytes())

    def sums(page: dict[str, object]) -> list[list[str]]:
        table = next(one for one in page["blocks"] if one["block"] == "Table")  # type: ignore[attr-defined, index]
        return [[cell.get("number", "") for cell in row] for row in table["rows"]]

    assert sums(made) == sums(english)
    again = closed("month", SEPTEMBER, "--lang", "es", *out(closed))
    assert contents(again) == contents(spanish)
    third = closed("month", SEPTEMBER, "--lang", "es", "--version", "2", *out(closed))
    assert "2 oct 2026; versión 2, reemplaza a la n.º summary-2 del 2 oct 2026" in words(third)
    paper = closed("month", SEPTEMBER, "--paper", "A4", *out(closed))
    assert paper.out.startswith("Issued as summary-4.\n")


def test_the_next_summary_restates_the_closed_month(closed: Desk) -> None:
    """Which sums were printed, which are so now, and what came; without a change it says nothing."""
    before = closed("month", "2026-10", *out(closed))
    assert "Restates" not in words(before)
    read_wrong(closed)
    after = closed("month", "2026-10", *out(closed))
    assert "which replaces summary-2" in after.out
    assert "Restates Sep 1, 2026 to Sep 30, 2026 (summary-1)" in words(after)
    assert "at an angle" in words(after)


def test_a_month_is_opened_again_in_plain_sight(closed: Desk) -> None:
    """With a reason; 'not recorded' may be filled in again; the summary it was closed with stays as it was issued."""
    first = contents(closed("month", SEPTEMBER, *out(closed)))
    assert "it is not said why" in closed("month", "reopen", SEPTEMBER, "--why", " ", *WHO).err
    said = closed("month", "reopen", SEPTEMBER, "--why", "two cards were found", *WHO)
    assert said.code == 0, said.err
    assert "2026-09 is open again." in said.out
    assert "2026-09 is not closed" in closed("month", "reopen", SEPTEMBER, "--why", "x", *WHO).err
    issued = closed("month", SEPTEMBER, *out(closed))
    assert "Issued as summary-2, which replaces summary-1." in issued.out
    assert "; version 2, replaces no. summary-1 of Oct 2, 2026" in words(issued)
    assert "opened again Oct 2, 2026 by Ruth Okafor: two cards were found" in words(issued)
    assert close(closed).code == 0
    assert contents(closed("month", SEPTEMBER, "--version", "1", *out(closed))) == first
    rows = closed("month", "list", "--json").json
    assert [(row["what"], row["summary"], row["why"]) for row in rows] == [
        ("closed", "summary-1", ""), ("opened again", "", "two cards were found"), ("closed", "summary-3", ""),
    ]  # fmt: skip
    assert closed("month", "list", "--csv").out.startswith("month,what,date,by,summary,why\n")


def test_no_month_is_closed_before_somebody_does_it(book: Desk) -> None:
    """An empty list is said in words; a summary closes nothing."""
    book.case("01")
    book("month", SEPTEMBER, *out(book))
    assert book("month", "list").out == "No month was closed yet.\n"


def test_the_month_may_be_the_first_word_or_follow_summary(book: Desk) -> None:
    """Options before and behind it; the help names every command of the group."""
    book.case("01")
    first = book("month", SEPTEMBER, *out(book))
    assert contents(book("month", "summary", SEPTEMBER, *out(book))) == contents(first)
    assert contents(book("month", *out(book), SEPTEMBER)) == contents(first)
    told = book("month", "--help").out
    assert all(word in told for word in ("close", "reopen", "list", "summary", "MONTH"))
    assert book("month").code == 2


def test_closing_is_both_records_or_none(book: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the disk fails between the files and the records, the month is open and nothing was issued."""
    from compliance.book.store import Book

    book.case("01")
    book.clock = OCTOBER_2
    before = records(book)

    def full(*args: object, **more: object) -> None:
        raise OSError("the disk is full")

    with monkeypatch.context() as patched:
        patched.setattr(Book, "append", full)
        assert close(book).code == 2
    assert records(book) == before
    assert close(book).out.startswith("Issued as summary-1.\n")


def test_case_26_a_closed_month_then_a_late_card(book: Desk) -> None:
    """October keeps version 1, byte for byte; version 2 has the late card; November restates October."""
    (folder,) = SAMPLES.rglob("case-26-*")
    more = SAMPLES / "later" / "registers.toml"
    assert not more.is_file() or book("log", "--from", more).code == 0
    one, two, late = sorted(folder.glob("[0-9]*.toml"))
    for file, clock in ((one, ON_FRIDAY), (two, ON_MONDAY)):
        book.clock = clock
        assert book("log", "--from", file).code == 0
    book.clock = datetime(2026, 11, 2, 15, 10, tzinfo=UTC)
    said = book("month", "close", "2026-10", *WHO, *out(book))
    assert said.code == 0, said.err
    first = contents(said)
    assert "Open items: 0;" in said.out
    assert "sum used" not in book("pages", "--touched").out
    book.clock = datetime(2026, 11, 2, 23, 40, tzinfo=UTC)
    handed_in = book("log", "--from", late)
    assert handed_in.code == 0, handed_in.err
    touched = {row["figure"]: (row["printed"], row["now"]) for row in book("pages", "--touched", "--json").json}
    assert touched["sum used, measured"] == ("130.2 ± 6.0", "231 ± 11")
    assert touched["sum captured, measured"] == ("110.0 ± 3.8", "195.0 ± 6.7")
    assert touched["sum aboard after, measured"][1].startswith("195.0 ")
    assert touched["sum runs"] == ("1", "2")
    assert contents(book("month", "2026-10", *out(book))) == first
    november = book("month", "2026-11", *out(book))
    assert "Restates Oct 1, 2026 to Oct 31, 2026 (summary-1)" in words(november)
    second = book("month", "2026-10", "--version", "2", *out(book))
    assert "which replaces summary-1" in second.out
    assert "231" in words(second) and "handed in" in words(second)
    assert contents(book("month", "2026-10", "--version", "1", *out(book))) == first
    assert book("pages", "--touched").out == "No page prints a figure that the records say otherwise now.\n"


def test_a_closed_month_takes_what_comes_late_and_says_that_it_is_closed(closed: Desk) -> None:
    """Nothing is locked: a field, a forgotten line and a correction go in; an open month says nothing of it."""
    run = "2026-09-03-big-blue"
    told = "2026-09 is closed. Its summary stays as it was issued"
    filled = closed("complete", run, "on_site", "arrived", "--line", "2", *WHO)
    assert filled.code == 0, filled.err
    assert told in filled.err
    again = closed("complete", run, "on_site", "arrived", "--line", "2", *WHO)
    assert (again.code, told in again.err) == (0, False)
    corrected = closed("correct", run, "recovered", "436 gal", "--reason", "keyed wrong", "--why", "x", *WHO)
    assert (corrected.code, told in corrected.err) == (0, True)
    assert closed("month", "reopen", SEPTEMBER, "--why", "late", *WHO).code == 0
    open_again = closed("complete", run, "work", "done", "--line", "2", *WHO)
    assert (open_again.code, "is closed" in open_again.err) == (0, False)
