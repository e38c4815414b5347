"""Issued pages: their numbers, what they replace, their versions, and which months are closed."""

from __future__ import annotations

from compliance.records.views import Issued
from compliance.reports.issue import (
    CLIENT,
    MONTH,
    OWNER,
    PROOF,
    about_span,
    base_of,
    closes,
    in_form,
    prepare,
    replaced_by,
    span_in,
    versions,
)
from tests.reports.making import close_month, keep, keep_month, keep_proof, reopen_month, sample


def issued(number: str, page: str = PROOF, about: str = "job", **more: object) -> Issued:
    """An issued page as the fold of the records gives it."""
    given: dict[str, object] = {"figures": {}, "replaces": "", "date": "2026-10-01", "files": {}, **more}
    return Issued("r", 1, page, number, about, size=1, root="", **given)  # type: ignore[arg-type]


def test_numbers_count_per_client() -> None:
    """A client learns from a number only how many pages that client has had."""
    so_far = [issued("hillrow-hospital-1"), issued("tern-street-laundry-1"), issued("hillrow-hospital-2")]
    assert prepare(PROOF, "job x", "Hillrow Hospital", so_far).number == "hillrow-hospital-3"
    assert prepare(PROOF, "job x", "Tern Street Laundry", so_far).number == "tern-street-laundry-2"
    assert prepare(PROOF, "job x", "Old Depot Market", so_far).number == "old-depot-market-1"
    assert prepare(MONTH, "2026-09-01..2026-09-30", OWNER, so_far).number == "summary-1"


def test_a_client_whose_name_ends_in_a_number_has_numbers_of_its_own() -> None:
    """'Pier 4' and 'Pier' are not mixed up."""
    so_far = [issued("pier-4-1"), issued("pier-7")]
    assert prepare(PROOF, "x", "Pier", so_far).number == "pier-8"
    assert prepare(PROOF, "x", "Pier 4", so_far).number == "pier-4-2"


def test_a_page_replaces_the_last_one_of_the_same_kind_and_matter() -> None:
    """The same job again replaces; another job, or another kind of page, does not."""
    so_far = [issued("a-1", about="job 1"), issued("a-2", about="job 1"), issued("a-3", about="job 2"),
              issued("a-4", page=CLIENT, about="job 1")]  # fmt: skip
    assert prepare(PROOF, "job 1", "A", so_far).replaces == "a-2"
    assert prepare(PROOF, "job 3", "A", so_far).replaces == ""


def test_a_page_in_another_language_or_on_other_paper_replaces_no_other() -> None:
    """Each form is a page of its own; all of them are of one kind at heart."""
    forms = [in_form(MONTH, language, paper) for language in ("en", "es") for paper in ("letter", "A4")]
    assert forms == ["month", "month A4", "month es", "month es A4"]
    assert {base_of(form) for form in forms} == {MONTH}
    assert prepare("month A4", "x", OWNER, [issued("summary-1", page="month", about="x")]).replaces == ""


def test_what_a_summary_is_of_can_be_read_back() -> None:
    """The client's name may hold spaces."""
    assert span_in(about_span("2026-09-01", "2026-09-30")) == ("", "2026-09-01", "2026-09-30")
    assert span_in(about_span("2026-09-01", "2026-09-30", "Old Depot Market")) == (
        "Old Depot Market", "2026-09-01", "2026-09-30",
    )  # fmt: skip


def test_the_record_holds_what_a_reader_needs_to_check_the_page() -> None:
    """Kind, number, matter, date, hashes, what it was made from, figures, what it replaces and who."""
    bench = sample("case-01-one-stop")
    size = len(bench.records)
    number = keep_proof(bench, "Alder Oven dock, September")
    (page,) = bench.state.issued
    assert (page.number, page.page, page.about) == (number, PROOF, "Alder Oven dock, September")
    assert (page.size, page.root, page.files) == (size, "ab" * 32, {"application/pdf": "f" * 64})
    assert set(page.figures) == {
        "2026-09-01-big-blue.s1/used", "2026-09-01-big-blue.s1/captured", "2026-09-01-big-blue.s1/ways",
        "2026-09-01-big-blue.s1/not explained", "2026-09-01-big-blue.s1/area", "2026-09-01-big-blue.l1",
    }  # fmt: skip


def test_a_month_is_closed_by_its_closing_and_by_no_page() -> None:
    """A proof closes nothing, and neither does a summary, of a client or of the owner, that covers the day."""
    bench = sample("case-01-one-stop")
    keep_proof(bench, "Alder Oven dock, September")
    keep(bench, CLIENT, about_span("2026-09-01", "2026-09-30", "Alder Oven Bakery"), "Alder Oven Bakery", {})
    keep_month(bench, "2026-09-01", "2026-09-30")
    assert not closes(bench.state, "2026-09-15")
    close_month(bench, "2026-09")
    assert closes(bench.state, "2026-09-01") and closes(bench.state, "2026-09-30")
    assert not closes(bench.state, "2026-10-01") and not closes(bench.state, "2026-08-31")
    reopen_month(bench, "2026-09", "a card was found")
    assert not closes(bench.state, "2026-09-15")


def test_the_versions_of_a_page_are_those_of_its_kind_and_matter_in_order() -> None:
    """Other jobs and other forms count for themselves."""
    bench = sample("case-01-one-stop")
    job = "Alder Oven dock, September"
    first, second = keep_proof(bench, job), keep_proof(bench, job)
    keep(bench, "proof es", job, "Alder Oven Bakery", {})
    assert [one.number for one in versions(bench.state, PROOF, job)] == [first, second]
    assert [one.number for one in versions(bench.state, "proof es", job)] == ["alder-oven-bakery-3"]


def test_version_one_of_a_month_is_the_summary_it_was_closed_with() -> None:
    """A summary of the open month stays as issued, and counts as a version only while the month was never closed."""
    bench = sample("case-01-one-stop")
    about = about_span("2026-09-01", "2026-09-30")
    early = keep_month(bench, "2026-09-01", "2026-09-30")
    assert [one.number for one in versions(bench.state, MONTH, about)] == [early]
    close_month(bench, "2026-09", "summary-2")
    closing = keep_month(bench, "2026-09-01", "2026-09-30")
    later = keep_month(bench, "2026-09-01", "2026-09-30")
    assert [one.number for one in versions(bench.state, MONTH, about)] == [closing, later]
    reopen_month(bench, "2026-09", "a card was found")
    again = keep_month(bench, "2026-09-01", "2026-09-30")
    assert [one.number for one in versions(bench.state, MONTH, about)] == [closing, later, again]


def test_the_page_that_replaced_another_is_found() -> None:
    """A page in force has none."""
    pages = [issued("a-1"), issued("a-2", replaces="a-1")]
    assert replaced_by(pages[0], pages) is pages[1]
    assert replaced_by(pages[1], pages) is None
