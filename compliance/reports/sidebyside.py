"""Two hand-ins of one night side by side: each field in which they differ, in the words of the field table.

Lines are laid beside each other by what they are about, so that one line more on one side does not make all that
follow it look different.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from difflib import SequenceMatcher
from typing import Any, Final

from compliance.records.answer import without_value
from compliance.records.fields import DATE, GROUP, GROUPS, MEASURE, MOMENT, QUANTITY, WHERE, Field
from compliance.records.measure import METHODS
from compliance.records.quick import dataclass
from compliance.records.views import Fields
from compliance.reports import timeline
from compliance.reports.values import level_text, measure_text
from compliance.reports.words import Words

HEADINGS: Final = {"en": ("field", "the book has", "this says"), "es": ("dato", "el libro dice", "aquí dice")}
"""Over the columns, by language."""
_NOTHING: Final = {"en": "nothing", "es": "nada"}
_ABOUT: Final = ("site", "of", "place", "tank", "agent", "what")
"""What a line is about, the first of these that it has."""
_NOT_SAID: Final = ("keyed_by",)
"""Who keyed a night is nothing that the night says."""


@dataclass(frozen=True)
class Side:
    """One field in which two hand-ins differ. field: its label, with the stop or line that it is of.

    book, here: what the record of the book says, and what has come.
    """

    field: str
    book: str
    here: str


def side_by_side(held: Fields, came: Fields, words: Words) -> tuple[Side, ...]:
    """The fields in which two payloads of runs differ, the run's own first, then line by line.

    held: of the record in the book; came: of the entry that has the same id. Who keyed it is no difference.
    """
    mine, theirs = ({k: v for k, v in one["fields"].items() if k not in _NOT_SAID} for one in (held, came))
    return (*_of_group("run", mine, theirs, "", words), *_of_lines(held["lines"], came["lines"], words))


def _of_lines(held: Sequence[Fields], came: Sequence[Fields], words: Words) -> Iterator[Side]:
    for mine, theirs in _beside(held, came):
        line = mine or theirs
        assert line is not None
        name = _name(line, came if mine is None else held, words)
        if mine is None or theirs is None:
            said = _entry(line["line"], line["fields"], words)
            yield Side(name, said if mine else _NOTHING[words.language], said if theirs else _NOTHING[words.language])
        else:
            yield from _of_group(line["line"], mine["fields"], theirs["fields"], f"{name}: ", words)


def _beside(held: Sequence[Fields], came: Sequence[Fields]) -> Iterator[tuple[Fields | None, Fields | None]]:
    """The lines of both, in pairs; a line that only one side has stands alone."""
    keys = [[(line["line"], _about(line)) for line in lines] for lines in (held, came)]
    for tag, a, b, c, d in SequenceMatcher(None, keys[0], keys[1], autojunk=False).get_opcodes():
        mine, theirs = list(held[a:b]), list(came[c:d])
        if tag == "equal":
            yield from zip(mine, theirs, strict=True)
            continue
        for one in mine:  # a stop at another site is the same stop, told otherwise
            other = next((line for line in theirs if line["line"] == one["line"]), None)
            if other is not None:
                theirs.remove(other)
            yield one, other
        yield from ((None, line) for line in theirs)


def _about(line: Fields) -> str:
    return next((str(line["fields"][name]) for name in _ABOUT if name in line["fields"]), "")


def _name(line: Fields, lines: Sequence[Fields], words: Words) -> str:
    """'Stop 3, Harbor deck', 'Handover, North Plant'."""
    jugs = line["line"] == "agent jugs"
    kind = words.label("agent jugs", "jugs") if jugs else words(f"kind.{line['line']}")
    if line["line"] == "stop":
        stops = [one["n"] for one in lines if one["line"] == "stop"]
        kind = f"{kind} {stops.index(line['n']) + 1}"
    return ", ".join(part for part in (kind, _about(line)) if part)


def _of_group(group: str, held: Fields, came: Fields, about: str, words: Words) -> Iterator[Side]:
    for row in GROUPS[group]:
        mine, theirs = held.get(row.name), came.get(row.name)
        if mine == theirs:
            continue
        label = f"{about}{words.label(group, row.name)}"
        parts = _parts(mine, theirs)
        for key, one, other in parts:
            named = f"{label}, {words(f'measure.{key}')}"
            yield Side(named, level_text(one, words), level_text(other, words))
        if not parts:
            yield Side(label, _text(group, row, mine, words), _text(group, row, theirs, words))


def _parts(mine: Any, theirs: Any) -> list[tuple[str, str, str]]:
    """The readings in which two measures differ, where they are by one method and of one instrument."""
    if not isinstance(mine, Mapping) or not isinstance(theirs, Mapping) or mine.keys() != theirs.keys():
        return []
    different = [(key, mine[key], theirs[key]) for key in mine if mine[key] != theirs[key]]
    named = {"method", *(key.name for key in METHODS[mine["method"]] if key.holds in ("ref", "text"))}
    return different if named.isdisjoint(key for key, _, _ in different) else []


def _text(group: str, row: Field, value: Any, words: Words) -> str:
    if value is None:
        return _NOTHING[words.language]
    if without_value(value) is not None:
        return words.unknown(value)
    if row.type == GROUP:
        return " / ".join(_entry(row.of, one, words) for one in value) or _NOTHING[words.language]
    for choice in WHERE if row.name == "where" else row.choices:
        if choice.value == value:
            return value if words.language == "en" else choice.es
    say = _BY_TYPE.get(row.type)
    return str(value) if say is None else say(value, words)


_BY_TYPE: Final[Mapping[str, Callable[[Any, Words], str]]] = {
    MEASURE: measure_text,
    QUANTITY: level_text,
    MOMENT: timeline.moment,
    DATE: timeline.day,
}


def _entry(group: str, fields: Fields, words: Words) -> str:
    """All fields of a line or of an entry of a list."""
    rows = [row for row in GROUPS[group] if row.name in fields]
    return "; ".join(f"{words.label(group, row.name)}: {_text(group, row, fields[row.name], words)}" for row in rows)
