"""The laws of the calculator, over random nights of which many hold something late, partial, unread or corrected."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Sequence
from copy import deepcopy
from dataclasses import replace
from fractions import Fraction
from random import Random
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from compliance.records import kinds
from compliance.records.envelope import Record
from compliance.records.state import State, gather
from compliance.water.fold import calculate
from compliance.water.mixing import Load, Taken
from compliance.water.results import EARLIER, UNNAMED, LoadFacts, Night
from compliance.water.rig import RigWater
from compliance.water.stopfacts import SHARE
from compliance.water.timeline import Draw, Put, Work
from compliance.water.volume import Figure, Unknown, Volume
from tests.water.histories import REGISTERS, History, history, records_of, renumbered, troubles
from tests.water.telling import figures, hundredths_of, told, uncut, waters

EXAMPLES = 200
FEWER = 60
"""For laws that work a history out several times."""
MORE = int(os.environ.get("MORE_HISTORIES", "1"))
"""How many times as many in a long run, which draws others each time."""
NO_CHECKS = list(HealthCheck)
NEAR = Fraction(2)
"""Hundredths between what an owner gave and its exact share; see test_shares for how this was measured."""

HISTORIES = st.builds(history, st.integers(0, 2**32 - 1), st.integers(1, 6), wild=st.booleans())
Law = Callable[[History], None]


def hold(law: Law, examples: int = EXAMPLES) -> None:
    """The law holds for so many random histories, of which at least a fifth are troubled, in all of four ways."""
    seen: list[set[str]] = []

    @settings(max_examples=examples * MORE, deadline=None, derandomize=MORE == 1, suppress_health_check=NO_CHECKS)
    @given(HISTORIES)
    def every(one: History) -> None:
        seen.append(troubles(one.records))
        law(one)

    every()
    assert len(seen) >= examples
    assert sum(bool(trouble) for trouble in seen) >= len(seen) / 5
    assert set().union(*seen) == {"late", "partial", "unread", "corrected"}


def test_troubled_nights_leave_the_laws_something_to_judge() -> None:
    """A law that only speaks of known figures is empty where trouble makes all of them unknown.

    Each kind of trouble alone is in a tenth of the histories; of those with any, half hold a closed interval with
    work, a load of several owners that is divided to its end, and a run whose remainder is known.
    """
    seen: list[set[str]] = []
    judged: Counter[str] = Counter()

    def law(one: History) -> None:
        trouble = troubles(one.records)
        seen.append(trouble)
        if trouble:
            state = one.state
            rigs = waters(state)
            loads = [(rig, load) for rig in rigs for load in rig.loads]
            spans = [span for rig in rigs for worked in rig.tanks.values() for span in worked.spans]
            remainders = [hundredths_of(run.not_explained) for run in calculate(state).runs.values()]
            judged["interval"] += any(span.works and is_known(span) for span in spans)
            judged["load"] += any(
                len({work.part.stop for work in load.works}) > 1 and load.taken and all_is_divided(rig, load)
                for rig, load in loads
            )
            judged["run"] += any(left is not None for left in remainders)

    hold(law, FEWER)
    for kind in ("late", "partial", "unread", "corrected"):
        assert sum(kind in trouble for trouble in seen) >= len(seen) / 10, kind
    troubled = sum(bool(trouble) for trouble in seen)
    assert all(judged[what] >= troubled / 2 for what in ("interval", "load", "run")), (judged, troubled)


def is_known(span: Any) -> bool:
    """Whether what an interval took up is known and stands between two levels."""
    return span.captured is not None and all(
        figure is not None and hundredths_of(figure) is not None
        for figure in (span.before, span.captured.figure, span.level_after)
    )


# ---- conservation ---------------------------------------------------------------------------------------------


def test_no_water_is_lost_or_made_to_the_last_hundredth() -> None:
    """Per interval, per load, per owner and per run, with everything that is known."""

    def law(one: History) -> None:
        state = one.state
        night = calculate(state)
        for rig in waters(state):
            for worked in rig.tanks.values():
                for span in worked.spans:
                    intervals_conserve(span)
            for load in rig.loads:
                owners_conserve(rig, load)
        for facts in night.loads.values():
            sides_agree(facts)
        stops_are_followed(night)
        for run in night.runs.values():
            lines = [(line.sign, hundredths_of(line.known.figure)) for line in run.balance[:-1]]
            left = hundredths_of(run.not_explained)
            if left is not None:
                assert left == sum(sign * amount for sign, amount in lines if amount is not None)
                assert all(amount is not None for _, amount in lines)

    hold(law)


def intervals_conserve(span: Any) -> None:
    """Level before + captured + put in - drawn - not explained = level after."""
    captured = None if span.captured is None else span.captured.figure
    came = [span.before, *([] if captured is None else [captured]), *(put.known.figure for put in span.puts)]
    went = [*(draw.known.figure for draw in span.draws), span.unexplained, span.level_after]
    amounts = [[hundredths_of(figure) for figure in side] for side in (came, went)]
    if all(amount is not None for side in amounts for amount in side) and span.opened.record:
        into, out = (sum(amount for amount in side if amount is not None) for side in amounts)
        assert into == out, span


def owners_conserve(rig: RigWater, load: Load) -> None:
    """What each owner put in is what it gave and what it still has; all of it adds up to the draws."""
    worked = rig.tanks[load.tank]
    if not all_is_divided(rig, load):
        return
    went: dict[str, int] = {}
    for taken in load.taken:
        assert taken.parts is not None and all(amount >= 0 for amount in taken.parts.values())
        drawn = None if taken.draw is None else hundredths_of(taken.draw.known.figure)
        assert drawn is None or sum(taken.parts.values()) == drawn
        for owner, amount in taken.parts.items():
            went[owner] = went.get(owner, 0) + amount
    for owner, amount in (load.contents or {}).items():
        assert amount >= 0
        went[owner] = went.get(owner, 0) + amount
    for ref in {work.part.stop for work in load.works}:
        came = 0
        for i in load.spans:
            span, division = worked.spans[i], worked.divisions[i]
            for work, share in zip(span.works, division.shares or (), strict=True):
                came += share if work.part.stop == ref else 0
        came += moved_in(rig, load, ref)
        assert came == went.get(ref, 0), (load.name, ref)


def all_is_divided(rig: RigWater, load: Load) -> bool:
    """Whether it is known whose water a load was at every moment."""
    shares = [rig.tanks[load.tank].divisions[i].shares for i in load.spans]
    return not load.lost and None not in shares and all(one.parts is not None for one in load.taken)


def moved_in(rig: RigWater, load: Load, owner: str) -> int:
    """What a load received of one owner from other tanks."""
    taken = {id(one.draw): one for other in rig.loads for one in other.taken if one.draw is not None}
    parts = [taken[id(put.source)].parts or {} for put in load.puts if put.source is not None]
    return sum(part.get(owner, 0) for part in parts)


def sides_agree(load: LoadFacts) -> None:
    """Opening + captured + foreign + agent + moved in = outs + closing + not explained."""
    came = (load.opening, load.captured.figure, load.foreign, load.agent, load.moved_in)
    went = (load.handed_over, load.used_again, load.otherwise_out, load.closing, load.not_explained)
    sides = [[hundredths_of(figure) for figure in side] for side in (came, went)]
    if all(amount is not None for side in sides for amount in side):
        into, out = (sum(amount for amount in side if amount is not None) for side in sides)
        assert into == out, load.name
        if load.contents is not None:
            assert sum(load.contents.values()) == hundredths_of(load.closing)
    closing = hundredths_of(load.closing)
    assert closing is None or closing >= 0
    for interval in load.intervals:
        whole = hundredths_of(interval.captured.figure)
        if interval.shares is not None and interval.stops:
            assert sum(interval.shares.values()) == whole
            assert all(share >= 0 for share in interval.shares.values())


def stops_are_followed(night: Night) -> None:
    """The pieces of every stop add up to what was captured of it."""
    for run in night.runs.values():
        for stop in run.stops:
            captured = hundredths_of(stop.captured.figure)
            if stop.pieces is not None and captured is not None:
                assert sum(piece.amount for piece in stop.pieces) == captured, stop.ref
            if stop.pieces is not None:
                assert all(piece.amount > 0 for piece in stop.pieces)


def test_each_owners_part_is_close_to_its_exact_share() -> None:
    """The same mixing in fractions, event by event: nobody is ever further off than two hundredths."""

    def law(one: History) -> None:
        for rig in waters(one.state):
            taken = {id(one.draw): one for load in rig.loads for one in load.taken if one.draw is not None}
            for load in rig.loads:
                if all_is_divided(rig, load):
                    exact_mixing(rig, load, taken)

    hold(law, FEWER)


def exact_mixing(rig: RigWater, load: Load, taken: dict[int, Taken]) -> None:
    worked = rig.tanks[load.tank]
    inside: dict[str, Fraction] = {EARLIER: Fraction(hundredths_of(load.opening) or 0)}
    gave: dict[str, Fraction] = {}

    def draw(amount: Fraction) -> None:
        whole = sum(inside.values(), Fraction(0))
        for owner, has in inside.items():
            share = has * min(amount, whole) / whole if whole else Fraction(0)  # more than there is is nobody's
            inside[owner] -= share
            gave[owner] = gave.get(owner, Fraction(0)) + share

    def put(owner: str, amount: int) -> None:
        inside[owner] = inside.get(owner, Fraction(0)) + amount

    for i in load.spans:
        span, shares = worked.spans[i], list(worked.divisions[i].shares or ())
        for event in span.events:
            if isinstance(event, Work):
                put(event.part.stop, shares.pop(0))
            elif isinstance(event, Draw):
                drawn = hundredths_of(event.known.figure)
                draw(sum(inside.values(), Fraction(0)) if drawn is None else Fraction(drawn))
            elif event.source is None:
                put(event.owner, hundredths_of(event.known.figure) or 0)
            else:
                for owner, part in (taken[id(event.source)].parts or {}).items():
                    put(owner, part)
        level = None if span.level_after is None else hundredths_of(span.level_after)
        unread = any(isinstance(figure, Unknown) for figure in (load.opening, *(p.known.figure for p in load.puts)))
        if level is not None and not (unread and level):
            missing: Fraction = sum(inside.values(), Fraction(0)) - level
            if missing > 0:
                draw(missing)
            else:
                put(UNNAMED, int(-missing))
    for owner, amount in gave.items():
        if ".s" in owner:  # a stop; of the others some may be unread
            given = sum((one.parts or {}).get(owner, 0) for one in load.taken)
            assert abs(given - amount) <= NEAR, (load.name, owner)


# ---- order, windows ---------------------------------------------------------------------------------------------


def shuffled(records: Sequence[Record], rng: Random) -> tuple[Record, ...]:
    """The same records in another order of arrival; the registers stay before them."""
    first, rest = list(records[: len(REGISTERS) + 1]), list(records[len(REGISTERS) + 1 :])
    rng.shuffle(rest)
    return renumbered((*first, *rest))


def test_any_order_of_arrival_gives_the_same_figures() -> None:
    """Runs, corrections, completions, cancellations and tickets, in the order of the book and in three others."""

    def law(one: History) -> None:
        as_it_came = told(calculate(one.state))
        rng = Random(len(one.records))
        for _ in range(3):
            assert told(calculate(gather(shuffled(one.records, rng)))) == as_it_came

    hold(law, FEWER)


def test_the_history_of_a_rig_comes_out_alike_cut_and_in_one_piece() -> None:
    """Where every tank was seen empty nothing is carried over: runs and loads, cut there and with nothing cut."""

    def law(one: History) -> None:
        whole = calculate(one.state)
        runs, loads = uncut(one.state)
        assert whole.loads == loads
        assert {run.record: whole.runs[run.record] for run in one.state.runs if run.cancelled is None} == runs

    hold(law, FEWER)


# ---- unknown is not zero ------------------------------------------------------------------------------------------


def measures(records: Sequence[Record]) -> list[tuple[int, str, str]]:
    """(which record, line number or '', field) of every amount that a run gives.

    Not of sludge, which is no water until somebody measures it, and not of a run at which nobody worked.
    """
    found = []
    for i, record in enumerate(records):
        if record.kind == kinds.RUN:
            if any(line["line"] == "stop" and "not_worked" not in line["fields"] for line in record.payload["lines"]):
                found += [(i, "", name) for name in ("used", "recovered") if name in record.payload["fields"]]
            for line in record.payload["lines"]:
                if line["line"] != "solids":
                    found += [(i, line["n"], n) for n in ("amount", "used", "recovered") if n in line["fields"]]
    return found


def with_value(records: Sequence[Record], spot: tuple[int, str, str], value: Any) -> State:
    """The book with one value replaced; None takes it away."""
    i, n, name = spot
    payload = deepcopy(dict(records[i].payload))
    here = payload["fields"] if n == "" else next(line for line in payload["lines"] if line["n"] == n)["fields"]
    if value is None:
        del here[name]
    else:
        here[name] = value
    return gather([*records[:i], replace(records[i], payload=payload), *records[i + 1 :]])


def saying(value: Any, n: int) -> Any:
    """The same measure saying n: nothing, or little."""
    if not isinstance(value, dict):
        return f"{n} gal"
    match value["method"]:
        case "meter":
            return {**value, "start": "1000", "end": str(1000 + n)}
        case "mark":
            return {**value, "before": "10 gal", "after": f"{10 + n} gal"}
        case "weight":
            return {**value, "tare": "9000 lb", "gross": f"{9000 + 8 * n} lb"}
        case "time":
            return {**value, "minutes": f"{n} min"}
        case "ticket":
            return {**value, "amount": f"{n} gal"}
        case _:
            return {**value, "times": str(n)}


def value_at(records: Sequence[Record], spot: tuple[int, str, str]) -> Any:
    i, n, name = spot
    payload = records[i].payload
    here = payload["fields"] if n == "" else next(line for line in payload["lines"] if line["n"] == n)["fields"]
    return here[name]


def bounds(figure: Figure | None) -> Any:
    return (figure.low, figure.high) if isinstance(figure, Volume) else figure


def test_an_amount_that_was_not_read_is_never_taken_for_nothing() -> None:
    """With 'not read' in its place, or nothing at all, no figure that depends on it comes out as with a zero there.

    It depends on it when it is another one with the amount as read, with nothing and with little. Where levels tell
    that the amount was nothing, that is a reading. Worked-out shares, for which it is only a weight, are left out.
    """

    def law(one: History) -> None:
        spots = measures(one.records)
        rng = Random(len(spots))
        for spot in rng.sample(spots, min(2, len(spots))):
            as_read = figures(calculate(one.state))
            value = value_at(one.records, spot)
            with_zero, with_little = (
                figures(calculate(with_value(one.records, spot, saying(value, n)))) for n in (0, 1)
            )
            depends = {
                name
                for name, figure in with_zero.items()
                if isinstance(figure, Volume)
                and SHARE not in figure.unstated
                and bounds(figure) not in (bounds(as_read.get(name)), bounds(with_little.get(name)))
            }
            for unread in ("not read", None):
                state = with_value(one.records, spot, unread)
                if not tells_nothing(state):
                    found = figures(calculate(state))
                    alike = [n for n in depends & found.keys() if bounds(found[n]) == bounds(with_zero[n])]
                    assert not alike, (spot, unread)

    hold(law)


def tells_nothing(state: State) -> bool:
    """Levels tell of some amount that it was nothing."""
    return any(
        isinstance(event, Draw | Put) and event.known.how.method == "levels" and hundredths_of(event.known.figure) == 0
        for rig in waters(state)
        for event in rig.timeline.events
    )


# ---- one meter ----------------------------------------------------------------------------------------------------


def with_accuracy(records: Sequence[Record], name: str, accuracy: str) -> State:
    """The book with another stated accuracy of one instrument or tank."""
    return gather(
        replace(r, payload={**r.payload, "fields": {**r.payload["fields"], "accuracy": accuracy}})
        if r.kind == kinds.REGISTER and r.payload["name"] == name
        else r
        for r in records
    )


def test_the_accuracy_of_one_instrument_changes_the_doubt_of_what_it_measured_and_of_nothing_else() -> None:
    """Every instrument and tank in turn: the figures stay, and the ± changes exactly where its contribution stands."""

    def law(one: History) -> None:
        before = figures(calculate(one.state))
        for name in ("Mule supply", "Mule transfer", "Sandpiper flow", "bucket", "yard scale", "Grey Mule recovery"):
            after = figures(calculate(with_accuracy(one.records, name, "7 %")))
            assert before.keys() == after.keys()
            for figure, was in before.items():
                now = after[figure]
                if isinstance(was, Unknown) or isinstance(now, Unknown):
                    assert was == now
                    continue
                assert (was.low, was.high, was.unstated) == (now.low, now.high, now.unstated)
                assert (was.parts != now.parts) == (f"cal:{name}" in was.parts), (name, figure)

    hold(law, FEWER)


# ---- twice, and not at all ------------------------------------------------------------------------------------------


def test_a_reading_entered_twice_counts_once() -> None:
    """The same line once more below itself changes no figure."""

    def law(one: History) -> None:
        changed = {(r.payload["run"], r.payload["line"]) for r in one.records if "field" in r.payload}
        readings = [
            (i, k)
            for i, record in enumerate(one.records)
            if record.kind == kinds.RUN
            for k, line in enumerate(record.payload["lines"])
            if line["line"] in ("reading", "tank full") and (record.id, line["n"]) not in changed
        ]
        once = figures(calculate(one.state))
        rng = Random(len(readings))
        for i, k in rng.sample(readings, min(3, len(readings))):
            record = one.records[i]
            lines = list(record.payload["lines"])
            lines.insert(k + 1, {**lines[k], "n": f"{lines[k]['n']}.0"})
            twice = gather(
                [*one.records[:i], replace(record, payload={**record.payload, "lines": lines}), *one.records[i + 1 :]]
            )
            assert figures(calculate(twice)) == once

    hold(law, FEWER)


def test_a_cancelled_run_carries_no_water() -> None:
    """A run that was cancelled is named and empty, and everything else is as if it had never been handed in."""

    def law(one: History) -> None:
        runs = [record for record in one.records if record.kind == kinds.RUN]
        gone = Random(len(runs)).choice(runs)
        cancel = replace(
            gone, id="c" * 32, kind=kinds.CANCEL, payload={"record": gone.id, "why": "handed in twice", "who": "Dana"}
        )
        cancelled = calculate(gather(renumbered((*one.records, cancel))))
        without = calculate(gather(renumbered(record for record in one.records if record is not gone)))
        empty = cancelled.runs[gone.id]
        assert empty.cancelled and not empty.stops and not empty.balance
        rest = replace(cancelled, runs={record: run for record, run in cancelled.runs.items() if record != gone.id})
        assert told(rest) == told(without)

    hold(law, FEWER)


def test_a_book_without_nights_says_nothing() -> None:
    """Registers alone."""
    night = calculate(gather(records_of()))
    assert night == Night({}, {}, ())
