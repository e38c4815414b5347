"""The water table of a proof adds up: what was captured is in a row of its own wherever it went."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import pytest

from compliance.reports import parts
from compliance.reports.model import Table, WaterPath
from compliance.reports.refs import Source
from compliance.reports.words import Words
from compliance.water.jobs import job_facts, job_names
from compliance.water.volume import Unknown
from tests.reports.making import SAMPLES, Bench, all_cases, book, proof, read_toml

REGISTERS: Mapping[str, Any] = {
    "business": {"name": "Bluebank Wash Recovery", "unit": "gal", "zone": "America/Denver"},
    "rig": [{"name": "Big Blue"}, {"name": "Little Heron"}],
    "tank": [
        {"name": "front", "rig": "Big Blue", "role": "recovery", "capacity": "500 gal"},
        {"name": "rear", "rig": "Big Blue", "role": "recovery", "capacity": "500 gal"},
        {"name": "small", "rig": "Little Heron", "role": "recovery", "capacity": "300 gal"},
    ],
    "client": [{"name": "Mine"}, {"name": "Theirs"}],
    "site": [{"name": "my yard", "client": "Mine"}, {"name": "their yard", "client": "Theirs"}],
    "job": [{"name": "both rigs", "client": "Mine"}],
}  # fmt: skip
NIGHT = {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "see lines"}
MINE, THEIRS = "2026-09-01-big-blue.s1", "2026-09-01-big-blue.s2"


def look(shows: str, of: str = "front") -> dict[str, str]:
    return {"line": "reading", "of": of, "shows": shows}


def stop(site: str = "my yard", **fields: Any) -> dict[str, Any]:
    return {"line": "stop", "site": site, **fields}


def dump(amount: str, **fields: str) -> dict[str, str]:
    return {"line": "hand over", "place": "plant", "amount": amount, "tank_after": "empty", **fields}


def night(*lines: Mapping[str, Any], **fields: Any) -> dict[str, Any]:
    return {**NIGHT, **fields, "line": list(lines)}


def rows(bench: Bench, job: str) -> list[tuple[str, str, str]]:
    """What, amount, how of each row of the water table."""
    tables = (one for one in proof(bench, job).blocks if isinstance(one, Table))
    table = next(one for one in tables if one.columns[0].label == "What")
    return [(row[0].text, row[1].text, row[2].text) for row in table.rows]


def amounts(bench: Bench, job: str) -> dict[str, str]:
    return {what: amount for what, amount, _ in rows(bench, job)}


def flows(bench: Bench, job: str) -> list[tuple[str, str, str]]:
    """From, to, amount of each arrow of the picture, by the labels of the boxes."""
    (path,) = [one for one in proof(bench, job).blocks if isinstance(one, WaterPath)]
    label = {node.id: node.label.split(" (")[0] for node in path.nodes}
    return [(label[one.source], label[one.target], one.amount.text) for one in path.flows]


@pytest.fixture(scope="module")
def used_elsewhere() -> Bench:
    """My 200 gal in the tank, then 50 of them used again at their stop, which gives 130 more; 280 dumped of 280."""
    return book(
        REGISTERS,
        night(
            look("empty"), stop(used="210 gal"), look("200 gal"),
            {"line": "use again", "amount": "50 gal"},
            stop("their yard", used="90 gal"), look("280 gal"), dump("280 gal"),
        ),
    )  # fmt: skip


def test_water_used_again_at_another_job_has_its_row(used_elsewhere: Bench) -> None:
    """200 captured: 50 used again; of 280 dumped mine are the other 150; nothing aboard, nothing left over.

    Theirs is 280 - (200 - 50) = 130, all of it dumped.
    """
    found = amounts(used_elsewhere, MINE)
    assert found["Captured in the tank"] == "200 gal (no ± on file)"
    assert found["Handed over"] == "150.00 gal, worked out, not measured"
    assert found["Used again on the rig"] == "50.00 gal, worked out, not measured"
    assert found["Still aboard"] == "0 gal"
    assert found["Not explained, in the tank"] == "0.00 gal, worked out, not measured"
    assert amounts(used_elsewhere, THEIRS)["Handed over"] == "130.00 gal, worked out, not measured"


def test_water_used_again_at_another_job_leaves_the_picture_and_comes_into_theirs(used_elsewhere: Bench) -> None:
    """Mine: 210 used, 200 captured, 50 of them away. Theirs: 90 used and 50 used again are 130 captured and 10 left."""
    ways = flows(used_elsewhere, MINE)
    assert ("Captured", "Used again on the rig", "50.00 gal") in ways
    assert not [one for one in ways if one[1] == "Used"]
    ways = flows(used_elsewhere, THEIRS)
    assert ("Used again", "Used", "50 gal") in ways
    assert [amount for _, to, amount in ways if to == "Not explained, at the wash"] == ["10 gal"]


def test_water_used_again_at_its_own_job_goes_round() -> None:
    """One client's only: 100 captured, 30 back through the gun, which are no end of the water; 70 dumped."""
    lines = (look("empty"), stop(used="120 gal", recovered="100 gal"), {"line": "use again", "amount": "30 gal"},
             dump("70 gal"))  # fmt: skip
    bench = book(REGISTERS, night(*lines))
    ways = flows(bench, MINE)
    assert ("Captured", "Used", "30 gal") in ways
    assert not [one for one in ways if "Used again" in one[0] + one[1]]
    assert amounts(bench, MINE)["Used again on the rig"] == "30 gal (stated, no ±)"


