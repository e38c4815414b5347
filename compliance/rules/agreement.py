"""Figures that should agree and do not, or agree too well: nights in a row, two looks at a tank, two methods."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from itertools import takewhile
from typing import Final

from compliance.rules.rule import (
    ARITHMETIC,
    NO_SOURCE,
    NOTHING,
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
from compliance.rules.say import amount, listed, plain
from compliance.rules.scene import Scene
from compliance.rules.subjects import Run
from compliance.rules.water import PROGRAM, intervals_of, surely_above, surely_below_zero
from compliance.water.ratio import Ratio
from compliance.water.results import Beside, Known, Line
from compliance.water.volume import CONTEXT, ONE, ZERO, Figure, Unknown


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
            apart = surely_above(gap, ZERO) or surely_below_zero(gap)
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
    sides += [("recovered between two looks", one.captured, one.beside) for one in intervals_of(run)]
    for what, known, others in sides:
        for beside in others:
            pair = (known.figure, beside.known.figure)
            if pair not in seen:
                seen.add(pair)
                yield what, known, beside


RULES: Final = (
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
            Parameter("runs", Decimal(3), "runs", "how many in a row", PROGRAM),
            Parameter("digits", Decimal(4), "digits", "decimal places to which they agree", PROGRAM),
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
            Parameter("stated", Decimal("1.25"), "times", "how far apart without ±, larger to smaller", PROGRAM),
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
            Parameter("stated", Decimal("1.25"), "times", "how far apart without ±, larger to smaller", PROGRAM),
        ),
        example='meter = "recovery meter"\nstart = "0"\nend = "300"    # 371 gal by the tank\'s levels',
    ),
)
