"""What every entry may carry besides its fields: who says so, an id of its own, when it was handed in."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

from compliance.intake.checked import Bench, Checked, today
from compliance.intake.moments import Night, check_moment
from compliance.intake.near import did_you_mean
from compliance.intake.text import check_text, shown
from compliance.intake.values import blank
from compliance.records.problem import Problem

FRAME: Final = frozenset({"id", "kind", "handed_in", "who"})
"""Keys of every entry that are no fields."""


def strange_keys(raw: Mapping[str, Any], known: tuple[str, ...], what: str, where: str, work: Bench) -> None:
    """A problem for each key that belongs neither to the entry nor to its frame."""
    for key in raw:
        if key not in known and key not in FRAME:
            step = did_you_mean(str(key), known, f"it takes {', '.join(known)}")
            work.problem(f"{shown(key)} does not belong to {what!r}", where, step)


def claimed(raw: Mapping[str, Any], where: str, work: Bench) -> str:
    """Who says so: a name, which is a claim and no log-in; '' when nobody is named."""
    who = raw.get("who")
    if blank(who):
        return ""
    name = check_text(who, f"{where}, who", name=True)
    if isinstance(name, Problem):
        work.problems.append(name)
        return ""
    return work.registers.name("person", name)


def id_text(raw: Mapping[str, Any], where: str, work: Bench) -> str:
    """The id that came with an entry, any text of one line; '' when none did."""
    if blank(raw.get("id")):
        return ""
    text = check_text(raw["id"], f"{where}, id", name=True)
    if isinstance(text, Problem):
        work.problems.append(text)
        return ""
    return text


def handed_in(raw: Mapping[str, Any], where: str, work: Bench) -> str:
    """When the entry was handed in, if it says so itself: RFC 3339 with offset; else ''."""
    if blank(raw.get("handed_in")):
        return ""
    moment = check_moment(raw["handed_in"], Night(None, None, work.night.zone), f"{where}, handed_in")
    if isinstance(moment, Problem):
        work.problems.append(moment)
        return ""
    if moment is None:
        work.problem(f"{shown(raw['handed_in'])} has no date", f"{where}, handed_in", "write 2026-09-15T06:40")
        return ""
    return moment


def named(raw: Mapping[str, Any], where: str, work: Bench, who: str) -> str:
    """Who says so, where that has to be known; who: what is taken when the entry names nobody."""
    said = claimed(raw, where, work) or who
    if not said and blank(raw.get("who")):
        work.problem("it is not said who says so", f"{where}, who", 'add who = "a name"')
    return said


def reason(raw: Mapping[str, Any], key: str, where: str, work: Bench) -> str:
    """A text of any length that explains; '' when there is none."""
    if blank(raw.get(key)):
        return ""
    text = check_text(raw[key], f"{where}, {key}")
    if isinstance(text, Problem):
        work.problems.append(text)
        return ""
    return text


def finished(
    kind: str,
    payload: dict[str, Any],
    raw: Mapping[str, Any],
    where: str,
    work: Bench,
    now: datetime,
    *,
    known: bool = False,
    event_time: str = "",
) -> Checked:
    """The outcome of a check; `known` says that the book says all of it already, so that nothing is handed in."""
    device_time, text = handed_in(raw, where, work), id_text(raw, where, work)
    if work.typed:
        payload["typed"] = work.typed
    notes = (*work.notes, f"{where}: the book says so already") if known and not work.problems else tuple(work.notes)
    return Checked(
        kind,
        None if work.problems or known else payload,
        event_time or device_time[:10] or today(now, work.night.zone),
        tuple(work.problems),
        (),
        notes,
        text,
        device_time,
    )
