"""A night as `washwater log` asks for it: the order of the questions, and the raw entry that the answers make.

Five things are needed (rig, lead, date, where, a stop); all else may be passed over with Enter. The entry that comes
out goes through the same validator as a file.
"""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import replace
from datetime import timedelta
from typing import Any, Final

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
    night,
    text,
)  # fmt: skip
from compliance.intake.compare import figure_of
from compliance.intake.last import going_on
from compliance.intake.measuring import Asked, volume
from compliance.intake.moments import Night, check_date
from compliance.intake.question import KEY, LINE, Option, Question, Setting, numbered
from compliance.intake.run import GONE, NO_WATER
from compliance.intake.text import check_text
from compliance.intake.wording import weekday
from compliance.records.answer import NOT_APPLICABLE, NOT_READ
from compliance.records.fields import TANK_AFTER, WHERE, WHERE_WORDS, Choice, field
from compliance.records.problem import Problem
from compliance.records.views import Fields

NOON: Final = 12
"""Before noon, 'tonight' is the night that began yesterday."""
STEPS: Final = ("stop", "take on", "hand over", "tank full", "use again", "escape", "reading")
"""What can come next in a night, by digit from 1; 0 is 'that was the last'."""
DONE: Final = "done"
CANCELLED: Final = "cancelled"
HAND_IN, KEEP = "hand in", "keep"
DO: Final = "do"
"""The last question: hand in, or keep the draft."""

NOT_KNOWN: Final = "not known"
AFTER: Final = "\0after"
"""In a line that was heard of late: the stop behind which it belongs. It is no field and in no entry."""

Raw = dict[str, Any]


def the_night(setting: Setting, raw: Raw) -> Generator[Question, str, None]:
    """Every question of a night in its order; `raw` fills up as they are answered."""
    registers = setting.registers
    raw["rig"] = yield from name(setting, "rig", _label(setting, "run", "rig"), _names(registers.all("rig")))
    raw["lead"] = yield from name(setting, "lead", _label(setting, "run", "lead"), _names(registers.all("person")))
    raw["date"] = yield from _date(setting)
    raw["line"] = []
    yield from _steps(setting, raw)
    raw["where"] = yield from _where(setting, raw)
    if raw.get("cancelled") is None:
        yield from _what_was_found(setting, raw)
    said = yield from text(setting, "remark", "run", "remark")
    raw["remark"] = _joined(raw.get("remark"), said)
    yield from _hand_in(setting, raw)


def _what_was_found(setting: Setting, raw: Raw) -> Asking:
    """All that may be passed over: volumes, what got away, drains, agent, filters, rain, tickets."""
    used = Asked("run", "used", "used", measures="supply", role="fresh")
    raw["used"] = yield from volume(setting, raw, used, rig=raw["rig"], holds=None)
    drawn = any(line["line"] in ("hand over", "use again", "escape") for line in raw["line"])
    holds = None if drawn else _only_tank(setting, raw["rig"])
    recovered = Asked("run", "recovered", "recovered", measures="recovery", role="recovery")
    raw["recovered"] = yield from volume(setting, raw, recovered, rig=raw["rig"], holds=holds)
    if raw["where"] == NO_WATER and not any(line["line"] in GONE for line in raw["line"]):
        yield from _somewhere(setting, raw)
    raw["got_away"] = yield from choice(setting, "got_away", "run", "got_away")
    if raw["got_away"] == "yes" and not any(line["line"] == "escape" for line in raw["line"]):
        yield from _escape_at_a_stop(setting, raw)
    labels = {"except": setting.say("except label")}
    raw["drains"] = yield from choice(setting, "drains", "run", "drains", text=setting.say("drains"), labels=labels)
    if raw["drains"] == "except":
        yield from _exceptions(setting, raw)
    raw["agent_use"] = yield from choice(setting, "agent_use", "run", "agent_use")
    if raw["agent_use"] == "used":
        yield from _agents(setting, raw)
    raw["filters"] = yield from choice(setting, "filters", "run", "filters")
    raw["rain"] = yield from choice(setting, "rain", "run", "rain")
    yield from _tickets(setting, raw)


def _label(setting: Setting, group: str, of: str) -> str:
    return setting.label(field(group, of))


