"""Headings, titles, the names of sheets: what stands where, and what is left aside."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from compliance.intake.oldbooks.headings import BY_NAME, COLUMNS, half_recognised, known_headings, recognised, unit_in
from compliance.intake.oldbooks.layout import Layout
from compliance.records.fields import field
from tests.intake.oldbooks.looking import look, states, work, workbook


@pytest.mark.parametrize(
    ("heading", "name", "unit"),
    [
        ("Date", "date", ""), ("Fecha", "date", ""), ("SERVICE DATE:", "date", ""), ("Truck", "rig", ""),
        ("Camión", "rig", ""), ("Crew Lead", "lead", ""), ("Customer", "client", ""), ("Cliente", "client", ""),
        ("Job site", "site", ""), ("Work Order #", "job", ""), ("Gals Used", "used", "gal"), ("Used", "used", ""),
        ("Water used (gal)", "used", "gal"), ("Agua utilizada (L)", "used", "L"), ("Litros usados", "used", "L"),
        ("Gallons recovered", "recovered", "gal"), ("Agua recuperada", "recovered", ""),
        ("Meter Start", "meter_start", ""), ("Beginning meter reading", "meter_start", ""),
        ("Meter / End", "meter_end", ""), ("Lectura final", "meter_end", ""),
        ("Medidor al inicio (m3)", "meter_start", "m3"),
        ("Tank (in) / Before", "tank_start", "in"), ("Inches after", "tank_end", "in"),
        ("Tanque (pulg.) / Después", "tank_end", "in"), ("Tank level before (gal)", "tank_start", "gal"),
        ("TANK IN. BEG", "tank_start", ""), ("Tank mark in. / end", "tank_end", ""), ("Meter beg", "meter_start", ""),
        ("Cust.", "client", ""), ("Tkt #", "ticket", ""), ("Gal recov.", "recovered", "gal"), ("When", "date", ""),
        ("Dumped at", "destination", ""), ("Destino", "destination", ""), ("Lugar de entrega", "destination", ""),
        ("Ticket No.", "ticket", ""), ("Nº de recibo", "ticket", ""), ("Manifest #", "ticket", ""),
        ("Ticket (gal)", "accepted", "gal"), ("Gal. accepted", "accepted", "gal"),
        ("Galones recibidos", "accepted", "gal"),
        ("Notes", "remarks", ""), ("Observaciones", "remarks", ""),
        ("Recovered L", "recovered", "L"), ("L. usados", "used", "L"), ("Ltrs recovered", "recovered", "L"),
        ("Descargado en", "destination", ""), ("Tickets", "ticket", ""), ("Tkts", "ticket", ""),
        ("Where it went", "destination", ""), ("Hauled to", "destination", ""), ("A dónde se llevó", "destination", ""),
    ],
)  # fmt: skip
def test_a_heading_is_recognised_by_its_words(heading: str, name: str, unit: str) -> None:
    """Whole, in any order, without filling words; the unit that it names is kept."""
    assert (recognised(heading), unit_in(heading)) == (name, unit)


@pytest.mark.parametrize(
    "heading",
    ["", "Gas $", "Hours", "Where", "Lugar", "Total", "No.", "Accepted by", "Crew", "Client (gal)", "Date (in)",
     "x" * 99, "Used by", "Clean", "Meter", "Start", "Unit", "Used date", "L",
     "Client L"],
)  # fmt: skip
def test_a_heading_that_may_mean_several_things_is_not_recognised(heading: str) -> None:
    """The mapping says what it is."""
    assert recognised(heading) == ""


def test_the_labels_of_the_field_table_are_headings() -> None:
    """In both languages, so that what this program writes is understood by it."""
    for column in COLUMNS:
        if column.like is not None:
            row = field(*column.like)
            assert recognised(row.en) == column.name and recognised(row.es) == column.name
    assert known_headings(["Date", "Fecha", "Used", "Gas"]) == 2


def sheet_of(*rows: tuple[Any, ...], name: str = "Log", said: str = "") -> Layout:
    found = look(workbook({name: rows}), "a.xlsx", said=said)
    return found.sheets[0].layout


def test_headings_stand_below_titles_and_are_the_row_that_is_known_best() -> None:
    """A title with one known word in it is no row of headings."""
    layout = sheet_of(
        ("Wash notes", None), (None, "Date:", "see below"), ("Date", "Used", "Site"), ("2021-09-03", 450, "Plaza")
    )
    assert layout.headings == (3,)
    assert layout.columns == {"date": 0, "site": 2, "used": 1}


def test_two_rows_of_headings_are_read_together() -> None:
    """The upper word reaches to the right as far as it makes sense, and no further."""
    layout = sheet_of(
        ("Date", "Meter", None, "Water (gal)", None, None, "Notes"),
        (None, "Start", "End", "Used", "Recovered", "Client", None),
        ("2021-09-03", 1, 2, 450, 430, "Alder Foods", "ok"),
    )
    assert layout.headings == (1, 2)
    assert list(layout.columns) == ["date", "client", "used", "recovered", "meter_start", "meter_end", "remarks"]
    assert layout.labels == ("Date", "Meter / Start", "Meter / End", "Water (gal) / Used", "Water (gal) / Recovered",
                             "Client", "Notes")  # fmt: skip
    assert layout.units == {"used": "gal", "recovered": "gal"}


def test_a_lower_row_in_small_letters_that_is_half_known_is_one_of_headings() -> None:
    """Where it adds a column; what says no more than its upper word is that word's column."""
    layout = sheet_of(
        ("BLUEBANK - dump log", None),
        ("Date", None, "Job #", "Client", "Water", None, "Disposal", None),
        ("day", "time", None, None, "in", "out", "where", "ticket"),
        (date(2018, 1, 3), None, "00012", "Alder Oven Bakery", 500, "460", "Ridge Road station", "T-01"),
    )
    assert layout.headings == (2, 3)
    assert dict(layout.columns) == {"date": 0, "client": 3, "job": 2, "destination": 6, "ticket": 7}
    assert layout.labels[4:6] == ("Water / in", "out") and layout.aside == {1: "not used", 4: "not used", 5: "not used"}


