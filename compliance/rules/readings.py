"""Readings that cannot be, meters that moved while nobody worked, and water that left by no way that is told."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from compliance.records.answer import without_value
from compliance.records.fields import NOT_ALLOWED
from compliance.rules.meters import moved_since
from compliance.rules.rule import (
    ARITHMETIC,
    NO_SOURCE,
    NOTHING,
    READ_LATER,
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
from compliance.rules.say import amount, listed
from compliance.rules.scene import Scene
from compliance.rules.subjects import Run, Stop
from compliance.water.results import Line
from compliance.water.volume import ZERO, Unknown, Volume

_BACKWARDS: Final = ("ran backwards", "rolled over")
"""What the calculator says of registers that showed less than before: water-4 says it too."""


def reading_that_cannot_be(scene: Scene, run: Run, params: Params) -> Outcome:
    """water-8."""
    found = [(at, problem) for at, problem in scene.night.problems if at.record == run.view.record]
    found = [(at, problem) for at, problem in found if not any(words in problem.what for words in _BACKWARDS)]
    if not found:
        return NOTHING
    return Fault(
        listed([problem.what for _, problem in found]),
        "what the tank or the instrument on the register can show; the reading is left out of every figure",
        lines=tuple(dict.fromkeys(at for at, _ in found)),
    )


def meter_moved_between_runs(scene: Scene, run: Run, params: Params) -> Outcome:
    """water-9."""
    moved = [one for one in moved_since(scene, run) if one[2] - one[1] > params["counts"]]
    if not moved:
        return NOTHING
    seen = [
        f"{name!r} showed {before} at the end of {ref}, and {after} when this run began"
        for name, before, after, ref, _ in moved
    ]
    return Fault(
        listed(seen),
        "a meter stands still between two runs of its rig",
        lines=tuple(Line(run.view.record, n) for *_, n in moved),
    )


def no_word_of_where_it_went(scene: Scene, stop: Stop, params: Params) -> Outcome:
    """water-10."""
    if not stop.facts.worked:
        return DoesNotApply("no work was done")
    if stop.facts.planned:
        return NOTHING
    used, led = stop.facts.used.figure, stop.facts.led_away
    if isinstance(used, Unknown):
        return CannotTell("what was used is not known")
    if used.high is not None and used.high <= ZERO:
        return DoesNotApply("no water was used")
    if isinstance(led, Unknown) or led.low is None or led.low > ZERO:
        return NOTHING
    return Fault(
        f"{amount(used, scene.state.unit)} were used and none was to be recovered; no line says where it was led",
        "water that is not recovered is led away to a place that may take it",
    )


def aboard_beside_an_empty_tank(scene: Scene, run: Run, params: Params) -> Outcome:
    """water-11."""
    if run.view.get("where") != "aboard":
        return DoesNotApply("the run does not say that its water is aboard")
    left, ways = run.facts.aboard_after, (run.facts.captured, *(one.known for one in run.facts.captured_beside))
    if isinstance(left, Unknown):
        return CannotTell("nobody looked into the tank at the end")
    if left.high is None or left.high > ZERO:
        return NOTHING
    taken = [way.figure for way in ways]
    if all(isinstance(one, Volume) and one.high is not None and one.high <= ZERO for one in taken):
        return DoesNotApply("no water was recovered")
    went = [f"handed over to {one.place!r}" for one in run.handovers if not one.led_away and one.refused is None]
    return Fault(
        f"where the water is: 'aboard'; at the end every tank is empty{''.join(f', {one}' for one in went)}",
        "water that is aboard is in a tank",
    )


def other_water_to_a_place_not_allowed(scene: Scene, run: Run, params: Params) -> Outcome:
    """place-5."""
    found = []
    for line in run.of_kind("let go", "solids"):
        place = line.get("place")
        kind = scene.kind_of_place(str(place)) if without_value(place) is None else None
        if kind in NOT_ALLOWED:
            what = "what was let go" if line.kind == "let go" else f"{line.get('what')}, taken out of a tank,"
            found.append((f"{what} went to {place!r}, a {kind}", Line(run.view.record, line.n)))
    if not found:
        return NOTHING
    return Fault(
        listed([seen for seen, _ in found]),
        "solids and water that was in a recovery tank go where wash water goes; for unused fresh water ask the local "
        "stormwater authority, as chlorine in it may matter",
        lines=tuple(at for _, at in found),
    )


RULES: Final = (
    Rule(
        id="place-5",
        slug="other-water-to-a-place-not-allowed",
        title=Words(
            "Other water or solids went to a place that may not take it",
            "Otra agua o sólidos fueron a un lugar que no los puede recibir",
        ),
        severity="look at",
        basis="federal floor",
        citations=(Citation("40 CFR 122.26(b)(2), what counts as an illicit discharge", READ_LATER),),
        scope="run",
        judge=other_water_to_a_place_not_allowed,
        looks_for="A 'let go' or 'solids' line whose place is a storm drain, a gutter or street, or surface water.",
        why="What drains down from a rig has been in its tanks, and what a filter held was kept out of the drain for a "
        "reason. Unused drinking water is another matter, which a local rule may settle.",
        next_step="write down what it was; if it was anything but unused fresh water, treat it as an escape and call",
        crew=Words("Nothing from the rig goes to a storm drain.", "Nada del camión va al desagüe pluvial."),
        example='line = "let go"\nplace = "Dock Street inlet"    # a storm drain',
    ),
    Rule(
        id="water-8",
        slug="reading-that-cannot-be",
        title=Words("A reading that cannot be", "Una lectura que no puede ser"),
        severity="look at",
        basis="arithmetic",
        citations=(ARITHMETIC,),
        scope="run",
        judge=reading_that_cannot_be,
        looks_for="A mark above the rim of its tank, a figure that a register cannot show, a scale whose empty weight "
        "is more than its full one. No figure is made from such a reading.",
        why="A digit was keyed or read wrong, or the register entry of the tank or instrument is.",
        next_step="compare with the photo or the sheet and correct it, or correct the register entry",
        crew=Words("A reading cannot be: look again.", "Una lectura no puede ser: vea otra vez."),
        caution="Read a tank from outside. Never lean in or climb in.",
        example='shows = "99 in"    # in a tank of 35 in',
    ),
    Rule(
        id="water-9",
        slug="meter-moved-between-runs",
        title=Words("A meter moved between two runs", "Un medidor se movió entre dos salidas"),
        severity="look at",
        basis="arithmetic",
        citations=(ARITHMETIC,),
        scope="rig",
        judge=meter_moved_between_runs,
        looks_for="A meter that shows more at the start of a run than at the end of the rig's last run that read it, "
        "beyond the amount below.",
        why="Water went through it that is on no run: a night not handed in, a fill or a wash-out at the yard. Or a "
        "digit was read wrong.",
        next_step="hand in the run that is missing, or say on this one what went through the meter in between",
        parameters=(
            Parameter(
                "counts", Decimal(5), "counts", "how far it may move unnoticed", "a figure of this program; no source"
            ),
        ),
        example='start = "1450"    # the run before ended at 1400',
    ),
    Rule(
        id="water-10",
        slug="no-word-of-where-it-went",
        title=Words("Not recovered, and no word of where it went", "No se recuperó y no consta a dónde fue"),
        severity="missing",
        basis="practice",
        citations=(NO_SOURCE,),
        scope="stop",
        judge=no_word_of_where_it_went,
        looks_for="A stop at which recovery was not planned and water was used, without a 'led away' line.",
        why="'Not planned' is a plan for the water, and every plan ends at a place that may take it.",
        next_step="add the line: led away to which place, by whose permission, how much or 'not read'",
        crew=Words("Say where the water was led.", "Diga a dónde se llevó el agua."),
        example='plan = "recovery not planned"\nline = "led away"\namount = "0 gal"',
    ),
    Rule(
        id="water-11",
        slug="aboard-beside-an-empty-tank",
        title=Words("Said to be aboard, and the tank is empty", "Se dice que está a bordo, y el tanque está vacío"),
        severity="look at",
        basis="arithmetic",
        citations=(ARITHMETIC,),
        scope="run",
        judge=aboard_beside_an_empty_tank,
        looks_for="A run that recovered water and says that it is aboard, while its tanks were empty at its end, by "
        "a look or by what left them.",
        why="One of the two is wrong: then the water went to a place that nobody named, or it is still in the tank and "
        "its time runs.",
        next_step="ask the crew; correct where the water is, or the tank, and add the handover that is missing",
        example='where = "aboard"',
    ),
)
