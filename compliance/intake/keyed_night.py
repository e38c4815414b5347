"""A card that was keyed, as a night: its cells become the entry that every other door gives to the validator.

What a tick means for the water is said here and nowhere else. A mark of the tank is a look after its stop. A tank
that filled is a look at its float there; where work went on, it was emptied in between, and the card has to say where
('not known' is an answer). Where the water is now, if it is a place, is a handover after the last stop, and the tank
as it is 'now' is how that handover left it. A meter with one of its two readings is kept as a reading and makes no
volume. 'Did not read' is the answer to what the reading was for: of the tank now, to how much was recovered; of a
meter, to what went through it. What nobody ticked is left out: it is not recorded yet.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import field
from typing import Any, Final

from compliance.intake.card_lines import FIGURE, NIGHT, OPEN, PRODUCTS, STOP, TALLY, TICKS, Ask, night_ask
from compliance.intake.values import speak
from compliance.intake.wording import say
from compliance.records.answer import WRITTEN
from compliance.records.fields import FILTERS_DONE, WHERE_WORDS
from compliance.records.names import folded
from compliance.records.problem import Problem
from compliance.records.quick import dataclass
from compliance.records.registers import Registers

NO_REASON: Final = "no reason given on the card"
"""Why a stop was not worked, where only the box is ticked."""
NOT_KNOWN: Final = "not known"

_TICK: Final = frozenset({"x", "✓", "✔", "1", "yes", "si", "true"})
_BARE: Final = re.compile(r"[~≥≤<>=]*\s*[0-9]*\.?[0-9]+")
_OF_THE_RUN: Final = ("card", "date", "rig", "lead", "crew", "start", "end", "where", "sock", "cartridges", "rain",
                      "remark", "keyed_by")  # fmt: skip
"""What goes into the field of its own name as it stands."""

Cells = Mapping[str, str]
Raw = dict[str, Any]


@dataclass(frozen=True)
class Row:
    """One row of a sheet. where: file, sheet and row, for a message; cells: key of the column -> text, never blank."""

    where: str
    cells: Cells


@dataclass
class _Desk:
    """One night while it is being put together."""

    night: Row
    stops: Sequence[Row]
    registers: Registers | None
    unit: str
    language: str
    problems: list[Problem] = field(default_factory=list)

    def column(self, ask: Ask) -> str:
        """How the form heads an answer, in quotes."""
        label = ask.label(self.language)
        return repr(f"{label[:1].upper()}{label[1:]}")

    def problem(self, what: str, row: Row, next_step: str) -> None:
        self.problems.append(Problem(what, row.where, next_step))


def night_of(
    night: Row, stops: Sequence[Row], registers: Registers | None, unit: str, language: str = "en"
) -> Raw | list[Problem]:
    """The raw entry of one card for `run.check_run`, or every problem with it that only the card explains.

    stops: its rows in the order of the card. registers: of the book, for the tank and the meters that the card leaves
    unnamed; None without a book. unit: the book's unit of volume, 'gal' or 'L'. language: of the form, so that whoever
    keyed it finds the headings and boxes that a problem names.
    """
    desk = _Desk(night, stops, registers, unit, language)
    said = _answers(NIGHT, night, desk)
    looked = [_answers(STOP, row, desk) for row in stops]
    raw: Raw = {key: said[key] for key in _OF_THE_RUN if key in said}
    raw |= _filters(said)
    products = _products(said, desk)
    raw |= _agent_use(said, products, desk)
    supply = _meter("supply", said, desk)
    raw |= _supply(supply, said.get("used")) | _not_recovered(said, looked)
    alone = supply.amount is None or raw["used"] != supply.amount
    before, after = (supply.look(supply.start), supply.look(supply.end)) if alone else ([], [])
    tank = _Tank(said, desk)
    start = _reading(tank, said.get("tank_start"))
    raw["line"] = [*start, *before, *_stops(looked, said, tank, desk)]
    raw["line"] += [*_at_the_end(said, raw, tank, desk), *after, *products]
    return desk.problems or raw


# ---- cells ---------------------------------------------------------------------------------------------------


def _answers(asks: Sequence[Ask], row: Row, desk: _Desk) -> dict[str, str]:
    found = {}
    for ask in asks:
        text = row.cells.get(ask.key)
        if text is not None and (answer := _answer(ask, text, row, desk)) is not None:
            found[ask.key] = answer
    return found


def _answer(ask: Ask, text: str, row: Row, desk: _Desk) -> str | None:
    if ask.way == TICKS:
        return _ticked(ask, text, row, desk)
    if ask.way == TALLY:
        return _tally(ask, text, row, desk)
    if ask.way == FIGURE and ask.unit and _BARE.fullmatch(text):
        return f"{text} {desk.unit if ask.unit == 'gal' else ask.unit}"
    return text


def _ticked(ask: Ask, text: str, row: Row, desk: _Desk) -> str | None:
    """One of the answers, in either language or the crew's own words; a bare tick where there is one box only."""
    typed = folded(text)
    for choice in ask.choices:
        if typed in (folded(choice.value), folded(choice.es), folded(choice.said) or None):
            return choice.value
    if len(ask.printed) == 1 and typed in _TICK:
        return ask.printed[0]
    if ask.key in OPEN or speak(text) in WRITTEN:
        return _later(text) if ask.key == "ticket" else text
    boxes = ", ".join(ask.answer(value, desk.language) for value in ask.printed)
    desk.problem(f"{text[:60]!r} is no answer to {desk.column(ask)}", row, f"use one of the boxes: {boxes}")
    return None