def _names(entries: Any) -> list[str]:
    return [str(entry["name"]) for entry in entries]


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
                yield from _stop(setting, raw, path, line)
            case "take on":
                yield from _take_on(setting, path, line)
            case "hand over":
                times = yield from _hand_over(setting, raw, path, line, times)
            case "tank full":
                line["tank"] = yield from _which_tank(setting, raw, f"{path}/tank")
            case "use again":
                line["tank"] = yield from _which_tank(setting, raw, f"{path}/tank")
                tank = setting.registers.find("tank", line["tank"])
                line["amount"] = yield from _amount(setting, f"{path}/amount", doing, tank)
            case "escape":
                yield from _escape_fields(setting, path, line)
            case _:
                yield from _reading(setting, raw, path, line)


def stops(raw: Raw) -> list[Raw]:
    """The stops of a night so far, in their order."""
    return [line for line in raw.get("line", ()) if line["line"] == "stop"]


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


def _stop(setting: Setting, raw: Raw, path: str, line: Raw) -> Asking:
    n = len(stops(raw))
    sites = _names(setting.registers.all("site"))
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


def _take_on(setting: Setting, path: str, line: Raw) -> Asking:
    line["place"] = yield from text(setting, f"{path}/place", "take on", "place", label=setting.say("taken from"))
    line["amount"] = yield from _amount(setting, f"{path}/amount", "take on", None)


def _hand_over(setting: Setting, raw: Raw, path: str, line: Raw, times: Night) -> Generator[Question, str, Night]:
    places = _names(setting.registers.all("place"))
    line["place"] = yield from name(setting, f"{path}/place", _label(setting, "hand over", "place"), places)
    line["tank"] = yield from _which_tank(setting, raw, f"{path}/tank")
    tank = setting.registers.find("tank", line["tank"])
    asked = Asked("hand over", "amount", f"{path}/amount", "handover", "recovery", tank=line["tank"] or "")
    line["amount"] = yield from volume(setting, line, asked, rig=raw["rig"], holds=tank)
    form = line["amount"] if isinstance(line["amount"], dict) else {}
    if str(form.get("start", "")).endswith(AS_LEFT):
        form["start"] = form["start"].removesuffix(AS_LEFT)
        said = setting.say("left as read", name=form["meter"], last=form["start"])
        raw["remark"] = _joined(raw.get("remark"), said)
    line["tank"] = line["tank"] or form.get("tank")
    seen = form.get("after")
    line["tank_after"] = seen or (yield from _tank_after(setting, f"{path}/tank_after", line["tank"]))
    line["at"] = yield from moment(setting, f"{path}/at", times)
    return after_first(times, line["at"])


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


def _only_tank(setting: Setting, rig: str) -> Fields | None:
    """The rig's recovery tank, when it has one and no more."""
    tanks = setting.registers.tanks(rig, "recovery")
    return tanks[0] if len(tanks) == 1 else None


def _which_tank(setting: Setting, raw: Raw, key: str) -> Asking:
    """The recovery tank of the rig: asked only where it has several; None where its register has none."""
    tanks = _names(setting.registers.tanks(raw["rig"], "recovery"))
    if len(tanks) < 2:
        return tanks[0] if tanks else None
    return (yield from name(setting, key, setting.say("which"), tanks, needed=False))


def _escape_at_a_stop(setting: Setting, raw: Raw) -> Asking:
    """What got away, when it is first heard of at the end: a line behind the stop at which it was.

    Where nobody knows the stop there is no line: it would put the water on one client. 'Yes' stays, said of every stop.
    """
    worked = _worked(raw)
    stop: Raw | None = worked[0][1] if worked else None
    if len(worked) > 1:
        options = (*_stop_options(worked), Option("n", NOT_KNOWN, setting.say("not known")))
        label, hint = setting.say("escape where"), setting.say("hint stop")
        answer = yield from ask(Question("got_away/stop", label, LINE, options, hint=hint))
        stop = next((line for n, line in worked if str(n) == answer), None)
    if stop is None and worked:
        what = yield from text(setting, "got_away/what", "escape", "what", needed=True)
        raw["remark"] = _joined(raw.get("remark"), setting.say("escape anywhere", what=what))
        return
    line: Raw = {"line": "escape"} if stop is None else {"line": "escape", AFTER: stop}
    raw["line"].append(line)
    yield from _escape_fields(setting, str(len(raw["line"])), line)


