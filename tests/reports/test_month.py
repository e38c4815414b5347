"""The owner's summary: totals that carry their sources, what has none counted apart, and nothing left out."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Mapping
from decimal import Decimal
from io import BytesIO
from typing import Any

import openpyxl
import pytest

from compliance.reports import html, pdf, workbook
from compliance.reports.model import Chart, Heading, OpenItems, Page, Paragraph, Table
from compliance.reports.month import month_page
from compliance.reports.page_json import from_json, to_json
from compliance.reports.refs import Source
from compliance.reports.sheets import page_sheets
from compliance.reports.span import span_of, waters
from compliance.reports.totals import kind_of, pivot, split
from compliance.reports.touched import restated
from compliance.reports.words import Words
from compliance.water.volume import Unknown, Volume, between, exact, from_hundredths, stated, total, with_limits
from tests.reports.making import (
    HEAD,
    Bench,
    close_month,
    figures_of,
    findings_of,
    imprint,
    keep_month,
    past,
    pdf_texts,
    reopen_month,
    sample,
    texts,
)

SEPTEMBER = FIRST, LAST = "2026-09-01", "2026-09-30"


def month(bench: Bench, first: str = FIRST, last: str = LAST, **options: Any) -> Page:
    """The summary of a span of a book."""
    found = options.pop("findings", ())
    around = imprint(options, number="summary-1", issued="2026-10-02", head=HEAD)
    found_earlier = restated(figures_of(bench), first, last)
    options.setdefault("restates", [(one, past(bench, one.page.number)) for one in found_earlier])
    return month_page(bench.state, bench.night, found, first, last, around, **options)


def table(page: Page, heading: str) -> Table:
    """The table under a heading."""
    at = next(i for i, one in enumerate(page.blocks) if isinstance(one, Heading) and one.text == heading)
    return next(one for one in page.blocks[at:] if isinstance(one, Table))


def rows(one: Table) -> Mapping[str, Mapping[str, str]]:
    """First cell -> column -> text."""
    heads = [column.label for column in one.columns]
    return {
        row[0].text: {head: cell.text.replace("\u00a0", " ") for head, cell in zip(heads, row, strict=True)}
        for row in one.rows
    }


def charts(page: Page) -> list[Chart]:
    """All charts of a page."""
    return [one for one in page.blocks if isinstance(one, Chart)]


# ---- totals ----------------------------------------------------------------------------------------------------


def test_measured_stated_and_worked_out_are_never_added_up() -> None:
    """Each way of knowing has a sum of its own, and an answer without a value is counted, not added."""
    share = Volume(Decimal("1.50"), Decimal("1.50"), unstated=frozenset({"worked out"}))
    one = split(
        [
            with_limits(Decimal(100), {"cal:m": Decimal(2)}),
            exact(Decimal(5)),
            stated(Decimal(40), "declared:a/1"),
            stated(Decimal(2), "meter 3"),
            share,
            share,
            between(Decimal(1), Decimal(3)),
            Unknown("x", "not read"),
            Unknown("y", "not read"),
            Unknown("z", "not recorded yet"),
        ]
    )
    assert {kind: volume.best for kind, volume in one.sums.items() if volume.is_point} == {
        "measured": Decimal(105), "stated": Decimal(42), "worked_out": Decimal("3.00"),
    }  # fmt: skip
    assert (one.sums["bounds"].low, one.sums["bounds"].high) == (1, 3)
    assert one.counts == {"measured": 2, "stated": 2, "worked_out": 2, "bounds": 1}
    assert one.silent == {"not read": 2, "not recorded yet": 1}
    assert kind_of(share) == "worked_out"


def test_what_two_readings_share_adds_up_in_the_total() -> None:
    """Two figures of one meter: its calibration adds in full, which a root of squares would hide."""
    two = [with_limits(Decimal(100), {"cal:m": Decimal(3)}), with_limits(Decimal(100), {"cal:m": Decimal(3)})]
    apart = [with_limits(Decimal(100), {"cal:m": Decimal(3)}), with_limits(Decimal(100), {"cal:n": Decimal(3)})]
    assert split(two).sums["measured"].u.quantize(Decimal("1e-20")) == (2 * two[0].u).quantize(Decimal("1e-20"))
    assert split(apart).sums["measured"].u < Decimal("1.5") * apart[0].u


def test_a_pivot_loses_no_hundredth() -> None:
    """By name and label the sums are exact integers, the largest name first, absent pairs zero."""
    made = pivot([("w1", "b", 1), ("w1", "b", 2), ("w2", "a", 10**12), ("w1", "a", 5)], ["w1", "w2", "w3"])
    assert made == {"a": [5, 10**12, 0], "b": [3, 0, 0]}
    assert list(made) == ["a", "b"]
    assert pivot([], ["w1"]) == {}


# ---- the page --------------------------------------------------------------------------------------------------


def test_the_water_of_the_span_is_the_sum_of_its_runs(september: Bench) -> None:
    """Each line of the table is the total of the calculator's own figures, correlation included."""
    page = month(september)
    runs = [run for run in september.night.runs.values() if not run.cancelled]
    figures_ = [run.used.figure for run in runs]
    expected = total(one for one in figures_ if isinstance(one, Volume) and one.is_point and not one.unstated)
    used = rows(table(page, "Water of the span"))["Used (fresh water drawn)"]
    cell = next(row for row in table(page, "Water of the span").rows if row[0].text.startswith("Used"))[1]
    assert cell.number == f"{expected.best:.2f}"
    assert cell.plus_minus is not None
    assert abs(Decimal(cell.plus_minus) - (expected.expanded() or 0)) <= Decimal("0.5")
    assert used["bounds"] == "at least 300 gal"
    assert used["no figure"] == "1 not read"


