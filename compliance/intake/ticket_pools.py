"""Rows of a list of tickets that may be for the same handovers, settled as far as their amounts settle them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from compliance.intake.ticket_amounts import accepted_together, fits_ours, our_volume
from compliance.intake.ticketfile import Slip
from compliance.records.answer import without_value
from compliance.records.names import folded
from compliance.records.problem import Problem
from compliance.records.quick import dataclass
from compliance.rules.subjects import Handover
from compliance.water.volume import Figure

BY_DAY: Final = "by place and date"


@dataclass(frozen=True)
class Row:
    """A slip as the validator reads it: fields as stored, and every problem."""

    slip: Slip
    fields: Mapping[str, Any]
    problems: tuple[Problem, ...]
    handovers: tuple[Handover, ...] = ()
    because: str = ""

    @property
    def number(self) -> str:
        return folded(str(self.fields.get("number", "")))

    @property
    def day(self) -> str | None:
        value = self.fields.get("date")
        return None if without_value(value) is not None else str(value)


def accepted_of(rows: Iterable[Row], unit: str) -> Figure:
    """What the tickets of these rows say was accepted, together."""
    return accepted_together((row.fields.get("accepted") for row in rows), unit)


def settled(pool: Sequence[Handover], rows: Sequence[Row], unit: str, *, late: bool) -> Iterator[Row]:
    """Rows that may be for the same handovers, as far as number and amounts settle them.

    First one to one by amounts that fit no other; then what is left: one and one, one ticket for all, all for one.
    late: the tickets bear a day after the handovers, so that nothing but the amounts can settle them.
    """
    if not pool:
        yield from rows
        return
    left, free = dict(enumerate(rows)), dict(enumerate(pool))
    ours, theirs = [our_volume([one]) for one in pool], [accepted_of([row], unit) for row in rows]
    near = {n: {k for k, mine in enumerate(ours) if fits_ours(said, mine)} for n, said in enumerate(theirs)}
    sole = _sole(near) if late or len(pool) > 1 or len(rows) > 1 else None
    hint = "" if sole is None else ", the only one left"
    while sole is not None:
        n, k = sole
        yield replace(
            left.pop(n),
            handovers=(free.pop(k),),
            because="by place and amount, late" if late else "by place, date and amount",
        )
        near = {other: some - {k} for other, some in near.items() if other != n}
        sole = _sole(near)
    by = "by place, late" if late else BY_DAY
    if len(left) == 1 and len(free) == 1 and not late:
        (row,) = left.values()
        yield replace(row, handovers=tuple(free.values()), because=f"{by}{hint}")
    else:
        yield from _rest(list(free.values()), list(left.values()), pool, by, unit)


def _sole(near: Mapping[int, set[int]]) -> tuple[int, int] | None:
    """A row and a handover whose amounts fit each other and no other."""
    wanted = Counter(k for some in near.values() for k in some)
    return next(((n, k) for n, some in near.items() if len(some) == 1 for k in some if wanted[k] == 1), None)


def _rest(free: Sequence[Handover], left: Sequence[Row], pool: Sequence[Handover], by: str, unit: str) -> Iterator[Row]:
    """What is left once the amounts of pairs have told all that they tell: one ticket for all, all for one, neither."""
    together = (
        bool(free)
        and bool(left)
        and 1 in (len(free), len(left))
        and fits_ours(accepted_of(left, unit), our_volume(free))
    )
    for row in left:
        if together and len(left) == 1:
            yield replace(row, handovers=tuple(free), because=f"{by}; the amount is that of all together")
        elif together:
            yield replace(row, handovers=(free[0],), because=f"{by}; the amounts together are its own")
        else:
            names = ", ".join(one.ref for one in pool)
            yield replace(row, because=f"may be for {names}: name it in the column 'for'")
