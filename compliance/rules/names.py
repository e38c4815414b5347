"""Names that are on no register, and register entries that lack what a page or a calculation needs."""

from __future__ import annotations

from typing import Final

from compliance.records.fields import OFFICE, SIZES_OF_SHAPE
from compliance.rules.missing import WANTED, label
from compliance.rules.rule import NO_SOURCE, NOTHING, Fault, Missing, Outcome, Params, Rule, Words
from compliance.rules.say import listed
from compliance.rules.scene import Scene
from compliance.rules.subjects import Entry, Run
from compliance.water.results import Line

TIDIED: Final = ("rig", "place", "permission", "site", "client", "agent")
"""The registers in which a name is expected to be found sooner or later."""


def name_not_on_register(scene: Scene, run: Run, params: Params) -> Outcome:
    """register-1."""
    unknown: dict[tuple[str, str], list[str]] = {}
    for what, name, n in scene.names(run):
        if what in TIDIED and scene.entry(what, name) is None:
            unknown.setdefault((what, name), []).append(n)
    if not unknown:
        return NOTHING
    return Fault(
        listed([f"{what} {name!r}" for what, name in unknown]),
        f"the registers of {listed(TIDIED)}",
        lines=tuple(dict.fromkeys(Line(run.view.record, n) for at in unknown.values() for n in at)),
    )


def entry_fields_not_recorded(scene: Scene, entry: Entry, params: Params) -> Outcome:
    """register-2."""
    missing = tuple(
        Missing(entry.what, name, need, entry=entry.ref)
        for name, need in (*((row.name, row.need) for row in WANTED[entry.what]), *_of_shape(entry))
        if entry.fields.get(name) is None and _asked(entry)
    )
    if not missing:
        return NOTHING
    return Fault(
        f"not recorded yet: {listed([label(one) for one in missing])}",
        "the field table: what a page or a calculation needs of a register entry",
        missing=missing,
    )


def _of_shape(entry: Entry) -> list[tuple[str, str]]:
    """The sizes that the shape of a tank needs: without one of them no mark is a volume. A smallest mark alone says
    that marks are read, so that the shape itself is wanted."""
    if entry.what != "tank" or (entry.fields.get("shape") is None and entry.fields.get("mark_step") is None):
        return []
    sizes = SIZES_OF_SHAPE.get(str(entry.fields.get("shape")), ())
    return [(name, OFFICE) for name in ("shape", *sizes)]


def _asked(entry: Entry) -> bool:
    """A permission that is not needed has no giver and no first day; no level of a fresh-water tank is worked out."""
    if entry.what == "permission":
        return entry.fields.get("kind") != "not needed"
    return entry.what != "tank" or entry.fields.get("role") != "fresh"


RULES: Final = (
    Rule(
        id="register-1",
        slug="name-not-on-register",
        title=Words("Names that are on no register", "Nombres que no están en las listas"),
        severity="missing",
        basis="practice",
        citations=(NO_SOURCE,),
        scope="run",
        judge=name_not_on_register,
        looks_for="A rig, place, permission, site, client or product that a run names and no register holds.",
        why="A name without an entry has no kind of place, no permission and no data sheet, so other rules cannot "
        "look, and one client spelled two ways becomes two.",
        next_step="add each name to its register, or record that it is the same as an entry that is there",
        example='site = "Aldr Mall"    # the register spells it "Alder Mall"',
    ),
    Rule(
        id="register-2",
        slug="entry-fields-not-recorded",
        title=Words("Register entries with fields not recorded yet", "Entradas de las listas con datos que faltan"),
        severity="missing",
        basis="practice",
        citations=(NO_SOURCE,),
        scope="entry",
        judge=entry_fields_not_recorded,
        looks_for="A register entry that a run names, or the business itself, without a field that a page or a "
        "calculation needs. Entries that no run names are not looked at.",
        why="A page cannot print an address that nobody wrote down, a tank without its capacity cannot be "
        "overfull on paper, and a mark is no volume in a tank of which one inside size is not on its register.",
        next_step="complete the entry on its register",
        example='name = "South Plant"\nkind = "treatment plant"\n# address left out',
    ),
)
