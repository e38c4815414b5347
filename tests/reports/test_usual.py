"""The owner's own median: information after ten comparable runs, where no threshold is on file, and no verdict."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from compliance.reports.model import Heading, Paragraph, Table
from compliance.reports.usual import ENOUGH, usual
from compliance.water.ratio import NoRatio, Ratio
from compliance.water.results import RunFacts
from tests.reports.making import Bench, book, sample, texts
from tests.reports.test_month import month

METERED = {"name": "flow", "rig": "Mule", "kind": "flow test", "measures": "supply", "rate": "5 gal/min",
           "accuracy": "2 %"}  # fmt: skip
TANK = {"name": "Mule tank", "rig": "Mule", "role": "recovery", "capacity": "400 gal", "shape": "rectangle",
        "length": "66 in", "width": "70 in", "depth": "36 in", "mark_step": "0.5 in", "accuracy": "1 %"}  # fmt: skip


def registers(**more: Any) -> dict[str, Any]:
    """A business with one metered rig."""
    return {
        "business": {"name": "Bluebank", "unit": "gal", "zone": "America/Denver"},
        "rig": [{"name": "Mule"}], "tank": [TANK], "instrument": [METERED], "place": [{"name": "plant"}],
        **more,
    }  # fmt: skip


def night(day: int, minutes: int = 40, inches: str = "8 in", used: Any = None) -> dict[str, Any]:
    """One stop, used by run time, captured by two marks, all handed over."""
    said = {"method": "time", "flow": "flow", "minutes": f"{minutes} min"} if used is None else used
    return {
        "id": f"n{day}", "rig": "Mule", "lead": "Rosa", "date": f"2026-09-{day:02d}", "where": "see lines",
        "used": said,
        "line": [
            {"line": "reading", "of": "Mule tank", "shows": "empty"},
            {"line": "stop", "site": "deck", "area": "900 ft2"},
            {"line": "reading", "of": "Mule tank", "shows": inches},
            {"line": "hand over", "place": "plant", "tank_after": "empty"},
        ],
    }  # fmt: skip


def shown(bench: Bench, **options: Any) -> list[list[str]]:
    """The rows of the block, none when it is not there."""
    blocks = month(bench, **options).blocks
    at = [i for i, one in enumerate(blocks) if isinstance(one, Heading) and one.text == "Your own recovery so far"]
    tables = [one for one in blocks[at[0] : at[0] + 2] if isinstance(one, Table)] if at else []
    return [[cell.text for cell in row] for one in tables for row in one.rows]


def test_ten_measured_runs_of_a_rig_give_their_median_and_range() -> None:
    """8 in of 20 gal an inch are 160 gal of 200: 80 %; the tenth run brings the table, and the first nine do not."""
    bench = book(registers(), *(night(day, inches=f"{7 + day % 3} in") for day in range(1, ENOUGH)))
    assert shown(bench) == []
    assert any(text.startswith("No threshold is on file. Mule: 9 runs") for text in texts(month(bench)))
    bench.put(night(ENOUGH, inches="9.5 in"))
    ((rig, runs, median, lowest, highest),) = shown(bench)
    assert (rig, runs, median, lowest, highest) == ("Mule", "10", "80.0", "70.0", "95.0")
    assert not any("Mule: 10 runs" in text for text in texts(month(bench)))
    for language in ("en", "es"):
        said = [one.note for one in month(bench, language=language).blocks if isinstance(one, Table)]
        assert any(("no run" if language == "en" else "ninguna salida") in note for note in said)


def test_a_threshold_on_file_takes_the_median_off_the_page() -> None:
    """Then the rule judges, and nothing beside it could be taken for a second opinion; 'none yet' is no threshold."""
    nights = [night(day) for day in range(1, ENOUGH + 1)]
    limit = {"name": "recovery ratio", "value": "80 %", "whose": "house policy", "source": "house rules"}
    assert shown(book(registers(limit=[limit]), *nights)) == []
    none_yet = {"name": "recovery ratio", "none_yet": "yes"}
    assert len(shown(book(registers(limit=[none_yet]), *nights))) == 1


def test_only_measured_ratios_up_to_the_end_of_the_span_count() -> None:
    """A stated figure is not comparable, a cancelled run has no water, and what came after the span is not of it."""
    bench = book(registers(), *(night(day) for day in range(1, ENOUGH)), night(20, used="200 gal"), night(28))
    assert shown(bench, last="2026-09-25") == []
    assert len(shown(bench)) == 1
    bench.put({"kind": "cancel", "id": "x", "run": "2026-09-28-mule", "why": "twice", "who": "Priya Lund"})
    assert shown(bench) == []


def test_runs_of_more_than_a_year_before_do_not_count() -> None:
    """Ten in a September are told in the September after it, and in the October after that only two are left."""
    late = {**night(5), "id": "late", "date": "2027-09-05"}, {**night(5), "id": "later", "date": "2027-10-05"}
    bench = book(registers(), *(night(day) for day in range(1, ENOUGH + 1)), *late)
    assert shown(bench, first="2027-09-01", last="2027-09-30")[0][1] == "11"
    assert shown(bench, first="2027-10-01", last="2027-10-31") == []
    said = texts(month(bench, first="2027-10-01", last="2027-10-31"))
    assert any(text.startswith("No threshold is on file. Mule: 2 runs") for text in said)


def test_a_span_without_runs_says_nothing_of_it() -> None:
    """There is no rig to speak of."""
    page = month(sample(), first="2026-08-01", last="2026-08-31")
    assert not any(isinstance(one, Paragraph) and "threshold" in one.text for one in page.blocks)


@pytest.mark.parametrize(("ratios", "median"), [(range(80, 91), "0.85"), (range(80, 92), "0.855")])
def test_the_median_is_the_middle_or_lies_between_the_two(ratios: range, median: str) -> None:
    """Of eleven the sixth, of twelve halfway between the sixth and the seventh."""
    one = next(iter(book(registers(), night(1)).night.runs.values()))
    runs = [ratio(one, Decimal(value) / 100) for value in reversed(ratios)]
    found = usual("Mule", [*runs, replace(one, ratio=NoRatio("x")), replace(runs[0], rig="Heron")])
    assert found is not None
    assert (found.median, found.runs) == (Decimal(median), len(ratios))


def ratio(run: RunFacts, value: Decimal) -> RunFacts:
    """The run with another ratio."""
    return replace(run, ratio=Ratio(value, value - Decimal("0.02"), value + Decimal("0.02"), "measured"))
