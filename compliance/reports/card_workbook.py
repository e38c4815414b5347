"""The keying workbook: the lines of the card as two sheets to fill in, one row a night and one row a stop.

There is no formula in it; drop-downs read their answers from a hidden sheet. Cells are text, so that a figure keeps
the digits that it was read with. `intake.keying` reads it back.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from openpyxl import Workbook
from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation

from compliance.intake.card_lines import FIGURE, NIGHT, OPEN, STOP, TALLY, TICKS, Ask, night_ask
from compliance.intake.keying import FORM, FORM_SHEET, MOST_ROWS, NIGHTS, NUMBER, STOPS, VERSION
from compliance.intake.wording import say as ask_word
from compliance.records.registers import Registers
from compliance.reports.card_help import help_of, sheet_lines
from compliance.reports.card_pen import capital
from compliance.reports.model import Language, Paper
from compliance.reports.picture import INK, MUTED
from compliance.reports.words import LANGUAGES, Words
from compliance.reports.workbook import packed, put_text

LISTS: Final = "washwater lists"
_PAPERS: Final = {"letter": "1", "A4": "9"}
_COUNTS: Final = (NUMBER, "tank_filled", "jugs_1", "jugs_2")
_WIDE: Final = {"site": 30, "not_worked": 26, "remark": 30, "crew": 22, "rig": 16, "lead": 18, "where": 26,
                "emptied_at": 24, "tank": 20, "supply_meter": 22, "handover_meter": 22, "card": 14, "date": 12,
                NUMBER: 7}  # fmt: skip
_USUAL: Final = 14
_HEAD_HEIGHT: Final = 62
_LONGEST_PROMPT: Final = 255

_BOLD: Final = Font("Calibri", 11, bold=True, color=INK[1:])
_PLAIN: Final = Font("Calibri", 11, color=INK[1:])
_PALE: Final = Font("Calibri", 10, color=MUTED[1:])
_UNDER: Final = Border(bottom=Side("medium", color=INK[1:]))


def render(
    language: Language = "en", paper: Paper = "letter", registers: Registers | None = None, unit: str = "gal"
) -> bytes:
    """The empty workbook as the bytes of an xlsx file.

    registers: of a book, whose names the drop-downs then offer; other names may be typed all the same. unit: of the
    book, 'gal' or 'L'.
    """
    book = Workbook()
    book.remove(book.active)
    form = _Form(language, paper, registers or Registers(), unit)
    at = LANGUAGES.index(language)
    number = Ask(NUMBER, "stop", "site", words=("stop", "parada"))
    form.sheet(book, NIGHTS[at], NIGHT, frozen="C3", across=3)
    form.sheet(book, STOPS[at], (night_ask("card"), number, *STOP), frozen="D3", across=1)
    form.help(book)
    form.hidden(book)
    book.active = 0
    title = Words(language).label("run", "card")
    return packed(book, title)


def heading(ask: Ask, language: Language, unit: str) -> str:
    """The heading of a column, with the unit of a bare figure in it."""
    text = capital(ask.label(language))
    if ask.key[-2:] in ("_1", "_2"):
        text = f"{text} {ask.key[-1]}"
    if ask.way == TICKS and len(ask.printed) == 1 and ask.key not in OPEN:
        text = f"{text}: {ask.answer(ask.printed[0], language)}"
    own = unit if ask.unit == "gal" else ask.unit
    return f"{text} ({Words(language).unit(own)})" if own else text


@dataclass
class _Form:
    """The workbook while it is made. lists: what the drop-downs offer, each once."""

    language: Language
    paper: Paper
    registers: Registers
    unit: str
    lists: list[tuple[str, ...]] = field(default_factory=list)

    def sheet(self, book: Any, name: str, asks: Sequence[Ask], *, frozen: str, across: int) -> None:
        """A sheet with a hidden row of keys and a row of headings. across: sheets of paper that its width takes."""
        sheet = book.create_sheet(name)
        for column, ask in enumerate(asks, start=1):
            letter = get_column_letter(column)
            dimension = sheet.column_dimensions[letter]
            dimension.width = _WIDE.get(ask.key, _USUAL)
            dimension.number_format = _format(ask)
            dimension.font = _PLAIN
            put_text(sheet.cell(1, column), ask.key)
            head = sheet.cell(2, column)
            head.font, head.border = _BOLD, _UNDER
            head.alignment = Alignment("left", "bottom", wrap_text=True)
            put_text(head, heading(ask, self.language, self.unit))
            self._validate(sheet, ask, letter)
        sheet.row_dimensions[1].hidden = True
        sheet.row_dimensions[2].height = _HEAD_HEIGHT
        sheet.freeze_panes = frozen
        sheet.print_title_rows = "2:2"
        sheet.print_title_cols = "A:B"
        sheet.print_options.gridLines = True
        self._set_up_print(sheet, name, across)

    def _set_up_print(self, sheet: Any, name: str, across: int) -> None:
        sheet.page_setup.paperSize = _PAPERS[self.paper]
        sheet.page_setup.orientation = "landscape"
        sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = across, 0
        sheet.sheet_properties.pageSetUpPr.fitToPage = True
        sheet.page_margins.left = sheet.page_margins.right = 0.4
        sheet.oddFooter.left.text = name
        sheet.oddFooter.right.text = "&P / &N"

    def _validate(self, sheet: Any, ask: Ask, letter: str) -> None:
        """The drop-down of a column, and the help that shows when a cell of it is chosen."""
        offered, strict = self._offered(ask)
        rule = DataValidation(allow_blank=True)
        if offered:
            rule = DataValidation(type="list", formula1=self._listed(offered), allow_blank=True)
        elif ask.key in _COUNTS:
            rule = DataValidation(type="decimal", operator="between", formula1="0", formula2="999", allow_blank=True)
        rule.showErrorMessage = strict or ask.key in _COUNTS
        rule.errorTitle, rule.error = heading(ask, self.language, self.unit)[:32], help_of(ask, self.language)[:225]
        rule.showInputMessage = True
        rule.promptTitle, rule.prompt = rule.errorTitle, help_of(ask, self.language)[:_LONGEST_PROMPT]
        rule.add(f"{letter}3:{letter}{MOST_ROWS + 2}")
        sheet.add_data_validation(rule)

    def _offered(self, ask: Ask) -> tuple[tuple[str, ...], bool]:
        """What a drop-down offers, and whether nothing else may be typed."""
        words = tuple(ask.answer(value, self.language) for value in ask.printed)
        if ask.way == TICKS:
            return (*words, *self._names(ask)), ask.key not in OPEN
        if ask.way == FIGURE and ask.unit == "in":
            return tuple(ask_word(word, self.language) for word in ("not read", "empty", "full")), False
        if ask.way == FIGURE or ask.way == TALLY:
            return words, False
        return self._names(ask), False

    def _names(self, ask: Ask) -> tuple[str, ...]:
        """The names of the book that may stand in a column."""
        what = _REGISTERS.get(ask.key, "")
        entries = self.registers.all(what) if what else ()
        wanted = _ONLY.get(ask.key)
        return tuple(
            str(entry["name"])
            for entry in entries
            if wanted is None or all(entry.get(name, value) == value for name, value in wanted.items())
        )

    def _listed(self, offered: tuple[str, ...]) -> str:
        """The address of a list on the hidden sheet."""
        if offered not in self.lists:
            self.lists.append(offered)
        letter = get_column_letter(self.lists.index(offered) + 1)
        return f"'{LISTS}'!${letter}$1:${letter}${len(offered)}"

    def help(self, book: Any) -> None:
        """What each column takes, to read or to print."""
        sheet = book.create_sheet({"en": "help", "es": "ayuda"}[self.language])
        sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = 34, 88
        lines = sheet_lines(self.language, lambda ask: heading(ask, self.language, self.unit))
        for row, (left, right, strong) in enumerate(lines, start=1):
            for column, text, font in ((1, left, _BOLD if strong else _PLAIN), (2, right, _PALE)):
                cell = sheet.cell(row, column)
                cell.font, cell.alignment = font, Alignment("left", "top", wrap_text=True)
                put_text(cell, text)
            sheet.row_dimensions[row].height = 15 * max(1, -(-len(right) // 92))
        self._set_up_print(sheet, sheet.title, 1)
        sheet.page_setup.orientation = "portrait"

    def hidden(self, book: Any) -> None:
        """What the drop-downs offer, and what kind of form this is."""
        lists = book.create_sheet(LISTS)
        for column, offered in enumerate(self.lists, start=1):
            for row, text in enumerate(offered, start=1):
                put_text(lists.cell(row, column), text)
        form = book.create_sheet(FORM_SHEET)
        put_text(form["A1"], FORM)
        form["B1"] = VERSION
        put_text(form["A2"], "unit")
        put_text(form["B2"], self.unit)
        lists.sheet_state = form.sheet_state = "hidden"


_REGISTERS: Final = {
    "rig": "rig", "lead": "person", "keyed_by": "person", "site": "site", "tank": "tank", "where": "place",
    "emptied_at": "place", "supply_meter": "instrument", "handover_meter": "instrument", "agent_1": "agent",
    "agent_2": "agent",
}  # fmt: skip
_ONLY: Final = {
    "tank": {"role": "recovery"}, "supply_meter": {"kind": "meter", "measures": "supply"},
    "handover_meter": {"kind": "meter", "measures": "handover"},
}  # fmt: skip


def _format(ask: Ask) -> str:
    if ask.key == "date":
        return "yyyy-mm-dd"
    return "General" if ask.key in _COUNTS else "@"
