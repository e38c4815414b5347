"""What nobody has recorded yet. One finding a run, never one a field; 'not read' is an answer and never missing.

The field table says what is wanted and of whom; what follows is when the question does not arise: a field of the run
that every stop answers, an amount that the levels give, a place that refused the load.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date
from typing import Final

from compliance.records.answer import without_value
from compliance.records.fields import AGENT_USED, FILTERS_TOUCHED, GROUPS, OFFICE, PROOF, TRUCK, field
from compliance.records.state import State
from compliance.records.views import Fields, LineView, RunView
from compliance.rules.rule import (
    NOTHING,
    READ_IN_PART,
    READ_LATER,
    Citation,
    DoesNotApply,
    Fault,
    Missing,
    Outcome,
    Params,
    Rule,
    Words,
)
from compliance.rules.say import amount, listed
from compliance.rules.scene import Scene
from compliance.rules.subjects import Run, Stop, items
from compliance.water.results import Known, Line, Night
from compliance.water.volume import Unknown

NEEDS: Final = {TRUCK: "asked of the crew", OFFICE: "completed by the office", PROOF: "awaited on a page"}
"""What a field's need means to a reader, in order of need."""

ELSEWHERE: Final = {
    ("hand over", "permission"): "place-3",
    ("led away", "permission"): "place-3",
    ("hand over", "ticket"): "ticket-1",
    ("agent", "data_sheet"): "agent-1",
}
"""Fields whose absence is another rule's business, which knows where they are wanted and where not."""

WANTED: Final = {
    group: tuple(row for row in rows if row.need in NEEDS and (group, row.name) not in ELSEWHERE)
    for group, rows in GROUPS.items()
}

SINCE: Final[Mapping[tuple[str, str], str]] = {
    (group, row.name): row.since for group, rows in GROUPS.items() for row in rows if row.since
}
"""Fields that came later -> the first day they are missed: a new question makes no night of the past incomplete."""


def wanting(scene: Scene, run: Run) -> tuple[Missing, ...]:
    """Every field of a run, its lines and its tickets that is not recorded yet, in order of need."""
    found = (*_of_run(run), *_of_lines(scene, run), *_of_handovers(run), *_not_listed(run))
    asked = [one for one in found if SINCE.get((one.group, one.field), "") <= run.view.day]
    order = list(NEEDS)
    return tuple(sorted(asked, key=lambda one: order.index(one.need)))


def wanting_of_unjudged(state: State, night: Night, view: RunView) -> tuple[Missing, ...]:
    """As `wanting`, for a run that no rule judges: a page of it still says what it lacks."""
    scene = Scene(state, night, date.fromisoformat(view.day))
    run = scene.run(view)
    return () if run is None else wanting(scene, run)


def label(one: Missing) -> str:
    """The English label of a missing field."""
    return field(one.group, one.field).en


# ---- the run's own fields ------------------------------------------------------------------------------------

_ANSWERED_BY_STOPS: Final[dict[str, Callable[[Stop], bool]]] = {
    "got_away": lambda stop: stop.get("got_away") is not None or bool(stop.facts.escapes),
    "drains": lambda stop: stop.get("drains") is not None or bool(stop.items("drain_list")),
    "agent_use": lambda stop: stop.get("agent_use") is not None or bool(stop.items("agents")),
    "filters": lambda stop: bool(stop.items("filter_list")),
    "rain": lambda stop: stop.get("rain") is not None,
    "supply": lambda stop: stop.get("supply") is not None,
}
"""Fields of a run that its stops may answer instead, each for itself."""

_WITHOUT_WORK: Final = ("start", "end")
"""What is asked of a run on which no stop was worked; of one that was off, nothing is."""


def _of_run(run: Run) -> Iterator[Missing]:
    if run.at_work:
        asked = WANTED["run"]
    elif without_value(run.view.get("cancelled")) is None:
        return
    else:
        asked = tuple(row for row in WANTED["run"] if row.name in _WITHOUT_WORK)
    for row in asked:
        if run.view.fields.get(row.name) is None and not _answered(run, row.name):
            yield Missing("run", row.name, row.need)


def _answered(run: Run, name: str) -> bool:
    """Whether something else on the run answers a field of the run."""
    match name:
        case "used":
            return _is_answer(run.facts.used)
        case "recovered":
            return _is_answer(run.facts.captured)
        case "got_away" if run.of_kind("escape"):
            return True
        case "supply" if run.of_kind("take on"):
            return True  # its place is asked on the line
    by_stop = _ANSWERED_BY_STOPS.get(name)
    return by_stop is not None and all(by_stop(stop) for stop in run.worked)


