"""How a volume was learned, asked in the words of the rig: what stands on its registers decides what is offered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from compliance.intake.asking import Asking, again, amount_hint, ask, figure, name, reader
from compliance.intake.question import LINE, Option, Question, Setting
from compliance.records.answer import NOT_READ
from compliance.records.fields import field
from compliance.records.problem import Problem
from compliance.records.quantity import parse
from compliance.records.quick import dataclass
from compliance.records.views import Fields

_LETTERS = {"meter": "m", "mark": "k", "fills": "f", "time": "t", "count": "c"}


PARTS: Final[Mapping[str, tuple[str, ...]]] = {
    "meter": ("start", "end"), "mark": ("before", "after"), "fills": ("times",), "time": ("minutes",),
    "count": ("times",),
}  # fmt: skip
"""What is read for each method; each part is answered, if only by 'not read'."""


@dataclass(frozen=True)
class Asked:
    """Which volume is asked.

    group, name: its field in the table. path: the key of its question. measures: what a meter for it is said to
    measure. role: of the tank whose marks or fills show it; tank: its name, where only one can be meant.
    """

    group: str
    name: str
    path: str
    measures: str
    role: str
    tank: str = ""


def volume(setting: Setting, raw: dict[str, Any], asked: Asked, *, rig: str, holds: Fields | None) -> Asking:
    """A volume: an amount typed at once, or a method by its letter and then its readings.

    raw: the run or line, into which readings go as they come, so that each can be compared when it is in. holds: the
    tank that an amount must go into, or be out of.
    """
    row = field(asked.group, asked.name)
    offered = ways(setting, rig, measures=asked.measures, role=asked.role)
    if asked.group != "run":  # one dump is out of one tank, and no number of fills
        offered = {way: names for way, names in offered.items() if way != "fills"}
        offered |= {"mark": [asked.tank]} if asked.tank else {}
    options = [Option(_LETTERS[way], f"\0{way}", setting.say(f"by {way}")) for way in _LETTERS if way in offered]
    options.append(Option("n", NOT_READ, setting.say("not read")))

    named = setting.label(row) if asked.group == "run" else setting.say(f"{asked.group} amount")
    label = setting.say("how", label=named)
    hint, passed = amount_hint(setting), setting.say("enter not yet")
    read = reader(setting, asked.group, row, label, {})
    question = Question(asked.path, label, LINE, tuple(options), passed, hint=hint, help=row.help, read=read)
    answer = yield from ask(question)
    if not answer.startswith("\0"):
        plain = replace(question, options=tuple(options[-1:]))
        return (yield from again(setting, plain, answer, row, holds)) or None
    way = answer[1:]
    raw[asked.name] = {"method": way}
    yield from _readings(setting, raw[asked.name], asked.path, way, offered[way], left=bool(asked.tank))
    return raw[asked.name]


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


def _readings(
    setting: Setting, form: dict[str, Any], key: str, way: str, known: Sequence[str], *, left: bool
) -> Asking:
    """The readings that a method needs, into its form. left: a meter may be said to stand where it was read last."""
    what = {"meter": "meter", "mark": "tank", "fills": "tank", "time": "flow", "count": "vessel"}[way]
    of = known[0]
    if len(known) > 1:
        of = yield from name(setting, f"{key}/{what}", setting.say("which"), known)
    form[what] = of
    for part in PARTS[way]:
        path, label = f"{key}/{part}", setting.say(part, name=of)
        if way == "mark":
            form[part] = yield from figure(setting, path, label, beside={"of": of}, level=True, needed=True)
        elif way == "meter":
            start = form.get("start")
            form[part] = yield from figure(
                setting, path, label, beside={"of": of}, level=False, needed=True, before=start,
                left=left and start is None,
            )  # fmt: skip
        else:
            form[part] = yield from _number(setting, path, label, "min" if part == "minutes" else "count")


def _number(setting: Setting, key: str, label: str, unit: str) -> Asking:
    """A number of times or of minutes, or 'not read'."""

    def read(typed: str) -> str | Problem:
        found = parse(typed, unit=unit, where=label)
        return found if isinstance(found, Problem) else typed.strip()

    options = (Option("n", NOT_READ, setting.say("not read")),)
    return (yield from ask(Question(key, label, LINE, options, hint=setting.say("hint figure"), read=read)))
