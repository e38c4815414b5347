"""pH, as read when the water was handed over. A reading that straddles a limit is no reading of either side."""

from __future__ import annotations

from decimal import Decimal
from typing import Final, Literal

from compliance.records.fields import SEWER
from compliance.records.quantity import Quantity
from compliance.rules.places import NO_KIND
from compliance.rules.rule import (
    NOTHING,
    READ,
    READ_LATER,
    CannotTell,
    Citation,
    DoesNotApply,
    Fault,
    Outcome,
    Parameter,
    Params,
    Rule,
    Silent,
    Words,
)
from compliance.rules.scene import NO_LIMIT, Scene
from compliance.rules.subjects import Handover, figure

Side = Literal["inside", "outside", "cannot tell"]

NOT_TAKEN: Final = DoesNotApply("no pH was read")


def _below(ph: Quantity, limit: Decimal, *, or_at: bool = False) -> Side:
    """Whether a pH lies below a limit ('outside'), at or above it ('inside'), or on both sides of it."""
    if ph.high is not None and (ph.high < limit or (or_at and ph.high == limit)):
        return "outside"
    if ph.low is not None and (ph.low > limit or (not or_at and ph.low == limit)):
        return "inside"
    return "cannot tell"


def _above(ph: Quantity, limit: Decimal, *, or_at: bool = False) -> Side:
    """The same for a limit from above."""
    if ph.low is not None and (ph.low > limit or (or_at and ph.low == limit)):
        return "outside"
    if ph.high is not None and (ph.high < limit or (not or_at and ph.high == limit)):
        return "inside"
    return "cannot tell"


def _straddles(ph: Quantity) -> CannotTell:
    return CannotTell(f"the pH is given as {ph}, which lies on both sides of a limit")


def sewer_ph_below_federal_floor(scene: Scene, handover: Handover, params: Params) -> Outcome:
    """ph-1."""
    ph = figure(handover.get("ph"))
    if ph is None:
        return NOT_TAKEN
    if handover.kind is None:
        return CannotTell(NO_KIND)
    if handover.kind not in SEWER:
        return DoesNotApply("the place is no part of a sanitary sewer")
    side = _below(ph, params["floor"])
    if side == "cannot tell":
        return _straddles(ph)
    if side == "inside":
        return NOTHING
    permit = _permit_below(scene, handover, params["floor"])
    if permit is None:
        return Fault(f"pH {_number(ph)} to {handover.place!r}, a {handover.kind}", f"pH {params['floor']} at the least")
    return Fault(
        f"pH {_number(ph)} to {handover.place!r}, a {handover.kind}",
        f"pH {params['floor']} at the least; {permit}, and the local permit governs where the works is built for it",
        next_step="ask the sewer authority whether its works is designed for it, and keep the answer with the permit",
        severity="look at",
    )


def _permit_below(scene: Scene, handover: Handover, floor: Decimal) -> str | None:
    """A permit of the place, valid that day, that names a lower limit than the federal floor."""
    for one in scene.permissions(handover).valid:
        low = figure(one.get("ph_low"))
        if one.get("kind") == "permit" and low is not None and low.low is not None and low.low < floor:
            return f"permit {one['name']!r} allows pH {low.low}"
    return None


def ph_in_hazardous_waste_range(scene: Scene, handover: Handover, params: Params) -> Outcome:
    """ph-2."""
    ph = figure(handover.get("ph"))
    if ph is None:
        return NOT_TAKEN
    sides = (_below(ph, params["acid"], or_at=True), _above(ph, params["caustic"], or_at=True))
    if "outside" in sides:
        return Fault(
            f"pH {_number(ph)}, handed over to {handover.place!r}",
            f"pH {params['acid']} or less, or {params['caustic']} or more: the corrosive range",
        )
    return _straddles(ph) if "cannot tell" in sides else NOTHING


