"""Paint from before 1978: the question to settle before any of its water meets other water."""

from __future__ import annotations

from typing import Final

from compliance.records.answer import without_value
from compliance.rules.rule import (
    NOTHING,
    READ,
    READ_IN_PART,
    CannotTell,
    Citation,
    DoesNotApply,
    Fault,
    Outcome,
    Params,
    Rule,
    Words,
)
from compliance.rules.scene import Scene
from compliance.rules.subjects import Stop


def old_paint_disturbed(scene: Scene, stop: Stop, params: Params) -> Outcome:
    """paint-1."""
    if not stop.facts.worked:
        return DoesNotApply("the stop was not worked")
    said = stop.get("old_paint")
    if without_value(said) is not None:
        return DoesNotApply("nobody was asked about old paint")
    if said == "not known":
        return CannotTell("whether paint from before 1978 was disturbed is not known")
    if said == "no":
        return NOTHING
    return Fault(
        f"paint from before 1978 was disturbed at {stop.facts.site!r}",
        "a waste determination before the water is mixed with any other",
    )


RULES: Final = (
    Rule(
        id="paint-1",
        slug="old-paint-disturbed",
        title=Words("Paint from before 1978 was disturbed", "Se tocó pintura de antes de 1978"),
        severity="act now",
        basis="federal floor",
        citations=(
            Citation("40 CFR 745.82 to 745.86, renovation and lead paint", READ),
            Citation("40 CFR 261.24, lead 5.0 mg/L", READ),
            Citation("40 CFR 262.11 as state rules carry it, determination before any mixing", READ_IN_PART),
        ),
        scope="stop",
        judge=old_paint_disturbed,
        looks_for="A stop at which 'paint from before 1978 disturbed' is answered yes. 'Not known' cannot be told.",
        why="Such paint can hold lead. What its water is, is to be determined where it arises, before dilution or "
        "mixing; whether a given wash disturbs paint is a judgment, and local rules may be stricter.",
        next_step="keep this water apart from all other; have it determined; ask the sewer plant and the waste "
        "authority before it goes anywhere; 40 CFR 745 and local rules govern the work itself",
        crew=Words(
            "Paint from before 1978 may hold lead: do not wash it, ask first, keep the water apart.",
            "La pintura de antes de 1978 puede tener plomo. No la lave: pregunte primero. No mezcle el agua.",
        ),
        caution="Paint dust and chips are poison, worst for children. This program settles nothing here: a licensed "
        "person does.",
        example='old_paint = "yes"',
    ),
)
