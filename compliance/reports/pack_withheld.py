"""What is withheld from an answer pack is kept out of the parts that go: each field belongs to one part. Pure.

A part that goes may speak of what another part tells: a ticket's number stands with the place that gave it, a corrected
drain with the corrections. There it is taken out and said to be withheld. Where that would leave an account that does
not add up, no pack is made (`bound`); what a record says in words is looked for in all that goes (`still_told`).
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any, Final

from compliance.records.answer import without_value
from compliance.records.fields import GROUP, GROUPS, SEEN_ENTERING, WHERE_WORDS
from compliance.records.names import folded
from compliance.records.views import Attachment, Fields
from compliance.reports import parts
from compliance.reports.awaited import own_lines, own_runs
from compliance.reports.model import Block, Cell, OpenItems, Table, WaterFlow, WaterNode, WaterPath
from compliance.reports.pack_parts import (
    AGENTS,
    DRAINS,
    FILTERS,
    FORCE,
    INCIDENTS,
    PHOTOS,
    PLACES,
    REMARKS,
    TICKETS,
    WATER,
    Pack,
)
from compliance.reports.refs import Source
from compliance.reports.words import Words
from compliance.rules.rule import Finding
from compliance.water.results import JobFacts

_OF_KIND: Final[Mapping[str, str]] = {
    "hand over": PLACES, "led away": PLACES, "escape": INCIDENTS, "remark": REMARKS, "ticket": TICKETS,
    "drain": DRAINS, "agent use": AGENTS, "agent in tank": AGENTS, "agent jugs": AGENTS, "agent": AGENTS,
    "filter stage": FILTERS, "permission": FORCE, "place": PLACES, "reading": WATER, "take on": WATER,
    "tank full": WATER, "use again": WATER, "move": WATER, "let go": WATER, "foreign water": WATER, "solids": WATER,
}  # fmt: skip
"""Kind of line, or register -> the part to which all of it belongs, but for the fields below."""
_OF_FIELD: Final[Mapping[str, str]] = {
    "drains": DRAINS, "covers": DRAINS, "drain_list": DRAINS, "got_away": INCIDENTS, "agent_use": AGENTS,
    "agents": AGENTS, "filters": FILTERS, "filter_list": FILTERS, "sock": FILTERS, "cartridges": FILTERS,
    "rain": FILTERS, "remark": REMARKS, "where": PLACES, "ticket": TICKETS, "accepted": TICKETS,
    "received_by": TICKETS, "permission": FORCE, "refused": INCIDENTS, "supply": WATER, "used": WATER,
    "used_also": WATER, "recovered": WATER, "recovered_also": WATER, "tank_filled": WATER, "tank_after": WATER,
}  # fmt: skip
"""Field of a run, stop or handover -> the part to which it belongs, where that is not its line's."""
_OF_RULE: Final[Mapping[str, str]] = {
    "agent": AGENTS, "ph": AGENTS, "escape": INCIDENTS, "filter": FILTERS, "place": PLACES, "ticket": TICKETS,
    "water": WATER, "recovery": WATER,
}  # fmt: skip
_PAPERS: Final = {"place-3": FORCE, "ticket-1": TICKETS, "ticket-3": TICKETS}
_TELLING: Final = frozenset((
    "name", "place", "where", "connection", "permission", "ticket", "number", "received_by", "what", "stopped", "told",
    "text", "remark", "agent",
))  # fmt: skip
"""Fields whose words name something, so that they must not stand anywhere while their part stays at home."""
_ORDINARY: Final = frozenset((*WHERE_WORDS, "later"))
_SHORTEST: Final = 4
"""Letters from which on a typed text is looked for; a shorter one stands in other words."""


_OF_FILE: Final = (
    (TICKETS, ("ticket", "recibo")),
    (AGENTS, ("data sheet", "hoja de datos", "sds", "hds")),
    (FORCE, ("permission", "permit", "permiso", "autorizacion", "training", "capacitacion")),
)
"""Part -> how what a kept file is said to be begins, in one of its words."""


def part_of_file(file: Attachment, of_ticket: bool) -> str:
    """The part to which a kept file belongs: a photo to the photos, unless it is said to be of another part; a paper of
    which nothing is said belongs to none, ''. of_ticket: whether it is kept with a ticket.
    """
    said = f" {_flat(file.what)}"
    named = next((part for part, words in _OF_FILE if any(f" {word}" in said for word in words)), "")
    return TICKETS if of_ticket else named or (PHOTOS if file.media.startswith("image/") else "")


