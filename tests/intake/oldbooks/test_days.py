"""Dates as people wrote them: one reading, two, or none."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.intake.oldbooks import days
from compliance.intake.oldbooks.days import DAY_FIRST, MONTH_FIRST, said

Day = tuple[int | None, int, int]


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2021-09-03", (2021, 9, 3)), ("2021/9/3", (2021, 9, 3)), ("2021.09.03", (2021, 9, 3)),
        ("20210903", (2021, 9, 3)), ("2021-09-03 21:30", (2021, 9, 3)), ("2021-09-03T21:30:00", (2021, 9, 3)),
        ("Sept 3, 2021", (2021, 9, 3)), ("Sept. 3 2021", (2021, 9, 3)), ("september 3rd, 2021", (2021, 9, 3)),
        ("Sep-3-21", (2021, 9, 3)), ("3-Sep-21", (2021, 9, 3)), ("3 Sept '21", (2021, 9, 3)),
        ("3 sep 1999", (1999, 9, 3)), ("3 sep 99", (1999, 9, 3)), ("22nd of May 2020", (2020, 5, 22)),
        ("Sept 3", (None, 9, 3)), ("3-Sep", (None, 9, 3)), ("sept3", (None, 9, 3)),
        ("2 de septiembre de 2021", (2021, 9, 2)), ("2 de setiembre del 2021", (2021, 9, 2)),
        ("2 de sept.", (None, 9, 2)), ("1º de mayo de 2020", (2020, 5, 1)), ("1ro de mayo", (None, 5, 1)),
        ("04/ene/2018", (2018, 1, 4)), ("4/ene/18", (2018, 1, 4)), ("4.ene.18", (2018, 1, 4)), ("4/Jan", (None, 1, 4)),
        ("Jan/4/18", (2018, 1, 4)), ("jan.4.2018", (2018, 1, 4)), ("14 de agto. 2018", (2018, 8, 14)),
        ("el 2 de mayo", (None, 5, 2)), ("5 ENERO 2020", (2020, 1, 5)), ("31 dic 2019", (2019, 12, 31)),
    ],
)  # fmt: skip
def test_a_date_in_words_or_with_the_year_first_has_one_reading(text: str, day: Day) -> None:
    """In English and Spanish, short and long, with and without a year."""
    found = said(text)
    assert found is not None
    assert (found.month_first, found.day_first, found.ambiguous, found.order) == (day, day, False, "")


@pytest.mark.parametrize(
    ("text", "month_first", "day_first"),
    [
        ("9/3/2021", (2021, 9, 3), (2021, 3, 9)), ("9-3-21", (2021, 9, 3), (2021, 3, 9)),
        ("09.03.2021", (2021, 9, 3), (2021, 3, 9)), ("9/3", (None, 9, 3), (None, 3, 9)),
        ("9/3/2021 9:30 p. m.", (2021, 9, 3), (2021, 3, 9)),
        ("9/23/2021", (2021, 9, 23), None), ("23/9/2021", None, (2021, 9, 23)), ("12/29", (None, 12, 29), None),
        ("2/29", (None, 2, 29), None),
    ],
)  # fmt: skip
def test_a_date_in_figures_keeps_every_reading_that_it_has(text: str, month_first: Day, day_first: Day) -> None:
    """Nothing is chosen here; the order that alone gives a day is evidence for the whole file."""
    found = said(text)
    assert found is not None
    assert (found.month_first, found.day_first) == (month_first, day_first)
    assert found.ambiguous == (month_first is not None and day_first is not None)
    assert found.order == ("" if found.ambiguous else MONTH_FIRST if day_first is None else DAY_FIRST)
    assert found.read(MONTH_FIRST) == month_first and found.read(DAY_FIRST) == day_first
    assert found.read("") == (None if found.ambiguous else month_first or day_first)


def test_equal_figures_have_one_reading() -> None:
    """The fifth of May is the fifth of May."""
    found = said("5/5/2021")
    assert found is not None and not found.ambiguous and found.order == ""
    assert found.read("") == (2021, 5, 5)


@pytest.mark.parametrize(
    "text", ["2/30/2021", "13/13/2020", "Feb 30, 2021", "31 de abril", "9/3/2021".replace("9", "0")]
)
def test_a_day_that_there_is_not_is_still_said(text: str) -> None:
    """So that it can be told as what it is, rather than as no date."""
    found = said(text)
    assert found is not None and not found.ambiguous and found.order == ""
    parts = found.read("")
    assert parts is not None and days.make(parts[0] or 2000, *parts[1:]) is None


@pytest.mark.parametrize(
    "text",
    ["", "Sep-21", "sep/21", "9/3-9/4", "3-4 sept", "3 y 4 de mayo", "Labor Day", "450", "1,200", "2021", "9/3/021",
     "3 y mar", "noche del 5 al 6 de marzo", "9/3/2021 and 9/4/2021", "week 12"],
)  # fmt: skip
def test_no_day_or_more_than_one_is_no_date(text: str) -> None:
    """A month with a year, two days, a name, a number."""
    assert said(text) is None


@pytest.mark.parametrize(
    ("text", "day", "weekday"),
    [
        ("Fri 9/24/21", (2021, 9, 24), 4), ("viernes, 3 de sept", (None, 9, 3), 4),
        ("mié. 3 de marzo", (None, 3, 3), 2),
        ("3/14/2021 Sun", (2021, 3, 14), 6), ("12/28/19 Sat", (2019, 12, 28), 5), ("Jan 4 Thu", (None, 1, 4), 3),
        ("dom 3/14/2021", (2021, 3, 14), 6), ("3/14/2021 dom.", (2021, 3, 14), 6),
        ("3/14/2021 Su", (2021, 3, 14), 6),
        ("3/14/2021(Sunday)", (2021, 3, 14), 6), ("(Sun) 3/14/2021", (2021, 3, 14), 6), ("Sun-3/14", (None, 3, 14), 6),
        ("2021-03-14, Sun", (2021, 3, 14), 6), ("Jan 4, 2018 - Thu", (2018, 1, 4), 3), ("Jan 4th Thu", (None, 1, 4), 3),
        ("14 de marzo de 2021, domingo", (2021, 3, 14), 6), ("el 14 de marzo (dom)", (None, 3, 14), 6),
        ("sábado 28-dic-19", (2019, 12, 28), 5), ("28 dic Sáb", (None, 12, 28), 5),
        ("mar 12/29/2020", (2020, 12, 29), 1),
        ("12/29/2020 mar", (2020, 12, 29), 1),
        ("mar 7 ene 2020", (2020, 1, 7), 1), ("mar 3 de sept", (None, 9, 3), 1),
        ("12/29/2020 Tu", (2020, 12, 29), 1), ("Do 3/14/2021", (2021, 3, 14), 6),
        ("3 mar", (None, 3, 3), None), ("mar 3", (None, 3, 3), None), ("3 mar mié", (None, 3, 3), 2),
        ("Sun 3/14/2021 10:30 PM", (2021, 3, 14), 6), ("3/14/2021 10:30 PM Sun", (2021, 3, 14), 6),
        ("3/14/2021 Sun 10pm", (2021, 3, 14), 6), ("3/14/2021 @ 10 p.m.", (2021, 3, 14), None),
        ("3/14/2021 night", (2021, 3, 14), None), ("Sun night 3/14", (None, 3, 14), 6),
        ("14 de marzo por la noche", (None, 3, 14), None),
        ("night of Mar 14 Sun", (None, 3, 14), 6), ("noche del 14 de marzo", (None, 3, 14), None),
        ("3/14/2021 PM", (2021, 3, 14), None),
        ("Weds. 3/31", (None, 3, 31), 2), ("\u200e3/14/2021\u200f", (2021, 3, 14), None),
        ("20210314 sun", (2021, 3, 14), 6),
    ],
)  # fmt: skip
def test_a_weekday_before_or_behind_a_date_is_kept_to_be_checked(text: str, day: Day, weekday: int | None) -> None:
    """In either language; Monday is 0. What may be a month is a weekday only beside figures that name another."""
    found = said(text)
    assert found is not None
    assert (found.read(""), found.weekday) == (day, weekday)


@pytest.mark.parametrize(
    "text", ["Sun", "Sun Thu", "Thu Friendly", "Sunset 3/14 Wash", "450 Sun", "3/14 Sunset", "mar 3 y 4"]
)
def test_a_weekday_beside_no_date_is_none(text: str) -> None:
    """Nor is a word that begins like one."""
    assert said(text) is None


def test_a_weekday_tells_which_of_two_readings_is_meant() -> None:
    """Where its day is that weekday in one of them and not in the other, and the year is written."""
    texts = ["3/4/2021 Thu", "3/4/2021 sáb", "3/4/2021 Mon", "3/4/2021", "3/4 Thu", "1/2/2019 Wed", "9/23/2021 Thu"]
    orders = [found.order_by_weekday for text in texts if (found := said(text)) is not None]
    assert orders == [MONTH_FIRST, DAY_FIRST, "", "", "", MONTH_FIRST, ""]


def test_a_count_of_days_is_read_as_a_spreadsheet_counts() -> None:
    """From 1900 or from 1904; outside the years of any book it is none."""
    found = said("44442")
    assert found is not None and found.serial == 44442 and found.read("") is None
    assert days.counted(44442, "1900") == date(2021, 9, 3)
    assert days.counted(44442, "1904") == date(2025, 9, 4)
    assert days.counted(10_000, "1900") is None and days.counted(99_999, "1900") is None
    later = said("44442.5")
    assert later is not None and later.serial == 44442


@pytest.mark.parametrize(
    ("text", "year"),
    [("2021", 2021), ("Wash log 2021", 2021), ("2021-2022", None), ("12021", None), ("Rig 2", None), ("1850", None),
     ("log2021b", 2021), ("2021 and again 2021", 2021)],
)  # fmt: skip
def test_a_title_names_a_year_when_it_names_one(text: str, year: int | None) -> None:
    """Two of them are none."""
    assert days.year_named(text) == year


D = date.fromisoformat


@pytest.mark.parametrize(
    ("above", "below", "year"),
    [
        (D("2018-11-02"), D("2018-12-27"), 2018),
        (D("2018-12-01"), D("2019-02-04"), 2018),  # 9 Dec
        (D("2018-12-20"), D("2020-01-04"), 2019),  # the only 9 Dec between them
        (D("2017-12-01"), D("2019-01-04"), None),  # two of them
        (D("2018-12-20"), D("2019-01-04"), None),  # none
        (D("2018-12-01"), None, 2018), (D("2018-12-20"), None, None),
        (None, D("2018-12-20"), 2018), (None, D("2018-12-01"), None), (None, None, None),
    ],
)  # fmt: skip
def test_a_year_is_taken_from_the_rows_around_when_exactly_one_fits(
    above: date | None, below: date | None, year: int | None
) -> None:
    """For a ninth of December; with one neighbour only, the same year on the right side of it."""
    assert days.year_between(12, 9, above, below) == year


def test_a_month_alone_is_known() -> None:
    """For the names of sheets."""
    assert days.is_month("Sept.") and days.is_month("ENERO") and not days.is_month("Marsh")


_MESES = (
    "enero", "febrero", "marzo", "abril", "mayo", "junio", "julio", "agosto", "septiembre", "octubre", "noviembre",
    "diciembre",
)  # fmt: skip


@given(st.dates(date(1990, 1, 1), date(2099, 12, 31)))
def test_every_way_of_writing_a_day_leads_back_to_it(day: date) -> None:
    """ISO, US, European, written in both languages."""
    month = day.strftime("%b")
    mes = _MESES[day.month - 1]
    parts = day.year, day.month, day.day
    for text in (day.isoformat(), f"{month} {day.day}, {day.year}", f"{day.day} de {mes} de {day.year}"):
        found = said(text)
        assert found is not None and found.read("") == parts
    american, european = said(f"{day.month}/{day.day}/{day.year}"), said(f"{day.day}/{day.month}/{day.year}")
    assert american is not None and american.read(MONTH_FIRST) == parts
    assert european is not None and european.read(DAY_FIRST) == parts
    assert days.weekday_name(day) == day.strftime("%A")


@given(st.text(max_size=30))
def test_no_text_is_too_strange_to_be_asked(text: str) -> None:
    """It names a day or it does not."""
    found = said(text)
    assert found is None or found.serial is not None or found.month_first or found.day_first