def _later(text: str) -> str:
    return "later" if folded(text) in ("later", "despues") else text


def _tally(ask: Ask, text: str, row: Row, desk: _Desk) -> str | None:
    """Strokes, counted. None when none was made or the cell holds no count."""
    if folded(text) in _TICK:
        return "1"
    if text.isascii() and text.isdigit() and len(text) == 1:
        return text
    desk.problem(f"{text[:60]!r} is no number of strokes at {desk.column(ask)}", row, "count them: 0 to 9")
    return None


# ---- the whole night -----------------------------------------------------------------------------------------


def _filters(said: Mapping[str, str]) -> Raw:
    """What was done to the filters as a whole: the most that was done to either, once both are answered."""
    order = [choice.value for choice in FILTERS_DONE]
    done = [said[key] for key in ("sock", "cartridges") if said.get(key) in order]
    return {"filters": max(done, key=order.index)} if len(done) == 2 else {}


def _products(said: Mapping[str, str], desk: _Desk) -> list[Raw]:
    made = []
    for n in PRODUCTS:
        agent, jugs, size = (said.get(f"{key}_{n}") for key in ("agent", "jugs", "size"))
        if agent is not None:
            values = {"jugs": jugs, "size": size}
            made.append({"line": "agent jugs", "agent": agent} | {k: v for k, v in values.items() if v is not None})
        elif jugs is not None or size is not None:
            desk.problem(f"jugs are counted for product {n}, and its name is missing", desk.night, "write its name")
    return made


def _agent_use(said: Mapping[str, str], products: Sequence[Raw], desk: _Desk) -> Raw:
    answer = said.get("agent_use")
    if products and answer == "none used":
        named = " and ".join(line["agent"] for line in products)
        desk.problem(f"'none used' is ticked, and jugs of {named} are counted", desk.night, "ask the lead which is so")
    if products:
        return {"agent_use": "used"}
    return {} if answer is None else {"agent_use": answer}


@dataclass(frozen=True)
class _Meter:
    """What the card says of one meter; name: '' where nobody said which and nothing was read."""

    name: str = ""
    start: str | None = None
    end: str | None = None

    @property
    def read(self) -> bool:
        """Whether it has both its readings."""
        return not any(look is None or _silent(look) for look in (self.start, self.end))

    @property
    def amount(self) -> Raw | str | None:
        """What went through it: a measure, or the word that nobody read it; None where one reading is all there is."""
        if self.start is not None and self.end is not None and self.name:
            return {"method": "meter", "meter": self.name, "start": self.start, "end": self.end}
        return next((look for look in (self.end, self.start) if look is not None and _silent(look)), None)

    def look(self, shows: str | None) -> list[Raw]:
        """One look at it, as a line."""
        return [{"line": "reading", "of": self.name, "shows": shows}] if shows is not None and self.name else []


