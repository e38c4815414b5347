"""Rows of work: dates that need the file, words that repeat, figures that are asked about, meters that turn."""

from __future__ import annotations

from datetime import date

import pytest

from compliance.intake.oldbooks.preview import Preview
from tests.intake.oldbooks.looking import look, only_row, states, work, workbook

HEAD = "Date,Rig,Used,Recovered\n"


def dates(found: Preview) -> list[str | None]:
    return [line.fields.get("date") for line in work(found)]


def reasons(found: Preview) -> list[list[str]]:
    return [line.reasons for line in work(found)]


# ---- dates -------------------------------------------------------------------------------------------------------


def test_one_date_that_tells_decides_for_the_file_and_is_told() -> None:
    """On whichever sheet it stands."""
    sheets = {
        "2020": [("Date", "Used"), ("03/04/2020", 450)],
        "2021": [("Date", "Used"), ("05/23/2021", 460), ("06/07/2021", 470)],
    }
    found = look(workbook(sheets), "a.xlsx")
    assert dates(found) == ["2020-03-04", "2021-05-23", "2021-06-07"]
    assert "dates are read month first, as '05/23/2021' in row 2 of sheet '2021' can only be" in found.told


def test_dates_that_tell_against_each_other_leave_the_others_open() -> None:
    """Those that have one reading are read; the others are asked about."""
    found = look(HEAD + "03/04/2021,,1,1\n23/05/2021,,2,1\n05/23/2021,,3,1\n")
    assert states(found) == ["questioned", "new", "new"]
    assert dates(found)[1:] == ["2021-05-23", "2021-05-23"]
    assert [asked.key for asked in found.questions] == ["dates"]
    found = look(HEAD + "03/04/2021,,1,1\n23/05/2021,,2,1\n05/23/2021,,3,1\n", said='dates = "day first"')
    assert states(found) == ["new", "new", "questioned"]
    assert reasons(found)[2] == ["date: '05/23/2021' cannot be read day first"]


def test_an_order_that_was_chosen_is_not_told_as_found() -> None:
    """Nor one that decided nothing."""
    assert not any("dates are read" in told for told in look(HEAD + "05/23/2021,,3,1\n").told)
    found = look(HEAD + "05/23/2021,,3,1\n03/04/2021,,3,1\n", said='dates = "month first"')
    assert not any("dates are read" in told for told in found.told)


@pytest.mark.parametrize("cell", ["3/14/2021 Mon", "Mon 3/14/2021", "lun 14-mar-2021", "Mar 14 Mon, 2021", "3/14 Mon"])
def test_a_weekday_that_contradicts_its_date_is_asked_about(cell: str) -> None:
    """Either may be the slip; the row waits, with the weekday of its date."""
    found = look(HEAD + f'"{cell}",,1,1\n3/16/2021 Tue,,2,2\n', said="year = 2021")
    line, other = work(found)
    assert (line.state, other.state) == ("questioned", "new") and "date" not in line.fields
    assert cell == "Mar 14 Mon, 2021" or line.reasons == [f"date: {cell!r} is 2021-03-14, a Sunday"]
    mended = look(HEAD + f'"{cell}",,1,1\n', said=f'year = 2021\n[says.date]\n"{cell}" = "2021-03-15"')
    assert dates(mended) == ["2021-03-15"]


def test_the_weekdays_of_a_file_tell_how_its_dates_are_read() -> None:
    """As a date with one reading does; weekdays that tell against each other leave it open."""
    found = look(HEAD + "3/4/2021 Thu,,1,1\n5/6/2021,,2,2\n")
    assert dates(found) == ["2021-03-04", "2021-05-06"]
    assert "dates are read month first, as '3/4/2021 Thu' in row 2 can only be" in found.told
    found = look(HEAD + "3/4/2021 Thu,,1,1\n3/4/2021 Sat,,2,2\n")
    assert states(found) == ["questioned"] * 2 and [asked.key for asked in found.questions] == ["dates"]
    found = look(HEAD + "3/4/2021 Thu,,1,1\n3/4/2021 Sat,,2,2\n", said='dates = "month first"')
    assert reasons(found) == [[], ["date: '3/4/2021 Sat' is 2021-03-04, a Thursday"]]


