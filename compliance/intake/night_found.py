"""What is asked of a whole night once its lines are told: where the water is, what was used, found and seen.

All but the first may be passed over. What is told of one stop goes to its line.
"""

from __future__ import annotations

from collections.abc import Generator, Sequence
from typing import Final

from compliance.intake.asking import Asking, amount, ask, choice, name, text
from compliance.intake.compare import figure_of
from compliance.intake.measuring import Asked, volume
from compliance.intake.night_lines import Raw, ask_escape, joined, names_of, stops, worked_stops
from compliance.intake.question import LINE, Option, Question, Setting
from compliance.intake.run import GONE, NO_WATER
from compliance.intake.text import check_text
from compliance.records.answer import NOT_APPLICABLE
from compliance.records.fields import WHERE, WHERE_WORDS, Choice, field
from compliance.records.names import folded
from compliance.records.problem import Problem
from compliance.records.views import Fields

NOT_KNOWN: Final = "not known"
AFTER: Final = "\0after"
"""In a line that was heard of late: the stop behind which it belongs. It is no field and in no entry."""


def ask_what_was_found(setting: Setting, raw: Raw) -> Asking:
    """All that may be passed over: volumes, what got away, drains, agent, filters, rain, tickets."""
    used = Asked("run", "used", "used", measures="supply", role="fresh")
    raw["used"] = yield from volume(setting, raw, used, rig=raw["rig"], holds=None)
    drawn = any(line["line"] in ("hand over", "use again", "escape") for line in raw["line"])
    holds = None if drawn else _only_tank(setting, raw["rig"])
    recovered = Asked("run", "recovered", "recovered", measures="recovery", role="recovery")
    raw["recovered"] = yield from volume(setting, raw, recovered, rig=raw["rig"], holds=holds)
    if raw["where"] == NO_WATER and not any(line["line"] in GONE for line in raw["line"]):
        yield from _somewhere(setting, raw)
    told = any(line["line"] == "escape" for line in raw["line"])
    seen = yield from choice(setting, "got_away", "run", "got_away", text=setting.say("other water") if told else "")
    if seen == "yes":
        yield from _escape_at_a_stop(setting, raw)
    elif told and seen is not None:
        _say_of_other_stops(raw["line"], seen)
    raw["got_away"] = "yes" if told else seen
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


def _only_tank(setting: Setting, rig: str) -> Fields | None:
    """The rig's recovery tank, when it has one and no more."""
    tanks = setting.registers.tanks(rig, "recovery")
    return tanks[0] if len(tanks) == 1 else None


def _say_of_other_stops(lines: Sequence[Raw], seen: str) -> None:
    """What was seen beside an escape that was told answers for the stops at which none was; for the night it is yes."""
    here, told = "", set()
    for line in lines:
        if line["line"] == "stop":
            here = folded(str(line["site"]))
        elif line["line"] == "escape":
            told.add(here)
    for line in lines:
        if line["line"] == "stop" and "not_worked" not in line and folded(str(line["site"])) not in told:
            line["got_away"] = seen


def _escape_at_a_stop(setting: Setting, raw: Raw) -> Asking:
    """What got away, when it is first heard of at the end: a line behind the stop at which it was.

    Where nobody knows the stop there is no line: it would put the water on one client. 'Yes' stays, said of every stop.
    """
    worked = worked_stops(raw)
    stop: Raw | None = worked[0][1] if worked else None
    if len(worked) > 1:
        options = (*_stop_options(worked), Option("n", NOT_KNOWN, setting.say("not known")))
        label, hint = setting.say("escape where"), setting.say("hint stop")
        answer = yield from ask(Question("got_away/stop", label, LINE, options, hint=hint))
        stop = next((line for n, line in worked if str(n) == answer), None)
    if stop is None and worked:
        what = yield from text(setting, "got_away/what", "escape", "what", needed=True)
        raw["remark"] = joined(raw.get("remark"), setting.say("escape anywhere", what=what))
        return
    line: Raw = {"line": "escape"} if stop is None else {"line": "escape", AFTER: stop}
    raw["line"].append(line)
    yield from ask_escape(setting, str(len(raw["line"])), line)


def _somewhere(setting: Setting, raw: Raw) -> Asking:
    """Where the water is, once more, when some was recovered and there was said to be none."""
    recovered = figure_of("recovered", raw["recovered"], setting)
    if recovered is not None and recovered.low:
        raw["where"] = yield from ask_where(setting, raw, again=True)


def where_word(setting: Setting, word: Choice) -> str:
    """Where the water is, where that is no place; 'see lines' is a word of the record, and the crew's is another."""
    return setting.say("see lines") if word.value == "see lines" else setting.label(word)


def ask_where(setting: Setting, raw: Raw, *, again: bool = False) -> Asking:
    """again: asked once more, when 'no water' is no answer any longer."""
    places = names_of(setting.registers.all("place"))
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
    worked = worked_stops(raw)
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
            raw["remark"] = joined(raw.get("remark"), setting.say("except anywhere", what=said))
            return
        differed.add(n)
        line = dict(worked)[n]
        line["drains"], line["remark"] = "except", joined(line.get("remark"), said)
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
    worked = worked_stops(raw)
    question = Question(key, label, LINE, _stop_options(worked), enter, hint=setting.say("hint stop"))
    answer = yield from ask(question)
    return next(((n, line) for n, line in worked if str(n) == answer), None)


def _stop_options(worked: list[tuple[int, Raw]]) -> tuple[Option, ...]:
    return tuple(Option(str(n), str(n), str(line["site"])) for n, line in worked)


def _agents(setting: Setting, raw: Raw) -> Asking:
    """Products by name, each at one stop or at all that were worked; the amount where it was one."""
    k = 0
    while True:
        k += 1
        known = names_of(setting.registers.all("agent"))
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