def test_stated_figures_stand_apart_from_measured_ones(september: Bench) -> None:
    """The three-number night is in a column of its own and in no measured sum."""
    with_it = rows(table(month(september), "Water of the span"))["Used (fresh water drawn)"]
    without = rows(table(month(september, first="2026-09-24"), "Water of the span"))["Used (fresh water drawn)"]
    assert with_it["no ±"] == "280"
    assert without["no ±"] == "–"  # what was said to be aboard before has no ± either


def test_every_breakdown_sums_to_the_same_whole(september: Bench) -> None:
    """Clients, sites and rigs split one amount of water: what is measured and worked out adds up alike."""
    page = month(september)

    def whole(heading: str, what: str) -> Decimal:
        one = table(page, heading)
        heads = [column.label for column in one.columns]
        take = [heads.index(head) for head in ("measured", "worked out", "no ±") if head in heads]
        return sum((Decimal(row[at].number or 0) for row in one.rows if row[2].text == what for at in take), Decimal(0))

    assert whole("By client", "Captured") == whole("By site", "Captured")
    assert whole("By client", "Used") == whole("By site", "Used")
    destinations = table(page, "By destination")
    handed = [draw for load in september.night.loads.values() for draw in load.draws if draw.way == "handed over"]
    assert sum(int(row[1].number or 0) for row in destinations.rows) == len(handed)


def test_accepted_volumes_stand_beside_ours_and_change_nothing(september: Bench) -> None:
    """By destination: their sum, and for how many handovers theirs is not on record."""
    found = rows(table(month(september), "By destination"))
    hauler = found["Dry Fork Hauling (hauler)"]
    assert (hauler["Our volume, measured"], hauler["Accepted by them"]) == ("350.0 ± 8.1", "308")
    station = found["Port Alder receiving station (receiving station)"]
    assert station["Accepted by them"] == "672"
    assert station["Their volume not on record"].endswith(f"of {station['Handovers']}")


def test_a_ticket_for_two_handovers_is_counted_once() -> None:
    """One ticket, two handovers: its volume enters the sum once."""
    bench = sample("case-05-no-meter").put(
        {"kind": "ticket", "id": "t", "number": "T-1", "accepted": "500 gal",
         "handovers": [{"run": "2026-09-14-big-blue", "line": "4"}, {"run": "2026-09-15-big-blue", "line": "4"}]}
    )  # fmt: skip
    station = rows(table(month(bench), "By destination"))["Port Alder receiving station (receiving station)"]
    assert (station["Accepted by them"], station["Their volume not on record"]) == ("500", "–")


