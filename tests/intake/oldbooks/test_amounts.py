"""Figures as people wrote them: one reading, two, or none; nothing is worked out."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.intake.oldbooks import amounts
from compliance.intake.oldbooks.amounts import COMMA, DECIMALS, POINT, Figure, Unread
from compliance.records.quantity import stored


@pytest.mark.parametrize(
    ("text", "as_stored"),
    [
        ("450", "450 gal"), ("0", "0 gal"), ("450.5", "450.5 gal"), (".5", "0.5 gal"), ("450,5", "450.5 gal"),
        ("~450", "~450 gal"), ("≈450", "~450 gal"), ("about 450", "~450 gal"), ("approx. 450", "~450 gal"),
        ("450 approx", "~450 gal"), ("450 gal approx.", "~450 gal"), ("450 +/-", "~450 gal"), ("450±", "~450 gal"),
        ("aprox. 450 galones", "~450 gal"), ("unos 450", "~450 gal"), ("más o menos 450", "~450 gal"),
        ("450 gal", "450 gal"), ("450gal", "450 gal"), ("450 gal.", "450 gal"), ("450 Gallons", "450 gal"),
        ("450 gls", "450 gal"), ("450 galones", "450 gal"), ("450 galón", "450 gal"), ("450 g", "450 gal"),
        ("1700 L", "1700 L"), ("1700 lts", "1700 L"), ("1700 litros", "1700 L"), ("1.5 m³", "1.5 m3"),
        ("at least 400", ">=400 gal"), (">=400", ">=400 gal"), ("≥ 400", ">=400 gal"), ("al menos 400", ">=400 gal"),
        ("at most 400", "<=400 gal"), ("como máximo 400", "<=400 gal"), ("≤400", "<=400 gal"),
        ("400-450", "400..450 gal"), ("400 to 450 gal", "400..450 gal"), ("400 – 450", "400..450 gal"),
        ("400 a 450", "400..450 gal"), ("1,200.5", "1200.5 gal"), ("1.200,5", "1200.5 gal"), ("1,234,567.5 mL", None),
        ("12,345,678 mL", None), ("1 200", "1200 gal"), ("1 200,5", "1200.5 gal"), ("1'200", "1200 gal"),
        ("12,50", "12.50 gal"), ("0,250", "0.250 gal"), ("1234,567", "1234.567 gal"),
        ("430.", "430 gal"), ("450 (est)", "~450 gal"), ("450 (approx.) gal", "~450 gal"),
        ("450 gal (est.)", "~450 gal"),
    ],
)  # fmt: skip
def test_an_amount_is_kept_as_it_was_written(text: str, as_stored: str | None) -> None:
    """With its unit, its 'about', its bound; digits are neither lost nor added."""
    read = amounts.volume(text, "gal", "")
    assert isinstance(read, Figure), read
    if as_stored is not None:
        assert read.text == as_stored
    assert stored(read.text) == read.quantity


@pytest.mark.parametrize(
    ("text", "point", "comma"),
    [("1,200", "1200 gal", "1.200 gal"), ("1.200", "1.200 gal", "1200 gal"), ("12,345 gal", "12345 gal", "12.345 gal"),
     ("~1,200", "~1200 gal", "~1.200 gal"), ("400-1,200", "400..1200 gal", None)],
)  # fmt: skip
def test_a_figure_with_two_readings_waits_for_the_mark(text: str, point: str, comma: str | None) -> None:
    """It is told as such; with either mark it has one reading."""
    read = amounts.volume(text, "gal", "")
    assert isinstance(read, Unread) and read.mark and read.ask
    assert amounts.two_readings(text) and amounts.marks(text) == frozenset(DECIMALS)
    found = amounts.volume(text, "gal", POINT)
    assert isinstance(found, Figure) and found.text == point
    other = amounts.volume(text, "gal", COMMA)
    assert (other.text if isinstance(other, Figure) else None) == comma


@pytest.mark.parametrize(
    ("text", "mark"),
    [("450.5", POINT), ("1,200.5", POINT), ("1,234,567", POINT), (".5", POINT), ("450,5", COMMA), ("1.200,5", COMMA),
     ("1.234.567", COMMA), ("0,250", COMMA), ("1234,567", COMMA), ("12,50 L", COMMA)],
)  # fmt: skip
def test_a_figure_may_show_the_mark_by_its_form(text: str, mark: str) -> None:
    """Such a figure is evidence for the whole file."""
    assert amounts.marks(text) == {mark}
    assert not amounts.two_readings(text)
    wrong = amounts.volume(text, "gal", COMMA if mark == POINT else POINT)
    assert isinstance(wrong, Unread) and wrong.ask


def test_many_figures_behind_a_lone_comma_are_no_evidence() -> None:
    """'1,2345' is likelier a slip; where the rest of the file has decimal commas it is read so."""
    assert amounts.marks("1,2345") == frozenset(DECIMALS)
    assert isinstance(amounts.volume("1,2345", "gal", ""), Unread)
    assert isinstance(amounts.volume("1,2345", "gal", POINT), Unread)
    read = amounts.volume("378,5412", "L", COMMA)
    assert isinstance(read, Figure) and read.text == "378.5412 L"


@pytest.mark.parametrize("text", ["450", "1.2.3", "1,20,300", "a lot", "400 500", ""])
def test_other_figures_show_no_mark(text: str) -> None:
    """Without a mark, without a form, or no figure at all."""
    assert amounts.marks(text) == frozenset(DECIMALS)


@pytest.mark.parametrize(
    "text",
    ["450+300", "2 x 450", "=450*2", "$450", "450?", "450+", "1e5", "four hundred", "-", "?", "none", "1.2.3",
     "1,20,300", "450 oz in", "12 in", "450 hours", "450-400", "about 400-450", "4,50,0", "450 buckets", "450 / 430"],
)  # fmt: skip
def test_what_is_no_figure_is_asked_about(text: str) -> None:
    """Sums and products above all: nothing is worked out."""
    read = amounts.volume(text, "gal", "")
    assert isinstance(read, Unread) and read.ask and not read.mark


@pytest.mark.parametrize("text", ["-5", "-450 gal", "9999999", "1234567890123456"])
def test_what_cannot_be_meant_has_to_be_mended_in_the_file(text: str) -> None:
    """Below zero, more than any rig carries, more digits than any instrument."""
    read = amounts.volume(text, "gal", "")
    assert isinstance(read, Unread) and not read.ask


@pytest.mark.parametrize(
    ("text", "as_stored"),
    [
        ("12.5", "12.5 in"), ("12,5", "12.5 in"), ("12.125", "12.125 in"), ("12,125", "12.125 in"), ("0", "0 in"),
        ("12 1/2", "12.5 in"), ("12-1/2", "12.5 in"), ("12 1/2 in", "12.5 in"), ("3/4", "0.75 in"), ("12½", "12.5 in"),
        ("½", "0.5 in"), ('12.5"', "12.5 in"), ("12''", "12 in"), ('7 3/8"', "7.375 in"), ("31 cm", "31 cm"),
        ("12 pulgadas", "12 in"), ("~12", "~12 in"), ("140 gal", "140 gal"), ("empty", "empty"), ("Vacío", "empty"),
        ("FULL", "full"), ("lleno", "full"), ("2 ft", "2 ft"),
    ],
)  # fmt: skip
def test_a_tank_level_takes_inches_with_fractions(text: str, as_stored: str) -> None:
    """And volumes, and the two marks that everybody reads the same way."""
    read = amounts.level(text, "in", "")
    assert isinstance(read, Figure), read
    assert read.text == as_stored


@pytest.mark.parametrize(
    "text", ["5/3", "7 1/3", "1/0", "2'6\"", "12 1/2 gal", "half", "1,400 gal", "3/4/21", "12 1/2 x"]
)
def test_a_level_that_is_none_is_asked_about(text: str) -> None:
    """A fraction that no rule has, a date, a volume with two readings."""
    read = amounts.level(text, "in", "")
    assert isinstance(read, Unread) and read.ask


@pytest.mark.parametrize(
    ("text", "as_stored"),
    [("104523", "104523"), ("104523.4", "104523.4"), ("104.523,4", "104523.4"), ("0000186", "186"),
     ("104523 gal", "104523"), ("1,104,523", "1104523")],
)  # fmt: skip
def test_a_register_shows_one_plain_number(text: str, as_stored: str) -> None:
    """Without its unit, which stays with the text of the cell."""
    read = amounts.register(text, "")
    assert isinstance(read, Figure) and read.text == as_stored


@pytest.mark.parametrize(
    ("text", "ask"),
    [("~5", True), ("5-9", True), ("at least 5", True), ("5 pieces", True), ("meter broken", True), ("104,523", True),
     ("-5", False), ("9" * 15, False)],
)  # fmt: skip
def test_what_no_register_shows_is_not_taken(text: str, ask: bool) -> None:
    """About, a range, a bound, a word, two readings, below zero, too many digits."""
    read = amounts.register(text, "")
    assert isinstance(read, Unread) and read.ask == ask


def test_answers_without_a_value_are_known_in_both_languages() -> None:
    """A dash, a question mark and 'none' are not among them: nobody knows what they meant."""
    assert {amounts.answer(text) for text in ("n/a", "N.A.", "no aplica", "NA")} == {"not applicable"}
    assert {
        amounts.answer(text) for text in ("did not read", "no se leyó", "no lo leí", "unread", "no leído", "sin leer")
    } == {"not read"}
    assert [amounts.answer(text) for text in ("-", "?", "none", "0", "x" * 50)] == [None] * 5


def test_what_a_spreadsheet_adds_up_is_known() -> None:
    """Digits and marks; not a figure with a unit or a tilde."""
    assert all(amounts.counts_in_a_spreadsheet(text) for text in ("450", "1,200", "1.200,5", "-3"))
    assert not any(amounts.counts_in_a_spreadsheet(text) for text in ("450 gal", "~450", "n/a", "", "same as last"))


def test_a_number_of_a_workbook_needs_no_reading() -> None:
    """But it may be impossible."""
    assert amounts.plain(Decimal("450.50"), "gal") == Figure("450.50 gal", stored("450.50 gal"))
    negative, large = amounts.plain(Decimal(-1), "gal"), amounts.plain(Decimal(10_000_000), "gal")
    assert isinstance(negative, Unread) and isinstance(large, Unread) and not negative.ask and not large.ask


_NUMBERS = st.decimals(Decimal(0), Decimal(999_999), places=2)


@given(_NUMBERS, st.sampled_from(DECIMALS), st.booleans())
def test_a_number_written_with_either_mark_is_read_back(number: Decimal, decimal: str, grouped: bool) -> None:
    """With and without thousands; and a figure that tells its mark is read the same when nobody said it."""
    text = f"{number:,.2f}" if grouped else f"{number:.2f}"
    if decimal == COMMA:
        text = text.translate(str.maketrans(",.", ".,"))
    for said in (decimal, ""):
        read = amounts.volume(text, "gal", said)
        assert isinstance(read, Figure) and read.quantity is not None and read.quantity.point == number


@given(st.text(max_size=20), st.sampled_from(("", *DECIMALS)))
def test_whatever_is_read_is_stored_in_its_own_form(text: str, decimal: str) -> None:
    """No text makes a figure that could not be read back."""
    for read in (amounts.volume(text, "gal", decimal), amounts.level(text, "in", decimal)):
        if isinstance(read, Figure) and read.quantity is not None:
            assert stored(read.text) == read.quantity
