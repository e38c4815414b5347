"""A meter on no rig: whose use it shows, when one rig was at the site and when several were."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from compliance.rules.run import Report, check
from compliance.rules.scene import Scene
from compliance.water.jobs import job_facts
from compliance.water.results import JobFacts, RunFacts
from compliance.water.sites import OF_NOBODY, OF_THE_SITE
from compliance.water.volume import Figure, Unknown
from tests.reports.making import Bench, book

REGISTERS: Mapping[str, Any] = {
    "business": {"name": "Bluebank Wash Recovery", "unit": "gal", "zone": "America/Denver"},
    "rig": [{"name": "Big Blue"}, {"name": "Sandpiper"}],
    "tank": [
        {"name": "blue recovery", "rig": "Big Blue", "role": "recovery", "capacity": "500 gal"},
        {"name": "blue fresh", "rig": "Big Blue", "role": "fresh", "capacity": "50 gal", "float_repeat": "1 gal"},
        {"name": "sand recovery", "rig": "Sandpiper", "role": "recovery", "capacity": "300 gal"},
    ],
    "site": [{"name": "Garage"}],
    "instrument": [
        {"name": name, "kind": "meter", "measures": "supply", "unit": "gal", "step": "1", "accuracy": "2 %", **rig}
        for name, rig in (
            ("bib", {"site": "Garage"}),
            ("loose", {}),
            ("blue supply", {"rig": "Big Blue"}),
            ("sand supply", {"rig": "Sandpiper", "site": "Garage"}),
        )
    ],
}
Line = dict[str, Any]


def night(*lines: Mapping[str, Any], rig: str = "Big Blue", **run: Any) -> dict[str, Any]:
    given = {"id": f"{rig} {run.get('date')}", "rig": rig, "lead": "Marisol Vega", "date": "2026-09-01"}
    return {**given, "where": "aboard", "used": "not read", **run, "line": list(lines)}


def look(shows: str, of: str = "bib") -> Line:
    return {"line": "reading", "of": of, "shows": shows}


def stop(site: str = "Garage", **fields: Any) -> Line:
    return {"line": "stop", "site": site, "job": "Two rigs", "recovered": "100 gal", **fields}


OPEN, SHUT = look("4410"), look("4822")
FIRST = night(OPEN, stop(), SHUT)


def other(*lines: Mapping[str, Any], **run: Any) -> dict[str, Any]:
    return night(*lines, rig="Sandpiper", **run)


def used(bench: Bench) -> list[str]:
    """What each run that was not cancelled used, Big Blue's first."""
    going = [run for run in bench.night.runs.values() if not run.cancelled]
    return [_plain(run.used.figure) for run in sorted(going, key=lambda run: run.ref)]


def _plain(figure: Figure) -> str:
    assert isinstance(figure, Unknown) or figure.best is not None
    return figure.kind if isinstance(figure, Unknown) else format(figure.best.normalize(), "f")


def blue(bench: Bench) -> RunFacts:
    """Big Blue's first run."""
    return next(run for run in bench.night.runs.values() if run.rig == "Big Blue")


def _reason(bench: Bench, *, of_stop: bool = False) -> str:
    run = blue(bench)
    figure = (run.stops[0] if of_stop else run).used.figure
    assert isinstance(figure, Unknown)
    return figure.reason


def job(bench: Bench, name: str = "Two rigs") -> JobFacts:
    found = job_facts(bench.state, bench.night, name)
    assert found is not None
    return found


def test_of_two_rigs_on_one_bib_neither_has_its_water_and_the_job_has_all_of_it() -> None:
    """412 through the bib, 200 captured: the stops leave nothing to explain, the job leaves 212; in either order."""
    for nights in ((FIRST, other(stop("garage"))), (other(stop("garage")), FIRST)):
        bench = book(REGISTERS, *nights)
        assert used(bench) == ["not read", "not read"]
        assert {_plain(s.not_explained) for run in bench.night.runs.values() for s in run.stops} == {"not read"}
        drawn = job(bench).used
        assert not isinstance(drawn, Unknown) and drawn.best == 412 and drawn.expanded() is not None
        assert _plain(job(bench).not_explained) == "212"
        assert [one.known.how.method for one in job(bench).at_site] == ["meter"]