_COUNTED: Final = ("agent in tank", "agent jugs")
"""Lines that say which agent was used, though at no stop."""


def _not_listed(run: Run) -> Iterator[Missing]:
    """Lists that an answer promises: 'used' and no agent named, 'cleaned' or 'changed' and no stage or part named."""
    if not run.worked:
        return
    first = run.worked[0].parts[0].n
    if not run.of_kind(*_COUNTED):
        own = [stop for stop in run.worked if stop.get("agent_use") == AGENT_USED and not stop.items("agents")]
        for stop in own:
            yield Missing("stop", "agents", OFFICE, stop.parts[0].n)
        said = run.view.get("agent_use") == AGENT_USED
        if said and not own and not any(stop.items("agents") for stop in run.worked):
            yield Missing("stop", "agents", OFFICE, first)
    parts = (run.view.get("sock"), run.view.get("cartridges"))
    touched = run.view.get("filters") in FILTERS_TOUCHED and parts == (None, None)
    if touched and not any(stop.items("filter_list") for stop in run.worked):
        yield Missing("stop", "filter_list", OFFICE, first)


def _is_answer(known: Known) -> bool:
    """Whether a figure, or somebody's word for not having one, is there: anything but silence."""
    return not isinstance(known.figure, Unknown) or known.figure.kind != "not recorded yet"


# ---- stops ---------------------------------------------------------------------------------------------------


def _of_stop(scene: Scene, stop: Stop) -> Iterator[Missing]:
    n = stop.parts[0].n
    for row in WANTED["stop"]:
        if stop.get(row.name) is None and not _known_from_registers(scene, stop, row.name):
            yield Missing("stop", row.name, row.need, n)
    for part, drain, within in _entries(stop, "drain_list"):
        unprotected = drain.get("method") in ("none", "not applicable")
        yield from _absent("drain", drain, part.n, skip=("on", "off") if unprotected else (), within=within)
    for part, use, within in _entries(stop, "agents"):
        yield from _absent("agent use", use, part.n, within=within)
    for part, stage, within in _entries(stop, "filter_list"):
        yield from _absent("filter stage", stage, part.n, within=within)


def _entries(stop: Stop, name: str) -> Iterator[tuple[LineView, Fields, str]]:
    """The entries of a list field, each with its line and where it stands there: 'drain_list/2'."""
    for part in stop.parts:
        for n, entry in enumerate(items(part, name), start=1):
            yield part, entry, f"{name}/{n}"


def _known_from_registers(scene: Scene, stop: Stop, name: str) -> bool:
    if name == "client":
        job, site = scene.entry("job", stop.get("job")), scene.entry("site", stop.get("site"))
        return any(entry is not None and entry.get("client") is not None for entry in (job, site))
    if name == "area":
        return not isinstance(stop.facts.area, Unknown)
    return False


# ---- the other lines, handovers and tickets ------------------------------------------------------------------


def _of_lines(scene: Scene, run: Run) -> Iterator[Missing]:
    for stop in run.worked:
        yield from _of_stop(scene, stop)
    refused = {handover.n for handover in run.handovers if handover.refused is not None}
    amounts = {draw.line: draw.known for load in run.loads for draw in load.draws}
    lines = run.view.lines
    for at, line in enumerate(lines):
        if line.kind == "stop" or line.n in refused:
            continue
        skip = []
        known = amounts.get(Line(run.view.record, line.n))
        if known is not None and _is_answer(known):
            skip.append("amount")
        if at + 1 < len(lines) and lines[at + 1].kind == "reading":
            skip.append("tank_after")  # the tank was looked at next
        yield from _absent(line.kind, line.fields, line.n, skip)


_ASKED_WITHOUT_A_LINE: Final = ("connection", "at")
"""What a page wants of a handover that only the run's 'where' tells of; its volume is the run's own."""


def _of_handovers(run: Run) -> Iterator[Missing]:
    for handover in run.handovers:
        if handover.line is None:
            skip = [row.name for row in WANTED["hand over"] if row.name not in _ASKED_WITHOUT_A_LINE]
            yield from _absent("hand over", {}, "", skip)
        for ticket in handover.tickets:
            if without_value(ticket.fields.get("refused")) is not None:
                name = f"ticket {ticket.fields.get('number')}"
                yield from _absent("ticket", ticket.fields, handover.n, entry=name, within=ticket.record)


