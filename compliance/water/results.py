"""What the calculator answers: frozen results that rules, pages and `balance` read.

Amounts measured in a figure carry their ± (`Figure`, a Volume or an Unknown with its reason); amounts divided or
mixed are whole hundredths of the book's unit (int), or None where no honest number exists. Every result names the
records it came from.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from compliance.records.problem import Problem
from compliance.records.quick import dataclass
from compliance.water.ratio import NoRatio, Ratio
from compliance.water.volume import NOTHING, Figure

EARLIER = "earlier loads"
FOREIGN = "foreign water"
AGENT = "agent"
UNNAMED = "not explained"
"""Owners of water in a tank that are no stop of ours."""


@dataclass(frozen=True)
class Line:
    """Where a fact stands: the record of the run and the line in it ('' for the run's own fields)."""

    record: str
    line: str


@dataclass(frozen=True)
class How:
    """How a figure was come by, so that a reader can redo it.

    method: the word of `records.measure.METHODS`, or 'levels', 'sum', 'worked out', 'none'. formula: one line to redo
    by hand. reader: who read it, '' when not said. at: when. lines: where the readings stand.
    """

    method: str
    formula: str = ""
    reader: str = ""
    at: str = ""
    lines: tuple[Line, ...] = ()


@dataclass(frozen=True)
class Known:
    """A figure with how it was come by."""

    figure: Figure
    how: How


@dataclass(frozen=True)
class Beside:
    """A second method for the same thing, shown and never averaged. en: E_n, or None for 'cannot tell'."""

    known: Known
    en: str | None


@dataclass(frozen=True)
class Piece:
    """A part of one stop's water that went one way.

    way: 'handed over', 'used again', 'escaped', 'moved', 'solids' or 'aboard'. line: the draw (the load's name stands
    in load; Line('', '') for what is still aboard). amount: hundredths.
    """

    way: str
    load: str
    line: Line
    amount: int


Now = Literal["aboard", "empty", "not known"]
"""What the records say of a tank's load at their end."""

Aside = Literal["used again", "led away", "got away"]
"""What a stop's water also did, beside what was drawn fresh and what was captured."""

Basis = Literal["measured", "stated", "own figures", "metered use", "area", "time", "equal parts", "not divided"]


@dataclass(frozen=True)
class StopFacts:
    """One stop of one run.

    number: its place among the stops of the run, continued parts counted once. used, captured: this stop's own, or
    its worked-out share (then divided is True, the figure carries no ± and `basis` says on what). pieces: where the
    captured water went, None when the division is unknown (`why`). rained: rain of unknown amount may be in it.
    divided_apart: the stops over which its used and captured water were divided in ways that cannot be compared.
    readings: what used_again, led_away and escaped are the sums of; nothing where there was none.
    """

    ref: str
    run: str
    lines: tuple[Line, ...]
    number: int
    job: str
    client: str
    site: str
    worked: bool
    not_worked: str
    planned: bool
    area: Figure
    used: Known
    used_again: Figure
    used_basis: Basis
    captured: Known
    captured_basis: Basis
    pieces: tuple[Piece, ...] | None
    why: str
    led_away: Figure
    escaped: Figure
    escapes: tuple[Line, ...]
    not_explained: Figure
    readings: Mapping[Aside, tuple[Known, ...]]
    used_beside: tuple[Beside, ...] = ()
    captured_beside: tuple[Beside, ...] = ()
    rained: bool = False
    divided_apart: tuple[str, ...] = ()

    @property
    def divided(self) -> bool:
        """Whether the captured figure is a worked-out share and not a reading."""
        return self.captured_basis not in ("measured", "stated")


@dataclass(frozen=True)
class Draw:
    """Water that left a tank at one line. parts: owner -> hundredths, None when the mix is unknown."""

    way: str
    line: Line
    load: str
    place: str
    known: Known
    parts: Mapping[str, int] | None


@dataclass(frozen=True)
class Interval:
    """What a tank took between two looks at its level. stops: refs of the worked stops in it.

    captured governs; beside holds what other methods say. shares: stop ref -> hundredths, None when not divided.
    unexplained: for an interval without work, what the two looks differ by.
    """

    opened: Line
    closed: Line
    level_before: Figure
    level_after: Figure
    stops: tuple[str, ...]
    captured: Known
    basis: Basis
    shares: Mapping[str, int] | None
    why: str
    unexplained: Figure
    beside: tuple[Beside, ...] = ()


@dataclass(frozen=True)
class LoadFacts:
    """The recovered water of one tank from empty (or an opening reading) to the next empty.

    closed is None until a look at the empty tank ends the load; now: whether there is any of it in the tank, as far as
    the records tell. contents: owner -> hundredths still in the tank, None when unknown.
    divided: some of it was divided among several stops. why: why some of its division is unknown, '' when none is.
    moved_in: what came from other tanks. owners: all whose water was ever in it, stops by their refs.
    """

    name: str
    rig: str
    tank: str
    opened: Line
    closed: Line | None
    opening: Figure
    closing: Figure
    closing_how: How
    captured: Known
    foreign: Figure
    agent: Figure
    handed_over: Figure
    used_again: Figure
    otherwise_out: Figure
    not_explained: Figure
    intervals: tuple[Interval, ...]
    draws: tuple[Draw, ...]
    stops: tuple[str, ...]
    contents: Mapping[str, int] | None
    divided: bool
    why: str
    ratio: Ratio | NoRatio
    applied: Figure
    now: Now
    moved_in: Figure = NOTHING
    owners: tuple[str, ...] = ()


@dataclass(frozen=True)
class SiteUse:
    """What a meter on no rig says that several rigs drew at one site on one day: the site's, and the use of no rig.

    meter: the key of its register entry. stops: the lines of all stops that drew, on whatever rig.
    """

    meter: str
    stops: tuple[Line, ...]
    known: Known


@dataclass(frozen=True)
class BalanceLine:
    """One line of a water balance. sign: +1 in, -1 out, 0 for what is left over."""

    label: str
    sign: int
    known: Known


@dataclass(frozen=True)
class RunFacts:
    """One run. ref: how people name it. balance: lines that a reader adds up; the last is 'not explained'.

    at_site: what its readings say of several rigs together, itself among them; none of it is in its own used.
    """

    ref: str
    record: str
    rig: str
    lead: str
    date: str
    start: str
    end: str
    cancelled: bool
    stops: tuple[StopFacts, ...]
    loads: tuple[str, ...]
    used: Known
    used_again: Figure
    captured: Known
    led_away: Figure
    let_go: Figure
    escaped: Figure
    aboard_before: Figure
    aboard_after: Figure
    not_explained: Figure
    balance: tuple[BalanceLine, ...]
    ratio: Ratio | NoRatio
    applied: Figure
    film: tuple[str, str] | None
    used_beside: tuple[Beside, ...] = ()
    captured_beside: tuple[Beside, ...] = ()
    at_site: tuple[SiteUse, ...] = ()


@dataclass(frozen=True)
class JobFacts:
    """The client's work: stops of one or more rigs on one or more days.

    used and captured are totals with ± only while every part is measured on one rig (`mixed` says otherwise).
    destinations: place -> hundredths handed over, None when some of it is unknown. aboard: hundredths. at_site: the
    part of used that several rigs drew together.
    """

    job: str
    client: str
    site: str
    stops: tuple[StopFacts, ...]
    runs: tuple[str, ...]
    loads: tuple[str, ...]
    used: Figure
    used_again: Figure
    captured: Figure
    mixed: str
    destinations: Mapping[str, int] | None
    aboard: int | None
    escaped: Figure
    led_away: Figure
    not_explained: Figure
    film: tuple[str, str] | None
    ratio: Ratio | NoRatio
    at_site: tuple[SiteUse, ...] = ()


@dataclass(frozen=True)
class Night:
    """Everything the calculator says of a set of runs. problems: readings that are out of order, by line."""

    runs: Mapping[str, RunFacts]
    loads: Mapping[str, LoadFacts]
    problems: tuple[tuple[Line, Problem], ...] = ()
