"""A client's summary holds what is the client's and nothing of anybody else's."""

from __future__ import annotations

import re
import zipfile
from decimal import Decimal
from io import BytesIO
from typing import Any

import openpyxl
import pytest

from compliance.reports import html, pdf, workbook
from compliance.reports.client import client_page
from compliance.reports.model import Chart, Page, Table
from compliance.reports.page_json import from_json, to_json
from compliance.reports.sheets import page_sheets
from tests.reports.making import (
    HEAD,
    Bench,
    close_month,
    figures_of,
    findings_of,
    imprint,
    keep,
    past,
    pdf_texts,
    sample,
    texts,
)
from tests.reports.proofs import TWO_CLIENTS, others_names, shared_night
from tests.reports.test_month import rows, table

CLIENTS = (
    "Alder Oven Bakery", "Hillrow Hospital", "Port Alder Harbor Trust", "Copperleaf Row Owners",
    "Quillon Fish Counter", "Tern Street Laundry", "Old Depot Market", "Lantern Street Diner",
)  # fmt: skip


def summary(bench: Bench, client: str, **options: Any) -> Page:
    """The summary of one client for September."""
    around = imprint(options, number="c-1", issued="2026-10-02", head=HEAD)
    span = {"first": "2026-09-01", "last": "2026-09-30"}
    return client_page(bench.state, bench.night, findings_of(bench), client, imprint=around, **{**span, **options})


def unpacked(data: bytes) -> str:
    """Everything that is written in an xlsx file, member by member."""
    with zipfile.ZipFile(BytesIO(data)) as parts:
        return "\n".join(parts.read(name).decode("utf-8", "replace") for name in parts.namelist())


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("client", CLIENTS)
def test_nothing_of_another_client_is_in_any_file(everything: Bench, client: str, language: str) -> None:
    """Names, sites, contacts, addresses and stop refs of others are absent from JSON, PDF, HTML and workbook."""
    page = summary(everything, client, language=language)
    book = workbook.render(page.title, page_sheets(page), language=page.language, issuer=page.issuer)
    paper = " ".join(" ".join(pdf_texts(pdf.render(page))).split())
    said = "\n".join([to_json(page), html.render(page), unpacked(book), paper])
    assert client in said
    leaked = {name for name in others_names(everything, client) if name in said}
    assert leaked == set()


def test_a_place_at_another_clients_site_is_not_named() -> None:
    """Where the water went is said by its kind; the picture and the tables agree on that."""
    said = " ".join(texts(summary(shared_night(), "Mine")))
    assert "their" not in said and "Theirs" not in said
    assert "sewer cleanout, at another client's site; its name is in our book" in said


def test_every_own_stop_of_the_span_is_there(september: Bench) -> None:
    """One row a visit, worked or not, and none from outside of the span."""
    page = summary(september, "Old Depot Market")
    visits = table(page, "Visit by visit")
    mine = [
        stop for run in september.night.runs.values() for stop in run.stops
        if stop.client == "Old Depot Market" and not run.cancelled
    ]  # fmt: skip
    assert len(visits.rows) == len(mine)
    assert any("not worked, because: gate locked" in row[5].text for row in visits.rows)
    early = summary(september, "Old Depot Market", last="2026-09-05")
    assert len(table(early, "Visit by visit").rows) == 1


def test_two_spellings_of_one_client_are_one() -> None:
    """A client spelled two ways and joined by 'same as' has one summary, under either name."""
    bench = Bench([]).put(TWO_CLIENTS)
    for n, name in enumerate(("Mine", "mine & co")):
        bench.put({"id": f"n{n}", "rig": "Big Blue", "lead": "Marisol Vega", "date": f"2026-09-0{n + 1}",
                   "where": "aboard", "recovered": "10 gal", "used": "12 gal",
                   "line": [{"line": "stop", "site": f"yard {n}", "client": name}]})  # fmt: skip
    bench.put({"kind": "same as", "what": "client", "name": "mine & co", "is": "Mine"})
    assert len(table(summary(bench, "Mine"), "Visit by visit").rows) == 2
    assert len(table(summary(bench, "mine & co"), "Visit by visit").rows) == 2


def test_own_totals_are_those_of_the_own_stops(september: Bench) -> None:
    """Worked-out shares add up to the hundredth, by destination as in the visits."""
    page = summary(september, "Copperleaf Row Owners")
    shares = [
        piece.amount
        for run in september.night.runs.values()
        for stop in run.stops
        if stop.client == "Copperleaf Row Owners"
        for piece in stop.pieces or ()
        if piece.way == "handed over"
    ]
    water = rows(table(page, "Water of the span"))
    assert Decimal(water["Handed over"]["worked out"].replace(",", "")) == Decimal(sum(shares)) / 100
    places = rows(table(page, "By destination"))
    assert (
        places["Port Alder receiving station (receiving station)"]["worked out"] == water["Handed over"]["worked out"]
    )
    assert water["Handed over"]["no figure"] == "1 not known"
    assert water["Got away, not captured"]["no figure"] == "1 not read"


def test_what_the_tank_leaves_over_is_always_a_line(everything: Bench) -> None:
    """At zero too, and counted where nobody can know it; not where no recovery was planned."""
    water = rows(table(summary(everything, "Old Depot Market"), "Water of the span"))
    assert "Not explained, in the tank" in water
    harbor = rows(table(summary(everything, "Port Alder Harbor Trust"), "Water of the span"))
    assert harbor["Not explained, in the tank"]["no figure"] == "1 not known"