@pytest.mark.parametrize(
    "nights",
    [
        (),
        (other(stop("Hall")),),
        (other(stop(), date="2026-09-02"),),
        (other(stop(not_worked="gate locked")),),
        (other(stop(used="not applicable")),),
        (other(stop(used="90 gal")),),
        (other(stop(), used="90 gal"),),
        (other(look("10", "sand supply"), stop(), look("100", "sand supply")),),
    ],
)
def test_a_rig_that_was_alone_on_a_bib_used_what_went_through(nights: tuple[dict[str, Any], ...]) -> None:
    """Nobody else was there, that day, at work, without a use of their own."""
    bench = book(REGISTERS, FIRST, *nights)
    assert used(bench)[0] == "412"
    assert all(run.at_site == () for run in bench.night.runs.values())


def test_a_night_that_was_cancelled_shared_nothing() -> None:
    """The second card takes the first's use away, and its cancelling gives it back."""
    bench = book(REGISTERS, FIRST, other(stop()))
    assert used(bench)[0] == "not read"
    cancelled = {"kind": "cancel", "record": "2026-09-01-sandpiper", "why": "entered twice", "who": "Priya Lund"}
    assert used(book(REGISTERS, FIRST, other(stop()), cancelled))[0] == "412"


def test_a_meter_of_a_rig_is_that_rigs_use_whoever_else_was_there() -> None:
    """412 through its own meter, and the other rig's stop has no use of its own."""
    own = night(look("4410", "blue supply"), stop(), look("4822", "blue supply"))
    assert used(book(REGISTERS, own, other(stop()))) == ["412", "not read"]


def test_only_the_stops_at_its_site_drew_through_a_bib() -> None:
    """A stop at the hall between its two looks has none of the 412, with one rig at the garage or with two."""
    alone = book(REGISTERS, night(OPEN, stop(), stop("Hall", job="Hall"), SHUT))
    assert [_plain(one.used.figure) for one in blue(alone).stops] == ["412", "not read"]
    bench = book(REGISTERS, night(OPEN, stop(), stop("Hall", job="Hall"), SHUT), other(stop()))
    assert used(bench) == ["not read", "not read"]
    assert (_plain(job(bench).used), _plain(job(bench, "Hall").used)) == ("412", "not read")


def test_a_look_at_a_bib_after_stops_elsewhere_alone_says_nothing_of_them() -> None:
    """What went through it while the rig was at the hall was nobody's of ours."""
    bench = book(REGISTERS, night(OPEN, stop("Hall"), SHUT, used=None))
    assert used(bench) == ["not recorded yet"]


def test_a_meter_that_is_nowhere_by_its_register_is_of_nobody_where_two_rigs_were() -> None:
    """It may hang on the rig that read it or stand at the site: with one rig there, it makes no difference."""
    looks = look("4410", "loose"), look("4822", "loose")
    assert used(book(REGISTERS, night(looks[0], stop(), looks[1]))) == ["412"]
    bench = book(REGISTERS, night(looks[0], stop(), looks[1], used=None), other(stop()))
    assert used(bench) == ["not known", "not read"]
    assert _reason(bench) == OF_NOBODY.reason
    assert (job(bench).at_site, isinstance(job(bench).used, Unknown)) == ((), True)


def test_a_silent_crew_that_read_the_bib_has_answered() -> None:
    """Which rig drew how much is not known: nobody is asked for it again, of the night or of its stop."""
    bench = book(REGISTERS, night(OPEN, stop(), SHUT, used=None), other(stop()))
    assert used(bench) == ["not known", "not read"]
    assert {_reason(bench), _reason(bench, of_stop=True)} == {OF_THE_SITE.reason}
    report = check(Scene(bench.state, bench.night, date(2026, 9, 2)), only=["missing-1"])
    assert isinstance(report, Report)
    asked = [one.seen for one in report.findings if one.about == blue(bench).ref]
    assert asked and not any("used" in seen.lower() for seen in asked)


BY_BIB = {"method": "meter", "meter": "bib", "start": "4410", "end": "4822"}


