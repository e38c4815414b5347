"""Filter stages: from coarse to fine."""

from __future__ import annotations

from itertools import pairwise
from typing import Final

from compliance.rules.rule import NO_SOURCE, NOTHING, DoesNotApply, Fault, Outcome, Params, Rule, Words
from compliance.rules.scene import Scene
from compliance.rules.subjects import Stop, figure, items


def filter_stages_out_of_order(scene: Scene, stop: Stop, params: Params) -> Outcome:
    """filter-1."""
    compared = False
    for part in stop.parts:
        stages = [
            (str(stage["what"]), opening)
            for stage in items(part, "filter_list")
            if (opening := figure(stage.get("opening"), "um")) is not None
        ]
        for (coarse, one), (fine, other) in pairwise(stages):
            compared = True
            if one.high is not None and other.low is not None and other.low > one.high:
                return Fault(
                    f"{coarse!r} ({one}) stands before {fine!r} ({other})", "each stage finer than the one before"
                )
    return NOTHING if compared else DoesNotApply("fewer than two stages with an opening on file")


RULES: Final = (
    Rule(
        id="filter-1",
        slug="filter-stages-out-of-order",
        title=Words("Filter stages out of order", "Etapas de filtrado en desorden"),
        severity="look at",
        basis="practice",
        citations=(NO_SOURCE,),
        scope="stop",
        judge=filter_stages_out_of_order,
        looks_for="A filter stage whose opening is wider than that of the stage before it.",
        why="Stages run from coarse to fine, tens of micrometres apart; the other way round the fine one plugs at once "
        "and the coarse one does nothing.",
        next_step="correct the order or the openings as recorded, or put the stages the other way round",
        crew=Words("Filters go from coarse to fine: look again.", "Los filtros van de grueso a fino: vea otra vez."),
        example="filter_list = [\n"
        '    {what = "strainer sock", opening = "400 um", done = "same"},\n'
        '    {what = "cartridge", opening = "500 um", done = "same"},\n'
        "]",
    ),
)
