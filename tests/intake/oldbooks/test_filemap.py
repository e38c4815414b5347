"""The mapping file: read whole, every fault told at once, written so that it reads back the same."""

from __future__ import annotations

from unicodedata import normalize

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.intake.oldbooks.filemap import (
    CHOICES,
    EMPTY,
    MEANING,
    NAMES,
    FileMap,
    SheetMap,
    Waiting,
    read_map,
    written,
)
from compliance.intake.oldbooks.headings import BY_NAME, NOT_USED
from tests.intake.oldbooks.looking import mapping

FULL = """
format = 1
dates = "day first"
decimal = "comma"
year = 2021

[columns]
"Fecha" = "date"
B = "used"
"Gas $" = "not used"

[values]
rig = "Big Blue"

[says]
"-" = "not recorded"

[says.used]
"?" = "not read"

[[sheet]]
name = "Enero"
read = true
heading_rows = [3, 4]
leave_out = [9, 17]
year = 2022
[sheet.columns]
"Nota" = "remarks"
[sheet.values]
client = "Alder Foods"

[[sheet]]
name = "Listas"
read = false
"""


def test_everything_that_a_mapping_says_is_read() -> None:
    """For the file, for all columns, for one, for one sheet."""
    found = mapping(FULL)
    assert found.choice("dates") == "day first" and found.choice("unit") == ""
    assert (found.year, found.values, found.columns["B"]) == (2021, {"rig": "Big Blue"}, "used")
    assert found.meaning("used", "?") == "not read" and found.meaning("recovered", "?") is None
    assert found.meaning("recovered", "-") == "not recorded"
    enero = found.sheet("Enero")
    assert (enero.heading_rows, enero.leave_out, enero.year) == ((3, 4), frozenset({9, 17}), 2022)
    assert (enero.columns, enero.values, enero.read) == ({"Nota": "remarks"}, {"client": "Alder Foods"}, True)
    assert found.sheet("Listas").read is False
    assert found.sheet("elsewhere") == SheetMap("elsewhere")


def test_a_word_for_one_column_goes_before_the_word_for_all() -> None:
    """'-' may mean nothing in one column and something in another."""
    found = mapping('[says]\n"-" = "not recorded"\n[says.used]\n"-" = "0"\n')
    assert found.meaning("used", "-") == "0" and found.meaning("ticket", "-") == "not recorded"


def test_a_mapping_that_is_written_reads_back_the_same() -> None:
    """With each choice explained beside it."""
    found = mapping(FULL)
    waiting = [
        Waiting("unit? (3 rows wait)", ('unit = "gal"', 'unit = "L"'), also="another"),
        Waiting("work?", under={"Listas": "heading_rows = [1]", "Enero": "leave_out = [7]"}),
        Waiting("more?", under={"Marzo": "read = false"}),
    ]
    text = written(found, title="How it is read", waiting=waiting)
    assert read_map(text.encode(), "m.toml") == found
    assert 'dates = "day first"  # how 03/04/2021 is read' in text
    assert text.startswith("# How it is read\nformat = 1\n")
    assert '# unit? (3 rows wait)\n#   unit = "gal"\n#   unit = "L"\n#   (or another)\n' in text
    assert '[[sheet]]\nname = "Listas"\nread = false\n# work?\n#   heading_rows = [1]\n' in text
    assert text.endswith('\n\n# more?\n#   [[sheet]]\n#   name = "Marzo"\n#   read = false\n')
    assert "leave_out = [9, 17]\nyear = 2022\n# work?\n#   (or add it above, leave_out = [7])\n" in text
    assert read_map(written(EMPTY).encode(), "m.toml") == EMPTY


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("dates = ", "the mapping is not TOML"),
        ("format = 2", "the mapping has format 2"),
        ('date = "day first"', "'date' is nothing that a mapping says"),
        ('dates = "day"', "dates = 'day' is no answer"),
        ("dates = 3", "dates = '3' is no answer"),
        ("year = 21", "year = '21' is no year"),
        ("year = true", "year = true without quotes is no year"),
        ("columns = 3", "'columns' is no table"),
        ('columns = {"Fecha" = "dates"}', "'dates' is no column"),
        ('columns = {"Fecha" = 3}', "a table of keys is not a text"),
        ('columns = {"Fecha" = " "}', "nothing stands behind the sign"),
        ('values = {used = "450 gal"}', "'used' is nothing that a mapping says"),
        ("says = 3", "'says' is no table"),
        ('says = {usde = {"-" = "0"}}', "'usde' is nothing that a mapping says"),
        ('says = {"-" = "a\\nb"}', "'a\\nb' is more than one line"),
        ('says = {used = {"-" = 0}}', "a table of keys is not a text"),
        ("sheet = 3", "'sheet' is no list of tables"),
        ("[[sheet]]\nyear = 2021", "the sheet has no name"),
        ('[[sheet]]\nname = "a"\nrows = [1]', "'rows' is nothing that a mapping says"),
        ('[[sheet]]\nname = "a"\nread = "no"', "read = 'no' is no answer"),
        ('[[sheet]]\nname = "a"\nheading_rows = 3', "heading_rows is no list of row numbers"),
        ('[[sheet]]\nname = "a"\nheading_rows = [1, 3]', "headings stand in one row, or in two"),
        ('[[sheet]]\nname = "a"\nheading_rows = [1, 2, 3]', "headings stand in one row, or in two"),
        ('[[sheet]]\nname = "a"\nleave_out = [0]', "leave_out is no list of row numbers"),
        ('[[sheet]]\nname = "a"\nleave_out = [true]', "leave_out is no list of row numbers"),
        ('[[sheet]]\nname = "a"\n[[sheet]]\nname = "a"\nread = false', "the sheet is named twice"),
        ('[says]\n"-" = "0"\ndecimal = "point"', "decimal stands below a line in brackets"),
        ('[columns]\nA = "date"\nsays.used."-" = "0"', "says stands below a line in brackets"),
        ('[says]\n"-" = "0"\nsays.used."-" = "1"', "says stands below a line in brackets"),
        ('[columns]\nA = "date"\nyear = 2021', "year stands below a line in brackets"),
        ('[[sheet]]\nname = "a"\nunit = "L"', "unit stands below a line in brackets"),
    ],
)  # fmt: skip
def test_a_fault_in_a_mapping_is_told_with_what_to_write(text: str, what: str) -> None:
    """In the three parts of every message."""
    found = read_map(text.encode(), "m.toml")
    assert isinstance(found, list)
    assert what in found[0].what
    assert found[0].where.startswith("m.toml") and found[0].next_step


