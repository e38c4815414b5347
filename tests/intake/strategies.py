"""Valid entries of any shape, made from the field table itself."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from compliance.intake.run import NO_WATER
from compliance.intake.values import SIZES, spoken_forms
from compliance.records import fields as table
from compliance.records.answer import WRITTEN
from compliance.records.fields import GROUPS, LINE_KINDS, REGISTERS, REQUIRED, WHERE_WORDS, Field
from compliance.records.measure import METHODS
from compliance.records.quantity import UNITS

LETTERS = st.characters(codec="utf-8", categories=("L", "N", "P", "S"), exclude_characters="\u2028\u2029")
NAMES = st.text(LETTERS, min_size=1, max_size=20).filter(
    lambda text: text.strip() == text and text.casefold() not in WRITTEN
)
NUMBERS = st.decimals(0, 999, places=1, allow_nan=False).map(lambda number: f"{number:f}")
ANSWERS = st.sampled_from(WRITTEN)


def quantities(unit: str, least: int = 0) -> st.SearchStrategy[Any]:
    """Figures, bounds and ranges in any unit of the dimension, small enough to be meant."""
    most = {"pH": 14, "m3": 300, "h": 999, "days": 99}
    units = [name for name in UNITS if UNITS[name][0] == UNITS[unit][0] and name not in ("m", "ft")]

    def figure(name: str) -> st.SearchStrategy[str]:
        numbers = st.decimals(least, most.get(name, 999), places=1, allow_nan=False).map(lambda number: f"{number:f}")
        return st.builds("{}{} {}".format, st.sampled_from(("", "~", ">=", "at least ")), numbers, st.just(name))

    bare = st.integers(least, most.get(unit, 999))
    return st.one_of(bare, st.sampled_from(units).flatmap(figure), st.just(f"3..9 {unit}"))


def measures() -> st.SearchStrategy[Any]:
    """A declared amount, or a table of any method with every key that it needs."""
    holds = {
        "ref": NAMES,
        "text": NAMES,
        "number": st.one_of(NUMBERS, st.integers(0, 999), st.just("not read")),
        "level": st.sampled_from(("empty", "full", "12.5 in", "140 gal", "not read")),
    }

    def form(method: str) -> st.SearchStrategy[Any]:
        keys = {
            key.name: holds.get(key.holds, quantities(key.unit or "gal")) for key in METHODS[method] if key.required
        }
        return st.fixed_dictionaries({"method": st.just(method), **keys})

    return st.one_of(quantities("gal"), st.sampled_from(sorted(METHODS)).flatmap(form))


def values(group: str, row: Field) -> st.SearchStrategy[Any]:
    """Values of one field in forms that both the validator and the schema take: that 0 is no size, a schema passes."""
    choices = [word for choice in row.choices for word in spoken_forms(choice)]
    if row.name == "position":
        degrees = st.tuples(st.integers(-90, 90), st.integers(-180, 180))
        return degrees.map(lambda pair: f"{pair[0]}, {pair[1]}")
    match row.type:
        case table.GROUP:
            return st.lists(entries(row.of), max_size=2)
        case table.CHOICE:
            found = st.sampled_from(choices)
        case table.DATE:
            found = st.dates(min_value=_day(1990), max_value=_day(2099)).map(lambda day: day.isoformat())
        case table.MOMENT:
            found = st.datetimes(_moment(1991), _moment(2098)).map(lambda at: f"{at:%Y-%m-%dT%H:%M}+00:00")
        case table.ZONE:
            found = st.sampled_from(("America/Denver", "UTC"))
        case table.COUNT:
            found = st.integers(0, 9999)
        case table.QUANTITY:
            least = int((group, row.name) in SIZES)
            unit = "in" if row.name == "shows" else row.unit
            found = st.sampled_from(choices) if choices else quantities(unit, least)
        case table.MEASURE:
            found = measures()
        case _:
            found = NAMES
    return found if row.need == REQUIRED else st.one_of(found, ANSWERS, st.none())


def entries(group: str, **fixed: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, Any]]:
    """Tables of one group: what is needed always, all else sometimes."""
    rows = [row for row in GROUPS[group] if row.name not in fixed]
    return st.fixed_dictionaries(
        {**{row.name: values(group, row) for row in rows if row.need == REQUIRED}, **fixed},
        optional={row.name: values(group, row) for row in rows if row.need != REQUIRED},
    )


def lines(kind: str) -> st.SearchStrategy[dict[str, Any]]:
    """Lines of one kind."""
    return entries(kind, line=st.just(kind))


def runs() -> st.SearchStrategy[dict[str, Any]]:
    """Whole nights: the five that are needed, and any lines in any order."""
    some = st.lists(st.sampled_from(LINE_KINDS).flatmap(lines), max_size=3)
    all_lines = st.builds(lambda stop, more: [stop, *more], lines("stop"), some)
    words = [word for word in WHERE_WORDS if word != NO_WATER]  # beside water that was recovered it is refused
    where = st.one_of(st.sampled_from(words), NAMES)
    start = st.just("not read")  # a start on another day than the date is refused, and only the validator knows
    card = st.sampled_from((None, "TVX7-67W2-6"))  # whose check character fits, only the validator knows
    return entries("run", line=all_lines, where=where, start=start, card=card)


def registers() -> st.SearchStrategy[dict[str, Any]]:
    """Registers files: a business and an entry of some registers, each of its own name."""
    some: dict[str, Any] = {what: entries(what) for what in REGISTERS}
    early, late = (st.dates(_day(first), _day(last)).map(lambda day: day.isoformat()) for first, last in
                   ((1990, 2040), (2041, 2099)))  # fmt: skip
    some["permission"] = entries("permission", valid_from=st.one_of(early, ANSWERS, st.none()), valid_to=late)
    some["limit"] = st.one_of(  # 'none yet' beside a value is refused, and only the validator knows
        entries("limit", none_yet=st.sampled_from((None, "no"))),
        entries("limit", value=st.sampled_from((None, "not read"))),
    )
    return st.fixed_dictionaries(
        {"business": entries("business")}, optional={what: st.lists(one, max_size=1) for what, one in some.items()}
    )


def _day(year: int) -> Any:
    from datetime import date

    return date(year, 1, 1)


def _moment(year: int) -> Any:
    from datetime import datetime

    return datetime(year, 1, 1)  # noqa: DTZ001 - hypothesis takes bounds without a zone
