"""Nights of the sample business, made from a seed.

Water is made first and read afterwards: so much is used on so much ground, a film stays behind, and what the crew
writes down are the marks and registers that show the rest. Values stand in their stored form (moments in full), so
that the validator has nothing of them to read into anything; nothing is checked here and nothing is written.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from typing import Any, Final
from zoneinfo import ZoneInfo

from compliance.intake.sample_places import HAULER, OVEN, Place, Site
from compliance.records import kinds
from compliance.records.names import slug
from compliance.water.tanks import HorizontalCylinder, Rectangle

Raw = dict[str, Any]

ZONE: Final = ZoneInfo("America/Denver")
LOWEST, HIGHEST = Decimal("0.82"), Decimal("0.95")
"""Recovery ratios of these nights, as read: above the house policy of 80 % and never all of it."""

_TURN: Final = 1_000_000  # where the registers of the meters roll over
_FLOW: Final = Decimal("4.8")  # gal/min, the timed-bucket test of a rig without a meter
_HALF_INCH: Final = Decimal("0.5")
_BIG: Final = Rectangle(Decimal(66), Decimal(50), Decimal(35))
_LITTLE: Final = HorizontalCylinder(Decimal(72), Decimal(36))


def _marks(shape: Rectangle | HorizontalCylinder, top: int) -> tuple[tuple[Decimal, Decimal], ...]:
    """Every mark of a tank with its gallons, by half inches."""
    return tuple((step * _HALF_INCH, shape.volume(step * _HALF_INCH)) for step in range(2 * top + 1))


BIG_MARKS: Final = _marks(_BIG, 35)
LITTLE_MARKS: Final = _marks(_LITTLE, 36)


@dataclass
class Rig:
    """A rig on its way through the nights: what its registers show, what stands in its tank (a mark in inches).

    metered: it has supply and transfer meters; the other kind times its gun and reads its tank. most: gallons that
    it may use on one load, so that the float never closes.
    """

    name: str
    lead: str
    crew: str
    metered: bool
    marks: Sequence[tuple[Decimal, Decimal]]
    most: int
    supply: int = 0
    transfer: int = 0
    mark: Decimal = Decimal(0)
    ratio: Decimal = Decimal(0)

    @property
    def tank(self) -> str:
        return f"{self.name} recovery"

    def gallons(self, mark: Decimal) -> Decimal:
        """What the tank holds at a mark."""
        return self.marks[int(mark / _HALF_INCH)][1]


class Maker:
    """Makes nights, one after the other. Only `random()` of the generator is used: its sequence is promised."""

    def __init__(self, seed: int, name: str) -> None:
        """name: what stands in the ids, so that two books of one seed do not share them.

        Ticket numbers go on from those of September.
        """
        self._random = random.Random(seed)
        self._name = name
        self._tickets = {"R-": 20968, "DF-": 1187}

    def between(self, low: int, high: int) -> int:
        """A whole number, ends included."""
        return low + int(self._random.random() * (high - low + 1))

    def some(self, sites: Sequence[Site], count: int) -> list[Site]:
        """So many of the sites, in their order."""
        left = list(range(len(sites)))
        while len(left) > count:
            del left[self.between(0, len(left) - 1)]
        return [sites[i] for i in left]

    def id_of(self, run: str) -> str:
        """The id, as text, under which a run of this maker is handed in."""
        return f"{self._name}, {run}"

    def night(
        self,
        rig: Rig,
        day: date,
        sites: Sequence[Site],
        *,
        to: Place | None,
        job: str = "",
        share: Decimal = Decimal(1),
    ) -> Iterator[Raw]:
        """A worked night, and its ticket where one comes later. to: None leaves the water aboard.

        share: how much of a load the night may fill.
        """
        clock = _Clock(day, self.between(1205, 1245))
        draws = self._draws(rig, len(sites), share)
        used = sum(draws) if rig.metered else sum(draws) * _FLOW
        before, mark = rig.mark, self._filled(rig, Decimal(used))
        captured = rig.gallons(mark) - rig.gallons(before)
        rig.mark, rig.ratio = mark, (captured / used).quantize(Decimal("0.0001"))
        ref = f"{day.isoformat()}-{slug(rig.name)}"
        alone = len(sites) == 1
        raw = self._run(
            rig, ref, clock, where="aboard" if to is None else "see lines", used=self._used(rig, sum(draws))
        )
        raw |= {"recovered": f"{5 * round(captured / 5)} gal", "agent_use": "used" if alone else "none used"}
        raw["supply"] = (
            "yard hydrant, fresh tank filled before leaving" if rig.metered else "hydrant into the fresh tank"
        )
        lines = [self._look(rig, before, clock.moment(4), rig.lead)]
        for site, amount in zip(sites, draws, strict=True):
            lines.append(self._stop(rig, site, amount, clock, alone=alone, job=job))
        lines.append(self._look(rig, mark, clock.moment(4), rig.crew))
        ticket = None
        if to is not None:
            hours_later = 6 * 60 if to is HAULER else self.between(18, 40)
            lines.append(self._handover(rig, to, clock.moment(hours_later)))
            ticket = self._ticket_later(rig, to, ref, len(lines), lines[-1], clock)
        raw["end"] = clock.moment(self.between(20, 35))
        raw["handed_in"] = clock.moment(self.between(8, 25))
        raw["line"] = lines
        yield raw
        if ticket is not None:
            yield ticket

    def off(self, rig: Rig, day: date, site: Site) -> Raw:
        """A night that was off for rain."""
        clock = _Clock(day, self.between(1205, 1245))
        ref = f"{day.isoformat()}-{slug(rig.name)}"
        raw = self._run(rig, ref, clock, where="no water", used="0 gal")
        raw |= {"recovered": "0 gal", "cancelled": "steady rain, turned back at the gate", "rain": "heavy"}
        raw |= {"supply": "not applicable", "drains": "not applicable", "agent_use": "none used", "filters": "same"}
        stop = {"line": "stop", "client": site.client, "site": site.name, "not_worked": "rain"}
        stop |= {"arrived": clock.moment(25), "left": clock.moment(5)}
        raw["line"] = [{**stop, "surface": "not applicable", "area": "not applicable"}]
        raw["end"] = clock.moment(self.between(15, 25))
        raw["handed_in"] = clock.moment(self.between(8, 25))
        return raw

    def _run(self, rig: Rig, ref: str, clock: _Clock, *, where: str, used: Any) -> Raw:
        """What every run says of itself."""
        return {
            "kind": kinds.RUN,
            "id": self.id_of(ref),
            "rig": rig.name,
            "lead": rig.lead,
            "crew": rig.crew,
            "date": clock.day,
            "start": clock.moment(0),
            "where": where,
            "used": used,
            "got_away": "saw none",
            "drains": "as planned",
            **(
                {"filters": "cleaned", "sock": "cleaned", "cartridges": "same"}
                if self.between(0, 1)
                else {"filters": "same"}
            ),
            "rain": "none",
        }

    def _draws(self, rig: Rig, stops: int, share: Decimal) -> list[int]:
        """What each stop draws: gallons on a meter, else minutes of run time."""
        most = rig.most if rig.metered else int(rig.most / _FLOW)
        whole = int(most * share) * self.between(78, 98) // 100
        weights = [self.between(60, 140) for _ in range(stops)]
        each = [max(1, whole * weight // sum(weights)) for weight in weights]
        each[-1] += max(0, whole - sum(each))
        return each

    def _filled(self, rig: Rig, used: Decimal) -> Decimal:
        """The mark that the tank shows afterwards: a film stays behind, and no two nights in a row are alike."""
        while True:
            ratio = Decimal(self.between(8250, 9450)).scaleb(-4)
            goal = rig.gallons(rig.mark) + used * ratio
            mark, there = min(rig.marks, key=lambda at: abs(at[1] - goal))
            read = (there - rig.gallons(rig.mark)) / used
            if LOWEST <= read <= HIGHEST and read.quantize(Decimal("0.0001")) != rig.ratio:
                return mark

    def _used(self, rig: Rig, drawn: int) -> Raw:
        """The measure of what was drawn; the supply register has moved on afterwards."""
        if not rig.metered:
            return {"method": "time", "flow": f"{rig.name} flow test", "minutes": f"{drawn} min"}
        return {
            "method": "meter",
            "meter": f"{rig.name} supply meter",
            "start": str(rig.supply),
            "end": str((rig.supply + drawn) % _TURN),
        }

    def _stop(self, rig: Rig, site: Site, drawn: int, clock: _Clock, *, alone: bool, job: str) -> Raw:
        gallons = drawn if rig.metered else int(drawn * _FLOW)
        area = 10 * (gallons * self.between(75, 105) // 100)
        raw: Raw = {"line": "stop", "client": site.client, "site": site.name}
        if job:
            raw["job"] = job
        raw["arrived"] = clock.moment(self.between(10, 18))
        on, raw["left"] = clock.moment(5), clock.moment(max(20, gallons // 3 + self.between(0, 10)))
        raw |= {"surface": site.surface, "area": f"{area} ft2", "used": self._used(rig, drawn)}
        if rig.metered:
            rig.supply = (rig.supply + drawn) % _TURN
        if alone:
            raw |= self._in_full(site, gallons, on, raw["left"])
        return raw

    def _in_full(self, site: Site, gallons: int, on: str, off: str) -> Raw:
        """What a job of its own has written down besides."""
        product, water = ("house degreaser", "40") if site is OVEN else ("mild detergent", "100")
        stages = (("strainer sock", "400", "cleaned"), ("bag", "100", "same"), ("cartridge", "25", "same"))
        use = {"agent": product, "parts": "1 count", "parts_water": f"{water} count"}
        return {
            "got_away": "saw none",
            "drains": "as planned",
            "drain_list": [
                {"name": name, "method": how, "on": on, "off": off, "seen": "none seen", "public": public}
                for name, how, public in site.drains
            ],
            "agent_use": "used",
            "agents": [{**use, "amount": f"{self.between(8, 24)} fl oz"}],
            "filter_list": [
                {"what": what, "opening": f"{opening} um", "through": f"{gallons} gal", "done": done}
                for what, opening, done in stages
            ],
            "hot": "no",
            "old_paint": "no",
            "rain": "none",
        }

    def _look(self, rig: Rig, mark: Decimal, at: str, by: str) -> Raw:
        shows = "empty" if mark == 0 else f"{mark} in"
        return {"line": "reading", "of": rig.tank, "shows": shows, "at": at, "by": by}

    def _handover(self, rig: Rig, to: Place, at: str) -> Raw:
        held = rig.gallons(rig.mark)
        amount: Raw = {"method": "mark", "tank": rig.tank, "before": f"{rig.mark} in", "after": "empty"}
        if rig.metered:
            passed = round(held * Decimal(self.between(9925, 10075)).scaleb(-4))
            end = (rig.transfer + passed) % _TURN
            amount = {"method": "meter", "meter": f"{rig.name} transfer meter"}
            amount |= {"start": str(rig.transfer), "end": str(end)}
            held, rig.transfer = Decimal(passed), end
        rig.mark = Decimal(0)
        raw = {"line": "hand over", "place": to.name, "amount": amount, "tank_after": "empty"}
        raw |= {"connection": to.connection, "permission": to.permission, "at": at, "by": rig.lead}
        raw |= {"received_by": to.receivers[self.between(0, len(to.receivers) - 1)]}
        raw |= {"ph": f"{Decimal(self.between(68, 78)).scaleb(-1)} pH", "ph_method": "meter"}
        if not to.ticket:
            return {**raw, "ticket": "not applicable"}
        number, accepted = self._number(to), f"{round(held * Decimal(self.between(992, 1008)).scaleb(-3))} gal"
        return {**raw, "ticket": number, "accepted": accepted}

    def _number(self, to: Place) -> str:
        """The next ticket of a place; numbers go up by what others bring in between."""
        self._tickets[to.ticket] += self.between(1, 7)
        return f"{to.ticket}{self._tickets[to.ticket]}"

    def _ticket_later(self, rig: Rig, to: Place, ref: str, line: int, handover: Raw, clock: _Clock) -> Raw | None:
        """The hauler's ticket comes days later; what it says then does not stand on the night."""
        if to is not HAULER:
            return None
        number, accepted = handover.pop("ticket"), handover.pop("accepted")
        handover["ticket"] = "later"
        return {
            "kind": kinds.TICKET,
            "id": self.id_of(f"ticket {number}"),
            "handed_in": clock.later(days=self.between(3, 9), hour=10, minute=self.between(0, 59)),
            "number": number,
            "date": clock.later(days=1, hour=12)[:10],
            "accepted": accepted,
            "received_by": f"{handover['received_by']}, {to.name}",
            "handovers": [{"run": ref, "line": str(line)}],
        }


class _Clock:
    """The hours of one night, counted as they pass, so that a change of clocks neither loses nor repeats one."""

    def __init__(self, day: date, minute: int) -> None:
        self.day = day.isoformat()
        self._day = day
        self._now = datetime.combine(day, time(minute // 60, minute % 60), ZONE).astimezone(UTC)

    def moment(self, minutes: int) -> str:
        """So many minutes on, RFC 3339 with the offset of the place."""
        self._now += timedelta(minutes=minutes)
        return self._now.astimezone(ZONE).isoformat()

    def later(self, *, days: int, hour: int, minute: int = 0) -> str:
        """A time of day some days after the night began."""
        return datetime.combine(self._day + timedelta(days=days), time(hour, minute), ZONE).isoformat()
