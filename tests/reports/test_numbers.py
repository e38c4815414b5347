"""Figures are printed as well as they are known, and never better."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.reports.model import Cell
from compliance.reports.numbers import (
    bare_cell,
    column_cell,
    depth_text,
    figure_cell,
    figure_text,
    known_cell,
    known_text,
    quantity_text,
    ratio_cell,
    ratio_text,
    share_cell,
    share_text,
    signed,
)
from compliance.reports.words import Words
from compliance.water.ratio import NoRatio, Ratio
from compliance.water.results import How, Known
from compliance.water.stopfacts import SHARE
from compliance.water.use import DIVIDED
from compliance.water.volume import (
    Figure,
    Unknown,
    Volume,
    at_least,
    at_most,
    between,
    exact,
    stated,
    total,
    with_limits,
)

EN, ES = Words("en"), Words("es")


def measured(value: str, limit: str, key: str = "cal:meter") -> Volume:
    """A measured figure with a limit of error."""
    return with_limits(Decimal(value), {key: Decimal(limit)})


def share(value: str, source: str = SHARE) -> Volume:
    """A worked-out share."""
    return Volume(Decimal(value), Decimal(value), unstated=frozenset({source}))


@pytest.mark.parametrize(
    ("figure", "english", "spanish"),
    [
        (measured("481", "7"), "481.0 ± 8.1 gal", "481.0 ± 8.1 gal"),
        (measured("12345.6", "300"), "12,350 ± 350 gal", "12,350 ± 350 gal"),
        (measured("-4.2", "7"), "−4.2 ± 8.1 gal", "−4.2 ± 8.1 gal"),
        (exact(Decimal(0)), "0 gal", "0 gal"),
        (stated(Decimal(450), "declared:r/3"), "450 gal (stated, no ±)", "450 gal (dicho, sin ±)"),
        (stated(Decimal("412.50"), "declared:r/3"), "412.5 gal (stated, no ±)", "412.5 gal (dicho, sin ±)"),
        (stated(Decimal("448.8312"), "declared:r/3"), "449 gal (stated, no ±)", "449 gal (dicho, sin ±)"),
        (stated(Decimal(481), "meter 3"), "481 gal (no ± on file)", "481 gal (sin ± en el archivo)"),
        (share("112.40"), "112.40 gal, worked out, not measured", "112.40 gal, calculado, no medido"),
        (share("0.07", DIVIDED), "0.07 gal, worked out, not measured", "0.07 gal, calculado, no medido"),
        (at_least(Decimal(500), "declared:r/1"), "at least 500 gal", "al menos 500 gal"),
        (at_most(Decimal(1500)), "at most 1,500 gal", "como máximo 1,500 gal"),
        (between(Decimal(400), Decimal(500)), "between 400 and 500 gal", "entre 400 y 500 gal"),
        (Unknown("x", "not read"), "not read", "no se leyó"),
        (Unknown("x", "not applicable"), "not applicable", "no aplica"),
        (Unknown("x", "not recorded yet"), "not recorded yet", "todavía sin anotar"),
        (Unknown("x", "not known"), "not known", "no se sabe"),
    ],
)
def test_a_figure_says_how_it_is_known(figure: Figure, english: str, spanish: str) -> None:
    """Each way of knowing has its own wording, with the same digits in both languages."""
    assert figure_text(figure, "gal", EN) == english
    assert figure_text(figure, "gal", ES) == spanish


def test_what_a_person_said_with_about_keeps_its_sign() -> None:
    """'~450 gal' is printed as it was said, a plain declared figure without the sign."""
    about = Known(stated(Decimal(450), "declared:r/"), How("declared", "~450 gal"))
    plain = Known(stated(Decimal(450), "declared:r/"), How("declared", "450 gal"))
    assert known_text(about, "gal", EN) == "~450 gal (stated, no ±)"
    assert known_text(plain, "gal", EN) == "450 gal (stated, no ±)"
    assert known_cell(about, "gal", EN).number is None


def test_a_sum_of_different_kinds_says_so() -> None:
    """What is partly worked out or partly stated carries no ±, and says why."""
    assert figure_text(total([measured("100", "2"), share("11.11")]), "gal", EN) == "111 gal (partly worked out, no ±)"
    mixed = total([measured("100", "2"), stated(Decimal(20), "declared:r/")])
    assert figure_text(mixed, "gal", EN) == "120 gal (partly stated, no ±)"
    worked_out = total([share("11.11"), share("22.22")])
    assert figure_text(worked_out, "gal", EN) == "33.33 gal, worked out, not measured"


def test_a_cell_counts_only_when_its_text_says_no_more() -> None:
    """A spreadsheet keeps number, unit and ±, so a cell whose text says 'stated' or 'at least' has no number."""
    cell = figure_cell(measured("481", "7"), "gal", EN)
    assert (cell.number, cell.unit, cell.plus_minus) == ("481.00", "gal", "8.1")
    assert figure_cell(exact(Decimal(0)), "gal", EN) == Cell("0 gal", "0.00", "gal")
    for figure in (
        stated(Decimal(450), "declared:r/"),
        share("112.40"),
        at_least(Decimal(500)),
        Unknown("x", "not read"),
    ):
        assert figure_cell(figure, "gal", EN).number is None


def test_an_answer_without_a_value_is_never_a_number() -> None:
    """None of the kinds of no value becomes zero, whatever cell is made of it."""
    for kind in ("not read", "not applicable", "not recorded yet", "not known"):
        figure = Unknown("x", kind)  # type: ignore[arg-type]
        assert bare_cell(figure, "gal", EN).number is None
        assert figure_cell(figure, "gal", EN).number is None


def test_a_column_whose_heading_has_the_unit_prints_digits_alone() -> None:
    """Under 'measured (gal)' the unit is not said again; the number stays exact."""
    assert column_cell(measured("1481.25", "7"), "gal", EN) == Cell("1,481.2 ± 8.1", "1481.25", "gal", "8.1")


def test_a_share_is_exact_to_the_hundredth() -> None:
    """A share prints all its hundredths and says what it is, unless its column does."""
    assert share_text(11240, "gal", EN) == "112.40 gal, worked out, not measured"
    assert share_cell(11240, "gal", EN) == Cell("112.40 gal, worked out, not measured")
    assert share_cell(11240, "gal", EN, said=False) == Cell("112.40 gal", "112.40", "gal")
    assert share_cell(-5, "gal", EN, said=False).text == "−0.05 gal"


@pytest.mark.parametrize(
    ("value", "english", "spanish"),
    [
        ("450 gal", "450 gal", "450 gal"),
        ("~450 gal", "~450 gal", "~450 gal"),
        (">=500 gal", "at least 500 gal", "al menos 500 gal"),
        ("<=500 gal", "at most 500 gal", "como máximo 500 gal"),
        ("400..500 gal", "between 400 and 500 gal", "entre 400 y 500 gal"),
        ("2400 ft2", "2,400 sq ft", "2,400 pies²"),
        ("400 um", "400 µm", "400 µm"),
        ("5 days", "5 days", "5 días"),
        ("7.40 pH", "7.40", "7.40"),
        ("12.50 gal", "12.50 gal", "12.50 gal"),
        ("not read", "not read", "no se leyó"),
        (None, "not recorded yet", "todavía sin anotar"),
        ("two buckets", "two buckets", "two buckets"),
    ],
)
def test_a_quantity_keeps_what_was_typed(value: str | None, english: str, spanish: str) -> None:
    """Digits and unit stay those that a person typed."""
    assert quantity_text(value, EN) == english
    assert quantity_text(value, ES) == spanish


@pytest.mark.parametrize(
    ("ratio", "english"),
    [
        (Ratio(Decimal("0.94"), Decimal("0.90"), Decimal("0.981"), "measured"), "94.0 % (90.0 to 98.1 %)"),
        (Ratio(Decimal("0.95"), None, None, "stated", "stated, no ±", True), "95.0 % (stated, no ±)"),
        (Ratio(Decimal("0.95"), None, None, "worked out", "worked out, no ±", True), "95.0 % (worked out, no ±)"),
        (Ratio(Decimal("0.97"), None, Decimal("0.98"), "at most"), "at most 98.0 %"),
        (Ratio(Decimal("0.70"), Decimal("0.69"), None, "at least"), "at least 69.0 %"),
        (Ratio(None, Decimal("0.6"), Decimal("0.8"), "between"), "between 60.0 and 80.0 %"),
        (Ratio(Decimal("0.97"), None, Decimal("0.9802"), "at most"), "at most 98.1 %"),
        (Ratio(Decimal("0.70"), Decimal("0.6999"), None, "at least"), "at least 69.9 %"),
        (Ratio(None, Decimal("0.6099"), Decimal("0.8001"), "between"), "between 60.9 and 80.1 %"),
        (NoRatio("recovery was not planned"), "no ratio: recovery was not planned"),
    ],
)
def test_a_ratio_says_how_it_is_known_or_why_there_is_none(ratio: Ratio | NoRatio, english: str) -> None:
    """Interval, 'stated', bounds and absence each have their wording."""
    assert ratio_text(ratio, EN).replace("\u00a0", " ") == english


def test_the_bar_of_a_ratio_is_never_narrower_than_its_interval() -> None:
    """A chart draws one half width; it is the longer side of an interval that is not symmetric."""
    ratio = Ratio(Decimal("0.94"), Decimal("0.90"), Decimal("0.99"), "measured")
    assert ratio_cell(ratio, EN).plus_minus == "5.0"
    assert ratio_cell(ratio, EN).number == "94.0"
    assert ratio_cell(NoRatio("recovery was not planned"), EN).number is None
    assert ratio_cell(Ratio(Decimal("0.97"), None, Decimal("0.98"), "at most"), EN).number is None


@pytest.mark.parametrize(
    ("inches", "english"),
    [
        (exact(Decimal("0.2921")), "0.29"),
        (at_least(Decimal("0.2")), "at least 0.20"),
        (at_most(Decimal("0.2")), "at most 0.20"),
        (between(Decimal("0.1"), Decimal("0.2")), "between 0.10 and 0.20"),
        (Volume(None, None), "not known"),
    ],
)
def test_a_depth_is_told_to_the_hundredth_of_an_inch(inches: Volume, english: str) -> None:
    """Figures and bounds."""
    assert depth_text(inches, EN) == english


def test_a_minus_is_a_minus() -> None:
    """Digits never begin with a hyphen, at which a line could break."""
    assert signed("-12") == "−12"
    assert signed("12") == "12"


@given(st.decimals("-99999", "99999", places=2), st.decimals("0", "500", places=2))
def test_both_languages_print_the_same_digits(value: Decimal, limit: Decimal) -> None:
    """Digits, decimal point and thousands comma do not depend on the language."""
    figure = with_limits(value, {"cal:x": limit})
    assert figure_text(figure, "gal", EN) == figure_text(figure, "gal", ES)


@given(st.integers(-(10**9), 10**9))
def test_a_share_can_be_read_back(amount: int) -> None:
    """The printed share is the amount itself, to the hundredth."""
    text = share_text(amount, "gal", EN).split(" ")[0].replace(",", "").replace("−", "-")
    assert int(Decimal(text) * 100) == amount