def _silent(answer: str) -> bool:
    """Whether it is the word of somebody who did not read."""
    return speak(answer) in WRITTEN


def _meter(which: str, said: Mapping[str, str], desk: _Desk) -> _Meter:
    """The meter for 'supply' or 'handover' with its readings; one that was read has to have a name."""
    start, end = said.get(f"{which}_start"), said.get(f"{which}_end")
    name = said.get(f"{which}_meter")
    if name is None and desk.registers is not None:
        name = _only(meters(desk.registers, said.get("rig", ""), which))
    if name is None and any(look is not None and not _silent(look) for look in (start, end)):
        desk.problem(
            f"a {which} meter was read, and it is not said which",
            desk.night,
            f"fill in {desk.column(night_ask(f'{which}_meter'))}",
        )
    return _Meter(name or "", start, end)


def _supply(meter: _Meter, stated: str | None) -> Raw:
    """What was used: by the supply meter, and as the crew states it; with both, the meter governs where it was read."""
    if stated is None:
        return {} if meter.amount is None else {"used": meter.amount}
    return {"used": meter.amount, "used_also": stated} if meter.read else {"used": stated}


def _not_recovered(said: Mapping[str, str], looked: Sequence[Mapping[str, str]]) -> Raw:
    """Who did not read the tank 'now' has answered how much was recovered, unless the last stop's own look tells it."""
    worked = [stop for stop in looked if "not_worked" not in stop]
    now = said.get("tank_now", "")
    if not worked or not _silent(now):
        return {}
    mark, filled = worked[-1].get("mark", ""), int(worked[-1].get("tank_filled", "0"))
    return {} if filled or (mark and not _silent(mark)) else {"recovered": now}


def meters(registers: Registers, rig: str, measures: str) -> list[str]:
    """The names of the meters of a rig through which one kind of water passes ('supply', 'handover')."""
    return [
        str(entry["name"])
        for entry in registers.all("instrument")
        if entry.get("kind") == "meter"
        and entry.get("measures") == measures
        and registers.key("rig", str(entry.get("rig", rig))) == registers.key("rig", rig)
    ]


def _only(names: Sequence[str]) -> str | None:
    return names[0] if len(names) == 1 else None


class _Tank:
    """The recovery tank that the card speaks of; asked for once, and only where something was read of it."""

    def __init__(self, said: Mapping[str, str], desk: _Desk) -> None:
        self._said, self._desk, self._asked = said, desk, False

    def known(self) -> Raw:
        """Its name, as a key of a line; nothing where neither card nor register tells."""
        name = self._said.get("tank")
        registers, rig = self._desk.registers, self._said.get("rig")
        if name is None and registers is not None and rig is not None:
            tanks = [str(tank["name"]) for tank in registers.tanks(rig, "recovery")]
            name = _only(tanks) if tanks else "recovery tank"
        return {} if name is None else {"tank": name}

    def read(self) -> str:
        """Its name, for a reading; without one a problem, told once."""
        name = self.known().get("tank")
        if name is None and not self._asked:
            self._asked = True
            step = f"fill in {self._desk.column(night_ask('tank'))}"
            self._desk.problem("a tank was read, and it is not said which", self._desk.night, step)
        return str(name)


def _reading(tank: _Tank, shows: str | None) -> list[Raw]:
    return [] if shows is None else [{"line": "reading", "of": tank.read(), "shows": shows}]


# ---- stops ---------------------------------------------------------------------------------------------------

