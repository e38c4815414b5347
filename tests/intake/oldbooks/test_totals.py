"""Totals in a file are held against the rows above them, and told with both figures where they do not agree."""

from __future__ import annotations

from decimal import Decimal

import pytest

from compliance.intake.oldbooks.lines import TotalSaid
from compliance.intake.oldbooks.totals import is_total
from tests.intake.oldbooks.looking import look, workbook

HEAD = "Date,Client,Used,Recovered\n"
ROWS = "2021-09-03,A,450,430\n2021-09-04,B,460,440\n"


def totals(text: str, said: str = "") -> tuple[TotalSaid, ...]:
    return look(text, said=said).totals


@pytest.mark.parametrize(
    "text",
    ["Total", "TOTALS:", "Totales", "Subtotal", "sub-total", "Sub Total January", "Grand total", "Gran total", "Suma",
     "Week total", "2021 totals", "Total 2021", "March total", "Total del mes", "Sum of page", "Subtotales",
     "Sub-tot", "Sub tot", "SUBTOT.", "Subt.", "Sub-t", "sub_total", "Tot", "tot. gal", "Page total", "Pg 2 tot",
     "wk 3 ttl", "Total página 2", "Total de la página", "Subt. semana", "Sub-tot. mayo", "Suma de la hoja", "Acum.",
     "Tot. gral. Total", "Brought forward", "B/F", "C/Fwd", "Suma y sigue", "YTD", "** TOTAL **", "Total general"],
)  # fmt: skip
def test_a_word_says_that_a_row_is_a_total(text: str) -> None:
    """In both languages, with a month or a year."""
    assert is_total(["", text]) == text


@pytest.mark.parametrize(
    "text",
    ["", "Totally wet", "Alder Foods", "summer wash", "a total loss of power that night, see below",
     "Tot Lot Playground", "Subtle Bakery", "Gran Plaza", "Week 2", "Page", "Summit Deli", "B F Foods"],
)  # fmt: skip
def test_other_words_do_not(text: str) -> None:
    """Nor a sentence."""
    assert is_total([text]) == ""


def test_a_total_that_agrees_is_told_in_one_line() -> None:
    """And a row with a date is work, whatever its client is called."""
    used, recovered = totals(HEAD + ROWS + "Total,,910,870\n")
    assert used.agrees and recovered.agrees
    assert used.text == "row 4, used: says 910 gal, as rows 2 to 3 do"
    assert totals(HEAD + "2021-09-03,Total Wash,450,430\n") == ()


def test_a_total_that_does_not_agree_is_told_with_both_figures() -> None:
    """And which way it is out; the rows stay as they are."""
    found = look(HEAD + ROWS + "Total,,920,870\n")
    (used, _) = found.totals
    assert used.text == (
        "row 4, used: says 920 gal; rows 2 to 3 add up to 910 gal: the total says 10 gal more"
    )  # fmt: skip
    assert totals(HEAD + ROWS + "Total,,900,870\n")[0].text.endswith("the total says 10 gal less")
    assert found.counts["new"] == 2


def test_a_sum_of_rows_in_two_units_is_told_in_hundredths() -> None:
    """1,703 litres are 449.885... gallons; their 24 decimals helped nobody to find the slip."""
    text = HEAD + "2021-09-03,Alder,1703 L,430\n2021-09-10,Alder,450,440\nTotal,,950,870\n"
    assert totals(text)[0].text == (
        "row 4, used: says 950 gal; rows 2 to 3 add up to 899.89 gal: the total says 50.11 gal more"
    )


def test_subtotals_and_the_total_of_all_are_each_held_against_their_rows() -> None:
    """A subtotal against the rows since the last one, the last against all."""
    text = HEAD + ROWS + "Subtotal,,910,870\n2021-10-01,A,100,90\nSubtotal,,100,90\nTotal,,1010,960\n"
    assert [total.agrees for total in totals(text)] == [True] * 6
    text = HEAD + ROWS + "Subtotal,,910,870\n2021-10-01,A,100,90\nSubtotal,,101,90\nTotal,,1011,960\n"
    wrong = [total for total in totals(text) if not total.agrees]
    assert [(total.row, str(total.says), str(total.adds_up), total.first) for total in wrong] == [
        (6, "101", "100", 5), (7, "1011", "1010", 2),
    ]  # fmt: skip