def test_date_cells_that_may_be_turned_are_asked_about() -> None:
    """A spreadsheet takes 10/04/2018 for the fourth of October and leaves 23/09/2018 as a text."""
    rows = [("Date", "Used"), ("23/09/2018", 1), (date(2018, 4, 10), 2), (date(2018, 5, 5), 3)]
    data = workbook({"Log": rows})
    assert states(look(data, "a.xlsx")) == ["new", "questioned", "new"]
    assert dates(look(data, "a.xlsx", said='turned_dates = "yes"')) == ["2018-09-23", "2018-10-04", "2018-05-05"]
    assert dates(look(data, "a.xlsx", said='turned_dates = "no"')) == ["2018-09-23", "2018-04-10", "2018-05-05"]
    sound = workbook({"Log": [*rows, (date(2018, 4, 23), 4)]})
    assert states(look(sound, "a.xlsx")) == ["new"] * 4


def test_the_date_of_the_row_above_is_taken_when_the_file_or_the_mapping_says_so() -> None:
    """A ditto says so; a blank does not."""
    text = HEAD + "2021-09-03,Big Blue,1,1\n,Heron,2,1\nditto,Heron,3,1\n"
    found = look(text)
    assert states(found) == ["new", "questioned", "questioned"]
    assert reasons(found)[1:] == [
        ["there is no date"], ["the date is that of the row above, which has none that can be read"],
    ]  # fmt: skip
    assert dates(look(text, said='blank_dates = "same as above"')) == ["2021-09-03"] * 3


def test_a_date_that_is_missing_in_the_first_row_cannot_be_taken_from_anywhere() -> None:
    """No mapping helps."""
    found = look(HEAD + ",Heron,2,1\n2021-09-03,Big Blue,1,1\n", said='blank_dates = "same as above"')
    assert states(found) == ["refused", "new"]


@pytest.mark.parametrize(
    ("cell", "why", "state"),
    [
        ("2026-10-02", "date: 2026-10-02 is still to come", "refused"),
        ("1989-12-31", "date: the year 1989 cannot be meant", "refused"),
        ("2021-02-30", "date: there is no day '2021-02-30'", "refused"),
        ("30 feb", "date: there is no day '30 feb' in 2021", "refused"),
        ("29 feb", "date: there is no day '29 feb' in 2021", "refused"),
        ("11111", "date: '11111' is a count of days that leads to no year of any book", "refused"),
        ("Labor Day", "date: 'Labor Day' names no single day", "questioned"),
        ("9/3-9/4", "date: '9/3-9/4' names no single day", "questioned"),
        ("Thu 2021-09-03", "date: 'Thu 2021-09-03' is 2021-09-03, a Friday", "questioned"),
    ],
)  # fmt: skip
def test_a_date_that_cannot_be_taken_says_why(cell: str, why: str, state: str) -> None:
    """Refused where the file has to be mended, questioned where a mapping can answer."""
    line = only_row(HEAD + f"{cell},,450,430\n", said="year = 2021")
    assert (line.state, line.reasons) == (state, [why])


def test_a_day_that_there_is_not_in_any_year_is_refused_without_one() -> None:
    """No year would help."""
    line = only_row(HEAD + "30 feb,,450,430\n")
    assert (line.state, line.reasons) == ("refused", ["date: there is no day '30 feb'"])


def test_today_is_not_still_to_come() -> None:
    """The day of the import is the last that can be."""
    assert only_row(HEAD + "2026-10-01,,450,430\n").state == "new"


def test_what_a_text_stands_for_may_be_a_date() -> None:
    """[says.date] answers for names of days."""
    line = only_row(HEAD + "Labor Day,,450,430\n", said='[says.date]\n"Labor Day" = "2021-09-06"\n')
    assert line.fields["date"] == "2021-09-06" and line.typed["date"] == "Labor Day"


