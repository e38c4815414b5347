"""The sample cases come out as they were worked by hand; every figure of expected.toml is compared."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from compliance.records.state import State
from compliance.water.fold import calculate
from compliance.water.jobs import job_facts
from compliance.water.ratio import NoRatio, Ratio
from compliance.water.results import Known, LoadFacts, Night, RunFacts, StopFacts
from compliance.water.volume import Figure, Unknown, hundredths
from tests.cases import case_folders, expected_of, state_of

CENT = Decimal("0.01")
Worked = tuple[State, Night, dict[str, Any]]


@pytest.fixture(scope="module")
def book() -> tuple[State, Night]:
    state = state_of(*case_folders())
    return state, calculate(state)


@pytest.fixture(params=case_folders(), ids=lambda folder: folder.name)
def worked(request: pytest.FixtureRequest, book: tuple[State, Night]) -> Worked:
    folder: Path = request.param
    return *book, expected_of(folder)


def amount(figure: Figure) -> str:
    if isinstance(figure, Unknown):
        return figure.kind
    if figure.best is not None:
        return str(figure.best.quantize(CENT))
    if figure.high is None:
        assert figure.low is not None
        return f">={figure.low.quantize(CENT)}"
    return f"<={figure.high.quantize(CENT)}" if figure.low is None else f"{figure.low}..{figure.high}"


def pm(figure: Figure) -> str:
    if isinstance(figure, Unknown):
        return "no ±"
    expanded = figure.expanded()
    return "no ±" if expanded is None else str(expanded.quantize(CENT))


def ratio(found: Ratio | NoRatio) -> dict[str, str]:
    if isinstance(found, NoRatio):
        return {"kind": "none"}
    names = {"value": found.value, "low": found.low, "high": found.high}
    kind = "stated, no ±" if found.kind == "stated" else found.kind
    return {"kind": kind} | {k: "none" if v is None else str(v.quantize(Decimal("0.0001"))) for k, v in names.items()}


def compare(what: str, expected: dict[str, Any], found: dict[str, Any]) -> None:
    """Every expected figure that the calculator gives is the same; the rest of the keys belongs to other tests."""
    wrong = {key: (expected[key], value) for key, value in found.items() if key in expected and expected[key] != value}
    assert not wrong, f"{what}: (by hand, found) {wrong}"


def known(name: str, what: Known) -> dict[str, str]:
    return {name: amount(what.figure), f"{name}_pm": pm(what.figure)}


def figure(name: str, what: Figure) -> dict[str, str]:
    return {name: amount(what), f"{name}_pm": pm(what)}


def pieces(stop: StopFacts, night: Night) -> Any:
    if stop.pieces is None:
        return "not known"
    found = []
    for piece in stop.pieces:
        if piece.way == "not explained":
            continue
        entry = {"way": piece.way, "load": piece.load}
        if piece.line.record:
            entry["line"] = f"{night.runs[piece.line.record].ref}/{piece.line.line}"
        found.append(entry | {"amount": str(Decimal(piece.amount).scaleb(-2))})
    return found


def about_run(run: RunFacts) -> dict[str, Any]:
    if run.cancelled:
        return {"cancelled": True}
    return {
        **known("used", run.used),
        **known("captured", run.captured),
        **figure("not_explained", run.not_explained),
        "aboard_before": amount(run.aboard_before),
        "aboard_after": amount(run.aboard_after),
        "loads": list(run.loads),
        "captured_beside": [
            {"figure": amount(b.known.figure), "pm": pm(b.known.figure), "en": b.en or "cannot tell"}
            for b in run.captured_beside
        ],
    }


def about_load(load: LoadFacts) -> dict[str, Any]:
    return {
        **known("captured", load.captured),
        **figure("handed_over", load.handed_over),
        **figure("closing", load.closing),
        **figure("not_explained", load.not_explained),
        "divided": load.divided,
    }


def test_runs_come_out_as_worked_by_hand(worked: Worked) -> None:
    """Used, captured, not explained, aboard and ratio of every run."""
    _, night, expected = worked
    by_ref = {run.ref: run for run in night.runs.values()}
    for ref, figures in expected["run"].items():
        compare(ref, figures, about_run(by_ref[ref]))
        if "ratio" in figures:
            told = {k: v for k, v in figures["ratio"].items() if k != "why"}
            assert ratio(by_ref[ref].ratio) == told, ref


def test_stops_come_out_as_worked_by_hand(worked: Worked) -> None:
    """Each stop's own or worked-out part, and where it went."""
    _, night, expected = worked
    stops = {stop.ref: stop for run in night.runs.values() for stop in run.stops}
    for ref, figures in expected.get("stop", {}).items():
        stop = stops[ref]
        found = {
            **known("used", stop.used), "used_basis": stop.used_basis,
            **known("captured", stop.captured), "captured_basis": stop.captured_basis,
            **figure("not_explained", stop.not_explained),
            "pieces": pieces(stop, night), "not_worked": stop.not_worked,
        }  # fmt: skip
        compare(ref, figures, found)


def test_loads_and_handovers_come_out_as_worked_by_hand(worked: Worked) -> None:
    """Each load's sides, and whose water each handover held."""
    _, night, expected = worked
    for name, figures in expected.get("load", {}).items():
        compare(name, figures, about_load(night.loads[name]))
        assert bool(figures["why"]) == bool(night.loads[name].why), name
    draws = {f"{night.runs[d.line.record].ref}/{d.line.line}": d for load in night.loads.values() for d in load.draws}
    for ref, figures in expected.get("handover", {}).items():
        draw = draws[ref]
        parts: Any = "not known"
        if draw.parts is not None:
            parts = {owner: str(Decimal(part).scaleb(-2)) for owner, part in draw.parts.items()}
        compare(ref, figures, {**known("amount", draw.known), "parts": parts})


def test_jobs_come_out_as_worked_by_hand(worked: Worked) -> None:
    """Each job's totals and destinations."""
    state, night, expected = worked
    for name, figures in expected.get("job", {}).items():
        job = job_facts(state, night, name)
        assert job is not None, name
        destinations: Any = "not known"
        if job.destinations is not None:
            destinations = {place: str(Decimal(n).scaleb(-2)) for place, n in job.destinations.items()}
        found = {
            **figure("used", job.used),
            **figure("captured", job.captured),
            **figure("not_explained", job.not_explained),
            "destinations": destinations,
            "aboard": "not known" if job.aboard is None else str(Decimal(job.aboard).scaleb(-2)),
        }
        compare(name, figures, found)
        if "ratio" in figures:
            assert ratio(job.ratio) == {k: v for k, v in figures["ratio"].items() if k != "why"}, name


def test_every_hundredth_of_a_draw_has_an_owner(worked: Worked) -> None:
    """Where the mix is known, the parts of a draw add up to it."""
    _, night, _ = worked
    for load in night.loads.values():
        for draw in load.draws:
            drawn = draw.known.figure
            if draw.parts is not None and not isinstance(drawn, Unknown) and drawn.best is not None:
                assert sum(draw.parts.values()) == hundredths(drawn.best)


def test_the_cases_hold_every_run_and_load_of_the_book(book: tuple[State, Night]) -> None:
    """No run or load comes out that no case worked by hand."""
    _, night = book
    by_hand = [expected_of(folder) for folder in case_folders()]
    assert {ref for case in by_hand for ref in case["run"]} == {run.ref for run in night.runs.values()}
    assert {name for case in by_hand for name in case.get("load", {})} == set(night.loads)