def test_agents_are_counted_as_they_were_stated(september: Bench) -> None:
    """At how many stops, and how much concentrate in the book's unit."""
    found = rows(table(month(september), "By cleaning agent"))
    assert found["house degreaser"]["Stops"] == "1"
    assert found["house degreaser"]["Concentrate used"] == "0.12"


def test_jugs_of_whole_nights_stand_beside_what_stops_used() -> None:
    """Jugs by product, times what one holds where that is known; without it the night is counted as silent."""
    jugs = {"line": "agent jugs", "agent": "house degreaser", "jugs": "2", "size": "2.5 gal"}
    bench = sample("case-01-one-stop")
    for n, more in enumerate((jugs, {**jugs, "jugs": "1", "size": "not read"}, {**jugs, "jugs": "not read"})):
        after = {"kind": "complete", "run": "2026-09-01-big-blue", "add_after": "", "line_values": more}
        bench.put({**after, "id": f"jugs {n}", "who": "Ruth Okafor"})
    page = month(bench)
    (found,) = [one for one in page.blocks if isinstance(one, Table) and one.caption == "Jugs counted for whole nights"]
    assert [cell.text for cell in found.rows[0]] == [
        "house degreaser",
        "1",
        "3",
        "5",
        "2 nights without jugs or size",
    ]
    assert not any(isinstance(one, Table) and "Jugs" in one.caption for one in month(sample("case-01-one-stop")).blocks)


def test_water_aboard_at_the_end_is_a_line_and_a_rig_each() -> None:
    """After the second of three nights the water is still in the tank; a rig that rests keeps it."""
    bench = sample("case-03-three-nights", "case-01-one-stop")
    page = month(bench, last="2026-09-09")
    aboard = rows(table(page, "Water aboard at the end"))
    assert aboard["Little Heron"]["Still aboard"].startswith("169.")
    assert aboard["Big Blue"]["Still aboard"] == "0 gal"
    assert rows(table(page, "Water of the span"))["Aboard at the end"]["measured"].startswith("169.")
    later = month(bench, first="2026-09-10", last="2026-09-10")
    assert rows(table(later, "Water of the span"))["Aboard at the start"]["measured"].startswith("169.")
    assert rows(table(later, "Water of the span"))["Aboard at the end"]["measured"] == "0"


def test_a_chart_stacks_the_handovers_week_by_week(september: Bench) -> None:
    """The stacked values are the handed-over volumes, and what is unknown is said and not drawn."""
    chart = charts(month(september))[0]
    assert chart.kind == "stacked"
    assert chart.labels == ("Sep 1–6", "Sep 7–13", "Sep 14–20", "Sep 21–27", "Sep 28–30")
    drawn = sum(Decimal(cell.number or 0) for one in chart.series for cell in one.values)
    figures_ = [draw.known.figure for load in september.night.loads.values() for draw in load.draws]
    known = [one.best for one in figures_ if isinstance(one, Volume) and one.best is not None]
    assert drawn == sum(known)
    silent = len(figures_) - len(known)
    assert chart.note.startswith(f"{silent} amount")


def test_recovery_is_drawn_run_by_run_with_its_interval(september: Bench) -> None:
    """One point a run; a run without a ratio is a gap that says why, never zero."""
    chart = next(one for one in charts(month(september)) if one.title.endswith("Big Blue") and one.kind == "points")
    runs = [run for run in september.night.runs.values() if run.rig == "Big Blue" and not run.cancelled]
    assert len(chart.labels) == len(runs)
    cells = dict(zip((run.ref for run in runs), chart.series[0].values, strict=True))
    assert cells["2026-09-01-big-blue"].number == "86.6"
    assert cells["2026-09-01-big-blue"].plus_minus is not None
    gap = cells["2026-09-24-big-blue"]
    assert gap.number is None and gap.text.startswith("no ratio: ")


