"""The questions of `washwater log` as a machine without a terminal: a draft in, the next question out.

A draft is a plain dict that JSON can hold: the answers in their order, and the figures that stood there when a
comparison was first shown. The shell saves it after every answer; a draft that is loaded again goes on exactly where
it stopped, because each question follows from the answers before it and from nothing else.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from compliance.intake.cautions import cautions_for
from compliance.intake.compare import compare_after
from compliance.intake.night import DO, KEEP, in_order, the_night
from compliance.intake.night_found import AFTER, where_word
from compliance.intake.night_lines import stops
from compliance.intake.question import KEY, Question, Setting, answers_of, chosen, not_understood
from compliance.intake.serial import serial_id
from compliance.intake.text import LONGEST
from compliance.records.answer import WRITTEN
from compliance.records.fields import GROUPS, WHERE, field
from compliance.records.problem import Problem
from compliance.records.quick import dataclass

Draft = dict[str, Any]
"""{'form': 1, 'id': the id of the record to be, 'card': the serial of its card if any, 'language',
'answers': [[key, answer], ...],
'compared': {key: the answer that stood there when a comparison with it was shown}}."""

AGAIN: Final = "/again"
"""Ends the key of a question that asks for a figure once more, after a comparison."""
FORM: Final = 1
"""The version of the shape of drafts."""
_RECAPPED: Final = ("where", "used", "recovered", "ticket")
"""Fields of the run that are said before it is handed in, besides every choice that was asked."""


@dataclass(frozen=True)
class Progress:
    """How far a night is. needed: how many of the five (rig, lead, date, where, a stop) are in; stops: how many."""

    needed: int
    stops: int
    answered: int
    text: str


def new_draft(language: str, id: str) -> Draft:
    """A draft with nothing in it. id: 32 hex digits, random, made by the caller; it becomes the record's."""
    return {"form": FORM, "id": id, "language": language, "answers": [], "compared": {}}


def on_card(draft: Draft, serial: str) -> Draft:
    """The draft of a night that was written on a paper card: the card's serial is its id, as in every other door."""
    return {**draft, "id": serial_id(serial), "card": serial}


def next_question(draft: Draft, setting: Setting) -> Question | None:
    """What is asked next; None when everything is answered and the night may be handed in (see `entry_of`)."""
    return _replayed(draft, setting)[0]


def answer(draft: Draft, text: str, setting: Setting) -> Draft | Problem:
    """The draft with one more answer, or why the text is none. text: as typed, '' for Enter alone."""
    question = next_question(draft, setting)
    if question is None:
        return Problem("there is nothing left to ask", "draft", "hand it in")
    read = _read(question, text, setting)
    if isinstance(read, Problem):
        return read
    grown = {**draft, "answers": [*draft["answers"], [question.key, read]]}
    path = question.key.removesuffix(AGAIN)
    if path not in draft["compared"] and (path != question.key or comparison(grown, setting) is not None):
        grown["compared"] = {**draft["compared"], path: answers_of(grown)[path]}
    return grown


def back(draft: Draft) -> Draft:
    """The draft without its last answer; a figure that was compared before it was taken back is not forgotten."""
    return {**draft, "answers": draft["answers"][:-1]}


def comparison(draft: Draft, setting: Setting) -> str | None:
    """What may be shown now that the last figure is in: the reading before it, what was expected, the ratio."""
    if not draft["answers"]:
        return None
    key, value = draft["answers"][-1]
    return compare_after(key, value, _replayed(draft, setting)[1], setting)


def cautions(draft: Draft, setting: Setting) -> tuple[str, ...]:
    """What to mind from the last answer on: each caution is shown once, where its danger was entered."""
    before = _cautions(back(draft), setting)
    return tuple(text for text in _cautions(draft, setting) if text not in before)


def _cautions(draft: Draft, setting: Setting) -> tuple[str, ...]:
    _, raw = _replayed(draft, setting)
    lines = [{"line": line["line"], "fields": _without_gaps(line)} for line in raw.get("line", ())]
    return cautions_for(_without_gaps(raw), lines, setting.registers, setting.language)


def entry_of(draft: Draft, setting: Setting) -> dict[str, Any]:
    """The raw entry that the answers make, for `run.check_run`; whole only when no question is left."""
    _, raw = _replayed(draft, setting)
    entry = {"id": draft["id"], **({"card": draft["card"]} if "card" in draft else {}), **_without_gaps(raw)}
    order = in_order(raw)
    entry["line"] = [_without_gaps(raw["line"][n]) for n in order]
    numbers = {str(n + 1): str(at) for at, n in enumerate(order, start=1)}
    first = {_moved(path, numbers): value for path, value in first_figures(draft).items()}
    return {**entry, "first": first} if first else entry