def test_a_lower_row_of_units_is_one_of_headings() -> None:
    """Litres under a heading are litres."""
    found = look("Date,Client,Used,Recov.,Tank start\n,,L,(L),in.\n2021-09-03,A,1700,1650,4\n")
    layout = found.sheets[0].layout
    assert layout.headings == (1, 2) and layout.units == {"used": "L", "recovered": "L", "tank_start": "in"}
    assert work(found)[0].fields["used"] == "1700 L" and work(found)[0].fields["tank_start"] == "4 in"


def test_a_heading_that_is_half_known_is_taken_when_no_other_is_whole() -> None:
    """'Job info / Date' is a date where no other column is; what may be something else is left aside."""
    layout = sheet_of(
        ("Job info", None, "Litres", None), ("Date", "Client", "Used", "Recov"), ("2021-09-03", "A", 450, 430)
    )
    assert layout.headings == (1, 2) and list(layout.columns) == ["date", "client", "used", "recovered"]
    assert layout.units == {"used": "L", "recovered": "L"}
    layout = sheet_of(("Date", "Date", None), ("day", "date", "Used"), ("Fri", "2021-09-03", 450))
    assert layout.columns == {"date": 1, "used": 2}


@pytest.mark.parametrize(
    ("heading", "name"),
    [("Date / day", "date"), ("Date / (mm/dd)", "date"), ("Client / who", "client"), ("Job info / Client", "client"),
     ("Trabajo / Fecha", "date"), ("Date / paid", ""), ("Used / by", ""), ("Site / contact", ""),
     ("Invoice / date", ""), ("Used / date", ""), ("Billing / amount", ""), ("Date", "")],
)  # fmt: skip
def test_half_a_heading_names_a_column_where_the_other_half_changes_nothing(heading: str, name: str) -> None:
    """A guess at anything else would put names among figures."""
    assert half_recognised(heading) == name


def test_a_row_of_figures_is_no_second_row_of_headings() -> None:
    """Nor is one with a date."""
    assert sheet_of(("Date", "Used"), ("Jan 3, 2021", 450)).headings == (1,)
    assert sheet_of(("Date", "Used"), ("Jan 3, 2021", "about 450")).headings == (1,)


def test_two_columns_of_one_kind_are_not_both_taken() -> None:
    """The first is, and the other is named; the mapping may say otherwise."""
    rows = (("Date", "Used", "Gal used"), ("2021-09-03", 450, 460))
    layout = sheet_of(*rows)
    assert layout.columns["used"] == 1 and layout.aside == {2: "column B is taken for 'used'"}
    other = sheet_of(*rows, said='[columns]\n"Gal used" = "used"\n')
    assert other.columns["used"] == 2 and other.aside == {1: "column C is taken for 'used'"}