def _absent(
    group: str, fields: Fields, n: str, skip: Iterable[str] = (), entry: str = "", within: str = ""
) -> Iterator[Missing]:
    for row in WANTED[group]:
        if fields.get(row.name) is None and row.name not in skip:
            yield Missing(group, row.name, row.need, n, entry, within)


# ---- rules ---------------------------------------------------------------------------------------------------


def fields_not_recorded(scene: Scene, run: Run, params: Params) -> Outcome:
    """missing-1."""
    missing = wanting(scene, run)
    if not missing:
        return NOTHING
    by_need = []
    for need, words in NEEDS.items():
        where: dict[str, list[str]] = {}
        for one in missing:
            if one.need == need:
                where.setdefault(label(one), []).append(one.entry or one.line)
        if where:
            fields = [f"{name} ({_places(list(dict.fromkeys(at)))})" for name, at in where.items()]
            by_need.append(f"{words}: {', '.join(fields)}")
    return Fault(
        "; ".join(by_need),
        "the field table: every field that the crew, the office or a page is asked for",
        lines=tuple(dict.fromkeys(Line(run.view.record, one.line) for one in missing)),
        missing=missing,
    )


def _places(at: list[str]) -> str:
    """'run', 'line 3', 'lines 3 and 5', 'ticket 4711': where a field is missing."""
    numbers = [n for n in at if n[:1].isdigit()]
    others = [n or "run" for n in at if n not in numbers]
    if not numbers:
        return listed(others)
    lines = f"line {numbers[0]}" if len(numbers) == 1 else f"lines {listed(numbers)}"
    return listed([*others, lines])


def destination_not_recorded(scene: Scene, run: Run, params: Params) -> Outcome:
    """missing-2."""
    where = run.view.get("where")
    if where not in (None, "not known", "not read"):
        return NOTHING
    figure = run.facts.captured.figure
    if isinstance(figure, Unknown):
        if not any(stop.facts.planned for stop in run.worked):
            return DoesNotApply("no water was to be recovered")
        said = run.view.get("recovered")
        how_much = f"how much was recovered is {figure.kind if said is None else without_value(said) or figure.kind}"
    elif figure.high is not None and figure.high <= 0:
        return DoesNotApply("no water was recovered")
    else:
        how_much = f"recovered: {amount(figure, scene.state.unit)}"
    answer = "not recorded yet" if where is None else f"{where!r}"
    return Fault(f"where the water is: {answer}; {how_much}", "every recovered gallon is aboard, or went to a place")


RULES: Final = (
    Rule(
        id="missing-1",
        slug="fields-not-recorded",
        title=Words("Fields not recorded yet", "Datos que faltan"),
        severity="missing",
        basis="practice",
        citations=(
            Citation("40 CFR 122.41(j)(3) and 403.12(o)(1), as a model of what a record holds", READ_LATER),
            Citation("field lists of agencies, regulation notes 2, section 9", READ_IN_PART),
        ),
        scope="run",
        judge=fields_not_recorded,
        looks_for="Fields of a run, of its lines and of its tickets that nobody has answered. 'Not read', 'not "
        "applicable' and 0 are answers.",
        why="A gap is read by others as the worst case, and memory fades within days.",
        next_step="complete each field; where nobody looked, answer 'not read', which is an answer too",
        crew=Words("Write down:", "Anote:"),
        example='line = "hand over"\nplace = "North Plant"\nat = "01:30"\n# connection left out',
    ),
    Rule(
        id="missing-2",
        slug="destination-not-recorded",
        title=Words("Where the water is, is not recorded", "No consta dónde está el agua"),
        severity="missing",
        basis="practice",
        citations=(Citation("trip-ticket codes, regulation notes, sections 9 and 10", READ_IN_PART),),
        scope="run",
        judge=destination_not_recorded,
        looks_for="A run that recovered water, or may have, and whose place of the water is absent or 'not known'.",
        why="Where the water went is the question that every inspector and every client asks first.",
        next_step="say where the water is: 'aboard', the name of a place, or the lines that tell",
        crew=Words("Find out where the water is.", "Averigüe dónde está el agua."),
        example='where = "not known"',
    ),
)