def test_the_depth_applied_stands_beside_each_ratio(september: Bench) -> None:
    """437 gal on 2,400 sq ft are 0.29 in; without an area there is no depth."""
    found = rows(table(month(september), "Run by run"))
    assert found["Sep 1, Big Blue"]["Applied"] == "0.29"
    assert found["Sep 15, Big Blue"]["Applied"] == "at least 0.20"
    assert found["Sep 23, Little Heron"]["Applied"] == "not known"


def test_not_explained_is_drawn_for_each_rig(september: Bench) -> None:
    """Bars with their ±, and a note on the runs that could not be counted."""
    chart = next(one for one in charts(month(september)) if one.kind == "bars")
    assert chart.labels == ("Big Blue", "Little Heron")
    assert all(cell.plus_minus for cell in chart.series[0].values)
    assert re.search(r"Big Blue: \d left out\.", chart.note)


def test_open_items_are_a_line_a_rule_the_most_urgent_first(september: Bench) -> None:
    """Every finding of the span is counted, named by its rule and by what it is about; one of the book is of none."""
    everything = findings_of(september)
    found = [one for one in everything if one.day]
    page = month(september, findings=everything)
    blocks = [one for one in page.blocks if isinstance(one, OpenItems)]
    assert blocks[0].title == "Act now"
    assert page.status == f"{len(found)} open items"
    listed = [int(n) for one in blocks for item in one.items for n in re.findall(r"\), (\d+): ", item)]
    assert sum(listed) == len(found)
    for one in found:
        assert any(one.rule in item and one.about in item for block in blocks for item in block.items)


@pytest.mark.parametrize(
    ("language", "said"),
    [
        ("en", "no open items of this month; {n} of the year before"),
        ("es", "sin pendientes de este mes; {n} del año anterior"),
    ],
)
def test_a_month_without_open_items_names_how_many_of_the_year_before_are(
    september: Bench, language: str, said: str
) -> None:
    """The chart counts those, so that head and section do not say that nothing is open."""
    everything = findings_of(september)
    page = month(september, "2026-11-01", "2026-11-30", findings=everything, issued="2026-12-01", language=language)
    older = sum(bool(one.day) and one.accepted is None for one in everything)
    assert page.status == said.format(n=older)
    assert [one.none for one in page.blocks if isinstance(one, OpenItems)] == [page.status]


def test_nights_from_before_the_book_are_said_not_to_be_judged() -> None:
    """Instead of 'no open items', which nobody has looked for."""
    night = {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-06-01", "where": "not known",
             "line": [{"line": "stop", "site": "my yard"}]}  # fmt: skip
    page = month(sample().put(night), "2026-06-01", "2026-06-30")
    assert page.status.replace("\u00a0", " ").startswith("1 run from before ")
    assert Paragraph(page.status) in page.blocks
    assert not any(isinstance(one, OpenItems) for one in page.blocks)


def test_an_accepted_finding_still_shows(september: Bench) -> None:
    """Acceptance names who and until when; it takes nothing off the list."""
    bench = sample("case-08-hauler-ticket")
    (found,) = [one for one in findings_of(bench) if one.rule == "ticket-2"]
    bench.put({"kind": "accept", "id": "a", "rule": "ticket-2", "about": found.about, "until": "2027-01-31",
               "why": "the hauler's scale is coarse", "who": "Ruth Okafor"})  # fmt: skip
    page = month(bench, findings=findings_of(bench))
    assert any("(accepted by Ruth Okafor until Jan 31, 2027)" in text for text in texts(page))


def test_a_span_without_runs_is_a_page() -> None:
    """An empty span says so, in both languages, and no chart is drawn from nothing."""
    bench = sample()
    for language in ("en", "es"):
        page = month(bench, language=language)
        assert charts(page) == []
        assert len(pdf_texts(pdf.render(page))) >= 1
    assert any(isinstance(one, Paragraph) and one.text == "No run is on record." for one in month(bench).blocks)