def test_a_yearly_total_after_none_is_of_the_whole_sheet() -> None:
    """Also where it does not agree."""
    text = HEAD + ROWS + "Total,,910,870\n2021-10-01,A,100,90\nTotal 2021,,1000,960\n"
    wrong = [total for total in totals(text) if not total.agrees]
    assert [(total.row, total.first, total.last) for total in wrong] == [(6, 2, 5)]


def test_a_sum_that_leaves_out_texts_is_told_as_what_it_is() -> None:
    """A spreadsheet does not add '~450' or '450 gal'; the figures are water all the same."""
    text = HEAD + "2021-09-03,A,450,1\n2021-09-04,B,~460,1\n2021-09-05,C,470 gal,1\nTotal,,450,3\n"
    used = totals(text)[0]
    assert not used.agrees and str(used.adds_up) == "1380"
    assert used.why == "it leaves out what stands as a text in rows 3, 4, as a spreadsheet's own sum does"


def test_rows_that_cannot_be_added_are_named() -> None:
    """Nobody can say whether the total agrees with them."""
    text = HEAD + "".join(f"2021-09-{n:02},A,{'?' if n > 1 else 450},1\n" for n in range(1, 12)) + "Total,,900,11\n"
    used = totals(text)[0]
    assert used.why.startswith("without rows 3, 4, 5, 6, 7, 8, 9, 10 and 2 more, whose figure cannot be read")
    bound = totals(HEAD + "2021-09-03,A,450,1\n2021-09-04,B,at least 400,1\nTotal,,850,2\n")[0]
    assert bound.why == "without row 3, whose figure cannot be read or added"


def test_refused_rows_count_in_a_total_as_far_as_they_can_be_read() -> None:
    """The file added them up as well."""
    used, recovered = totals(HEAD + ROWS + "2021-02-30,C,90,80\nTotal,,1000,950\n")
    assert used.agrees and recovered.agrees


def test_a_total_is_read_as_far_as_it_was_written() -> None:
    """Rounded to whole gallons; in another unit."""
    text = HEAD + "2021-09-03,A,450.4,430\n2021-09-04,B,460.3,440\nTotal,,911,870\n"
    assert totals(text)[0].agrees
    assert not totals(text.replace("911", "911.0"))[0].agrees
    litres = "Date,Client,Used (L)\n2021-09-03,A,1000\n2021-09-04,B,1000\nTotal,,528.34 gal\n"
    assert totals(litres)[0].agrees


def test_a_total_that_fits_nothing_is_held_against_the_nearest_sum() -> None:
    """The second total of a file may be of its part or of everything; a wrong figure is told beside the likelier."""
    text = HEAD + ROWS + "Total,,910,870\n" + "2021-09-05,C,450,430\n2021-09-06,D,460,440\n"
    part = totals(text + "Total,,900,870\n")[2]
    assert (part.adds_up, part.first, part.agrees) == (Decimal(910), 5, False)
    whole = totals(text + "Total,,1800,1740\n")[2]
    assert (whole.adds_up, whole.first, whole.agrees) == (Decimal(1820), 2, False)


def test_totals_that_cannot_be_read_are_told_in_one_line_a_sheet() -> None:
    """A year of weeks whose sums the file does not hold would bury what is asked."""
    rows: list[tuple[object, ...]] = [("Date", "Used", "Recovered")]
    for week in range(3):
        rows += [(f"2021-09-0{week + 1}", 450, 430), ("Total", "=SUM(B2)", "=SUM(C2)")]
    found = look(workbook({"Log": rows, "More": rows[:3]}), "a.xlsx")
    assert found.totals_told == [
        "! totals in rows 3, 5, 7 of sheet 'Log', used, recovered: cannot be read",
        "! total in row 3 of sheet 'More', used, recovered: cannot be read",
    ]