def test_all_faults_of_a_mapping_are_told_at_once() -> None:
    """With the nearest word that is known."""
    found = read_map(b'dats = "day first"\nunit = "barrels"\n[columns]\nA = "usd"\n', "m.toml")
    assert isinstance(found, list)
    assert [problem.next_step for problem in found] == [
        "did you mean 'dates'?", "use one of: L, gal, m3, ft3, qt, fl oz, mL, each row", "did you mean 'used'?",
    ]  # fmt: skip


def test_a_mapping_that_is_no_text_is_told() -> None:
    """Bytes of another kind of file."""
    found = read_map(b"\xff\xfe\x00", "m.toml")
    assert isinstance(found, list) and "UTF-8" in found[0].what


def test_each_choice_says_what_it_is_for() -> None:
    """In the written mapping, beside its value."""
    assert MEANING.keys() == CHOICES.keys()


_printed = st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Cf", "Zl", "Zp"))
_texts = st.text(_printed, min_size=1, max_size=12).map(lambda text: normalize("NFC", text).strip()).filter(bool)
_columns = st.dictionaries(_texts, st.sampled_from([*BY_NAME, NOT_USED]), max_size=3)
_values = st.dictionaries(st.sampled_from([*NAMES, "job"]), _texts, max_size=2)
_years = st.none() | st.integers(1990, 2099)
_sheets = st.builds(
    SheetMap, st.text(max_size=8), st.none() | st.booleans(),
    st.sampled_from([None, (), (3,), (1, 2)]), st.frozensets(st.integers(1, 99), max_size=2), _years, _columns, _values,
)  # fmt: skip
_maps = st.builds(
    FileMap,
    st.fixed_dictionaries({}, optional={key: st.sampled_from(list(options)) for key, options in CHOICES.items()}),
    _years, _columns, _values,
    st.dictionaries(st.sampled_from(["", "used", "date"]), st.dictionaries(st.text(min_size=1).filter(
        lambda text: text not in BY_NAME), _texts, min_size=1, max_size=2), max_size=2),
    st.lists(_sheets, max_size=2, unique_by=lambda sheet: sheet.name).map(tuple),
)  # fmt: skip


@given(_maps)
def test_any_mapping_reads_back_the_same(found: FileMap) -> None:
    """Whatever quotes, signs and letters stand in its texts."""
    assert read_map(written(found).encode(), "m.toml") == found