def test_a_date_that_names_no_day_is_answered_with_a_day_or_the_row_above() -> None:
    """A row without a date is none that could be written, so 'not recorded' leaves it asked about, as a blank is."""
    text = HEAD + "2021-09-03,,1,1\nLabor Day,,2,2\n"
    (asked,) = look(text).questions
    assert asked.write == (
        'write: says.date."Labor Day" = "same as above"',
        'or says.date."Labor Day" = "2021-09-03", with its day; or leave_out, if it is no work',
    )
    assert dates(look(text, said='[says.date]\n"Labor Day" = "2021-09-06"'))[1] == "2021-09-06"
    assert dates(look(text, said='[says.date]\n"Labor Day" = "same as above"'))[1] == "2021-09-03"
    found = look(text, said='[says.date]\n"Labor Day" = "not recorded"')
    assert reasons(found)[1] == ["there is no date"] and [one.key for one in found.questions] == ["blank_dates"]


def test_what_to_write_can_be_copied_whatever_stands_in_a_cell() -> None:
    """A mark that nobody sees is spelled out, in a way that a mapping reads."""
    text = HEAD + "2021-09-03,,4\u200f50,2\n"
    (asked,) = look(text).questions
    key = asked.answers[0].partition(" = ")[0]
    assert key == 'says.used."4\\U0000200F50"'
    assert states(look(text, said=f'{key} = "450"')) == ["new"]


def test_a_year_that_stands_nowhere_is_asked_about() -> None:
    """And is answered for the file, or for one sheet."""
    found = look(HEAD + "Sept 3,,450,430\n")
    assert [asked.key for asked in found.questions] == ["year"]
    assert dates(look(HEAD + "Sept 3,,450,430\n", said="year = 2019")) == ["2019-09-03"]


def test_a_heading_in_mid_sheet_that_names_a_year_holds_from_there_on() -> None:
    """As old books do that were never cut into sheets."""
    found = look(HEAD + "SEASON 2018,,,\nSept 3,,450,430\nSEASON 2019,,,\nSept 3,,460,440\n")
    assert dates(found) == ["2018-09-03", "2019-09-03"]
    assert found.aside["note"] == 2
    assert "years that are missing below row 2 are 2018, as it says" in found.sheets[0].told


def test_a_row_far_before_the_one_above_it_is_looked_at_again() -> None:
    """On a sheet of one year December may be that of the year before; a date that names its year is no matter."""
    rows = "12/30,,1,1\n1/2,,2,2\n1/3,,3,3\n2/1/2020,,4,4\n"
    found = look(HEAD + rows, "log 2021.csv")
    assert states(found) == ["new"] * 4
    assert [line.looks for line in work(found)] == [
        [], ["'1/2' is read as 2021-01-02, 362 days before the row above: another year may be meant"], [], [],
    ]  # fmt: skip
    plain = look(HEAD + "2021-12-30,,1,1\n2021-01-02,,2,2\n")
    assert not any(line.looks for line in work(plain))


def test_counts_of_days_are_told() -> None:
    """With an example; a file from another kind of machine counts from 1904."""
    found = look(HEAD + "44442,,450,430\n44443,,460,430\n")
    assert dates(found) == ["2021-09-03", "2021-09-04"]
    assert "2 dates are a spreadsheet's count of days: 44442 is 2021-09-03" in found.sheets[0].told
    assert dates(look(HEAD + "42980,,450,430\n", said='day_count = "1904"')) == ["2021-09-03"]


def test_times_with_a_date_are_left_with_the_text_of_the_cell() -> None:
    """A night belongs to the day on which it began, as the file says it."""
    line = only_row(HEAD + "2021-09-03 21:30,,450,430\n")
    assert (line.fields["date"], line.typed["date"]) == ("2021-09-03", "2021-09-03 21:30")


