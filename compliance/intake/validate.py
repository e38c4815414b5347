"""The one validator behind every door, by kind of record.

Each check takes what came in (keys and raw values, from a file, a workbook or the questions), the state of the book,
`where` it came from in words, and the clock; it returns a `Checked`: the payload, or every problem at once. Nothing
here reads a file, asks a question or writes.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

from compliance.intake.amend import check_cancel, check_complete, check_correct
from compliance.intake.checked import Checked
from compliance.intake.inquiries import check_inquiry, check_step
from compliance.intake.joining import check_order, check_outing
from compliance.intake.near import did_you_mean
from compliance.intake.papers import check_accept, check_attach, check_ticket
from compliance.intake.registers import check_business, check_register, check_registers, check_same_as
from compliance.intake.run import check_run
from compliance.intake.text import shown
from compliance.records import kinds
from compliance.records.problem import Problem
from compliance.records.state import State

__all__ = [
    "FILE_KINDS", "Checked", "check", "check_accept", "check_attach", "check_business", "check_cancel",
    "check_complete", "check_correct", "check_inquiry", "check_order", "check_outing", "check_register",
    "check_registers", "check_run", "check_same_as", "check_step", "check_ticket",
]  # fmt: skip

REGISTERS: Final = "registers"
FILE_KINDS: Final = (
    REGISTERS, kinds.RUN, kinds.TICKET, kinds.CORRECT, kinds.COMPLETE, kinds.CANCEL, kinds.ACCEPT, kinds.SAME_AS,
    kinds.SAME_OUTING, kinds.ORDER, kinds.INQUIRY, kinds.INQUIRY_STEP,
)  # fmt: skip
"""What a file can be, as its key 'kind' says."""

_AMENDING: Final = {
    kinds.TICKET: check_ticket, kinds.CORRECT: check_correct, kinds.COMPLETE: check_complete,
    kinds.CANCEL: check_cancel, kinds.ACCEPT: check_accept, kinds.SAME_OUTING: check_outing, kinds.ORDER: check_order,
    kinds.INQUIRY: check_inquiry, kinds.INQUIRY_STEP: check_step,
}  # fmt: skip


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
    if kind == REGISTERS:
        return check_registers(raw, state=state, where=where, now=now, who=who)
    if kind == kinds.RUN:
        return [check_run(raw, state=state, where=where, now=now, language=language)]
    if kind == kinds.SAME_AS:
        return [check_same_as(raw, state=state, where=where, now=now, who=who)]
    if kind not in _AMENDING:
        step = did_you_mean(kind, FILE_KINDS, f"use one of: {', '.join(FILE_KINDS)}")
        return [Checked(kind, None, "", (Problem(f"{shown(kind)} is not a kind of entry", where, step),))]
    if state is None:
        step = "name the book that it belongs to"
        return [
            Checked(kind, None, "", (Problem(f"there is no book in which a {kind!r} could be looked up", where, step),))
        ]
    return [_AMENDING[kind](raw, state=state, where=where, now=now, who=who)]
