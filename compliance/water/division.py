"""Who gets which part of what an interval captured, and on what basis.

On a route night no honest volume of a single stop exists. What the interval captured is divided on the first basis
that every stop in it has: its own tank marks or fills, its metered use, its area, its time on site; else equally.
The result is 'worked out, not measured'. An unread dump in the middle of a stop leaves both sides undivided.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from compliance.water.intervals import Span
from compliance.water.results import Basis
from compliance.water.shares import divide
from compliance.water.timeline import Part
from compliance.water.volume import Figure, Unknown, Volume, hundredths

_MEASURED = ("meter", "mark", "fills", "time", "count", "weight")


@dataclass(frozen=True)
class Division:
    """How one interval was divided. shares: hundredths, one for each work in it in order; None with the reason why."""

    basis: Basis
    shares: tuple[int, ...] | None
    why: str = ""


def divisions(spans: Sequence[Span], metered: Mapping[str, Fraction]) -> list[Division]:
    """One division an interval. metered: stop ref -> its metered use, where the stop's own parts do not say."""
    torn = _torn_stops(spans)
    return [_division(span, torn, metered) for span in spans]


def _torn_stops(spans: Sequence[Span]) -> set[str]:
    """Stops with a part in an interval whose captured water is unknown: no basis reaches over that gap."""
    return {
        work.part.stop
        for span in spans
        if span.captured is not None and isinstance(span.captured.figure, Unknown)
        for work in span.works
    }


def _division(span: Span, torn: set[str], metered: Mapping[str, Fraction]) -> Division:
    parts = [work.part for work in span.works]
    if not parts or span.captured is None:
        return Division("not divided", () if not parts else None, "")
    figure = span.captured.figure
    if isinstance(figure, Unknown):
        return Division("not divided", None, f"what was captured is {figure.kind}")
    if figure.best is None:
        return Division("not divided", None, "what was captured is a bound, not a figure")
    amount = hundredths(figure.best)
    if amount < 0:
        return Division("not divided", None, "the readings give less than nothing captured")
    plain: Basis = "measured" if figure.expanded() is not None else "stated"
    if len({part.stop for part in parts}) == 1 and len(parts) == 1:
        return Division(plain, (amount,))
    if span.own:
        return Division(plain, tuple(_own(part.own_captured.figure) for part in parts))
    own = _weights([p.own_captured.figure if p.own_captured.how.method in _MEASURED else None for p in parts])
    if own is not None:
        return Division("own figures", tuple(divide(amount, own)))
    shared = [part.stop for part in parts if part.stop in torn]
    if shared:
        return Division("not divided", None, "a stop reaches over a dump that was not read")
    return _by_basis(parts, amount, metered)


def _by_basis(parts: Sequence[Part], amount: int, metered: Mapping[str, Fraction]) -> Division:
    several = {part.stop for part in parts if sum(p.stop == part.stop for p in parts) > 1}
    used = [_metered(part, metered, whole=part.stop not in several) for part in parts]
    candidates: tuple[tuple[Basis, Sequence[Fraction | None]], ...] = (
        ("metered use", used),
        ("area", [_fraction(part.area) for part in parts]),
        ("time", [part.minutes for part in parts]),
    )
    for basis, weights in candidates:
        found = [w for w in weights if w is not None]
        if len(found) == len(parts) and any(found):
            return Division(basis, tuple(divide(amount, found)))
    return Division("equal", tuple(divide(amount, [1] * len(parts))))


def _metered(part: Part, metered: Mapping[str, Fraction], *, whole: bool) -> Fraction | None:
    if part.own_used.how.method in _MEASURED:
        return _fraction(part.own_used.figure)
    return metered.get(part.stop) if whole else None


def _weights(figures: Sequence[Figure | None]) -> list[Fraction] | None:
    found = [_fraction(f) for f in figures if f is not None]
    weights = [w for w in found if w is not None]
    return weights if len(weights) == len(figures) and any(weights) else None


def _fraction(figure: Figure) -> Fraction | None:
    """An exact weight, None unless it is one figure that is not below zero."""
    if not isinstance(figure, Volume) or figure.best is None or figure.best < 0:
        return None
    return Fraction(figure.best)


def _own(figure: Figure) -> int:
    assert isinstance(figure, Volume) and figure.best is not None
    return hundredths(figure.best)
