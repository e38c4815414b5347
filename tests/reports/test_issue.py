"""Issued pages: their numbers, what they replace, and which of them a later record touches."""

from __future__ import annotations

from compliance.records import kinds
from compliance.records.envelope import Entry
from compliance.records.state import Issued
from compliance.reports.issue import (
    CLIENT,
    MONTH,
    OWNER,
    PROOF,
    Head,
    about_span,
    closes,
    division_digest,
    division_version,
    figures,
    job_figures,
    payload,
    prepare,
    replaced_by,
    restated,
    touched,
)
from compliance.water.jobs import job_facts
from tests.reports.making import HEAD, SAMPLES, Bench, read_toml, sample


def issued(number: str, page: str = PROOF, about: str = "job", **more: object) -> Issued:
    """An issued page as the fold of the records gives it."""
    given: dict[str, object] = {"figures": {}, "replaces": "", "date": "2026-10-01", "files": {}, **more}
    return Issued("r", 1, page, number, about, size=1, root="", **given)  # type: ignore[arg-type]


def keep(bench: Bench, page: str, about: str, counted_under: str, made: dict[str, str]) -> str:
    """Issue a page and return its number."""
    prepared = prepare(page, about, counted_under, bench.state.issued)
    held = payload(page, about, prepared, date="2026-10-01", files={"application/pdf": "f" * 64}, head=HEAD,
                   figures=made, who="Priya Lund")  # fmt: skip
    n = len(bench.records) + 1
    bench.add(Entry(f"{n:032x}", kinds.ISSUE, "2026-10-01", "2026-10-01T08:00:00-06:00", held), "2026-10-01")
    return prepared.number


def issue_proof(bench: Bench, job: str) -> str:
    """Issue the proof of a job."""
    facts = job_facts(bench.state, bench.night, job)
    assert facts is not None
    return keep(bench, PROOF, job, facts.client, dict(job_figures(bench.night, facts)))


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


def test_the_record_holds_what_a_reader_needs_to_check_the_page() -> None:
    """Kind, number, matter, date, hashes, what it was made from, figures, what it replaces and who."""
    bench = sample("case-01-one-stop")
    number = issue_proof(bench, "Alder Oven dock, September")
    (page,) = bench.state.issued
    assert (page.number, page.page, page.about) == (number, PROOF, "Alder Oven dock, September")
    assert (page.size, page.root, page.files) == (HEAD.size, HEAD.root, {"application/pdf": "f" * 64})
    assert set(page.figures) == {
        "2026-09-01-big-blue.s1/used", "2026-09-01-big-blue.s1/captured", "2026-09-01-big-blue.s1/went",
        "2026-09-01-big-blue.l1",
    }  # fmt: skip
    assert page.figures["2026-09-01-big-blue.s1/captured"] == "378.57 ± 6.01"
    assert Head(1, "x") == Head(1, "x")


def test_nothing_is_touched_while_nothing_changes() -> None:
    """Records of other nights, and of registers, leave an issued page alone."""
    bench = sample("case-01-one-stop")
    issue_proof(bench, "Alder Oven dock, September")
    bench.case("case-02-route-night", "case-03-three-nights")
    assert touched(bench.state.issued, bench.night) == []


def test_a_correction_touches_every_page_that_printed_a_figure_of_that_load() -> None:
    """One stop's metered use is corrected: all eight proofs of the route are touched, and the summary; no other."""
    bench = sample("case-01-one-stop", "case-02-route-night")
    other = issue_proof(bench, "Alder Oven dock, September")
    route = {issue_proof(bench, f"2026-09-03-big-blue.s{n}") for n in range(1, 9)}
    stops = [stop for run in bench.night.runs.values() for stop in run.stops]
    about = about_span("2026-09-01", "2026-09-30")
    month = keep(bench, MONTH, about, OWNER, dict(figures(bench.night, stops)))
    bench.put({"kind": "correct", "id": "c", "run": "2026-09-03-big-blue", "line": "3", "field": "used",
               "value": {"method": "meter", "meter": "Big Blue supply meter", "start": "999381", "end": "999412"},
               "reason": "keyed wrong", "why": "a digit", "who": "Priya Lund"})  # fmt: skip
    found = touched(bench.state.issued, bench.night)
    assert {one.page.number for one in found} == route | {month}
    assert other not in {one.page.number for one in found}
    for one in found:
        assert all(was != now for was, now in one.figures.values())
        assert "2026-09-03-big-blue.l1" in one.figures


