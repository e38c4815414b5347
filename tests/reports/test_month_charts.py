"""The charts of a month: where the water went, recovery, not explained, agents, and open items growing old."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

import pytest

from compliance.records.views import Acceptance
from compliance.reports import charts, html, pdf, workbook
from compliance.reports.model import Chart, Page
from compliance.reports.month_charts import open_by_age
from compliance.reports.sheets import page_sheets
from compliance.reports.words import Words
from compliance.rules.rule import Finding
from tests.reports.making import Bench, findings_of, pdf_texts, sample
from tests.reports.test_month import month

EN = Words("en")


def found(page: Page, title: str) -> Chart:
    return next(one for one in page.blocks if isinstance(one, Chart) and one.title == title)


def counts(chart: Chart) -> dict[str, list[str]]:
    return {one.name: [cell.text for cell in one.values] for one in chart.series}


@pytest.fixture(scope="module")
def findings() -> Sequence[Finding]:
    """Those of the overflow and of the three-number night."""
    return findings_of(sample("case-12-overflow", "case-22-three-numbers"))


def test_agents_are_drawn_as_they_were_stated(september: Bench) -> None:
    """One bar a product, and the table's own figures in it."""
    chart = found(month(september), "Concentrate used, by cleaning agent")
    assert (chart.kind, chart.unit) == ("bars", "gal")
    assert dict(zip(chart.labels, (cell.number for cell in chart.series[0].values), strict=True)) == {
        "house degreaser": "0.12", "mild detergent": "0.06",
    }  # fmt: skip


def test_an_agent_of_unknown_amount_is_a_gap_and_never_nothing() -> None:
    """It stands on the axis with its answer, and the note counts it."""
    bench = sample()
    bench.put({"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-26", "where": "aboard",
               "line": [{"line": "stop", "site": "Harbor deck", "agents": [
                   {"agent": "mild detergent", "amount": "not read"}, {"agent": "house degreaser", "amount": "1 qt"},
               ]}]})  # fmt: skip
    chart = found(month(bench), "Concentrate used, by cleaning agent")
    cells = dict(zip(chart.labels, chart.series[0].values, strict=True))
    assert (cells["mild detergent"].number, cells["mild detergent"].text) == (None, "not read")
    assert cells["house degreaser"].number == "0.25"
    assert chart.note.endswith("1 amount is not known and is not in the bars.")


def test_a_month_without_agents_has_no_chart_of_them() -> None:
    """Nothing is drawn of nothing."""
    page = month(sample("case-05-no-meter"))
    assert not any(isinstance(one, Chart) and one.title == "Concentrate used, by cleaning agent" for one in page.blocks)


def test_open_items_are_counted_by_their_age_on_the_day_of_issue(findings: Sequence[Finding]) -> None:
    """A finding of Sep 21 is 9 days old on Sep 30 and 40 days old on Oct 31; each stands in one group."""
    (young,) = open_by_age(findings, "2026-09-01", "2026-09-30", "2026-09-30", EN)
    (older,) = open_by_age(findings, "2026-09-01", "2026-09-30", "2026-10-31", EN)
    (oldest,) = open_by_age(findings, "2026-09-01", "2026-09-30", "2027-03-01", EN)
    assert young.labels == ("up to 7 days", "up to 30 days", "up to 90 days", "more than 90 days")
    assert counts(young) == {"Act now": ["0", "2", "0", "0"], "Missing": ["1", "0", "0", "0"]}
    assert counts(older) == {"Act now": ["0", "0", "2", "0"], "Missing": ["0", "0", "1", "0"]}
    assert counts(oldest) == {"Act now": ["0", "0", "0", "2"], "Missing": ["0", "0", "0", "1"]}


def test_items_of_earlier_months_grow_old_on_later_pages(findings: Sequence[Finding]) -> None:
    """What is later than the span is not on it, what was accepted is closed, one of the book itself has no age."""
    assert open_by_age(findings, "2026-08-01", "2026-08-31", "2026-09-30", EN) == ()
    (chart,) = open_by_age(findings, "2026-10-01", "2026-10-31", "2026-11-02", EN)
    assert sum(Decimal(cell.number or 0) for one in chart.series for cell in one.values) == len(
        [one for one in findings if one.day]
    )
    done = Acceptance("r", "escape-1", "a run", "because", "2027-01-01", "Ruth Okafor")
    for none in ([replace(one, accepted=done) for one in findings], [replace(findings[0], day="")]):
        assert open_by_age(none, "2026-10-01", "2026-10-31", "2026-11-02", EN) == ()


def test_what_is_older_than_a_year_before_the_month_is_left_to_the_morning_list(findings: Sequence[Finding]) -> None:
    """The last day of the September before is out, the first of that October is in."""
    two = [replace(findings[0], day=day) for day in ("2025-09-30", "2025-10-01")]
    (chart,) = open_by_age(two, "2026-10-01", "2026-10-31", "2026-11-02", EN)
    assert list(counts(chart).values()) == [["0", "0", "0", "1"]]


def test_the_chart_of_open_items_is_on_the_page_in_every_form(findings: Sequence[Finding]) -> None:
    """Drawn in the PDF and in HTML, native in the workbook, in both languages."""
    bench = sample("case-12-overflow", "case-22-three-numbers")
    for language, title in (("en", "Open items, by age"), ("es", "Pendientes, por antigüedad")):
        page = month(bench, findings=findings, language=language)
        chart = found(page, title)
        assert charts.layout(chart, 500, page.language).shapes
        assert title in " ".join(pdf_texts(pdf.render(page)))
        assert title in html.render(page)
        data = workbook.render(page.title, page_sheets(page), language=page.language)
        assert data
    assert not any(isinstance(one, Chart) and one.title == "Open items, by age" for one in month(bench).blocks)
