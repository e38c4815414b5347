"""The dozen questions of `init`: each answer is looked at when it is given, so that a slip costs one line."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

import click

from compliance.cli.shell import Shell
from compliance.intake.checked import Bench, bench
from compliance.intake.values import check_value
from compliance.records.fields import PLACE_KINDS, SIZES_OF_SHAPE, field
from compliance.records.problem import ComplianceError
from compliance.records.quick import dataclass

_READ_BY: Final = {"1": "marks", "2": "float", "3": "not read"}
_SHAPES: Final = {str(n): shape for n, shape in enumerate(SIZES_OF_SHAPE, start=1)}
_LATER: Final = "0"


@dataclass(frozen=True)
class _Asker:
    """Asks for fields of the table. work: a bench of the book to be, in whose unit a bare number is read."""

    work: Bench

    def needed(self, text: str, group: str, name: str, default: str = "") -> str:
        """An answer that the book cannot do without; asked until there is one."""
        while not (given := self.maybe(text, group, name, default)):
            click.echo("  This one is needed.", err=True)
        return given

    def maybe(
        self, text: str, group: str, name: str, default: str = "", *, as_typed: Callable[[str], str] = str
    ) -> str:
        """An answer or '' for Enter; one that the field does not take is asked again, with the reason."""
        row = field(group, name)
        while True:
            typed: str = click.prompt(text, default=default, show_default=bool(default)).strip()
            if not typed:
                return ""
            given, work = as_typed(typed), replace(self.work, problems=[], notes=[], typed={})
            check_value(group, row, given, "", text.strip(), work, {})
            if not work.problems:
                return given
            for problem in work.problems:
                click.echo(f"  {problem.what}; {problem.next_step}", err=True)


def first_registers(shell: Shell) -> dict[str, Any]:
    """The answers as a registers entry. The business needs a name and a zone; all else may be passed over.

    Raises ComplianceError when somebody stops before the last of them, or nobody is there to answer.
    """
    try:
        return _answers(shell)
    except click.Abort:
        click.echo(err=True)
        raise ComplianceError.one(
            "the questions were stopped before the last one; no book was made",
            "washwater init",
            "begin again, Enter passes over what is not known yet; or give the answers in a file with --from",
        ) from None


def _answers(shell: Shell) -> dict[str, Any]:
    work = bench(None, shell.now())
    ask = _Asker(work)
    business: dict[str, Any] = {
        "name": ask.needed("Business name", "business", "name"),
        "unit": _choice("Unit of volume (US gallon or litre)", ("gal", "L"), "gal"),
    }
    ask = _Asker(replace(work, unit=business["unit"]))
    here = _zone_here()
    business["zone"] = ask.needed("Time zone" if here else "Time zone, like America/Denver", "business", "zone", here)
    for name, text in (("address", "Address, for your pages (Enter: later)"), ("phone", "Telephone (Enter: later)")):
        business |= _given(name, ask.maybe(text, "business", name))
    raw: dict[str, Any] = {"business": business}
    lead = ask.maybe("Your name (Enter: later)", "person", "name")
    if lead:
        role = ask.maybe("Your role", "person", "role", "owner")
        business |= {"signer": lead, "signer_role": role}
        raw["person"] = [{"name": lead, "role": role}]
    rig = ask.maybe("Nickname of your rig", "rig", "name", "Rig 1")
    raw |= {"rig": [{"name": rig}], "tank": [_tank(ask, rig)]}
    raw["place"] = _places(ask)
    raw["limit"] = [_threshold(ask)]
    return raw


def _given(name: str, answer: str) -> dict[str, str]:
    """The field with its answer; nothing where it was passed over."""
    return {name: answer} if answer else {}


def _zone_here() -> str:
    """The zone of this machine, '' where the system does not say."""
    import os

    link = Path("/etc/localtime")
    target = str(link.resolve()) if link.is_symlink() else ""
    named = os.environ.get("TZ") or (target.partition("zoneinfo/")[2] if "zoneinfo/" in target else "")
    return named if "/" in named and not named.startswith(("Etc/", ":")) else ""


def _tank(ask: _Asker, rig: str) -> dict[str, Any]:
    tank: dict[str, Any] = {"name": f"{rig} recovery", "rig": rig, "role": "recovery"}
    text = f"Capacity of its recovery tank to the float, in {ask.work.unit} (Enter: not known yet)"
    tank |= _given("capacity", ask.maybe(text, "tank", "capacity"))
    click.echo("How is the level read, from outside? Never lean into a tank.")
    how = _READ_BY[_choice("1 marks or a stick, 2 full and empty only, 3 not read", tuple(_READ_BY), "2")]
    if how == "marks":
        tank |= _shape(ask)
    return tank


def _shape(ask: _Asker) -> dict[str, str]:
    offered = ", ".join(f"{n} {shape}" for n, shape in _SHAPES.items())
    which = _choice(f"Shape: {offered}, {_LATER} later", (*_SHAPES, _LATER), "1")
    if which == _LATER:
        return {}
    found = {"shape": _SHAPES[which]}
    for size in SIZES_OF_SHAPE[_SHAPES[which]]:
        text = f"  {field('tank', size).en} (like '66 in'; Enter: later)"
        found |= _given(size, ask.maybe(text, "tank", size))
    found |= _given("mark_step", ask.maybe("  Smallest mark that can be told apart", "tank", "mark_step", "0.5 in"))
    return found


def _places(ask: _Asker) -> list[dict[str, Any]]:
    name = ask.maybe("One place where the water goes (Enter: later)", "place", "name")
    if not name:
        return []
    kinds = [choice.value for choice in PLACE_KINDS]
    for i, kind in enumerate(kinds, 1):
        click.echo(f"  {i} {kind}")
    which = _choice("Kind of place", tuple(str(i) for i in range(1, len(kinds) + 1)), "2")
    return [{"name": name, "kind": kinds[int(which) - 1]}]


def _threshold(ask: _Asker) -> dict[str, Any]:
    """Asked once; no published figure says how much must be recovered, so there is no default."""
    text = "A recovery threshold in percent, your own or a local permit's (Enter: none yet)"
    value = ask.maybe(text, "limit", "value", as_typed=lambda typed: f"{typed.rstrip('% ')} %")
    if not value:
        return {"name": "recovery ratio", "none_yet": "yes"}
    whose = _choice("Whose: 1 your own, 2 a local permit's", ("1", "2"), "1")
    own = whose == "1"
    said = "Where it stands" if own else "Where it stands (Enter: later)"
    source = ask.maybe(said, "limit", "source", "house policy" if own else "")
    whose = "house policy" if own else "local permit"
    return {"name": "recovery ratio", "value": value, "whose": whose, **_given("source", source)}


def _choice(text: str, options: tuple[str, ...], default: str) -> str:
    answer: str = click.prompt(
        text, type=click.Choice(options, case_sensitive=False), default=default, show_choices=False
    )
    return answer
