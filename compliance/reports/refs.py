"""What a page is made from, and how it finds its way there: from a line to its fields, a place, a permission.

A client's page is given its client's key: then a place at somebody else's site is described and not named, and free
text that several clients' stops share stays in the book.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from compliance.records.answer import NOT_APPLICABLE, without_value
from compliance.records.fields import WHERE, WHERE_WORDS
from compliance.records.quantity import Quantity, stored
from compliance.records.state import State
from compliance.records.ticketing import Paper, papers
from compliance.records.views import Fields, LineView, RunView, TicketView
from compliance.reports import timeline
from compliance.reports.numbers import answered, quantity_text, told_text, typed_text
from compliance.reports.words import Words
from compliance.rules.scene import in_force
from compliance.water.results import Draw, JobFacts, Line, LoadFacts, Night, StopFacts

_ENDS_A_STOP = ("stop", "hand over", "move")
"""Lines after which what is written down is no longer a stop's own."""


@dataclass(frozen=True)
class Source:
    """The records, what the calculator says of them, and the words to say it in.

    client: the key of the one client whose page this is, '' for a page of the owner.
    """

    state: State
    night: Night
    words: Words
    client: str = ""

    @cached_property
    def runs(self) -> Mapping[str, RunView]:
        """Run record id -> run."""
        return {run.record: run for run in self.state.runs}

    @cached_property
    def stops(self) -> Mapping[str, StopFacts]:
        """Stop ref -> stop."""
        return {stop.ref: stop for run in self.night.runs.values() for stop in run.stops}

    @property
    def loads(self) -> Mapping[str, LoadFacts]:
        """Load name -> load."""
        return self.night.loads

    @cached_property
    def loads_by_stop(self) -> Mapping[str, Sequence[LoadFacts]]:
        """Stop ref -> the loads that it fed."""
        found: dict[str, list[LoadFacts]] = {}
        for load in self.night.loads.values():
            for ref in load.stops:
                found.setdefault(ref, []).append(load)
        return found

    @cached_property
    def draws(self) -> Mapping[tuple[str, Line], Draw]:
        """(load, line) -> the water that left there."""
        return {(draw.load, draw.line): draw for load in self.night.loads.values() for draw in load.draws}

    @property
    def unit(self) -> str:
        return self.state.unit

    def run(self, where: Line) -> RunView:
        """The run in which a line stands."""
        return self.runs[where.record]

    def line(self, where: Line) -> LineView | None:
        """A line, or None for the run's own fields and for no line at all."""
        return self.run(where).line(where.line) if where.record else None

    def stop_lines(self, stop: StopFacts) -> Sequence[LineView]:
        """The lines of a stop: the one that opens it, and those that continue it."""
        return [line for where in stop.lines if (line := self.line(where)) is not None]

    def stop_run(self, stop: StopFacts) -> RunView:
        """The run of a stop."""
        return self.run(stop.lines[0])

    def there(self, received: str) -> str:
        """A moment of receipt, which a computer of any zone may have stamped, by the clock of the business."""
        return timeline.there(received, str(self.state.business["zone"]))

    def own_value(self, stop: StopFacts, name: str) -> Any:
        """A stop's answer, of its first line that has one; None when it was not recorded yet."""
        return next((line.get(name) for line in self.stop_lines(stop) if line.get(name) is not None), None)

    def stop_value(self, stop: StopFacts, name: str) -> Any:
        """A stop's answer, else the one its run gave for all stops; None when neither was recorded yet."""
        own = self.own_value(stop, name)
        return self.stop_run(stop).get(name) if own is None else own

    def stop_items(self, stop: StopFacts, name: str) -> Sequence[Fields]:
        """The entries of a stop's list field, in order."""
        return [item for line in self.stop_lines(stop) if isinstance(line.get(name), list) for item in line.get(name)]

    def stop_span(self, stop: StopFacts) -> Sequence[tuple[Line, LineView]]:
        """Every line written down while a stop lasted, its opening line and the ones that continue it included."""
        run = self.stop_run(stop)
        opening = {where.line for where in stop.lines}
        found: list[tuple[Line, LineView]] = []
        inside = False
        for line in run.lines:
            if line.kind in _ENDS_A_STOP:
                inside = line.n in opening and line.kind == "stop"
            if inside:
                found.append((Line(run.record, line.n), line))
        return found

    def client_key(self, name: str) -> str:
        """What tells clients apart, two spellings of one being equal."""
        return self.state.registers.key("client", name)

    def shares_run(self, run: RunView) -> bool:
        """Whether other clients' stops are on a run, so that its common remarks may speak of them."""
        if not self.client:
            return False
        clients = {self._client_of(line) for line in run.lines if line.kind == "stop"}
        return bool(clients - {self.client})

    def _client_of(self, line: LineView) -> str:
        named = line.get("client")
        if not answered(named):
            site = self.state.registers.find("site", line.get("site"))
            job = self.state.registers.find("job", line.get("job"))
            named = (job or {}).get("client") or (site or {}).get("client") or ""
        return self.client_key(str(named))

    def name(self, register: str, named: object) -> str:
        """A register name to show, free text as it was typed, or the answer that stands in its place."""
        if without_value(named) is not None:
            return typed_text(named, self.words)
        return self.state.registers.name(register, str(named))

    def elsewhere(self, place: Fields | None) -> bool:
        """Whether a place is at the site of a client whose page this is not."""
        if not self.client or place is None or not answered(place.get("site")):
            return False
        site = self.state.registers.find("site", place["site"])
        owner = (site or {}).get("client")
        return answered(owner) and self.client_key(str(owner)) != self.client

    def place_text(self, named: object, *, kind_too: bool = True) -> str:
        """A place: its name and kind; one at another client's site by its kind alone."""
        words = self.words
        if isinstance(named, str) and named in WHERE_WORDS:
            return next(one.es if words.language == "es" else one.value for one in WHERE if one.value == named)
        place = self.state.registers.find("place", named)
        kind = words.choice("place", "kind", str(place["kind"])) if place and answered(place.get("kind")) else ""
        if self.elsewhere(place):
            return words("place.elsewhere", kind=kind or words("place.some"))
        shown = self.name("place", named)
        return words("place.kind", place=shown, kind=kind) if kind and kind_too else shown