def read_wrong(bench: Bench) -> Bench:
    """The tank of case 1 is said to have shown something else."""
    return bench.put({"kind": "correct", "id": "c", "run": "2026-09-01-big-blue", "line": "3", "field": "shows",
                      "value": "27.0 in", "reason": "read wrong", "why": "at an angle",
                      "who": "Dana Whitlock"})  # fmt: skip


def test_a_summary_restates_an_earlier_one_only_when_its_figures_changed() -> None:
    """March keeps its figures as printed; April says that it restates March, with the sums that differ and why."""
    bench = sample("case-01-one-stop", "case-02-route-night")
    keep_month(bench, "2026-09-01", "2026-09-02")
    assert not any("Restates" in text for text in texts(month(bench, first="2026-09-03")))
    read_wrong(bench)
    page = month(bench, first="2026-09-03")
    said = [text for text in texts(page) if "Restates" in text]
    assert said == [
        "Restates Sep 1, 2026 to Sep 2, 2026 (summary-1): a record that came or was corrected later changed its "
        "figures."
    ]
    tables = [one for one in page.blocks if isinstance(one, Table)]
    assert [[cell.text for cell in row] for row in tables[0].rows] == [
        ["Captured in the tank", "378.6 ± 6.0 gal, measured", "385.7 ± 6.1 gal, measured"],
    ]
    assert [cell.text for cell in tables[1].rows[0]][2:] == [
        "It shows", "26.5 in", "27.0 in", "read wrong; at an angle; Dana Whitlock",
    ]  # fmt: skip
    keep_month(bench, "2026-09-01", "2026-09-02")
    assert not any("Restates" in text for text in texts(month(bench, first="2026-09-03")))


def test_a_restated_month_names_its_version_where_there_is_one() -> None:
    """The version that says what is so now, by its number."""
    bench = sample("case-01-one-stop")
    close_month(bench, "2026-09", "summary-1")
    keep_month(bench, *SEPTEMBER)
    read_wrong(bench)
    keep_month(bench, *SEPTEMBER)
    said = [text for text in texts(month(bench, "2026-10-01", "2026-10-31")) if "Restates" in text]
    assert said[0].endswith("changed its figures. Version 2 of it is summary-2.")


def test_where_no_sum_changed_the_restating_says_so() -> None:
    """Water that moved from one client to another leaves the sums of the month alone."""
    bench = sample("case-02-route-night")
    keep_month(bench, *SEPTEMBER)
    bench.put({"kind": "correct", "id": "c", "run": "2026-09-03-big-blue", "line": "3", "field": "client",
               "value": "Tern Street Laundry", "reason": "keyed wrong", "why": "a line too high",
               "who": "Priya Lund"})  # fmt: skip
    page = month(bench, "2026-10-01", "2026-10-31")
    assert any(text.startswith("None of its sums is another one now") for text in texts(page))


def test_a_closed_month_says_who_closed_it_and_every_time_it_was_opened_again() -> None:
    """Nothing of it is hidden on the next summary."""
    bench = sample("case-01-one-stop")
    assert "Month" not in {one.label for one in month(bench).facts}
    close_month(bench, "2026-09", "summary-1")
    reopen_month(bench, "2026-09", "a card was found")
    close_month(bench, "2026-09", "summary-2", day="2026-10-04")
    (said,) = [one.value for one in month(bench).facts if one.label == "Month"]
    assert said.split("\n") == [
        "closed Oct 1, 2026 by Ruth Okafor", "opened again Oct 3, 2026 by Ruth Okafor: a card was found",
        "closed Oct 4, 2026 by Ruth Okafor",
    ]  # fmt: skip
    assert "Month" not in {one.label for one in month(bench, "2026-10-01", "2026-10-31").facts}


def test_not_recorded_yet_becomes_not_recorded_by_the_closing_and_not_by_a_summary() -> None:
    """While the month is open it may still be filled in; a number on the page changes nothing of that."""
    bench = sample("case-22-three-numbers")
    bench.put({"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-26", "where": "aboard",
               "line": [{"line": "stop", "site": "Harbor deck"}]})  # fmt: skip
    keep_month(bench, *SEPTEMBER)
    open_ = rows(table(month(bench), "Water of the span"))["Used (fresh water drawn)"]["no figure"]
    close_month(bench, "2026-09")
    closed = rows(table(month(bench), "Water of the span"))["Used (fresh water drawn)"]["no figure"]
    assert (open_, closed) == ("1 not recorded yet", "1 not recorded")