# ---- words and figures -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "ditto",
    [
        '""""',
        "ditto",
        "same as last",
        "Ídem",
        "lo mismo",
        "igual que arriba",
        "''",
        "Igual que el anterior",
        "same as previous",
    ],
)
def test_words_for_the_row_above_repeat_it(ditto: str) -> None:
    """Names and figures; the text of the cell is kept beside."""
    found = look(HEAD + f"2021-09-03,Big Blue,450,430\n2021-09-04,{ditto},{ditto},410\n")
    line = work(found)[1]
    assert line.fields == {"date": "2021-09-04", "rig": "Big Blue", "used": "450 gal", "recovered": "410 gal"}
    assert line.typed["used"] == ditto.strip('"') or line.typed["used"] == '"'


def test_words_for_the_row_above_need_something_there() -> None:
    """Blank, unread, or no row at all: it is asked about."""
    found = look(HEAD + "2021-09-03,,same as last,1\n2021-09-04,,?,2\n2021-09-05,,same as last,3\n")
    assert states(found) == ["questioned"] * 3
    assert "repeats the row above, where nothing is read" in reasons(found)[0][0]
    chain = look(HEAD + "2021-09-03,,450,1\n2021-09-04,,ditto,2\n2021-09-05,,ditto,3\n")
    assert [line.fields["used"] for line in work(chain)] == ["450 gal"] * 3
    passed = look(HEAD + "2021-09-03,,450,1\nTotal,,450,1\n2021-09-05,,ditto,3\n")
    assert states(passed) == ["new", "new"]


@pytest.mark.parametrize("word", ["none", "Lost", "TBD", "s/n", "No se sabe", "x", "pend.", "s/d"])
def test_a_word_for_no_name_is_asked_about_and_kept_as_none(word: str) -> None:
    """A night would have the ticket 'lost'; the mapping may say that there is one of that name."""
    head = "Date,Client,Used,Ticket\n"
    line = only_row(head + f"2021-09-03,Alder Foods,450,{word}\n")
    assert line.state == "questioned" and line.reasons[0].startswith(f"ticket: '{word}' may say that there is none")
    line = only_row(head + f"2021-09-03,Alder Foods,450,{word}\n", said=f'[says.ticket]\n"{word}" = "not recorded"')
    assert line.state == "new" and "ticket" not in line.fields
    line = only_row(head + f"2021-09-03,{word},450,\n", said=f'[says.client]\n"{word}" = "{word}"')
    assert line.state == "new" and line.fields["client"] == word


def test_a_word_means_what_the_mapping_says() -> None:
    """An answer without a value, nothing, or another figure."""
    text = HEAD + "2021-09-03,,-,1\n2021-09-04,,none,2\n2021-09-05,,busted,3\n2021-09-06,,2 totes,4\n"
    said = '[says]\n"-" = "not recorded"\nnone = "0"\nbusted = "not read"\n"2 totes" = "550 gal"\n'
    found = look(text, said=said)
    assert states(found) == ["new"] * 4
    assert [line.fields.get("used") for line in work(found)] == [None, "0 gal", "not read", "550 gal"]
    assert [line.typed.get("used") for line in work(found)] == [None, "none", "busted", "2 totes"]


def test_a_name_is_a_name() -> None:
    """One line, of bearable length, with a letter or a digit in it; a date in its place is a spreadsheet's doing."""
    head = "Date,Client,Ticket,Used\n"
    assert only_row(head + '2021-09-03,"Alder\nFoods",0041,450\n').fields["client"] == "Alder Foods"
    assert only_row(head + f"2021-09-03,{'x' * 201},1,450\n").state == "refused"
    assert only_row(head + "2021-09-03,--,1,450\n").reasons == ["client: '--' is no name"]
    assert only_row(head + "2021-09-03,n/a,1,450\n").fields["client"] == "not applicable"
    sheet = workbook({"Log": [("Date", "Ticket", "Used"), ("2021-09-03", date(2021, 3, 14), 450)]})
    (line,) = work(look(sheet, "a.xlsx"))
    assert (line.state, line.reasons) == (
        "questioned", ["ticket: '2021-03-14' is a date, which a spreadsheet may have made of something else"],
    )  # fmt: skip


