"""Which pages a late record touches, figure by figure, and what the next summary says of an earlier one."""

from __future__ import annotations

from decimal import Decimal

import pytest

from compliance.reports.figures import FAMILIES, Figures, division_digest, family, value
from compliance.reports.touched import restated, told, touched
from compliance.water.volume import Unknown, at_least, at_most, between, exact, stated, with_limits
from tests.reports.making import (
    SAMPLES,
    Bench,
    close_month,
    figures_of,
    keep,
    keep_month,
    keep_proof,
    read_toml,
    reopen_month,
    sample,
)

SEPTEMBER = ("2026-09-01", "2026-09-30")
DOCK = "Alder Oven dock, September"


def read_wrong(bench: Bench, shows: str = "27.0 in") -> Bench:
    """The tank of case 1 is said to have shown something else."""
    return bench.put({"kind": "correct", "id": f"c {shows}", "run": "2026-09-01-big-blue", "line": "3",
                      "field": "shows", "value": shows, "reason": "read wrong", "why": "at an angle",
                      "who": "Dana Whitlock"})  # fmt: skip


def keyed_wrong(bench: Bench) -> Bench:
    """The metered use of the second stop of the route is another one."""
    return bench.put({"kind": "correct", "id": "m", "run": "2026-09-03-big-blue", "line": "3", "field": "used",
                      "value": {"method": "meter", "meter": "Big Blue supply meter", "start": "999381",
                                "end": "999412"},
                      "reason": "keyed wrong", "why": "a digit", "who": "Priya Lund"})  # fmt: skip


def numbers(bench: Bench) -> set[str]:
    return {one.page.number for one in touched(figures_of(bench))}


def test_nothing_is_touched_while_nothing_changes() -> None:
    """Records of other nights, and of registers, leave an issued page alone."""
    bench = sample("case-01-one-stop")
    keep_proof(bench, DOCK)
    bench.case("case-02-route-night", "case-03-three-nights")
    assert touched(figures_of(bench)) == []


def test_a_correction_touches_every_page_that_printed_a_figure_of_that_load() -> None:
    """One stop's metered use is corrected: all eight proofs of the route are touched, and the summary; no other."""
    bench = sample("case-01-one-stop", "case-02-route-night")
    other = keep_proof(bench, DOCK)
    route = {keep_proof(bench, f"2026-09-03-big-blue.s{n}") for n in range(1, 9)}
    month = keep_month(bench, *SEPTEMBER)
    keyed_wrong(bench)
    found = touched(figures_of(bench))
    assert {one.page.number for one in found} == route | {month}
    assert other not in {one.page.number for one in found}
    for one in found:
        assert all(was != now for was, now in one.figures.values())
        assert one.page.number == month or "2026-09-03-big-blue.l1" in one.figures


def test_a_touched_page_tells_what_was_printed_and_what_is_so_now() -> None:
    """Both figures with their ±, in the words of the list."""
    bench = sample("case-01-one-stop")
    keep_proof(bench, DOCK)
    read_wrong(bench)
    (one,) = touched(figures_of(bench))
    rows = {told(figures_of(bench), name, *both) for name, both in one.figures.items()}
    stop = "2026-09-01-big-blue.s1"
    assert rows == {
        ("division of load 2026-09-01-big-blue.l1", "version 1", "version 2"),
        (f"captured, {stop}", "378.6 ± 6.0", "385.7 ± 6.1"),
        (f"not explained, {stop}", "58.4 ± 9.7", "51.3 ± 9.7"),
        (f"where the water went, {stop}", "handed over at Alder Oven cleanout 372.00; not explained 6.57",
         "handed over at Alder Oven cleanout 372.00; not explained 13.71"),
    }  # fmt: skip


def test_a_late_card_touches_the_pages_on_which_it_is_missing() -> None:
    """A night that was never on a summary is a figure that the summary did not print."""
    bench = sample("case-01-one-stop")
    month = keep_month(bench, *SEPTEMBER)
    client = keep(bench, "client", "Hillrow Hospital 2026-09-01..2026-09-30", "Hillrow Hospital",
                  figures_of(bench).of_client("Hillrow Hospital", *SEPTEMBER))  # fmt: skip
    proof = keep_proof(bench, DOCK)
    bench.case("case-12-overflow")
    assert {month} <= numbers(bench)
    assert proof not in numbers(bench)
    assert client not in numbers(bench)
    (one,) = [one for one in touched(figures_of(bench)) if one.page.number == month]
    assert one.figures["sum/runs"] == ("1", "2")
    assert one.figures["run/2026-09-21-big-blue/used"][0] == ""


