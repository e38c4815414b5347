"""How a volume was learned, asked in the words of the rig: what stands on its registers decides what is offered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from compliance.intake.asking import Asking, again, ask, figure, name, reader
from compliance.intake.question import LINE, Option, Question, Setting
from compliance.records.answer import NOT_READ
from compliance.records.fields import field
from compliance.records.problem import Problem
from compliance.records.quantity import parse
from compliance.records.state import Fields

_LETTERS = {"meter": "m", "mark": "k", "fills": "f", "time": "t", "count": "c"}


PARTS: Final[Mapping[str, tuple[str, ...]]] = {
    "meter": ("start", "end"), "mark": ("before", "after"), "fills": ("times",), "time": ("minutes",),
    "count": ("times",),
}  # fmt: skip
"""What is read for each method; each part is answered, if only by 'not read'."""


def volume(
    setting: Setting, raw: dict[str, Any], key: str, *, measures: str, role: str, holds: Fields | None
) -> Asking:
    """A volume of the run: an amount typed at once, or a method by its letter and then its readings.

    raw: the entry, into which readings go as they come, so that each can be compared when it is in. measures: what a
    meter for it is said to measure. role: of the tank whose marks or fills show it.
    """
    row = field("run", key)
    offered = ways(setting, raw["rig"], measures=measures, role=role)
    options = [Option(_LETTERS[way], f"\0{way}", setting.say(f"by {way}")) for way in offered]
    options.append(Option("n", NOT_READ, setting.say("not read")))

    label = setting.say("how", label=setting.label(row))
    hint, passed = setting.say("hint amount"), setting.say("enter not yet")
    read = reader(setting, "run", row, label, {})
    question = Question(key, label, LINE, tuple(options), passed, hint=hint, help=row.help, read=read)
    answer = yield from ask(question)
    if not answer.startswith("\0"):
        plain = replace(question, options=tuple(options[-1:]))
        return (yield from again(setting, plain, answer, row, holds)) or None
    way = answer[1:]
    raw[key] = {"method": way}
    yield from _readings(setting, raw[key], key, way, offered[way])
    return raw[key]


def ways(setting: Setting, rig: str, *, measures: str, role: str) -> dict[str, Sequence[str]]:
    """The methods that the rig's registers allow: method -> the names of what is read."""
    registers = setting.registers
    key = registers.key("rig", rig)
    own = [
        entry
        for entry in registers.all("instrument")
        if entry.get("measures", measures) == measures
        and ("rig" not in entry or registers.key("rig", str(entry["rig"])) == key)
    ]
    tanks = [str(tank["name"]) for tank in registers.tanks(rig, role)]

    def named(kind: str) -> list[str]:
        return [str(entry["name"]) for entry in own if entry.get("kind") == kind]

    found = {
        "meter": named("meter"),
        "mark": tanks,
        "fills": tanks,
        "time": named("flow test") if measures == "supply" else [],
        "count": named("vessel"),
    }
    return {way: names for way, names in found.items() if names}


def _readings(setting: Setting, form: dict[str, Any], key: str, way: str, known: Sequence[str]) -> Asking:
    """The readings that a method needs, into its form."""
    what = {"meter": "meter", "mark": "tank", "fills": "tank", "time": "flow", "count": "vessel"}[way]
    of = known[0]
    if len(known) > 1:
        of = yield from name(setting, f"{key}/{what}", setting.say("which"), known)
    form[what] = of
    for part in PARTS[way]:
        path, label = f"{key}/{part}", setting.say(part, name=of)
        if way in ("meter", "mark"):
            form[part] = yield from figure(setting, path, label, beside={"of": of}, level=way == "mark", needed=True)
        else:
            form[part] = yield from _number(setting, path, label, "min" if part == "minutes" else "count")


def _number(setting: Setting, key: str, label: str, unit: str) -> Asking:
    """A number of times or of minutes, or 'not read'."""

    def read(typed: str) -> str | Problem:
        found = parse(typed, unit=unit, where=label)
        return found if isinstance(found, Problem) else typed.strip()

    options = (Option("n", NOT_READ, setting.say("not read")),)
    return (yield from ask(Question(key, label, LINE, options, hint=setting.say("hint figure"), read=read)))