def ph_outside_permission(scene: Scene, handover: Handover, params: Params) -> Outcome:
    """ph-3."""
    ph = figure(handover.get("ph"))
    if ph is None:
        return NOT_TAKEN
    limits = []
    for one in scene.permissions(handover).valid:
        low, high = figure(one.get("ph_low")), figure(one.get("ph_high"))
        if low is not None and low.low is not None:
            limits.append((_below(ph, low.low), f"{one['name']!r}: pH {low.low} at the least"))
        if high is not None and high.high is not None:
            limits.append((_above(ph, high.high), f"{one['name']!r}: pH {high.high} at the most"))
    if not limits:
        return Silent(NO_LIMIT)
    broken = [words for side, words in limits if side == "outside"]
    if broken:
        return Fault(f"pH {_number(ph)}, handed over to {handover.place!r}", "; ".join(broken))
    return _straddles(ph) if any(side == "cannot tell" for side, _ in limits) else NOTHING


def _number(ph: Quantity) -> str:
    return str(ph).removesuffix(" pH")


RULES: Final = (
    Rule(
        id="ph-1",
        slug="sewer-ph-below-federal-floor",
        title=Words("pH below the federal floor for sewers", "pH por debajo del límite federal del drenaje"),
        severity="not met",
        basis="federal floor",
        citations=(Citation("40 CFR 403.5(b)(2), corrosive structural damage", READ_LATER),),
        scope="handover",
        judge=sewer_ph_below_federal_floor,
        looks_for="A pH below the floor in water handed over to a cleanout, receiving station or treatment plant. A "
        "permit on file that names a lower limit makes it 'look at'. There is no federal upper limit for sewers.",
        why="Acid water eats pipes; the floor binds every user of a sewer, except where the works is designed for "
        "less.",
        next_step="tell the sewer authority; find out what was in the load; read the pH before the next handover",
        crew=Words("The pH is too low for the sewer: call the office.", "pH bajo para el drenaje: llame a la oficina."),
        caution="Do not add caustic to a tank to raise the pH: it heats and splashes. Follow the data sheet and ask "
        "the office.",
        parameters=(Parameter("floor", Decimal("5.0"), "pH", "the federal floor", "40 CFR 403.5(b)(2)"),),
        example='line = "hand over"\nplace = "North Plant"\nph = "4.6"',
    ),
    Rule(
        id="ph-2",
        slug="ph-in-hazardous-waste-range",
        title=Words("pH in the range of hazardous waste", "pH en el rango de residuo peligroso"),
        severity="act now",
        basis="federal floor",
        citations=(Citation("40 CFR 261.22, corrosivity", READ),),
        scope="handover",
        judge=ph_in_hazardous_waste_range,
        looks_for="A pH of 2 or less, or of 12.5 or more, in water that was handed over anywhere.",
        why="Water of such a pH is a corrosive hazardous waste, with its own rules for who may carry and take it; what "
        "counts is the load as it arose, before any mixing.",
        next_step="keep the load apart; have it determined before it is mixed or moved; tell the place that took it",
        crew=Words(
            "Strong acid or caustic: keep off, do not mix, call the office.",
            "Ácido o cáustico fuerte: no lo toque, no lo mezcle, llame a la oficina.",
        ),
        caution="Wear what the data sheet asks for. Never mix acid or caustic with bleach, and never lean into a tank.",
        parameters=(
            Parameter("acid", Decimal(2), "pH", "corrosive at or below", "40 CFR 261.22"),
            Parameter("caustic", Decimal("12.5"), "pH", "corrosive at or above", "40 CFR 261.22"),
        ),
        example='line = "hand over"\nph = "12.7"',
    ),
    Rule(
        id="ph-3",
        slug="ph-outside-permission",
        title=Words("pH outside the permission's limits", "pH fuera de los límites del permiso"),
        severity="not met",
        basis="local permit",
        citations=(Citation("the permission's own words"),),
        scope="handover",
        judge=ph_outside_permission,
        looks_for="A pH below or above a limit in a permission of the place that was valid that day. Where no "
        "permission on file names one, the rule is silent and says 'no limit on file'.",
        why="Local limits are narrower than the federal floor and are what the place is held to.",
        next_step="tell the place as its permission asks; find out what was in the load",
        crew=Words("The pH is outside the permission: call the office.", "pH fuera del permiso: llame a la oficina."),
        caution="Do not add anything to a tank to change its pH without the data sheet and the office.",
        example='ph_high = "9.5"\nph = "9.8"',
    ),
)