def test_a_summary_that_replaces_another_says_what_differs_and_what_came() -> None:
    """Sums, printed and now; then each late night, cancelled night and correction, for the owner."""
    bench = sample("case-01-one-stop", "case-03-three-nights")
    number = keep_month(bench, *SEPTEMBER)
    read_wrong(bench).case("case-12-overflow")
    bench.put({"kind": "cancel", "id": "x", "run": "2026-09-08-little-heron", "why": "twice", "who": "Priya Lund"})
    page = month(bench, replaces=number, replaced=past(bench, number))
    differs, since = [one for one in page.blocks if isinstance(one, Table)][:2]
    assert {"Runs", "Used (fresh water drawn)", "Aboard at the start"} <= {row[0].text for row in differs.rows}
    assert [(row[0].text, row[2].text) for row in since.rows] == [
        ("run of Sep 1, 2026, Big Blue", "It shows"), ("run of Sep 8, 2026, Little Heron", "cancelled"),
        ("run of Sep 21, 2026, Big Blue", "handed in"),
    ]  # fmt: skip
    assert "What differs from summary-1 of Oct 1, 2026" in texts(page)


def test_a_summary_issued_again_without_other_figures_says_that_too() -> None:
    """A remark that was added changes no figure."""
    bench = sample("case-01-one-stop")
    number = keep_month(bench, *SEPTEMBER)
    page = month(bench, replaces=number, replaced=past(bench, number))
    assert any(text.startswith("No figure is another one now") for text in texts(page))


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_rendering_says_the_same(september: Bench, language: str) -> None:
    """PDF, HTML and workbook hold each text of the page; numbers in the workbook are numbers."""
    page = month(september, language=language, findings=findings_of(september))
    assert from_json(to_json(page)) == page
    paper = re.sub(r"\s", "", "".join(pdf_texts(pdf.render(page))))
    markup = html.render(page)
    for label in ("Dry Fork Hauling", "Copperleaf Row Owners", "house degreaser"):
        assert re.sub(r"\s", "", label) in paper and label in markup
    data = workbook.render(page.title, page_sheets(page), language=page.language, issuer=page.issuer)
    book = openpyxl.load_workbook(BytesIO(data))
    values = [cell.value for sheet in book for row in sheet.iter_rows() for cell in row if cell.value is not None]
    kinds_ = {type(value) for value in values}
    assert kinds_ <= {str, int, float}
    assert any(isinstance(value, float | int) and abs(value - 308) < 0.001 for value in values)
    assert not any(cell.data_type == "f" for sheet in book for row in sheet.iter_rows() for cell in row)
    with zipfile.ZipFile(BytesIO(data)) as parts:
        assert any("chart" in name for name in parts.namelist())


def test_the_same_records_give_the_same_bytes(september: Bench) -> None:
    """Made again, page, PDF and workbook are the same to the byte."""
    one, two = month(september), month(september)
    assert to_json(one) == to_json(two)
    assert pdf.render(one) == pdf.render(two)
    made = [workbook.render(page.title, page_sheets(page)) for page in (one, two)]
    assert made[0] == made[1]


def test_hundredths_are_kept_as_they_are() -> None:
    """A share is a whole number of hundredths on its way through a frame."""
    assert from_hundredths(pivot([("w", "a", 12345)], ["w"])["a"][0]) == Decimal("123.45")


def _all(row: Mapping[str, str]) -> Decimal:
    """What a row of sums holds, however it is known; a dash is nothing."""
    texts_ = [row[head] for head in ("measured", "worked out", "no ±") if row.get(head, "–") != "–"]
    return sum((Decimal(one.partition(" ±")[0].replace(",", "").replace("−", "-")) for one in texts_), Decimal(0))


