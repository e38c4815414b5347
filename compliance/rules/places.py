"""Where water may go, and by whose leave. Precedence: the local permit on file, then the federal floor."""

from __future__ import annotations

from typing import Final

from compliance.records.answer import without_value
from compliance.records.fields import NOT_ALLOWED, SEWER
from compliance.records.views import Fields
from compliance.rules.rule import (
    NOTHING,
    READ_IN_PART,
    READ_LATER,
    CannotTell,
    Citation,
    DoesNotApply,
    Fault,
    Outcome,
    Params,
    Rule,
    Silent,
    Words,
)
from compliance.rules.say import listed
from compliance.rules.scene import Permissions, Scene
from compliance.rules.subjects import Handover
from compliance.water.results import EARLIER
from compliance.water.volume import Volume

NO_KIND: Final = "the kind of place is not on file"
REFUSED: Final = "the place did not take the water"


def place_not_allowed(scene: Scene, handover: Handover, params: Params) -> Outcome:
    """place-1."""
    if handover.refused is not None:
        return DoesNotApply(REFUSED)
    if handover.kind is None:
        return CannotTell(NO_KIND)
    if handover.kind not in NOT_ALLOWED:
        return NOTHING
    on_file = scene.permissions(handover)
    permits = [one for one in on_file.valid if one.get("kind") == "permit"]
    if permits:
        return Silent("a permit on file, valid that day, names the place")
    return Fault(
        f"{_went(handover)} {handover.place!r}, a {handover.kind}",
        f"a permit of its own for the place, valid on {handover.day}: {_what_is_there(on_file)}",
    )


def hauled_away_from_designated_point(scene: Scene, handover: Handover, params: Params) -> Outcome:
    """place-2."""
    if handover.led_away:
        return DoesNotApply("the water was not carried")
    if handover.refused is not None:
        return DoesNotApply(REFUSED)
    if handover.kind is None:
        return CannotTell(NO_KIND)
    if handover.kind not in SEWER:
        return DoesNotApply("the place is no part of a sanitary sewer")
    entry = handover.entry or {}
    designated = entry.get("designated")
    if designated == "yes":
        return NOTHING
    carried = _carried(scene, handover, entry.get("site"))
    if carried is None:
        return CannotTell("whose water was in the tank is not known")
    if not carried:
        return DoesNotApply("the water came from the place's own site and was not carried")
    known = designated == "no"
    return Fault(
        f"water of {listed(carried)} was carried to {handover.place!r}, a {handover.kind}; "
        f"designated by the sewer authority: {designated or 'not recorded yet'}",
        "hauled water goes only to points that the sewer authority designates",
        severity="not met" if known else "look at",
    )


def _carried(scene: Scene, handover: Handover, site: object) -> list[str] | None:
    """The sites, other than the place's own, whose water was handed over; None when that cannot be told."""
    if handover.draw is not None and handover.draw.parts is not None:
        owners = list(handover.draw.parts)
    elif handover.load is not None:
        owners = list(handover.load.stops)
        opening = handover.load.opening
        if not isinstance(opening, Volume) or opening.high != 0:
            owners.append(EARLIER)
    else:
        run = scene.run(handover.run)
        owners = [stop.ref for stop in run.worked] if run else []
    stops = [stop for owner in owners if (stop := scene.stop(owner)) is not None]
    sites = dict.fromkeys(stop.facts.site for stop in stops)
    elsewhere = [one for one in sites if not isinstance(site, str) or not scene.same("site", one, site)]
    if elsewhere:
        return elsewhere
    return None if EARLIER in owners or not stops else []


def handover_without_permission(scene: Scene, handover: Handover, params: Params) -> Outcome:
    """place-3."""
    if handover.refused is not None:
        return DoesNotApply(REFUSED)
    if handover.kind in NOT_ALLOWED:
        return DoesNotApply("place-1 asks for a permit here")
    on_file = scene.permissions(handover)
    if on_file.named is not None or without_value(handover.get("permission")) == "not applicable":
        return NOTHING
    if any(_answers(one) for one in on_file.on_file):
        return NOTHING
    there = "says 'not needed' without a reason" if on_file.on_file else "holds none"
    return Fault(
        f"{_went(handover)} {handover.place!r} with no permission named; the register {there}",
        "a permission of the place on file, or why it is not needed",
    )


def permission_not_valid_that_day(scene: Scene, handover: Handover, params: Params) -> Outcome:
    """place-4."""
    if handover.refused is not None:
        return DoesNotApply(REFUSED)
    if handover.kind in NOT_ALLOWED:
        return DoesNotApply("place-1 asks for a permit here")
    on_file = scene.permissions(handover)
    entry = on_file.entry
    if entry is not None and isinstance(entry.get("place"), str) and entry not in on_file.on_file:
        return Fault(
            f"{_went(handover)} {handover.place!r} on {handover.day}; the permission named is {entry['name']!r}",
            f"a permission for the place, valid that day: {_what_is_there(on_file)}",
        )
    if on_file.valid:
        return NOTHING
    if on_file.named is None and not on_file.on_file:
        return DoesNotApply("no permission is named and none is on file")
    if on_file.named is not None and on_file.entry is None and not on_file.on_file:
        return CannotTell(f"the permission {on_file.named!r} is on no register")
    if on_file.undated:
        return CannotTell("the permission on file has no first day")
    return Fault(
        f"{_went(handover)} {handover.place!r} on {handover.day}",
        f"a permission for the place, valid that day: {_what_is_there(on_file)}",
    )


