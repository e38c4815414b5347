"""The field table holds together: one row a field, both languages, known types and units."""

from __future__ import annotations

import pytest

from compliance.records import fields as table
from compliance.records.fields import (
    GROUPS,
    LINE_KINDS,
    NOT_ALLOWED,
    REGISTERS,
    SEWER,
    WHERE,
    WHERE_WORDS,
    field,
    is_place,
)
from compliance.records.names import folded
from compliance.records.quantity import UNITS

ROWS = [(group, row) for group, rows in GROUPS.items() for row in rows]
TYPES = {table.TEXT, table.CHOICE, table.DATE, table.MOMENT, table.ZONE, table.COUNT, table.QUANTITY, table.MEASURE,
         table.REF, table.GROUP}  # fmt: skip
NEEDS = {table.REQUIRED, table.TRUCK, table.OFFICE, table.PROOF, table.WELCOME}


@pytest.mark.parametrize(("group", "row"), ROWS, ids=lambda x: x if isinstance(x, str) else x.name)
def test_a_row_is_whole(group: str, row: table.Field) -> None:
    """Name, both labels, a known type and need, a unit where figures stand, a register or group where it points."""
    assert row.en
    assert row.es
    assert row.type in TYPES
    assert row.need in NEEDS
    assert (row.unit in UNITS) == (row.type in (table.QUANTITY, table.MEASURE))
    assert (row.type == table.CHOICE) <= bool(row.choices)
    if row.type == table.REF:
        assert set(row.of.split(" or ")) <= set(REGISTERS)
    if row.type == table.GROUP:
        assert row.of in GROUPS
    assert field(group, row.name) is row


@pytest.mark.parametrize("group", GROUPS)
def test_no_field_stands_twice(group: str) -> None:
    """Names and labels are each unique within their group, in both languages."""
    rows = GROUPS[group]
    for values in ([r.name for r in rows], [r.en for r in rows], [r.es for r in rows]):
        assert len(set(values)) == len(values)


@pytest.mark.parametrize(
    ("group", "row"), [r for r in ROWS if r[1].choices], ids=lambda x: x if isinstance(x, str) else x.name
)
def test_no_answer_means_two_things(group: str, row: table.Field) -> None:
    """An answer typed in either language, in any case, leads to one stored word."""
    meanings: dict[str, str] = {}
    for choice in row.choices:
        for word in (choice.value, choice.es, choice.said or choice.es):
            assert meanings.setdefault(folded(word), choice.value) == choice.value


def test_registers_and_lines_are_groups() -> None:
    """Every register and kind of line has its fields, and every register a name that is needed."""
    assert set(REGISTERS) <= set(GROUPS)
    assert set(LINE_KINDS) <= set(GROUPS)
    for what in REGISTERS:
        assert field(what, "name").need == table.REQUIRED


def test_places_are_sorted_by_their_kind() -> None:
    """What may not take wash water and what is sewer are kinds of place, and never both."""
    kinds = {choice.value for choice in table.PLACE_KINDS}
    assert set(NOT_ALLOWED) | set(SEWER) <= kinds
    assert not set(NOT_ALLOWED) & set(SEWER)
    assert tuple(choice.value for choice in WHERE) == WHERE_WORDS


def test_a_field_that_the_table_lacks_is_an_error() -> None:
    """A typing slip in the program is not an absent value."""
    with pytest.raises(KeyError, match=r"run\.rigg"):
        field("run", "rigg")


def test_only_a_name_is_a_place() -> None:
    """A word for where the water is, and an answer without a value, name none."""
    assert is_place("North Plant")
    assert not any(is_place(where) for where in (*WHERE_WORDS, "not read", "not applicable", None))
