"""October 2026 of the sample business, and books of any size made of such nights."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from itertools import count
from pathlib import Path
from typing import Any

import pytest

from compliance.book.store import Book
from compliance.intake import clean_month, seeded_book
from compliance.intake.entries import entry
from compliance.intake.night_maker import HIGHEST, LOWEST
from compliance.intake.validate import check
from compliance.records.envelope import Entry, Record
from compliance.records.fields import GROUPS
from compliance.records.state import State, gather
from compliance.records.views import BackedUp
from compliance.rules.run import Report
from compliance.rules.run import check as check_rules
from compliance.rules.scene import Scene
from compliance.water.fold import calculate
from compliance.water.ratio import Ratio
from compliance.water.results import Night, RunFacts
from compliance.water.volume import Unknown
from tests.cases import NOW, case_folders, records_of

OCTOBER = "2026-10"
TODAY = date(2026, 11, 25)


def handed_in(entries: Iterable[dict[str, Any]], before: Sequence[Record]) -> list[Record]:
    """The records with these entries after them, each through the validator, which must find nothing."""
    records, tokens = list(before), count(1_000_000)
    for raw in entries:
        for checked in check(raw["kind"], raw, state=gather(records), where="clean month", now=NOW):
            assert checked.problems == ()
            assert checked.notes == ()
            assert checked.payload is not None
            made = entry(checked, now=NOW.isoformat(), token=lambda: next(tokens).to_bytes(16, "big"))
            records.append(placed(len(records) + 1, made))
    return records


def placed(seq: int, made: Entry) -> Record:
    return Record(
        seq, made.id, made.kind, made.schema, made.event_time, made.device_time, made.device_time, made.payload
    )


def opened_in_august(records: Sequence[Record]) -> list[Record]:
    """The same book, opened before its first night, so that every night is judged."""
    return [replace(record, event_time="2026-08-31") if record.kind == "book" else record for record in records]


@cache
def october(seed: int = clean_month.SEED) -> tuple[State, Night]:
    state = gather(opened_in_august(handed_in(clean_month.nights(seed), records_of())))
    return state, calculate(state)


def worked(night: Night) -> list[RunFacts]:
    return [run for run in night.runs.values() if any(stop.worked for stop in run.stops)]


def report(state: State, night: Night, today: date = TODAY) -> Report:
    """All rules, in a book that the office backed up this morning: what a night says cannot show that."""
    made = BackedUp("f" * 32, f"{today}T06:00:00-07:00", "", "", 0, 0)
    found = check_rules(Scene(replace(state, backups=(made,)), night, today))
    assert isinstance(found, Report)
    return found


def test_the_same_seed_gives_the_same_month() -> None:
    """Nothing but the seed decides; another seed gives other figures."""
    assert clean_month.nights() == clean_month.nights(clean_month.SEED)
    assert clean_month.nights(1) != clean_month.nights(2)


def test_every_night_passes_the_validator_as_it_will_be_stored() -> None:
    """No problem, no note, and nothing that had to be brought into another form."""
    state, _ = october()
    records = handed_in(clean_month.nights(), records_of())
    assert {record.payload.get("typed") or None for record in records if record.kind in ("run", "ticket")} == {None}
    assert len(state.runs) == 25


def test_the_month_holds_each_kind_of_night() -> None:
    """22 worked nights of two rigs: routes, single jobs, water aboard for a night, hauler and cleanout, rain."""
    state, night = october()
    nights = worked(night)
    assert len(nights) == 22
    assert {run.rig for run in nights} == {"Big Blue", "Little Heron"}
    assert {len(run.stops) for run in nights} == {1, 5, 6, 7, 8}
    assert sum(bool(run.get("cancelled")) for run in state.runs) == 3
    assert [run.ref for run in nights if run.aboard_after.best] == ["2026-10-13-little-heron"]  # type: ignore[union-attr]
    places = Counter(draw.place for load in night.loads.values() for draw in load.draws)
    assert places.keys() == {"Port Alder receiving station", "Dry Fork Hauling", "Alder Oven cleanout"}
    assert len(state.tickets) == places["Dry Fork Hauling"] == 3


def test_nothing_of_the_month_is_unknown() -> None:
    """Every run, stop and load has its figures, and where all water went."""
    _, night = october()
    for run in worked(night):
        figures = (run.used.figure, run.captured.figure, run.aboard_before, run.aboard_after, run.not_explained)
        assert not any(isinstance(figure, Unknown) for figure in figures), run.ref
        for stop in run.stops:
            assert not isinstance(stop.captured.figure, Unknown)
            assert not isinstance(stop.used.figure, Unknown)
            assert stop.pieces
    for load in night.loads.values():
        assert load.closed is not None
        assert load.why == ""
    assert night.problems == ()


def test_a_believable_film_stays_behind_each_night() -> None:
    """Each ratio is measured, lies between 0.82 and 0.95, and differs from the others of its rig."""
    _, night = october()
    by_rig: dict[str, list[Decimal]] = {}
    for run in worked(night):
        assert isinstance(run.ratio, Ratio)
        assert run.ratio.kind == "measured"
        assert run.ratio.value is not None and LOWEST <= run.ratio.value <= HIGHEST
        by_rig.setdefault(run.rig, []).append(run.ratio.value)
    for ratios in by_rig.values():
        assert len(set(ratios)) == len(ratios)
        assert max(ratios) - min(ratios) > Decimal("0.05")


def test_the_meters_go_on_from_september() -> None:
    """Each register begins where the one before ended, the first where the last night of September left it."""
    state, _ = october()
    september = gather(records_of(*case_folders()))
    for field, kind in (("used", ""), ("amount", "hand over")):
        shown = []
        for run in (*september.runs, *state.runs):
            if run.get("rig") == "Big Blue" and run.cancelled is None:
                parts = [run.fields] if not kind else [line.fields for line in run.lines if line.kind == kind]
                measures = [part.get(field) for part in parts]
                shown += [
                    (m["start"], m["end"]) for m in measures if isinstance(m, dict) and m.get("method") == "meter"
                ]
        assert [start for start, _ in shown[1:]] == [end for _, end in shown[:-1]]


def test_every_field_that_anybody_asks_for_is_filled() -> None:
    """Truck, office and proof fields of worked nights and all their lines are there."""
    state, _ = october()
    for run in state.runs:
        if run.get("cancelled") is not None:
            continue
        wanted = {row.name for row in GROUPS["run"] if row.need and row.since <= run.day}
        assert wanted <= set(run.fields), run.ref
        for line in run.lines:
            asked = {row.name for row in GROUPS[line.kind] if row.need and row.since <= run.day}
            assert asked <= set(line.fields), (run.ref, line.n)


@pytest.mark.parametrize("seed", [clean_month.SEED, 1, 7])
def test_the_clean_month_raises_no_finding(seed: int) -> None:
    """All rules run, each applies to something, and none finds anything, whatever the seed."""
    found = report(*october(seed))
    assert found.findings == ()
    assert found.applied == len(found.counts) > 25


def test_beside_september_the_findings_are_all_of_september() -> None:
    """In one book with the nine nights, October adds no finding."""
    records = opened_in_august(handed_in(clean_month.nights(), records_of(*case_folders())))
    state = gather(records)
    found = report(state, calculate(state))
    assert len(found.findings) == 4
    assert not [finding for finding in found.findings if finding.day >= OCTOBER]


def test_one_fact_changed_and_the_month_is_not_clean() -> None:
    """The month is clean because of what its nights say: with one pH out of range it is not."""
    nights = clean_month.nights()
    lines = [line for raw in nights for line in raw.get("line", ())]
    next(line for line in lines if line.get("permission") == "SA-2026-031")["ph"] = "10.1 pH"
    state = gather(opened_in_august(handed_in(nights, records_of())))
    assert [finding.rule for finding in report(state, calculate(state)).findings] == ["ph-3"]


def test_a_seeded_book_stores_what_the_validator_would_store() -> None:
    """The bulk loader passes the validator by; given the same nights, the validator makes the same entries."""
    start = datetime.fromisoformat("2001-01-01T00:00:00-07:00")
    records: list[Record] = []
    tokens = count()
    for checked in check("registers", seeded_book.registers(), state=None, where="registers", now=start):
        made = entry(checked, now=start.isoformat(), token=lambda: next(tokens).to_bytes(16, "big"))
        records.append(placed(len(records) + 1, made))
    seen = set()
    for raw in seeded_book.nights(1, 400):
        (checked,) = check(raw["kind"], raw, state=gather(records), where="seeded", now=NOW)
        assert checked.problems == ()
        made = entry(checked, now=NOW.isoformat(), token=lambda: bytes(16))
        assert made == seeded_book.stored(raw)
        seen.add((made.kind, raw.get("where")))
        records.append(placed(len(records) + 1, made))
    assert seen == {("run", "see lines"), ("run", "aboard"), ("run", "no water"), ("ticket", None)}


@pytest.mark.parametrize("stops", [1, 37, 400])
def test_a_seeded_book_has_exactly_the_stops_asked_for(stops: int, tmp_path: Path) -> None:
    """The records of the book hold so many worked stops; the count of records is told right."""
    made = seeded_book.make(tmp_path / "book", stops)
    with Book.open(tmp_path / "book") as book:
        records = list(book.records())
    state = gather(records)
    lines = [line for run in state.runs for line in run.lines if line.kind == "stop"]
    assert sum(line.get("not_worked") is None for line in lines) == made.stops == stops
    assert (len(records), len(state.runs)) == (made.records, made.runs)


def test_two_seeded_books_of_one_seed_are_one(tmp_path: Path) -> None:
    """Same arguments, same head; another seed, another head."""
    heads = []
    for name, seed in (("a", 1), ("b", 1), ("c", 2)):
        seeded_book.make(tmp_path / name, 60, seed=seed)
        with Book.open(tmp_path / name) as book:
            heads.append(book.head())
    assert heads[0] == heads[1] != heads[2]


def test_a_seeded_book_is_as_clean_as_the_month(tmp_path: Path) -> None:
    """Its nights are worked out without an unknown and raise no finding."""
    seeded_book.make(tmp_path / "book", 400)
    with Book.open(tmp_path / "book") as book:
        state = gather(book.records())
    night = calculate(state)
    assert not [run.ref for run in worked(night) if isinstance(run.captured.figure, Unknown)]
    assert report(state, night, date(2001, 4, 1)).findings == ()


def test_nights_are_streamed_in_the_order_of_their_hand_in() -> None:
    """Each comes after the one before by its time of hand-in, tickets among them, without waiting for the last."""
    stream = seeded_book.nights(3, 1_000_000_000)
    times = [datetime.fromisoformat(next(stream)["handed_in"]) for _ in range(600)]
    assert times == sorted(times)
