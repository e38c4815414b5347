"""Who gets which part of what an interval captured, and on what basis.

On a route night no honest volume of a single stop exists. What the interval captured is divided on the first basis
that every stop in it has: its own tank marks or fills, its metered use, its area, its time on site; else equally.
The result is 'worked out, not measured'. A draw in between that took more than the basis gives the stops before it
shows that they brought at least so much: they are raised to it in proportion, and the stops after it have the rest. An
unread dump in the middle of a stop leaves both sides undivided.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from compliance.water.intervals import Span
from compliance.water.results import Basis, Known
from compliance.water.shares import divide
from compliance.water.timeline import Part, Put, Work
from compliance.water.volume import Unknown, does_not_apply, in_hundredths
from compliance.water.weights import Weight, area_given, area_of, complete, minutes_of, summed

_MEASURED = ("meter", "mark", "fills", "time", "count", "weight")


@dataclass(frozen=True, slots=True)
class Division:
    """How one interval was divided. shares: hundredths, one for each work in it in order; None with the reason why.

    raised: a draw took more than the basis gives the stops before it.
    """

    basis: Basis
    shares: tuple[int, ...] | None
    why: str = ""
    raised: bool = False


_NO_WORK = Division("not divided", ())
_TORN = Division("not divided", None, "a stop reaches over a dump that was not read")


@dataclass(frozen=True, slots=True)
class _Reach:
    """Which stops reach over what. torn: with a part in an interval that captured nobody knows how much. use, area:
    those whose figure on a line is that of the line, because all of the stop is in one interval or each of its lines
    has one.
    """

    torn: set[str]
    use: set[str]
    area: set[str]


def divisions(spans: Sequence[Span], metered: Mapping[str, int]) -> list[Division]:
    """One division an interval, in their order.

    metered: stop ref -> its metered use in hundredths of the book's unit, where the stop's own parts do not say.
    """
    reach = _reach(spans)
    return [_division(span, reach, metered) for span in spans]


def _reach(spans: Sequence[Span]) -> _Reach:
    torn: set[str] = set()
    parts: dict[str, list[Part]] = {}
    intervals: dict[str, int] = {}
    for span in spans:
        here = {work.part.stop for work in span.works}
        for ref in here:
            intervals[ref] = intervals.get(ref, 0) + 1
        for work in span.works:
            parts.setdefault(work.part.stop, []).append(work.part)
        if span.captured is not None and in_hundredths(span.captured.figure) is None:
            torn |= here
    one = {ref for ref, n in intervals.items() if n == 1}
    several = intervals.keys() - one
    use = {ref for ref in several if all(_measured(part.own_used) is not None for part in parts[ref])}
    area = {ref for ref in several if all(area_given(part.area) is not None for part in parts[ref])}
    return _Reach(torn, one | use, one | area)


def _division(span: Span, reach: _Reach, metered: Mapping[str, int]) -> Division:
    if not span.works:
        return _NO_WORK
    assert span.captured is not None
    figure = span.captured.figure
    amount = in_hundredths(figure)
    if isinstance(figure, Unknown):
        return Division("not divided", None, f"what was captured is {figure.kind}")
    plain: Basis = "stated" if figure.unstated else "measured"
    parts = [work.part for work in span.works]
    # what was captured between two looks at one stop is that stop's as it was read
    alone: Basis = plain if len({part.stop for part in parts}) == 1 else "not divided"
    if amount is None:
        return Division(alone, None, "what was captured is a bound, not a figure")
    if amount < 0:
        return Division(alone, None, "the readings give less than nothing captured")
    if len(parts) == 1:
        return Division(plain, (amount,))
    if span.own:
        return Division(plain, tuple(in_hundredths(part.own_captured.figure) or 0 for part in parts))
    of_stop: dict[str, list[Part]] = {}
    for part in parts:
        of_stop.setdefault(part.stop, []).append(part)
    if len(of_stop) == 1:
        return Division(plain, _in_turn(span, _within(parts, amount)))
    own = complete([summed([_measured(part.own_captured) for part in mine]) for mine in of_stop.values()])
    if own is None and not reach.torn.isdisjoint(of_stop):
        return _TORN
    basis, weights = _basis(of_stop, reach, metered) if own is None else ("own figures", own)
    dealt = {
        ref: _within(mine, share) for (ref, mine), share in zip(of_stop.items(), divide(amount, weights), strict=True)
    }
    by_basis = tuple(dealt[part.stop].pop(0) for part in parts)
    shares = _in_turn(span, by_basis)
    return Division(basis, shares, raised=shares != by_basis)


def _basis(
    of_stop: Mapping[str, Sequence[Part]], reach: _Reach, metered: Mapping[str, int]
) -> tuple[Basis, list[Weight]]:
    """The first basis that every stop has, and its weights."""

    def used(ref: str, mine: Sequence[Part]) -> Weight | None:
        own = summed([_measured(part.own_used) for part in mine if not does_not_apply(part.own_used.figure)])
        return (metered.get(ref) if own is None else own) if ref in reach.use else None

    def area(ref: str, mine: Sequence[Part]) -> Weight | None:
        return area_of(mine) if ref in reach.area else None

    def time(ref: str, mine: Sequence[Part]) -> Weight | None:
        return minutes_of(mine)

    candidates: tuple[tuple[Basis, Callable[[str, Sequence[Part]], Weight | None]], ...] = (
        ("metered use", used), ("area", area), ("time", time),
    )  # fmt: skip
    for basis, weight in candidates:
        found = complete([weight(ref, mine) for ref, mine in of_stop.items()])
        if found is not None:
            return basis, found
    return "equal parts", [1] * len(of_stop)


def _within(parts: Sequence[Part], share: int) -> list[int]:
    """The share of one stop on its lines: by what each used or how long it took, else equally."""
    if len(parts) == 1:
        return [share]
    used, time = complete([_measured(part.own_used) for part in parts]), complete([part.minutes for part in parts])
    return divide(share, used or time or [1] * len(parts))


def _in_turn(span: Span, shares: Sequence[int]) -> tuple[int, ...]:
    """Shares such that no draw takes what is not there yet, as far as there is enough in the interval."""
    held = in_hundredths(span.before)
    if held is None or not span.draws:
        return tuple(shares)
    dealt, i = list(shares), 0
    for event in span.events:
        if isinstance(event, Work):
            held, i = held + dealt[i], i + 1
            continue
        amount = in_hundredths(event.known.figure)
        if amount is None:
            break
        held += amount if isinstance(event, Put) else -amount
        lacking = min(-held, sum(dealt[i:]))
        if lacking > 0 and i > 0:
            more, less = divide(lacking, dealt[:i]), divide(lacking, dealt[i:])
            dealt = [a + b for a, b in zip(dealt[:i], more, strict=True)] + [
                a - b for a, b in zip(dealt[i:], less, strict=True)
            ]
            held += lacking
    return tuple(dealt)


def _measured(known: Known) -> Weight | None:
    """Hundredths of what an instrument of ours says, None for anything else and for less than nothing."""
    amount = in_hundredths(known.figure) if known.how.method in _MEASURED else None
    return None if amount is None or amount < 0 else amount