def test_the_lines_of_a_span_add_up_to_what_is_not_explained() -> None:
    """All sides are there: rain and agent came in, other rigs' tanks took and gave; a reader adds and gets the rest."""
    registers = {
        "business": {"name": "B", "unit": "gal", "zone": "America/Denver"},
        "rig": [{"name": "Big Blue"}, {"name": "Little Heron"}],
        "tank": [{"name": "blue", "rig": "Big Blue", "role": "recovery", "capacity": "900 gal"},
                 {"name": "heron", "rig": "Little Heron", "role": "recovery", "capacity": "900 gal"}],
        "agent": [{"name": "soap"}],
    }  # fmt: skip
    first = [{"line": "reading", "of": "blue", "shows": "empty"},
             {"line": "stop", "site": "a", "client": "A", "used": "100 gal"},
             {"line": "foreign water", "tank": "blue", "what": "rain", "amount": "30 gal"},
             {"line": "agent in tank", "tank": "blue", "agent": "soap", "amount": "2 gal"},
             {"line": "reading", "of": "blue", "shows": "120 gal"},
             {"line": "move", "tank": "blue", "to": "heron", "amount": "50 gal"},
             {"line": "reading", "of": "blue", "shows": "70 gal"}]  # fmt: skip
    night = {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-05", "where": "aboard",
             "used": "104 gal", "line": first}  # fmt: skip
    page = month(Bench([]).put(registers).put(night))
    water = rows(table(page, "Water of the span"))
    assert water["Came in from elsewhere: rain, ground, others' water"]["no ±"] == "30"
    assert water["Cleaning agent put into the tank"]["no ±"] == "2"
    came = ("Aboard at the start", "Used (fresh water drawn)", "Came in from elsewhere: rain, ground, others' water",
            "Cleaning agent put into the tank", "Moved in from another rig's tank")  # fmt: skip
    gone = ("Moved out into another rig's tank", "Aboard at the end")
    left = sum(_all(water[one]) for one in came if one in water) - sum(_all(water[one]) for one in gone)
    assert left == _all(water["Not explained, run by run"]) == 16
    (at_no_stop,) = [row for row in table(page, "By client").rows if row[0].text == "At no stop"]
    assert [cell.text for cell in at_no_stop][1:3] == ["–", "Used"] and "4" in [cell.text for cell in at_no_stop]


def test_what_a_level_changed_by_between_two_runs_has_a_line_of_its_own() -> None:
    """100 gal were left aboard and 91 are found in the morning: nine are in no run, and a span adds up only with them.

    Of a rig whose level is found as it was left, or was looked at by nobody, nothing is said.
    """
    registers = {
        "business": {"name": "B", "unit": "gal", "zone": "America/Denver"},
        "rig": [{"name": "Big Blue"}],
        "tank": [{"name": "blue", "rig": "Big Blue", "role": "recovery", "capacity": "900 gal"}],
    }  # fmt: skip

    def night(day: str, before: str, used: str, after: str) -> dict[str, Any]:
        looks = [{"line": "reading", "of": "blue", "shows": shows} for shows in (before, after)]
        stop = {"line": "stop", "site": "a", "client": "A", "used": used}
        return {"id": day, "rig": "Big Blue", "lead": "Marisol Vega", "date": day, "where": "aboard", "used": used,
                "line": [looks[0], stop, looks[1]]}  # fmt: skip

    bench = Bench([]).put(registers).put(night("2026-09-05", "empty", "120 gal", "100 gal"))
    assert "Level changed between two runs" not in rows(table(month(bench), "Water of the span"))
    bench.put(night("2026-09-06", "91 gal", "60 gal", "140 gal")).put(
        night("2026-09-07", "140 gal", "10 gal", "149 gal")
    )
    water = rows(table(month(bench), "Water of the span"))
    assert _all(water["Level changed between two runs"]) == -9
    came = ("Aboard at the start", "Used (fresh water drawn)", "Level changed between two runs")
    left = sum(_all(water[one]) for one in came) - _all(water["Aboard at the end"])
    assert left == _all(water["Not explained, run by run"]) == 20 + 11 + 1
    later = rows(table(month(bench, first="2026-09-06", last="2026-09-06"), "Water of the span"))
    assert _all(later["Level changed between two runs"]) == -9  # found when the first run of the span began
    assert _all(later["Aboard at the start"]) == 100


