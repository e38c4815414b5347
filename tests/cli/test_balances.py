"""What `balance` prints can be redone by hand."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from compliance.cli import balance_data, balances
from compliance.water.jobs import job_facts
from tests.reports.making import Bench, book, sample


def in_litres() -> Bench:
    """A night in a book of litres whose registers say nothing of a tank."""
    registers = {"business": {"name": "B", "unit": "L", "zone": "America/Denver"}, "rig": [{"name": "Big Blue"}]}
    stop = {"line": "stop", "site": "yard", "area": "100 m2"}
    night = {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "aboard"}
    return book(registers, {**night, "used": "300 L", "recovered": "200 L", "line": [stop]})


def test_a_captured_figure_has_the_marks_and_the_sizes_of_its_tank() -> None:
    """26.5 in × 66 in × 50 in ÷ 231 = 378.57 gal: everything that goes into it is printed."""
    bench = sample("case-01-one-stop")
    (run,), loads = bench.night.runs.values(), bench.night.loads
    said = "\n".join([*balances.of_run(run, "gal", loads), *balances.tanks_of(bench.state, loads.values())])
    assert "[levels: 378.57 (26.5 in) - 0.00 (empty) = 378.57]" in said
    assert (
        "tank Big Blue recovery: rectangle, capacity to the float 500 gal, inside length 66 in, inside width 50 in"
        in said
    )
    assert f"{26.5 * 66 * 50 / 231:.2f}" == "378.57"


def test_a_tank_without_a_register_says_so() -> None:
    """Nothing is made up where the register is silent."""
    bench = in_litres()
    (said,) = balances.tanks_of(bench.state, bench.night.loads.values())
    assert said.endswith(": no shape and no size on its register")


def test_a_job_says_where_all_of_its_captured_water_went() -> None:
    """271 captured: 270 to the plant and 5 of sludge are 4 more than that; then it is plain what nobody can explain."""
    registers = {
        "business": {"name": "B", "unit": "gal", "zone": "America/Denver"},
        "rig": [{"name": "Big Blue"}],
        "tank": [{"name": "tank", "rig": "Big Blue", "role": "recovery", "capacity": "500 gal"}],
    }
    lines = [
        {"line": "reading", "of": "tank", "shows": "empty"},
        {"line": "stop", "site": "yard", "used": "300 gal"},
        {"line": "reading", "of": "tank", "shows": "271 gal"},
        {"line": "solids", "what": "sludge", "amount": "5 gal"},
        {"line": "hand over", "place": "plant", "amount": "270 gal", "tank_after": "empty"},
    ]
    night = {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "see lines"}
    bench = book(registers, {**night, "line": lines})
    job = job_facts(bench.state, bench.night, "2026-09-01-big-blue.s1")
    assert job is not None
    said = [one.strip() for one in balances.of_job(job, bench.state, bench.night)]
    at = said.index("+ captured: 271 gal, no ±")
    assert said[at + 1 : at + 5] == [
        "- taken out with solids: 5 gal, no ±",
        "- handed over at plant: 270 gal, no ±",
        "- still aboard: 0 gal",
        "= not explained, in the tank: -4 gal, no ±",
    ]


def test_a_job_whose_tank_nobody_read_says_so() -> None:
    """No reading tells what was captured: what is aboard and what is left over are not known."""
    bench = book(
        {"business": {"name": "B", "unit": "gal", "zone": "America/Denver"}, "rig": [{"name": "Big Blue"}]},
        {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "not known",
         "line": [{"line": "stop", "site": "yard"}]},
    )  # fmt: skip
    job = job_facts(bench.state, bench.night, "2026-09-01-big-blue.s1")
    assert job is not None
    said = [one.strip() for one in balances.of_job(job, bench.state, bench.night)]
    assert "- still aboard: not known" in said
    assert "= not explained, in the tank: not known (what was captured is not recorded yet)" in said


def test_water_of_an_unknown_amount_that_left_an_emptied_tank_is_not_aboard() -> None:
    """How much went is not known, that nothing of it is left is: the balance says 0 as the proof of that job does."""
    bench = sample("case-12-overflow")
    job = job_facts(bench.state, bench.night, "2026-09-21-big-blue.s2")
    assert job is not None
    said = [one.strip() for one in balances.of_job(job, bench.state, bench.night)]
    assert "= not explained, in the tank: not known (what was captured is not read)" in said
    assert "- still aboard: 0 gal" in said


def test_a_book_of_litres_prints_its_film_in_litres() -> None:
    """100 m² × 2.54 mm = 254 L; a unit stands in one line alone where there are two in a book."""
    night = in_litres().night
    (run,) = night.runs.values()
    said = "\n".join(balances.of_run(run, "L", night.loads))
    assert "a film on the surface may hold 0.00 to 254.00 L (an assumption)" in said and "gal" not in said


TANK: Mapping[str, Any] = {
    "business": {"name": "B", "unit": "gal", "zone": "America/Denver"},
    "rig": [{"name": "Big Blue"}],
    "tank": [{"name": "tank", "rig": "Big Blue", "role": "recovery", "capacity": "500 gal"}],
}


def test_what_left_a_tank_beyond_what_came_in_stands_with_its_load() -> None:
    """400 came in and 402 are handed over: the stop has 400 of them, and the page says where the other 2 stand."""
    lines = [
        {"line": "reading", "of": "tank", "shows": "empty"},
        {"line": "stop", "site": "yard", "used": "450 gal"},
        {"line": "reading", "of": "tank", "shows": "400 gal"},
        {"line": "hand over", "place": "plant", "amount": "402 gal", "tank_after": "empty"},
    ]
    night = {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "see lines"}
    bench = book(TANK, {**night, "line": lines})
    job = job_facts(bench.state, bench.night, "2026-09-01-big-blue.s1")
    assert job is not None
    (run,) = bench.night.runs.values()
    load = "2026-09-01-big-blue.l1"
    beyond = f"  of no stop: 2.00 gal handed over at plant, more than is read to have come into load {load}"
    of_job = list(balances.of_job(job, bench.state, bench.night))
    assert of_job[-1] == beyond
    assert list(balances.of_run(run, "gal", bench.night.loads))[-1] == beyond
    assert "    handed over: 400.00 gal  (load 2026-09-01-big-blue.l1)" in of_job
    assert balance_data.of_job(job, bench.state, bench.night)["of_no_stop"] == [
        {"load": load, "way": "handed over", "place": "plant", **balance_data.figure(200, "gal")}
    ]


def test_a_stop_prints_all_that_its_remainder_is_made_of() -> None:
    """120 used, 30 used again, 100 captured, 15 led away and 5 got away: 120 + 30 - 100 - 15 - 5 = 30."""
    registers = {"business": {"name": "B", "unit": "gal", "zone": "America/Denver"}, "rig": [{"name": "Big Blue"}]}
    lines = [
        {"line": "stop", "site": "yard", "used": "120 gal", "recovered": "100 gal"},
        {"line": "use again", "amount": "30 gal"},
        {"line": "led away", "place": "garden", "amount": "15 gal"},
        {"line": "escape", "what": "hose slipped", "reached": "soil", "amount": "5 gal"},
    ]
    night = {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "aboard"}
    bench = book(registers, {**night, "line": lines})
    (run,), loads = bench.night.runs.values(), bench.night.loads
    said = [one.strip() for one in balances.of_run(run, "gal", loads)]
    stop = said[next(n for n, one in enumerate(said) if one.startswith("stop 1")) :]
    told = {name: amount.split(",")[0] for name, _, amount in (one.partition(": ") for one in stop)}
    terms = ("used", "used again here", "captured", "led away", "got away, not captured")
    assert [told[name] for name in (*terms, "not explained")] == [
        "120 gal", "30 gal", "100 gal", "15 gal", "5 gal", "30 gal"
    ]  # fmt: skip
    assert "applied, used and used again less what was let go: 150 gal, no ±" in said
    data = balance_data.of_run(run, "gal", loads)
    assert data["applied"] == balance_data.figure(run.applied, "gal")
    assert data["stops"][0]["used_again"] == balance_data.figure(run.stops[0].used_again, "gal")
