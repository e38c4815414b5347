"""What an issued page is called, what it replaces, which of its figures may change later, and which pages they touch.

Pure: the book writes the record and keeps the bytes. Report numbers count per client, so that they tell a client
nothing about anybody else. A page's figures stay as they were printed; when the records say something else now, the
page is listed as touched, and no page names another client as the cause.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from compliance.records.state import Issued, State, slug
from compliance.water.results import JobFacts, Night, StopFacts
from compliance.water.volume import Figure, Unknown

PROOF, MONTH, CLIENT = "proof", "month", "client"
OWNER: Final = "summary"
"""What the owner's own pages are counted under."""


@dataclass(frozen=True)
class Head:
    """The record code: how many records the book held when a page was made, and the root over them."""

    size: int
    root: str


@dataclass(frozen=True)
class Prepared:
    """The number of a page about to be issued, and the number of the page that it replaces ('' for none)."""

    number: str
    replaces: str


@dataclass(frozen=True)
class Touched:
    """An issued page whose printed figures differ from what the records say now. figures: name -> (printed, now)."""

    page: Issued
    figures: Mapping[str, tuple[str, str]]


def prepare(page: str, about: str, counted_under: str, issued: Iterable[Issued]) -> Prepared:
    """Number a page. page: its kind; about: what it is of (a job, a span, a client and span).

    counted_under: the client's name, or `OWNER`; the number is its slug and a running number of its own.
    """
    stem = slug(counted_under)
    taken = [_count(one.number, stem) for one in issued]
    before = [one for one in issued if one.page == page and one.about == about]
    return Prepared(f"{stem}-{max(taken, default=0) + 1}", before[-1].number if before else "")


def _count(number: str, stem: str) -> int:
    head, _, tail = number.rpartition("-")
    return int(tail) if head == stem and tail.isdecimal() else 0


def about_span(first: str, last: str, client: str = "") -> str:
    """What a summary is of, as its record says it."""
    return f"{client} {first}..{last}".strip()


def closes(state: State, day: str) -> bool:
    """Whether a month summary that covers an ISO day has been issued."""
    for one in state.issued:
        if _is_month(one):
            first, _, last = one.about.partition("..")
            if first <= day <= last:
                return True
    return False


def _is_month(page: Issued) -> bool:
    """Whether a page is an owner's summary; one in Spanish is of the kind 'month es'."""
    return page.page.split(" ")[0] == MONTH


# ---- figures -------------------------------------------------------------------------------------------------


def job_figures(night: Night, job: JobFacts) -> Mapping[str, str]:
    """The figures of a proof that a later record could change."""
    return figures(night, job.stops)


def figures(night: Night, stops: Iterable[StopFacts]) -> Mapping[str, str]:
    """For each stop what it used and captured, and for each load of theirs a digest of its division.

    A load's digest covers everybody's shares, so that any change of its division is noticed. It stays in the book.
    """
    found: dict[str, str] = {}
    loads: set[str] = set()
    fed: dict[str, list[str]] = {}
    for load in night.loads.values():
        for ref in load.stops:
            fed.setdefault(ref, []).append(load.name)
    for stop in stops:
        found[f"{stop.ref}/used"] = _value(stop.used.figure)
        found[f"{stop.ref}/captured"] = _value(stop.captured.figure)
        found[f"{stop.ref}/went"] = _digest(_went(stop))
        loads.update(fed.get(stop.ref, ()))
    for name in sorted(loads):
        found[name] = division_digest(night, name)
    return found


def division_digest(night: Night, load: str) -> str:
    """A digest of how a load was divided and mixed: equal as long as every share and every amount is."""
    facts = night.loads.get(load)
    if facts is None:
        return ""
    intervals = [
        [list(one.stops), _value(one.captured.figure), one.basis, _sorted(one.shares)] for one in facts.intervals
    ]
    draws = [[one.way, one.line.line, one.place, _value(one.known.figure), _sorted(one.parts)] for one in facts.draws]
    return _digest([intervals, draws, _sorted(facts.contents)])


def touched(issued: Iterable[Issued], night: Night) -> Sequence[Touched]:
    """The pages still in force whose printed figures differ from those of the records now, in the order of issue."""
    pages = list(issued)
    replaced = {one.replaces for one in pages if one.replaces}
    stops = {stop.ref: stop for run in night.runs.values() for stop in run.stops}
    found = []
    for page in pages:
        if page.number in replaced:
            continue
        now = {name: _now(night, stops, name) for name in page.figures}
        changed = {name: (was, now[name]) for name, was in page.figures.items() if was != now[name]}
        if changed:
            found.append(Touched(page, changed))
    return found


def restated(issued: Iterable[Issued], night: Night, before: str) -> Sequence[str]:
    """Numbers of the month summaries that end before an ISO day and that the records no longer bear out."""
    return [
        one.page.number
        for one in touched(issued, night)
        if _is_month(one.page) and one.page.about.partition("..")[2] < before
    ]


def division_version(issued: Iterable[Issued], load: str, digest: str) -> int:
    """Which version of a load's division this is: 1 until a page printed another one."""
    seen = list(dict.fromkeys(one.figures[load] for one in issued if load in one.figures))
    return seen.index(digest) + 1 if digest in seen else len(seen) + 1


def _now(night: Night, stops: Mapping[str, StopFacts], name: str) -> str:
    ref, _, what = name.partition("/")
    if not what:
        return division_digest(night, name)
    stop = stops.get(ref)
    if stop is None:
        return ""
    match what:
        case "used":
            return _value(stop.used.figure)
        case "captured":
            return _value(stop.captured.figure)
        case _:
            return _digest(_went(stop))


def _went(stop: StopFacts) -> Any:
    """Where a stop's captured water went, in a form to be hashed."""
    pieces = (
        None if stop.pieces is None else [[p.way, p.load, p.line.record, p.line.line, p.amount] for p in stop.pieces]
    )
    return [pieces, stop.why, _value(stop.led_away), _value(stop.escaped)]


def _value(figure: Figure) -> str:
    """A figure as it counts: its bounds and its ±, to the hundredth; or which kind of no figure."""
    if isinstance(figure, Unknown):
        return figure.kind
    expanded = figure.expanded()
    ends = ["" if end is None else f"{end:.2f}" for end in (figure.low, figure.high)]
    return f"{'..'.join(dict.fromkeys(ends))} ± {'-' if expanded is None else f'{expanded:.2f}'}"


def _sorted(shares: Mapping[str, int] | None) -> Any:
    return None if shares is None else sorted(shares.items())


def _digest(value: Any) -> str:
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


# ---- the record ----------------------------------------------------------------------------------------------


def payload(
    page: str,
    about: str,
    prepared: Prepared,
    *,
    date: str,
    files: Mapping[str, str],
    head: Head,
    figures: Mapping[str, str],
    who: str,
) -> Mapping[str, Any]:
    """The payload of an 'issue' record (`records.kinds`). files: media type -> SHA-256 of the bytes."""
    return {
        "page": page,
        "number": prepared.number,
        "about": about,
        "date": date,
        "files": dict(files),
        "made_from": {"size": head.size, "root": head.root},
        "figures": dict(figures),
        "replaces": prepared.replaces,
        "who": who,
    }


def replaced_by(page: Issued, issued: Iterable[Issued]) -> Issued | None:
    """The page that replaced this one, None while it is in force."""
    return next((one for one in issued if one.replaces == page.number), None)