def in_order(raw: Raw) -> list[int]:
    """The lines of a night in their order, by their place among those asked: one heard of late stands at its stop."""
    lines = raw.get("line", [])
    order = [n for n, line in enumerate(lines) if AFTER not in line]
    for n, line in enumerate(lines):
        if AFTER in line:
            at = next(k for k, one in enumerate(order) if lines[one] is line[AFTER])
            order.insert(at + 1, n)
    return order


def _joined(*parts: str | None) -> str | None:
    """Remarks in a row; None when nothing was said."""
    return "; ".join(part for part in parts if part) or None


def _escape_fields(setting: Setting, path: str, line: Raw) -> Asking:
    line["what"] = yield from text(setting, f"{path}/what", "escape", "what", needed=True)
    line["reached"] = yield from choice(setting, f"{path}/reached", "escape", "reached", text=setting.say("reached"))
    line["amount"] = yield from _amount(setting, f"{path}/amount", "escape", None)


def _reading(setting: Setting, raw: Raw, path: str, line: Raw) -> Asking:
    registers, rig = setting.registers, raw["rig"]
    tanks = _names(registers.tanks(rig, "recovery")) + _names(registers.tanks(rig, "holding"))
    meters = [
        str(entry["name"])
        for entry in registers.all("instrument")
        if entry.get("kind") in ("meter", "scale")
        and registers.key("rig", str(entry.get("rig", rig))) == registers.key("rig", rig)
    ]
    line["of"] = yield from name(setting, f"{path}/of", _label(setting, "reading", "of"), tanks + meters)
    level = line["of"] not in meters
    label = _label(setting, "reading", "shows")
    line["shows"] = yield from figure(setting, f"{path}/shows", label, beside={"of": line["of"]}, level=level)


def _somewhere(setting: Setting, raw: Raw) -> Asking:
    """Where the water is, once more, when some was recovered and there was said to be none."""
    recovered = figure_of("recovered", raw["recovered"], setting)
    if recovered is not None and recovered.low:
        raw["where"] = yield from _where(setting, raw, again=True)


def where_word(setting: Setting, word: Choice) -> str:
    """Where the water is, where that is no place; 'see lines' is a word of the record, and the crew's is another."""
    return setting.say("see lines") if word.value == "see lines" else setting.label(word)


def _where(setting: Setting, raw: Raw, *, again: bool = False) -> Asking:
    """again: asked once more, when 'no water' is no answer any longer."""
    places = _names(setting.registers.all("place"))
    drawn = any(line["line"] == "hand over" for line in raw["line"])
    letters = dict(zip(WHERE_WORDS, "alxu", strict=True))
    more = [
        Option(letters[word.value], word.value, where_word(setting, word))
        for word in WHERE
        if (drawn or word.value != "see lines") and not (again and word.value == NO_WATER)
    ]
    key, label = ("where/again", "where again") if again else ("where", "where")
    return (yield from name(setting, key, setting.say(label), places, more=more, one_key=False))


def _exceptions(setting: Setting, raw: Raw) -> Asking:
    """At which stops the drains were not as planned, and what was different there; at the others they were.

    Where nobody knows at which stop, the night keeps the answer and its remark says what was different.
    """
    worked = _worked(raw)
    differed: set[int] = set()
    k = 0
    while worked and not (differed and len(worked) == 1):
        k += 1
        n: int | None = worked[0][0]
        if len(worked) > 1:
            n = yield from _stop_that_differed(setting, worked, f"drains/{k}", first=k == 1)
        if n is None and differed:
            break
        label = setting.say("except what" if n else "except what anywhere", n=n)
        said = yield from text(setting, f"drains/{k}/what", "stop", "remark", label=label, needed=True)
        if n is None:
            raw["remark"] = _joined(raw.get("remark"), setting.say("except anywhere", what=said))
            return
        differed.add(n)
        line = dict(worked)[n]
        line["drains"], line["remark"] = "except", _joined(line.get("remark"), said)
    for n, line in worked:
        if n not in differed:
            line["drains"] = "as planned"


