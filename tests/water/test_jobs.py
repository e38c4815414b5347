"""What is told of a job over its stops: the sums, where its water is, and why a figure is missing."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from compliance.water.jobs import Jobs, job_facts, job_names
from compliance.water.ratio import NoRatio, Ratio
from compliance.water.results import JobFacts, Night, RunFacts
from compliance.water.volume import Volume
from tests.reports.making import Bench, book

REGISTERS: Mapping[str, Any] = {
    "business": {"name": "Bluebank Wash Recovery", "unit": "gal", "zone": "America/Denver"},
    "rig": [{"name": "Big Blue"}, {"name": "Sandpiper"}],
    "tank": [
        {"name": "blue recovery", "rig": "Big Blue", "role": "recovery", "capacity": "500 gal"},
        {"name": "sand recovery", "rig": "Sandpiper", "role": "recovery", "capacity": "300 gal"},
    ],
}


def reading(shows: str, of: str = "blue recovery") -> dict[str, Any]:
    return {"line": "reading", "of": of, "shows": shows}


def stop(job: str, used: str = "", **fields: Any) -> dict[str, Any]:
    given = {"line": "stop", "site": f"site of {job}", "job": job, **fields}
    return {**given, "used": used} if used else given


def night(
    name: str, *lines: Mapping[str, Any], rig: str = "Big Blue", day: str = "2026-09-01", where: str = "aboard"
) -> dict[str, Any]:
    return {"id": name, "rig": rig, "lead": "Marisol Vega", "date": day, "where": where, "line": list(lines)}


def facts(bench: Bench, job: str) -> JobFacts:
    found = job_facts(bench.state, bench.night, job)
    assert found is not None
    return found


def best(figure: Any) -> Decimal | None:
    assert isinstance(figure, Volume), figure
    return figure.best


EMPTY = reading("empty")


def test_jobs_come_in_the_order_of_their_first_stop_and_no_other_is_told() -> None:
    """Two jobs of which one comes twice; a third that nobody worked on is None."""
    bench = book(REGISTERS, night("one", EMPTY, stop("Quay"), stop("Arcade"), stop("Quay", continued="no")))
    assert job_names(bench.night) == ["Quay", "Arcade"]
    assert job_facts(bench.state, bench.night, "Harbour") is None
    assert facts(bench, "QUAY").job == "Quay"


class _Looked(dict[str, RunFacts]):
    """Runs that count how often somebody goes through all of them."""

    times = 0

    def values(self) -> Any:
        self.times += 1
        return super().values()


def test_all_jobs_are_told_without_going_through_all_runs_for_each() -> None:
    """Forty jobs of twenty nights: each as it is told alone, two spellings of one once, and a few looks at the runs."""
    nights = [
        night(f"n{n}", EMPTY, stop(f"Quay {n}", "50 gal"), stop(f"quay {n}"), stop(f"Arcade {n}"), reading("40 gal"),
              day=f"2026-09-{n + 1:02d}")
        for n in range(20)
    ]  # fmt: skip
    bench = book(REGISTERS, *nights)
    known = bench.night
    looked = _Looked(known.runs)
    jobs = Jobs(bench.state, Night(looked, known.loads))
    assert [jobs.of(name) for name in jobs.names] == [job_facts(bench.state, known, name) for name in jobs.names]
    assert len(jobs.names) == 40
    assert looked.times <= 2


def test_the_only_job_of_a_night_has_the_nights_ratio_and_a_part_of_it_has_none() -> None:
    """Two stops of 1,000 and 2,000 ft2 with 100 and 200 used, 240 captured in one look: 240 / 300 = 0.8 for both.

    Of the 240 the areas give 80 and 160. 160 / 200 would be a ratio of the areas, and of nothing that anybody saw.
    """
    lines = (
        EMPTY, stop("Quay", "100 gal", area="1000 ft2"), stop("Arcade", "200 gal", area="2000 ft2"), reading("240 gal")
    )  # fmt: skip
    both = book(REGISTERS, night("one", EMPTY, stop("Quay", "100 gal"), stop("Quay", "200 gal"), reading("240 gal")))
    whole = facts(both, "Quay")
    assert isinstance(whole.ratio, Ratio) and whole.ratio == next(iter(both.night.runs.values())).ratio
    part = facts(book(REGISTERS, night("one", *lines)), "Arcade")
    assert (best(part.captured), part.mixed) == (160, "worked out")
    assert part.ratio == NoRatio("this job's part is worked out, not measured")
    assert (part.aboard, part.destinations) == (16000, {})


def test_a_job_of_several_nights_has_the_ratio_of_its_sums() -> None:
    """90 of 100 and 110 of 150: 200 / 250 = 0.8, and not the mean of 0.9 and 0.7333.

    All of the first night went to the station, the second is aboard.
    """
    out = {"line": "hand over", "place": "Station", "amount": "90 gal", "tank_after": "empty"}
    bench = book(
        REGISTERS,
        night("one", EMPTY, stop("Quay", "100 gal"), reading("90 gal"), out),
        night("two", EMPTY, stop("Quay", "150 gal"), reading("110 gal"), day="2026-09-02"),
    )
    found = facts(bench, "Quay")
    assert isinstance(found.ratio, Ratio) and found.ratio.value == Decimal("0.8")
    assert (best(found.used), best(found.captured), found.mixed, len(found.runs)) == (250, 200, "", 2)
    assert (found.destinations, found.aboard) == ({"Station": 9000}, 11000)


def test_a_job_of_two_rigs_says_that_its_sums_carry_no_single_doubt() -> None:
    """60 of one rig and 40 of the other are 100, each read by other eyes in another tank."""
    bench = book(
        REGISTERS,
        night("one", EMPTY, stop("Quay", "80 gal"), reading("60 gal")),
        night("two", reading("empty", "sand recovery"), stop("Quay", "50 gal"), reading("40 gal", "sand recovery"),
              rig="Sandpiper"),
    )  # fmt: skip
    found = facts(bench, "Quay")
    assert (best(found.captured), found.mixed) == (100, "more than one rig")


def test_a_job_part_of_whose_water_cannot_be_followed_has_no_places() -> None:
    """A dump that nobody read in mid-stop: not half here and half there, and not 'nothing aboard'."""
    unread = {"line": "hand over", "place": "Station", "amount": "not read", "tank_after": "empty"}
    bench = book(REGISTERS, night("one", EMPTY, stop("Quay"), unread, stop("Arcade"), stop("Quay"), reading("70 gal")))
    found = facts(bench, "Quay")
    assert (found.destinations, found.aboard) == (None, None)


def test_a_job_at_which_nobody_worked_has_no_ratio_and_says_why() -> None:
    """The gate was locked: no water, which is known, and no ratio of nothing."""
    found = facts(book(REGISTERS, night("one", EMPTY, stop("Quay", not_worked="gate locked"))), "Quay")
    assert found.ratio == NoRatio("no stop was worked")
    assert (best(found.used), found.destinations, found.aboard) == (0, {}, 0)


def test_a_job_of_which_nothing_was_read_has_no_ratio_because_nothing_was_read() -> None:
    """One of two jobs of a night whose tank nobody looked into: nothing was worked out that could be the reason."""
    bench = book(REGISTERS, night("one", EMPTY, stop("Quay", "100 gal"), stop("Arcade", "100 gal"), where="not known"))
    ratio = facts(bench, "Quay").ratio
    assert isinstance(ratio, NoRatio)
    assert ratio.why.startswith("what was captured is not recorded yet: ")