_OF_A_STOP: Final = ("site", "on_site", "work", "drains", "covers", "tank_filled", "got_away")
_WORKED: Final = ("on_site", "work", "drains", "covers", "tank_filled", "got_away", "mark")
"""Any of these says that somebody was there and worked, unless 'not worked' is ticked."""


def _stops(looked: Sequence[dict[str, str]], said: Mapping[str, str], tank: _Tank, desk: _Desk) -> list[Raw]:
    lines: list[Raw] = []
    filled_before = ""
    at = [i for i, stop in enumerate(looked) if int(stop.get("tank_filled", "0"))]
    last_worked = max((i for i, stop in enumerate(looked) if "not_worked" not in stop), default=-1)
    for i, (stop, row) in enumerate(zip(looked, desk.stops, strict=True)):
        _contradictions(stop, row, desk)
        line = {"line": "stop"} | {key: stop[key] for key in _OF_A_STOP if key in stop}
        if "not_worked" in stop:
            line["not_worked"] = NO_REASON if folded(stop["not_worked"]) in _TICK else stop["not_worked"]
        site = folded(stop.get("site", ""))
        if site and site == filled_before:
            line["continued"] = "yes"
        lines.append(line)
        times = int(stop.get("tank_filled", "0"))
        for n in range(times):
            if n:
                lines.append({"line": "stop", "site": stop.get("site", ""), "continued": "yes"})
            lines.append({"line": "tank full", **tank.known()})
            if n < times - 1 or i < last_worked:
                lines += _emptied(said, row, tank, desk)
        lines += _reading(tank, stop.get("mark"))
        filled_before = site if times else ""
    if "emptied_at" in said and not at:
        step = "ask the lead at which stop the tank filled"
        desk.problem("a full tank was emptied, and at no stop it is ticked that the tank filled", desk.night, step)
    return lines


def _contradictions(stop: Mapping[str, str], row: Row, desk: _Desk) -> None:
    if "not_worked" in stop:
        if stop.get("work") == "done" or int(stop.get("tank_filled", "0")):
            desk.problem("the stop is ticked both as worked and as not worked", row, "ask the lead which is so")
    elif not any(key in stop for key in _WORKED):
        step = "ask the lead: tick 'arrived', or write why it was not worked"
        desk.problem("nothing is ticked for this stop, so nobody said that it was worked", row, step)


def _emptied(said: Mapping[str, str], row: Row, tank: _Tank, desk: _Desk) -> list[Raw]:
    """The full tank leaves before the work goes on; where it went has to be said, if only by 'not known'."""
    place = said.get("emptied_at")
    if place is None:
        what = "the tank filled here and the work went on, and the card does not say where it was emptied"
        unknown = say(NOT_KNOWN, desk.language)
        step = f"ask the lead and fill in {desk.column(night_ask('emptied_at'))}; {unknown!r} is an answer"
        desk.problem(what, row, step)
        return []
    if folded(place) in ("not known", "no se", "no se sabe"):
        place = NOT_KNOWN
    return [{"line": "hand over", "place": place, **tank.known(), "tank_after": "empty"}]


# ---- the end -------------------------------------------------------------------------------------------------


def _at_the_end(said: Mapping[str, str], raw: Raw, tank: _Tank, desk: _Desk) -> list[Raw]:
    """The handover that the night ended with, or the tank as it stands; and the ticket, where it belongs."""
    meter = _meter("handover", said, desk)
    before, after = meter.look(meter.start), meter.look(meter.end)
    where, now, ticket = said.get("where"), said.get("tank_now"), said.get("ticket")
    if where is not None and where not in WHERE_WORDS:
        values = {"amount": meter.amount, "tank_after": now, "ticket": ticket}
        line = {"line": "hand over", "place": where, **tank.known()}
        line |= {key: value for key, value in values.items() if value is not None}
        return [*before, line, *after] if meter.amount is None else [line]
    if ticket is not None:
        raw["ticket"] = ticket
    if before and after:  # read at both ends, though nothing is said to have been handed over
        before, after = [], [*before, *after]
    return [*before, *_reading(tank, now), *after]