def stop_label(source: Source, job: JobFacts, stop: StopFacts) -> str:
    """A stop of a job by its day; with its rig where there were several, its number where one night had several."""
    run = source.stop_run(stop)
    label = timeline.day(run.day, source.words)
    if len({source.stop_run(one).get("rig") for one in job.stops}) > 1:
        label = source.words("stop.rig", label=label, rig=source.name("rig", run.get("rig")))
    if sum(one.run == stop.run for one in job.stops) > 1:
        label = source.words("stop.number", label=label, n=stop.number)
    return label


@dataclass(frozen=True)
class Handover:
    """A handover as a page tells it; every text is ready to print.

    accepted_alone: what the place accepted, when one figure was given for this handover alone.
    """

    place: str
    connection: str
    permission: str
    when: str
    by: str
    ticket: str
    accepted: str
    received_by: str
    refused: str
    ph: str
    accepted_alone: Quantity | None


def handover(source: Source, where: Line) -> Handover:
    """The handover or water led away at a line; line '' is the one answer 'where is the water' of a whole run."""
    words, run = source.words, source.run(where)
    line = source.line(where)
    fields: Fields = line.fields if line else {"place": run.get("where"), "ticket": run.get("ticket")}
    at = fields.get("at")
    moment = str(at) if answered(at) else ""
    tickets = source.state.tickets_of(where.record, where.line)
    refused = [str(t.fields["refused"]) for t in tickets if answered(t.fields.get("refused"))]
    if answered(fields.get("refused")):
        refused.append(str(fields["refused"]))
    return Handover(
        place=source.place_text(fields.get("place")),
        connection=told_text(fields.get("connection"), "hand over", "connection", words),
        permission=permission_text(source, fields.get("permission"), fields.get("place"), (moment or run.day)[:10]),
        when=timeline.moment(moment, words)
        if moment
        else words("when.day", day=timeline.day(run.day, words), time=typed_text(at, words)),
        by=source.name("person", fields.get("by")),
        ticket=ticket_text(source, fields.get("ticket"), [str(t.fields.get("number", "")) for t in tickets]),
        accepted=_accepted(source, fields, where),
        received_by="; ".join(dict.fromkeys(str(one) for one in _each(fields, tickets, "received_by") if answered(one)))
        or typed_text(fields.get("received_by"), words),
        refused="; ".join(refused),
        ph=quantity_text(fields["ph"], words) if answered(fields.get("ph")) else "",
        accepted_alone=_accepted_alone(tickets_at(source, where)),
    )


def _each(fields: Fields, tickets: Sequence[TicketView], name: str) -> list[object]:
    return [fields.get(name), *(ticket.fields.get(name) for ticket in tickets)]