def _stop_that_differed(
    setting: Setting, worked: list[tuple[int, Raw]], key: str, *, first: bool
) -> Generator[Question, str, int | None]:
    """Its number; None where the first is not known, and for Enter once there is one."""
    options = (*_stop_options(worked), *([Option("n", NOT_KNOWN, setting.say("not known"))] if first else []))
    enter = None if first else setting.say("enter no more")
    label, hint = setting.say("except where"), setting.say("hint stop")
    answer = yield from ask(Question(key, label, LINE, options, enter, hint=hint))
    return int(answer) if answer.isdecimal() else None


def _one_stop(
    setting: Setting, raw: Raw, key: str, label: str, enter: str
) -> Generator[Question, str, tuple[int, Raw] | None]:
    """A worked stop by its number; None for Enter."""
    worked = _worked(raw)
    question = Question(key, label, LINE, _stop_options(worked), enter, hint=setting.say("hint stop"))
    answer = yield from ask(question)
    return next(((n, line) for n, line in worked if str(n) == answer), None)


def _worked(raw: Raw) -> list[tuple[int, Raw]]:
    """The stops at which somebody worked, by their number."""
    return [(n, line) for n, line in enumerate(stops(raw), start=1) if "not_worked" not in line]


def _stop_options(worked: list[tuple[int, Raw]]) -> tuple[Option, ...]:
    return tuple(Option(str(n), str(n), str(line["site"])) for n, line in worked)


def _agents(setting: Setting, raw: Raw) -> Asking:
    """Products by name, each at one stop or at all that were worked; the amount where it was one."""
    k = 0
    while True:
        k += 1
        known = _names(setting.registers.all("agent"))
        label, enter = setting.say("agent" if k == 1 else "agent more"), setting.say("enter no more")
        enter = setting.say("enter not yet") if k == 1 else enter
        agent = yield from name(setting, f"agent/{k}", label, known, needed=False, enter=enter, one_key=False)
        if agent is None:
            return
        worked = [line for line in stops(raw) if "not_worked" not in line]
        one = worked[0] if len(worked) == 1 else None
        if len(worked) > 1:
            label = setting.say("agent where", agent=agent)
            stop = yield from _one_stop(setting, raw, f"agent/{k}/stop", label, setting.say("enter each"))
            one = None if stop is None else stop[1]
        use: Raw = {"agent": agent}
        if one is not None:
            row = field("agent use", "amount")
            label = setting.say("agent amount", agent=agent)
            used = yield from amount(setting, f"agent/{k}/amount", row, label=label)
            use |= {} if used is None else {"amount": used}
        for line in worked if one is None else [one]:
            line.setdefault("agents", []).append(dict(use))


def _tickets(setting: Setting, raw: Raw) -> Asking:
    """The ticket of each handover; of the run where its water went to a place without a line of its own."""
    handovers = [(n, line) for n, line in enumerate(raw["line"], start=1) if line["line"] == "hand over"]
    for n, line in handovers:
        line["ticket"] = yield from _ticket(setting, f"{n}/ticket", line["place"])
    if not handovers and raw["where"] not in WHERE_WORDS and raw["where"] is not None:
        raw["ticket"] = yield from _ticket(setting, "ticket", raw["where"])


def _ticket(setting: Setting, key: str, place: str) -> Asking:
    options = (
        Option("l", "later", setting.say("later")),
        Option("x", NOT_APPLICABLE, setting.say("not applicable")),
    )
    row = field("hand over", "ticket")
    label = setting.say("ticket of", place=place)
    question = Question(
        key, label, LINE, options, setting.say("enter not yet"), hint=setting.say("hint ticket"), help=row.help,
        read=lambda typed: _ticket_number(typed, label),
    )  # fmt: skip
    return (yield from ask(question)) or None


def _ticket_number(typed: str, label: str) -> str | Problem:
    return check_text(typed, label, name=True)


def _hand_in(setting: Setting, raw: Raw) -> Asking:
    options = numbered([(HAND_IN, setting.say("do hand in")), (KEEP, setting.say("do keep"))])
    yield from ask(Question(DO, setting.say("ready"), KEY, options, hint=setting.say("hint key")))
