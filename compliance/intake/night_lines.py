"""What is asked of one line of a night: a stop, water taken on or handed over, what got away, a reading.

Each fills the line that it is given, in which the next questions see what was answered.
"""

from __future__ import annotations

from collections.abc import Generator
from typing import Any

from compliance.intake.asking import (
    AS_LEFT,
    MOST_OFFERED,
    Asking,
    after_first,
    amount,
    ask,
    choice,
    figure,
    moment,
    name,
    text,
)  # fmt: skip
from compliance.intake.measuring import Asked, volume
from compliance.intake.moments import Night
from compliance.intake.question import KEY, Option, Question, Setting, numbered
from compliance.records.answer import NOT_READ
from compliance.records.fields import TANK_AFTER, field
from compliance.records.views import Fields

Raw = dict[str, Any]
"""A night or a line of it as it is told so far: name of a field -> raw value, None where it was passed over."""


def label_of(setting: Setting, group: str, of: str) -> str:
    """The label of a field by its group and name, as the crew says it."""
    return setting.label(field(group, of))


def names_of(entries: Any) -> list[str]:
    """The names of register entries, in their order."""
    return [str(entry["name"]) for entry in entries]


def stops(raw: Raw) -> list[Raw]:
    """The stops of a night so far, in their order."""
    return [line for line in raw.get("line", ()) if line["line"] == "stop"]


def worked_stops(raw: Raw) -> list[tuple[int, Raw]]:
    """The stops at which somebody worked, by their number."""
    return [(n, line) for n, line in enumerate(stops(raw), start=1) if "not_worked" not in line]


def joined(*parts: str | None) -> str | None:
    """Remarks in a row; None when nothing was said."""
    return "; ".join(part for part in parts if part) or None


def ask_stop(setting: Setting, raw: Raw, path: str, line: Raw) -> Asking:
    """The site, and whether somebody worked there; else why not."""
    n = len(stops(raw))
    sites = names_of(setting.registers.all("site"))
    label, recent = setting.say("site", n=n), _visited(setting)
    line["site"] = yield from name(setting, f"{path}/site", label, sites, one_key=False, recent=recent)
    site = setting.registers.find("site", line["site"])
    if site is not None and "client" in site:
        line["client"] = site["client"]
    options = numbered([("worked", setting.say("yes worked")), ("not worked", setting.say("not worked"))])
    label = setting.say("worked", n=n, site=line["site"])
    done = yield from ask(Question(f"{path}/worked", label, KEY, options, hint=setting.say("hint key")))
    if done != "worked":
        reason = yield from text(
            setting, f"{path}/not_worked", "stop", "not_worked", label=setting.say("why not"), needed=True
        )
        line["not_worked"] = reason


def _visited(setting: Setting) -> list[str]:
    """The sites on the register that were worked last, the latest first."""
    found: dict[str, None] = {}
    for run in reversed(setting.state.runs):
        for line in run.lines:
            site = setting.registers.find("site", line.get("site"))
            if site is not None:
                found.setdefault(str(site["name"]))
        if len(found) >= MOST_OFFERED:
            break
    return list(found)


def ask_take_on(setting: Setting, path: str, line: Raw) -> Asking:
    """Fresh water that was filled in: where from, and how much."""
    line["place"] = yield from text(setting, f"{path}/place", "take on", "place", label=setting.say("taken from"))
    line["amount"] = yield from _amount(setting, f"{path}/amount", "take on", None)