def test_what_was_used_again_and_led_away_says_how_it_was_read() -> None:
    """Two draws of 30 and 20 at one stop: a row each and their sum; 15 led away, one row with its reading."""
    again = {"line": "use again", "amount": "30 gal"}
    lines = (look("empty"), stop(used="120 gal", recovered="100 gal"), again, {**again, "amount": "20 gal"},
             {"line": "led away", "place": "garden", "amount": "15 gal"}, dump("50 gal"))  # fmt: skip
    found = rows(book(REGISTERS, night(*lines)), MINE)
    assert [row for row in found if row[0].startswith(("Used again", "Led away"))] == [
        ("Used again", "30 gal (stated, no ±)", "stated"),
        ("Used again", "20 gal (stated, no ±)", "stated"),
        ("Used again: sum", "50 gal (stated, no ±)", "sum"),
        ("Used again on the rig", "50 gal (stated, no ±)", "sum"),
        ("Led away, not through our tank", "15 gal (stated, no ±)", "stated"),
    ]


@pytest.mark.parametrize(
    ("lines", "aboard"),
    [
        ((stop(recovered="100 gal"),), ("100 gal (stated, no ±)", "worked out: 0.00 + 100.00 = 100.00")),
        ((stop(), look("115 gal")), ("115 gal (no ± on file)", "tank mark: 115 gal")),
    ],
)
def test_what_is_still_aboard_is_by_the_look_at_the_tank_or_worked_out(
    lines: tuple[Mapping[str, Any], ...], aboard: tuple[str, str]
) -> None:
    """Where nobody looked there is the line to redo it, and no word of levels."""
    found = rows(book(REGISTERS, night(look("empty"), *lines, where="aboard")), MINE)
    assert ("Still aboard", *aboard) in found


def test_water_of_which_nobody_knows_where_it_is_is_neither_aboard_nor_handed_over() -> None:
    """The crew cannot say: each way that it may have gone is not known, and says why."""
    found = rows(book(REGISTERS, night(look("empty"), stop(recovered="100 gal"), where="not known")), MINE)
    why = ("not known", "where the water is, is not known")
    assert [row for row in found if row[0] in ("Handed over", "Not known where", "Still aboard")] == [
        ("Handed over", *why), ("Not known where", *why), ("Still aboard", *why)
    ]  # fmt: skip


