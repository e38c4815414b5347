"""Filter stages run from coarse to fine."""

from __future__ import annotations

import pytest

from tests.rules.samples import base, found, outcome, scene


def stages(*openings: str | None) -> list[dict[str, str]]:
    rows = [{"what": f"stage {n}", "done": "same"} for n in range(len(openings))]
    return [row if one is None else {**row, "opening": one} for row, one in zip(rows, openings, strict=True)]


@pytest.mark.parametrize(
    ("openings", "result"),
    [
        (("400 um", "100 um", "20 um"), "silent"),
        (("100 um", "100 um"), "silent"),
        (("400 um", "20 um", "100 um"), "found: 'stage 1' (20 um) stands before 'stage 2' (100 um)"),
        (("400 um", None, "500 um"), "found: 'stage 0' (400 um) stands before 'stage 2' (500 um)"),
        (("100 um", "50..200 um"), "silent"),
        ((">=100 um", "200 um"), "silent"),
        (("100 um", "<=200 um"), "silent"),
        (("400 um",), "does not apply"),
        ((None, "not read"), "does not apply"),
    ],
)
def test_each_stage_is_no_wider_than_the_one_before(openings: tuple[str | None, ...], result: str) -> None:
    """Stages without an opening are passed over, and ranges that may be in order are."""
    assert outcome(scene({"line": {"2": {"filter_list": stages(*openings)}}}), "filter-1").startswith(result)


def test_a_stop_that_is_continued_has_two_rows() -> None:
    """After a break the stages begin again."""
    stop = base()["lines"][1]
    first = {**stop, "filter_list": stages("400 um", "20 um")}
    again = {**stop, "continued": "yes", "filter_list": stages("400 um", "20 um")}
    for line in (first, again):
        line.pop("arrived")
        line.pop("left")
    made = scene({"lines": [first, again], "night": {"where": "aboard"}})
    assert found(made, "filter-1") == ()
