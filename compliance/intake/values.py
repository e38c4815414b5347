"""One value of one field, of any type, brought to its stored form."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any, Final

from compliance.intake.checked import Bench
from compliance.intake.limits import too_large
from compliance.intake.moments import check_date, check_moment, check_zone
from compliance.intake.near import did_you_mean, nearest
from compliance.intake.position import read_position, read_radius
from compliance.intake.serial import read_serial
from compliance.intake.text import check_text, shown, words
from compliance.records import fields as table
from compliance.records.answer import SPOKEN, WRITTEN
from compliance.records.fields import GROUPS, Choice, Field
from compliance.records.measure import LEVEL_WORDS, check_level, check_measure, read_measure
from compliance.records.names import folded
from compliance.records.problem import Problem
from compliance.records.quantity import Quantity, parse, unit_named
from compliance.records.quantity import stored as read_quantity

MOST_ITEMS: Final = 500
"""Entries of one list, lines of one run: far above any night, far below what would tire a reader."""

MOST_STRANGE: Final = 20
"""Unknown keys of one table that are named each; a table with more is another kind of thing."""
MOST_GUESSES: Final = 50
"""Names looked up for what they may have meant: guessing among thousands takes time, and a note is a courtesy."""

INSTRUMENT_KEYS: Final = {
    "meter": "instrument", "new_meter": "instrument", "flow": "instrument", "vessel": "instrument",
    "scale": "instrument", "tank": "tank",
}  # fmt: skip
"""The register on which each name within a measure stands."""

SIZES: Final = frozenset(
    {("tank", name) for name in ("capacity", *table.TANK_SIZES, "mark_step")}
    | {("instrument", name) for name in ("step", "rolls_over_at", "rate", "size")}
)
"""Fields of which 0 can only be a slip: a figure would be divided by it, or every level be above it."""
_ONE_LINE = frozenset((
    "name", "plate", "phone", "operator", "given_by", "contact", "role", "signer", "signer_role", "crew", "ticket",
    "number", "card", "received_by", "method", "surface", "connection", "ph_method", "photo", "source", "position",
    "radius", "case", "asked_by", "behalf", "drain", "words",
))  # fmt: skip
"""Texts that stand in a line of a list: no line breaks, and no longer than a name."""
_READERS: Final[Mapping[tuple[str, str], Callable[[str, str], str | Problem]]] = {
    ("run", "card"): read_serial, ("site", "position"): read_position, ("inquiry", "position"): read_position,
    ("inquiry", "radius"): read_radius,
}  # fmt: skip
"""Texts of a form of their own."""
_FIGURE_AND_UNIT = re.compile(r"(?P<figure>[0-9.,]+)\s*(?P<unit>[^0-9\s.,].*)")


def spoken_forms(choice: Choice) -> tuple[str, ...]:
    """Every word by which a choice is known: English, Spanish of the pages, Spanish of the crew."""
    return tuple(word for word in (choice.said, choice.es, choice.value) if word)


_SPOKEN = {folded(spoken): written for spoken, written in SPOKEN.items()}
_CHOICES: Final[Mapping[tuple[str, str], Mapping[str, str]]] = {
    (group, row.name): {
        folded(word): choice.value for choice in row.choices for word in spoken_forms(choice)
    }
    for group, rows in GROUPS.items()
    for row in rows
    if row.choices
}  # fmt: skip
_WHERE_WORDS = {folded(word): choice.value for choice in table.WHERE for word in spoken_forms(choice)}


def speak(text: str) -> str:
    """A spoken answer ('did not read', 'no aplica') as it is written down; any other text unchanged."""
    return _SPOKEN.get(folded(text), text) if len(text) < 40 else text


def check_fields(
    group: str,
    raw: Mapping[str, Any],
    path: str,
    where: str,
    bench: Bench,
    *,
    extra: frozenset[str] = frozenset(),
    required: bool = True,
    beside: Mapping[str, Any] | None = None,
) -> dict[str, Any]:
    """Every field of a group that is there, as stored; unknown keys are problems.

    extra: keys that are looked at elsewhere. beside: what else stands in the entry, where `raw` is only its change.
    A field that is left out, null or blank stays out: it is not recorded yet, which is neither zero nor 'none'.
    """
    known = {row.name: row for row in GROUPS[group]}
    strange = [key for key in raw if key not in known and key not in extra]
    for key in strange[:MOST_STRANGE]:
        step = did_you_mean(str(key), known, f"docs/fields.md lists the fields of {group!r}")
        bench.problem(f"{shown(key)} is not a field of {group!r}", where, step)
    if len(strange) > MOST_STRANGE:
        fault = f"{len(strange) - MOST_STRANGE} more keys are no fields of {group!r}"
        bench.problem(fault, where, "look whether this is the right kind of entry")
    stored: dict[str, Any] = {}
    for name, row in known.items():
        value = check_value(group, row, raw.get(name), path + name, where, bench, beside or raw)
        if value is not None:
            stored[name] = value
    if required:
        for row in known.values():
            if row.need == table.REQUIRED and blank(raw.get(row.name)):
                step = f"add {row.name} = ..." + (f" ({row.help})" if row.help else "")
                bench.problem(f"{row.en!r} is missing", where, step)
    return stored


def blank(raw: Any) -> bool:
    """Whether nothing was said: left out, null or only spaces."""
    return raw is None or (isinstance(raw, str) and not raw.strip())


def check_value(
    group: str, row: Field, raw: Any, path: str, where: str, bench: Bench, beside: Mapping[str, Any]
) -> Any:
    """One value as stored, or None when there is none or it has a problem (which the bench then holds).

    beside: the other fields of the same table, raw or stored; some figures are read in the light of them.
    """
    if blank(raw):
        return None
    here = f"{where}, {row.en} ({row.name})" if where else f"{row.en} ({row.name})"
    if isinstance(raw, float):
        bench.problem(f"{raw!r} came as a binary number", here, "put the figure in quotes, as it was read")
        return None
    if row.type == table.GROUP:
        return _group_list(row, raw, path, here, bench)
    if row.type != table.TEXT:
        raw = _one_line(raw, here, bench)
    if raw is None:
        return None
    if row.type == table.MEASURE:
        return _measure(row, raw, path, here, bench)
    written = speak(raw.strip()) if isinstance(raw, str) else None
    if row.choices:
        return _choice(group, row, raw, path, here, bench, beside)
    if written in WRITTEN:
        if row.need == table.REQUIRED:
            bench.problem(f"{row.en!r} cannot be {written!r}", here, "it is one of the few things that are needed")
            return None
        return written
    found = _BY_TYPE[row.type](group, row, raw, here, bench, beside)
    return bench.keep(found, path, found if row.type == table.TEXT else raw)


def _one_line(raw: Any, here: str, bench: Bench) -> Any:
    """A text, or each text of a measure, as one printable line; None when it cannot be."""
    if isinstance(raw, Mapping):
        parts = {key: _one_line(part, f"{here}, {shown(key)}", bench) for key, part in raw.items() if part is not None}
        return None if any(part is None for part in parts.values()) else parts
    if not isinstance(raw, str):
        return raw
    text = check_text(raw, here, name=True)
    if isinstance(text, Problem):
        bench.problems.append(text)
        return None
    return text


def _text(group: str, row: Field, raw: Any, here: str, bench: Bench, beside: Mapping[str, Any]) -> Any:
    reader = _READERS.get((group, row.name))
    if reader is not None:
        return reader(words(raw) or "", here)
    return check_text(raw, here, name=row.name in _ONE_LINE)


def _date(group: str, row: Field, raw: Any, here: str, bench: Bench, beside: Mapping[str, Any]) -> Any:
    return check_date(raw, here)


def _moment(group: str, row: Field, raw: Any, here: str, bench: Bench, beside: Mapping[str, Any]) -> Any:
    return check_moment(raw, bench.night, here)


def _zone(group: str, row: Field, raw: Any, here: str, bench: Bench, beside: Mapping[str, Any]) -> Any:
    return check_zone(raw, here)


def _count(group: str, row: Field, raw: Any, here: str, bench: Bench, beside: Mapping[str, Any]) -> Any:
    text = (words(raw) or "").strip()
    if not (text.isascii() and text.isdigit() and len(text) <= 4):
        return Problem(f"{shown(raw)} is not a whole number from 0 to 9999", here, "write digits only")
    return int(text)


def _ref(group: str, row: Field, raw: Any, here: str, bench: Bench, beside: Mapping[str, Any]) -> Any:
    name = check_text(raw, here, name=True)
    if isinstance(name, Problem):
        return name
    if (group, row.name) == ("run", "where") and folded(name) in _WHERE_WORDS:
        return _WHERE_WORDS[folded(name)]
    return spelled(name, _registers_of(row.of), here, bench)


def spelled(name: str, registers: tuple[str, ...], where: str, bench: Bench) -> str:
    """A name as its register spells it, or as typed when it is on none; a near one is worth a note."""
    for register in registers:
        if bench.registers.find(register, name) is not None:
            return bench.registers.name(register, name)
    near = _near(name, registers, bench)
    if near is not None:
        bench.notes.append(f"{where}: {name!r} is not on the register; {near!r} is")
    return name


def _near(name: str, registers: tuple[str, ...], bench: Bench) -> str | None:
    """The nearest name of the registers, looked for once a name and not without end."""
    key = (registers, folded(name))
    if key not in bench.near:
        names = (str(entry["name"]) for register in registers for entry in bench.registers.all(register))
        bench.near[key] = nearest(name, names) if len(bench.near) < MOST_GUESSES else None
    return bench.near[key]


def _registers_of(of: str) -> tuple[str, ...]:
    return tuple(of.split(" or "))


def _quantity(group: str, row: Field, raw: Any, here: str, bench: Bench, beside: Mapping[str, Any]) -> Any:
    text = words(raw)
    if text is None:
        return Problem(f"{shown(raw)} is not a number with a unit", here, f"write it like '12 {row.unit}'")
    unit = unit_of(group, row, bench, beside)
    if (group, row.name) == ("reading", "shows"):
        return _register_or_level(text.strip(), here, bench, beside)
    if group == "instrument" and row.unit == "count":
        text = _without_own_unit(text, beside)
    found = sized(parse(text.strip(), unit=unit, where=here), here)
    if (group, row.name) in SIZES and isinstance(found, str) and read_quantity(found).high == 0:
        return Problem(f"{found} is no size", here, "give its size; leave it out where it is not known")
    return found


def sized(read: Quantity | Problem, here: str) -> str | Problem:
    """A quantity as stored, when it can be meant."""
    return read if isinstance(read, Problem) else too_large(read, here) or str(read)


def unit_of(group: str, row: Field, bench: Bench, beside: Mapping[str, Any]) -> str:
    """What a bare number in this field means, in this book."""
    if (group, row.name) == ("limit", "value") and folded(str(beside.get("name", ""))).startswith("days "):
        return "days"
    return book_unit(row.unit, bench)


def book_unit(unit: str, bench: Bench) -> str:
    """'gal' in the field table stands for the unit of the book."""
    return unit.replace("gal", bench.unit) if unit in ("gal", "gal/min") else unit


def _register_or_level(text: str, here: str, bench: Bench, beside: Mapping[str, Any]) -> str | Problem:
    """What a tank or an instrument shows: a level, or the plain figure on a register.

    A bare figure read from something that is on no register is kept as a plain number: what it counts is not known.
    """
    of = words(beside.get("of")) or ""
    if bench.registers.find("tank", of) is not None:
        return _level(text, here)
    instrument = bench.registers.find("instrument", of)
    if instrument is not None:
        return _register_figure(_without_own_unit(text, instrument), here)
    number = parse(text, unit="count", where=here)
    return _level(text, here) if isinstance(number, Problem) else _register_figure(text, here)


def _register_figure(text: str, here: str) -> str | Problem:
    number = parse(text, unit="count", where=here)
    if isinstance(number, Quantity) and (number.about or number.point is None):
        return Problem(f"{text!r} is not what a register shows", here, "give the figure as it stands, or 'not read'")
    return sized(number, here)


def _level(text: str, here: str) -> str | Problem:
    level = check_level(_level_word(text), here)
    return level if isinstance(level, Problem) or level in LEVEL_WORDS else sized(read_quantity(level), here)


def _level_word(text: str) -> str:
    """'empty' and 'full' in Spanish too; any other text unchanged."""
    return {"vacio": "empty", "lleno": "full"}.get(folded(text), text) if len(text) < 10 else text


def _without_own_unit(text: str, instrument: Mapping[str, Any]) -> str:
    """'0.1 gal' on an instrument that counts gallons is 0.1 of its own; any other unit stays and is refused."""
    match = _FIGURE_AND_UNIT.fullmatch(text.strip())
    return match["figure"] if match and unit_named(match["unit"]) == instrument.get("unit", "") else text


def _choice(
    group: str, row: Field, raw: Any, path: str, here: str, bench: Bench, beside: Mapping[str, Any]
) -> str | None:
    """One of the answers of a field, in either language; a tank level where the field is a level as well."""
    text = {True: "yes", False: "no"}[raw] if isinstance(raw, bool) else words(raw)
    chosen = None if text is None else _CHOICES[group, row.name].get(folded(text))
    if chosen is not None:
        return chosen
    if text is not None and speak(text.strip()) in WRITTEN and row.need != table.REQUIRED:
        return speak(text.strip())
    if text is not None and row.type == table.QUANTITY:
        kept: str | None = bench.keep(_level(text.strip(), here), path, raw)
        return kept
    answers = [choice.value for choice in row.choices]
    step = did_you_mean(text or "", answers, "use one of: " + ", ".join(answers))
    bench.problem(f"{shown(raw)} is not an answer here", here, step)
    return None


def _measure(row: Field, raw: Any, path: str, here: str, bench: Bench) -> Any:
    """A volume with its method; see `records.measure`. Names in it are spelled as their register does."""
    text = words(raw)
    given = {**raw, "method": folded(str(raw.get("method", "declared")))} if isinstance(raw, Mapping) else text
    form, problems = check_measure(given, unit=book_unit(row.unit, bench), where=here, speak=_speak_in_measure)
    if problems:
        bench.problems += problems
        return None
    for where, quantity in _quantities(form, here):
        problem = too_large(quantity, where)
        if problem is not None:
            bench.problems.append(problem)
            return None
    if isinstance(form, str):
        return bench.keep(form, path, raw) if form not in WRITTEN else form
    for key, stored in form.items():
        if key in INSTRUMENT_KEYS and stored not in WRITTEN:
            form[key] = spelled(stored, (INSTRUMENT_KEYS[key],), f"{here}, {key}", bench)
        if key != "method" and form[key] not in WRITTEN:
            bench.keep(form[key], f"{path}/{key}", raw[key])
    return form


def _speak_in_measure(text: str) -> str:
    return _level_word(speak(text))


def _quantities(form: Any, here: str) -> list[tuple[str, Quantity]]:
    measure = read_measure(form)
    if isinstance(measure, str):
        return []
    return [(f"{here}, {key}", value) for key, value in measure.values.items() if isinstance(value, Quantity)]


def _group_list(row: Field, raw: Any, path: str, here: str, bench: Bench) -> list[dict[str, Any]] | None:
    """A list of tables, each with the fields of its group; None when it is empty."""
    if not isinstance(raw, list | tuple) or not all(isinstance(item, Mapping) for item in raw):
        bench.problem(f"{shown(raw)} is not a list of entries", here, f"write a list of tables: [{{{_keys(row.of)}}}]")
        return None
    if len(raw) > MOST_ITEMS:
        bench.problem(f"{len(raw)} entries are more than the {MOST_ITEMS} that are taken", here, "split the list")
        return None
    return [
        check_fields(row.of, item, f"{path}/{number}/", f"{here} no. {number}", bench)
        for number, item in enumerate(raw, start=1)
    ] or None


def _keys(group: str) -> str:
    return ", ".join(f"{row.name} = ..." for row in GROUPS[group][:3])


_BY_TYPE: Final[Mapping[str, Callable[[str, Field, Any, str, Bench, Mapping[str, Any]], Any]]] = {
    table.TEXT: _text,
    table.DATE: _date,
    table.MOMENT: _moment,
    table.ZONE: _zone,
    table.COUNT: _count,
    table.QUANTITY: _quantity,
    table.REF: _ref,
}
