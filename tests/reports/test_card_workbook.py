"""The empty keying workbook: every answer of the card has a column, and no name of a book can become a formula."""

from __future__ import annotations

import re
from io import BytesIO
from typing import Any
from zipfile import ZipFile

import pytest
from openpyxl import load_workbook

from compliance.intake.card_lines import NIGHT, OPEN, STOP, TICKS
from compliance.intake.keying import FORM_SHEET, VERSION
from compliance.records.names import folded
from compliance.records.registers import Registers
from compliance.reports import card_help, card_workbook
from compliance.reports.card_workbook import LISTS, heading
from compliance.reports.model import Language, Paper
from compliance.reports.words import LANGUAGES
from tests.cases import state_of

from .test_words import TOO_MUCH

REGISTERS = state_of().registers


def opened(
    language: Language = "en", paper: Paper = "letter", registers: Registers | None = REGISTERS, unit: str = "gal"
) -> Any:
    return load_workbook(BytesIO(card_workbook.render(language, paper, registers, unit)))


def offered(book: Any, sheet: str) -> dict[str, list[str]]:
    """Key of a column -> what its drop-down offers."""
    keys = {cell.column_letter: cell.value for cell in book[sheet][1]}
    found = {}
    for rule in book[sheet].data_validations.dataValidation:
        if rule.type == "list":
            (cells,) = (str(cells) for cells in rule.sqref.ranges)
            letters, first, last = re.fullmatch(rf"'{LISTS}'!\$([A-Z]+)\$(\d+):\$\1\$(\d+)", rule.formula1).groups()
            column = book[LISTS][letters][int(first) - 1 : int(last)]
            found[keys[re.match("[A-Z]+", cells)[0]]] = [cell.value for cell in column]
    return found


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_answer_has_a_column_with_its_heading_and_its_help(language: Language) -> None:
    """In the order of the card; no two headings alike, so that a reader of the sheet can tell them apart."""
    book = opened(language)
    nights, stops = book.sheetnames[:2]
    assert [cell.value for cell in book[nights][1]] == [ask.key for ask in NIGHT]
    assert [cell.value for cell in book[stops][1]] == ["card", "n", *(ask.key for ask in STOP)]
    for sheet, asks in ((nights, NIGHT), (stops, STOP)):
        headings = [cell.value for cell in book[sheet][2]]
        assert len(set(headings)) == len(headings)
        assert {heading(ask, language, "gal") for ask in asks} <= set(headings)
        prompts = [rule.prompt for rule in book[sheet].data_validations.dataValidation]
        assert len(prompts) == len(headings)
        assert all(prompt and len(prompt) <= 255 for prompt in prompts)
    help_sheet = book[{"en": "help", "es": "ayuda"}[language]]
    left = {cell.value for cell in help_sheet["A"]}
    assert {heading(ask, language, "gal") for ask in (*NIGHT, *STOP)} <= left


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_drop_down_offers_the_boxes_of_the_card_in_its_words(language: Language) -> None:
    """In Spanish as the crew ticked them, in the first person."""
    book = opened(language)
    for sheet, asks in zip(book.sheetnames[:2], (NIGHT, STOP), strict=True):
        lists = offered(book, sheet)
        for ask in asks:
            if ask.way == TICKS:
                boxes = [ask.answer(value, language) for value in ask.printed]
                assert lists[ask.key][: len(boxes)] == boxes
    assert ("lo cubrí" in lists["drains"]) == (language == "es")


def test_only_boxes_are_held_to_what_is_offered() -> None:
    """A name that no register has yet may be typed; an answer that no box stands for may not."""
    book = opened()
    for sheet, asks in zip(book.sheetnames[:2], (NIGHT, STOP), strict=True):
        strict = {ask.key for ask in asks if ask.way == TICKS and ask.key not in OPEN}
        keys = {cell.column_letter: cell.value for cell in book[sheet][1]}
        for rule in book[sheet].data_validations.dataValidation:
            key = keys[re.match("[A-Z]+", str(rule.sqref))[0]]
            if rule.type == "list":
                assert bool(rule.showErrorMessage) == (key in strict), key


def test_names_of_the_book_are_offered_where_they_belong() -> None:
    """Of the right kind: recovery tanks, meters by what passes through them, places beside the words for 'where'."""
    lists = offered(opened(), "nights") | {"site": offered(opened(), "stops")["site"]}
    assert "Big Blue recovery" in lists["tank"]
    assert "Big Blue fresh" not in lists["tank"]
    assert "Big Blue supply meter" in lists["supply_meter"]
    assert "Big Blue transfer meter" not in lists["supply_meter"]
    assert "Big Blue transfer meter" in lists["handover_meter"]
    assert "Port Alder receiving station" in lists["where"]
    assert "Port Alder receiving station" in lists["emptied_at"]
    assert {"Tomás Ibarra"} <= set(lists["lead"]) & set(lists["keyed_by"])
    assert "Harbor deck" in lists["site"]
    assert "mild detergent" in lists["agent_2"]


