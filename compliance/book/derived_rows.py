"""Rows of the query tables from what the records say and what the calculator makes of it: pure."""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any, Final

from compliance.book.derived_tables import EXACT, MEASURED, NONE_RECORDED, STATED, WORKED_OUT
from compliance.records.answer import NOT_YET, without_value
from compliance.records.fields import GROUPS, WELCOME, is_place
from compliance.records.quantity import stored
from compliance.records.state import State
from compliance.records.ticketing import papers
from compliance.records.views import Fields, LineView, OldRow, RunView
from compliance.water.methods import Gauges, Who
from compliance.water.ratio import NoRatio, Ratio
from compliance.water.results import Line, LoadFacts, Night, RunFacts, StopFacts
from compliance.water.volume import SHARES, Figure, Unknown, Volume, from_hundredths, hundredths, total_of

Row = dict[str, Any]
Rows = dict[str, list[Row]]

_ASKED: Final = {(group, row.name): row.need != WELCOME for group, rows in GROUPS.items() for row in rows}


def amount(name: str, figure: Figure) -> Row:
    """The three columns of an amount."""
    if isinstance(figure, Unknown):
        return _columns(name, None, None, figure.kind)
    best = figure.best
    if best is None:
        return _columns(name, None, None, _bound(figure))
    expanded = figure.expanded()
    pm = None if expanded is None else hundredths(expanded)
    if figure.unstated:
        state = WORKED_OUT if figure.unstated & SHARES else STATED
    else:
        state = MEASURED if figure.parts else EXACT
    return _columns(name, hundredths(best), pm, state)


def _columns(name: str, value: int | None, pm: int | None, state: str) -> Row:
    return {name: value, f"{name}_pm": pm, f"{name}_state": state}


def _bound(figure: Volume) -> str:
    if figure.high is None:
        return f"at least {_two_places(figure.low)}" if figure.low is not None else "any amount"
    if figure.low is None:
        return f"at most {_two_places(figure.high)}"
    return f"between {_two_places(figure.low)} and {_two_places(figure.high)}"


def _two_places(x: Decimal) -> str:
    return str(from_hundredths(hundredths(x)))


def _some(name: str, figures: Sequence[Figure]) -> Row:
    """The sum of what was written down one by one; where nothing was, that is said, and it is no zero."""
    return amount(name, total_of(figures)) if figures else _columns(name, None, None, NONE_RECORDED)


def quantity(name: str, value: Any, unit: str) -> Row:
    """The three columns of a quantity as somebody stated it."""
    if without_value(value) is not None:
        return _columns(name, None, None, str(without_value(value)))
    there = stored(str(value)).in_unit(unit)
    return amount(name, Volume(there.low, there.high, unstated=frozenset({"stated"})))


def answer(group: str, fields: Fields, name: str) -> str:
    """A field as text: what stands there, 'not recorded yet' where it is asked for, '' where it is not."""
    value = fields.get(name)
    if value is None:
        return NOT_YET if _ASKED[group, name] else ""
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False, sort_keys=True)


def ratio(found: Ratio | NoRatio) -> Row:
    """The columns of a recovery ratio."""
    row: Row = {"ratio": None, "ratio_low": None, "ratio_high": None}
    if isinstance(found, NoRatio):
        return {**row, "ratio_state": f"none: {found.why}"}
    row |= {"ratio_low": _ten_thousandths(found.low), "ratio_high": _ten_thousandths(found.high)}
    if found.kind in ("measured", "stated", "worked out"):
        return {**row, "ratio": _ten_thousandths(found.value), "ratio_state": found.kind}
    if found.value is None:
        return {**row, "ratio_state": found.kind}
    return {**row, "ratio_state": f"{found.kind} {found.value.quantize(Decimal('0.0001'))}"}


def _ten_thousandths(value: Decimal | None) -> int | None:
    return None if value is None else int(value.scaleb(4).to_integral_value())


# ---- figures of runs ---------------------------------------------------------------------------------------------


def of_runs(state: State, night: Night, wanted: Collection[str]) -> Rows:
    """The rows of these runs, and of the loads that were opened in them. `night` may hold more than they."""
    maker = _Maker(state, night)
    rows: Rows = {name: [] for name in ("runs", "stops", "loads", "handovers", "pieces", "escapes", "changes")}
    for view in state.runs:
        if view.record in wanted:
            maker.run(view, rows)
    for load in night.loads.values():
        if load.opened.record in wanted:
            rows["loads"].append(maker.load(load))
    return rows


