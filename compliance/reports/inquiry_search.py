"""What the records say of a place and a time: near, elsewhere, off, or that they cannot say. Pure.

An answer is given rig by rig and window by window. It never says that nobody was there: only what is written down, and
what is not. A stop without a time is between the readings around it; a stop without an address may have been anywhere.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta
from decimal import ROUND_CEILING, Decimal
from functools import cached_property
from typing import Any, Final
from zoneinfo import ZoneInfo

from compliance.records.answer import without_value
from compliance.records.inquiries import Inquiry
from compliance.records.names import folded
from compliance.records.problem import Problem
from compliance.records.quantity import stored
from compliance.records.state import State
from compliance.records.views import Fields, LineView, OldRow, RunView
from compliance.reports.inquiry_found import (
    ALIKE,
    COORDINATES,
    DRAIN,
    ELSEWHERE,
    NAME,
    NEAR,
    OFF,
    RADIUS,
    SILENT,
    SITE,
    UNSURE,
    WORDS,
    Asked,
    Found,
    Says,
    Spot,
)
from compliance.reports.inquiry_place import (
    ALONG,
    FAR_ALONG,
    LIKE,
    OTHER,
    SAME,
    Address,
    address_of,
    alike,
    feet_between,
    named_in,
    towns_of,
)
from compliance.reports.inquiry_time import (
    LONGEST_WINDOW,
    MAY,
    NO,
    YES,
    Times,
    Window,
    line_times,
    moments,
    run_times,
    windows,
)

_PLACED: Final = {"stop": ("site", "site"), "hand over": ("place", "place"), "led away": ("place", "place")}
"""Kinds of line that happen somewhere: the field that names where, and its register."""


def asked_of(inquiry: Inquiry, state: State) -> Asked | Problem:
    """What an inquiry asks for; a problem where it does not say when, or not where."""
    first, until = (_value(inquiry.get(name)) for name in ("first", "until"))
    where = inquiry.ref
    if not first or not until:
        step = "say from when until when: `washwater inquiry change`, a day or a month will do"
        return Problem("it is not known which time is asked about", where, step)
    parts = {name: _value(inquiry.get(name)) for name in ("address", "position", "site", "drain", "words")}
    if not any(parts.values()):
        step = "say an address, a site, a drain, coordinates, or words to look for"
        return Problem("it is not known which place is asked about", where, step)
    radius = _value(inquiry.get("radius"))
    feet = _tenths(stored(radius).in_unit("ft").point) if radius else None
    zone = str(state.business["zone"])
    weekday = _value(inquiry.get("weekday"))
    spans = windows(first, until, weekday or None, ZoneInfo(zone))
    if not spans:
        return Problem("no such day lies in the time that is asked about", where, "look at the days and the weekday")
    entry = state.registers.find("site", parts["site"]) if parts["site"] else None
    address, position = (_value((entry or {}).get(name)) for name in ("address", "position"))
    return Asked(
        spans, zone, parts["address"], parts["position"], feet or RADIUS, parts["site"], parts["drain"], parts["words"],
        entry is not None, address, position, weekday,
    )  # fmt: skip


def _tenths(feet: Decimal | None) -> Decimal | None:
    """A radius with no more figures than distances have, sooner a little wider: '100 m' has 37 figures in feet."""
    tenth = Decimal("0.1")
    return feet if feet is None or feet == feet.quantize(tenth) else feet.quantize(tenth, ROUND_CEILING)


def _value(value: Any) -> str:
    return "" if without_value(value) is not None else str(value)


def days_of(asked: Asked) -> tuple[str, str]:
    """The first and last day on which a run may have begun that was out in one of the windows."""
    zone = ZoneInfo(asked.zone)
    first, last = asked.windows[0].start.astimezone(zone), asked.windows[-1].end.astimezone(zone)
    return (first.date() - timedelta(days=2)).isoformat(), last.date().isoformat()


def search(
    state: State,
    asked: Asked,
    *,
    said: Mapping[str, Sequence[tuple[str, str]]],
    entered: str,
    size: int,
    root: str,
    now: datetime,
) -> Found:
    """Look through the runs of `state`, which holds all of the days asked about (`days_of`).

    said: record of a run -> (line, text) where the words that are looked for stand. entered, size, root: as in `Found`.
    """
    looked = _Look(state, asked, said)
    out = {run.record: list(looked.run(run)) for run in state.runs}
    rigs = {state.registers.key("rig", str(entry["name"])): str(entry["name"]) for entry in state.registers.all("rig")}
    for run in state.runs:
        named = str(run.get("rig"))
        rigs.setdefault(state.registers.key("rig", named), state.registers.name("rig", named))
    says = tuple(one for window in asked.windows for one in looked.says_all(rigs, window, out))
    every = [spot for spots in out.values() for spot in spots]
    counted = [spot for spot in every if spot.how and spot.run.cancelled is None and not _off(spot.run)]
    near = [spot for spot in counted if spot.near and spot.when != NO and spot.worked]
    inside = {run.record for one in says for run in one.runs if run.cancelled is None and not _off(run)}
    then = [spot for spot in every if spot.run.record in inside and spot.worked and not spot.near]
    first = asked.windows[0].start.astimezone(ZoneInfo(asked.zone)).date().isoformat()
    return Found(
        asked, says,
        tuple(sorted(near, key=_order)),
        tuple(spot for spot in counted if spot not in near),
        tuple(looked.old_rows()), entered, size, root, first < state.opens_on, asked.windows[-1].end > now,
        bool(then) and all(looked.unplaced(spot) for spot in then),
    )  # fmt: skip


def _order(spot: Spot) -> tuple[bool, bool, bool, bool, Decimal, str, str]:
    return (
        not spot.heard,
        not spot.drains,
        not spot.matched,
        spot.when != YES,
        spot.feet or Decimal(0),
        spot.run.day,
        spot.run.ref,
    )


def _off(run: RunView) -> str:
    """Why a run was off, '' when it was not."""
    return _value(run.get("cancelled"))


def _escapes(run: RunView, at: int) -> Iterator[LineView]:
    """Lines at which water got away at the line number `at` of a run: of a stop those that the account gives it, of a
    place those written down directly behind it.
    """
    here = run.lines[at]
    for n, line in enumerate(run.lines):
        if line.kind != "escape":
            continue
        before = [one for one in run.lines[:n] if one.kind in _PLACED]
        owner = _stop_of(run, n) if here.kind == "stop" else before[-1] if before else None
        if owner is here:
            yield line


def _stop_of(run: RunView, at: int) -> LineView | None:
    """The stop to which an escape belongs, as in the account: the last one worked before it, else the first worked,
    else the first.
    """
    worked = [one for one in run.lines if one.kind == "stop" and not _value(one.get("not_worked"))]
    before = [one for one in run.lines[:at] if one in worked]
    stops = [one for one in run.lines if one.kind == "stop"]
    return next(iter([*before[-1:], *worked, *stops]), None)


class _Look:
    """The workbench of one search."""

    def __init__(self, state: State, asked: Asked, said: Mapping[str, Sequence[tuple[str, str]]]) -> None:
        self.state, self.asked, self.said = state, asked, said
        self.zone = ZoneInfo(asked.zone)
        self._known: dict[tuple[str, str], tuple[str, str] | None] = {}
        self._likes: dict[str, frozenset[str]] = {}
        entries = [entry for register in ("site", "place") for entry in state.registers.all(register)]
        self.towns = towns_of(address for entry in entries if (address := _value(entry.get("address"))))
        self.addresses = [self._read(text) for text in (*asked.told, asked.site_address) if text]

    def _read(self, text: str) -> Address | None:
        return address_of(text, self.towns)

    def run(self, run: RunView) -> Iterator[Spot]:
        """Every line of a run that happened somewhere; how is empty where it is not near."""
        heard = dict(self.said.get(run.record, ()))
        for at, line in enumerate(run.lines):
            if line.kind not in _PLACED:
                continue
            field, register = _PLACED[line.kind]
            name = _value(line.get(field))
            entry = self.state.registers.find(register, name) or {}
            address = _value(entry.get("address"))
            span = self._span(run, at) if line.kind == "stop" else [line]
            feet = self._feet(entry)
            how = tuple(self._how(name, register, address, line, feet))
            how += tuple((WORDS, heard[one.n]) for one in span if one.n in heard)
            times = line_times(run, line, self.zone)
            yield Spot(
                run, line, self.state.registers.name("rig", str(run.get("rig"))),
                self.state.registers.name(register, name) if name else "", address, how, feet, times,
                self._when(times) if how else NO,
                line.kind != "stop" or not _value(line.get("not_worked")),
                tuple(line.get("drain_list") or ()), tuple(_escapes(run, at)),
            )  # fmt: skip
        if "" in heard and run.lines:  # of the run as a whole: any of its stops may be meant
            first = next((one for one in run.lines if one.kind in _PLACED), run.lines[0])
            times = run_times(run, self.zone)
            rig = self.state.registers.name("rig", str(run.get("rig")))
            yield Spot(run, first, rig, "", "", ((WORDS, heard[""]),), None, times, self._when(times), True)

    def _span(self, run: RunView, at: int) -> list[LineView]:
        """The lines of a stop, up to the next line that happens elsewhere."""
        following = next((n for n in range(at + 1, len(run.lines)) if run.lines[n].kind in _PLACED), len(run.lines))
        return list(run.lines[at:following])

    def _feet(self, entry: Fields) -> Decimal | None:
        position = _value(entry.get("position"))
        if not position:
            return None
        return min((feet_between(one, position) for one in self.asked.positions), default=None)

    def _how(
        self, name: str, register: str, address: str, line: LineView, feet: Decimal | None
    ) -> Iterator[tuple[str, str]]:
        asked, registers = self.asked, self.state.registers
        itself = (
            bool(asked.site) and register == "site" and registers.key("site", name) == registers.key("site", asked.site)
        )  # its own address and coordinates tell no more
        if feet is not None and feet <= asked.radius and (asked.position or not itself):
            yield COORDINATES, f"{feet} ft"
        if itself:
            yield SITE, name
        if asked.drain:
            for drain in line.get("drain_list") or ():
                if named_in(asked.drain, str(drain.get("name"))) or named_in(str(drain.get("name")), asked.drain):
                    yield DRAIN, str(drain.get("name"))
        if self.addresses and (asked.place or not itself) and (found := self._addressed(name, address)) is not None:
            yield found

    def _addressed(self, name: str, address: str) -> tuple[str, str] | None:
        """How a place is like the one that was told in words, by its address or its name."""
        if (name, address) not in self._known:
            self._known[name, address] = self._compared(name, address)
        return self._known[name, address]

    def _compared(self, name: str, address: str) -> tuple[str, str] | None:
        kinds, by_name = (self._alike(text) for text in (address, name))
        same = [kind for kind in (SAME, ALONG) if kind in kinds]
        if same:
            return same[0], address
        if by_name & {SAME, ALONG} or any(named_in(text, name) for text in self.asked.told):
            return NAME, name
        return (LIKE, address or name) if LIKE in kinds | by_name else None

    def _alike(self, text: str) -> frozenset[str]:
        """How a text is like each address that is asked about. Of a year one address is worked many times."""
        if text not in self._likes:
            read = self._read(text)
            self._likes[text] = frozenset(alike(address, read) for address in self.addresses)
        return self._likes[text]

    def unplaced(self, spot: Spot) -> bool:
        """Whether nobody wrote down where this was, in a way that could be compared with what is asked.

        Drains are no such way: the list of a stop names those that the crew saw to, and not each one around it. Nor is
        a name, but for two that are both on the register, where nothing else is known of the one that is asked about.
        """
        asked = self.asked
        compared = spot.feet is not None or bool(self._alike(spot.address) & {OTHER, FAR_ALONG})
        if asked.site_known and not self.addresses and not asked.positions:
            register = _PLACED[spot.line.kind][1]
            compared |= self.state.registers.find(register, spot.name) is not None
        return not compared

    def _when(self, times: Times) -> str:
        answers = {times.within(window) for window in self.asked.windows}
        return YES if YES in answers else MAY if MAY in answers else NO

    def says_all(self, rigs: Mapping[str, str], window: Window, out: Mapping[str, Sequence[Spot]]) -> Iterator[Says]:
        """What is written down of each rig (key -> name) in one window. out: record of a run -> its spots."""
        inside: dict[str, list[RunView]] = {}
        for key, run, times in self.out_by_day.get(window.start.astimezone(UTC).date(), ()):
            if times.within(window) != NO:
                inside.setdefault(key, []).append(run)
        for key, rig in rigs.items():
            yield self._says(rig, tuple(inside.get(key, ())), window, out)

    @cached_property
    def out_by_day(self) -> Mapping[date, Sequence[tuple[str, RunView, Times]]]:
        """Day on which a window begins -> every run that may have been out in it: key of its rig, run, when it was out.

        Of a year each window would look at each run, and a caller waits.
        """
        found: dict[date, list[tuple[str, RunView, Times]]] = {}
        before = LONGEST_WINDOW.days + 1
        for run in self.state.runs:
            times = run_times(run, self.zone)
            ends = sorted((times.low, times.high))
            first, last = (end.astimezone(UTC).date() for end in ends)
            one = (self.state.registers.key("rig", str(run.get("rig"))), run, times)
            for n in range(-before, (last - first).days + 1):
                found.setdefault(first + timedelta(days=n), []).append(one)
        return found

    def _says(self, rig: str, runs: tuple[RunView, ...], window: Window, out: Mapping[str, Sequence[Spot]]) -> Says:
        went = [run for run in runs if run.cancelled is None and not _off(run)]
        if not went:
            off = [run for run in runs if run.cancelled is None]
            if off:
                return Says(rig, window, OFF, runs, why="; ".join(_off(run) for run in off))
            return Says(rig, window, SILENT, runs)
        spots = [spot for run in went for spot in out.get(run.record, ())]
        mine = [spot for spot in spots if spot.worked and spot.times.within(window) != NO]
        near = tuple(spot for spot in mine if spot.near)
        if any(spot.matched for spot in near):
            return Says(rig, window, NEAR, runs, near)
        if near:
            return Says(rig, window, ALIKE, runs, near)
        lost = tuple(spot for spot in mine if spot.line.kind == "stop" and spot.name and self.unplaced(spot))
        untold = [run for run in went if not any(line.kind == "stop" for line in run.lines)]
        if lost or untold:
            return Says(rig, window, UNSURE, runs, lost)
        if any(not self.unplaced(spot) for spot in mine):
            return Says(rig, window, ELSEWHERE, runs)
        out_then = any(run.get("start") is not None and run.get("end") is not None for run in went)
        out_then |= bool(mine) or any(window.start <= at < window.end for run in went for at in moments(run))
        return Says(rig, window, UNSURE if out_then else SILENT, runs)

    def old_rows(self) -> Iterator[tuple[OldRow, str]]:
        """Rows of old spreadsheets of these days whose site is alike, and how it is known."""
        for row in self.state.old_rows:
            day = datetime.fromisoformat(f"{row.day}T00:00:00").replace(tzinfo=self.zone)
            night = Times("", "", day, day + timedelta(hours=44))
            if all(night.within(window) == NO for window in self.asked.windows):
                continue
            name = _value(row.get("site"))
            entry = self.state.registers.find("site", name) or {}
            address = _value(entry.get("address"))
            line = LineView("", "stop", row.fields)
            how = list(self._how(name, "site", address, line, self._feet(entry)))
            wanted = folded(self.asked.words).split()
            text = folded(" ".join(str(value) for value in row.fields.values()))
            if how or any(word in text for word in wanted):
                yield row, how[0][0] if how else WORDS