def _moved(path: str, numbers: Mapping[str, str]) -> str:
    """The path of a field in the entry. numbers: of a line as it was asked -> of the same line in its order."""
    head, slash, rest = path.partition("/")
    return f"{numbers.get(head, head)}{slash}{rest}"


def first_figures(draft: Draft) -> dict[str, str]:
    """Path of a field -> the figure given before a comparison was shown, where it is another one now."""
    answers = answers_of(draft)
    final = {path: answers.get(path + AGAIN, answers.get(path, value)) for path, value in draft["compared"].items()}
    return {path: value for path, value in draft["compared"].items() if final[path] != value}


def summary(draft: Draft, setting: Setting) -> list[tuple[str, str]]:
    """What will be handed in, as lines of (label, value); what was passed over says so."""
    _, raw = _replayed(draft, setting)
    rows = []
    for name in ("rig", "lead", "date"):
        rows.append((setting.label(field("run", name)), str(raw.get(name) or setting.say("not yet"))))
    made = stops(raw)
    idle = sum("not_worked" in line for line in made)
    rows.append((setting.say("stops"), setting.say("of stops", worked=len(made) - idle, not_worked=idle)))
    for row in GROUPS["run"]:
        if row.name not in raw or not (row.choices or row.name in _RECAPPED):
            continue
        rows.append((setting.label(row), _in_words(raw[row.name], row.name, setting)))
        if row.name == "got_away":
            rows += [_escape(line, setting) for line in raw.get("line", ()) if line["line"] == "escape"]
    return rows


def _escape(line: Mapping[str, Any], setting: Setting) -> tuple[str, str]:
    """Water that got away, as it was told: the gravest of a night is not handed in unseen."""
    reached = {choice.value: setting.label(choice) for choice in field("escape", "reached").choices}
    told = (line.get("what"), reached.get(str(line.get("reached"))), _in_words(line.get("amount"), "used", setting))
    return f"  {setting.label(field('escape', 'what'))}", ", ".join(str(one) for one in told if one)


def progress(draft: Draft, setting: Setting) -> Progress:
    """How much of the night is in."""
    _, raw = _replayed(draft, setting)
    made = len(stops(raw))
    needed = sum(bool(raw.get(name)) for name in ("rig", "lead", "date", "where")) + (made > 0)
    return Progress(needed, made, len(draft["answers"]), setting.say("progress", done=needed, stops=made))


def resumed(draft: Draft) -> Draft:
    """A draft taken up again: one that was kept at its last question is asked that question once more."""
    return back(draft) if handing_in(draft) == KEEP else draft


def handing_in(draft: Draft) -> str | None:
    """The answer to the last question, 'hand in' or 'keep'; None before it."""
    return answers_of(draft).get(DO)


def _replayed(draft: Draft, setting: Setting) -> tuple[Question | None, dict[str, Any]]:
    """The first question that has no answer yet, and the raw entry up to there."""
    answers = answers_of(draft)
    raw: dict[str, Any] = {}
    night = the_night(setting, raw)
    try:
        question = next(night)
        while question.key in answers:
            question = night.send(answers[question.key])
    except StopIteration:
        return None, raw
    return question, raw


def _read(question: Question, text: str, setting: Setting) -> str | Problem:
    """The answer that a text stands for."""
    if not text.strip():
        if question.enter is None:
            return Problem(setting.say("needed"), question.text, question.hint)
        return question.enter_value
    option = chosen(question, text)
    if option is not None:
        return option
    if question.kind == KEY or question.read is None or len(text) > LONGEST:
        return not_understood(question, text, setting)
    read = question.read(text)
    return not_understood(question, text, setting, read) if isinstance(read, Problem) else read


def _without_gaps(raw: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in raw.items() if value is not None and key != AFTER}


def _in_words(value: Any, name: str, setting: Setting) -> str:
    """A raw value for a person: labels for answers, readings in a row."""
    if value is None:
        return setting.say("not yet")
    if value in WRITTEN:
        return setting.say(value)
    if isinstance(value, Mapping):
        parts = [str(part) for key, part in value.items() if key != "method"]
        return ", ".join(setting.say(part) if part in WRITTEN else part for part in parts)
    if (name, value) == ("drains", "except"):
        return setting.say("except label")  # as the question put it
    if (name, value) == ("ticket", "later"):
        return setting.say("later")
    if name == "where":
        return next((where_word(setting, word) for word in WHERE if word.value == value), str(value))
    options = {choice.value: choice for choice in field("run", name).choices}
    return setting.label(options[value]) if value in options else str(value)