def test_a_late_stop_of_a_client_touches_that_clients_summary() -> None:
    """The summary printed one stop of it; now there are more."""
    bench = sample("case-01-one-stop")
    about = "Alder Oven Bakery 2026-09-01..2026-09-30"
    number = keep(bench, "client", about, "Alder Oven Bakery",
                  figures_of(bench).of_client("Alder Oven Bakery", *SEPTEMBER))  # fmt: skip
    bench.case("case-02-route-night")
    assert numbers(bench) == {number}


def test_a_page_that_was_replaced_is_not_listed_again() -> None:
    """After the page is issued anew with the figures of now, nothing is touched any more."""
    bench = sample("case-01-one-stop")
    first = keep_proof(bench, DOCK)
    read_wrong(bench)
    assert numbers(bench) == {first}
    second = keep_proof(bench, DOCK)
    assert bench.state.issued[-1].replaces == first
    assert touched(figures_of(bench)) == []
    assert second == "alder-oven-bakery-2"


def test_a_cancelled_run_touches_the_pages_that_printed_it() -> None:
    """A figure that no longer exists differs from what was printed."""
    bench = sample("case-01-one-stop")
    keep_proof(bench, DOCK)
    bench.put({"kind": "cancel", "id": "x", "run": "2026-09-01-big-blue", "why": "entered twice", "who": "Priya Lund"})
    (one,) = touched(figures_of(bench))
    assert one.figures["2026-09-01-big-blue.s1/used"][1] == ""


def test_an_accepted_volume_touches_no_page() -> None:
    """A ticket that comes weeks later changes neither what was captured nor how it was divided."""
    bench = sample()
    night, ticket = sorted((SAMPLES / "case-08-hauler-ticket").glob("[0-9]*.toml"))
    bench.put(read_toml(night))
    keep_proof(bench, "2026-09-07-big-blue.s1")
    keep_month(bench, *SEPTEMBER)
    bench.put(read_toml(ticket))
    assert touched(figures_of(bench)) == []


def test_a_figure_of_another_program_is_not_compared() -> None:
    """What an older or newer program called otherwise is no difference; the figures that are known are."""
    bench = sample("case-01-one-stop")
    figures = {**figures_of(bench).of_job(DOCK), "2026-09-01-big-blue.s1/went": "f" * 64}
    keep(bench, "proof", DOCK, "Alder Oven Bakery", figures)
    keep(bench, "proof es", DOCK, "Alder Oven Bakery", {"2026-09-01-big-blue.s1/used": "437.00 ± 7.59"})
    first, second = touched(figures_of(bench)), figures_of(bench).of_job(DOCK)["2026-09-01-big-blue.s1/used"]
    assert [one.page.page for one in first] == ["proof es"]
    assert first[0].figures == {"2026-09-01-big-blue.s1/used": ("437.00 ± 7.59", second)}


def test_a_digest_tells_divisions_apart() -> None:
    """Equal records give equal digests; a load that is not there has none."""
    one, two = sample("case-02-route-night"), sample("case-01-one-stop", "case-02-route-night")
    name = "2026-09-03-big-blue.l1"
    assert division_digest(one.night, name) == division_digest(two.night, name)
    assert division_digest(one.night, "no such load") == ""
    assert set(figures_of(two).divisions("2026-09-03", "2026-09-03")) == {name}
    keyed_wrong(one)
    assert division_digest(one.night, name) != division_digest(two.night, name)


def test_every_figure_has_a_family() -> None:
    """Names say which family they are of, whatever a client is called."""
    bench = sample("case-01-one-stop", "case-02-route-night", "case-12-overflow")
    names = [*figures_of(bench).of_month(*SEPTEMBER), *figures_of(bench).of_job(DOCK)]
    assert {family(name) for name in names} <= FAMILIES
    assert family("client/Oak/Elm/used/measured") == "client"
    assert family("2026-09-01-big-blue.l1") == "load"
    assert family("2026-09-01-big-blue.s1/went") not in FAMILIES


def test_a_figure_is_kept_exactly_and_told_as_it_was_printed() -> None:
    """Rounded to its own ±; bounds, ranges, shares and answers without a value each have words of their own."""
    figures = Figures(sample().state, sample().night)
    for figure, text in (
        (with_limits(Decimal(8352), {"cal:m": Decimal("123.227")}), "8,350 ± 140"),
        (with_limits(Decimal("0.4"), {"cal:m": Decimal("0.05")}), "0.40 ± 0.06"), (exact(Decimal(0)), "0"),
        (at_least(Decimal(300)), "at least 300"), (at_most(Decimal(20)), "at most 20"),
        (between(Decimal(5), Decimal(9)), "between 5 and 9"), (Unknown("x", "not read"), "not read"),
        (stated(Decimal(96), "declared:x"), "96, no ±"), (stated(Decimal("64.10"), "share"), "64.10, no ±"),
        (at_least(Decimal(300), "about"), "at least 300, no ±"),
    ):  # fmt: skip
        assert told(figures, "sum/used/bounds", value(figure), "")[1:] == (text, "")
    was, now = value(exact(Decimal("8352"))), value(exact(Decimal("8352.3")))
    assert told(figures, "sum/used/measured", f"{was[:-4]}142.29", f"{now[:-4]}142.29")[1:] == (
        "8,350 ± 140 (8352.00 ± 142.29)", "8,350 ± 140 (8352.30 ± 142.29)",
    )  # fmt: skip
    assert told(figures, "old/2021-09/Mill/used", "", "60.00 in 1 rows, 0 without") == (
        "stated in an old file 2021-09, Mill, used", "", "60.00 in 1 rows, 0 without",
    )  # fmt: skip


