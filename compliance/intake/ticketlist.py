"""Tickets in bulk, matched to the handovers that await one: by number, by place and date, by amount as a hint.

Nothing is guessed: a row is matched where the records leave one answer, else it is ambiguous and says between what.
One ticket may be for several handovers, and one handover may have several tickets; our own volume never changes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import Any, Final

from compliance.intake.amend import check_complete
from compliance.intake.awaited import awaiting, handovers, is_noted, may_have_ticket
from compliance.intake.checked import Checked, bench
from compliance.intake.papers import check_ticket
from compliance.intake.ticket_amounts import difference, fits_ours, is_ticket, our_volume
from compliance.intake.ticket_pools import BY_DAY, Row, accepted_of, settled
from compliance.intake.ticketfile import Slip
from compliance.intake.values import check_fields
from compliance.records.answer import without_value
from compliance.records.names import folded
from compliance.records.quick import dataclass
from compliance.records.state import State
from compliance.records.views import TicketView
from compliance.rules.say import amount
from compliance.rules.scene import Scene
from compliance.rules.subjects import Handover, days_between, figure
from compliance.water.volume import Volume, total_of

MATCHED, AMBIGUOUS, NO_HANDOVER, KNOWN, COMPLETES, REFUSED = (
    "matched", "ambiguous", "no handover", "known", "completes", "refused",
)  # fmt: skip
OUTCOMES: Final = (MATCHED, COMPLETES, KNOWN, AMBIGUOUS, NO_HANDOVER, REFUSED)
LATE: Final = 62
"""Days after a handover on which its ticket may be dated, where amounts agree: places write them with their bills."""

_COMPLETED: Final = ("accepted", "received_by")
"""What a later list may add to a ticket that is in the book."""


@dataclass(frozen=True)
class Match:
    """What became of one row. outcome: one of `OUTCOMES`; refs: the handovers, as people name them; because: in words.

    ours, difference: our own volume, and how far what they accepted lies from it; days: how long after the handover
    the ticket came, by the dates on both. made: what is handed in for it.
    """

    slip: Slip
    outcome: str
    refs: tuple[str, ...] = ()
    because: str = ""
    ours: str = ""
    difference: str = ""
    days: int | None = None
    made: tuple[Checked, ...] = ()


def match(slips: Sequence[Slip], scene: Scene, *, where: str, now: datetime, who: str = "") -> list[Match]:
    """What would become of each row, in their order. Nothing is written; `made` is what a hand-in takes."""
    return _Table(slips, scene, where, now, who).matched()


class _Table:
    """The workbench of one list."""

    def __init__(self, slips: Sequence[Slip], scene: Scene, where: str, now: datetime, who: str) -> None:
        self.scene, self.where, self.now, self.who = scene, where, now, who
        self.state: State = scene.state
        self.rows = [self._read(slip) for slip in slips]

    def _read(self, slip: Slip) -> Row:
        work = bench(self.state, self.now)
        fields = check_fields("ticket", slip.fields, "", f"{self.where}, row {slip.row}", work)
        return Row(slip, fields, tuple(work.problems))

    @cached_property
    def open(self) -> list[Handover]:
        return awaiting(self.scene)

    @cached_property
    def noted(self) -> list[Handover]:
        """Handovers that await no ticket but the paper of the number that was written down with them."""
        return [one for one in self.all.values() if may_have_ticket(one) and not one.tickets and is_noted(one)]

    @cached_property
    def all(self) -> dict[str, Handover]:
        return {one.ref: one for one in handovers(self.scene) if not one.led_away}

    def matched(self) -> list[Match]:
        done: dict[int, Match] = {}
        seen: dict[tuple[str, str], int] = {}
        left: list[Row] = []
        for row in self.rows:
            key = (row.number, self._place(row.fields.get("place")))
            if row.problems:
                done[row.slip.row] = Match(row.slip, REFUSED, because="; ".join(p.what for p in row.problems))
            elif key in seen:
                done[row.slip.row] = Match(row.slip, KNOWN, because=f"it stands in row {seen[key]} already")
            elif (ticket := self._in_the_book(row)) is not None:
                done[row.slip.row] = self._again(row, ticket)
            else:
                left.append(row)
            seen.setdefault(key, row.slip.row)
        for row in self._assigned(left):
            done[row.slip.row] = self._outcome(row)
        self._beside(done)
        return [done[row.slip.row] for row in self.rows]

    def _place(self, name: Any) -> str:
        return "" if without_value(name) is not None else self.state.registers.key("place", str(name))

    # ---- tickets that are in the book --------------------------------------------------------------------

    def _in_the_book(self, row: Row) -> TicketView | None:
        """The ticket of that number: of the same place, where both say one."""
        for ticket in self.state.tickets:
            places = {self._place(of.get("place")) for of in (ticket.fields, row.fields)} - {""}
            if folded(str(ticket.fields.get("number"))) == row.number and len(places) < 2:
                return ticket
        return None

    def _again(self, row: Row, ticket: TicketView) -> Match:
        """A ticket that is known: what it did not say yet is completed, what it says otherwise is told."""
        found = [one for pair in ticket.handovers if (one := self.scene.handover(*pair)) is not None]
        refs = tuple(one.ref for one in found if one.ref in self.all)
        other = [
            f"{name}: the book says {ticket.fields[name]!r}, the list {value!r}"
            for name, value in row.fields.items()
            if name in ticket.fields and ticket.fields[name] != value and name not in ("number", "place")
        ]
        new = {name: row.fields[name] for name in _COMPLETED if name in row.fields and name not in ticket.fields}
        if other or not new:
            return Match(row.slip, KNOWN, refs, "; ".join(other) or "the book has it")
        made = [
            check_complete(
                {"run": ticket.record, "field": name, "value": value, "who": self.who},
                state=self.state, where=f"{self.where}, row {row.slip.row}", now=self.now,
            )
            for name, value in new.items()
        ]  # fmt: skip
        problems = [problem.what for one in made for problem in one.problems]
        if problems:
            return Match(row.slip, REFUSED, refs, "; ".join(problems))
        return Match(row.slip, COMPLETES, refs, f"adds {' and '.join(new)}", made=tuple(made))

    # ---- tickets that are new ----------------------------------------------------------------------------

    def _assigned(self, rows: Sequence[Row]) -> Iterator[Row]:
        """Each row with the handovers it is for, or without and with the reason."""
        left = []
        taken: dict[str, list[Row]] = {}
        for row in rows:
            named = self._named(row)
            if named is None:
                left.append(row)
                continue
            for one in named.handovers:
                taken.setdefault(one.ref, []).append(named)
            yield named
        crowded = {row.slip.row: some for row in left if (some := self._crowded(row, taken))}
        wanted = Counter(one.ref for some in crowded.values() for one in some)
        for row in left:
            if row.slip.row in crowded:
                yield self._beside_named(row, crowded[row.slip.row], taken, wanted)
        others = [row for row in left if row.slip.row not in crowded]
        for pool, rest, late in self._pools(others, [one for one in self.open if one.ref not in taken]):
            yield from settled(pool, rest, self.state.unit, late=late)

    def _crowded(self, row: Row, taken: Mapping[str, Sequence[Row]]) -> list[Handover]:
        """The handovers that a row may be for by place and day, where another row of the list names one of them.

        None where its amount is that of one which no row names: it is for that one as if the others were not there.
        """
        place = self._place(row.fields.get("place"))
        some = [one for one in self.open if self._fits(row, one)]
        if not some and place:
            some = [one for one in self.open if self._fits_place(row, one) and _before(row, one)]
        said = accepted_of([row], self.state.unit)
        if any(one.ref not in taken and fits_ours(said, our_volume([one])) for one in some):
            return []
        return some if any(one.ref in taken for one in some) else []

    def _beside_named(
        self, row: Row, some: Sequence[Handover], taken: Mapping[str, Sequence[Row]], wanted: Mapping[str, int]
    ) -> Row:
        """A second ticket of a handover that another row names: only where both amounts together are its own."""
        if len(some) == 1 and wanted[some[0].ref] == 1:
            together = accepted_of([*taken[some[0].ref], row], self.state.unit)
            if all(len(one.handovers) == 1 for one in taken[some[0].ref]) and fits_ours(together, our_volume(some)):
                return replace(row, handovers=(some[0],), because=f"{BY_DAY}; the amounts together are its own")
        names = ", ".join(one.ref for one in some)
        also = ", ".join(one.ref for one in some if one.ref in taken)
        return replace(row, because=f"may be for {names}, but another row names {also}: name it in the column 'for'")

    def _named(self, row: Row) -> Row | None:
        """A row that names its handovers, or whose number a handover names; None when neither."""
        if row.slip.named:
            unknown = [ref for ref in row.slip.named if ref not in self.all]
            if unknown:
                return replace(row, because=f"no handover is called {unknown[0]!r}")
            return replace(row, handovers=tuple(self.all[ref] for ref in row.slip.named), because="named in the list")
        near = [*self.open, *self.noted]
        said = [one for one in near if isinstance(one.ticket, str) and folded(one.ticket) == row.number]
        if len(said) == 1 and self._fits_place(row, said[0]):
            return replace(row, handovers=(said[0],), because="the handover names its number")
        return None

    def _fits_place(self, row: Row, one: Handover) -> bool:
        return self._place(row.fields.get("place")) in ("", self._place(one.place))

    def _pools(self, rows: Sequence[Row], free: Sequence[Handover]) -> Iterator[tuple[list[Handover], list[Row], bool]]:
        """Rows together with those that may be for the same handovers; whether these were some days before."""
        by_pool: dict[tuple[bool, tuple[str, ...]], list[Row]] = {}
        at_place: dict[str, list[Handover]] = {}
        for one in free:
            at_place.setdefault(self._place(one.place), []).append(one)
        for row in rows:
            place = self._place(row.fields.get("place"))
            near = at_place.get(place, []) if place else free
            fitting = [one for one in near if self._fits(row, one)] or self._second(row)
            late = [] if fitting or not place else [one for one in near if _before(row, one)]
            by_pool.setdefault((bool(late), tuple(one.ref for one in fitting or late)), []).append(row)
        for (waited, refs), some in by_pool.items():
            yield [self.all[ref] for ref in refs], some, waited

    def _fits(self, row: Row, one: Handover) -> bool:
        if row.day is None and not self._place(row.fields.get("place")):
            return False
        return self._fits_place(row, one) and (row.day is None or row.day in _days_of(one))

    def _second(self, row: Row) -> list[Handover]:
        """Handovers of that place and day whose ticket leaves room for this one by the amounts."""
        accepted = figure(row.fields.get("accepted"), self.state.unit)
        if accepted is None or row.day is None:
            return []
        found = []
        for one in self.all.values():
            has = one.tickets or one in self.noted
            if has and self._fits(row, one) and all(paper.handovers == 1 for paper in one.papers):
                said = [figure(paper.accepted, self.state.unit) for paper in one.papers]
                known = [Volume(part.low, part.high) for part in (*said, accepted) if part is not None]
                if len(known) == len(said) + 1 and fits_ours(total_of(known), our_volume([one])):
                    found.append(one)
        return found

    def _outcome(self, row: Row) -> Match:
        if not row.handovers:
            return Match(row.slip, AMBIGUOUS if row.because else NO_HANDOVER, because=row.because or self._none(row))
        spots = [{"run": one.run.ref, **({"line": one.n} if one.n else {})} for one in row.handovers]
        raw = {**row.slip.fields, "handovers": spots, "who": self.who}
        checked = check_ticket(raw, state=self.state, where=f"{self.where}, row {row.slip.row}", now=self.now)
        refs = tuple(one.ref for one in row.handovers)
        if checked.problems:
            return Match(row.slip, REFUSED, refs, "; ".join(problem.what for problem in checked.problems))
        days = None
        if row.day is not None:
            last = max(date.fromisoformat(one.day) for one in row.handovers)
            days = days_between(last, date.fromisoformat(row.day))
        return Match(row.slip, MATCHED, refs, row.because, days=days, made=(checked,))

    def _none(self, row: Row) -> str:
        if row.day is None and not self._place(row.fields.get("place")):
            return "neither place nor date is given"
        return "no handover of that place and day awaits a ticket"

    # ---- beside our own volume ---------------------------------------------------------------------------

    def _beside(self, done: dict[int, Match]) -> None:
        """Put our own volume, and the difference of all tickets for the same handovers, beside each row."""
        fields = {row.slip.row: row.fields for row in self.rows}
        together: dict[tuple[str, ...], list[Match]] = {}
        for one in done.values():
            if one.outcome in (MATCHED, COMPLETES, KNOWN) and one.refs:
                together.setdefault(one.refs, []).append(one)
        for refs, some in together.items():
            these = [self.all[ref] for ref in refs]
            listed = {folded(str(fields[one.slip.row].get("number"))) for one in some}
            book = {paper.record or one.ref: paper for one in these for paper in one.papers if is_ticket(paper)}
            rows = [fields[one.slip.row].get("accepted") for one in some]
            rows += [paper.accepted for paper in book.values() if folded(str(paper.number)) not in listed]
            ours = our_volume(these)
            apart = difference(rows, ours, self.state.unit)
            for one in some:
                done[one.slip.row] = replace(one, ours=amount(ours, self.state.unit), difference=apart)


def _before(row: Row, one: Handover) -> bool:
    """Whether the date on a ticket may be the day on which it was written, some time after a handover."""
    return row.day is not None and 0 < days_between(date.fromisoformat(one.day), date.fromisoformat(row.day)) <= LATE


def _days_of(one: Handover) -> tuple[str, ...]:
    """The dates that a ticket of a handover may bear: its own; where only its night is known, either of the night's."""
    night = date.fromisoformat(one.run.day)
    told = isinstance(one.get("at"), str) and "T" in str(one.get("at"))
    return (one.day,) if told else tuple({one.day, night.isoformat(), (night + timedelta(days=1)).isoformat()})
