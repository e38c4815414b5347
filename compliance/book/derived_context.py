"""Which runs have to be looked at together, so that the figures of a few come out as from the whole book.

A moment at which all tanks of a rig were surely empty cuts its history: what came before says nothing of what comes
after. So a run needs the runs of its rig back to one that left all tanks empty (which stands at the edge: its own
figures may be incomplete), and on to the next that does, since its water is followed there. Rigs that have pumped into
each other's tanks have one history. A supply meter that is read by lines of its own reaches from one reading to the
next, over such cuts. A ticket for handovers of several runs binds these together, and so does a site at which they were
on one day, where a meter on no rig may have shown what all of them drew.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from heapq import merge
from typing import Final

from compliance.book.derived_index import Row
from compliance.book.derived_lookup import Index
from compliance.book.derived_names import moves_site, tanks_named
from compliance.records import kinds

_Order = tuple[str, str, bytes]

_GAP: Final = 10
"""Runs between two that are wanted, up to which the two are looked at as one piece."""


def with_context(index: Index, ids: Iterable[str], *, before: int = 0, after: int = 0) -> list[str]:
    """The record ids of these runs and of all that their figures depend on.

    before, after: so many runs of the same rig on either side shall have their figures right as well, for rules that
    compare with them. Whoever gathers these records reads the figures of the runs asked for and of no other: those at
    the edge are incomplete. A rig whose tank was never recorded as empty is taken back to its first run.
    """
    wanted = _ticketed_together(index, ids)
    found = dict.fromkeys(wanted)
    for fleet in _fleets(index):
        mine = sorted((row for row in wanted.values() if row.rig in fleet and not row.cancelled), key=_order)
        for piece in fleet.pieces(mine):
            found |= dict.fromkeys(fleet.around(piece, before, after))
    found |= dict.fromkeys(index.at_one_site(index.rows(found).values()))  # that they were there is all that counts
    return list(found)


def touched_by(index: Index, ids: Iterable[str]) -> list[str] | None:
    """The record ids of the runs whose figures can have changed when these runs were added, changed or cancelled.

    That is, while they keep their places and what they read: their own piece of the rig's history whatever they left
    in the tanks, before the change and after it. None when it can be anything: a run that names, or named, a tank that
    the register does not give to its rig, one that is, or was, joined to another, or one at which a site was changed
    where some meter is on no rig.
    """
    found: dict[str, None] = {}
    changed = index.rows(ids)
    rows = (changed | index.rows(index.at_one_site(changed.values()))).values()
    for fleet in _fleets(index):
        for row in rows:
            if row.rig not in fleet:
                continue
            records = [index.book.record(row.id), *index.amendments([row.id])]
            strange = any(fleet.is_strange(row, name) for record in records for name in tanks_named(record))
            strange = strange or (index.meters_of_no_rig and any(map(moves_site, records)))
            if strange or index.naming([row.id], (kinds.SAME_OUTING,)):
                return None
            found |= dict.fromkeys(fleet.around([row], filled=True))
    return list(found)


def _order(row: Row) -> _Order:
    return row.order


def _span(rows: Iterable[Row]) -> tuple[_Order, _Order]:
    orders = [row.order for row in rows]
    return min(orders), max(orders)


def _ticketed_together(index: Index, ids: Iterable[str]) -> dict[str, Row]:
    """These runs, and those whose handovers share a ticket with theirs: the amounts are only comparable as a whole."""
    found: dict[str, Row] = {}
    waiting = list(ids)
    while waiting:
        new = {id: row for id, row in index.heads(waiting).items() if id not in found}
        found |= new
        waiting = index.ticketed_with(new.values()) if new else []
    return found


def _fleets(index: Index) -> Iterator[_Fleet]:
    """The rigs, those together that have touched each other's tanks."""
    rigs = {index.registers.key("rig", index.name(rig[0])): rig for rig in index.rigs()}
    together = {key: {key} for key in rigs}
    for key, rig in rigs.items():
        for name in index.tanks_met(rig, named=True):
            owner = (index.registers.find("tank", name) or {}).get("rig")
            other = index.registers.key("rig", owner) if isinstance(owner, str) else key
            joined = together[key] | together.get(other, {other})  # its owner may never have had a run of its own
            together |= dict.fromkeys(joined, joined)
    for joined in {id(group): group for group in together.values()}.values():
        yield _Fleet(index, {key: rigs[key] for key in sorted(joined) if key in rigs})


