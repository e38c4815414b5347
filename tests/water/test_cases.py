"""The sample cases come out as they were worked by hand; every key of every expected.toml is compared."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from compliance.records.state import State, gather
from compliance.records.views import RunView
from compliance.rules.run import Report, check
from compliance.rules.scene import Scene
from compliance.rules.subjects import figure as read_amount
from compliance.water.fold import calculate
from compliance.water.jobs import job_facts
from compliance.water.ratio import NoRatio, Ratio, judge
from compliance.water.results import Draw, Known, LoadFacts, Night, RunFacts, StopFacts
from compliance.water.volume import Figure, Unknown, hundredths, total_of
from tests.cases import book_of, case_folders, expected_of, office_folders, registers_of

CENT = Decimal("0.01")
LITRES = Decimal("3.785411784")
LAST_DAY = "2026-11-25"
FOLDERS = [*case_folders(), *office_folders()]


@lru_cache(maxsize=8)
def together(registers: tuple[Path, ...]) -> tuple[State, Night]:
    """All cases of one book that can be read, together."""
    state = gather(book_of(*(folder for folder in FOLDERS if registers_of(folder) == registers)))
    return state, calculate(state)


@lru_cache(maxsize=64)
def alone(folder: Path, until: str = "") -> tuple[State, Night]:
    """One case in a book without the others, up to one of its files."""
    state = gather(book_of(folder, until=until))
    return state, calculate(state)


# ---- how a figure is written --------------------------------------------------------------------------------


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


def known(name: str, what: Known) -> dict[str, str]:
    return figure(name, what.figure)


def figure(name: str, what: Figure) -> dict[str, str]:
    return {name: amount(what), f"{name}_pm": pm(what)}


def cents(parts: Mapping[str, int] | None) -> Any:
    return "not known" if parts is None else {name: str(Decimal(n).scaleb(-2)) for name, n in parts.items()}


def compare(what: str, expected: Mapping[str, Any], found: Mapping[str, Any]) -> None:
    """Every expected key is one that is compared, and its figure the one that was found."""
    strange = expected.keys() - found.keys()
    assert not strange, f"{what}: nothing compares {sorted(strange)}"
    wrong = {key: (value, found[key]) for key, value in expected.items() if found[key] != value}
    assert not wrong, f"{what}: (by hand, found) {wrong}"


# ---- what is told of each thing -----------------------------------------------------------------------------


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


def told_ratio(expected: Mapping[str, Any], found: Ratio | NoRatio) -> dict[str, Any]:
    """The ratio as the page writes it; its reason is the page's own words, and stands where there is none."""
    written = ratio(found)
    return written | ({"why": expected["ratio"]["why"]} if "why" in expected.get("ratio", {}) else {})


def about_run(state: State, night: Night, run: RunFacts, expected: Mapping[str, Any]) -> dict[str, Any]:
    view = state.run(run.record)
    assert view is not None
    if run.cancelled:
        return {"cancelled": True}
    return {
        **known("used", run.used),
        **figure("used_again", run.used_again),
        **known("captured", run.captured),
        **figure("led_away", run.led_away),
        **figure("let_go", run.let_go),
        **figure("applied", run.applied),
        **figure("not_explained", run.not_explained),
        "aboard_before": amount(run.aboard_before),
        "aboard_after": amount(run.aboard_after),
        "loads": list(run.loads),
        "captured_beside": [
            {"figure": amount(b.known.figure), "pm": pm(b.known.figure), "en": b.en or "cannot tell"}
            for b in run.captured_beside
        ],
        "ratio": told_ratio(expected, run.ratio),
        "threshold": "none" if isinstance(run.ratio, NoRatio) else judge(run.ratio, Decimal("0.80")),
        "film_high": None if run.film is None else run.film[1],
        "called_off": view.get("cancelled"),
        **{name: view.get(name) for name in ("start", "end", "filters", "where", "supply")},
        "also_called": [part.view.ref for part in view.parts[1:]],
        "lines": [line.n for line in view.lines],
        "same_line": same_lines(view),
    }  # fmt: skip


def same_lines(view: RunView) -> list[dict[str, str]]:
    """The lines of later hand-ins that an earlier one has too."""
    seen: set[str] = set()
    found = []
    for part in view.parts:
        found += [{"handed_in_as": f"{part.view.ref}/{own}", "is": n} for own, n in part.lines.items() if n in seen]
        seen |= set(part.lines.values())
    return found


def about_stop(night: Night, stop: StopFacts) -> dict[str, Any]:
    return {
        **known("used", stop.used), "used_basis": stop.used_basis,
        **figure("used_again", stop.used_again),
        **known("captured", stop.captured), "captured_basis": stop.captured_basis,
        **figure("led_away", stop.led_away),
        **figure("not_explained", stop.not_explained),
        "pieces": pieces(stop, night), "not_worked": stop.not_worked, "rained": stop.rained,
    }  # fmt: skip