def test_the_unit_is_that_of_the_cell_then_the_heading_then_the_mapping_then_the_book() -> None:
    """Which of them it was is told where it was the book."""
    assert only_row("Date,Used (L)\n2021-09-03,450 gal\n").fields["used"] == "450 gal"
    assert only_row("Date,Used (L)\n2021-09-03,450\n", said='unit = "m3"').fields["used"] == "450 L"
    assert only_row("Date,Used\n2021-09-03,45\n", said='unit = "m3"').fields["used"] == "45 m3"
    found = look("Date,Used\n2021-09-03,450\n")
    assert work(found)[0].fields["used"] == "450 gal"
    assert "figures without a unit in used are taken in gal, the unit of the book" in found.told


def test_a_column_of_units_that_says_otherwise_is_asked_about() -> None:
    """Its rows wait until the mapping says the unit, or leaves that column aside."""
    text = "Date,Client,Used,Recovered,UOM\n2021-09-03,A,1700,1650 L,L\n2021-09-04,B,450,430,gal\n2021-09-05,C,450,,?\n"
    found = look(text)
    assert states(found) == ["questioned", "new", "new"]
    assert reasons(found)[0] == ["used: column E, 'UOM', says L, and 1700 gal was read"]
    (asked,) = found.questions
    assert asked.key == "unit" and asked.answers == ('unit = "each row"', 'unit = "L"')
    assert states(look(text, said=found.settled)) == ["questioned", "new", "new"]
    assert states(look(text, said='unit = "L"')) == ["new", "questioned", "new"]
    aside = look(text, said='[columns]\nUOM = "not used"')
    assert states(aside) == ["new"] * 3 and aside.settled.columns["UOM"] == "not used"


def test_a_mapping_takes_the_unit_of_each_row_from_the_column_of_units() -> None:
    """A blank one leaves the unit of the book, which is told; a word that is no unit of volume is never passed over."""
    head, said = "Date,Client,Used,Recovered,UOM\n", 'unit = "each row"'
    text = head + "2021-09-03,A,1700,1650 L,L\n2021-09-04,B,450,430,gal\n2021-09-05,C,450,,\nTotal,,2600\n"
    found = look(text, said=said)
    assert states(found) == ["new"] * 3
    assert [line.fields["used"] for line in work(found)] == ["1700 L", "450 gal", "450 gal"]
    assert [line.fields.get("recovered") for line in work(found)] == ["1650 L", "430 gal", None]
    assert (
        "figures without a unit in recovered, used are taken in that of the column of units, row by row, "
        "and in gal, the unit of the book, where it has none" in found.told
    )
    assert found.settled.choice("unit") == "each row" and found.sheets[0].layout.aside == {4: "unit of each row"}
    assert reasons(look(head + "2021-09-03,A,450,430 gal,barrels\n2021-09-04,B,,,in\n", said=said)) == [
        ["column E, 'UOM', says 'barrels', which is no unit of volume that is known here"],
        ["column E, 'UOM', says 'in', which is no unit of volume that is known here"],
    ]
    own = look(head + "2021-09-03,A,450 gal,,L\n", said=said)
    assert reasons(own) == [["used: column E, 'UOM', says L, and 450 gal was read"]]
    assert work(look("Date,Client,Used\n2021-09-03,A,450\n", said=said))[0].fields["used"] == "450 gal"


def test_the_unit_of_each_row_is_not_that_of_a_column_whose_heading_names_its_own() -> None:
    """One column in gallons and litres by turns stands beside another that is always in gallons; both are told."""
    text = "Date,Client,Used,Unit,Recovered (gal)\n2021-09-03,A,1700,L,430\n2021-09-04,B,450,gal,410\n"
    assert states(look(text)) == ["questioned", "new"]
    found = look(text, said='unit = "each row"')
    assert [(line.fields["used"], line.fields["recovered"]) for line in work(found)] == [
        ("1700 L", "430 gal"),
        ("450 gal", "410 gal"),
    ]
    assert found.told[1:] == (
        "figures without a unit in used are taken in that of the column of units, row by row, "
        "and in gal, the unit of the book, where it has none; recovered is taken in gal, as its heading says",
    )


