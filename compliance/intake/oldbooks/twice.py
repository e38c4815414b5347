"""What is in the book already, or stands in the file twice."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Final

from compliance.intake.oldbooks.cells import Fault
from compliance.intake.oldbooks.filemap import DUPLICATE, KEEP, NEW, FileMap
from compliance.intake.oldbooks.headings import BY_NAME, LEVEL, REGISTER, VOLUME_OF
from compliance.intake.oldbooks.lines import REFUSED, WORK, Line
from compliance.records.names import folded
from compliance.records.state import State
from compliance.records.views import OldRow

SAME_DAY, REPEATED_ROWS = "same_day", "repeated_rows"
"""Keys of questions about doubles, as the mapping answers them."""

_DECIMALS: Final = re.compile(r"([0-9]+\.[0-9]*)")
_Content = tuple[tuple[str, str], ...]


def mark_doubles(lines: Sequence[Line], state: State, sha256: str, said: FileMap) -> None:
    """Say of each row of work whether it was imported before, is a night of the book, or stands in the file twice.

    What two rows say is compared without their remarks and in any spelling of upper and lower case. Rows of one file
    that are alike as far as they are read, and differ in a column that is not, may be two nights whose figures stand
    there: that is asked.
    """
    places = {(row.sheet, row.row): row for row in state.old_rows if row.sha256 == sha256}
    before: dict[_Content, list[OldRow]] = defaultdict(list)
    for row in state.old_rows:
        before[content(row.fields)].append(row)
    nights = _Nights(state)
    earlier: dict[_Content, list[Line]] = defaultdict(list)
    for line in lines:
        if line.kind != WORK or line.state == REFUSED:
            continue
        place = places.get((line.sheet, line.number))
        if place is not None:
            line.same = _imported(place, line)
            continue
        if "date" in line.fields:
            nights.hold_against(line, said.choice(SAME_DAY))
        if line.same or line.faults:
            continue
        key = content(line.fields)
        if before[key]:
            line.same = f"row {before[key][0].row} of {before[key].pop(0).file}, imported before, says the same"
        else:
            _hold_against(earlier[key], line, said.choice(REPEATED_ROWS))
            earlier[key].append(line)


def _hold_against(alike: Sequence[Line], line: Line, chosen: str) -> None:
    """Mark a row that stands, or may stand, in the file already. alike: the rows above that read the same."""
    if not alike or chosen == KEEP:
        return
    same = alike[0] if chosen == DUPLICATE else next((one for one in alike if one.unread == line.unread), None)
    if same is not None:
        line.same = f"{_place(same, line)} says the same"
        return
    first = alike[0]
    other = next(at for at in (*first.unread, *line.unread) if first.unread.get(at) != line.unread.get(at))
    why = f"{_place(first, line)} says the same in the columns that are read, another thing in {other}"
    line.faults.append(Fault(why, REPEATED_ROWS))


def content(fields: Mapping[str, str]) -> _Content:
    """What a row says, for comparing: every column but the remarks. 450.00 gal says what 450 gal does."""
    return tuple((name, _plainly(name, fields[name])) for name in BY_NAME if name in fields and name != "remarks")


def _plainly(name: str, text: str) -> str:
    if "." in text and BY_NAME[name].reads in (VOLUME_OF, REGISTER, LEVEL):
        text = _DECIMALS.sub(lambda match: match[1].rstrip("0").rstrip("."), text)
    return folded(text)


def _imported(place: OldRow, line: Line) -> str:
    """This very row of this very file is in the book; where it was read otherwise then, both are told."""
    told = "this row was imported before"
    other = [
        f"{name} {place.fields.get(name, 'nothing')} then, {line.fields.get(name, 'nothing')} now"
        for name in BY_NAME
        if place.fields.get(name) != line.fields.get(name) and not line.faults
    ]
    return f"{told}, and read otherwise: {'; '.join(other)}" if other else told


def _place(first: Line, line: Line) -> str:
    return f"row {first.number}" + (f" of sheet {first.sheet!r}" if first.sheet != line.sheet else "")


class _Nights:
    """The nights and tickets of the book, by day and number."""

    def __init__(self, state: State) -> None:
        self.registers = state.registers
        self.by_day: dict[str, list[tuple[str, str]]] = defaultdict(list)
        self.tickets: dict[str, set[str]] = defaultdict(set)
        days = {}
        for run in state.runs:
            if run.cancelled is None:
                days[run.record] = run.day
                self.by_day[run.day].append((self.registers.key("rig", str(run.get("rig"))), run.ref))
                numbers = [run.get("ticket"), *(line.get("ticket") for line in run.lines if line.kind == "hand over")]
                for number in numbers:
                    self._ticket(number, run.day)
        for ticket in state.tickets:
            for record, _ in ticket.handovers:
                if record in days:
                    self._ticket(ticket.fields.get("number"), days[record])

    def _ticket(self, number: object, day: str) -> None:
        if isinstance(number, str) and any(c.isdigit() for c in number):
            self.tickets[folded(number)].add(day)

    def hold_against(self, line: Line, chosen: str) -> None:
        """Mark a row that is, or may be, a night of the book. chosen: what the mapping says of such rows."""
        if chosen == NEW:
            return
        day, rig = line.fields["date"], line.fields.get("rig")
        nights = self.by_day.get(day, [])
        key = self.registers.key("rig", rig) if rig is not None else None
        same = next((ref for other, ref in nights if other == key), None)
        days = self.tickets.get(folded(line.fields.get("ticket", "")), set())
        if same is not None:
            line.same = f"the book holds the night {same} of this rig and day"
        elif any(_apart(day, other) <= 1 for other in days):
            line.same = f"the book holds ticket {line.fields['ticket']} of this day"
        elif nights and key is None:
            self._ask(line, chosen, f"the book holds {nights[0][1]} of this day, and the row names no rig")
        elif days:
            self._ask(line, chosen, f"the book holds ticket {line.fields['ticket']} of another day, {min(days)}")

    def _ask(self, line: Line, chosen: str, why: str) -> None:
        if chosen == DUPLICATE:
            line.same = why
        else:
            line.faults.append(Fault(why, SAME_DAY))


def _apart(day: str, other: str) -> int:
    return abs((date.fromisoformat(day) - date.fromisoformat(other)).days)
