"""One question of `washwater log`, and what it takes to ask one: no terminal, no clock, no files."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import field, replace
from datetime import datetime
from typing import Any, Final

from compliance.intake.checked import Bench, bench
from compliance.intake.wording import LANGUAGES, say
from compliance.records.fields import Choice, Field
from compliance.records.names import folded
from compliance.records.problem import Problem
from compliance.records.quick import dataclass
from compliance.records.registers import Registers
from compliance.records.state import State

KEY, LINE = "key", "line"
"""Answered by one key, or by a line that Enter ends."""
NOTHING: Final = ""
"""The stored answer of a question that was passed over: not recorded yet."""
_SEPARATED: Final = re.compile(r"[~<>=]*\s*[0-9]+(?:,[0-9]+|\.[0-9]{3})\D*")
_THREE: Final = re.compile(r"(?<=[.,])[0-9]{3}(?![0-9])")
"""Three digits behind a mark: thousands or decimals. A figure that is refused with three is taken with two or four."""
FEW: Final = 9
"""Choices that one digit can tell apart."""


@dataclass(frozen=True)
class Option:
    """One answer that is offered. key: what is pressed or typed for it; value: what it means."""

    key: str
    value: str
    label: str


@dataclass(frozen=True)
class Question:
    """What is asked next.

    key: the path of the field in the payload ('rig', '3/amount', 'used/start'), or a name of its own. kind: `KEY` or
    `LINE`. enter: what Enter alone means, in words; None where an answer is needed. enter_value: the answer that
    Enter stands for. hint: what is taken, in words. help: from the field table.
    """

    key: str
    text: str
    kind: str = LINE
    options: tuple[Option, ...] = ()
    enter: str | None = None
    enter_value: str = NOTHING
    hint: str = ""
    help: str = ""
    read: Callable[[str], str | Problem] | None = field(default=None, repr=False, compare=False)
    """Brings a typed text to the answer that is kept; None where only the options are taken."""


@dataclass(frozen=True)
class Setting:
    """Where the questions are asked: the book they are for, the language, the clock.

    state: for its registers, unit and zone. last: folded name of a tank or instrument -> its last reading, in words.
    usual: key of a question -> what is expected, in words; shown only after the figure is in.
    """

    state: State
    language: str
    now: datetime
    last: Mapping[str, str] = field(default_factory=dict)
    usual: Mapping[str, str] = field(default_factory=dict)

    def say(self, phrase: str, **values: object) -> str:
        """A phrase in the language of the setting."""
        return say(phrase, self.language, **values)

    def label(self, row: Field | Choice) -> str:
        """The label of a field or of one of its answers; in Spanish as the crew says it."""
        if self.language == "es":
            return row.said or row.es
        return row.value if isinstance(row, Choice) else row.en

    @property
    def registers(self) -> Registers:
        """The registers of the book."""
        return self.state.registers

    def bench(self) -> Bench:
        """A workbench for looking at one answer."""
        return bench(self.state, self.now)


def numbered(values: Sequence[tuple[str, str]]) -> tuple[Option, ...]:
    """Options by number from 1, of (value, label)."""
    return tuple(Option(str(n), value, label) for n, (value, label) in enumerate(values, start=1))


def chosen(question: Question, text: str) -> str | None:
    """The value of the option that a text names by its key, its value or its label; None when it names none."""
    typed = folded(text)
    for option in question.options:
        if typed in (folded(option.key), folded(option.value), folded(option.label)):
            return option.value
    return None


def not_understood(question: Question, text: str, setting: Setting, problem: Problem | None = None) -> Problem:
    """Why an answer is not taken, in the language of the questions."""
    typed = text.strip()
    if problem is not None and _SEPARATED.fullmatch(typed):
        mark = "," if "," in typed else "."
        whole, figure = typed.replace(mark, ""), typed.replace(",", ".")
        if _refused(question, figure) is not None:
            figure = _THREE.sub(lambda three: three[0][:2] if three[0][2] == "0" else f"{three[0]}0", figure)
        still = _refused(question, figure)
        if still is None:
            how = "hint point" if not _THREE.search(typed) else "hint comma" if mark == "," else "hint thousand"
            pointed = setting.say(how, whole=whole, figure=figure)
            return Problem(setting.say("not understood", text=repr(text[:60])), question.text, pointed)
        problem = still  # however it is written: a unit that is none here
    if problem is not None and setting.language == LANGUAGES[0]:
        return replace(problem, where=question.text)
    return Problem(setting.say("not understood", text=repr(text[:60])), question.text, question.hint)


def _refused(question: Question, text: str) -> Problem | None:
    """Why a question does not take a text, None where it does."""
    read = None if question.read is None else question.read(text)
    return read if isinstance(read, Problem) else None


def answers_of(draft: Mapping[str, Any]) -> dict[str, str]:
    """The answers of a draft by the keys of their questions."""
    return dict(draft["answers"])