def test_rows_without_a_column_of_figures_are_pointed_out() -> None:
    """Where columns were passed over, one of them may say how much; where none was, there is nothing to name."""
    first = "! no column is read as"
    text = "Date,Client,Qty out,Vac'd\n2021-09-03,A,450,430\n"
    said = (
        " the water used or recovered: rows come in without it; if a column above that is not used says it, "
        'write under [columns], for example: "its heading" = "used"'
    )
    assert look(text).told[1:] == (first + said,)
    half = look(text, said='[columns]\n"Qty out" = "used"')
    assert [told for told in half.told if told.startswith("!")] == [
        first + said.replace("used or recovered", "recovered").replace('= "used"', '= "recovered"')
    ]
    meters = "Date,Client,Meter start,Meter end,Tank before (in),Tank after (in),Fee\n2021-09-03,A,1,5,1,5,9\n"
    assert look(meters).told[1:] == ()
    assert look("Date,Client,Ticket\n2021-09-03,A,7\n").told[1:] == ()
    assert look("Date,Client,Fee,Accepted (gal)\n2021-09-03,A,7,450\n").told[1:] == ()


def test_the_question_about_dates_says_what_becomes_of_a_job_on_two_lines() -> None:
    """Each line is a row of its own: half a job under no client, unless the file is mended first."""
    (asked,) = look("Date,Client,Used,Dumped at\n2021-09-03,A,450,\n,back lot,430,Ridge Road\n").questions
    assert asked.answers == ('blank_dates = "same as above"',)
    assert asked.also == "put each job on one line of the file first: what stands on two comes in as two rows"


def test_the_mark_before_decimals_is_found_in_the_whole_file() -> None:
    """In another column, on another row; and told."""
    text = "Date;Used;Recovered\n2021-09-03;1.200;1.100\n2021-09-04;1.150;1.050,5\n"
    found = look(text)
    assert [line.fields["used"] for line in work(found)] == ["1200 gal", "1150 gal"]
    assert "decimals stand behind a comma, as in '1.050,5' in row 3" in found.told
    both = look(text + "2021-09-05;450.25;1\n")
    assert states(both) == ["questioned", "questioned", "new"]
    assert [asked.key for asked in both.questions] == ["decimal"]


def test_what_waits_for_one_answer_is_asked_once() -> None:
    """With the number of rows, the commonest text first, and no more than a dozen texts."""
    rows = [f"2021-09-{n + 1:02},,{'?' if n % 2 else 'x' + str(n)},1" for n in range(28)]
    found = look(HEAD + "\n".join(rows) + "\n")
    texts = [asked for asked in found.questions if asked.key == "says"]
    assert (texts[0].why, texts[0].rows) == ("used: what '?' stands for", 14)
    assert len(texts) == 13 and texts[-1].why == "3 more texts: see the rows"
    assert sum(asked.rows for asked in texts) == 28


def test_the_values_of_the_mapping_fill_what_is_blank() -> None:
    """And nothing else."""
    text = HEAD + "2021-09-03,,450,1\n2021-09-04,Little Heron,450,2\n"
    found = look(text, said='values = {rig = "Big Blue", job = "J-1"}')
    assert [(line.fields["rig"], line.fields["job"]) for line in work(found)] == [
        ("Big Blue", "J-1"), ("Little Heron", "J-1"),
    ]  # fmt: skip


# ---- rows that are no work ---------------------------------------------------------------------------------------


def test_notes_are_left_aside_and_shown() -> None:
    """A text, a date with a remark, a name alone, what stands in no column that is read."""
    text = (
        "Date,Client,Used,Notes,Fuel\nclosed for winter,,,,\n2021-12-24,,,truck in shop,\n,Alder Foods,,,\n,,,,18.20\n"
        "2021-12-27,Alder Foods,450,,\n"
    )
    found = look(text)
    assert found.aside["note"] == 4 and states(found) == ["new"]