def test_what_the_readings_of_a_job_of_its_own_say_too_much_is_less_than_nothing() -> None:
    """271 captured; 270 handed over and 5 of sludge: 271 - 275 = -4, and the handover keeps its reading."""
    sludge = {"line": "solids", "what": "sludge", "amount": "5 gal"}
    bench = book(REGISTERS, night(look("empty"), stop(), look("271 gal"), sludge, dump("270 gal")))
    found = amounts(bench, MINE)
    assert found["Captured in the tank"] == "271 gal (no ± on file)"
    assert found["Handed over"] == "270 gal (stated, no ±)"
    assert found["Taken out with solids"] == "5 gal (stated, no ±)"
    assert ("Not explained, in the tank", "captured − left: 271 − 275 = −4") in [
        (what, how) for what, _, how in rows(bench, MINE)
    ]
    assert ("Captured", "Not explained, in the tank", "−4 gal") in flows(bench, MINE)


def test_a_second_dump_of_an_empty_tank_is_handed_over_too() -> None:
    """100 captured, 100 handed over, then 20 more: 120 handed over and -20 left over, each by its own reading."""
    second = {"line": "hand over", "place": "a hauler", "amount": "20 gal"}
    first = {"line": "hand over", "place": "plant", "amount": "100 gal"}
    bench = book(REGISTERS, night(look("empty"), stop(), look("100 gal"), first, second, look("empty")))
    found = {what: (amount, how) for what, amount, how in rows(bench, MINE)}
    assert found["Handed over"][0] == "120 gal (stated, no ±)"
    assert found["Not explained, in the tank"][1] == "captured − left: 100 − 120 = −20"


def test_water_moved_to_another_tank_is_followed_into_it() -> None:
    """200 captured in front, 80 moved to the rear, from which 75 are handed over; front dumps 118.

    118 + 75 = 193 handed over; 200 - 118 - 80 = 2 left over in front and 80 - 75 = 5 in the rear: 7.
    """
    lines = (look("empty"), look("empty", "rear"), stop(), look("200 gal"),
             {"line": "move", "tank": "front", "to": "rear", "amount": "80 gal"},
             dump("118 gal", tank="front"), dump("75 gal", tank="rear"))  # fmt: skip
    bench = book(REGISTERS, night(*lines))
    found = {what: (amount, how) for what, amount, how in rows(bench, MINE)}
    assert found["Handed over"][0] == "193 gal (stated, no ±)"
    assert found["Not explained, in the tank"][1] == "captured − left: 200 − 193 = 7"


def two_rigs(*theirs: Mapping[str, Any], left: str = "104 gal") -> Bench:
    blue = night(look("empty"), stop(job="both rigs"), look("200 gal"), dump("194 gal"))
    heron = night(look("empty", "small"), stop(job="both rigs"), *theirs, look("100 gal", "small"), dump(left),
                  id="h", rig="Little Heron")  # fmt: skip
    return book(REGISTERS, blue, heron)


def test_a_job_on_two_rigs_shows_no_plus_minus_that_its_terms_lack() -> None:
    """Big Blue: 200 - 194 = 6 left over. Little Heron held both clients' water, and nothing is left over of it."""
    found = {
        what: (amount, how) for what, amount, how in rows(two_rigs(stop("their yard"), left="100 gal"), "both rigs")
    }
    assert found["Captured in the tank: sum"][0] == "250 gal (partly worked out, no ±)"
    assert found["Handed over"][0] == "244.00 gal, worked out, not measured"
    assert found["Not explained, in the tank"] == (
        "6.00 gal, worked out, not measured", "sum of the worked-out parts",
    )  # fmt: skip


def test_one_rig_may_leave_over_what_another_lacks() -> None:
    """200 - 194 = 6 and 100 - 104 = -4: the job's is 2, and its handovers keep their readings."""
    found = {what: (amount, how) for what, amount, how in rows(two_rigs(), "both rigs")}
    assert found["Handed over"][0] == "298 gal (stated, no ±)"
    assert found["Not explained, in the tank"][1] == "captured − left: 300 − 298 = 2"


