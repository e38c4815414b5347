"""The water table of a proof adds up: what was captured is in a row of its own wherever it went."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import pytest

from compliance.reports import parts
from compliance.reports.model import OpenItems, Table, WaterPath
from compliance.reports.refs import Source
from compliance.reports.words import Words
from compliance.water.jobs import job_facts, job_names
from compliance.water.volume import Unknown
from tests.reports.making import SAMPLES, Bench, all_cases, book, proof, read_toml
from tests.reports.proofs import ONE_STOP, OURS, TWO_CLIENTS, own_night, water

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


def test_a_page_is_not_complete_while_nobody_knows_where_the_water_is() -> None:
    """It is an open item of the night, until the crew says it or a look shows all of it in the tank."""
    lost = night(look("empty"), stop(recovered="100 gal"), where="not known")
    (items,) = [one for one in proof(book(REGISTERS, lost), MINE).blocks if isinstance(one, OpenItems)]
    assert items.items == ("Run of Sep 1, 2026: where the water is, is not known",)
    seen = {**NIGHT, "id": "m", "date": "2026-09-02", "where": "no water",
            "line": [look("100 gal"), {**stop(), "not_worked": "rain"}]}  # fmt: skip
    (items,) = [one for one in proof(book(REGISTERS, lost, seen), MINE).blocks if isinstance(one, OpenItems)]
    assert not any("is not known" in one for one in items.items)


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


def test_the_water_table_has_method_reader_and_plus_minus(one_stop: Bench) -> None:
    """Each figure of the hand-worked case stands with the line that a reader can redo."""
    rows = water(proof(one_stop, ONE_STOP))
    used, captured = rows["Used (fresh water drawn)"], rows["Captured in the tank"]
    assert [cell.text for cell in used] == ["437.0 ± 7.6 gal", "meter: 999,307 − 998,870 = 437 gal", "Marisol Vega"]
    assert (used[0].number, used[0].plus_minus) == ("437.00", "7.6")
    assert [cell.text for cell in captured] == [
        "378.6 ± 6.0 gal", "tank levels: 378.57 (26.5 in) − 0.00 (empty) = 378.57", "Dana Whitlock",
    ]  # fmt: skip
    assert rows["the same, by a second method"][0].text == "380 gal (stated, no ±)"
    assert rows["the same, by a second method"][1].text == "stated; agreement: cannot tell"
    assert rows["Handed over"][0].text == "372.0 ± 8.6 gal"
    assert rows["Still aboard"][0].text == "0 gal"
    assert rows["Film on it, an assumption"][0].text == "0 to 150 gal"
    assert rows["Not explained, at the wash"][0].text == "58.4 ± 9.7 gal"
    assert rows["Not explained, at the wash"][1].text == "used − captured: 437 − 378.57 = 58.43"
    assert rows["Not explained, in the tank"][0].text == "7 ± 11 gal"


def water_of(bench: Bench) -> Mapping[str, str]:
    """What -> how it was read."""
    return {what: how.text for what, (_, how, *_) in water(proof(bench, OURS)).items()}


@pytest.mark.parametrize(
    ("typed", "how"), [("300 L", "stated: 300 L"), ("~0.3 m3", "stated: ~0.3 m³"), ("80 gal", "stated")]
)
def test_what_was_stated_in_another_unit_is_printed_as_it_was_typed(typed: str, how: str) -> None:
    """The amount stands in the unit of the book, and beside it what somebody wrote."""
    night = own_night(where="aboard", used=typed)
    assert water_of(night)["Used (fresh water drawn)"] == how


def in_tank(bench: Bench, job: str) -> tuple[str, str]:
    """What a proof says of 'not explained, in the tank': amount, how."""
    rows = [row for one in proof(bench, job).blocks if isinstance(one, Table) for row in one.rows]
    (row,) = [row for row in rows if row[0].text == "Not explained, in the tank"]
    return row[1].text, row[2].text


def test_what_is_not_explained_in_the_tank_is_always_said(everything: Bench) -> None:
    """At zero, below zero, as a share, and where nobody can know it."""
    assert in_tank(everything, "Harbor deck, three nights") == ("0.0 ± 4.4 gal", "captured − left: 245.35 − 245.35 = 0")
    assert in_tank(everything, "2026-09-17-big-blue.s1") == ("−3.0 ± 8.9 gal", "captured − left: 300 − 303 = −3")
    assert in_tank(everything, "2026-09-03-big-blue.s1") == (
        "0.69 gal, worked out, not measured",
        "sum of the worked-out parts",
    )
    assert in_tank(everything, "2026-09-21-big-blue.s1") == ("not known", "what was captured is not read")
    assert in_tank(everything, "2026-09-17-big-blue.s2") == ("0 gal", "nothing of it was in a tank")


def test_where_nothing_is_said_of_the_water_nothing_is_said_of_the_tank() -> None:
    """No figure of what was captured: there is none of what is left over, and zero is not said."""
    silent = {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "not known",
              "line": [{"line": "stop", "site": "my yard"}]}  # fmt: skip
    bench = Bench([]).put(TWO_CLIENTS).put(silent)
    assert in_tank(bench, OURS) == ("not known", "what was captured is not recorded yet")


def test_a_job_of_a_load_of_its_own_and_a_shared_one_adds_what_both_leave_over() -> None:
    """The figure of its own load and its part of the shared one, said to be worked out."""
    night = {"rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "see lines", "id": "n"}
    job = {"name": "both", "client": "Mine"}
    lines = [
        {"line": "reading", "of": "tank", "shows": "empty"},
        {"line": "stop", "site": "my yard", "job": "both"},
        {"line": "reading", "of": "tank", "shows": "200 gal"},
        {"line": "hand over", "place": "plant", "amount": "203 gal", "tank_after": "empty"},
        {"line": "stop", "site": "my yard", "job": "both", "recovered": "100 gal"},
        {"line": "stop", "site": "their yard", "recovered": "100 gal"},
        {"line": "reading", "of": "tank", "shows": "200 gal"},
        {"line": "hand over", "place": "plant", "amount": "190 gal", "tank_after": "empty"},
    ]
    bench = Bench([]).put({**TWO_CLIENTS, "job": [job]}).put({**night, "line": lines})
    amount, how = in_tank(bench, "both")
    assert (amount, how) == ("2.00 gal, worked out, not measured", "sum of the worked-out parts")


def film(bench: Bench, job: str, **options: Any) -> tuple[str, str]:
    """What a proof says of the film: amount, how."""
    rows = [row for one in proof(bench, job, **options).blocks if isinstance(one, Table) for row in one.rows]
    (row,) = [row for row in rows if row[0].text == "Film on it, an assumption"]
    return row[1].text, row[2].text


@pytest.mark.parametrize(
    ("area", "said"),
    [
        (None, ("not recorded yet", "the area is not recorded yet")),
        ("not read", ("not read", "the area is not read")),
        ("not applicable", ("not applicable", "the area is not applicable")),
        ("at least 900 sq ft", ("not known", "no single area on record")),
        ("1000 sq ft", ("0 to 62 gal", "area × 0 to 0.10 in, from rain")),
    ],
)
def test_the_film_says_which_answer_stands_for_the_area(area: str | None, said: tuple[str, str]) -> None:
    """Four answers, not one: an area that is only not recorded yet is not called unknown."""
    stop = {"line": "stop", "site": "my yard", **({"area": area} if area else {})}
    night = {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "aboard"}
    assert film(Bench([]).put(TWO_CLIENTS).put({**night, "line": [stop]}), OURS) == said


def test_after_the_month_was_closed_the_area_is_not_recorded(september: Bench) -> None:
    """What was 'not yet' is so no more; work that was not done has no film at all."""
    assert film(september, "2026-09-23-little-heron.s1", closed=True) == ("not recorded", "the area is not recorded")
    assert film(september, "2026-09-18-big-blue.s1") == ("not applicable", "no work was done")


def test_the_film_of_a_book_in_litres_is_in_litres() -> None:
    """100 m² × 2.54 mm is 254 L, as a reader works it out."""
    registers = {**TWO_CLIENTS, "business": {"name": "B", "unit": "L", "zone": "America/Denver"}}
    night = {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "aboard",
             "line": [{"line": "stop", "site": "my yard", "area": "100 m2"}]}  # fmt: skip
    assert film(Bench([]).put(registers).put(night), OURS)[0] == "0 to 254 L"
