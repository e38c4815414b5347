"""The small picture of the water's way on a proof: drawn from the water to its ends, 'not explained' included."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from compliance.reports import parts
from compliance.reports.model import Cell, NodeKind, WaterFlow, WaterNode, WaterPath
from compliance.reports.numbers import bare_cell, mark, share_cell
from compliance.reports.refs import Source
from compliance.water.results import UNNAMED, JobFacts, StopFacts
from compliance.water.volume import Figure, Unknown, Volume, total_of

_AGAIN: Final = "used again"


def water_path(source: Source, job: JobFacts) -> WaterPath:
    """The picture for a job; each rig has its own stream, and streams meet where their water does."""
    drawing = _Drawing(source)
    rigs: dict[str, list[StopFacts]] = {}
    for stop in job.stops:
        if stop.worked:
            rigs.setdefault(source.name("rig", source.stop_run(stop).get("rig")), []).append(stop)
    for rig, stops in rigs.items():
        drawing.stream(rig if len(rigs) > 1 else "", stops)
    return WaterPath(source.words("path.title"), tuple(drawing.nodes.values()), tuple(drawing.flows))


class _Drawing:
    """The picture being made; it lives only inside `water_path`."""

    def __init__(self, source: Source) -> None:
        self.source, self.words = source, source.words
        self.nodes: dict[str, WaterNode] = {}
        self.flows: list[WaterFlow] = []
        self.reached: dict[str, list[parts.End]] = {}

    def stream(self, rig: str, stops: Sequence[StopFacts]) -> None:
        used, captured = f"used {rig}", f"captured {rig}"
        drawn, taken = _sum([stop.used.figure for stop in stops]), _sum([stop.captured.figure for stop in stops])
        self.node(used, "used", self.named("path.used", rig, drawn), self.amount(drawn))
        self.node(captured, "captured", self.named("path.captured", rig, taken), self.amount(taken))
        self.flow(used, captured, self.amount(taken))
        round_again = self.goes_round(used, captured, stops)
        if not round_again:
            self.used_again(used, rig, stops)
        self.from_tank(captured, [e for e in parts.ends(self.source, stops) if not (round_again and e.way == _AGAIN)])
        self.untold(captured, stops)
        for id_, figures in (
            ("led away", [stop.led_away for stop in stops]),
            ("escaped", [stop.escaped for stop in stops if parts.escapes_before_capture(self.source, [stop])]),
        ):
            self.past_tank(used, id_, figures)
        rest = _sum([stop.not_explained for stop in stops])
        self.node(f"rest {rig}", "unexplained", self.named("path.not explained", rig, rest), self.amount(rest))
        self.flow(used, f"rest {rig}", self.amount(rest))

    def goes_round(self, used: str, captured: str, stops: Sequence[StopFacts]) -> bool:
        """Whether what was used again here is this very water out of this tank; then it is drawn going round."""
        came = _sum([stop.used_again for stop in stops])
        gone = parts.sum_of(end for end in parts.ends(self.source, stops) if end.way == _AGAIN)
        if _draws_nothing(came) or isinstance(gone, int) or gone.figure != came:
            return False
        self.flow(captured, used, self.amount(came))
        return True

    def used_again(self, used: str, rig: str, stops: Sequence[StopFacts]) -> None:
        """What was used again here, where some of it was other stops' water: it comes from outside."""
        came = _sum([stop.used_again for stop in stops])
        if not _draws_nothing(came):
            self.node(f"again {rig}", "supply", self.named("water.used_again", rig, came), self.amount(came))
            self.flow(f"again {rig}", used, self.amount(came))

    def from_tank(self, captured: str, ends: Sequence[parts.End]) -> None:
        """The ends of captured water by their places: readings and shares."""
        by_end: dict[str, list[parts.End]] = {}
        for end in ends:
            draw = self.source.draws.get((end.load, end.line))
            by_end.setdefault(f"{end.way} {draw.place if draw else ''}".strip(), []).append(end)
        for id_, found in by_end.items():
            cell, _ = self.sum_cell(found)
            here = self.reached.setdefault(id_, [])
            here += found
            self.end_node(id_, here)
            self.flow(captured, id_, cell)

    def untold(self, captured: str, stops: Sequence[StopFacts]) -> None:
        """The ends of which nobody can say how much was these stops' water."""
        for one in parts.untold(self.source, stops):
            id_ = f"untold {one.draw.way} {one.draw.place}"
            cell = Cell(self.words("path.part_unknown"))
            self.node(id_, _end_kind(one.draw.way), self.draw_name(one.draw.way, one.draw.place), cell)
            self.flow(captured, id_, cell)

    def end_node(self, id_: str, found: list[parts.End]) -> None:
        cell, worked_out = self.sum_cell(found)
        draw = self.source.draws.get((found[0].load, found[0].line))
        label = self.draw_name(found[0].way, draw.place if draw else "")
        if worked_out:
            label = self.words("path.mark.worked_out", label=label)
        self.nodes[id_] = WaterNode(id_, _end_kind(found[0].way), label, cell)

    def past_tank(self, used: str, id_: str, figures: Sequence[Figure]) -> None:
        """An end that water reached without the tank; left out where nothing went that way."""
        figure = _sum(figures)
        if _draws_nothing(figure):
            return
        cell = self.amount(figure)
        self.node(id_, "away", self.named(f"path.{id_}", "", figure), cell)
        self.flow(used, id_, cell)

    def sum_cell(self, found: list[parts.End]) -> tuple[Cell, bool]:
        """Their sum, and whether it is worked out."""
        amount = parts.sum_of(found)
        if isinstance(amount, int):
            return share_cell(amount, self.source.unit, self.words, said=False), True
        return bare_cell(amount.figure, self.source.unit, self.words), False

    def draw_name(self, way: str, place: str) -> str:
        return self.source.place_text(place, kind_too=False) if way == "handed over" else self.words(f"way.{way}")

    def named(self, key: str, rig: str, figure: Figure) -> str:
        label = self.words(key)
        if rig:
            label = f"{label}, {rig}"
        key = mark(figure) if isinstance(figure, Volume) else ""
        return self.words(f"path.{key}", label=label) if key else label

    def amount(self, figure: Figure) -> Cell:
        return bare_cell(figure, self.source.unit, self.words)

    def node(self, id_: str, kind: NodeKind, label: str, cell: Cell) -> None:
        self.nodes.setdefault(id_, WaterNode(id_, kind, label, cell))

    def flow(self, a: str, b: str, cell: Cell) -> None:
        self.flows.append(WaterFlow(a, b, cell))


def _end_kind(way: str) -> NodeKind:
    kinds: dict[str, NodeKind] = {"handed over": "place", "aboard": "aboard", "moved": "aboard", UNNAMED: "unexplained"}
    return kinds.get(way, "away")


def _draws_nothing(figure: Figure) -> bool:
    """A plain zero, or a question that does not arise."""
    return figure.kind == "not applicable" if isinstance(figure, Unknown) else figure.best == 0


def _sum(figures: Sequence[Figure]) -> Figure:
    return total_of(figures, skip_not_applicable=True)
