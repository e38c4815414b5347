"""Cleaning agents: the sheet that says what they are, and the pair that must never meet."""

from __future__ import annotations

from typing import Final

from compliance.records.answer import without_value
from compliance.rules.rule import (
    NO_SOURCE,
    NOTHING,
    CannotTell,
    Citation,
    DoesNotApply,
    Fault,
    Outcome,
    Params,
    Rule,
    Words,
)
from compliance.rules.say import listed
from compliance.rules.scene import Scene
from compliance.rules.subjects import Entry, Run
from compliance.water.results import Line


def data_sheet_not_on_file(scene: Scene, entry: Entry, params: Params) -> Outcome:
    """agent-1."""
    if entry.what != "agent":
        return DoesNotApply("not a product")
    sheet = entry.fields.get("data_sheet")
    if sheet == "yes":
        return NOTHING
    return Fault(
        f"data sheet on file: {'not recorded yet' if sheet is None else sheet}", "a data sheet of each product"
    )


def bleach_and_acid_on_one_run(scene: Scene, run: Run, params: Params) -> Outcome:
    """agent-2."""
    by_kind: dict[str, dict[str, str]] = {}
    for name, n in scene.agents(run):
        entry = scene.entry("agent", name) or {}
        kind = entry.get("kind")
        by_kind.setdefault("" if without_value(kind) else str(kind), {}).setdefault(name, n)
    if "bleach" in by_kind and "acid" in by_kind:
        pair = {**by_kind["bleach"], **by_kind["acid"]}
        return Fault(
            f"bleach ({listed(list(by_kind['bleach']))}) and acid ({listed(list(by_kind['acid']))}) on one run",
            "never together: not on a surface, in a bucket, or in a recovery tank",
            lines=tuple(dict.fromkeys(Line(run.view.record, n) for n in pair.values())),
        )
    if not by_kind:
        return DoesNotApply("no product is named")
    if "" in by_kind and len(scene.agents(run)) > 1:
        return CannotTell(f"the kind of {listed(list(by_kind['']))} is not on file")
    return NOTHING


RULES: Final = (
    Rule(
        id="agent-1",
        slug="data-sheet-not-on-file",
        title=Words("Data sheet not on file", "No está la hoja de datos de seguridad"),
        severity="missing",
        basis="practice",
        citations=(NO_SOURCE,),
        scope="entry",
        judge=data_sheet_not_on_file,
        looks_for="A product that a run names, whose register entry does not say that its data sheet is on file. One "
        "finding a product.",
        why="The sheet says what the product does to people, to pipes and to other products; an inspector asks for it.",
        next_step="get the sheet from whoever sold the product, keep it, and say so on the register",
        crew=Words(
            "Read the data sheet; if it is not there, do not use the product.",
            "Lea la hoja de datos de seguridad. Si no está, no use el producto.",
        ),
        example='name = "Foamcut 7"\ndata_sheet = "no"',
    ),
    Rule(
        id="agent-2",
        slug="bleach-and-acid-on-one-run",
        title=Words("Bleach and acid on one run", "Cloro y ácido en una misma salida"),
        severity="act now",
        basis="practice",
        citations=(Citation("public-health notices on bleach mixed with acid", "read in part"),),
        scope="run",
        judge=bleach_and_acid_on_one_run,
        looks_for="A product whose kind is 'bleach' and one whose kind is 'acid' on the same run, at stops or in the "
        "tank.",
        why="Bleach with acid gives off a gas that can kill, and one recovery tank takes in both.",
        next_step="keep people away from the tank and its vent, do not add anything, and follow the data sheets; next "
        "time, one of the two a night",
        crew=Words(
            "NEVER mix bleach with acid, not in a bucket and not in the tank: the gas can kill.",
            "NUNCA mezcle cloro con ácido, tampoco en la cubeta ni en el tanque: sale un gas que puede matar.",
        ),
        caution="If it smells sharp, move upwind and call 911. Never lean into the tank. Do not use bleach with hot "
        "water.",
        example='name = "Dulcrust 9"\n'
        'kind = "acid"\n'
        'agents = [{agent = "Whitewash 12", amount = "0.5 gal"}, {agent = "Dulcrust 9", amount = "0.2 gal"}]',
    ),
)
