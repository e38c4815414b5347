"""Water that got away: seen and said is enough, whatever the amount."""

from __future__ import annotations

from typing import Final

from compliance.records.answer import without_value
from compliance.records.fields import NOT_ALLOWED, SEEN_ENTERING
from compliance.records.views import LineView
from compliance.rules.rule import (
    NOTHING,
    READ_LATER,
    CannotTell,
    Citation,
    DoesNotApply,
    Fault,
    Outcome,
    Params,
    Rule,
    Words,
)
from compliance.rules.scene import Scene
from compliance.rules.subjects import Run, Stop
from compliance.water.results import Line


def escape_seen(scene: Scene, run: Run, params: Params) -> Outcome:
    """escape-1."""
    lines = {line.n: line for line in run.of_kind("escape")}
    faults = []
    for stop in run.stops:
        own = [lines.pop(at.line) for at in stop.facts.escapes if at.line in lines]
        fault = _at_stop(run, stop, own)
        if fault is not None:
            faults.append(fault)
    elsewhere = [_told(run, line) for line in lines.values()]
    if run.view.get("got_away") == "yes" and not elsewhere and not faults:
        elsewhere.append("water got away; where it reached is not recorded; amount not known")
    if elsewhere:
        at = tuple(Line(run.view.record, n) for n in lines) or run.at
        faults.append(Fault("; ".join(elsewhere), _COMPARED, lines=at))
    if faults:
        return tuple(faults)
    if not run.at_work:
        return DoesNotApply("no work was done")
    said = run.view.get("got_away")
    by_stop = [stop.get("got_away") or said for stop in run.worked]
    return NOTHING if all(answer == "saw none" for answer in by_stop) else CannotTell("nobody looked, or nobody said")


def _at_stop(run: Run, stop: Stop, escapes: list[LineView]) -> Fault | None:
    seen = [_told(run, line) for line in escapes]
    entering = [drain for _, drain in stop.items("drain_list") if drain.get("seen") == SEEN_ENTERING]
    for drain in entering:
        seen.append(f"water was seen entering the drain {drain['name']!r}: it reached a storm drain; amount not known")
    if stop.get("got_away") == "yes" and not seen:
        seen.append("water got away; where it reached is not recorded; amount not known")
    if not seen:
        return None
    at = tuple(Line(run.view.record, line.n) for line in escapes)
    return Fault(
        "; ".join(seen),
        _COMPARED,
        lines=(*at, *(stop.at if entering or not at else ())),
        about=stop.ref,
        at=Words(f"stop {stop.number}", f"parada {stop.number}"),
    )


def _told(run: Run, line: LineView) -> str:
    reached = line.get("reached")
    if without_value(reached) is not None or reached == "not known":
        where = "where it reached is not known" if reached is not None else "where it reached is not recorded"
    elif reached in NOT_ALLOWED:
        where = f"it reached the {reached}" if reached != "storm drain" else "it reached a storm drain"
    else:
        where = f"it reached no storm drain that anybody saw ({reached})"
    amount = line.get("amount")
    none = without_value(amount)
    if none is not None:
        how_much = f"amount {none}"
    else:
        how_much = f"amount: {amount}" if isinstance(amount, str) else "amount: measured, on the line"
    return f"{line.get('what')}: {where}; {how_much}"


_COMPARED: Final = "no wash water leaves for a storm drain, a gutter or surface water"

RULES: Final = (
    Rule(
        id="escape-1",
        slug="escape-seen",
        title=Words("Water was seen to get away", "Se vio que se escapó agua"),
        severity="act now",
        basis="federal floor",
        citations=(Citation("40 CFR 122.26(b)(2), what counts as an illicit discharge", READ_LATER),),
        scope="run",
        judge=escape_seen,
        looks_for="An escape line, 'water that got away: yes', or a drain at which water was 'seen entering'. One "
        "finding a stop. It says where the water reached and how much, or that nobody knows; never zero.",
        why="Water that reaches a storm drain is an illicit discharge whatever its amount, and many local rules want "
        "to be told the same day. Told early and in full, it is an incident; found by others, it is a concealment.",
        next_step="stop it, contain it, call; write down what it reached, what was seen and who was told; ask the "
        "local stormwater authority what it wants and by when",
        crew=Words("Water got away: stop it, contain it, call.", "Se escapó agua: pare, contenga, llame."),
        caution="Do not step into traffic or lift a grate to reach the water.",
        example="drain_list = [\n"
        '    {name = "arcade inlet", method = "cover mat", on = "21:00", off = "23:45", seen = "seen entering"},\n'
        "]",
    ),
)