class _Maker:
    def __init__(self, state: State, night: Night) -> None:
        self.state = state
        self.night = night
        self.gauges = Gauges(state.registers, state.unit)
        self.views = {view.record: view for view in state.runs}
        self.draws = {
            draw.line: (load, draw) for load in night.loads.values() for draw in load.draws if draw.way == "handed over"
        }
        self.places = {draw.line: draw.place for load in night.loads.values() for draw in load.draws}

    def run(self, view: RunView, rows: Rows) -> None:
        facts = self.night.runs[view.record]
        rows["runs"].append(self._run(view, facts))
        rows["changes"] += self._changes(view)
        if facts.cancelled:
            return
        for stop in facts.stops:
            rows["stops"].append(self._stop(view, facts, stop))
            rows["pieces"] += self._pieces(view, stop)
        rows["handovers"] += self._handovers(view)
        rows["escapes"] += self._escapes(view, facts)

    def _run(self, view: RunView, facts: RunFacts) -> Row:
        row: Row = {
            "run": view.ref, "record": view.record, "rig": facts.rig, "lead": facts.lead, "date": view.day,
            "started": answer("run", view.fields, "start"), "ended": answer("run", view.fields, "end"),
            "water_at": answer("run", view.fields, "where"), "off": answer("run", view.fields, "cancelled"),
            "cancelled": view.cancelled or "", "received": view.received, "who": view.who,
        }  # fmt: skip
        for name in ("crew", "supply", "got_away", "drains", "agent_use", "filters", "rain", "ticket", "remark"):
            row[name] = answer("run", view.fields, name)
        row["stops"] = sum(stop.worked for stop in facts.stops)
        names = ("aboard_before", "aboard_after", "not_explained", "used_again", "applied")
        if facts.cancelled:
            nothing = Unknown("the run was cancelled", "not applicable")
            for name in (*names, "used", "captured", "handed_over", "led_away", "escaped", "let_go"):
                row |= amount(name, nothing)
        else:
            for name in names:
                row |= amount(name, getattr(facts, name))
            row |= amount("used", facts.used.figure) | amount("captured", facts.captured.figure)
            for name, label in (("handed_over", "handed over"), ("led_away", "led away"), ("escaped", "got away")):
                row |= _some(name, [line.known.figure for line in facts.balance if line.label == label])
            row |= _some("let_go", [facts.let_go] if any(line.kind == "let go" for line in view.lines) else [])
        low, high = facts.film or (None, None)
        return row | ratio(facts.ratio) | {"film_low": _film(low), "film_high": _film(high)}

    def _stop(self, view: RunView, facts: RunFacts, stop: StopFacts) -> Row:
        lines = [line for at in stop.lines if (line := view.line(at.line)) is not None]
        first: Row = {}
        for line in lines:
            for name, value in line.fields.items():
                first.setdefault(name, value)
        last: Row = {name: value for line in lines for name, value in line.fields.items()}
        row: Row = {
            "stop": stop.ref, "run": view.ref, "record": view.record, "rig": facts.rig, "date": view.day,
            "job": stop.job, "client": stop.client or answer("stop", first, "client"), "site": stop.site,
            "surface": answer("stop", first, "surface"), "not_worked": stop.not_worked,
            "arrived": answer("stop", first, "arrived"), "departed": answer("stop", last, "left"),
            "used_basis": stop.used_basis, "captured_basis": stop.captured_basis, "why": stop.why,
            "number": stop.number, "worked": int(stop.worked), "planned": int(stop.planned),
        }  # fmt: skip
        row |= amount("area", stop.area) | amount("used", stop.used.figure) | amount("used_again", stop.used_again)
        row |= amount("captured", stop.captured.figure) | amount("not_explained", stop.not_explained)
        led = [stop.led_away] if _nonzero(stop.led_away) else []
        escaped = [stop.escaped] if stop.escapes and _nonzero(stop.escaped) else []
        return row | _some("led_away", led) | _some("escaped", escaped)

    def _pieces(self, view: RunView, stop: StopFacts) -> Iterator[Row]:
        row: Row = {"stop": stop.ref, "run": view.ref, "record": view.record}
        if stop.pieces is None:
            nowhere: Row = {"way": "not known", "load": "", "to_record": "", "to_run": "", "to_line": "", "place": ""}
            yield row | nowhere | _columns("amount", None, None, f"not known: {stop.why}" if stop.why else "not known")
            return
        for piece in stop.pieces:
            to = self.views.get(piece.line.record)
            yield row | {
                "way": piece.way, "load": piece.load, "to_record": piece.line.record, "to_run": to.ref if to else "",
                "to_line": piece.line.line, "place": self.places.get(piece.line, ""),
            } | _columns("amount", piece.amount, None, WORKED_OUT)  # fmt: skip

    def _handovers(self, view: RunView) -> Iterator[Row]:
        lines = [line for line in view.lines if line.kind in ("hand over", "led away")]
        for line in lines:
            yield self._handover(view, line, str(line.get("place")))
        if is_place(view.get("where")) and not any(line.kind == "hand over" for line in lines):
            yield self._handover(view, LineView("", "hand over", {}), str(view.get("where")))

    def _handover(self, view: RunView, line: LineView, place: str) -> Row:
        at = Line(view.record, line.n)
        load, draw = self.draws.get(at, (None, None))
        when = str(line.get("at") or (view.get("end") if not line.n else "") or "")
        entry = self.state.registers.find("place", place) or {}
        tickets = self.state.tickets_of(view.record, line.n)
        row: Row = {
            "record": view.record, "line": line.n, "run": view.ref, "load": load.name if load else "",
            "way": "led away" if line.kind == "led away" else "handed over",
            "date": when[:10] if when[:1].isdigit() else view.day, "at": when or NOT_YET,
            "place": self.state.registers.name("place", place), "place_kind": answer("place", entry, "kind"),
            "handed_over_by": str(line.get("by") or ""),
            "tickets": ", ".join(str(t.fields.get("number")) for t in tickets),
        }  # fmt: skip
        for name in ("connection", "permission", "received_by", "ticket", "refused", "ph", "ph_method"):
            known = (line.kind, name) in _ASKED
            row[name] = answer(line.kind, line.fields, name) if known else ""
        figure = (
            draw.known.figure if draw else self.gauges.known(line.get("amount"), at, Who(), what="our volume").figure
        )
        row |= amount("amount", figure)
        own = line.get("ticket")
        said = papers(view.get("ticket") if own is None else own, line.get("accepted"), tickets)
        if any(one.handovers > 1 for one in said):
            return (
                row
                | _columns("accepted", None, None, "on a ticket for several handovers")
                | {"accepted_from": "ticket"}
            )
        row["accepted_from"] = "ticket" if any(one.record for one in said) else "line" if said[0].accepted else ""
        return row | _accepted([one.accepted for one in said], self.state.unit)

    def _escapes(self, view: RunView, facts: RunFacts) -> Iterator[Row]:
        of_stop = {at.line: stop.ref for stop in facts.stops for at in stop.escapes}
        for line in view.lines:
            if line.kind == "escape":
                at = Line(view.record, line.n)
                row: Row = {"record": view.record, "line": line.n, "run": view.ref, "stop": of_stop.get(line.n, "")}
                row |= {
                    n: answer("escape", line.fields, n)
                    for n in ("what", "reached", "from_tank", "at", "stopped", "told")
                }
                yield row | amount(
                    "amount", self.gauges.known(line.get("amount"), at, Who(), what="what got away").figure
                )

    def _changes(self, view: RunView) -> Iterator[Row]:
        for change in view.changes:
            yield {
                "record": change.record, "run": view.ref, "run_record": view.record, "line": change.line,
                "field": change.field, "was": NOT_YET if change.was is None else _text(change.was),
                "now": _text(change.now), "kind": change.kind, "reason": change.reason, "why": change.why,
                "who": change.who, "received": change.received,
            }  # fmt: skip

    def load(self, load: LoadFacts) -> Row:
        opened, closed = self.views[load.opened.record], load.closed and self.views.get(load.closed.record)
        row: Row = {
            "load": load.name, "rig": self.state.registers.name("rig", str(opened.get("rig"))), "tank": load.tank,
            "record": opened.record, "opened_run": opened.ref, "opened_line": load.opened.line, "opened_on": opened.day,
            "closed_run": closed.ref if closed else "", "closed_line": load.closed.line if load.closed else "",
            "closed_on": closed.day if closed else "", "why": load.why, "divided": int(load.divided),
            "stops": len(load.stops),
        }  # fmt: skip
        for name in ("opening", "agent", "handed_over", "used_again", "otherwise_out", "closing", "not_explained"):
            row |= amount(name, getattr(load, name))
        return (
            row | amount("captured", load.captured.figure) | amount("foreign_water", load.foreign) | ratio(load.ratio)
        )


