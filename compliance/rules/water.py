"""Figures that do not sit together: arithmetic, never an accusation. Each says what it compared, ± included."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from itertools import takewhile
from typing import Final

from compliance.records.answer import without_value
from compliance.records.fields import SEEN_ENTERING
from compliance.rules.meters import backwards
from compliance.rules.rule import (
    ARITHMETIC,
    NO_SOURCE,
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
from compliance.water.results import Beside, Interval, Known, Line
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
    over = [(what, at, one) for what, at, one in held if _surely_above(one, most)]
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
    if found.kind == "stated" and found.value is not None and found.value > params["stated"]:
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
    if _surely_above(left, film):
        return Fault(f"not explained: {amount(left, unit)}", compared)
    if left.high is None:
        return CannotTell("rain of unknown amount went in")
    if _surely_below_zero(left):
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
        if _surely_below_zero(known.figure):
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
    for interval in _intervals(run):
        yield "recovered between two looks at the tank", interval.captured


def _intervals(run: Run) -> Iterator[Interval]:
    of_run = {stop.ref for stop in run.stops}
    return (one for load in run.loads for one in load.intervals if one.stops and one.stops[0] in of_run)


def identical_measured_ratios(scene: Scene, run: Run, params: Params) -> Outcome:
    """water-5."""
    digits = int(params["digits"])
    mine = _measured(run, digits)
    if mine is None:
        return DoesNotApply("the run has no measured ratio")
    following = next((one for after in scene.after(run) if (one := _measured(after, digits)) is not None), None)
    if following == mine:
        return DoesNotApply("the next measured run continues the row")
    earlier = ((one, before) for before in scene.before(run) if (one := _measured(before, digits)) is not None)
    same = [before for _, before in takewhile(lambda pair: pair[0] == mine, earlier)]
    if len(same) + 1 < params["runs"]:
        return NOTHING
    refs = [one.ref for one in reversed(same)]
    return Fault(
        f"{len(same) + 1} measured runs in a row with a ratio of {mine}: {listed([*refs, run.ref])}",
        f"readings of separate nights do not agree to {digits} digits",
        lines=(*run.at, *(at for one in same for at in one.at)),
    )


def _measured(run: Run, digits: int) -> Decimal | None:
    found = run.facts.ratio
    if not isinstance(found, Ratio) or found.kind != "measured" or found.value is None:
        return None
    return CONTEXT.quantize(found.value, ONE.scaleb(-digits))


def readings_do_not_meet(scene: Scene, run: Run, params: Params) -> Outcome:
    """water-6."""
    between = [
        one
        for load in run.loads
        for one in load.intervals
        if not one.stops and one.closed.record == run.view.record and one.opened.record not in ("", run.view.record)
    ]
    if not between:
        return DoesNotApply("no reading of the tank before work began, or none of the run before")
    unit = scene.state.unit
    for one in between:
        gap = one.unexplained
        if isinstance(gap, Unknown) or gap.expanded() is None:
            if not isinstance(gap, Unknown) and gap.best == ZERO:
                continue
            if not _far_apart(one.level_before, one.level_after, params["stated"]):
                return CannotTell("a level has no ±, or was not read")
            apart = True
        else:
            apart = _surely_above(gap, ZERO) or _surely_below_zero(gap)
        if apart:
            return Fault(
                f"at the end of the run before: {amount(one.level_before, unit)}; "
                f"at the start of this one: {amount(one.level_after, unit)}",
                "a tank that nobody used holds the same water, within the ± of the two looks",
                lines=(one.opened, one.closed),
            )
    return NOTHING


def two_methods_disagree(scene: Scene, run: Run, params: Params) -> Outcome:
    """water-7."""
    pairs = list(_besides(run))
    if not pairs:
        return DoesNotApply("nothing was measured in two ways")
    unit = scene.state.unit
    apart: dict[str, tuple[Line, ...]] = {}
    for what, known, beside in pairs:
        if beside.en is not None:
            too_far = Decimal(beside.en).copy_abs() > params["e_n"]
        else:
            too_far = _far_apart(known.figure, beside.known.figure, params["stated"])
        if too_far:
            words = (
                f"{what}: {amount(known.figure, unit)} ({known.how.method}) and "
                f"{amount(beside.known.figure, unit)} ({beside.known.how.method})"
            )
            apart[f"{words}, E_n {beside.en}" if beside.en else words] = (*known.how.lines, *beside.known.how.lines)
    if apart:
        return Fault(
            "; ".join(apart),
            f"two methods agree while E_n lies between -{plain(params['e_n'])} and {plain(params['e_n'])}; "
            f"where one has no ±, while the larger is not {plain(params['stated'])} times the smaller",
            lines=tuple(dict.fromkeys(line for at in apart.values() for line in at)),
        )
    if all(beside.en is None for _, _, beside in pairs):
        return CannotTell("a method has no ±")
    return NOTHING


def _far_apart(one: Figure, other: Figure, times: Decimal) -> bool:
    """Whether two figures, one of them without ±, are too far apart for any habit of reading."""
    if isinstance(one, Unknown) or isinstance(other, Unknown) or one.best is None or other.best is None:
        return False
    less, more = sorted((one.best, other.best))
    return more > CONTEXT.multiply(max(less, ZERO), times)


def _besides(run: Run) -> Iterator[tuple[str, Known, Beside]]:
    """Everything that was measured in two ways, each comparison once."""
    seen: set[tuple[Figure, Figure]] = set()
    # what its stops used, summed, is less than what the run drew by all that ran between stops: no second method
    whole = tuple(one for one in run.facts.used_beside if one.known.how.method != "sum")
    sides = [("used", run.facts.used, whole)]
    sides.append(("recovered", run.facts.captured, run.facts.captured_beside))
    for stop in run.stops:
        sides.append((f"used at stop {stop.number}", stop.facts.used, stop.facts.used_beside))
        sides.append((f"recovered at stop {stop.number}", stop.facts.captured, stop.facts.captured_beside))
    sides += [("recovered between two looks", one.captured, one.beside) for one in _intervals(run)]
    for what, known, others in sides:
        for beside in others:
            pair = (known.figure, beside.known.figure)
            if pair not in seen:
                seen.add(pair)
                yield what, known, beside


def _surely_above(one: Figure, limit: Decimal) -> bool:
    """Whether a figure lies above a limit with the whole of its ± (a figure without ± by itself)."""
    if isinstance(one, Unknown) or one.low is None:
        return False
    return CONTEXT.subtract(one.low, one.expanded() or ZERO) > limit


def _surely_below_zero(one: Figure) -> bool:
    if isinstance(one, Unknown) or one.high is None:
        return False
    return CONTEXT.add(one.high, one.expanded() or ZERO) < ZERO


_COUNT: Final = "a figure of this program; no source"

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
        parameters=(Parameter("stated", Decimal("1.25"), "", "ratio of figures without ± that is far off", _COUNT),),
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
    Rule(
        id="water-5",
        slug="identical-measured-ratios",
        title=Words("The same measured ratio, night after night", "La misma proporción medida, noche tras noche"),
        severity="look at",
        basis="practice",
        citations=(NO_SOURCE,),
        scope="rig",
        judge=identical_measured_ratios,
        looks_for="Several measured runs of one rig in a row whose ratios agree to all the digits below. Stated "
        "figures are not looked at.",
        why="Separate nights with separate readings do not agree to a ten-thousandth; copied figures do.",
        next_step="ask who read what on these nights; where a figure was not read, correct it to 'not read'",
        parameters=(
            Parameter("runs", Decimal(3), "runs", "how many in a row", _COUNT),
            Parameter("digits", Decimal(4), "digits", "decimal places to which they agree", _COUNT),
        ),
        example='used = {method = "meter", meter = "supply meter", start = "1400", end = "1800"}\n'
        'used = {method = "meter", meter = "supply meter", start = "1800", end = "2200"}',
    ),
    Rule(
        id="water-6",
        slug="readings-do-not-meet",
        title=Words("Tank readings that do not meet", "Lecturas del tanque que no coinciden"),
        severity="look at",
        basis="arithmetic",
        citations=(ARITHMETIC,),
        scope="rig",
        judge=readings_do_not_meet,
        looks_for="A tank level at the start of a run that differs from the level at the end of the rig's run before, "
        "beyond the ± of both; where one has no ±, that is far from it.",
        why="Between two nights water came or went, or one of the two looks is wrong. The difference stays with the "
        "load as 'not explained' and belongs to no stop.",
        next_step="ask what happened to the tank in between, and write it down: a dump, rain, a hose",
        crew=Words(
            "The tank does not hold what it held last time: look again.",
            "El tanque no tiene lo de la última vez: vea otra vez.",
        ),
        caution="Read a tank from outside. Never lean in or climb in.",
        parameters=(
            Parameter("stated", Decimal("1.25"), "times", "how far apart without ±, larger to smaller", _COUNT),
        ),
        example='{line = "reading", of = "Big Blue recovery", shows = "20 in", at = "20:05"},\n'
        "# it showed 26 in at the end of the night before",
    ),
    Rule(
        id="water-7",
        slug="two-methods-disagree",
        title=Words("Two methods disagree", "Dos métodos no concuerdan"),
        severity="look at",
        basis="arithmetic",
        citations=(ARITHMETIC, Citation("normalised error E_n, check values 3.2")),
        scope="run",
        judge=two_methods_disagree,
        looks_for="One thing measured in two ways whose difference is larger than the ± of the two together (E_n "
        "beyond the figure below), or, where one of them has no ±, that are far apart. Nothing is averaged; the office "
        "names which governs.",
        why="One of the two has an error that its stated accuracy does not cover.",
        next_step="look at both readings, test the instrument that is older, and keep the figure that governs",
        parameters=(
            Parameter("e_n", Decimal(1), "", "largest E_n, either way", "check values 3.2"),
            Parameter("stated", Decimal("1.25"), "times", "how far apart without ±, larger to smaller", _COUNT),
        ),
        example='meter = "recovery meter"\nstart = "0"\nend = "300"    # 371 gal by the tank\'s levels',
    ),
)