def test_headings_that_stand_again_are_no_work() -> None:
    """On every printed page, in any case; two rows of them too."""
    text = HEAD + "2021-09-03,,450,430\nDATE,RIG,USED,RECOVERED\n2021-09-04,,450,430\n"
    assert look(text).aside["headings"] == 2
    rows = [("Date", "Meter", None), (None, "Start", "End"), ("2021-09-03", 1, 2), ("Date", "Meter", None),
            (None, "Start", "End"), ("2021-09-04", 2, 3)]  # fmt: skip
    found = look(workbook({"Log": rows}), "a.xlsx")
    assert found.aside["headings"] == 4 and states(found) == ["new", "new"]


def test_a_client_whose_name_is_a_heading_is_work() -> None:
    """One word in common is no row of headings."""
    assert only_row("Client,Date,Used\nClient,2021-09-03,450\n").state == "new"


def test_rows_may_be_left_out_by_the_mapping() -> None:
    """By their numbers."""
    text = HEAD + "2021-09-03,,450,430\n2021-09-04,,9999,430\n"
    found = look(text, said='[[sheet]]\nname = ""\nleave_out = [3]\n')
    assert states(found) == ["new"] and found.aside["left out"] == 1
    assert [line.aside for line in found.lines][-1] == "left out by the mapping"


def test_figures_without_a_word_are_asked_about() -> None:
    """A total that has no name and does not agree would count everything twice."""
    found = look(HEAD + "2021-09-03,,450,430\n2021-09-04,,460,440\n,,900,870\n", said='blank_dates = "same as above"')
    assert states(found) == ["new", "new", "questioned"]
    (asked,) = found.questions
    assert asked.key == "leave_out" and asked.under == {"": "leave_out = [4]"}
    agreed = look(HEAD + "2021-09-03,,450,430\n2021-09-04,,460,440\n,,910,870\n")
    assert states(agreed) == ["new", "new"] and agreed.aside["total"] == 1


# ---- meters ------------------------------------------------------------------------------------------------------

METER = "Date,Rig,Meter start,Meter end,Used (gal)\n"


def test_the_difference_of_two_readings_is_stated() -> None:
    """Beside the figures; nothing is taken from it unless the mapping says so."""
    line = only_row(METER + "2021-09-03,Big Blue,1000.5,1450.5,\n")
    assert line.fields == {"date": "2021-09-03", "rig": "Big Blue", "meter_start": "1000.5", "meter_end": "1450.5"}
    assert str(line.difference) == "450.0" and not line.looks
    line = only_row(METER + "2021-09-03,Big Blue,1000.5,1450.5,\n", said='used_from_meter = "gal"')
    assert line.fields["used"] == "450.0 gal" and line.typed["used"] == "meter 1000.5 to 1450.5"


def test_a_meter_that_runs_backwards_is_told_and_never_put_right() -> None:
    """It rolled over, or it is another meter: the file does not say."""
    line = only_row(METER + "2021-09-03,Big Blue,99850,120,\n", said='used_from_meter = "gal"')
    assert line.state == "new" and "used" not in line.fields
    assert str(line.difference) == "-99730" and "goes from 99850 back to 120" in line.looks[0]


def test_a_meter_that_begins_below_where_it_ended_is_told() -> None:
    """By rig; a gap upwards is water that is not in this file, and is nothing to tell."""
    text = METER + (
        "2021-09-03,Big Blue,1000,1450,\n2021-09-03,Heron,200,300,\n2021-09-04,Big Blue,1500,1900,\n"
        "2021-09-05,Big Blue,10,400,\n2021-09-06,Heron,300,420,\n"
    )
    found = look(text)
    assert [bool(line.looks) for line in work(found)] == [False, False, False, True, False]
    assert "begins at 10, below the 1900" in work(found)[3].looks[0]


def test_used_is_held_against_the_meter_where_its_unit_is_known() -> None:
    """Both are kept."""
    text = "Date,Meter start (gal),Meter end (gal),Used (gal)\n2021-09-03,0,450,405\n2021-09-04,450,900,450.5\n"
    found = look(text)
    assert work(found)[0].looks == ["used says 405 gal, the meter 450 gal; both are kept"]
    assert not work(found)[1].looks
    assert not only_row(METER + "2021-09-03,Big Blue,0,450,405\n").looks  # nobody knows what the register counts


