"""Version 1 of a figure is what the records said when it was first printed, whatever arrives later."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from compliance.records import kinds
from compliance.records.envelope import Record
from compliance.records.state import gather
from compliance.water.fold import calculate
from compliance.water.versions import Frozen, at, division_version, division_versions, stood
from compliance.water.volume import Figure, Unknown
from tests.cases import SAMPLES, expected_of, records_of
from tests.water.histories import MOMENT, history, renumbered

LOAD = "2026-03-02-grey-mule.l1"


def made(kind: str, payload: dict[str, Any], n: int) -> Record:
    return Record(0, f"{n:032x}", kind, 1, MOMENT, MOMENT, MOMENT, payload)


def issue(number: str, digest: str, size: int, n: int = 1) -> Record:
    """A page that printed a load's division."""
    return made(kinds.ISSUE, {
        "page": "proof", "number": number, "about": "a job", "date": "2026-03-09", "files": {}, "replaces": "",
        "made_from": {"size": size, "root": ""}, "figures": {LOAD: digest}, "who": "",
    }, n)  # fmt: skip


def close(page: str, digest: str, size: int, n: int = 2) -> Record:
    """The closing of a month in which the load was."""
    figures = {LOAD: digest} if digest else {}
    held = {"month": "2026-03", "page": page, "size": size, "root": "", "figures": figures, "who": ""}
    return made(kinds.CLOSE, held, n)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6), st.integers(0, 100))
def test_version_one_is_the_same_whatever_arrives_later(seed: int, percent: int) -> None:
    """State and water at a size are those of the book that had that size, though nights, corrections, cancellations,
    closings and pages followed.
    """
    records = history(seed, 6).records
    size = max(1, len(records) * percent // 100)
    then = renumbered(records[:size])
    later = renumbered([*then, close("summary-1", "x", size), issue("p-1", "y", size), *records[size:]])
    state, night = at(later, size)
    assert state == gather(then)
    assert night == calculate(gather(then))


def test_the_closing_that_goes_with_a_page_is_read_with_it() -> None:
    """It was written together with the page; no other closing is."""
    records = renumbered([*history(1, 2).records, close("summary-1", "x", 9), close("summary-2", "x", 9, 3)])
    size = len(records) - 2
    assert [one.month for one in at(records, size, "summary-1")[0].closings] == ["2026-03"]
    assert at(records, size)[0].closings == ()
    assert [record.seq for record in stood(records, size, "summary-2")] == [*range(1, size + 1), size + 2]


def test_versions_are_the_divisions_that_were_printed_or_frozen_in_order() -> None:
    """One for each that differs from those before it; the same again is the version that it was."""
    base = history(1, 2).records
    state = gather(renumbered([
        *base, issue("p-1", "x", 40), close("summary-1", "y", 41), issue("p-2", "y", 41, 3), issue("p-3", "x", 42, 4),
        close("summary-2", "", 43, 5),
    ]))  # fmt: skip
    assert division_versions(state, LOAD) == (Frozen("p-1", 40, "x"), Frozen("2026-03", 41, "y"))
    assert [division_version(state, LOAD, digest) for digest in ("x", "y", "z")] == [1, 2, 3]
    assert division_version(gather(base), LOAD, "x") == 1


@pytest.mark.parametrize("case", ["20", "25", "26"])
def test_the_versions_worked_by_hand_come_out(case: str, tmp_path: Path) -> None:
    """At the size that the book had when a page went out or the month was closed, and over all of it."""
    (folder,) = SAMPLES.rglob(f"case-{case}-*")
    records = records_of(*more_registers(tmp_path), folder)
    wanted = expected_of(folder)
    files = sorted(path.name for path in folder.glob("[0-9]*.toml"))
    version = wanted["version"][0]
    size = len(records) - len(files) + files.index(version["after"]) + 1
    for told, night in ((version, at(records, size)[1]), (wanted, calculate(gather(records)))):
        stops = {stop.ref: stop for run in night.runs.values() for stop in run.stops}
        said = {f"{ref}/captured": figure["captured"] for ref, figure in told.get("stop", {}).items()}
        said |= {f"{name}/captured": figure["captured"] for name, figure in told["load"].items()}
        said |= {f"{name}/not explained": figure["not_explained"] for name, figure in told["load"].items()}
        found = {f"{ref}/captured": stop.captured.figure for ref, stop in stops.items()}
        found |= {f"{name}/captured": load.captured.figure for name, load in night.loads.items()}
        found |= {f"{name}/not explained": load.not_explained for name, load in night.loads.items()}
        assert {name: figure_of(found[name]) for name in said} == said
    assert wanted["load"] != version["load"] or wanted["stop"] != version["stop"]


def figure_of(figure: Figure) -> str:
    """To the hundredth, or why there is none."""
    return figure.kind if isinstance(figure, Unknown) else f"{figure.best:.2f}"


def more_registers(tmp_path: Path) -> list[Path]:
    """The registers that some cases add to those of the sample book, as a folder of their own."""
    file = SAMPLES / "later" / "registers.toml"
    if not file.is_file():
        return []
    (tmp_path / "0-registers.toml").write_bytes(file.read_bytes())
    return [tmp_path]