def ask_hand_over(setting: Setting, raw: Raw, path: str, line: Raw, times: Night) -> Generator[Question, str, Night]:
    """Water that left: to where, how much, how the tank was left and when. Returns the night with its first time."""
    places = names_of(setting.registers.all("place"))
    line["place"] = yield from name(setting, f"{path}/place", label_of(setting, "hand over", "place"), places)
    line["tank"] = yield from ask_tank(setting, raw, f"{path}/tank")
    tank = setting.registers.find("tank", line["tank"])
    asked = Asked("hand over", "amount", f"{path}/amount", "handover", "recovery", tank=line["tank"] or "")
    line["amount"] = yield from volume(setting, line, asked, rig=raw["rig"], holds=tank)
    form = line["amount"] if isinstance(line["amount"], dict) else {}
    if str(form.get("start", "")).endswith(AS_LEFT):
        form["start"] = form["start"].removesuffix(AS_LEFT)
        said = setting.say("left as read", name=form["meter"], last=form["start"])
        raw["remark"] = joined(raw.get("remark"), said)
    line["tank"] = line["tank"] or form.get("tank")
    seen = form.get("after")
    line["tank_after"] = seen or (yield from _tank_after(setting, f"{path}/tank_after", line["tank"]))
    line["at"] = yield from moment(setting, f"{path}/at", times)
    return after_first(times, line["at"])


def ask_use_again(setting: Setting, raw: Raw, path: str, line: Raw) -> Asking:
    """Water out of the recovery tank that was washed with once more."""
    line["tank"] = yield from ask_tank(setting, raw, f"{path}/tank")
    tank = setting.registers.find("tank", line["tank"])
    line["amount"] = yield from _amount(setting, f"{path}/amount", "use again", tank)


def _tank_after(setting: Setting, key: str, tank: str | None) -> Asking:
    """How the tank was left, where its marks were not read for the amount already."""
    options = (
        Option("1", TANK_AFTER[0].value, setting.label(TANK_AFTER[0])),
        Option("2", "level", setting.say("a level")),
        Option("n", NOT_READ, setting.say("not read")),
    )
    passed, hint = setting.say("enter not yet"), setting.say("hint key")
    after = yield from ask(Question(key, setting.say("tank after"), KEY, options, passed, hint=hint))
    if after == "level":
        label, beside = setting.say("tank after"), {"of": tank or ""}
        after = yield from figure(setting, f"{key}/level", label, beside=beside, level=True)
    return after or None


def _amount(setting: Setting, key: str, group: str, holds: Fields | None) -> Asking:
    row = field(group, "amount")
    return (yield from amount(setting, key, row, label=setting.say(f"{group} amount"), holds=holds))


def ask_tank(setting: Setting, raw: Raw, key: str) -> Asking:
    """The recovery tank of the rig: asked only where it has several; None where its register has none."""
    tanks = names_of(setting.registers.tanks(raw["rig"], "recovery"))
    if len(tanks) < 2:
        return tanks[0] if tanks else None
    return (yield from name(setting, key, setting.say("which"), tanks, needed=False))


def ask_escape(setting: Setting, path: str, line: Raw) -> Asking:
    """Water that got away: what happened, what it reached, how much."""
    line["what"] = yield from text(setting, f"{path}/what", "escape", "what", needed=True)
    line["reached"] = yield from choice(setting, f"{path}/reached", "escape", "reached", text=setting.say("reached"))
    line["amount"] = yield from _amount(setting, f"{path}/amount", "escape", None)


def ask_reading(setting: Setting, raw: Raw, path: str, line: Raw) -> Asking:
    """What a tank or an instrument shows."""
    registers, rig = setting.registers, raw["rig"]
    tanks = names_of(registers.tanks(rig, "recovery")) + names_of(registers.tanks(rig, "holding"))
    meters = [
        str(entry["name"])
        for entry in registers.all("instrument")
        if entry.get("kind") in ("meter", "scale")
        and registers.key("rig", str(entry.get("rig", rig))) == registers.key("rig", rig)
    ]
    line["of"] = yield from name(setting, f"{path}/of", label_of(setting, "reading", "of"), tanks + meters)
    level = line["of"] not in meters
    label = label_of(setting, "reading", "shows")
    line["shows"] = yield from figure(setting, f"{path}/shows", label, beside={"of": line["of"]}, level=level)
