"""The one validator behind every door, by kind of record.

Each check takes what came in (keys and raw values, from a file, a workbook or the questions), the state of the book,
`where` it came from in words, and the clock; it returns a `Checked`: the payload, or every problem at once. Nothing
here reads a file, asks a question or writes.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from importlib import import_module
from typing import Any, Final

from compliance.intake.checked import Checked
from compliance.intake.near import did_you_mean
from compliance.intake.text import shown
from compliance.records import kinds
from compliance.records.problem import Problem
from compliance.records.state import State

REGISTERS: Final = "registers"
FILE_KINDS: Final = (
    REGISTERS, kinds.RUN, kinds.TICKET, kinds.CORRECT, kinds.COMPLETE, kinds.CANCEL, kinds.ACCEPT, kinds.SAME_AS,
    kinds.SAME_OUTING, kinds.ORDER, kinds.INQUIRY, kinds.INQUIRY_STEP,
)  # fmt: skip
"""What a file can be, as its key 'kind' says."""

_CHECKS: Final[Mapping[str, tuple[str, str]]] = {
    REGISTERS: ("registers", "check_registers"),
    kinds.SAME_AS: ("registers", "check_same_as"),
    kinds.RUN: ("run", "check_run"),
    kinds.TICKET: ("papers", "check_ticket"),
    kinds.ACCEPT: ("papers", "check_accept"),
    kinds.CORRECT: ("amend", "check_correct"),
    kinds.COMPLETE: ("amend", "check_complete"),
    kinds.CANCEL: ("amend", "check_cancel"),
    kinds.SAME_OUTING: ("joining", "check_outing"),
    kinds.ORDER: ("joining", "check_order"),
    kinds.INQUIRY: ("inquiries", "check_inquiry"),
    kinds.INQUIRY_STEP: ("inquiries", "check_step"),
}
"""Kind -> the module of this room and its function. Imported when asked for: a crew that hands in a night waits for the
checks of a night alone.
"""
_BEFORE_THE_BOOK: Final = (REGISTERS, kinds.RUN, kinds.SAME_AS)
"""Kinds that can be looked at while there is no book yet."""


def _check_of(kind: str) -> Callable[..., Any]:
    module, function = _CHECKS[kind]
    found: Callable[..., Any] = getattr(import_module(f"compliance.intake.{module}"), function)
    return found


def check(
    kind: str,
    raw: Mapping[str, Any],
    *,
    state: State | None,
    where: str,
    now: datetime,
    who: str = "",
    language: str = "en",
) -> list[Checked]:
    """Check an entry of any kind that a file can hold; a registers file gives many, all others give one.

    state None: there is no book yet, so only registers (which start one) and runs can be looked at.
    """  # fmt: skip
    if kind not in _CHECKS:
        step = did_you_mean(kind, FILE_KINDS, f"use one of: {', '.join(FILE_KINDS)}")
        return [Checked(kind, None, "", (Problem(f"{shown(kind)} is not a kind of entry", where, step),))]
    if state is None and kind not in _BEFORE_THE_BOOK:
        step = "name the book that it belongs to"
        return [
            Checked(kind, None, "", (Problem(f"there is no book in which a {kind!r} could be looked up", where, step),))
        ]
    if kind == kinds.RUN:
        return [_check_of(kind)(raw, state=state, where=where, now=now, language=language)]
    made = _check_of(kind)(raw, state=state, where=where, now=now, who=who)
    return list(made) if kind == REGISTERS else [made]