@pytest.mark.parametrize(
    "first",
    [
        night(stop(), used=BY_BIB),
        night(stop(used=BY_BIB), used=None),
        night(OPEN, stop(used=BY_BIB), SHUT, used=BY_BIB),
        night(stop(used={**BY_BIB, "end": "4600"}), stop(used={**BY_BIB, "start": "4600"}), used=None),
        night(stop(), stop("Hall", job="Hall", used="40 gal"), used=BY_BIB),
    ],
)
def test_a_figure_that_names_the_bib_as_its_meter_is_of_the_site_too(first: dict[str, Any]) -> None:
    """On the night or on a stop, and counted once where the same looks stand twice; alone it is the rig's own."""
    bench = book(REGISTERS, first, other(stop()))
    assert _plain(blue(bench).stops[0].used.figure) == "not known"
    assert _plain(job(bench).used) == "412"
    assert used(bench) == ["not known", "not read"]
    assert used(book(REGISTERS, first))[0] in ("412", "452")


def test_of_a_night_with_one_figure_by_the_bib_a_stop_elsewhere_is_still_to_be_told() -> None:
    """The hall's stop has no part in what the garage's rigs drew."""
    bench = book(REGISTERS, night(stop(), stop("Hall", job="Hall"), used=BY_BIB), other(stop()))
    assert [_plain(one.used.figure) for one in blue(bench).stops] == ["not known", "not recorded yet"]


def test_no_share_of_what_was_captured_is_by_a_bib_that_two_rigs_drew_from() -> None:
    """412 at the garage is no weight for its stop beside 50 at the hall."""
    hall = stop("Hall", job="Hall", recovered=None, used={"method": "fills", "tank": "blue fresh", "times": "1"})
    first = night(stop(recovered=None, used=BY_BIB), hall, used=None, recovered="300 gal")
    alone, both = book(REGISTERS, first), book(REGISTERS, first, other(stop()))
    bases = [{one.captured_basis for one in blue(bench).stops} for bench in (alone, both)]
    assert bases == [{"metered use"}, {"equal parts"}]


def test_a_second_method_by_the_bib_is_none_for_one_of_two_rigs() -> None:
    """90 gallons of a stop are not compared with the 412 of two."""
    first = night(stop(used="90 gal", used_also=BY_BIB), stop(), used=None)
    (beside,) = blue(book(REGISTERS, first)).stops[0].used_beside
    assert beside.known.how.method == "meter"
    assert blue(book(REGISTERS, first, other(stop()))).stops[0].used_beside == ()
    whole = night(stop(used="90 gal"), used=None, used_also=BY_BIB)
    assert len(blue(book(REGISTERS, whole)).used_beside) == 1
    assert blue(book(REGISTERS, whole, other(stop()))).used_beside == ()


def test_another_jobs_stop_on_the_bib_leaves_the_job_without_its_use() -> None:
    """412 are of both jobs together."""
    bench = book(REGISTERS, FIRST, other(stop(job="Ramp")))
    assert _plain(job(bench).used) == _plain(job(bench, "Ramp").used) == "not read"
    assert job(bench).at_site == ()


def test_one_figure_that_two_rigs_read_counts_once_and_two_figures_are_none() -> None:
    """Both read 4410 and 4822; or the second one 4500 and 4822, and nobody knows which of them brackets the work."""
    assert _plain(job(book(REGISTERS, FIRST, other(OPEN, stop(), SHUT))).used) == "412"
    assert isinstance(job(book(REGISTERS, FIRST, other(look("4500"), stop(), SHUT))).used, Unknown)


def test_looks_of_one_rig_one_after_another_are_added() -> None:
    """390 and 22 over two stops; a stop of the job with a use of its own is added, water let go is not in it."""
    gone = {"line": "let go", "what": "unused fresh water", "amount": "12 gal"}
    bench = book(REGISTERS, night(OPEN, stop(), look("4800"), stop(), gone, SHUT), other(stop(), stop(used="50 gal")))
    assert _plain(job(bench).used) == str(Decimal(390 + 22 - 12 + 50))


def test_rain_on_one_stop_makes_the_jobs_rest_a_bound() -> None:
    """What is left is then at least what the figures leave."""
    rain = {"line": "foreign water", "what": "rain", "amount": "not read"}
    found = job(book(REGISTERS, night(OPEN, stop(), rain, SHUT), other(stop())))
    assert any(one.rained for one in found.stops)
    assert not isinstance(found.not_explained, Unknown)
    assert (found.not_explained.low, found.not_explained.high) == (212, None)
