"""A night as `washwater log` asks for it: the order of the questions, and the raw entry that the answers make.

Five things are needed (rig, lead, date, where, a stop); all else may be passed over with Enter. The entry that comes
out goes through the same validator as a file.
"""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import replace
from datetime import timedelta
from typing import Final

from compliance.intake.asking import Asking, ask, name, night, text
from compliance.intake.last import going_on
from compliance.intake.moments import check_date
from compliance.intake.night_found import AFTER, ask_what_was_found, ask_where
from compliance.intake.night_lines import (
    Raw,
    ask_escape,
    ask_hand_over,
    ask_reading,
    ask_stop,
    ask_take_on,
    ask_tank,
    ask_use_again,
    joined,
    label_of,
    names_of,
    stops,
)  # fmt: skip
from compliance.intake.question import KEY, LINE, Option, Question, Setting, numbered
from compliance.intake.wording import weekday
from compliance.records.problem import Problem

NOON: Final = 12
"""Before noon, 'tonight' is the night that began yesterday."""
STEPS: Final = ("stop", "take on", "hand over", "tank full", "use again", "escape", "reading")
"""What can come next in a night, by digit from 1; 0 is 'that was the last'."""
DONE: Final = "done"
CANCELLED: Final = "cancelled"
HAND_IN, KEEP = "hand in", "keep"
DO: Final = "do"
"""The last question: hand in, or keep the draft."""


def the_night(setting: Setting, raw: Raw) -> Generator[Question, str, None]:
    """Every question of a night in its order; `raw` fills up as they are answered."""
    registers = setting.registers
    raw["rig"] = yield from name(setting, "rig", label_of(setting, "run", "rig"), names_of(registers.all("rig")))
    raw["lead"] = yield from name(setting, "lead", label_of(setting, "run", "lead"), names_of(registers.all("person")))
    raw["date"] = yield from _date(setting)
    raw["line"] = []
    yield from _steps(setting, raw)
    raw["where"] = yield from ask_where(setting, raw)
    if raw.get("cancelled") is None:
        yield from ask_what_was_found(setting, raw)
    said = yield from text(setting, "remark", "run", "remark")
    raw["remark"] = joined(raw.get("remark"), said)
    yield from _hand_in(setting, raw)


def _date(setting: Setting) -> Asking:
    zone = setting.bench().night.zone
    now = setting.now.astimezone(zone)
    tonight = (now - timedelta(days=now.hour < NOON)).date()
    label = setting.say("date")

    def read(typed: str) -> str | Problem:
        if typed.strip().casefold() in ("y", "a", "ayer", "yesterday"):
            return (now.date() - timedelta(days=1)).isoformat()
        return check_date(typed.strip(), label)

    enter = setting.say("enter date", date=tonight.isoformat(), day=weekday(tonight, setting.language))
    hint = setting.say("hint date")
    return (yield from ask(Question("date", label, LINE, (), enter, tonight.isoformat(), hint, read=read)))


def _steps(setting: Setting, raw: Raw) -> Asking:
    """Stops and water lines in their order, until the last."""
    times = night(setting, raw["date"])
    step = 0
    while True:
        step += 1
        doing = yield from ask(_what_next(setting, raw, step))
        if doing == DONE:
            return
        if doing == CANCELLED:
            raw["cancelled"] = yield from text(setting, "cancelled", "run", "cancelled", needed=True)
            return
        line: Raw = {"line": doing}
        path = str(len(raw["line"]) + 1)
        last = going_on(setting.last, raw["line"][-1:], raw["rig"], raw["date"], setting.registers)
        setting = replace(setting, last=last)
        raw["line"].append(line)
        match doing:
            case "stop":
                yield from ask_stop(setting, raw, path, line)
            case "take on":
                yield from ask_take_on(setting, path, line)
            case "hand over":
                times = yield from ask_hand_over(setting, raw, path, line, times)
            case "tank full":
                line["tank"] = yield from ask_tank(setting, raw, f"{path}/tank")
            case "use again":
                yield from ask_use_again(setting, raw, path, line)
            case "escape":
                yield from ask_escape(setting, path, line)
            case _:
                yield from ask_reading(setting, raw, path, line)


def _what_next(setting: Setting, raw: Raw, step: int) -> Question:
    lines, count = raw["line"], len(stops(raw))
    if not lines:
        label = setting.say("step 0")
    elif lines[-1]["line"] == "stop":
        label = setting.say("step", n=count)
    else:
        label = setting.say("step more")
    options = numbered([(doing, setting.say(f"do {doing}")) for doing in STEPS])
    if not lines:
        options = (*options, Option("c", CANCELLED, setting.say("do cancelled")))
    if count:
        options = (*options, Option("0", DONE, setting.say("do done")))
    return Question(f"step/{step}", label, KEY, options, hint=setting.say("hint key"))


def in_order(raw: Raw) -> list[int]:
    """The lines of a night in their order, by their place among those asked: one heard of late stands at its stop."""
    lines = raw.get("line", [])
    order = [n for n, line in enumerate(lines) if AFTER not in line]
    for n, line in enumerate(lines):
        if AFTER in line:
            at = next(k for k, one in enumerate(order) if lines[one] is line[AFTER])
            order.insert(at + 1, n)
    return order


def _hand_in(setting: Setting, raw: Raw) -> Asking:
    options = numbered([(HAND_IN, setting.say("do hand in")), (KEEP, setting.say("do keep"))])
    yield from ask(Question(DO, setting.say("ready"), KEY, options, hint=setting.say("hint key")))
