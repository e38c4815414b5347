"""Stored values as a page shows them."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.reports.refs import Source
from compliance.reports.values import measure_text, value_text
from compliance.reports.words import Words
from tests.reports.making import Bench
from tests.reports.proofs import TWO_CLIENTS


@pytest.fixture(scope="module")
def bench() -> Bench:
    """Two clients' registers."""
    return Bench([]).put(TWO_CLIENTS)


def source(bench: Bench, language: Any = "en", client: str = "") -> Source:
    """What a page is made from."""
    return Source(bench.state, bench.night, Words(language), bench.state.registers.key("client", client))


@pytest.mark.parametrize(
    ("group", "name", "value", "english", "spanish"),
    [
        ("run", "rain", "some", "some", "llovió un poco"),
        ("run", "rain", "a drizzle", "a drizzle", "a drizzle"),
        ("run", "remark", "wet gloves", "wet gloves", "wet gloves"),
        ("run", "date", "2026-03-05", "Mar 5, 2026", "5 mar 2026"),
        ("stop", "area", "2400 ft2", "2,400 sq ft", "2,400 pies²"),
        ("reading", "shows", "empty", "empty", "vacío"),
        ("reading", "shows", "12.5 in", "12.5 in", "12.5 pulg"),
        ("run", "used", "~450 gal", "~450 gal", "~450 gal"),
        ("run", "used", "not read", "not read", "no se leyó"),
        ("run", "used", None, "not recorded yet", "todavía sin anotar"),
        ("hand over", "place", "their cleanout", "their cleanout (sewer cleanout)",
         "their cleanout (boca de limpieza del drenaje sanitario)"),
        ("reading", "of", "tank", "tank", "tank"),
        ("stop", "drain_list", [{"name": "inlet", "seen": "not watched"}],
         "Drain: inlet, Water seen entering: not watched", "Desagüe pluvial: inlet, Agua que entró: no se miró"),
        ("stop", "drain_list", [], "none listed", "ninguno anotado"),
        ("stop", "a field of a newer program", "x", "x", "x"),
    ],
)  # fmt: skip
def test_each_type_of_field_has_its_form(
    bench: Bench, group: str, name: str, value: Any, english: str, spanish: str
) -> None:
    """Choices are translated, dates said, quantities spelled out, and typed text stays as typed."""
    assert value_text(source(bench), group, name, value) == english
    assert value_text(source(bench, "es"), group, name, value) == spanish


@pytest.mark.parametrize(
    ("measure", "english"),
    [
        ({"method": "meter", "meter": "m 3", "start": "998870", "end": "not read"},
         "meter: m 3, start 998870, end not read"),
        ({"method": "mark", "tank": "t", "before": "empty", "after": "12.5 in"},
         "tank mark: t, before empty, after 12.5 in"),
        ({"method": "time", "flow": "f", "minutes": "22 min"}, "run time × flow test: f, run time 22 min"),
        ({"method": "fills", "tank": "t", "times": "3"}, "fills to the float: t, times 3"),
        ({"method": "ticket", "ticket": "R-1", "amount": "430 gal"}, "figure on a ticket: R-1, amount 430 gal"),
        ("~450 gal", "~450 gal"),
    ],
)  # fmt: skip
def test_a_measure_shows_its_readings(measure: Any, english: str) -> None:
    """The method and every reading, as it was typed."""
    assert measure_text(measure, Words("en")) == english


def test_references_to_others_are_kept_private(bench: Bench) -> None:
    """On a client's page the names of another client, its site and the leave for its place stay in the book."""
    mine = source(bench, client="Mine")
    kept = "another client's, kept in our book"
    assert value_text(mine, "stop", "client", "Theirs") == kept
    assert value_text(mine, "stop", "site", "their yard") == kept
    assert value_text(mine, "hand over", "permission", "Theirs, leave") == kept
    assert value_text(mine, "hand over", "place", "their cleanout").startswith(
        "sewer cleanout, at another client's site"
    )
    assert value_text(mine, "stop", "site", "my yard") == "my yard"
    assert value_text(source(bench), "stop", "client", "Theirs") == "Theirs"
