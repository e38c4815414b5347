"""What supply meters say between two readings, and the fresh water that was let go and never reached the gun."""

from __future__ import annotations

from dataclasses import dataclass

from compliance.records.views import LineView, RunView
from compliance.water.methods import Gauges, Who
from compliance.water.named import supply_readings
from compliance.water.results import How, Known, Line
from compliance.water.sites import spot_of, stands_at
from compliance.water.timeline import Meter, Timeline
from compliance.water.volume import does_not_apply


@dataclass(frozen=True, slots=True)
class SupplySpan:
    """What a supply meter says went through between two readings, and what came in between.

    meter: key of the instrument. known: in the book's unit, with the line to redo by hand. stops: refs of those that
    drew through it. let_go: fresh water let go meanwhile, which is in what the meter says.
    """

    meter: str
    known: Known
    stops: tuple[str, ...]
    let_go: tuple[Known, ...]


def let_go(gauges: Gauges, run: RunView) -> dict[str, Known]:
    """Fresh water that a run let go, by the number of its line; without those on which the question does not arise."""
    found = {line.n: _amount_let_go(gauges, run, line) for line in run.lines if line.kind == "let go"}
    return {n: known for n, known in found.items() if not does_not_apply(known.figure)}


def _amount_let_go(gauges: Gauges, run: RunView, line: LineView) -> Known:
    return gauges.known(line.get("amount"), Line(run.record, line.n), Who(), what="what was let go")


def supply_spans(timeline: Timeline, gauges: Gauges) -> list[SupplySpan]:
    """Intervals of each supply meter, over the nights too: what it moved while nobody worked belongs to no stop."""
    spans: list[SupplySpan] = []
    last = dict(timeline.before.readings)
    since: dict[Meter, list[str]] = {meter: [] for meter in last}
    gone: dict[Meter, list[Known]] = {meter: [] for meter in last}
    for run in timeline.runs:
        rig = timeline.rig_of[run.record]
        by_line = {part.at.line: stop for stop in timeline.stops_of[run.record] for part in stop.parts}
        supply = supply_readings(gauges.registers, run)
        went = let_go(gauges, run)
        for line in run.lines:
            if line.n in by_line:
                site, _ = spot_of(gauges.registers, by_line[line.n])
                for meter, refs in since.items():
                    if meter[0] == rig and stands_at(gauges.registers, meter[1]) in ("", site):
                        refs.append(by_line[line.n].ref)
            elif line.n in went:
                for meter in [meter for meter in gone if meter[0] == rig]:
                    gone[meter].append(went[line.n])
            elif line.n in supply:
                (meter, shows), at = supply[line.n], Line(run.record, line.n)
                if since.get(meter):
                    before, opened = last[meter]
                    figure, formula = gauges.between(str(line.get("of")), before, shows, at)
                    reader = str(line.get("by") or run.get("lead") or "")
                    how = How("meter", formula, reader, str(line.get("at") or ""), (opened, at))
                    drew = tuple(dict.fromkeys(since[meter]))
                    spans.append(SupplySpan(meter[1], Known(figure, how), drew, tuple(gone[meter])))
                last[meter], since[meter], gone[meter] = (shows, at), [], []
    return spans