def about_load(load: LoadFacts, expected: Mapping[str, Any]) -> dict[str, Any]:
    assert bool(expected.get("why")) == bool(load.why), load.name
    return {
        **figure("opening", load.opening),
        **known("captured", load.captured),
        **figure("foreign", load.foreign),
        **figure("handed_over", load.handed_over),
        **figure("used_again", load.used_again),
        **figure("closing", load.closing),
        **figure("not_explained", load.not_explained),
        "divided": load.divided,
        "why": expected.get("why"),
    }


def about_draw(state: State, draw: Draw) -> dict[str, Any]:
    tickets = state.tickets_of(draw.line.record, draw.line.line)
    view = state.run(draw.line.record)
    line = None if view is None else view.line(draw.line.line)
    said = [ticket.fields["accepted"] for ticket in tickets]
    if not said and line is not None and line.get("accepted") is not None:
        said = [line.get("accepted")]
    read = [read_amount(one, state.unit) for one in said]
    accepted = sum((one.low for one in read if one is not None and one.low is not None), Decimal(0))
    ours = draw.known.figure
    best = None if isinstance(ours, Unknown) else ours.best
    found = {
        **known("amount", draw.known),
        "parts": cents(draw.parts),
        "tickets": [ticket.fields["number"] for ticket in tickets],
    }
    if best is not None:
        found["in_gallons"] = str((best / LITRES).quantize(CENT))
    if said and best is not None:
        found["accepted"] = str(accepted.quantize(CENT))
        found["accepted_as_written"] = " and ".join(map(str, said))
        found["accepted_less_ours"] = str((accepted - best).quantize(CENT))
    return found


def about_job(state: State, night: Night, name: str, expected: Mapping[str, Any]) -> dict[str, Any]:
    job = job_facts(state, night, name)
    assert job is not None, name
    by_rig: dict[str, list[StopFacts]] = {}
    for stop in job.stops:
        by_rig.setdefault(night.runs[stop.run].rig, []).append(stop)
    return {
        **figure("used", job.used),
        **figure("captured", job.captured),
        **figure("led_away", job.led_away),
        **figure("not_explained", job.not_explained),
        "captured_parts": [
            {"rig": rig, "figure": amount(whole), "pm": pm(whole), "basis": stops[0].captured_basis}
            for rig, stops in by_rig.items()
            for whole in [total_of(stop.captured.figure for stop in stops)]
        ],
        "destinations": cents(job.destinations),
        "aboard": "not known" if job.aboard is None else str(Decimal(job.aboard).scaleb(-2)),
        "ratio": told_ratio(expected, job.ratio),
    }


def about_month(night: Night, refs: Container[str], month: str) -> dict[str, Any]:
    """The row of a case's rig: its runs that began in a month, and what they handed over."""
    runs = [run for run in night.runs.values() if run.ref in refs and run.date.startswith(month)]
    records = {run.record for run in runs}
    handed = [
        draw.known.figure
        for load in night.loads.values()
        for draw in load.draws
        if draw.way == "handed over" and draw.line.record in records
    ]
    return {
        "runs": len(runs),
        **figure("used", total_of(run.used.figure for run in runs)),
        **figure("captured", total_of(run.captured.figure for run in runs)),
        **figure("handed_over", total_of(handed)),
        "aboard_at_end": amount(runs[-1].aboard_after) if runs else "0.00",
    }


TABLES = {"run", "stop", "load", "handover", "job", "month"}


def compare_tables(state: State, night: Night, expected: Mapping[str, Any], refs: Container[str]) -> None:
    """All tables of figures in one part of a page. refs: the runs of the case."""
    by_ref = {run.ref: run for run in night.runs.values()}
    stops = {stop.ref: stop for run in night.runs.values() for stop in run.stops}
    draws = {f"{night.runs[d.line.record].ref}/{d.line.line}": d for load in night.loads.values() for d in load.draws}
    for ref, figures in expected.get("run", {}).items():
        compare(ref, figures, about_run(state, night, by_ref[ref], figures))
    for ref, figures in expected.get("stop", {}).items():
        compare(ref, figures, about_stop(night, stops[ref]))
    for name, figures in expected.get("load", {}).items():
        compare(name, figures, about_load(night.loads[name], figures))
    for ref, figures in expected.get("handover", {}).items():
        compare(ref, figures, about_draw(state, draws[ref]))
    for name, figures in expected.get("job", {}).items():
        compare(name, figures, about_job(state, night, name, figures))
    for month, figures in expected.get("month", {}).items():
        compare(month, figures, about_month(night, refs, month))


def findings(state: State, night: Night, on: str) -> list[tuple[str, str, str, str]]:
    young = replace(state, opens_on="2026-08-01", opened=f"{on}T08:00:00-06:00")  # too young to want a backup
    report = check(Scene(young, night, date.fromisoformat(on)))
    assert isinstance(report, Report)
    return sorted((one.rule, one.slug, one.about, one.severity) for one in report.findings)