def test_a_page_that_was_replaced_is_not_listed_again() -> None:
    """After the page is issued anew with the figures of now, nothing is touched any more."""
    bench = sample("case-01-one-stop")
    first = issue_proof(bench, "Alder Oven dock, September")
    bench.put({"kind": "correct", "id": "c", "run": "2026-09-01-big-blue", "line": "3", "field": "shows",
               "value": "27.0 in", "reason": "read wrong", "why": "at an angle", "who": "Dana Whitlock"})  # fmt: skip
    assert [one.page.number for one in touched(bench.state.issued, bench.night)] == [first]
    second = issue_proof(bench, "Alder Oven dock, September")
    assert bench.state.issued[-1].replaces == first
    assert touched(bench.state.issued, bench.night) == []
    assert second == "alder-oven-bakery-2"


def test_a_cancelled_run_touches_the_pages_that_printed_it() -> None:
    """A figure that no longer exists differs from what was printed."""
    bench = sample("case-01-one-stop")
    issue_proof(bench, "Alder Oven dock, September")
    bench.put({"kind": "cancel", "id": "x", "run": "2026-09-01-big-blue", "why": "entered twice", "who": "Priya Lund"})
    (one,) = touched(bench.state.issued, bench.night)
    assert one.figures["2026-09-01-big-blue.s1/used"][1] == ""


def test_an_accepted_volume_touches_no_page() -> None:
    """A ticket that comes weeks later changes neither what was captured nor how it was divided."""
    bench = sample()
    night, ticket = sorted((SAMPLES / "case-08-hauler-ticket").glob("[0-9]*.toml"))
    bench.put(read_toml(night))
    issue_proof(bench, "2026-09-07-big-blue.s1")
    bench.put(read_toml(ticket))
    assert touched(bench.state.issued, bench.night) == []


def test_a_digest_tells_divisions_apart() -> None:
    """Equal records give equal digests; a load that is not there has none."""
    one, two = sample("case-02-route-night"), sample("case-01-one-stop", "case-02-route-night")
    name = "2026-09-03-big-blue.l1"
    assert division_digest(one.night, name) == division_digest(two.night, name)
    assert division_digest(one.night, "no such load") == ""


def test_versions_count_the_divisions_that_were_printed() -> None:
    """Version 1 until a page printed another; the same division again is the version that it was."""
    pages = [issued("a-1", figures={"load": "x"}), issued("a-2", figures={"load": "y"})]
    assert division_version([], "load", "x") == 1
    assert [division_version(pages, "load", digest) for digest in ("x", "y", "z")] == [1, 2, 3]


def test_a_month_is_closed_by_a_summary_that_covers_it() -> None:
    """A proof or a client's summary closes nothing."""
    bench = sample("case-01-one-stop")
    issue_proof(bench, "Alder Oven dock, September")
    keep(bench, CLIENT, about_span("2026-09-01", "2026-09-30", "Alder Oven Bakery"), "Alder Oven Bakery", {})
    assert not closes(bench.state, "2026-09-15")
    keep(bench, MONTH, about_span("2026-09-01", "2026-09-30"), OWNER, {})
    assert closes(bench.state, "2026-09-01") and closes(bench.state, "2026-09-30")
    assert not closes(bench.state, "2026-10-01") and not closes(bench.state, "2026-08-31")


def test_only_summaries_that_ended_before_are_restated() -> None:
    """A proof is listed as touched, and restated by no summary."""
    bench = sample("case-01-one-stop")
    issue_proof(bench, "Alder Oven dock, September")
    stops = [stop for run in bench.night.runs.values() for stop in run.stops]
    month = keep(bench, MONTH, about_span("2026-09-01", "2026-09-30"), OWNER, dict(figures(bench.night, stops)))
    bench.put({"kind": "correct", "id": "c", "run": "2026-09-01-big-blue", "line": "3", "field": "shows",
               "value": "27.0 in", "reason": "read wrong", "why": "at an angle", "who": "Dana Whitlock"})  # fmt: skip
    assert restated(bench.state.issued, bench.night, "2026-10-01") == [month]
    assert restated(bench.state.issued, bench.night, "2026-09-30") == []


def test_the_page_that_replaced_another_is_found() -> None:
    """A page in force has none."""
    pages = [issued("a-1"), issued("a-2", replaces="a-1")]
    assert replaced_by(pages[0], pages) is pages[1]
    assert replaced_by(pages[1], pages) is None