def test_without_a_book_names_are_typed() -> None:
    """The form is whole; only its lists of names are not there."""
    book = opened(registers=None)
    assert "rig" not in offered(book, "nights")
    assert offered(book, "nights")["where"] == ["aboard", "no water", "not known"]


@pytest.mark.parametrize("name", ["=1+1", "+1 555 0142", "-deck", "@home", "=cmd|' /C calc'!A0", "\tTab", "'quoted"])
def test_no_name_of_a_book_becomes_a_formula(name: str) -> None:
    """Whatever somebody once typed as the name of a site is text in the list."""
    registers = Registers({"site": {folded(name): {"name": name}}})
    data = card_workbook.render("en", "letter", registers)
    book = load_workbook(BytesIO(data))
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row if cell.value is not None]
    assert [cell for cell in cells if cell.data_type == "f"] == []
    assert name in [cell.value for row in book[LISTS].iter_rows() for cell in row]
    with ZipFile(BytesIO(data)) as archive:
        sheets = [name for name in archive.namelist() if name.startswith("xl/worksheets/")]
        assert all(b"<f>" not in archive.read(sheet) for sheet in sheets)


def test_the_version_is_hidden_and_there() -> None:
    """So are the lists and the row of keys; the headings stay in sight while one scrolls and on every printed sheet."""
    book = opened()
    assert (book[FORM_SHEET]["A1"].value, book[FORM_SHEET]["B1"].value) == ("keying workbook", VERSION)
    assert {sheet.title for sheet in book if sheet.sheet_state == "hidden"} == {FORM_SHEET, LISTS}
    for name, frozen in (("nights", "C3"), ("stops", "D3")):
        sheet = book[name]
        assert sheet.row_dimensions[1].hidden
        assert sheet.freeze_panes == frozen
        assert sheet.print_title_rows == "$2:$2"
        assert sheet.print_title_cols == "$A:$B"


@pytest.mark.parametrize(("paper", "code"), [("letter", "1"), ("A4", "9")])
def test_it_prints_on_the_paper_asked_for(paper: Paper, code: str) -> None:
    """Stops one sheet wide, nights three, lying; the help standing."""
    book = opened(paper=paper)
    for name, across, lying in (("nights", 3, "landscape"), ("stops", 1, "landscape"), ("help", 1, "portrait")):
        setup = book[name].page_setup
        assert str(setup.paperSize) == code
        assert (setup.fitToWidth, setup.fitToHeight, setup.orientation) == (across, 0, lying)
        assert book[name].sheet_properties.pageSetUpPr.fitToPage


def test_figures_keep_the_digits_that_are_typed() -> None:
    """Columns are text, but for the date and what is counted: '1000.0' on a meter is not 1000."""
    book = opened()
    columns = book["nights"].column_dimensions
    formats = {cell.value: columns[cell.column_letter].number_format for cell in book["nights"][1]}
    assert formats.pop("date") == "yyyy-mm-dd"
    assert {key for key, form in formats.items() if form == "General"} == {"jugs_1", "jugs_2"}
    assert {form for key, form in formats.items() if not key.startswith("jugs")} == {"@"}


@pytest.mark.parametrize("language", LANGUAGES)
def test_units_stand_in_the_headings(language: Language) -> None:
    """The book's unit of volume, and the inches of a tank, in the words of the language."""
    headings = [cell.value for cell in opened(language, unit="L")["nights" if language == "en" else "noches"][2]]
    inches = {"en": "(in)", "es": "(pulg)"}[language]
    assert sum(text.endswith("(L)") for text in headings) == 3
    assert sum(text.endswith(inches) for text in headings) == 2


def test_the_same_form_is_the_same_bytes() -> None:
    """No clock in the file."""
    assert card_workbook.render("es", "A4", REGISTERS) == card_workbook.render("es", "A4", REGISTERS)


def test_the_help_claims_nothing_in_either_language() -> None:
    """No word that records cannot bear, and a sentence of its own in each."""
    assert set(card_help.HELP) == {ask.key for ask in (*NIGHT, *STOP)} | {"n"}
    for en, es in card_help.HELP.values():
        assert en != es
        assert TOO_MUCH["en"].findall(en) == []
        assert TOO_MUCH["es"].findall(es) == []
