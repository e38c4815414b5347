"""Random nights that arrive in any order: an issued page comes out the same, and no change of it goes unlisted."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from compliance.records.envelope import Record
from compliance.reports import revised
from compliance.reports.imprint import Imprint
from compliance.reports.model import Page
from compliance.reports.month import month_page
from compliance.reports.page_json import to_json
from compliance.reports.proof import proof_page
from compliance.reports.refs import Source
from compliance.reports.touched import touched
from compliance.reports.words import Words
from compliance.water.jobs import job_facts, job_names
from compliance.water.versions import at
from tests.reports.making import Bench, close_month, figures_of, keep_month, keep_proof, past
from tests.water.histories import history, renumbered

MARCH = ("2026-03-01", "2026-03-31")


def after(bench: Bench, later: tuple[Record, ...]) -> Bench:
    """The book with the records that came later."""
    return Bench(list(renumbered([*bench.records, *later])))


def made(bench: Bench, number: str) -> Page:
    """A page again, from the records that stood when it was issued."""
    page = next(one for one in bench.state.issued if one.number == number)
    state, night = at(bench.records, page.size, number)
    if page.page == "month":
        return month_page(state, night, (), *MARCH, Imprint(number, page.date))
    facts = job_facts(state, night, page.about)
    assert facts is not None
    return proof_page(state, night, (), facts, Imprint(number, page.date))


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10**6), st.integers(20, 95), st.booleans())
def test_version_one_stays_and_every_change_is_listed(seed: int, percent: int, closed: bool) -> None:
    """Each page made again is the same to the byte; one whose figures read otherwise now is among the touched ones,
    and one that is not among them reads as it was printed.
    """
    records = history(seed, 5).records
    size = max(22, len(records) * percent // 100)
    bench = Bench(list(records[:size]))
    jobs = {job: keep_proof(bench, job) for job in job_names(bench.night)}
    if closed:
        close_month(bench, "2026-03", "summary-1")
    month = keep_month(bench, *MARCH)
    first = {number: to_json(made(bench, number)) for number in (*jobs.values(), month)}
    bench = after(bench, records[size:])
    assert {number: to_json(made(bench, number)) for number in first} == first
    listed = {one.page.number for one in touched(figures_of(bench))}
    words = Words("en")
    now = Source(bench.state, bench.night, words)
    for job, number in jobs.items():
        then = past(bench, number)
        facts, before = job_facts(bench.state, bench.night, job), job_facts(then.state, then.night, job)
        assert before is not None
        printed = revised.of_job(Source(then.state, then.night, words), before)
        reads = revised.of_job(now, facts) if facts is not None else {}
        if dict(printed) != dict(reads):
            assert number in listed, (job, printed, reads)