def part_of(group: str, name: str) -> str:
    """The part to which a field belongs, '' for none. name: as a change has it, 'drain_list/1/on'; '' for a line."""
    first = name.partition("/")[0]
    own = _OF_KIND.get(group, "")
    if own in (INCIDENTS, REMARKS, TICKETS, AGENTS):
        return own
    if first == "amount" and own == PLACES:
        return WATER
    return _OF_FIELD.get(first, own)


class Goes:
    """Which parts go, and so which fields may be told."""

    def __init__(self, wanted: Collection[str]) -> None:
        self.wanted = frozenset(wanted)

    def __call__(self, group: str, name: str) -> bool:
        part = part_of(group, name)
        return not part or part in self.wanted

    def __contains__(self, part: str) -> bool:
        return part in self.wanted

    @property
    def all(self) -> bool:
        """Whether nothing is withheld that belongs to a part of its own."""
        return {*_OF_KIND.values(), *_OF_FIELD.values()} <= self.wanted


def masked(blocks: Iterable[Block], part: str, goes: Goes, words: Words) -> Iterator[Block]:
    """The blocks of one part without what belongs to parts that stay at home."""
    for block in blocks:
        match block:
            case Table() if part == PLACES:
                yield _places(block, goes, words)
            case WaterPath() if PLACES not in goes:
                yield _nameless(block, words)
            case _:
                yield block


def _places(table: Table, goes: Goes, words: Words) -> Table:
    """Permissions, tickets and amounts have parts of their own; theirs less ours, on a ticket, tells ours."""
    home = {
        words("where.permission"): FORCE in goes,
        words("where.ticket"): TICKETS in goes and WATER in goes,
        words("where.amount"): WATER in goes,
    }
    gone = Cell(words("pack.cell_withheld"), tone="muted")
    rows = tuple(
        tuple(cell if home.get(column.label, True) else gone for column, cell in zip(table.columns, row, strict=True))
        for row in table.rows
    )
    return replace(table, rows=rows, note=table.note if WATER in goes else "")


def _nameless(path: WaterPath, words: Words) -> WaterPath:
    """A water path whose places have no names; a node's id names its place too."""
    front, _, behind = words("path.mark.worked_out", label="\0").partition("\0")
    ids: dict[str, str] = {}
    nodes: list[WaterNode] = []
    for node in path.nodes:
        if node.kind != "place":
            ids[node.id] = node.id
            nodes.append(node)
            continue
        ids[node.id] = f"place {len(ids)}"
        label = words("pack.place_withheld")
        if node.label.startswith(front) and node.label.endswith(behind):
            label = words("path.mark.worked_out", label=label)
        nodes.append(replace(node, id=ids[node.id], label=label))
    flows = tuple(WaterFlow(ids[flow.source], ids[flow.target], flow.amount) for flow in path.flows)
    return replace(path, nodes=tuple(nodes), flows=flows)


def place_text(source: Source, name: object, goes: Goes) -> str:
    """A place by its name, or that it is not named."""
    return source.place_text(name) if PLACES in goes else source.words("pack.place_withheld")


def awaiting(findings: Iterable[Finding], goes: Goes) -> Iterator[Finding]:
    """The findings of what is missing, without fields of parts that stay at home."""
    for finding in findings:
        if _PAPERS.get(finding.rule, "") and _PAPERS[finding.rule] not in goes:
            continue
        left = tuple(one for one in finding.missing if goes(one.group, one.field))
        if left:
            yield replace(finding, missing=left)


def open_items(block: OpenItems, goes: Goes, words: Words) -> OpenItems:
    """Open items without those that speak of parts at home; where a part stays, no more is said than that of the others
    nothing is awaited.
    """
    of = {"awaited.escape": INCIDENTS, "awaited.ticket": TICKETS, "awaited.aboard": WATER,
          "awaited.astray": WATER}  # fmt: skip
    home = [_shape(words, key) for key, part in of.items() if part not in goes]
    if PLACES not in goes:
        handover = _inside(words, "awaited.handover")
        home.append(_shape(words, "awaited.ticket"))
        home += [_shape(words, key, where=handover) for key in ("awaited.fields", "awaited.not_recorded")]
    items = tuple(item for item in block.items if not any(shape.fullmatch(item) for shape in home))
    return replace(block, items=items, none=block.none if goes.all else words("pack.open_none"))


