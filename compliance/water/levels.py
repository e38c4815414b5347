"""What stood in a tank when each run began and when it ended, in one pass over its intervals."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from compliance.water.intervals import Span
from compliance.water.timeline import Draw, Put, Work
from compliance.water.volume import Figure, Unknown

_OPEN = Unknown("the tank was not read at the end of the run", "not recorded yet")


class Level(NamedTuple):
    """What stood in a tank. read: by a look; else it is what the figures of the nights leave in it."""

    figure: Figure
    read: bool = True


def levels(records: Sequence[str], spans: Sequence[Span]) -> Mapping[str, tuple[Level, Level]]:
    """Run record -> the levels at its beginning and its end. records: runs in order.

    A look that comes before anything else of a run is its beginning, so that what changed over the idle hours stands
    between the runs and in neither. Runs before the first that did anything with the tank are left out.
    """
    order = {record: i for i, record in enumerate(records)}
    found: dict[str, tuple[Level, Level]] = {}
    if not spans:
        return found
    level = Level(spans[0].before)
    at = 0
    first = _first(spans[0], order)
    for i, record in enumerate(records):
        before = level
        begun = False
        while at < len(spans) and order.get(spans[at].closed.record, len(order)) <= i:
            span = spans[at]
            level = level if span.level_after is None else Level(span.level_after, span.after is not None)
            if not begun and not any(run_of(event) == record for event in span.events):
                before = level
            begun = True
            at += 1
        if at < len(spans) and spans[at].events and order[run_of(spans[at].events[0])] <= i:
            over = order[run_of(spans[at].events[-1])] > i
            level = Level(_OPEN if over or spans[at].after is not None else _told(spans[at]), read=False)
        if i >= first:
            found[record] = (before, level)
    return found


def _first(span: Span, order: Mapping[str, int]) -> int:
    """The run that first did anything with the tank; a tank that was seen empty before has been used already."""
    if span.opened.record:
        return 0
    return order[run_of(span.events[0]) if span.events else span.closed.record]


def _told(span: Span) -> Figure:
    """The level of an interval that nothing has closed yet, as far as its own figures tell."""
    return _OPEN if span.level_after is None else span.level_after


def run_of(event: Work | Draw | Put) -> str:
    """The record of the run in which something happened."""
    return event.part.at.record if isinstance(event, Work) else event.at.record