def read_rigs() -> Bench:
    """Both rigs at one job, each tank read before and after; Big Blue's dump went through its meter."""
    through = {"method": "meter", "meter": "Big Blue transfer meter", "start": "1580", "end": "1832"}
    bench = Bench([]).put(read_toml(SAMPLES / "registers.toml"))
    for record, rig, shows, amount in (("b", "Big Blue", "18 in", through), ("h", "Little Heron", "24 in", "not read")):
        tank, job = f"{rig} recovery", "Harbor deck, three nights"
        lines = [look("empty", tank), stop("Harbor deck", job=job), look(shows, tank)]
        lines.append({**dump(""), "place": "Port Alder receiving station", "amount": amount})
        bench.put(night(*lines, id=record, rig=rig))
    return bench


def test_a_sum_of_readings_on_two_rigs_has_its_plus_minus_and_so_has_what_is_left_over() -> None:
    """257.14 and 224.69 captured, 252 and 224.69 handed over, 5.14 left over: every term is read, none divided."""
    found = {what: (amount, how) for what, amount, how in rows(read_rigs(), "Harbor deck, three nights")}
    assert found["Captured in the tank: sum"] == ("481.8 ± 7.9 gal", "sum")
    assert found["Handed over"] == ("476.7 ± 8.4 gal", "sum")
    assert found["Not explained, in the tank"] == ("5.1 ± 7.8 gal", "captured − left: 481.83 − 476.69 = 5.14")


def test_what_was_captured_is_the_sum_of_its_ends_in_every_job() -> None:
    """Wherever captured is one figure and no end of it is unknown, to the hundredth, in all cases worked by hand."""
    bench = all_cases()
    state, made = bench.state, bench.night
    source = Source(state, made, Words("en"), "")
    added = 0
    for name in job_names(made):
        job = job_facts(state, made, name)
        assert job is not None
        worked = [one for one in job.stops if one.worked]
        captured, rest = job.captured, parts.rest_in_tank(source, job)
        if isinstance(captured, Unknown) or captured.best is None or isinstance(rest, Unknown):
            continue
        if any(one.pieces is None for one in worked):
            continue
        ends = parts.ends(source, job.stops)
        assert sum(one.amount for one in ends) == captured.best * 100, name
        left = rest if isinstance(rest, int) else (rest.best or Decimal(0)) * 100
        assert sum(one.amount for one in ends if one.way == parts.UNNAMED) == left, name
        added += bool(ends)
    assert added > 20


def basis(bench: Bench, job: str = MINE) -> str:
    """How the captured water of a job was come by, as its proof says it."""
    return next(how for what, _, how in rows(bench, job) if what == "Captured in the tank")


def test_a_share_says_what_it_is_in_proportion_to() -> None:
    """1,000 of 3,000 sq ft give 80 of 240: a reader can redo it. Equal parts need no more than the number of stops."""
    areas = (stop(area="1000 ft2"), stop("their yard", area="2000 ft2"))
    by_area = book(REGISTERS, night(look("empty"), *areas, look("240 gal")))
    assert basis(by_area) == "worked out by area, 1,000 of 3,000; from 240 gal (no ± on file) of 2 stops"
    equal = book(REGISTERS, night(look("empty"), stop(), stop("their yard"), look("240 gal")))
    assert basis(equal) == "worked out by equal parts; from 240 gal (no ± on file) of 2 stops"


def test_a_share_that_is_in_no_such_proportion_does_not_name_one() -> None:
    """More was handed over after the first stop than its area gives: its share was raised to that."""
    drawn = {"line": "hand over", "place": "plant", "amount": "200 gal"}
    areas = (stop(area="1000 ft2"), drawn, stop("their yard", area="2000 ft2"))
    raised = book(REGISTERS, night(look("empty"), *areas, look("40 gal")))
    assert basis(raised).startswith("worked out by area; from 240 gal")