def _accepted(source: Source, fields: Fields, where: Line) -> str:
    """Their volume on every ticket; one that is for several handovers says so. '' where a place gives no tickets."""
    words = source.words
    said = tickets_at(source, where)
    if not said[0].record and fields.get("ticket") == NOT_APPLICABLE and fields.get("accepted") is None:
        return ""
    found = []
    for one in said:
        text = quantity_text(one.accepted, words)
        if answered(one.accepted) and one.handovers > 1:
            text = words("accepted.several", amount=text, n=one.handovers)
        found.append(text)
    return "; ".join(found)


def tickets_at(source: Source, where: Line) -> tuple[Paper, ...]:
    """What every ticket of a handover says was accepted there; see `papers`."""
    line, run = source.line(where), source.run(where)
    own = line.get("ticket") if line else None
    said = run.get("ticket") if own is None else own
    return papers(said, line.get("accepted") if line else None, source.state.tickets_of(where.record, where.line))


def accepted_awaited(source: Source, where: Line) -> bool:
    """Whether a handover waits for the volume that the place accepted: it has a ticket, and no answer on it."""
    run, line = source.run(where), source.line(where)
    fields: Fields = line.fields if line else {"ticket": run.get("ticket")}
    tickets = source.state.tickets_of(where.record, where.line)
    if any(answered(one) for one in _each(fields, tickets, "refused")) or fields.get("accepted") is not None:
        return False
    if tickets:
        return all(ticket.fields.get("accepted") is None for ticket in tickets)
    return answered(fields.get("ticket")) and fields.get("ticket") != "later"


def _accepted_alone(said: Sequence[Paper]) -> Quantity | None:
    if len(said) != 1 or not answered(said[0].accepted) or said[0].handovers > 1:
        return None
    return stored(str(said[0].accepted))


def ticket_text(source: Source, named: object, arrived: Sequence[str]) -> str:
    """The ticket's number, or that it is to come later, or the answer that stands in its place."""
    words = source.words
    numbers = [number for number in arrived if number]
    if answered(named) and named != "later":
        numbers = [str(named), *numbers]
    if numbers:
        return ", ".join(dict.fromkeys(numbers))
    return words("ticket.later") if named == "later" else typed_text(named, words)


def permissions_for(source: Source, place: object, day: str) -> Sequence[tuple[Fields, bool]]:
    """The permissions on file for a place, each with whether its dates hold that day; those that do come first."""
    if not isinstance(place, str):
        return []
    key = source.state.registers.key("place", place)
    found = [
        (entry, in_force(entry, day))
        for entry in source.state.registers.all("permission")
        if isinstance(entry.get("place"), str) and source.state.registers.key("place", entry["place"]) == key
    ]
    return sorted(found, key=lambda one: not one[1])


def permission_text(source: Source, named: object, place: object, day: str) -> str:
    """The permission for water that went to a place on a day, as far as it is on file."""
    words = source.words
    if answered(named):
        entry = source.state.registers.find("permission", named)
        if entry is None:
            return words("permission.unfiled", name=named)
        other = entry.get("place")
        key = source.state.registers.key
        if isinstance(other, str) and key("place", other) != key("place", str(place)):
            if source.elsewhere(source.state.registers.find("place", other)):
                return words("permission.other_clients")
            return words("permission.other_place", name=entry["name"], place=source.place_text(other))
        return _permission(source, entry, day)
    on_file = permissions_for(source, place, day)
    if named is not None:
        return typed_text(named, words)
    if not on_file:
        return words("permission.none")
    return words("permission.unnamed", permission=_permission(source, on_file[0][0], day))


def _permission(source: Source, entry: Fields, day: str) -> str:
    words = source.words
    place = source.state.registers.find("place", entry.get("place"))
    if entry.get("kind") == "not needed":
        return words("permission.not_needed", because=typed_text(entry.get("because"), words))
    kind = words.choice("permission", "kind", str(entry.get("kind")))
    if source.elsewhere(place):
        text = words("permission.elsewhere", kind=kind)
    else:
        given = typed_text(entry.get("given_by"), words)
        text = words("permission.given", kind=kind, name=entry["name"], given_by=given)
    if not answered(entry.get("valid_from")):
        return words("permission.no_dates", text=text)
    start = timeline.day(str(entry["valid_from"]), words)
    if answered(entry.get("valid_to")):
        dates = words("span", start=start, end=timeline.day(str(entry["valid_to"]), words))
    else:
        dates = words("span.from", start=start)
    key = "permission.valid" if in_force(entry, day) else "permission.not_valid"
    return words(key, text=text, dates=dates)
