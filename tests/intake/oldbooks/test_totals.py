"""Totals in a file are held against the rows above them, and told with both figures where they do not agree."""

from __future__ import annotations

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
     "Week total", "2021 totals", "Total 2021", "March total", "Total del mes", "Sum of page", "Subtotales"],
)  # fmt: skip
def test_a_word_says_that_a_row_is_a_total(text: str) -> None:
    """In both languages, with a month or a year."""
    assert is_total(["", text]) == text


@pytest.mark.parametrize(
    "text", ["", "Totally wet", "Alder Foods", "summer wash", "a total loss of power that night, see below"]
)
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
