"""Figures that should agree: nights in a row, two looks at a tank, two methods."""

from __future__ import annotations

from dataclasses import replace

import pytest

from compliance.rules.scene import Scene
from compliance.water.ratio import NoRatio, Ratio
from compliance.water.results import Beside, Interval, Line
from compliance.water.volume import Figure
from tests.rules.figures import LOAD, UNREAD, D, about, known, ratio, stated
from tests.rules.samples import base, found, outcome, scene, with_load, with_run

# ---- water-5 -------------------------------------------------------------------------------------------------


def nights(*ratios: Ratio | NoRatio) -> Scene:
    """One night a ratio, by one rig."""
    more = [
        {"date": f"2026-09-{15 + at}", "handed_in": f"2026-09-{16 + at}T06:40-06:00"} for at in range(len(ratios) - 1)
    ]
    made = scene({"nights": more})
    for at, one in enumerate(ratios):
        made = with_run(made, at, ratio=one)
    return made


SAME, OTHER = ratio("0.91234", "0.9", "0.93"), ratio("0.9125", "0.9", "0.93")
SAID = Ratio(D("0.9123"), None, None, "stated")


@pytest.mark.parametrize(
    ("row", "last"),
    [
        ((SAME, SAME), []),
        ((SAME, SAME, SAME), ["2026-09-16-big-blue"]),
        ((SAME, SAME, OTHER, SAME), []),
        ((SAME, SAME, SAME, SAME), ["2026-09-17-big-blue"]),
        ((SAME, SAME, SAID, SAME), ["2026-09-17-big-blue"]),
        ((SAME, SAME, SAME, OTHER, OTHER, OTHER), ["2026-09-16-big-blue", "2026-09-19-big-blue"]),
        ((SAID, SAID, SAID), []),
        ((SAME, NoRatio("not read"), SAME, SAME), ["2026-09-17-big-blue"]),
    ],
)
def test_a_row_is_told_once_at_its_end(row: tuple[Ratio | NoRatio, ...], last: list[str]) -> None:
    """Three measured runs in a row to four digits; nights without a measured ratio do not break the row."""
    assert [one.about for one in found(nights(*row), "water-5")] == last


def test_rigs_do_not_mix() -> None:
    """Another rig's ratio neither makes nor breaks a row."""
    made = nights(SAME, SAME, SAME)
    assert len(found(made, "water-5")) == 1
    rig = {"rig": [{"name": "Heron"}], "nights": [{"rig": "Heron"}, {"rig": "Heron", "date": "2026-09-16"}]}
    apart = scene(rig)
    for at in range(3):
        apart = with_run(apart, at, ratio=SAME)
    assert found(apart, "water-5") == ()


# ---- water-6 -------------------------------------------------------------------------------------------------


def gap(figure: Figure, opened: str = "before", closed: str = "", after: str = "286") -> Scene:
    """An idle interval that ends in the run with a difference."""
    made = scene({})
    record = made.state.runs[0].record
    work = made.night.loads[LOAD].intervals[0]
    idle = Interval(
        Line(opened, "3"), Line(closed or record, "1"), about("371", "6"), about(after, "5"), (),
        known(about("0"), "none"), "not divided", None, "", figure,
    )  # fmt: skip
    return with_load(made, LOAD, intervals=(idle, work))


@pytest.mark.parametrize(
    ("figure", "result"),
    [
        (about("6", "6"), "silent"),
        (
            about("6.1", "6"),
            "found: at the end of the run before: 371.0 ± 6.0 gal; at the start of this one: 286.0 ± 5.0",
        ),
        (about("-6.1", "6"), "found"),
        (about("0"), "silent"),
        (stated("0"), "silent"),
        (stated("20"), "found"),
        (UNREAD, "found"),
    ],
)
def test_two_looks_meet_within_their_interval(figure: Figure, result: str) -> None:
    """What the levels differ by counts beyond the ± of both, in either direction."""
    assert outcome(gap(figure), "water-6").startswith(result)


def test_levels_without_plus_minus_may_differ_by_a_quarter() -> None:
    """371 and 300 are 1.24 times apart; what nobody read is compared with nothing."""
    assert outcome(gap(stated("71"), after="300"), "water-6") == "cannot tell: a level has no ±, or was not read"
    assert outcome(gap(stated("81"), after="290"), "water-6").startswith("found")


def test_only_looks_of_two_runs_are_compared() -> None:
    """Two looks of one run, or a first look ever, are no look of the run before."""
    record = scene({}).state.runs[0].record
    assert outcome(gap(about("99"), opened=record), "water-6") == "does not apply"
    assert outcome(gap(about("99"), opened=""), "water-6") == "does not apply"
    assert outcome(gap(about("99"), closed="later"), "water-6") == "does not apply"


# ---- water-7 -------------------------------------------------------------------------------------------------


def twice(*ens: str | None, method: str = "count") -> Scene:
    """The night's used water, measured again once for each E_n."""
    others = tuple(Beside(known(about(f"{500 + at}", "6"), method), en) for at, en in enumerate(ens))
    return with_run(scene({}), used_beside=others, captured_beside=())


@pytest.mark.parametrize(
    ("ens", "result"),
    [
        (("1.00",), "silent"),
        (("1.01",), "found: used: 400.0 ± 7.0 gal (meter) and 500.0 ± 6.0 gal (count), E_n 1.01"),
        (("-1.01",), "found"),
        ((None,), "cannot tell: a method has no ±"),
        ((None, "0.50"), "silent"),
        ((None, "3.00"), "found"),
    ],
)
def test_two_methods_agree_up_to_one(ens: tuple[str | None, ...], result: str) -> None:
    """|E_n| of 1 still agrees."""
    made = twice(*ens)
    facts = made.night.runs[made.state.runs[0].record]
    made = with_run(made, stops=tuple(replace(stop, captured_beside=()) for stop in facts.stops))
    made = with_load(made, LOAD, intervals=tuple(replace(one, beside=()) for one in made.night.loads[LOAD].intervals))
    assert outcome(made, "water-7").startswith(result)


def test_a_comparison_is_told_once() -> None:
    """The same two figures stand at the run, its stop and its interval, and make one clause."""
    (finding,) = found(scene({"night": {"recovered": {**base()["night"]["recovered"], "end": "300"}}}), "water-7")
    assert finding.seen.count("E_n") == 1


def test_the_sum_of_the_stops_is_no_second_method() -> None:
    """A run may draw water between its stops."""
    assert outcome(twice("-2.50", method="sum"), "water-7") == "silent", "only the recovered water is compared"


def test_one_way_of_measuring_is_not_compared() -> None:
    """Nothing beside it, nothing to say."""
    assert outcome(scene({"night": {"recovered": "not read"}}), "water-7") == "does not apply"


@pytest.mark.parametrize(
    ("said", "result"),
    [
        ("300 gal", "cannot tell"),  # 371 by the marks is 1.24 times that
        ("296 gal", "found"),
        ("463 gal", "cannot tell"),
        ("465 gal", "found"),
        ("0 gal", "found"),
        (">=500 gal", "cannot tell"),
    ],
)
def test_figures_without_plus_minus_may_differ_by_a_quarter(said: str, result: str) -> None:
    """Somebody's word is no measurement; far off is far off."""
    assert outcome(scene({"night": {"recovered": said}}), "water-7").startswith(result)
