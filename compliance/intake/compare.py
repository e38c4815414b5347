"""What a figure is compared with, once it is in: the reading before it (see `last`), what was expected, the ratio."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from compliance.intake.last import going_on, went_on
from compliance.intake.question import Setting
from compliance.intake.values import check_value
from compliance.records.answer import WRITTEN
from compliance.records.fields import field
from compliance.records.measure import LEVEL_WORDS
from compliance.records.names import folded

if TYPE_CHECKING:
    from compliance.water.volume import Volume

FIRST_LOOKS: Final = ("start", "before", "shows")
"""The readings that continue where the last one ended."""


def compare_after(key: str, value: str, raw: Mapping[str, Any], setting: Setting) -> str | None:
    """What to show once the answer to a question is in, or None.

    key: of the question just answered. raw: the entry up to there. Nothing of it is shown before: who knows what is
    expected no longer reads what is there.
    """
    if not value or value in WRITTEN:
        return None
    parts = [_last_reading(key, value, raw, setting), _expected(key, raw, setting), _ratio(key, raw, setting)]
    shown = [part for part in parts if part is not None]
    return ". ".join(shown) if shown else None


def _last_reading(key: str, value: str, raw: Mapping[str, Any], setting: Setting) -> str | None:
    path, _, part = key.rpartition("/")
    found = _read_from(path, part, raw)
    if found is None:
        return None
    name, before = found
    stands = going_on(setting.last, before, str(raw["rig"]), str(raw.get("date", "")), setting.registers)
    last = stands.get(folded(name))
    if last is None:
        return None
    shown, bracket, day = last.partition(" (")
    shown = setting.say(shown) if shown in LEVEL_WORDS else shown
    text = setting.say("last reading", name=name, last=f"{shown}{bracket}{day}")
    register = part == "start" or setting.registers.find("instrument", name) is not None
    went = went_on(setting.registers, name, last, value) if register else None
    return text if went is None or went < 0 else f"{text}; {setting.say('since', difference=went)}"


def _read_from(path: str, part: str, raw: Mapping[str, Any]) -> tuple[str, Sequence[Mapping[str, Any]]] | None:
    """The tank or instrument that a first look was at, and the lines of this night before it."""
    if part not in FIRST_LOOKS:
        return None
    lines = raw.get("line", ())
    number, _, name = path.rpartition("/") if part != "shows" else (path, "", "")
    line = lines[int(number) - 1] if number.isdigit() and int(number) <= len(lines) else None
    before = lines[: int(number) - 1] if line is not None else ()
    if part == "shows":
        return None if line is None else (str(line.get("of", "")), before)
    form = (raw if line is None else line).get(name)
    return (str(form.get("meter") or form.get("tank") or ""), before) if isinstance(form, Mapping) else None


def _expected(key: str, raw: Mapping[str, Any], setting: Setting) -> str | None:
    """What the caller expects, or else what it was the last time for this rig."""
    if key in setting.usual:
        return setting.say("usual", usual=setting.usual[key])
    name = key.split("/")[0]
    if figure_of(name, raw.get(name), setting) is None:
        return None
    rig = setting.registers.key("rig", str(raw["rig"]))
    for run in reversed(setting.state.runs):
        if run.cancelled is None and setting.registers.key("rig", str(run.get("rig"))) == rig:
            last = figure_of(name, run.get(name), setting)
            if last is not None and last.low == last.high:
                return setting.say("last time", amount=last.low, unit=setting.state.unit, day=run.day)
    return None


def _ratio(key: str, raw: Mapping[str, Any], setting: Setting) -> str | None:
    """The recovery ratio, once used and recovered are both in."""
    if key.split("/")[0] != "recovered":
        return None
    recovered, used = (figure_of(name, raw.get(name), setting) for name in ("recovered", "used"))
    if recovered is None or used is None:
        return None
    from compliance.water.ratio import NoRatio, recovery_ratio

    ratio = recovery_ratio(recovered, used)
    if isinstance(ratio, NoRatio) or ratio.value is None:
        return None
    kind = setting.say(ratio.kind) if ratio.kind in ("at most", "at least") else ""
    return setting.say("ratio", kind=kind, ratio=(ratio.value * 100).quantize(Decimal(1)))


def figure_of(name: str, value: Any, setting: Setting) -> Volume | None:
    """A volume of the run, raw or stored, as the calculator sees it; None when it has no figure (yet)."""
    if name not in ("used", "recovered") or value is None:
        return None
    from compliance.water.methods import Gauges, Who
    from compliance.water.results import Line
    from compliance.water.volume import Unknown

    stored = check_value("run", field("run", name), value, name, "", setting.bench(), {})
    gauges = Gauges(setting.registers, setting.state.unit)
    figure = gauges.known(stored, Line("", ""), Who(), what=name).figure
    return None if isinstance(figure, Unknown) else figure
