"""Looking up runs, and the records that have to be read for them, in the index of a book."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from typing import Any, Final, Literal

from compliance.book.derived_index import ROW, IndexFile, Row, in_parts, marks, row_of
from compliance.book.derived_names import numbers_named
from compliance.book.store import missing
from compliance.records import kinds
from compliance.records.envelope import Record
from compliance.records.registers import Registers
from compliance.records.state import gather
from compliance.water.sites import of_no_rig

_ALWAYS: Final = (kinds.ACCEPT, kinds.CLOSE, kinds.REOPEN)
"""Kinds of record that are about more than runs, and few."""


class Index(IndexFile):
    """The index of an open book, as it stood when it was opened. Use it in a `with` block; close it before the book."""

    @cached_property
    def registers(self) -> Registers:
        """The registers of the book as they stand."""
        return gather(self.register_records()).registers

    def register_records(self) -> list[Record]:
        """The book's first record and all that was entered on its registers, in their order."""
        found = [r for kind in (kinds.BOOK, kinds.REGISTER, kinds.SAME_AS) for r in self.book.records(kind=kind)]
        return sorted(found, key=lambda record: record.seq)

    def rows(self, ids: Iterable[str]) -> dict[str, Row]:
        """The runs, or hand-ins of them, with these record ids; those that the book does not hold are left out."""
        found = {}
        for part in in_parts([bytes.fromhex(id) for id in ids]):
            for values in self.db.execute(f"{ROW} WHERE id IN ({marks(part)})", part):
                row = row_of(values)
                found[row.id] = row
        return found

    def heads(self, ids: Iterable[str]) -> dict[str, Row]:
        """The runs that these records are, or are hand-ins of, by their own ids."""
        seqs = sorted({row.head for row in self.rows(ids).values()})
        rows = [row_of(v) for part in in_parts(seqs) for v in self._in(part, "seq")]
        return {row.id: row for row in rows}

    def _in(self, values: Sequence[int | str], column: Literal["seq", "head", "base"]) -> Iterator[tuple[Any, ...]]:
        match column:
            case "seq":
                yield from self.db.execute(f"{ROW} WHERE seq IN ({marks(values)})", values)
            case "head":
                yield from self.db.execute(f"{ROW} WHERE head <> seq AND head IN ({marks(values)})", values)
            case _:  # base
                yield from self.db.execute(f"{ROW} WHERE base IN ({marks(values)})", values)

    def numbers(self, what: str, name: str) -> list[int]:
        """The numbers of all spellings of a name that the runs hold, 'same as' followed."""
        key = self.registers.key(what, name)
        return [n for n, other in self._names(what) if self.registers.key(what, other) == key]

    def _names(self, what: str) -> list[tuple[int, str]]:
        return self.db.execute("SELECT n, key FROM name WHERE what = ?", (what,)).fetchall()

    def name(self, number: int) -> str:
        """The name, folded, that has this number."""
        return str(self.db.execute("SELECT key FROM name WHERE n = ?", (number,)).fetchone()[0])

    def tanks_met(self, rig: Sequence[int], *, named: bool = False) -> set[str]:
        """Every tank that some run of a rig touches, folded as typed, '' for one that was not named.

        named: those that its runs name, whether anything happened to them or not.
        """
        found = set()
        for n in rig:
            begins = f"{self.name(n)}\n"
            sql = "SELECT 1 FROM held WHERE n = ? LIMIT 1"  # a name that a correction took away is held no longer
            for number, key in self._names("tank named" if named else "tank of rig"):
                if key.startswith(begins) and self.db.execute(sql, (number,)).fetchone():
                    found.add(key.removeprefix(begins))
        return found

    def rigs(self) -> list[list[int]]:
        """The numbers of the rigs' names, those of one rig together."""
        rigs: dict[str, list[int]] = {}
        for n, key in self._names("rig"):
            rigs.setdefault(self.registers.key("rig", key), []).append(n)
        return list(rigs.values())

    def walk(self, rig: Sequence[int], row: Row, *, back: bool = False) -> Iterator[Row]:
        """The runs of a rig after (before) one, in that order, cancelled ones left out."""
        sign, way = ("<", "DESC") if back else (">", "ASC")
        after = f"AND (day, moment, id) {sign} (?, ?, ?)"
        sql = f"{ROW} WHERE rig IN ({marks(rig)}) AND NOT cancelled {after} ORDER BY day {way}, moment {way}, id {way}"
        for values in self.db.execute(sql, (*rig, *row.order)):
            yield row_of(values)

    def all_ids(self) -> Iterator[str]:
        """The record ids of all runs, rig by rig in their order, cancelled ones too."""
        for rig in self.rigs():
            sql = f"SELECT id FROM run WHERE rig IN ({marks(rig)}) AND head = seq ORDER BY day, moment, id"
            for (id,) in self.db.execute(sql, rig):
                yield id.hex()

    def between(self, first: str, last: str, rig: str | None = None) -> list[Row]:
        """The runs of these days, ends included, in their order; cancelled ones too."""
        sql, values = f"{ROW} WHERE day BETWEEN ? AND ? AND head = seq", [first, last]
        if rig is not None:
            numbers = self.numbers("rig", rig)
            sql += f" AND rig IN ({marks(numbers)})"
            values += numbers  # type: ignore[arg-type]
        return [row_of(found) for found in self.db.execute(f"{sql} ORDER BY day, moment, id", values)]

    def holding(self, what: str, name: str, first: str = "", last: str = "9999") -> list[Row]:
        """The runs of these days in which a name occurs. what: one of `NAMED`, spellings of one entry count as one."""
        found = []
        for n in self.numbers(what, name):
            sql = "SELECT run FROM held WHERE n = ? AND day BETWEEN ? AND ?"
            seqs = [row[0] for row in self.db.execute(sql, (n, first, last))]
            for part in in_parts(seqs):
                found += [row_of(v) for v in self._in(part, "seq")]
        return sorted({row.id: row for row in found}.values(), key=lambda row: row.order)

    def of_same_jobs(self, rows: Collection[Row]) -> list[Row]:
        """Every run on which a job went on that one of these runs names."""
        return [row for job in self._held(rows, "job") for row in self.holding("job", job)]

    def last_before(self, day: str) -> list[Row]:
        """The last run of each rig before a day, cancelled ones left out."""
        found = []
        for numbers in self.rigs():
            sql = (
                f"{ROW} WHERE rig IN ({marks(numbers)}) AND NOT cancelled AND head = seq AND day < ? "
                "ORDER BY day DESC, moment DESC, id DESC LIMIT 1"
            )
            found += [row_of(values) for values in self.db.execute(sql, (*numbers, day))]
        return found

    def first_day(self) -> str | None:
        """The day of the first run, cancelled ones counted; None without any."""
        return self.db.execute("SELECT min(day) FROM run").fetchone()[0]  # type: ignore[no-any-return]

    def supply_meters(self) -> list[list[int]]:
        """The numbers of the names of each supply meter that a reading line is of."""
        meters: dict[str, list[int]] = {}
        for n, key in self._names("reading"):
            entry = self.registers.find("instrument", key)
            if entry is not None and entry.get("measures") == "supply":
                meters.setdefault(self.registers.key("instrument", key), []).append(n)
        return list(meters.values())

    def reading(self, meter: Sequence[int], rig: Sequence[int], row: Row, *, back: bool = False) -> Row | None:
        """The next (last) run of a rig after (before) this one in which a reading line is of a meter."""
        sign, way = ("<", "DESC") if back else (">", "ASC")
        found = []
        for n in meter:
            sql = (
                f"{ROW} JOIN held ON held.run = run.seq WHERE held.n = ? AND held.day {sign}= ? "
                f"AND rig IN ({marks(rig)}) AND NOT cancelled AND (run.day, moment, id) {sign} (?, ?, ?) "
                f"ORDER BY held.day {way}, moment {way}, id {way} LIMIT 1"
            )
            found += [row_of(values) for values in self.db.execute(sql, (n, row.day, *rig, *row.order))]
        return (max if back else min)(found, key=lambda one: one.order, default=None)

    def reads(self, meter: Sequence[int], row: Row) -> bool:
        """Whether a run has a reading line of a meter."""
        sql = f"SELECT 1 FROM held WHERE n IN ({marks(meter)}) AND day = ? AND run = ?"
        return self.db.execute(sql, (*meter, row.day, row.seq)).fetchone() is not None

    def ticketed_with(self, rows: Iterable[Row]) -> list[str]:
        """The records of runs that share a ticket with one of these, or the number of one that names no handover."""
        rows = list(rows)
        tickets = self.book.by_ids(self.naming(list(self._hand_ins(rows)), (kinds.TICKET,))).values()
        named = [handover["run"] for ticket in tickets for handover in ticket.payload["handovers"]]
        return [*named, *self.numbered_with(self._held(rows, "ticket"))]

    def numbered_with(self, numbers: Iterable[str]) -> list[str]:
        """The records of runs that may be meant by a ticket that names no handover and has one of these numbers.

        They have to be looked at together: it is for one of them only where no other has its number.
        """
        found: list[str] = []
        for number in self.unmatched(numbers):
            tickets = self._tickets_numbered([f"ticket {number}"]).values()
            found += [handover["run"] for ticket in tickets for handover in ticket.payload["handovers"]]
            sql = "SELECT run FROM held JOIN name USING (n) WHERE what = 'ticket' AND key = ?"
            seqs = [seq for (seq,) in self.db.execute(sql, (number,))]
            found += [row_of(values).id for part in in_parts(seqs) for values in self._in(part, "seq")]
        return found

    def unmatched(self, numbers: Iterable[str]) -> list[str]:
        """Those of these numbers that some ticket has, or had, which names no handover."""
        found = {number: self._tickets_numbered([f"ticket {number}"]).values() for number in numbers}
        return [number for number, of in found.items() if not all(ticket.payload["handovers"] for ticket in of)]

    def _tickets_numbered(self, keys: Sequence[str]) -> dict[str, Record]:
        """The tickets that have, had or were given these numbers, each as 'ticket ' and the number."""
        found = self.book.by_ids(self.naming(keys))
        given = self.book.by_ids(record.payload["run"] for record in found.values() if record.kind != kinds.TICKET)
        return {id: record for id, record in (found | given).items() if record.kind == kinds.TICKET}

    def numbers_ever(self, ids: Sequence[str]) -> set[str]:
        """Every number of a ticket that these runs and tickets have, or had before they were changed."""
        records = [*self.book.by_ids(ids).values(), *self.amendments(ids)]
        return {number for record in records for number in numbers_named(record)}

    def at_one_site(self, rows: Iterable[Row]) -> list[str]:
        """The records of runs that were at a site on one day with one of these, where some meter is on no rig.

        What such a meter shows may be of all of them together. The given ones are among them.
        """
        if not self.meters_of_no_rig:
            return []
        found: list[str] = []
        for row in rows:
            for site in self._held([row], "site"):
                found += [one.id for one in self.holding("site", site, row.day, row.day)]
        return found

    @cached_property
    def meters_of_no_rig(self) -> bool:
        """Whether the register has a supply meter that is on no rig: a run's lines and its figures may name it."""
        return any(of_no_rig(self.registers, str(entry["name"])) for entry in self.registers.all("instrument"))

    def orders(self) -> list[tuple[str, ...]]:
        """The runs, by record, of each record that says in which order they came to a tank; cancelled ones left out."""
        found = {record.id: tuple(record.payload["runs"]) for record in self.book.records(kind=kinds.ORDER)}
        cancelled = self.book.by_ids(self.naming(list(found), (kinds.CANCEL,))).values()
        for record in cancelled:
            found.pop(record.payload["record"], None)
        return list(found.values())

    def ref(self, row: Row) -> str:
        """How people name a run: a second one of a rig's day, in the order of the book, ends in -2."""
        sql = "SELECT count(*) FROM run WHERE base = ? AND seq <= ?"
        n = self.db.execute(sql, (row.base, row.seq)).fetchone()[0]
        return row.base if n == 1 else f"{row.base}-{n}"

    def run_named(self, name: str) -> Row | None:
        """A run by its ref, its record id or the beginning of one (six digits or more), or by those of its hand-ins."""
        base, _, n = name.rpartition("-")
        found = [(name, 1)] + ([(base, int(n))] if n.isascii() and n.isdigit() and 1 < int(n) < 2**31 else [])
        sql = "SELECT head FROM run WHERE base = ? ORDER BY seq LIMIT 1 OFFSET ?"
        seqs = [seq for base, n in found for (seq,) in self.db.execute(sql, (base, n - 1))]
        if seqs:
            return min((row_of(v) for v in self._in(seqs, "seq")), key=lambda row: row.order)
        if not 6 <= len(name) <= 32 or not set(name) <= set("0123456789abcdef"):
            return None
        low, high = bytes.fromhex(name.ljust(32, "0")), bytes.fromhex(name.ljust(32, "f"))
        sql = "SELECT DISTINCT head FROM run WHERE id BETWEEN ? AND ? LIMIT 2"
        seqs = [seq for (seq,) in self.db.execute(sql, (low, high))]
        return next((row_of(v) for v in self._in(seqs, "seq")), None) if len(seqs) == 1 else None

    def records(self, ids: Iterable[str], besides: Sequence[str] = ()) -> list[Record]:
        """Everything that has to be gathered for these runs, in the order of the book.

        besides: kinds of record of which all are wanted, and what changes them.

        The registers, acceptances and closings; the runs with all their hand-ins, and those that share their day and
        rig (which their refs are counted by); what amends, cancels, joins, orders, tickets or attaches to them; tickets
        of their numbers, and what amends these; pages about them, their stops and jobs. Raises BookDamaged where the
        book no longer holds a run that the index has seen in it.
        """
        rows = self._with_siblings(self.rows(ids))
        found = self.book.by_ids(rows)
        if gone := sorted(row.seq for id, row in rows.items() if id not in found):
            raise missing(f"record {gone[0]} in {self.book.path}")
        tickets = self._tickets_numbered([f"ticket {key}" for key in self._held(rows.values(), "ticket")])
        found |= tickets
        others = {record.id: record for kind in besides for record in self.book.records(kind=kind)}
        found |= others
        changed = [record.id for record in others.values() if record.kind != kinds.ISSUE]  # a page stays as it is
        keys = [*rows, *tickets, *changed, *self._abouts(rows.values())]
        while keys:
            new = self.book.by_ids(id for id in self.naming(keys) if id not in found)
            found |= new
            keys = [*new, *(outing for record in new.values() if (outing := record.payload.get("outing")))]
            found |= self.book.by_ids(id for id in keys if id not in found)  # what a change says it was made to
        always = [*self.register_records(), *(r for kind in _ALWAYS for r in self.book.records(kind=kind))]
        found |= {record.id: record for record in always}
        return sorted(found.values(), key=lambda record: record.seq)

    def _with_siblings(self, rows: Mapping[str, Row]) -> dict[str, Row]:
        """Runs with all hand-ins of each, and all that share a day and rig with one of these, and so on."""
        found = dict(rows)
        new = list(found.values())
        while new:
            heads, bases = {row.head for row in new}, {row.base for row in new}
            more = [v for part in in_parts(sorted(heads)) for v in (*self._in(part, "seq"), *self._in(part, "head"))]
            more += [v for part in in_parts(sorted(bases)) for v in self._in(part, "base")]
            new = [row for row in map(row_of, more) if row.id not in found]
            found |= {row.id: row for row in new}
        return found

    def _hand_ins(self, rows: Iterable[Row]) -> Iterator[str]:
        """The records of these runs, and of the later hand-ins that were joined to them."""
        seqs = []
        for row in rows:
            yield row.id
            seqs.append(row.seq)
        for part in in_parts(seqs):
            yield from (row_of(v).id for v in self._in(part, "head"))

    def _abouts(self, rows: Collection[Row]) -> list[str]:
        """What a page can be about that concerns these runs: their refs and what begins with them, their jobs."""
        found = [f"about {key}" for key in self._held(rows, "job")]
        for low in sorted({f"about {row.base}" for row in rows}):
            sql = "SELECT DISTINCT key FROM names WHERE key >= ? AND key < ?"
            found += [key for (key,) in self.db.execute(sql, (low, low + "\U0010ffff"))]
        return found

    def _held(self, rows: Collection[Row], what: Literal["job", "site", "ticket"]) -> list[str]:
        """The names of one kind, folded, that these runs hold."""
        names: set[int] = set()
        for row in rows:
            names.update(json.loads(self.db.execute("SELECT names FROM run WHERE seq = ?", (row.seq,)).fetchone()[0]))
        found: list[str] = []
        for part in in_parts(sorted(names)):
            sql = f"SELECT key FROM name WHERE what = ? AND n IN ({marks(part)})"
            found += [key for (key,) in self.db.execute(sql, (what, *part))]
        return found
