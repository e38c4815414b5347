"""What stood in a tank when each run began and when it ended, in one pass over its intervals."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from compliance.water.intervals import Span
from compliance.water.timeline import Work
from compliance.water.volume import Figure, Unknown

_OPEN = Unknown("the tank was not read at the end of the run", "not recorded yet")


def levels(records: Sequence[str], spans: Sequence[Span]) -> Mapping[str, tuple[Figure, Figure]]:
    """Run record -> the levels at its beginning and its end. records: the rig's runs in order.

    A look that comes before anything else of a run is its beginning, so that what changed over the idle hours
    stands between the runs and in neither.
    """
    order = {record: i for i, record in enumerate(records)}
    found: dict[str, tuple[Figure, Figure]] = {}
    level: Figure = spans[0].before if spans else Unknown("the tank was never read", "not recorded yet")
    at = 0
    for i, record in enumerate(records):
        before = level
        begun = False
        while at < len(spans) and _closed(spans[at], order) <= i:
            span = spans[at]
            level = span.level_after if span.level_after is not None else level
            if not begun and not any(_run(event) == record for event in span.events):
                before = level
            begun = True
            at += 1
        busy = at < len(spans) and any(order[_run(event)] <= i for event in spans[at].events)
        if busy:
            level = _still_open(spans[at])
        found[record] = (before, level)
    return found


def _closed(span: Span, order: Mapping[str, int]) -> int:
    return order.get(span.closed.record, len(order))


def _still_open(span: Span) -> Figure:
    """The level of an interval that nothing has closed yet, as far as its own figures tell."""
    return span.level_after if span.after is None and span.level_after is not None else _OPEN


def _run(event: object) -> str:
    return event.part.at.record if isinstance(event, Work) else event.at.record  # type: ignore[attr-defined]