def test_a_total_that_cannot_be_read_is_told() -> None:
    """A formula without its value, a word; a bound is no total."""
    rows = [("Date", "Used"), ("2021-09-03", 450), ("Total", "=SUM(B2:B2)")]
    (total,) = look(workbook({"Log": rows}), "a.xlsx").totals
    assert total.says is None and not total.agrees and total.text.endswith("used: cannot be read")
    assert totals(HEAD + ROWS + "Total,,about right,870\n")[0].says is None


def test_a_total_above_every_row_has_nothing_to_be_held_against() -> None:
    """Some put it on top."""
    found = look(HEAD + "Total,,910,870\n" + ROWS)
    assert found.totals == () and found.aside["total"] == 1 and found.counts["new"] == 2


def test_a_total_without_figures_is_a_note() -> None:
    """It says nothing that could be checked."""
    assert look(HEAD + ROWS + "Total,,,\n").aside["note"] == 1


def test_a_total_says_in_its_row_whether_it_agrees() -> None:
    """So that the list of rows can be read alone."""
    found = look(HEAD + ROWS + "Total,,910,870\nTotal,,911,870\n")
    assert [line.aside for line in found.lines if line.kind == "total"] == [
        "a total; it agrees with the rows above", "a total; it does not agree with the rows above",
    ]  # fmt: skip


def test_one_row_alone_makes_no_total_without_a_name() -> None:
    """A figure that stands twice is more likely work written without its date."""
    found = look(HEAD + "2021-09-03,A,450,430\n,,450,430\n")
    assert found.counts["questioned"] == 1 and found.aside["total"] == 0


# ---- what is called by its week, its page or its month -------------------------------------------------------------


@pytest.mark.parametrize(
    "label",
    ["Week 2", "Wk 3", "wk. #3", "WK3", "Week ending 9/4", "Week of 9/3", "2nd week", "Page 4", "Pg. 4", "Semana 2",
     "Sem. 2", "Semana del 3 al 4", "1ra quincena", "Pág. 2", "Hoja 3", "Month"],
)  # fmt: skip
@pytest.mark.parametrize("row", ["{},,910,870", ",{},910,870"], ids=["among the dates", "among the clients"])
def test_a_week_or_a_page_below_its_work_is_a_total(label: str, row: str) -> None:
    """In either language, whether it stands where the dates stand or beside them; it is said what it was taken for."""
    found = look(HEAD + ROWS + row.format(label) + "\n2021-09-10,C,100,90\n")
    assert found.counts == {"new": 3, "duplicate": 0, "refused": 0, "questioned": 0}
    assert found.aside["total"] == 1 and [total.agrees for total in found.totals] == [True, True]
    (line,) = [line for line in found.lines if line.kind == "total"]
    assert line.aside == f"taken for a total: it says '{label}' and figures; it agrees with the rows above"


def test_a_week_that_disagrees_is_held_against_its_own_rows() -> None:
    """Whatever was added up before it."""
    text = HEAD + ROWS + "Week 1,,910,870\n2021-09-10,C,100,90\nWeek 2,,110,90\n"
    wrong = [total for total in totals(text) if not total.agrees]
    assert [(total.row, str(total.adds_up), total.first) for total in wrong] == [(6, "100", 5)]
    wrong = [total for total in totals(text.replace("Week 2", "Sub-tot")) if not total.agrees]
    assert [(total.row, str(total.adds_up), total.first) for total in wrong] == [(6, "100", 5)]


def test_two_totals_of_the_same_rows_are_both_held_against_them() -> None:
    """'Sub-tot' and below it 'Week 1'; the total of all is still of all."""
    text = HEAD + ROWS + "Sub-tot,,910,870\n2021-09-10,C,100,90\nSub-tot,,100,90\nWeek 2,,100,91\nTotal,,100,960\n"
    wrong = [total for total in totals(text) if not total.agrees]
    assert [(total.row, str(total.says), total.first) for total in wrong] == [(7, "91", 5), (8, "100", 2)]