# ---- what the next summary says -----------------------------------------------------------------------------------


def test_only_summaries_that_ended_before_are_restated() -> None:
    """A proof is listed as touched, and restated by no summary."""
    bench = sample("case-01-one-stop")
    keep_proof(bench, DOCK)
    month = keep_month(bench, *SEPTEMBER)
    read_wrong(bench)
    assert [one.page.number for one in restated(figures_of(bench), "2026-10-01", "2026-10-31")] == [month]
    assert restated(figures_of(bench), "2026-09-30", "2026-10-31") == []


def test_a_closed_month_is_measured_by_the_summary_it_was_closed_with() -> None:
    """A summary of the open month does not count; a version issued since is named, and does not undo the restating."""
    bench = sample("case-01-one-stop")
    keep_month(bench, *SEPTEMBER)
    bench.case("case-02-route-night")
    close_month(bench, "2026-09", "summary-2")
    keep_month(bench, *SEPTEMBER)
    assert restated(figures_of(bench), "2026-10-01", "2026-10-31") == []
    read_wrong(bench)
    (one,) = restated(figures_of(bench), "2026-10-01", "2026-10-31")
    assert (one.page.number, one.version) == ("summary-2", None)
    second = keep_month(bench, *SEPTEMBER)
    (one,) = restated(figures_of(bench), "2026-10-01", "2026-10-31")
    assert one.version is not None and (one.page.number, one.version.number) == ("summary-2", second)


def test_what_one_summary_restated_the_next_one_does_not_say_again() -> None:
    """Until it changes once more; then the page that said it is touched itself."""
    bench = sample("case-01-one-stop", "case-02-route-night")
    close_month(bench, "2026-09", "summary-1")
    keep_month(bench, *SEPTEMBER)
    read_wrong(bench)
    october = keep_month(bench, "2026-10-01", "2026-10-31")
    assert restated(figures_of(bench), "2026-10-01", "2026-10-31") != []
    assert restated(figures_of(bench), "2026-11-01", "2026-11-30") == []
    assert october not in numbers(bench)
    read_wrong(bench, "26.0 in")
    assert [one.page.number for one in restated(figures_of(bench), "2026-11-01", "2026-11-30")] == ["summary-1"]
    assert october in numbers(bench)
    (page,) = [one for one in touched(figures_of(bench)) if one.page.number == october]
    ((name, both),) = page.figures.items()
    assert told(figures_of(bench), name, *both)[0] == "what it says of summary-1"


def test_a_month_opened_again_is_measured_by_its_last_summary() -> None:
    """What was said last counts while the month is open."""
    bench = sample("case-01-one-stop")
    close_month(bench, "2026-09", "summary-1")
    keep_month(bench, *SEPTEMBER)
    reopen_month(bench, "2026-09", "a card was found")
    read_wrong(bench)
    keep_month(bench, *SEPTEMBER)
    assert restated(figures_of(bench), "2026-10-01", "2026-10-31") == []


def test_a_page_that_names_a_page_nobody_knows_is_touched() -> None:
    """It cannot be what it was."""
    bench = sample("case-01-one-stop")
    keep(bench, "month", "2026-10-01..2026-10-31", "summary",
         {**figures_of(bench).of_month("2026-10-01", "2026-10-31"), "restates/summary-9": "f" * 64})  # fmt: skip
    (one,) = touched(figures_of(bench))
    assert one.figures == {"restates/summary-9": ("f" * 64, "")}


@pytest.mark.parametrize("shift", range(3))
def test_the_list_says_nothing_that_is_not_so(shift: int) -> None:
    """Every figure listed as 'now' is the one that a page issued now would print."""
    bench = sample("case-01-one-stop", "case-02-route-night", "case-03-three-nights")
    jobs = [DOCK, "2026-09-03-big-blue.s2", "Harbor deck, three nights"]
    for job in jobs[shift:] + jobs[:shift]:
        keep_proof(bench, job)
    keyed_wrong(read_wrong(bench))
    listed = touched(figures_of(bench))
    assert listed
    for one in listed:
        now = figures_of(bench).of(one.page)
        assert {name: now.get(name, "") for name in one.figures} == {n: both[1] for n, both in one.figures.items()}