def test_mixed_loads_are_told_by_number_alone(september: Bench) -> None:
    """The note says of how many jobs a load was, and on what the part was worked out."""
    note = table(summary(september, "Tern Street Laundry"), "Water of the span").note
    assert "held water of 8 jobs; this job's part is worked out by metered use" in note


def test_charts_are_of_the_own_water(september: Bench) -> None:
    """Stacked by week where it went, and used beside captured, visit by visit."""
    stacked, bars = (one for one in summary(september, "Port Alder Harbor Trust").blocks if isinstance(one, Chart))
    assert (stacked.kind, bars.kind) == ("stacked", "bars")
    assert [one.name for one in bars.series] == ["Used", "Captured"]
    assert any(cell.number is None and cell.text == "not read" for cell in bars.series[1].values)


def test_there_is_no_ratio_for_a_client(everything: Bench) -> None:
    """The only percentage on a client's summary is that of the coverage."""
    for client in CLIENTS:
        said = " ".join(text for text in texts(summary(everything, client)) if "assumption: " not in text)
        assert set(re.findall(r"[0-9.]+\u00a0?\s?%", said)) <= {"95\u00a0%"}
        assert "ratio" not in said


def test_only_own_items_are_open(september: Bench) -> None:
    """What is awaited at other clients' stops is not in the list."""
    page = summary(september, "Alder Oven Bakery")
    assert page.status.endswith("items awaited")
    other = summary(september, "Tern Street Laundry")
    assert other.status == "complete: nothing is awaited"


def test_a_client_without_a_stop_gets_a_page_that_says_so() -> None:
    """An empty span is a page, without tables or charts."""
    page = summary(sample(), "Hillrow Hospital")
    assert "No stop is on record for this span." in texts(page)
    assert not [one for one in page.blocks if isinstance(one, Table | Chart)]
    assert pdf_texts(pdf.render(page))


def test_the_same_records_give_the_same_bytes(september: Bench) -> None:
    """Made again, every file is the same to the byte."""
    one, two = (summary(september, "Hillrow Hospital") for _ in range(2))
    assert from_json(to_json(one)) == one
    assert pdf.render(one) == pdf.render(two)
    made = [workbook.render(page.title, page_sheets(page)) for page in (one, two)]
    assert made[0] == made[1]


def test_a_summary_that_replaces_another_says_what_differs_and_never_because_of_whom() -> None:
    """A correction at another client's stop of the load moves this client's share: printed, and now, and no name."""
    bench, client = sample("case-01-one-stop", "case-02-route-night"), "Alder Oven Bakery"
    figures = figures_of(bench).of_client(client, "2026-09-01", "2026-09-30")
    number = keep(bench, "client", f"{client} 2026-09-01..2026-09-30", client, figures)
    bench.put({"kind": "correct", "id": "c", "run": "2026-09-03-big-blue", "line": "3", "field": "used",
               "value": {"method": "meter", "meter": "Big Blue supply meter", "start": "999381", "end": "999412"},
               "reason": "keyed wrong", "why": "a digit", "who": "Priya Lund"})  # fmt: skip
    page = summary(bench, client, replaces=number, replaced=past(bench, number))
    differs = next(one for one in page.blocks if isinstance(one, Table))
    assert [cell.text for cell in differs.rows[0]] == [
        "Captured in the tank", "378.6 ± 6.0 gal, measured; 64.10 gal, worked out",
        "378.6 ± 6.0 gal, measured; 65.40 gal, worked out",
    ]  # fmt: skip
    assert not any("Quillon" in text for text in texts(page))
    assert any("version 2 of its division" in text for text in texts(page))
    assert not any("version 2" in text for text in texts(summary(bench, client)))


def test_a_summary_over_two_months_says_not_recorded_once_both_are_closed() -> None:
    """While one of them is open, something may still be filled in; a month without visits does not count."""
    bench = Bench([]).put(TWO_CLIENTS)
    for day in ("2026-09-05", "2026-10-05"):
        bench.put({"id": day, "rig": "Big Blue", "lead": "Marisol Vega", "date": day, "where": "aboard",
                   "line": [{"line": "stop", "site": "my yard", "client": "Mine"}]})  # fmt: skip

    def said() -> bool:
        return any("not recorded yet" in text for text in texts(summary(bench, "Mine", last="2026-11-30")))

    assert said()
    close_month(bench, "2026-09")
    assert said()
    close_month(bench, "2026-10")
    assert not said()


def test_measured_figures_of_a_visit_are_numbers_in_the_workbook(september: Bench) -> None:
    """With their ± in a column of its own; what is stated or worked out says so in words."""
    page = summary(september, "Alder Oven Bakery")
    data = workbook.render(page.title, page_sheets(page), language=page.language, issuer=page.issuer)
    sheet = openpyxl.load_workbook(BytesIO(data))["Visit by visit"]
    heads = [cell.value for cell in sheet[1]]
    first, second = (dict(zip(heads, (cell.value for cell in row), strict=True)) for row in sheet.iter_rows(2, 3))
    assert (first["Used"], first["Used ±"], first["Captured"], first["Captured ±"]) == (437.0, 7.6, 378.57, 6.0)
    assert second["Captured"] == "64.10 gal, worked out, not measured"
