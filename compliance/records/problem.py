"""What is wrong, said once and in three parts: what, where, what to do next.

In the pure rooms a problem is a value, so that all of them can be collected before anything is refused.
At the edges it travels as a `ComplianceError`, which also carries the exit code of the command line.
"""

from __future__ import annotations

from collections.abc import Sequence

from compliance.records.quick import dataclass

FINDINGS = 1
REFUSED = 2
DAMAGED = 3


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong.

    what: the fault, one sentence. where: file, line, field or record. next_step: what to do about it.
    """

    what: str
    where: str
    next_step: str

    def __str__(self) -> str:
        return f"{self.what}\n  where: {self.where}\n  do this: {self.next_step}"


class ComplianceError(Exception):
    """Problems that stop a command; nothing was written. exit_code is 2 unless the book is damaged (3)."""

    exit_code = REFUSED

    def __init__(self, *problems: Problem) -> None:
        super().__init__("; ".join(p.what for p in problems))
        self.problems: Sequence[Problem] = problems

    @classmethod
    def one(cls, what: str, where: str, next_step: str) -> ComplianceError:
        """The usual case of a single problem."""
        return cls(Problem(what, where, next_step))


class BookDamaged(ComplianceError):
    """The book itself does not hold together."""

    exit_code = DAMAGED
