"""From what stands in a payload to a figure: each method of `records.measure`, through the registers.

What cannot be worked out becomes an `Unknown` with its reason, never a zero; what is out of order (a level outside
the tank, a meter that ran backwards) is also kept as a `Problem`, for the rules.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache
from typing import Any, NamedTuple

from compliance.records.answer import NOT_APPLICABLE, NOT_READ, WRITTEN, without_value
from compliance.records.fields import SIZES_OF_SHAPE
from compliance.records.measure import WITHOUT_INSTRUMENT, Measure, read_measure
from compliance.records.problem import Problem
from compliance.records.quantity import AREA, UNITS, Quantity, convert, stored
from compliance.records.registers import Registers
from compliance.records.views import Fields
from compliance.water import meters, tanks
from compliance.water.results import How, Known, Line
from compliance.water.shown import number, shown
from compliance.water.volume import (
    CONTEXT,
    HUNDREDTH,
    Figure,
    Unknown,
    UnknownKind,
    Volume,
    exact,
    reading,
    total,
    with_limits,
)

_HUNDRED = Decimal(100)
_HALF = Decimal("0.5")
_AREA = frozenset({AREA})
_LOOKS = ("start", "end", "old_end", "new_start")
SHAPES: Mapping[str, Callable[..., tanks.Shape]] = {
    "rectangle": tanks.Rectangle,
    "upright cylinder": tanks.UprightCylinder,
    "horizontal cylinder": tanks.HorizontalCylinder,
}
"""Shape on the register -> its class, whose sizes are called as the fields of the register are."""
_KINDS: Mapping[str, UnknownKind] = {NOT_READ: "not read", NOT_APPLICABLE: "not applicable"}


def unknown(value: Any, reason: str) -> Unknown:
    """The Unknown for an answer without a value, or for an absent field."""
    kind = without_value(value)
    return Unknown(reason, _KINDS.get(str(kind), "not recorded yet"))


@cache
def _not_recorded(what: str) -> Unknown:
    return Unknown(f"{what} is not recorded", "not recorded yet")


def kept(volume: Volume) -> Volume:
    """Its bounds as whole hundredths, the form in which every figure is kept."""
    return Volume(_hundredths(volume.low), _hundredths(volume.high), volume.parts, volume.unstated)


def _hundredths(x: Decimal | None) -> Decimal | None:
    return None if x is None else CONTEXT.quantize(x, HUNDREDTH)


class Who(NamedTuple):
    """Who looked, and when; '' when not said."""

    reader: str = ""
    at: str = ""


@dataclass
class Gauges:
    """The instruments and tanks of a book, as they stand on its registers; unit is the book's.

    problems collects what was out of order on the way, by line.
    """

    registers: Registers
    unit: str
    problems: list[tuple[Line, Problem]] = field(default_factory=list)
    _registers: dict[str, meters.Register] = field(default_factory=dict)

    def known(self, value: Any, at: Line, who: Who, *, what: str) -> Known:
        """A stored measure as a figure with how it was come by. what: its label, for the reason of an Unknown."""
        if value is None:
            return Known(_not_recorded(what), How("none", "", who.reader, who.at, (at,)))
        if not isinstance(value, str) and value["method"] == "meter":
            figure, formula = self._metered(value, at, what)
            return Known(figure, How("meter", formula, who.reader, who.at, (at,)))
        measure = read_measure(value)
        if isinstance(measure, str):
            return Known(unknown(measure, f"{what} was {measure}"), How("none", measure, who.reader, who.at, (at,)))
        figure, formula = self._by_method(measure, at, what)
        return Known(figure, How(measure.method, formula, who.reader, who.at, (at,)))

    def plain(self, quantity: Quantity, source: str) -> Volume:
        """A declared amount or bound in the book's unit, without any ±."""
        there = quantity.in_unit(self.unit)
        return kept(Volume(there.low, there.high, unstated=frozenset({source})))

    def area(self, value: Any) -> Figure:
        """An area in square feet (the unit of the film table), stated without ±."""
        if without_value(value) is not None:
            return unknown(value, "the area is not recorded")
        there = stored(value).in_unit("ft2")
        return Volume(there.low, there.high, unstated=_AREA)

    def level(self, tank: Fields | None, value: Any, key: str, at: Line) -> tuple[Figure, str]:
        """A tank level as a volume, and the line to redo it. tank: its entry, None when it is on no register."""
        if isinstance(value, Quantity):
            value = str(value)
        if without_value(value) is not None:
            return unknown(value, "the tank level was not read" if value == NOT_READ else "no tank level"), ""
        if value == "empty":
            return exact(Decimal(0)), "empty = 0"
        tank = tank or {}
        if value == "full":
            full = self.capacity(tank, key)
            if isinstance(full, Unknown):
                return full, ""
            return full, f"full to the float = {_plain(full)} {self.unit}"
        quantity = stored(value)
        name = str(tank.get("name", "the tank"))
        accuracy = _fraction(tank.get("accuracy"))
        if quantity.dimension == "volume":
            there = quantity.in_unit(self.unit)
            if there.point is None:
                return self.plain(quantity, f"res:{key}"), f"{quantity}"
            volume = reading(
                there.point,
                resolution_key=f"res:{key}",
                half_width=None,
                calibration_key=f"cal:{name}",
                relative_limit=accuracy,
            )
            return kept(volume), f"{quantity}"
        return self._by_shape(tank, quantity, key, at, name, accuracy)

    def capacity(self, tank: Fields, key: str) -> Figure:
        """What the tank holds at its cut-off float, in the book's unit, with the repeat of the float under `key`.

        Unknown where its register says no capacity, or a range.
        """
        if without_value(tank.get("capacity")) is not None:
            return Unknown(f"the capacity of {tank.get('name', 'the tank')} is not on its register", "not recorded yet")
        most = stored(tank["capacity"]).in_unit(self.unit).point
        if most is None:
            return Unknown(f"the capacity of {tank.get('name')} is a range", "not known")
        repeat = tank.get("float_repeat")
        accuracy = _fraction(tank.get("accuracy"))
        limits = {
            f"res:{key}": None if without_value(repeat) is not None else stored(str(repeat)).in_unit(self.unit).point,
            f"cal:{tank.get('name')}": None if accuracy is None else CONTEXT.multiply(most, accuracy),
        }
        return kept(with_limits(most, limits))

    def _by_shape(
        self, tank: Fields, quantity: Quantity, key: str, at: Line, name: str, accuracy: Decimal | None
    ) -> tuple[Figure, str]:
        shape = self.shape(tank)
        inches = quantity.in_unit("in").point
        if shape is None or inches is None:
            return Unknown(f"no shape of {name} on its register turns {quantity} into a volume", "not recorded yet"), ""
        step = tank.get("mark_step")
        half = None if without_value(step) is not None else stored(str(step)).in_unit("in").point
        volume = tanks.level_reading(
            shape,
            inches,
            resolution_key=f"res:{key}",
            half_width=None if half is None else CONTEXT.multiply(half, _HALF),
            calibration_key=f"cal:{name}",
            relative_limit=accuracy,
            where=name,
        )
        if isinstance(volume, Problem):
            self.problems.append((at, volume))
            return Unknown(volume.what, "not known"), ""
        volume = kept(volume)
        return volume, f"{quantity} in {name} = {_plain(volume)} {self.unit}"

    def shape(self, tank: Fields) -> tanks.Shape | None:
        """The tank's shape in inches, None when its register does not say."""
        named = str(tank.get("shape"))
        per_unit = convert(Decimal(1), self.unit, "gal")
        per_unit = CONTEXT.multiply(per_unit, tanks.CUBIC_INCHES_PER_GALLON)
        sizes = {
            name: None if without_value(tank.get(name)) is not None else stored(str(tank[name])).in_unit("in").point
            for name in SIZES_OF_SHAPE.get(named, ())
        }
        if not sizes or None in sizes.values():
            return None
        return SHAPES[named](**sizes, per_unit=per_unit)

    def _by_method(self, measure: Measure, at: Line, what: str) -> tuple[Figure, str]:
        values = measure.values
        missing = next((key for key, value in values.items() if without_value(value) is not None), None)
        if missing is not None and measure.method not in WITHOUT_INSTRUMENT:
            return unknown(values[missing], f"{what}: {missing} was {values[missing]}"), ""
        match measure.method:
            case "declared" | "ticket":
                amount = values["amount"]
                if isinstance(amount, str):
                    return unknown(amount, f"{what} was {amount}"), ""
                source = f"{measure.method}:{at.record}/{at.line}"
                return self.plain(amount, source), f"{amount}"
            case "mark":
                return self._marked(values, at)
            case "fills":
                return self._filled(values, at)
            case "time":
                return self._timed(values)
            case "count":
                return self._counted(values)
            case _:
                return self._weighed(values, at)

    def register(self, name: str) -> meters.Register:
        """An instrument's register by name; one that is on no register has no stated accuracy."""
        if name not in self._registers:
            self._registers[name] = self._register(name)
        return self._registers[name]

    def _register(self, name: str) -> meters.Register:
        entry = self.registers.find("instrument", name) or {}
        unit = str(entry.get("unit", self.unit))
        turn = entry.get("rolls_over_at")
        step = entry.get("step")
        mass = UNITS[unit][0] == "mass"
        return meters.Register(
            str(entry.get("name", name)),
            None if without_value(step) is not None else CONTEXT.multiply(_point(step), _HALF),
            _fraction(entry.get("accuracy")),
            None if without_value(turn) is not None else _point(turn),
            unit,
            Decimal(1) if mass else convert(Decimal(1), unit, self.unit),
            self.unit,
        )

    def look(self, register: meters.Register, shows: Decimal, run: str) -> meters.Look:
        """One look at a register. The same figure twice in a run is the same look, so its resolution is shared."""
        return meters.Look(shows, f"{run}/{register.name}={shows}")

    def between(self, instrument: str, start: Decimal, end: Decimal, at: Line) -> tuple[Figure, str]:
        """What went through an instrument between two readings of its register."""
        register = self.register(instrument)
        measured = meters.register_difference(
            register, self.look(register, start, at.record), self.look(register, end, at.record), instrument
        )
        return self._result(measured, at)

    def _metered(self, form: Mapping[str, str], at: Line, what: str) -> tuple[Figure, str]:
        """A stored 'meter' measure. Its figures are plain numbers, so they are read here and not as quantities."""
        looks = [form[key] for key in _LOOKS if key in form]
        if any(look in WRITTEN for look in looks):
            key = next(key for key in _LOOKS if form.get(key) in WRITTEN)
            return unknown(form[key], f"{what}: {key} was {form[key]}"), ""
        name, shows = form["meter"], [Decimal(look) for look in looks]
        if len(shows) < len(_LOOKS):
            return self.between(name, shows[0], shows[1], at)
        old, new = self.register(name), self.register(form.get("new_meter", name))
        start, old_end = (self.look(old, one, at.record) for one in (shows[0], shows[2]))
        end, new_start = (self.look(new, one, at.record) for one in (shows[1], shows[3]))
        return self._result(meters.across_a_change(old, start, old_end, new, new_start, end, name), at)

    def _result(self, measured: meters.Measured | Problem, at: Line) -> tuple[Figure, str]:
        if isinstance(measured, Problem):
            self.problems.append((at, measured))
            return Unknown(measured.what, "not known"), ""
        formula = "; ".join((measured.formula, *measured.assumptions))
        return kept(measured.volume), formula

    def mark_ends(self, values: Mapping[str, Quantity | str], at: Line) -> tuple[Figure, Figure]:
        """The two levels of a 'mark' measure, under the keys that the measure itself uses."""
        tank = self.registers.find("tank", str(values["tank"]))
        before, _ = self.level(tank, values["before"], f"{at.record}/{at.line}.before", at)
        after, _ = self.level(tank, values["after"], f"{at.record}/{at.line}.after", at)
        return before, after

    def _marked(self, values: Mapping[str, Quantity | str], at: Line) -> tuple[Figure, str]:
        before, after = self.mark_ends(values, at)
        for end in (before, after):
            if isinstance(end, Unknown):
                return end, ""
        assert isinstance(before, Volume) and isinstance(after, Volume)
        difference = after - before if _larger(after, before) else before - after
        return kept(difference), (
            f"from {values['before']} ({_plain(before)}) to {values['after']} ({_plain(after)}) "
            f"= {_plain(difference)} {self.unit}"
        )

    def _filled(self, values: Mapping[str, Quantity | str], at: Line) -> tuple[Figure, str]:
        times = _point(values["times"])
        tank = self.registers.find("tank", str(values["tank"])) or {"name": values["tank"]}
        fills: list[Volume] = []
        for i in range(int(times)):
            one = self.capacity(tank, f"{at.record}/{at.line}#{i + 1}")
            if isinstance(one, Unknown):
                return one, ""
            fills.append(one)
        volume = kept(total(fills))
        each = f"{_plain(fills[0])} {self.unit}" if fills else "the tank"
        return volume, f"{times} × {each} = {_plain(volume)} {self.unit}"

    def _timed(self, values: Mapping[str, Quantity | str]) -> tuple[Figure, str]:
        name = str(values["flow"])
        entry = self.registers.find("instrument", name) or {}
        if without_value(entry.get("rate")) is not None:
            return Unknown(f"no flow of {name} is on its register", "not recorded yet"), ""
        rate = stored(str(entry["rate"])).in_unit("gal/min" if self.unit == "gal" else "L/min").point
        minutes = values["minutes"]
        assert isinstance(minutes, Quantity)
        in_minutes = minutes.in_unit("min")
        if rate is None:
            return Unknown(f"the flow of {name} is a range", "not known"), ""
        flow = _with_accuracy(rate, entry, name)
        span = Volume(in_minutes.low, in_minutes.high, unstated=frozenset({"minutes"} if minutes.about else ()))
        measured = meters.run_time(flow, span, self.unit)
        return kept(measured.volume), measured.formula

    def _counted(self, values: Mapping[str, Quantity | str]) -> tuple[Figure, str]:
        name = str(values["vessel"])
        entry = self.registers.find("instrument", name) or {}
        if without_value(entry.get("size")) is not None:
            return Unknown(f"no size of {name} is on its register", "not recorded yet"), ""
        size = stored(str(entry["size"])).in_unit(self.unit).point
        if size is None:
            return Unknown(f"the size of {name} is a range", "not known"), ""
        measured = meters.count(exact(_point(values["times"])), _with_accuracy(size, entry, name), self.unit)
        return kept(measured.volume), measured.formula

    def _weighed(self, values: Mapping[str, Quantity | str], at: Line) -> tuple[Figure, str]:
        name = str(values["scale"])
        register = self.register(name)
        gross, tare = values["gross"], values["tare"]
        assert isinstance(gross, Quantity) and isinstance(tare, Quantity)
        unit = gross.unit if gross.unit == tare.unit else "lb"
        looks = [
            meters.Look(_point(q.in_unit(unit)), f"{at.record}/{at.line}.{end}")
            for q, end in ((gross, "gross"), (tare, "tare"))
        ]
        half = register.half_width
        if half is not None:
            half = convert(half, register.unit if register.unit in ("lb", "kg") else "lb", unit)
        scale = meters.Register(
            register.name, half, register.relative_limit, None, unit, convert(Decimal(1), unit, "lb"), "gal"
        )
        measured = meters.weight(scale, looks[0], looks[1], where=name, density_unit="lb")
        if isinstance(measured, Problem) or self.unit == "gal":
            return self._result(measured, at)
        _, formula = self._result(measured, at)
        there = kept(measured.volume.scale(convert(Decimal(1), "gal", self.unit)))  # rounded once, in the book's unit
        return there, f"{formula}; = {_plain(there)} {self.unit}"


def _with_accuracy(value: Decimal, entry: Fields, name: str) -> Volume:
    accuracy = _fraction(entry.get("accuracy"))
    limit = None if accuracy is None else CONTEXT.multiply(value, accuracy)
    return with_limits(value, {f"cal:{entry.get('name', name)}": limit})


def _fraction(percent: Any) -> Decimal | None:
    """A stored percentage as a fraction, None when nobody stated it."""
    if without_value(percent) is not None:
        return None
    return CONTEXT.divide(_point(percent), _HUNDRED)


def _point(value: Any) -> Decimal:
    """The one number of a stored quantity that cannot be a bound."""
    quantity = value if isinstance(value, Quantity) else stored(str(value))
    point = quantity.point
    return point if point is not None else (quantity.low if quantity.low is not None else quantity.high) or Decimal(0)


def _larger(a: Volume, b: Volume) -> bool:
    return (a.low or Decimal(0)) >= (b.low or Decimal(0))


def _plain(volume: Volume) -> str:
    """A figure to the hundredth, for a line that is redone by hand; a range in words."""
    best = volume.best
    return number(CONTEXT.quantize(best, HUNDREDTH)) if best is not None else shown(volume).text