def test_columns_with_the_same_heading_are_told_apart_by_their_letters() -> None:
    """In the settled mapping too."""
    found = look(
        workbook({"Log": [("Date", "Gal", "Gal"), ("2021-09-03", 450, 430)]}),
        "a.xlsx",
        said='[columns]\nB = "used"\nC = "recovered"\n',
    )
    assert work(found)[0].fields == {"date": "2021-09-03", "used": "450 gal", "recovered": "430 gal"}
    assert found.settled.columns == {"Date": "date", "B": "used", "C": "recovered"}


def test_a_column_may_be_left_aside_by_the_mapping() -> None:
    """What is known to be wrong need not be read."""
    layout = sheet_of(
        ("Date", "Used", "Recovered"), ("2021-09-03", 450, 430), said='[columns]\nrecovered = "not used"\n'
    )
    assert "recovered" not in layout.columns and layout.aside == {2: "not used"}


def test_a_heading_of_the_mapping_that_no_sheet_has_is_told() -> None:
    """Likely a slip of the pen; and so is a sheet."""
    text = '[columns]\nUsde = "used"\n[[sheet]]\nname = "2012"\nread = false\n'
    found = look("Date,Used\n2021-09-03,450\n", said=text)
    assert "the mapping names a column 'Usde', which no sheet has" in found.told
    assert "the mapping names a sheet '2012', which the file does not have" in found.told


def test_a_title_says_what_every_row_has() -> None:
    """'Rig: Big Blue' in one cell, or in two; a column of its own goes before."""
    layout = sheet_of(("Rig: Big Blue", None), ("Client:", "Alder Foods"), ("Date", "Used"), ("2021-09-03", 450))
    assert layout.values == {"rig": "Big Blue", "client": "Alder Foods"}
    assert layout.found[:2] == (
        "rig is 'Big Blue', from the title in row 1", "client is 'Alder Foods', from the title in row 2",
    )  # fmt: skip
    layout = sheet_of(("Rig: Big Blue", None), ("Date", "Used", "Rig"), ("2021-09-03", 450, "Little Heron"))
    assert layout.values == {}
    layout = sheet_of(("Rig: Big Blue", None), ("Date", "Used"), ("2021-09-03", 450), said='values = {rig = "Heron"}')
    assert layout.values == {"rig": "Heron"} and layout.titled == frozenset()


@pytest.mark.parametrize(
    ("title", "name", "year"),
    [
        ("Wash log 2021", "Log", 2021), ("Wash log", "2020", 2020), ("2019 and 2020", "Log", None),
        ("printed 2024", "Log", None), ("Revised March 2022", "Log", None), ("3/4/2024", "Log", None),
        ("Wash log 2021", "Big Blue 2020", 2020), ("actualizado 2023", "Log", None),
    ],
)  # fmt: skip
def test_the_year_stands_in_the_name_of_the_sheet_or_in_a_title(title: str, name: str, year: int | None) -> None:
    """Not in the day on which it was printed."""
    assert sheet_of((title,), ("Date", "Used"), ("Jan 3", 450), name=name, said='sheet_names = "nothing"').year == year


def test_the_mapping_says_the_year_before_all_others() -> None:
    """For a sheet, else for the file."""
    rows = (("2019",), ("Date", "Used"), ("Jan 3", 450))
    assert sheet_of(*rows, said="year = 2018\n").year == 2018
    assert sheet_of(*rows, said='year = 2018\n[[sheet]]\nname = "Log"\nyear = 2017\n').year == 2017


def test_the_name_of_a_text_file_may_hold_the_year() -> None:
    """A text file has no name of a sheet."""
    found = look("Date,Used\nJan 3,450\n", "wash log 2016.csv")
    assert work(found)[0].fields["date"] == "2016-01-03"
    assert "years that are missing are 2016, from the name of the file" in found.sheets[0].told


ROWS = (("Date", "Used", "Notes"), ("2021-09-03", 450, "ok"))


@pytest.mark.parametrize(
    ("name", "column"),
    [("big blue", "rig"), ("Alder Foods", "client"), ("Fernwood Plaza 2021", "site"), ("Tom Adlow", "lead")],
)
def test_the_name_of_a_sheet_on_a_register_says_what_it_is(name: str, column: str) -> None:
    """And is told; the year in it is no part of the name."""
    found = look(workbook({name: ROWS}), "a.xlsx")
    assert work(found)[0].fields[column] == name.removesuffix(" 2021")
    assert "which is on that register" in found.sheets[0].told[-1]
    assert states(found) == ["new"]