def _answers(permission: Fields) -> bool:
    """Whether an entry answers the question: 'not needed' does when it says why."""
    return permission.get("kind") != "not needed" or without_value(permission.get("because")) is None


def _went(handover: Handover) -> str:
    return "water was led away to" if handover.led_away else "water was handed over to"


def _what_is_there(on_file: Permissions) -> str:
    """What is on file instead of what is asked for."""
    entries = list(on_file.on_file)
    if on_file.entry is not None and on_file.entry not in entries:
        entries.append(on_file.entry)
    if not entries:
        return "none on file" if on_file.named is None else f"{on_file.named!r} is on no register"
    return "; ".join(_described(one, elsewhere=one not in on_file.on_file) for one in entries)


def _described(one: Fields, *, elsewhere: bool) -> str:
    start, end = one.get("valid_from"), one.get("valid_to")
    dates = f"from {'a day not recorded' if without_value(start) else start}"
    dates += "" if without_value(end) else f" to {end}"
    return f"{one['name']!r} ({one.get('kind')}), valid {dates}" + (f", for {one.get('place')!r}" if elsewhere else "")


RULES: Final = (
    Rule(
        id="place-1",
        slug="place-not-allowed",
        title=Words("Water went to a place that may not take it", "El agua fue a un lugar que no la puede recibir"),
        severity="act now",
        basis="federal floor",
        citations=(Citation("40 CFR 122.26(b)(2), what counts as an illicit discharge", READ_LATER),),
        scope="handover",
        judge=place_not_allowed,
        looks_for="Water handed over or led away to a storm drain, a gutter or street, or surface water, without a "
        "permit for that place on file and valid that day. Written leave is not a permit.",
        why="The federal definition knows no exception for clean, cold or soap-free wash water, nor for a small "
        "amount; only a permit of the place's own changes it.",
        next_step="stop; tell the local stormwater authority; if a permit was in force, put it on the register with "
        "its dates",
        crew=Words(
            "Stop: water may not go to a storm drain, the street or a creek.",
            "Pare: el agua no se entrega al desagüe pluvial, a la calle ni al arroyo.",
        ),
        example='name = "MS-3"\n'
        'valid_to = "2026-08-31"\n'
        'line = "hand over"    # on 2026-09-15\n'
        'place = "Dock Street inlet"    # a storm drain',
    ),
    Rule(
        id="place-2",
        slug="hauled-away-from-designated-point",
        title=Words("Carried water given to the sewer elsewhere", "Agua transportada, entregada en otro punto"),
        severity="not met",
        basis="federal floor",
        citations=(Citation("40 CFR 403.5(b)(8), trucked or hauled pollutants", READ_LATER),),
        scope="handover",
        judge=hauled_away_from_designated_point,
        looks_for="Water that came from another site, given to a cleanout, receiving station or treatment plant that "
        "the sewer authority has not designated ('look at' while that is not known). Water handed over at its own "
        "site was not carried.",
        why="The general prohibitions bind every user of a sewer, with or without a permit, and name hauled water.",
        next_step="ask the sewer authority whether the point is designated, and record its answer with the place",
        crew=Words(
            "Carried water goes only to a point that the sewer authority named.",
            "El agua transportada se entrega solo en el punto que designó la autoridad del drenaje.",
        ),
        example='site = "Fish Quay"\nplace = "Mall cleanout"    # at another site, designated = "no"',
    ),
    Rule(
        id="place-3",
        slug="handover-without-permission",
        title=Words("Handover without a permission on file", "Entrega sin permiso ni autorización en el archivo"),
        severity="missing",
        basis="practice",
        citations=(
            Citation("city programmes that ask for the sewer agency's or the owner's leave first", READ_IN_PART),
        ),
        scope="handover",
        judge=handover_without_permission,
        looks_for="Water handed over or led away with no permission named, and none on file for the place. 'Not "
        "needed because ...' is an answer.",
        why="The receiver's leave is what turns a place where water was poured into a place that took it.",
        next_step="put the permission on the register, or record why none is needed",
        example='line = "hand over"\nplace = "South Plant"    # no [[permission]] for it',
    ),
    Rule(
        id="place-4",
        slug="permission-not-valid-that-day",
        title=Words("Permission not valid that day", "Permiso sin validez ese día"),
        severity="not met",
        basis="local permit",
        citations=(Citation("the permission's own dates"),),
        scope="handover",
        judge=permission_not_valid_that_day,
        looks_for="Water handed over or led away on a day that no permission on file for the place covers.",
        why="What was in force on the day of the work judges the work, not what is in force today.",
        next_step="find the permission that was in force and put it on the register, or tell who gave the old one",
        example='name = "SD-0417"\nvalid_to = "2026-08-31"    # the handover is of 2026-09-15',
    ),
)