def _shape(words: Words, key: str, **inside: str) -> re.Pattern[str]:
    """Any sentence that these words can make."""
    return re.compile(_inside(words, key, **inside), re.DOTALL)


def _inside(words: Words, key: str, **inside: str) -> str:
    names = ("day", "place", "when", "amount", "where", "fields")
    text = re.escape(words(key, **{name: f"\x00{name}\x00" for name in names}))
    for name in names:
        text = text.replace(re.escape(f"\x00{name}\x00"), inside.get(name, ".*"))
    return text


def told_finding(finding: Finding, goes: Goes) -> bool:
    """Whether a finding speaks of nothing that stays at home, as far as its rule says."""
    part = _OF_RULE.get(finding.rule.partition("-")[0], "")
    return (not part or part in goes) and all(goes(one.group, one.field) for one in finding.missing)


def bound(pack: Pack, goes: Goes) -> Iterator[tuple[str, str]]:
    """Pairs (part that stays, part that cannot go without it) of this pack.

    Water that got away is a line of the account, which would not add up without it; that water was seen to enter a
    drain names the drain.
    """
    jobs = [(pack.source(job), job) for job in pack.jobs]
    if INCIDENTS not in goes and any(parts.got_away(source, job.stops) for source, job in jobs):
        yield from ((INCIDENTS, part) for part in (WATER, PLACES) if part in goes)
    entered = any(
        drain.get("seen") == SEEN_ENTERING
        for source, job in jobs
        for stop in job.stops
        for drain in source.stop_items(stop, "drain_list")
    )
    if DRAINS not in goes and INCIDENTS in goes and entered:
        yield DRAINS, INCIDENTS


def still_told(pack: Pack, goes: Goes, texts: Mapping[str, str]) -> Iterator[tuple[str, str, str]]:
    """(part that stays, what somebody typed that belongs to it, where it stands among what goes).

    texts: where -> all words that stand there. A text that is too short to tell anything is not looked for; neither is
    one that a part that goes tells in a field of the same name, as the place of a ticket is that of its handover.
    """
    plain = {where: f" {_flat(text)} " for where, text in texts.items()}
    typed_in = list(_typed_into_parts(pack))
    told = {(name, _flat(typed)) for part, name, typed in typed_in if not part or part in goes}
    home = [(part, name, typed) for part, name, typed in typed_in if part and part not in goes]
    for part, typed in dict.fromkeys((part, typed) for part, name, typed in home if (name, _flat(typed)) not in told):
        wanted = _flat(typed)
        if len(wanted) >= _SHORTEST and typed not in _ORDINARY:
            yield from ((part, typed, where) for where, text in plain.items() if f" {wanted} " in text)


def _flat(text: str) -> str:
    return " ".join(re.findall(r"[^\W_]+", folded(text)))


def _typed_into_parts(pack: Pack) -> Iterator[tuple[str, str, str]]:
    """What was typed into the telling fields of these jobs: (part, '' for none, name of the field, text)."""
    for job in pack.jobs:
        source = pack.source(job)
        for group, fields in _records(source, job):
            yield from _typed(group, fields)


def _records(source: Source, job: JobFacts) -> Iterator[tuple[str, Fields]]:
    """The runs, lines and tickets of a job: (group of the field table, fields)."""
    for record in own_runs(job):
        yield "run", source.runs[record].fields
    for where in own_lines(source, job):
        line = source.line(where)
        if line is not None:
            yield line.kind, line.fields
        yield from (("ticket", ticket.fields) for ticket in source.state.tickets_of(where.record, where.line))


def _typed(group: str, fields: Fields) -> Iterator[tuple[str, str, str]]:
    for row in GROUPS[group]:
        value: Any = fields.get(row.name)
        if row.type == GROUP and isinstance(value, list):
            for entry in value:
                yield from _typed(row.of, entry)
        elif row.name in _TELLING and without_value(value) is None:
            yield part_of(group, row.name), row.name, str(value)
