"""The data dictionary that goes along with an export: what each line, table, column and field holds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from compliance.book.derived_tables import STATES, TABLES, WORDS, Table
from compliance.records import kinds
from compliance.records.fields import GROUPS, Field

EXPORTED = (*TABLES, WORDS)
"""The query tables that are exported; the other two tell of the file of tables itself."""

_LINE = {
    "header": "number, id, kind, times and version of the record, and the hash of its payload",
    "leaf_hash": "SHA-256 of a zero byte and the bytes of the header, in hex",
    "payload": "what was handed in, as it was stored; `salt` is 16 random bytes that mean nothing",
}
_CSV = (
    "UTF-8, commas, quotes where needed, one row of headings. An empty cell of a whole number: there is no single "
    "figure, and the column ending in _state says why; it never means zero. Text that a spreadsheet would take for a "
    "formula has an apostrophe in front; records.jsonl has it as it was typed."
)


def data() -> dict[str, Any]:
    """The dictionary as plain data, for programs."""
    return {
        "line_of_records": _LINE,
        "kinds_of_record": (kinds.__doc__ or "").strip(),
        "fields": {group: [_field(row) for row in rows] for group, rows in GROUPS.items()},
        "csv": _CSV,
        "states": dict(STATES),
        "tables": [
            {
                "name": table.name,
                "about": table.about,
                "key": list(table.key),
                "columns": [{"name": one.name, "type": one.type, "about": one.about} for one in table.columns],
            }
            for table in EXPORTED
        ],
    }


def _field(row: Field) -> dict[str, Any]:
    said = {"name": row.name, "label": row.en, "label_es": row.es, "type": row.type, "unit": row.unit, "of": row.of}
    return {**said, "choices": [choice.value for choice in row.choices], "help": row.help}


def text() -> str:
    """The same for people."""
    return "\n".join(_text()) + "\n"


def _text() -> Iterator[str]:
    yield "DATA DICTIONARY\n\n1. A line of records.jsonl\n"
    yield from (f"  {name}: {about}" for name, about in _LINE.items())
    yield f"\n2. Kinds of record, and what their payloads hold\n\n{(kinds.__doc__ or '').strip()}\n"
    yield "3. Fields\n"
    for group, rows in GROUPS.items():
        yield f"  {group}"
        yield from (f"    {_described(row)}" for row in rows)
        yield ""
    yield f"4. Tables\n\n  {_CSV}\n\n  What may stand in a _state:"
    yield from (f"    {state}: {about}" for state, about in STATES.items())
    for table in EXPORTED:
        yield from _table(table)


def _described(row: Field) -> str:
    unit = f", {row.unit}" if row.unit else ""
    of = f" of {row.of}" if row.of else ""
    choices = f"; one of: {', '.join(choice.value for choice in row.choices)}" if row.choices else ""
    helps = f"; {row.help}" if row.help else ""
    return f"{row.name}: {row.en} ({row.type}{of}{unit}{choices}{helps})"


def _table(table: Table) -> Iterator[str]:
    yield f"\n  tables/{table.name}.csv\n    {table.about.rstrip('.')}. Key: {', '.join(table.key)}."
    yield from (f"    {one.name} ({one.type}): {one.about}" for one in table.columns)
