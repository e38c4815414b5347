"""docs/fields.md: the field table, as it is in `records.fields`."""

from __future__ import annotations

from compliance.devtools.markdown import code, table
from compliance.records import fields as rows
from compliance.records.answer import SPOKEN, WRITTEN
from compliance.records.fields import GROUPS, LINE_KINDS, REGISTERS, WHERE, Field
from compliance.records.measure import LEVEL_WORDS, METHODS, Key
from compliance.records.quantity import SPELLINGS, UNITS

_NEEDS = {
    rows.REQUIRED: "**required**",
    rows.TRUCK: "truck",
    rows.OFFICE: "office",
    rows.PROOF: "proof",
    rows.WELCOME: "",
}

_HEAD = """\
# Fields

Every field once: its name in files and on the command line, its label in English and Spanish, what may stand in it,
and when it is wanted. Questions, validator, pages and schemas are made from the same table.

| wanted | means |
| --- | --- |
| **required** | without it nothing is handed in |
| truck | asked of the crew before it leaves; missing, it becomes part of one finding for the run |
| office | completed later by the office |
| proof | awaited on a proof page |
| (empty) | welcome, never missed |

## Answers without a value

Four things are never each other and never zero: `0`, `not read`, `not applicable`, and a field that is left out
('not recorded yet'). Besides these words a person may also say:

"""

_TYPES = """\
## Types

| type | write it like |
| --- | --- |
| text | any words, one line or several |
| choice | one of the words shown, in English or Spanish |
| date | `2026-09-14` |
| moment | `21:30` (earlier than the run's start: after midnight), or a full time with its zone |
| zone | a zone of the time-zone database, like `America/Denver` |
| count | a whole number; `0` is an answer |
| quantity | a number with its unit: `450 gal`, `~450 gal` (about), `>=500 gal`, `<=500 gal`, `400..500 gal`; a bare \
number means the unit shown |
| measure | a quantity, or a table with a method: see below |
| ref | the name of a register entry; a name that is on no register is kept as typed and becomes a finding |
| group | a list of tables with the fields of the group named |

"""


def page() -> str:
    """The whole page."""
    return "\n".join((_HEAD + _spoken(), _TYPES.rstrip() + "\n", _units(), _methods(), *_groups()))


def _spoken() -> str:
    said: dict[str, list[str]] = {word: [] for word in WRITTEN}
    for spoken, word in SPOKEN.items():
        if spoken != word:
            said[word].append(spoken)
    return table(
        ("stored", "said"), [(code(word), ", ".join(code(text) for text in texts)) for word, texts in said.items()]
    )


def _units() -> str:
    spelled: dict[str, list[str]] = {unit: [] for unit in UNITS}
    for spelling, unit in SPELLINGS.items():
        spelled[unit].append(spelling)
    made = [(dimension, code(unit), ", ".join(spelled[unit])) for unit, (dimension, _) in UNITS.items()]
    return "## Units\n\n`gal` is the US gallon of 231 cubic inches.\n\n" + table(("of", "unit", "also written"), made)


def _methods() -> str:
    made = [(code(name), ", ".join(_key(key) for key in keys)) for name, keys in METHODS.items()]
    levels = " and ".join(code(word) for word in LEVEL_WORDS)
    return (
        "## Methods of a measure\n\n"
        'In TOML: `used = {method = "meter", meter = "Big Blue supply meter", start = "184210", end = "184765"}`. '
        f"{levels} are marks that everybody reads the same way.\n\n" + table(("method", "keys"), made)
    )


def _key(key: Key) -> str:
    unit = f", {key.unit}" if key.unit not in ("", "count") else ""
    return f"{code(key.name)} ({key.holds}{unit}{'' if key.required else ', may be left out'})"


def _groups() -> list[str]:
    lists = [name for name in GROUPS if name not in (*REGISTERS, *LINE_KINDS, "business", "run", "ticket")]
    where = ", ".join(code(choice.value) for choice in WHERE)
    parts = [
        (
            "Registers",
            ("business", *REGISTERS),
            "What is known of the business, its rigs, places, clients ...",
        ),
        ("A run", ("run",), f"One rig, one outing. `where` is {where}, or the name of a place."),
        ("Lines of a run", LINE_KINDS, "A run has lines in the order in which things happened."),
        ("Lists in a line", tuple(lists), "Tables inside a list field of a line."),
        ("Papers that come later", ("ticket",), "What somebody else gives us, weeks later."),
    ]
    made = []
    for title, names, about in parts:
        made.append(f"## {title}\n\n{about}\n")
        made += [f"### {name}\n\n{_rows(GROUPS[name])}" for name in names]
    return made


def _rows(group: tuple[Field, ...]) -> str:
    return table(
        ("field", "English", "Spanish", "what", "wanted", "note"),
        [(code(row.name), row.en, row.es, _what(row), _wanted(row), _note(row)) for row in group],
    )


def _wanted(row: Field) -> str:
    return f"{_NEEDS[row.need]}, from {row.since} on" if row.since else _NEEDS[row.need]


def _what(row: Field) -> str:
    choices = "; ".join(f"{code(choice.value)} / {choice.es}{_on_card(choice.said)}" for choice in row.choices)
    if row.type == rows.CHOICE:
        return choices
    named = {rows.REF: f"ref to {row.of}", rows.GROUP: f"list of {row.of}"}.get(row.type, row.type)
    unit = f", {row.unit}" if row.unit else ""
    return f"{named}{unit}" + (f"; or {choices}" if choices else "")


def _note(row: Field) -> str:
    return "; ".join(text for text in (row.help, _on_card(row.said).strip()) if text)


def _on_card(said: str) -> str:
    """The Spanish of the crew's card, where it is not that of the pages."""
    return f" (card: {said})" if said else ""