class _Fleet:
    """One rig, or several with one history. rigs: key -> the numbers of its names in the index."""

    def __init__(self, index: Index, rigs: Mapping[str, Sequence[int]]) -> None:
        self.index = index
        self.registers = index.registers
        self.rigs = rigs
        self.rig_of = {n: key for key, numbers in rigs.items() for n in numbers}
        self.own = {key: self._own(key) for key in rigs}
        self.reordered = [_span(rows.values()) for said in index.orders() if (rows := self._mine(index.heads(said)))]
        """Spans of history in which somebody says that runs came in another order: nothing is told of their ends."""
        self.tanks = {self._key(rig, name) for rig, numbers in rigs.items() for name in index.tanks_met(numbers)} - {""}
        """Every tank that some run has touched, by the key under which the calculator knows it."""

    def __contains__(self, number: int) -> bool:
        return number in self.rig_of

    def _mine(self, rows: Mapping[str, Row]) -> Mapping[str, Row]:
        return {id: row for id, row in rows.items() if row.rig in self}

    # ---- tanks -----------------------------------------------------------------------------------------------------

    def _own(self, rig: str) -> list[str]:
        """The tanks that the register gives to a rig; the first is meant where none is named."""
        roles = ("recovery", "holding")
        return [self.registers.key("tank", str(t["name"])) for role in roles for t in self.registers.tanks(rig, role)]

    def _key(self, rig: str, name: str) -> str:
        """The tank that a line of a rig's run means; '' for what holds no load: a meter, fresh water."""
        tank = self.registers.find("tank", name) if name else None
        if self.registers.find("instrument", name) is not None or (tank is not None and tank.get("role") == "fresh"):
            return ""
        if name and (tank is not None or self.own[rig]):
            return self.registers.key("tank", name)
        return self.own[rig][0] if self.own[rig] else f"recovery tank of {rig}"

    def is_strange(self, row: Row, name: str) -> bool:
        """Whether what is named is a tank that the register does not give to the run's rig."""
        rig = self.rig_of[row.rig]
        return self._key(rig, name) not in ("", *self.own[rig], f"recovery tank of {rig}")

    def touched(self, row: Row) -> Mapping[str, bool]:
        """The tanks that a run touched, and whether it surely left them empty."""
        if any(first <= row.order <= last for first, last in self.reordered):
            return dict.fromkeys(self.tanks, False)
        found = {self._key(self.rig_of[row.rig], name): empty for name, empty in row.tanks}
        found.pop("", None)
        return found

    # ---- pieces of history -----------------------------------------------------------------------------------------

    def walk(self, row: Row, *, back: bool = False) -> Iterator[Row]:
        """The runs of all rigs after (before) one, in that order."""
        ways = [self.index.walk(numbers, row, back=back) for numbers in self.rigs.values()]
        return ways[0] if len(ways) == 1 else merge(*ways, key=_order, reverse=back)

    def pieces(self, rows: Sequence[Row]) -> Iterator[list[Row]]:
        """The pieces of history that hold these runs, each with all runs from its first to its last."""
        left = {row.id for row in rows}
        for first in rows:
            if first.id not in left:
                continue
            left.discard(first.id)
            piece, since = [first], list[Row]()
            for row in self.walk(first):
                if not left or len(since) > _GAP:
                    break
                since.append(row)
                if row.id in left:
                    left.discard(row.id)
                    piece, since = [*piece, *since], []
            yield piece

    def around(self, piece: Sequence[Row], before: int = 0, after: int = 0, *, filled: bool = False) -> list[str]:
        """The ids of a piece of history with all that its figures depend on.

        filled: as if water had been left in all tanks at its end, whatever the records say.
        """
        back, on = _Lazy(self.walk(piece[0], back=True)), _Lazy(self.walk(piece[-1]))
        rigs = {self.rig_of[row.rig] for row in piece}
        near, far = (self._neighbours(way, rigs, count) for way, count in ((back, before), (on, after)))
        right = [*reversed(back.first(near)), *piece, *on.first(far)]
        behind = self._back_to_empty(back, near)
        since = [*reversed(back.first(behind)), *piece, *on.first(far)]
        ahead = self._on_to_empty(since, on, far, filled=filled)
        for numbers in self.rigs.values():
            for meter in self.index.supply_meters():
                earlier = self.index.reading(meter, numbers, right[0], back=True)
                later = self.index.reading(meter, numbers, right[-1])
                inside = any(row.rig in numbers and self.index.reads(meter, row) for row in right)
                if earlier is not None and (inside or later is not None):
                    behind = max(behind, back.until(earlier))
                if later is not None and (inside or earlier is not None):
                    ahead = max(ahead, on.until(later))
        return [row.id for row in (*back.first(behind), *piece, *on.first(ahead))]

    def _neighbours(self, way: _Lazy, rigs: Iterable[str], count: int) -> int:
        """How many runs it takes to have so many of each rig."""
        missing = dict.fromkeys(rigs, count)
        place = 0
        while any(missing.values()) and (row := way.at(place)) is not None:
            rig = self.rig_of[row.rig]
            missing[rig] = max(0, missing.get(rig, 0) - (row.head == row.seq))  # a joined hand-in is no run of its own
            place += 1
        return place

    def _back_to_empty(self, back: _Lazy, start: int) -> int:
        """How many runs before lead back to where all tanks were empty, and to where each was last touched."""
        place = start
        while (row := back.at(place)) is not None:
            if all(self.touched(row).values()):
                reach = self._all_empty(back, place)
                if reach is not None:
                    return reach + 1
            place += 1
        return place

    def _all_empty(self, back: _Lazy, place: int) -> int | None:
        """Where the tanks were last touched that were all empty after the run in this place; None when one was not."""
        reach = place
        for key in self.tanks:
            here = place
            while (last := back.at(here)) is not None and key not in self.touched(last):
                here += 1
            if last is None:
                continue  # nothing was in it yet
            if not self.touched(last)[key]:
                return None
            reach = max(reach, here)
        return reach

    def _on_to_empty(self, since: Iterable[Row], on: _Lazy, start: int, *, filled: bool) -> int:
        """How many runs on lead to where all tanks are empty again, from runs that began with all of them empty."""
        holding: set[str] = set()

        def take(row: Row) -> None:
            for key, empty in self.touched(row).items():
                (holding.discard if empty else holding.add)(key)

        for row in since:
            take(row)
        if filled:
            holding = set(self.tanks)
        place = start
        while holding and (later := on.at(place)) is not None:
            take(later)
            place += 1
        return place


class _Lazy:
    """Runs that are fetched when they are looked at."""

    def __init__(self, rows: Iterator[Row]) -> None:
        self._rows = rows
        self._seen: list[Row] = []

    def at(self, place: int) -> Row | None:
        """The run in this place, None behind the last."""
        while len(self._seen) <= place:
            row = next(self._rows, None)
            if row is None:
                return None
            self._seen.append(row)
        return self._seen[place]

    def first(self, count: int) -> list[Row]:
        """So many of those that were looked at."""
        return self._seen[:count]

    def until(self, row: Row) -> int:
        """How many reach up to this one, itself included."""
        place = 0
        while (here := self.at(place)) is not None and here != row:
            place += 1
        return place + 1