def test_used_is_not_taken_from_the_meter_where_its_cell_is_asked_about() -> None:
    """The cell has something to say first; and a reading that was not read gives no difference."""
    line = only_row(METER + "2021-09-03,Big Blue,0,450,?\n", said='used_from_meter = "gal"')
    assert line.state == "questioned" and "used" not in line.fields
    line = only_row(METER + "2021-09-03,Big Blue,did not read,450,\n", said='used_from_meter = "gal"')
    assert line.fields["meter_start"] == "not read" and line.difference is None and line.state == "new"


# ---- what must not be lost, and what must not be taken -----------------------------------------------------------


def test_work_above_the_headings_is_asked_about_and_never_lost_as_a_title() -> None:
    """As on a first page whose headings were cut off."""
    text = "2021-09-01,Big Blue,440,420\nprinted 2021-12-01,,,\n" + HEAD + "2021-09-03,Big Blue,450,430\n"
    found = look(text)
    assert states(found) == ["questioned", "new"] and found.aside["title"] == 1
    (asked,) = found.questions
    assert (asked.key, asked.rows) == ("heading_rows", 1)
    assert states(look(text, said='[[sheet]]\nname = ""\nleave_out = [1]\n')) == ["new"]
    lettered = '[[sheet]]\nname = ""\nheading_rows = []\nleave_out = [2, 3]\n[sheet.columns]\n' \
               'A = "date"\nB = "rig"\nC = "used"\nD = "recovered"\n'  # fmt: skip
    assert states(look(text, said=lettered)) == ["new", "new"]
    sheet = workbook({"2021": [(date(2021, 9, 1), 440), ("Date", "Used"), (date(2021, 9, 3), 450)]})
    assert states(look(sheet, "a.xlsx")) == ["questioned", "new"]


def test_a_total_with_a_date_is_no_work() -> None:
    """It agrees with the rows above it, or it is asked about; a client may be called 'Total Wash'."""
    head, rows = "Date,Client,Used\n", "2021-09-03,A,450\n2021-09-04,B,460\n"
    found = look(head + rows + "2021-09-30,TOTAL,910\n")
    assert states(found) == ["new", "new"] and found.totals[0].agrees
    found = look(head + rows + "2021-09-30,Total:,911\n")
    assert states(found) == ["new", "new", "questioned"]
    assert [asked.key for asked in found.questions] == ["leave_out"]
    assert states(look(head + rows + "2021-09-30,Total Wash,910\n")) == ["new"] * 3


def test_rows_from_after_the_book_was_begun_are_pointed_out() -> None:
    """No rule will ever judge them: the owner may want to hand them in as nights."""
    found = look(HEAD + "2026-09-30,Big Blue,1,1\n2026-10-01,Big Blue,2,1\n")
    assert states(found) == ["new", "new"]
    assert any(told.startswith("1 new row is of 2026-10-01 or later, when the book was begun") for told in found.told)
    assert not any("later, when" in told for told in look(HEAD + "2026-09-30,Big Blue,1,1\n").told)


def test_a_long_note_names_no_year_for_what_stands_below_it() -> None:
    """Only a heading within the sheet does."""
    note = "the station was closed until the spring of 2018 and nobody told us"
    found = look(HEAD + f"{note},,,\nSept 3,,450,430\n")
    assert states(found) == ["questioned"]


def test_dates_turned_by_a_spreadsheet_of_the_other_kind_are_asked_about_too() -> None:
    """It left 9/23/2018 as a text, and took 9/3/2018 for the ninth of March."""
    rows = [("Date", "Used"), ("9/23/2018", 1), (date(2018, 3, 9), 2)]
    found = look(workbook({"Log": rows}), "a.xlsx")
    assert states(found) == ["new", "questioned"]
    assert dates(look(workbook({"Log": rows}), "a.xlsx", said='turned_dates = "yes"'))[1] == "2018-09-03"
