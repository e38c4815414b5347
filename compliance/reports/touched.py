"""Which issued pages a late or corrected record touches, and what a summary says of an earlier one.

A page's figures stay as they were printed; when the records say something else now, the page is listed, for the owner.
No page names another client as the cause: a client reads which of its own figures are others now, and no more.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from compliance.records.state import State
from compliance.records.views import Issued
from compliance.reports.figures import LOAD, RESTATES, Figures, family
from compliance.reports.issue import MONTH, about_span, base_of, span_in, versions
from compliance.water.shown import pieces, shown
from compliance.water.versions import division_version
from compliance.water.volume import CONTEXT, COVERAGE, ONE, Volume


@dataclass(frozen=True)
class Touched:
    """An issued page whose printed figures differ from what the records say now. figures: name -> (printed, now)."""

    page: Issued
    figures: Mapping[str, tuple[str, str]]


def touched(figures: Figures) -> Sequence[Touched]:
    """The pages still in force whose printed figures differ from those of the records now, in the order of issue."""
    replaced = {one.replaces for one in figures.state.issued if one.replaces}
    found = [Touched(page, figures.differing(page)) for page in figures.state.issued if page.number not in replaced]
    return [one for one in found if one.figures]


@dataclass(frozen=True)
class Restated:
    """An earlier summary that the records no longer bear out. version: the page in force if it says what is so now.

    figure: what the page that restates it keeps, name and value, so that no later summary says it again.
    """

    page: Issued
    version: Issued | None
    figure: tuple[str, str]


def restated(figures: Figures, first: str, last: str, *, since: str = "") -> Sequence[Restated]:
    """What the summary of a span says of those that end before it: each as it was closed (else as it was last issued).

    One that a summary of another month told already, as it is now, is not told again. since: those that end before
    this day need no look (`looked_at_from`).
    """
    state, found = figures.state, []
    others = [one for one in summaries(state.issued) if one.about != about_span(first, last)]
    for about in dict.fromkeys(one.about for one in others if since <= span_in(one.about)[2] < first):
        page = _baseline(state, about)
        if _is_so(figures, page):
            continue
        figure = (f"{RESTATES}/{page.number}", figures.restated(page))
        if any(one.figures.get(figure[0]) == figure[1] for one in others):
            continue
        newest = versions(state, page.page, about)[-1]
        version = newest if newest is not page and _is_so(figures, newest) else None
        found.append(Restated(page, version, figure))
    return found


def _is_so(figures: Figures, page: Issued) -> bool:
    """Whether a page's own figures are those of now, whatever it says of still earlier ones."""
    return {family(name) for name in figures.differing(page)} <= {RESTATES}


def summaries(issued: Iterable[Issued]) -> Sequence[Issued]:
    """The owner's summaries, in any language and on any paper."""
    return [one for one in issued if base_of(one.page) == MONTH]


def looked_at_from(issued: Iterable[Issued], first: str, last: str, start: str) -> str:
    """From which day on the summary of a span has to look at earlier ones, at `start` or before it, whatever has come.

    Those that end before it were looked at by the summary of a later span than theirs, which told what it found; and
    the summaries of this very span told of none of them.
    """
    pages = summaries(issued)
    here = about_span(first, last)
    told = {number for one in pages if one.about == here for number in _restates(one)}
    for one in pages:
        _, begins, ends = span_in(one.about)
        dealt_with = any(ends < span_in(other.about)[1] for other in pages if other.about != here)
        if one.about != here and (ends >= start or one.number in told or not dealt_with):
            start = min(start, begins)
    return start


def told_up_to(issued: Iterable[Issued], first: str, last: str, start: str) -> int | None:
    """The size of the book up to which all summaries that end before a day are dealt with; None when there are none.

    Only what came behind it can make the summary of a span look at one of them again; see `looked_at_from`.
    """
    others = [one for one in summaries(issued) if one.about != about_span(first, last)]
    old = {one.about: span_in(one.about)[2] for one in others if span_in(one.about)[2] < start}
    sizes = [max(one.size for one in others if span_in(one.about)[1] > ends) for ends in old.values()]
    return min(sizes, default=None)


def _restates(page: Issued) -> Iterable[str]:
    """The numbers of the pages that a summary says are borne out no longer."""
    return (name.removeprefix(f"{RESTATES}/") for name in page.figures if family(name) == RESTATES)


def _baseline(state: State, about: str) -> Issued:
    """The summary of a span by which it is measured: that of its closing, else the last one issued."""
    pages = [one for one in summaries(state.issued) if one.about == about]
    closing = state.closing_of(span_in(about)[1][:7])
    return next((one for one in pages if closing and one.number == closing.page), pages[-1])


def told(figures: Figures, name: str, printed: str, now: str) -> tuple[str, str, str]:
    """A differing figure for the owner: what it is, as it was printed, and as it is now.

    Figures are rounded as a page rounds them; where both would read the same, their hundredths stand behind.
    """
    kind = family(name)
    if kind == LOAD:
        state = figures.state
        was, is_now = (f"version {division_version(state, name, one)}" if one else "" for one in (printed, now))
        return f"division of load {name}", was, is_now
    if kind == RESTATES:
        return f"what it says of {name.removeprefix(f'{RESTATES}/')}", "as it was then", "another figure since"
    both = _both(printed, now)
    if kind in ("used", "captured", "ways", "not explained", "area"):
        ref = name.rpartition("/")[0]
        what = {"ways": "where the water went"}.get(kind, kind)
        return f"{what}, {ref}", *both
    head, *rest = name.split("/")
    what = ", ".join(one.replace("_", " ") for one in rest)
    return f"{'stated in an old file' if head == 'old' else head} {what}", *both


def _both(printed: str, now: str) -> tuple[str, str]:
    was, is_now = _rounded(printed), _rounded(now)
    if was != is_now:
        return was, is_now
    return f"{was} ({printed.replace(' ± -', '')})", f"{is_now} ({now.replace(' ± -', '')})"


def _rounded(value: str) -> str:
    """A figure as it is kept, as a page prints it: '437.0 ± 7.6', '280, no ±', 'at least 300'."""
    figure, mark, doubt = value.partition(" ± ")
    if not mark:
        return value
    first, dots, last = figure.partition("..")
    low, high = (Decimal(end) if end else None for end in (first, last if dots else first))
    if doubt != "-":
        u = CONTEXT.divide(Decimal(doubt), COVERAGE)
        return shown(Volume(low, high, {"kept": u} if u else {})).text
    return f"{' '.join(pieces(_digits(low), _digits(high)))}, no ±"


def _digits(x: Decimal | None) -> Decimal | None:
    """A figure without ±: one that is not whole may be a worked-out share, which is printed to the hundredth."""
    whole = None if x is None else CONTEXT.quantize(x, ONE)
    return whole if whole == x else x
