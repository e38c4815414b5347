"""The index says what the whole book says, however it was arrived at."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from compliance.book import derived_files
from compliance.book.derived_context import with_context
from compliance.book.derived_lookup import Index
from compliance.book.store import Book
from compliance.records.envelope import Entry
from compliance.records.state import gather
from compliance.water.fold import calculate
from compliance.water.results import Line
from compliance.water.volume import Unknown

from .deriving import NOW, book_with, entries, worked_out

slow = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)


def said(what: Any) -> Any:
    """A result of the calculator without the words that give the reason of an unknown.

    Of a tank that nobody touched yet they tell whether somebody ever will, which the few runs cannot know. Nor can they
    know which run ended last before a tank was looked at again, where no look closed an interval.
    """
    if isinstance(what, Unknown):
        return what.kind
    if isinstance(what, Line) and not what.line:
        return "the end of a run"
    if is_dataclass(what) and not isinstance(what, type):
        return type(what).__name__, [said(getattr(what, field.name)) for field in fields(what) if field.name != "why"]
    if isinstance(what, Mapping):
        return {key: said(value) for key, value in what.items()}
    return [said(one) for one in what] if isinstance(what, tuple) else what


def everything_in(book: Book) -> dict[str, Any]:
    """All that an index says, with names for their numbers."""
    with Index.open(book) as index:
        names = {n: (what, key) for n, what, key in index.db.execute("SELECT n, what, key FROM name")}
        held = {(names[n], day, run) for n, day, run in index.db.execute("SELECT n, day, run FROM held")}
        rows = {
            seq: (id.hex(), names[rig], *rest)
            for seq, id, rig, *rest in index.db.execute(
                "SELECT seq, id, rig, day, moment, base, cancelled, tanks FROM run"
            )
        }
        return {
            "seen": index.seen,
            "held": held,
            "runs": rows,
            "names": set(index.db.execute("SELECT key, id, kind FROM names")),
        }


@slow
@given(entries(), st.lists(st.integers(0, 20), max_size=4))
def test_an_index_that_followed_the_book_is_the_one_made_at_its_end(given: list[Entry], cuts: list[int]) -> None:
    """Caught up after any appends, in any order of arrival, it equals an index made anew."""
    with book_with(given, cuts) as (book, batches):
        for batch in batches:
            book.append(batch, receipt_time=NOW)
            everything_in(book)
        followed = everything_in(book)
        derived_files.remove(book.folder / derived_files.INDEX)
        assert everything_in(book) == followed


@slow
@given(entries())
def test_runs_are_named_and_ordered_as_the_whole_book_has_them(given: list[Entry]) -> None:
    """Refs, days, order, cancellation: the same as from the fold over everything."""
    with book_with(given) as (book, _):
        book.append(given, receipt_time=NOW)
        state = gather(book.records())
        with Index.open(book) as index:
            rows = index.between("0000", "9999")
            assert [row.id for row in rows] == [run.record for run in state.runs]
            assert [index.ref(row) for row in rows] == [run.ref for run in state.runs]
            assert [row.cancelled for row in rows] == [run.cancelled is not None for run in state.runs]
            for run in state.runs:
                for name in (run.ref, run.record, run.record[:8]):
                    found, expected = index.run_named(name), state.run(name)
                    assert found is not None and expected is not None
                    assert found.id == expected.record
            for rig in ("Birch", "Alder", "Nobody"):
                key = state.registers.key("rig", rig)
                there = [r.record for r in state.runs if state.registers.key("rig", str(r.get("rig"))) == key]
                assert [row.id for row in index.between("0000", "9999", rig)] == there


@slow
@given(entries(), st.integers(0, 6), st.integers(0, 3), st.integers(0, 2))
def test_figures_of_a_few_runs_are_those_of_the_whole_book(
    given: list[Entry], which: int, before: int, after: int
) -> None:
    """Gathering a run with its context gives its figures and its loads exactly as gathering everything does."""
    with book_with(given) as (book, _):
        book.append(given, receipt_time=NOW)
        state = gather(book.records())
        night = worked_out(state)
        run = state.runs[which % len(state.runs)]
        with Index.open(book) as index:
            part = gather(index.records(with_context(index, [run.record], before=before, after=after)))
        few = calculate(part)
        assert part.run(run.record) == run
        assert said(few.runs[run.record]) == said(night.runs[run.record])
        for name in night.runs[run.record].loads:
            assert said(few.loads[name]) == said(night.loads[name])
        assert [t for t in part.tickets if t.record in {t.record for t in state.tickets_of(run.record, "1")}] == list(
            state.tickets_of(run.record, "1")
        )
        rig = state.registers.key("rig", str(run.get("rig")))
        of_rig = [r for r in state.runs if state.registers.key("rig", str(r.get("rig"))) == rig and r.cancelled is None]
        if run.cancelled is None:
            at = of_rig.index(run)
            for near in of_rig[max(0, at - before) : at + after + 1]:
                assert said(few.runs[near.record]) == said(night.runs[near.record])
