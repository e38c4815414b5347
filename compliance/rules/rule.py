"""What a rule is, and what it may answer.

A rule is one frozen `Rule` row and one small pure function. The function is given the scene, one subject (a run, a
stop, a handover, a load or a register entry) and the rule's parameters, and answers with one outcome:

========================= ======================================================================================
`Fault`, or several       something to act on; the runner turns each into a `Finding`
`Silent`                  the rule applied and found nothing; `why` where silence needs a word ('no limit on file')
`DoesNotApply`            the question does not arise for this subject, and why
`CannotTell`              the question arises and the records do not answer it, and why; never a pass
========================= ======================================================================================
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import field
from decimal import Decimal
from typing import Any, Final, Literal

from compliance.records.quick import dataclass
from compliance.records.views import Acceptance
from compliance.water.results import Line

Severity = Literal["act now", "not met", "missing", "look at"]
Basis = Literal["federal floor", "local permit", "house policy", "arithmetic", "practice"]
Scope = Literal["run", "stop", "handover", "load", "rig", "entry"]
Language = Literal["en", "es"]

SEVERITIES: Final[tuple[Severity, ...]] = ("act now", "not met", "missing", "look at")
"""Most urgent first."""

SCOPES: Final[Mapping[Scope, str]] = {
    "run": "each run",
    "stop": "each stop",
    "handover": "each handover and each time water is led away",
    "load": "each load of a recovery tank",
    "rig": "each run, beside the runs of its rig before and after it",
    "entry": "each register entry that a run names, and the business itself",
}


@dataclass(frozen=True)
class Words:
    """The same words in both languages."""

    en: str
    es: str

    def in_(self, language: Language) -> str:
        """The words of one language."""
        return self.es if language == "es" else self.en


@dataclass(frozen=True)
class Citation:
    """Where a rule comes from. mark: how well the text was read, '' where there is no text to read."""

    source: str
    mark: str = ""

    def __str__(self) -> str:
        return f"{self.source} ({self.mark})" if self.mark else self.source


READ: Final = "CFR 2015"
READ_LATER: Final = "CFR 2015, re-read in a later copy"
READ_IN_PART: Final = "read in part"
NO_SOURCE: Final = Citation("common practice, no source")
ARITHMETIC: Final = Citation("arithmetic")


@dataclass(frozen=True)
class Parameter:
    """A number that a rule uses and an owner may change. source: who says so."""

    name: str
    value: Decimal
    unit: str
    meaning: str
    source: str


@dataclass(frozen=True)
class Missing:
    """A field that is not recorded yet. line: its line number, '' for the run; entry: the register entry or ticket.

    within: the entry of a list on that line ('drain_list/2'), or the record of the ticket.
    """

    group: str
    field: str
    need: str
    line: str = ""
    entry: str = ""
    within: str = ""


@dataclass(frozen=True)
class Fault:
    """What a rule function found. What is left empty is taken from the rule's row or from the subject."""

    seen: str
    compared_with: str
    next_step: str = ""
    lines: tuple[Line, ...] = ()
    missing: tuple[Missing, ...] = ()
    severity: Severity | None = None
    basis: Basis | None = None
    about: str = ""
    at: Words | None = None


@dataclass(frozen=True)
class Silent:
    """Applied, nothing found."""

    why: str = ""


@dataclass(frozen=True)
class DoesNotApply:
    """The question does not arise."""

    why: str


@dataclass(frozen=True)
class CannotTell:
    """The question arises and the records do not answer it."""

    why: str


Outcome = Fault | tuple[Fault, ...] | Silent | DoesNotApply | CannotTell
Params = Mapping[str, Decimal]

NOTHING: Final = Silent()


@dataclass(frozen=True)
class Finding:
    """A fault with its rule.

    about: the ref of what it concerns ('2026-09-14-big-blue', its stop '….s2', its handover '…/9', a load '….l1' or
    a register entry 'agent Foamcut 7'). day: the day to which it belongs. at: where on the run, for the crew.
    lines: where the facts stand. missing: the fields, where fields are missing. accepted: by whom and until when, if
    somebody did.
    """

    rule: str
    slug: str
    severity: Severity
    basis: Basis
    scope: Scope
    about: str
    day: str
    at: Words
    seen: str
    compared_with: str
    next_step: str
    lines: tuple[Line, ...] = ()
    missing: tuple[Missing, ...] = ()
    accepted: Acceptance | None = None


@dataclass(frozen=True)
class Rule:
    """One row of the catalogue.

    id: permanent, never used again for another rule. slug: names the fault. looks_for: the trigger, one sentence.
    why: why it matters. next_step: how to put it right. caution: where putting it right can hurt somebody. crew: what
    the crew is told before it leaves, None when only the office can act. example: lines of a night that make it
    speak. applies_from: first day it applies, '' for always.
    """

    id: str
    slug: str
    title: Words
    severity: Severity
    basis: Basis
    citations: tuple[Citation, ...]
    scope: Scope
    judge: Callable[[Any, Any, Params], Outcome] = field(repr=False)
    looks_for: str
    why: str
    next_step: str
    example: str
    crew: Words | None = None
    caution: str = ""
    parameters: tuple[Parameter, ...] = ()
    applies_from: str = ""

    @property
    def params(self) -> dict[str, Decimal]:
        """The values of its parameters by name."""
        return {one.name: one.value for one in self.parameters}
