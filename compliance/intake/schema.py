"""The field table as JSON Schema (draft 2020-12), for whoever writes files of nights or registers by program.

The schema describes shape: keys, types, choices, what is needed. What takes a calendar, a register or arithmetic
(a day that does not exist, two readings of '1,250', a figure that cannot be meant) only the validator knows. On
spelling the schema is stricter: it takes words as written here, the validator also other case and accents left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from compliance.intake.position import COORDINATES
from compliance.intake.registers import MOST_ENTRIES, SAME_AS
from compliance.intake.text import LONGEST, LONGEST_NAME
from compliance.intake.validate import REGISTERS
from compliance.intake.values import MOST_ITEMS, spoken_forms
from compliance.records import fields as table
from compliance.records import kinds
from compliance.records.answer import SPOKEN, WRITTEN
from compliance.records.fields import GROUPS, LINE_KINDS, REQUIRED, Field
from compliance.records.measure import LEVEL_WORDS, METHODS

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"

Schema = dict[str, Any]

_NUMBER: Final = r"^\s*(?:[~≥≤]|[<>]=|[A-Za-z][A-Za-z ]*[A-Za-z])?\s*(?:[0-9]|\.[0-9])"
_LEVELS: Final = (*LEVEL_WORDS, "vacío", "lleno")

_DEFS: Final[Schema] = {
    "answer": {
        "description": "nobody looked, or the question does not arise",
        "enum": list(dict.fromkeys([*WRITTEN, *SPOKEN])),
    },
    "words": {"type": ["string", "integer"], "maxLength": LONGEST},
    "name": {"type": ["string", "integer"], "maxLength": LONGEST_NAME},
    "needed": {
        "type": ["string", "integer"], "pattern": r"\S", "maxLength": LONGEST_NAME, "not": {"enum": list(WRITTEN)}
    },
    "date": {"type": "string", "pattern": r"^\d{4}-\d{2}-\d{2}$"},
    "moment": {"type": "string", "pattern": r"^\s*\d{1,2}|^\d{4}-\d{2}-\d{2}[Tt ]\d{2}:\d{2}"},
    "zone": {"type": "string", "pattern": r"^[A-Za-z0-9_+\-/]+$"},
    "count": {"type": ["integer", "string"], "minimum": 0, "maximum": 9999, "pattern": r"^\d{1,4}$"},
    "quantity": {"anyOf": [{"type": "number", "minimum": 0}, {"type": "string", "pattern": _NUMBER}]},
    "level": {"anyOf": [{"$ref": "#/$defs/quantity"}, {"enum": list(_LEVELS)}]},
}  # fmt: skip


def run_schema() -> Schema:
    """The schema of one night: the fields of the run, and 'line' with its lines in their order."""
    stop = {"properties": {"line": {"const": "stop"}}, "required": ["line"]}
    whole = _table("run", extra={
        "line": {"type": "array", "maxItems": MOST_ITEMS, "items": {"oneOf": [_line(kind) for kind in LINE_KINDS]}},
        "first": {"type": ["object", "null"], "additionalProperties": {"$ref": "#/$defs/name"},
                  "description": "path of a field -> the figure that stood there before a comparison was shown"},
        **_frame(kinds.RUN),
    })  # fmt: skip
    whole["anyOf"] = [
        {"required": ["cancelled"], "properties": {"cancelled": {"type": ["string", "integer"]}}},
        {"required": ["line"], "properties": {"line": {"contains": stop}}},
    ]
    return _document("A night", whole)


def registers_schema() -> Schema:
    """The schema of a registers file: the business, and a list for each register."""
    properties: Schema = {
        "business": {**_table("business", extra=_frame("")), "required": []},
        SAME_AS: _entries({
            "type": "object", "additionalProperties": False, "required": ["what", "name", "is"],
            "properties": {"what": {"enum": list(table.REGISTERS)}, "name": {"$ref": "#/$defs/needed"},
                           "is": {"$ref": "#/$defs/needed"}, "who": {"$ref": "#/$defs/name"}},
        }),
        **{what: _entries({**_table(what, extra=_frame("")), "required": ["name"]}) for what in table.REGISTERS},
        **_frame(REGISTERS),
    }  # fmt: skip
    return _document("Registers", {"type": "object", "additionalProperties": False, "properties": properties})


def _document(title: str, body: Schema) -> Schema:
    return {"$schema": DIALECT, "title": title, **body, "$defs": _DEFS}


def _frame(kind: str) -> Schema:
    """Keys of every entry that are no fields of the table."""
    return {
        "id": {"$ref": "#/$defs/name", "description": "any text; the same id handed in twice changes nothing"},
        "who": {"$ref": "#/$defs/name", "description": "who says so"},
        "handed_in": {"$ref": "#/$defs/moment", "description": "when it was handed in, with its date"},
        **({"kind": {"const": kind}} if kind else {}),
    }


def _entries(item: Schema) -> Schema:
    return {"type": "array", "maxItems": MOST_ENTRIES, "items": item}


def _line(kind: str) -> Schema:
    body = _table(kind, extra={"line": {"const": kind}})
    return {**body, "required": ["line", *body["required"]]}


def _table(group: str, *, extra: Schema) -> Schema:
    """An object with the fields of a group, and no other keys."""
    rows = GROUPS[group]
    return {
        "type": "object",
        "additionalProperties": False,
        "properties": {**{row.name: _described(row) for row in rows}, **extra},
        "required": [row.name for row in rows if row.need == REQUIRED],
    }


def _described(row: Field) -> Schema:
    text = row.en if not row.unit else f"{row.en}; a bare number means {row.unit}"
    return {"description": f"{text}; {row.help}" if row.help else text, **_value(row)}


def _value(row: Field) -> Schema:
    if row.type == table.GROUP:
        return {"type": ["array", "null"], "maxItems": MOST_ITEMS, "items": _table(row.of, extra={})}
    needed = row.need == REQUIRED
    if needed and row.type in (table.TEXT, table.REF):
        return {"$ref": "#/$defs/needed"}
    return _any([*_forms(row), *([] if needed else [{"$ref": "#/$defs/answer"}, {"type": "null"}])])


def _forms(row: Field) -> Sequence[Schema]:
    """The forms that a value of a field may have, besides an answer without a value."""
    choices = [word for choice in row.choices for word in dict.fromkeys(reversed(spoken_forms(choice)))]
    match row.type:
        case table.CHOICE:
            yes_no = [{"type": "boolean"}] if {"yes", "no"} <= set(choices) else []
            return [{"enum": choices}, *yes_no]
        case table.QUANTITY if choices or row.name == "shows":
            return [{"$ref": "#/$defs/level"}, *([{"enum": choices}] if choices else [])]
        case table.QUANTITY:
            return [{"$ref": "#/$defs/quantity"}]
        case table.MEASURE:
            return [{"$ref": "#/$defs/quantity"}, *(_method(method) for method in METHODS)]
        case table.TEXT if row.name == "position":
            return [{"type": "string", "pattern": COORDINATES}]
        case table.TEXT:
            return [{"$ref": "#/$defs/words"}]
        case table.REF:
            return [{"$ref": "#/$defs/name"}]
        case _:
            return [{"$ref": f"#/$defs/{row.type}"}]


def _method(method: str) -> Schema:
    holds = {"ref": "name", "text": "name", "level": "level", "number": "quantity", "quantity": "quantity"}
    keys = METHODS[method]
    properties = {key.name: _any([{"$ref": f"#/$defs/{holds[key.holds]}"}, {"$ref": "#/$defs/answer"}]) for key in keys}
    needed = [key.name for key in keys if key.required]
    return {
        "type": "object",
        "additionalProperties": False,
        "properties": {"method": {"const": method}, **properties},
        "required": needed if method == "declared" else ["method", *needed],
    }


def _any(forms: Sequence[Schema]) -> Schema:
    return forms[0] if len(forms) == 1 else {"anyOf": list(forms)}
