"""What a record says of other records, and what a run says of names and tanks: pure, one record at a time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final

from compliance.records import kinds
from compliance.records.answer import NOT_APPLICABLE, WRITTEN, without_value
from compliance.records.envelope import Record
from compliance.records.fields import GROUPS, LINE_KINDS, is_place
from compliance.records.names import folded
from compliance.records.quantity import stored
from compliance.records.ticketing import numbered, ticket_number
from compliance.records.views import LineView, RunView

NAMED: Final = ("rig", "client", "site", "job", "place", "reading", "ticket")
"""What a run can be looked up by: names as typed, folded; 'reading' is whatever a reading line is of, 'ticket' the
number of one on a handover."""


def named_by(record: Record) -> Iterator[str]:
    """The records that a record names, by id; what it is about, as 'about ' and the folded text; 'ticket ' and the
    number that a ticket has or is given.
    """
    payload = record.payload
    match record.kind:
        case kinds.CORRECT | kinds.COMPLETE:
            yield payload["run"]
            if "outing" in payload:
                yield payload["outing"]
            if renumbers(record):
                yield from (f"ticket {number}" for number in numbers_named(record))
        case kinds.CANCEL | kinds.ATTACH:
            yield payload["record"]
        case kinds.TICKET:
            yield from (handover["run"] for handover in payload["handovers"])
            yield from (f"ticket {number}" for number in numbers_named(record))
        case kinds.SAME_OUTING:
            yield from (payload["first"], payload["second"])
        case kinds.ORDER:
            yield from payload["runs"]
        case kinds.ISSUE:
            yield f"about {folded(payload['about'])}"
        case _:
            return


def names_in(view: RunView) -> Iterator[tuple[str, str]]:
    """(one of `NAMED`, folded name) for each name that a run holds."""
    yield "rig", folded(str(view.fields["rig"]))
    where = view.get("where")
    if is_place(where):
        yield "place", folded(str(where))
    for line in view.lines:
        for what in _LOOKED_UP.get(line.kind, ()):
            name = line.fields.get(what)
            if isinstance(name, str):
                yield what, folded(name)
        if line.kind == "reading":
            yield "reading", _tank(line.get("of"))
    yield from (("ticket", number) for _, _, number in numbered(view))


_LOOKED_UP: Final[Mapping[str, tuple[str, ...]]] = {
    kind: tuple(row.name for row in GROUPS[kind] if row.name in NAMED and row.name != "ticket") for kind in LINE_KINDS
}
"""Kind of line -> its fields that a run can be looked up by."""


def renumbers(record: Record) -> bool:
    """Whether a record gives a ticket another number; no other kind of record that is changed has such a field."""
    payload = record.payload
    return record.kind in (kinds.CORRECT, kinds.COMPLETE) and payload.get("field") == "number"


def moves_site(record: Record) -> bool:
    """Whether a change gives a run another site, or took one from it when it was cancelled."""
    payload = record.payload
    if record.kind not in (kinds.CORRECT, kinds.COMPLETE):
        return False
    return "site" in payload["add"]["fields"] if "add" in payload else payload["field"] == "site"


def numbers_named(record: Record) -> set[str]:
    """Every number of a ticket that a run, a ticket, or a change to one names anywhere, as it is looked up by."""
    payload = record.payload
    said: list[Any] = []
    match record.kind:
        case kinds.RUN:
            said = [
                fields.get("ticket") for fields in (payload["fields"], *(one["fields"] for one in payload["lines"]))
            ]
        case kinds.TICKET:
            said = [payload["fields"].get("number")]
        case kinds.CORRECT | kinds.COMPLETE if "add" in payload:
            said = [payload["add"]["fields"].get("ticket")]
        case kinds.CORRECT | kinds.COMPLETE if payload["field"] in ("ticket", "number"):
            said = [payload["value"]]
        case _:
            pass
    return {number for one in said if (number := ticket_number(one)) is not None}


def tanks_named(record: Record) -> set[str]:
    """Every tank (or instrument, of a reading) that a run, or a change to one, names anywhere, folded."""
    payload = record.payload
    if record.kind == kinds.RUN:
        return {name for line in payload["lines"] for name in _named_in(line["fields"])}
    if record.kind not in (kinds.CORRECT, kinds.COMPLETE):
        return set()
    if "add" in payload:
        return set(_named_in(payload["add"]["fields"]))
    return set(_named_in({payload["field"].rpartition("/")[2]: payload["value"]}))


def tanks_in(lines: Iterable[LineView]) -> set[str]:
    """Every tank (or instrument, of a reading) that lines name, folded, whether anything happened to it or not."""
    return {name for line in lines for name in _named_in(line.fields)}


def _named_in(fields: Mapping[str, Any]) -> Iterator[str]:
    for name in ("tank", "to", "from_tank", "of"):
        if name in fields and without_value(fields[name]) is None:
            yield folded(str(fields[name]))
    for value in fields.values():
        if isinstance(value, dict) and "tank" in value:  # a measure
            yield folded(str(value["tank"]))


def tanks_after(view: RunView) -> list[tuple[str, bool]]:
    """The tanks that a run touches, by folded name ('' for the rig's first), and whether it surely left them empty.

    In the order in which they were touched last: two names may turn out to mean one tank. Only what ends a load for
    certain counts as empty; in doubt, more runs are looked at together.
    """
    found: dict[str, bool] = {}
    for name, empty in _touches(view):
        found.pop(name, None)
        found[name] = empty
    if is_place(view.get("where")) and _closing(view) is None:
        # all of it gone, as the run says: whether this run emptied the tank depends on those before, unless it used it
        found[""] = found.pop("", None) is not None
    return list(found.items())


def _touches(view: RunView) -> Iterator[tuple[str, bool]]:
    gone = view.get("where") if is_place(view.get("where")) else None
    closing = _closing(view)
    for line in view.lines:
        match line.kind:
            case "stop" if _worked(line):
                yield "", False
                yield from _marked(line.get("recovered"))
            case "reading":
                yield _tank(line.get("of")), line.get("shows") == "empty"
            case "hand over" | "move" if without_value(line.get("refused")) is not None:
                after = line.get("tank_after")
                yield from _marked(line.get("amount"))
                all_gone = gone is not None and line is closing and folded(str(line.get("place"))) == folded(gone)
                yield _tank(line.get("tank")), after == "empty" or (after is None and all_gone)
                if line.kind == "move":
                    yield _tank(line.get("to")), False
            case "tank full" | "use again" | "solids" | "foreign water" | "agent in tank":
                yield _tank(line.get("tank")), False
            case "escape" if without_value(line.get("from_tank")) is None:
                yield _tank(line.get("from_tank")), False
            case _:
                pass
    if _some(view.get("recovered")) and not any(_worked(line) for line in view.lines):
        yield "", False  # it may be in the tank, though nobody says of which stop


def _some(recovered: Any) -> bool:
    """Whether a run says that it recovered water; 'not read' is no 'none'."""
    if isinstance(recovered, str) and recovered not in WRITTEN:
        return stored(recovered).high != 0
    return recovered not in (None, NOT_APPLICABLE)


def _worked(line: LineView) -> bool:
    """Whether a line may be that of a stop at which work was done."""
    if line.kind != "stop":
        return False
    return without_value(line.get("not_worked")) is not None or line.get("continued") == "yes"


def _closing(view: RunView) -> LineView | None:
    """The last handover after the work, which may have taken all that the run's 'where' tells of."""
    for line in reversed(view.lines):
        if _worked(line):
            return None
        if line.kind == "hand over" and without_value(line.get("refused")) is not None:
            return line
    return None


def _tank(name: Any) -> str:
    return "" if without_value(name) is not None else folded(str(name))


def _marked(measure: Any) -> Iterator[tuple[str, bool]]:
    """The tank that a measure's own marks are of: looked at, so touched; never counted as empty by that."""
    if isinstance(measure, dict) and measure.get("method") == "mark":
        yield _tank(measure.get("tank")), False