_GONE = ("handed over", "led_away", "escaped", "escaped out of tank", "solids", "not known where", "let_go",
         "moved_out", "aboard_after")  # fmt: skip
_INSIDE = ("captured", "used_again", "at_site")
_REST = "not explained by run"


def test_every_span_of_the_sample_jobs_adds_up(everything: Bench) -> None:
    """Whatever came, less whatever went and what is aboard, is what the runs leave over: exact where all is known."""
    source = Source(everything.state, everything.night, Words("en"))
    days = sorted({run.date for run in everything.night.runs.values()})
    spans = [(first, last) for n, first in enumerate(days) for last in days[n : n + 6]]
    looked_at = 0
    for first, last in spans:
        sums = {key: found for key, found in waters(source, span_of(source, first, last)).items() if key not in _INSIDE}
        best = {key: [None if isinstance(one, Unknown) else one.best for one in found] for key, found in sums.items()}
        if any(None in found for found in best.values()):
            continue
        looked_at += 1
        came = sum(sum(found) for key, found in best.items() if key not in (*_GONE, _REST))
        gone = sum(sum(found) for key, found in best.items() if key in _GONE)
        assert came - gone == sum(best.get(_REST, ())), (first, last)
    assert looked_at > 20


def test_rain_that_nobody_measured_is_counted_once_a_run() -> None:
    """It is no nought: the row says how many runs have no figure of it."""
    page = month(sample("case-93-rain"))
    foreign = rows(table(page, "Water of the span"))["Came in from elsewhere: rain, ground, others' water"]
    assert (foreign["measured"], foreign["no figure"]) == ("21.0 ± 2.5", "2 not read")


@pytest.mark.parametrize("heading", ["By client", "By site"])
def test_what_was_used_at_no_stop_has_a_row_of_its_own(september: Bench, heading: str) -> None:
    """The rows add up to the figure of the span: what the meter counted between the stops is somebody's question."""
    page = month(september, first="2026-09-01", last="2026-09-10")
    used = [row for row in table(page, heading).rows if row[2].text == "Used"]
    assert used[-1][0].text == "At no stop"
    whole = next(row for row in table(page, "Water of the span").rows if row[0].text.startswith("Used"))
    assert sum(Decimal(row[3].number or 0) for row in used) == Decimal(whole[1].number or 0)


def test_ratio_and_depth_are_numbers_in_the_workbook(september: Bench) -> None:
    """Percent and inches to count with; a bound, a stated ratio and a reason are words."""
    page = month(september)
    data = workbook.render(page.title, page_sheets(page), language=page.language, issuer=page.issuer)
    sheet = openpyxl.load_workbook(BytesIO(data))["Run by run"]
    heads = [cell.value for cell in sheet[1]]
    found = {row[0].value: dict(zip(heads, (cell.value for cell in row), strict=True)) for row in sheet.iter_rows(2)}
    one = found["Sep 1, Big Blue"]
    assert [one[head] for head in ("Captured / applied (%)", "from (%)", "to (%)", "Applied (in)")] == [
        86.6, 84.6, 88.7, 0.29
    ]  # fmt: skip
    assert one["Used"] == 437.0 and one["Used ±"] == 7.6
    assert found["Sep 15, Big Blue"]["Captured / applied (%)"] == "at most 92.9\u00a0% (stated, no ±)"
    reaches = found["Sep 10, Little Heron"]  # an interval that reaches all of it is two ends like any other
    assert (reaches["Captured / applied (%)"], reaches["to (%)"]) == (92.5, 100.7)
    assert str(found["Sep 23, Little Heron"]["Captured / applied (%)"]).endswith("(stated, no ±)")
    assert found["Sep 15, Big Blue"]["Applied (in)"] == "at least 0.20"