@pytest.mark.parametrize(
    "name",
    [
        "Sheet1",
        "Hoja 2",
        "2021",
        "March 2021",
        "Sept",
        "Wash log",
        "Jobs 2019",
        "Registro",
        "Q3 2020",
        "Jan-Mar 2018",
        "ene-jun",
    ],
)
def test_the_name_of_a_sheet_that_names_nothing_is_not_asked_about(name: str) -> None:
    """Numbers, months, and words like 'log'."""
    assert look(workbook({name: ROWS}), "a.xlsx").questions == ()


def test_the_name_of_a_sheet_that_may_name_something_is_asked_about() -> None:
    """Once for the file; the mapping answers for all sheets, or for one."""
    data = workbook({"Ridge Road Motors": ROWS, "Harbor Lane": ROWS})
    found = look(data, "a.xlsx")
    assert states(found) == ["questioned", "questioned"]
    (asked,) = found.questions
    assert (asked.key, asked.rows) == ("sheet_names", 2)
    found = look(data, "a.xlsx", said='sheet_names = "client"')
    assert [line.fields["client"] for line in work(found)] == ["Ridge Road Motors", "Harbor Lane"]
    assert states(look(data, "a.xlsx", said='sheet_names = "nothing"\nrepeated_rows = "keep"')) == ["new", "new"]
    one = '[[sheet]]\nname = "Harbor Lane"\n[sheet.values]\nclient = "Harbor Lane Diner"\n'
    found = look(data, "a.xlsx", said=one)
    assert states(found) == ["questioned", "new"]
    assert work(found)[1].fields["client"] == "Harbor Lane Diner"


def test_a_sheet_whose_columns_say_all_is_not_asked_about() -> None:
    """Rig, client and site have columns: whatever its name is, nothing is lost."""
    rows = [("Date", "Rig", "Client", "Site", "Used"), ("2021-09-03", "Big Blue", "Alder Foods", "Plaza", 450)]
    assert look(workbook({"North route": rows}), "a.xlsx").questions == ()
    found = look(workbook({"North route": rows}), "a.xlsx", said='sheet_names = "client"')
    assert work(found)[0].fields["client"] == "Alder Foods"


def test_a_sheet_without_headings_is_asked_about_and_not_read() -> None:
    """Unless the mapping says that it has none, or that it is not to be read."""
    data = workbook({"Log": ROWS, "Sheet2": [("a", 1), ("b", 2)], "Sheet3": []})
    found = look(data, "a.xlsx")
    assert [(asked.key, asked.rows) for asked in found.questions] == [("sheet", 2)]
    assert {line.sheet for line in found.lines} == {"Log"}
    assert look(data, "a.xlsx", said='[[sheet]]\nname = "Sheet2"\nread = false\n').questions == ()


def test_only_the_sheets_that_are_named_are_read() -> None:
    """A name that is not there is a mistake."""
    from compliance.records.problem import Problem
    from tests.intake.oldbooks.looking import refused_or

    data = workbook({"2020": ROWS, "2021": ROWS})
    assert {line.sheet for line in look(data, "a.xlsx", only=["2021"]).lines} == {"2021"}
    wrong = refused_or(data, "a.xlsx", only=["2012"])
    assert isinstance(wrong, Problem) and "'2020', '2021'" in wrong.next_step


def test_a_sheet_without_a_column_of_dates_is_asked_about() -> None:
    """Every row waits for it."""
    found = look("Client,Used\nAlder Foods,450\n")
    assert states(found) == ["questioned"]
    assert [asked.key for asked in found.questions] == ["columns"]
    found = look("When,Client,Used\n2021-09-03,Alder Foods,450\n", said='[columns]\nWhen = "date"\n')
    assert states(found) == ["new"]


def test_every_column_has_a_name_of_its_own() -> None:
    """They are the keys of a mapping and of a record."""
    assert len(BY_NAME) == len(COLUMNS) == 16


def test_a_title_is_no_upper_row_of_headings() -> None:
    """Not even over a column that nobody reads."""
    layout = sheet_of(("Wash log, page 1", None, None), ("Fuel $", "Date", "Used"), (12, "2021-09-03", 450))
    assert layout.headings == (2,) and layout.labels == ("Fuel $", "Date", "Used")