def _film(text: str | None) -> int | None:
    return None if text is None else hundredths(Decimal(text))


def _nonzero(figure: Figure) -> bool:
    """Whether anything was written down at all: a sum of nothing is an exact zero."""
    return isinstance(figure, Unknown) or bool(figure.parts or figure.unstated) or figure.best != 0


def _accepted(given: Sequence[Any], unit: str) -> Row:
    """What several tickets of one handover say together."""
    if len(given) == 1:
        return quantity("accepted", given[0], unit)
    figures: list[Figure] = []
    for value in given:
        kind = without_value(value)
        if kind is not None:
            return _columns("accepted", None, None, kind)
        there = stored(str(value)).in_unit(unit)
        figures.append(Volume(there.low, there.high, unstated=frozenset({"stated"})))
    return amount("accepted", total_of(figures))


def _text(value: Any) -> str:
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False, sort_keys=True)


# ---- what stands by itself ---------------------------------------------------------------------------------------


def of_papers(state: State, ref: Callable[[str], str]) -> Rows:
    """The rows that need no figures: tickets, files, pages, acceptances, registers. ref: run record -> its ref, ''."""
    rows: Rows = {"tickets": [], "ticket_handovers": []}
    for ticket in state.tickets:
        got = ticket.fields
        row: Row = {"record": ticket.record, "ticket": answer("ticket", got, "number"), "received": ticket.received}
        row |= {name: answer("ticket", got, name) for name in ("place", "date", "received_by", "refused", "remark")}
        rows["tickets"].append(row | quantity("accepted", got.get("accepted"), state.unit))
        for run, line in dict.fromkeys(ticket.handovers):
            rows["ticket_handovers"].append(
                {"record": ticket.record, "ticket": row["ticket"], "run_record": run, "run": ref(run), "line": line}
            )
    rows["attachments"] = [
        {"record": a.record, "about": a.about, "run": ref(a.about), "line": a.line, "name": a.name,
         "sha256": a.sha256, "media": a.media, "what": a.what, "size": a.size}
        for a in state.attachments
    ]  # fmt: skip
    rows["issued"] = [
        {"record": p.record, "number": p.number, "page": p.page, "about": p.about, "date": p.date,
         "replaces": p.replaces, "root": p.root, "size": p.size}
        for p in state.issued
    ]  # fmt: skip
    rows["issued_figures"] = [
        {"record": p.record, "number": p.number, "figure": figure, "printed": str(printed)}
        for p in state.issued
        for figure, printed in p.figures.items()
    ]
    rows["acceptances"] = [
        {"record": a.record, "rule": a.rule, "about": a.about, "why": a.why, "until": a.until, "who": a.who}
        for a in state.acceptances
    ]
    rows["old_rows"] = [_old_row(row, state.unit) for row in state.old_rows]
    rows["registers"] = list(_registers(state))
    return rows


def _old_row(row: OldRow, unit: str) -> Row:
    return {
        "record": row.record, "date": row.day, "client": _text(row.get("client") or ""),
        "site": _text(row.get("site") or ""), "file": row.file, "sheet": row.sheet, "row": row.row,
        "fields": _text(row.fields), **quantity("used", row.get("used"), unit),
        **quantity("recovered", row.get("recovered"), unit),
    }  # fmt: skip


def _registers(state: State) -> Iterable[Row]:
    for register, entries in state.registers.entries.items():
        for key, fields in entries.items():
            same = state.registers.same.get((register, key))
            yield {
                "register": register, "name": str(fields["name"]), "same_as": _spelled(entries, same),
                "fields": _text({name: value for name, value in fields.items() if name != "name"}),
            }  # fmt: skip
    for (register, key), same in state.registers.same.items():
        if key not in state.registers.entries.get(register, {}):
            there = state.registers.entries.get(register, {})
            yield {"register": register, "name": key, "same_as": _spelled(there, same), "fields": "{}"}


def _spelled(entries: Mapping[str, Fields], key: str | None) -> str:
    return "" if key is None else str(entries[key]["name"]) if key in entries else key
