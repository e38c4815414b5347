"""Figures that do not sit together: arithmetic, never an accusation. Each says what it compared, ± included."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Final

from compliance.records.answer import without_value
from compliance.records.fields import SEEN_ENTERING
from compliance.rules.meters import backwards
from compliance.rules.rule import (
    ARITHMETIC,
    NOTHING,
    READ_IN_PART,
    CannotTell,
    Citation,
    DoesNotApply,
    Fault,
    Outcome,
    Parameter,
    Params,
    Rule,
    Words,
)
from compliance.rules.say import amount, listed, plain, ratio
from compliance.rules.scene import Scene
from compliance.rules.subjects import Load, Run, figure
from compliance.water.ratio import Ratio
from compliance.water.results import Interval, Known, Line
from compliance.water.volume import CONTEXT, ONE, ZERO, Figure, Unknown


def tank_over_capacity(scene: Scene, load: Load, params: Params) -> Outcome:
    """water-1."""
    unit = scene.state.unit
    tank = scene.entry("tank", load.facts.tank) or {}
    capacity = figure(tank.get("capacity"), unit)
    if capacity is None or capacity.high is None:
        return CannotTell("no capacity of the tank is on file")
    repeat = figure(tank.get("float_repeat"), unit)
    most = CONTEXT.add(capacity.high, repeat.high if repeat is not None and repeat.high is not None else ZERO)
    held = [("aboard", interval.closed, interval.level_after) for interval in load.facts.intervals]
    held += [(draw.way, draw.line, draw.known.figure) for draw in load.facts.draws]
    over = [(what, at, one) for what, at, one in held if surely_above(one, most)]
    if not over:
        return NOTHING
    what, at, one = over[0]
    return Fault(
        f"{what}: {amount(one, unit)}",
        f"the capacity of {tank['name']!r} up to its float: {plain(capacity.high)} {unit}",
        lines=(at,),
    )


def ratio_above_one(scene: Scene, run: Run, params: Params) -> Outcome:
    """water-2."""
    found = run.facts.ratio
    if not isinstance(found, Ratio):
        return DoesNotApply(f"no ratio: {found.why}")
    if found.kind in ("stated", "worked out") and found.value is not None and found.value > params["stated"]:
        return Fault(
            f"recovery ratio {ratio(found)}",
            "no more is recovered than was applied; figures without ± may be off, but not beyond "
            f"{plain(params['stated'])} times",
        )
    if found.kind != "measured":
        return CannotTell("the ratio is not measured on both sides")
    if not _above_one(run):
        return NOTHING
    return Fault(f"recovery ratio {ratio(found)}", "no more is recovered than was applied")


def _above_one(run: Run) -> bool:
    found = run.facts.ratio
    return isinstance(found, Ratio) and found.kind == "measured" and found.low is not None and found.low > ONE


def not_explained_beyond_interval(scene: Scene, run: Run, params: Params) -> Outcome:
    """water-3."""
    left = run.facts.not_explained
    if not run.worked:
        return DoesNotApply("no work was done")
    if not all(stop.facts.planned for stop in run.worked):
        return DoesNotApply("recovery was not planned at every stop")
    if isinstance(left, Unknown):
        return CannotTell(f"what is not explained is {left.kind}")
    if left.expanded() is None:
        return CannotTell("a figure behind it has no ±")
    if run.facts.film is None:
        return CannotTell("no area on file for the film that stays behind")
    unit = scene.state.unit
    film = Decimal(run.facts.film[1])
    if _unmeasured(run):
        return CannotTell("water of unknown amount is in it: got away, led away or came in")
    compared = f"its own ± and a film of 0 to {plain(film)} {unit} that may stay on the surface (an assumption)"
    if surely_above(left, film):
        return Fault(f"not explained: {amount(left, unit)}", compared)
    if left.high is None:
        return CannotTell("rain of unknown amount went in")
    if surely_below_zero(left):
        if _above_one(run):
            return DoesNotApply("water-2 says it: more was recovered than applied")
        if _rain(run):
            return CannotTell("rain went in")
        return Fault(f"not explained: {amount(left, unit)}: more came out than went in", compared)
    return NOTHING


def _unmeasured(run: Run) -> bool:
    """Whether water of unknown amount came or went, which what is not explained then holds."""
    lines = run.of_kind("escape", "led away", "foreign water")
    if any(without_value(line.get("amount")) is not None for line in lines):
        return True
    seen = any(item.get("seen") == SEEN_ENTERING for stop in run.stops for _, item in stop.items("drain_list"))
    said = "yes" in (run.view.get("got_away"), *(stop.get("got_away") for stop in run.stops))
    return seen or (said and not run.of_kind("escape"))


def _rain(run: Run) -> bool:
    said = run.view.get("rain")
    return any((stop.get("rain") or said) in ("some", "heavy", "not known") for stop in run.worked)


def readings_run_backwards(scene: Scene, run: Run, params: Params) -> Outcome:
    """water-4."""
    unit = scene.state.unit
    seen: dict[str, tuple[Line, ...]] = {}
    for what, known in _figures(run):
        if surely_below_zero(known.figure):
            seen[f"{what}: {amount(known.figure, unit)}"] = known.how.lines
    for name, before, after, n in backwards(scene, run):
        seen[f"{name!r} showed {before}, then {after}"] = (Line(run.view.record, n),)
    if not seen:
        return NOTHING
    lines = tuple(dict.fromkeys(line for at in seen.values() for line in at))
    return Fault(listed(list(seen)), "water that was drawn or recovered is not less than nothing", lines=lines)


def _figures(run: Run) -> Iterator[tuple[str, Known]]:
    """Every used and captured figure of a run, of its stops, and of the intervals that begin with one of its stops."""
    yield "used", run.facts.used
    yield "recovered", run.facts.captured
    for stop in run.stops:
        yield f"used at stop {stop.number}", stop.facts.used
        yield f"recovered at stop {stop.number}", stop.facts.captured
    for interval in intervals_of(run):
        yield "recovered between two looks at the tank", interval.captured


def intervals_of(run: Run) -> Iterator[Interval]:
    """The intervals of its loads that begin with one of its stops: each is looked at with one run alone."""
    of_run = {stop.ref for stop in run.stops}
    return (one for load in run.loads for one in load.intervals if one.stops and one.stops[0] in of_run)


def surely_above(one: Figure, limit: Decimal) -> bool:
    """Whether a figure lies above a limit with the whole of its ± (a figure without ± by itself)."""
    if isinstance(one, Unknown) or one.low is None:
        return False
    return CONTEXT.subtract(one.low, one.expanded() or ZERO) > limit


def surely_below_zero(one: Figure) -> bool:
    """Whether a figure lies below nothing with the whole of its ± (a figure without ± by itself)."""
    if isinstance(one, Unknown) or one.high is None:
        return False
    return CONTEXT.add(one.high, one.expanded() or ZERO) < ZERO


PROGRAM: Final = "a figure of this program; no source"

RULES: Final = (
    Rule(
        id="water-1",
        slug="tank-over-capacity",
        title=Words("More water than the tank holds", "Más agua de la que cabe en el tanque"),
        severity="look at",
        basis="arithmetic",
        citations=(ARITHMETIC,),
        scope="load",
        judge=tank_over_capacity,
        looks_for="A level, or an amount drawn at once, above the capacity of the tank up to its float, beyond the ± "
        "of both.",
        why="Either a figure is wrong, or water went over the top, or a dump was not recorded.",
        next_step="look at the readings and at the tank's register entry; add the dump that is missing, or correct "
        "what was keyed or read wrong",
        crew=Words(
            "The figure is more than the tank holds: look again.", "La cifra es más de lo que cabe: vea otra vez."
        ),
        caution="Read a tank from outside. Never lean in or climb in.",
        example='capacity = "300 gal"\nshows = "26 in"    # 371 gal by the tank\'s shape',
    ),
    Rule(
        id="water-2",
        slug="ratio-above-one",
        title=Words("More recovered than applied", "Se recuperó más de lo que se usó"),
        severity="look at",
        basis="arithmetic",
        citations=(ARITHMETIC, Citation("interval of a ratio of two measurements, check values 3.3")),
        scope="run",
        judge=ratio_above_one,
        looks_for="A measured recovery ratio above one with the whole of its interval; one of stated figures above the "
        "number below. Within the interval it is 'not distinguishable from all of it', and nothing is said.",
        why="More cannot come back than went out; rain, a hose or another rig's water came in, or a reading is off.",
        next_step="look for rain and foreign water that nobody wrote down, then at the readings",
        parameters=(Parameter("stated", Decimal("1.25"), "", "ratio of figures without ± that is far off", PROGRAM),),
        example='meter = "supply meter"\nstart = "1000"\nend = "1330"\nshows = "26 in"    # 371 gal',
    ),
    Rule(
        id="water-3",
        slug="not-explained-beyond-interval",
        title=Words("Water not explained", "Agua sin explicar"),
        severity="look at",
        basis="arithmetic",
        citations=(
            ARITHMETIC,
            Citation("film that stays on pavement, regulation notes 2, section 11; an assumption", READ_IN_PART),
        ),
        scope="run",
        judge=not_explained_beyond_interval,
        looks_for="'Not explained' of a run beyond its own ± and beyond the film that may stay on the washed area. "
        "Only where all of it was measured and the area is on file; within, nothing is said.",
        why="Every wash leaves a film and every reading has a ±. What is left after both deserves a look; it is no "
        "accusation.",
        next_step="look for an escape, a lead away or a dump that nobody wrote down, then at the readings and the area",
        example='used = {method = "meter", meter = "supply meter", start = "1000", end = "1400"}\n'
        'area = "2000 ft2"\n'
        'shows = "12 in"    # 171 gal',
    ),
    Rule(
        id="water-4",
        slug="readings-run-backwards",
        title=Words("Readings that run backwards", "Lecturas que van hacia atrás"),
        severity="look at",
        basis="arithmetic",
        citations=(ARITHMETIC,),
        scope="run",
        judge=readings_run_backwards,
        looks_for="A used or recovered figure below zero with the whole of its ±, or a register that shows less than "
        "before and cannot have rolled over (it never does, or half or more of what it counts would have gone "
        "through); also against the rig's run before.",
        why="A digit was keyed or read wrong, or water went out of the tank and nobody wrote it down.",
        next_step="compare with the photo or the sheet and correct it: keyed wrong or read wrong; record a change of "
        "meter as one",
        crew=Words(
            "The meter shows less than before: read it again.", "El medidor marca menos que antes: léalo otra vez."
        ),
        example='meter = "supply meter"\nstart = "1000"\nend = "900"',
    ),
)