def test_a_book_kept_by_the_week_is_work_and_asked_about() -> None:
    """No row has a date above it, and a row that says whose work it was is none either."""
    found = look(HEAD + "Week 1,,450,430\nWeek 2,,460,440\n")
    assert found.aside["total"] == 0 and found.counts["questioned"] == 2
    found = look(HEAD + ROWS + "Week 2,Alder Foods,460,440\n")
    assert found.aside["total"] == 0 and found.counts == {"new": 2, "duplicate": 0, "refused": 0, "questioned": 1}


def test_the_name_of_a_month_is_a_total_among_the_dates_or_where_it_fits() -> None:
    """Elsewhere April may be the one who drove."""
    found = look(HEAD + ROWS + "September,,900,870\n")
    assert found.aside["total"] == 1 and [total.agrees for total in found.totals] == [False, True]
    assert look(HEAD + ROWS + ",septiembre 2021,910,870\n").aside["total"] == 1
    found = look("Date,Driver,Used\n2021-09-03,A,450\n,April,460\n", said='blank_dates = "same as above"')
    assert found.counts["new"] == 2


@pytest.mark.parametrize(
    "label", ["Avg", "AVERAGE 2021", "Promedio por noche", "Max.", "% recovered, percent", "min / night"]
)
def test_an_average_is_no_work_and_no_sum(label: str) -> None:
    """It is left aside and shown; no year is taken from it, and a client may be called 'Max Foods'."""
    found = look(HEAD + ROWS + f'"{label}",,455,435\n3-Oct,C,1,1\nTotal,,911,871\n')
    assert found.aside["note"] == 1 and [total.agrees for total in found.totals] == [True, True]
    assert found.counts["new"] == 3
    found = look(HEAD + ROWS + ",Max Foods,455,435\n")
    assert found.aside["note"] == 0 and found.counts["questioned"] == 1
    led = "Date,Crew lead,Client,Used\n2021-09-03,Ann,A,450\n,Max,,460\n,Max,B,470\n"
    assert look(led, said='blank_dates = "same as above"').counts["new"] == 3


def test_a_long_label_that_begins_as_a_subtotal_is_one() -> None:
    """'Subtotal for the month of ..., all rigs'."""
    found = look(HEAD + ROWS + '"Subtotal for the month of September, all rigs and both crews",,910,870\n')
    assert found.aside["total"] == 1 and found.counts["new"] == 2


def test_a_short_word_for_a_total_with_a_date_is_no_work_either() -> None:
    """It agrees, or it is asked about."""
    found = look(HEAD + ROWS + "2021-09-30,Subt.,910,870\n2021-09-30,Wk 4 tot,911,870\n")
    assert found.counts["new"] == 2 and found.aside["total"] == 1
    assert [asked.key for asked in found.questions] == ["leave_out"]


def test_a_row_without_a_date_stays_out_of_the_sum() -> None:
    """It may be no work; a total that only agrees with it in the sum is told to do so."""
    text = HEAD + ROWS + ",Little Market,310,300\nTotal,,{},{}\n"
    used, recovered = totals(text.format(910, 1170))
    assert used.agrees and recovered.agrees
    assert used.text == "row 5, used: says 910 gal, as rows 2 to 4 do (without row 4, which has no date)"
    assert recovered.text == "row 5, recovered: says 1,170 gal, as rows 2 to 4 do (with row 4, which has no date)"
    used, _ = totals(text.format(920, 1))
    assert used.text == (
        "row 5, used: says 920 gal; rows 2 to 4 add up to 910 gal: the total says 10 gal more"
        " (without row 4, which has no date)"
    )
    odd = HEAD + ROWS + "Running,Little Market,310,\n,Gull Street,~20,\nTotal,,1220,870\n"
    assert totals(odd)[0].why == (
        "it leaves out what stands as a text in row 5, as a spreadsheet's own sum does; "
        "with rows 4, 5, which have no date"
    )
    assert totals(text.format(1220, 1170), said='blank_dates = "same as above"')[0].why == ""


def test_a_date_that_is_asked_about_is_still_a_date() -> None:
    """Its row was added up by whoever kept the book."""
    text = "Date,Client,Used\n03/04/2021,A,450\n03/05/2021,B,460\nTotal,,910\n"
    found = look(text)
    assert found.counts["questioned"] == 2 and found.totals[0].agrees and found.totals[0].why == ""