def expected_findings(rows: Iterable[Mapping[str, str]]) -> list[tuple[str, str, str, str]]:
    assert all(row.keys() == {"rule", "slug", "about", "severity"} for row in rows)
    return sorted((row["rule"], row["slug"], row["about"], row["severity"]) for row in rows)


# ---- versions -----------------------------------------------------------------------------------------------

FROZEN = {"version", "after", "on", "issued", "touched_pages", "touched_jobs", "divided_anew", "restates", "finding"}
STAGE = {"after", "on", "finding", "waiting_tickets"}


def divisions(night: Night) -> dict[str, Any]:
    """Load -> whose water it took and whose went where."""
    return {
        name: ([i.shares for i in load.intervals], [(d.line, d.parts) for d in load.draws])
        for name, load in night.loads.items()
    }


def about_change(first: tuple[State, Night], second: tuple[State, Night], version: Mapping[str, Any]) -> dict[str, Any]:
    """What differs between what was issued and what the records say now."""
    before, after = divisions(first[1]), divisions(second[1])
    anew = [name for name in before if before[name] != after.get(name)]
    jobs = [
        stop.job
        for run in second[1].runs.values()
        for stop in run.stops
        if any(stop.ref in second[1].loads[name].owners for name in anew)
    ]
    refs = refs_of(second[1])
    pages = [{"page": one["page"], "about": one["about"]} for one in version["issued"]]
    months = [one["about"] for one in version["issued"] if one["page"] == "month"]
    restates = [m for m in months if about_month(first[1], refs, m) != about_month(second[1], refs, m)]
    touched = [
        page
        for page in pages
        if page["about"] in restates
        or (page["page"] != "month" and job_facts(*first, page["about"]) != job_facts(*second, page["about"]))
    ]
    found = {"divided_anew": anew, "touched_jobs": list(dict.fromkeys(jobs)), "touched_pages": touched}
    return found | ({"restates": restates} if months else {})


# ---- the tests ----------------------------------------------------------------------------------------------


def refs_of(night: Night) -> set[str]:
    return {run.ref for run in night.runs.values()}


def compare_case(folder: Path, state: State, night: Night) -> None:
    expected = expected_of(folder)
    strange = expected.keys() - TABLES - {"finding", "version", "stage"}
    assert not strange, f"nothing compares {sorted(strange)}"
    compare_tables(state, night, expected, expected["run"])


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_a_case_comes_out_as_worked_by_hand(folder: Path) -> None:
    """Every figure of its runs, stops, loads, handovers, jobs and months, in the book with all the others."""
    compare_case(folder, *together(registers_of(folder)))


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_a_case_raises_what_stands_beside_it(folder: Path) -> None:
    """The findings on its page and no others, when all of it is in."""
    assert findings(*alone(folder), LAST_DAY) == expected_findings(expected_of(folder).get("finding", []))


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_a_case_comes_out_on_the_way_as_worked_by_hand(folder: Path) -> None:
    """What the book said at each stage and version, the findings of that day, and what version 2 touches."""
    expected = expected_of(folder)
    parts = [*expected.get("stage", []), *expected.get("version", [])]
    for part in parts:
        strange = part.keys() - TABLES - (FROZEN if "version" in part else STAGE)
        assert not strange, f"nothing compares {sorted(strange)}"
        state, night = alone(folder, part["after"])
        compare_tables(state, night, part, refs_of(night))
        assert part.get("waiting_tickets", []) == [t.fields["number"] for t in state.tickets if t.waits], part["after"]
        assert findings(state, night, part["on"]) == expected_findings(part.get("finding", [])), part["after"]
    versions = expected.get("version", [])
    for first, second in pairwise(versions):
        found = about_change(alone(folder, first["after"]), alone(folder, second["after"]), first)
        compare(folder.name, {key: second[key] for key in found}, found)


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_every_hundredth_of_a_draw_has_an_owner(folder: Path) -> None:
    """Where the mix is known, the parts of a draw add up to it."""
    _, night = alone(folder)
    for load in night.loads.values():
        for draw in load.draws:
            drawn = draw.known.figure
            if draw.parts is not None and not isinstance(drawn, Unknown) and drawn.best is not None:
                assert sum(draw.parts.values()) == hundredths(drawn.best)


def test_the_cases_hold_every_run_and_load_of_their_books() -> None:
    """No run or load comes out that no case worked by hand."""
    for registers in dict.fromkeys(registers_of(folder) for folder in FOLDERS):
        _, night = together(registers)
        by_hand = [expected_of(folder) for folder in FOLDERS if registers_of(folder) == registers]
        assert {ref for case in by_hand for ref in case["run"]} == {run.ref for run in night.runs.values()}
        assert {name for case in by_hand for name in case.get("load", {})} == set(night.loads)
