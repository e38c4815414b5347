"""A question from outside, as it came in and as it went on; nearly all of it may be unknown."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date, datetime, time, timedelta
from typing import Any, Final

from compliance.intake.checked import Bench, Checked, bench
from compliance.intake.frame import FRAME, finished, named, reason, strange_keys
from compliance.intake.moments import Night, check_date, check_moment, clock_of
from compliance.intake.near import did_you_mean
from compliance.intake.spots import find_record
from compliance.intake.text import check_text, shown, words
from compliance.intake.values import MOST_ITEMS, blank, check_fields, speak
from compliance.records import kinds
from compliance.records.answer import WRITTEN
from compliance.records.fields import field
from compliance.records.inquiries import CLOSED, HELD, REOPENED, SEARCHED, SENT, STEPS, Inquiry, called
from compliance.records.problem import Problem
from compliance.records.state import State

_MOMENTS: Final = ("asked", "first", "until", "due")
_OTHERS: Final = frozenset({"inquiry", "follows", "why"})
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
_SHA256 = re.compile(r"[0-9a-f]{64}")


def check_inquiry(raw: Mapping[str, Any], *, state: State, where: str, now: datetime, who: str = "") -> Checked:
    """An inquiry that is opened: fields of the group 'inquiry' and follows (the name of an earlier one).

    With `inquiry`, the name of one that is there: what is said of it now, and why. A time needs its date; a date alone
    is taken as the whole day, and for 'asked' and 'due' as no more than that.
    """
    work = bench(state, now)
    plain = {key: value for key, value in raw.items() if key not in _MOMENTS}
    fields = check_fields("inquiry", plain, "", where, work, extra=FRAME | _OTHERS)
    for name in _MOMENTS:
        found = _moment(name, raw.get(name), where, work)
        if found is not None:
            fields[name] = found
    changed = _named_inquiry(raw, "inquiry", state, where, work)
    follows = _named_inquiry(raw, "follows", state, where, work)
    said = named(raw, where, work, who)
    _ends(fields if changed is None else {**changed.fields, **fields}, where, work)
    if "inquiry" in raw:
        if follows is not None:
            work.problem("what it follows is said when it is opened", f"{where}, follows", "leave 'follows' out")
        why = reason(raw, "why", where, work)
        if not why:
            work.problem("it is not said why it is changed", f"{where}, why", "say why in words")
        new = {k: v for k, v in fields.items() if changed is None or changed.get(k) != v}
        payload = {"inquiry": "" if changed is None else changed.record, "fields": new, "why": why, "who": said}
        return finished(kinds.INQUIRY, payload, raw, where, work, now, known=not new)
    if not blank(raw.get("why")):
        work.problem("'why' is of a change", f"{where}, why", "leave it out, or name the inquiry that is changed")
    if not fields and not work.problems:
        work.problem("nothing is said of what was asked", where, "write at least who asked, or where, or when")
    payload = {"fields": fields, "who": said} | ({"follows": follows.record} if follows is not None else {})
    follow = "" if follows is None else follows.record
    known = any(one.fields == fields and one.follows == follow and not one.changes for one in state.inquiries)
    return finished(kinds.INQUIRY, payload, raw, where, work, now, known=known and blank(raw.get("id")))


def check_step(raw: Mapping[str, Any], *, state: State, where: str, now: datetime, who: str = "") -> Checked:
    """What was done about an inquiry: {inquiry, step, holds, who} and what goes with the step.

    step: one of `records.inquiries.STEPS`. holds: names of runs, or ids of records, to be kept on hold. sent has to,
    how and files [{name, sha256, size}]; held, closed and opened again have why; searched has search, which the search
    itself makes.
    """
    work = bench(state, now)
    known = ("inquiry", "step", "holds", "to", "how", "files", "why", "search")
    strange_keys(raw, known, kinds.INQUIRY_STEP, where, work)
    if blank(raw.get("inquiry")):
        work.problem("it is not said which inquiry", f"{where}, inquiry", _which(state))
    inquiry = _named_inquiry(raw, "inquiry", state, where, work)
    step = (words(raw.get("step")) or "").strip().casefold()
    if step not in STEPS:
        fault = f"{shown(raw.get('step'))} is not a step" if step else "it is not said what was done"
        work.problem(fault, f"{where}, step", did_you_mean(step, STEPS, f"use one of: {', '.join(STEPS)}"))
    if inquiry is not None and step in (CLOSED, REOPENED) and inquiry.is_open == (step == REOPENED):
        now_ = "open" if inquiry.is_open else "closed"
        work.problem(f"{inquiry.ref} is {now_} already", where, "look at it with `washwater inquiry show`")
    payload: dict[str, Any] = {
        "inquiry": "" if inquiry is None else inquiry.record, "step": step,
        "holds": _holds(raw.get("holds", ()), state, where, work),
        "who": named(raw, where, work, who),
    }  # fmt: skip
    if step == SENT:
        payload |= {"to": _line(raw, "to", where, work), "how": reason(raw, "how", where, work),
                    "files": _files(raw.get("files"), where, work)}  # fmt: skip
    elif step in (HELD, CLOSED, REOPENED):
        payload["why"] = reason(raw, "why", where, work)
        if not payload["why"]:
            work.problem("it is not said why", f"{where}, why", "say why in words")
    elif step == SEARCHED:
        if not isinstance(raw.get("search"), Mapping):
            work.problem("a search is written down by the search", where, "use `washwater inquiry search --keep`")
        else:
            payload |= dict(raw["search"])
    if step == HELD and not raw.get("holds"):
        work.problem("it is not said what to keep on hold", f"{where}, holds", 'write holds = ["2026-09-14-big-blue"]')
    again = inquiry is not None and step not in (CLOSED, REOPENED) and _same(inquiry, payload)
    return finished(kinds.INQUIRY_STEP, payload, raw, where, work, now, known=again)


def _same(inquiry: Inquiry, payload: Mapping[str, Any]) -> bool:
    """Whether the last step of this kind says the same already."""
    last = next((step for step in reversed(inquiry.steps) if step.what == payload["step"]), None)
    return last is not None and dict(last.said) == dict(payload)


def _which(state: State) -> str:
    names = ", ".join(one.ref for one in state.inquiries)
    return f"name one of: {names}" if names else "open it first, with `washwater inquiry open`"


def _named_inquiry(raw: Mapping[str, Any], key: str, state: State, where: str, work: Bench) -> Inquiry | None:
    if blank(raw.get(key)):
        return None
    name = (words(raw[key]) or "").strip()
    found = state.inquiry(name)
    several = called(state.inquiries, name)
    if found is None and several:
        names = ", ".join(one.ref for one in several)
        what = f"{shown(name)} is the name of {len(several)} inquiries"
        work.problem(what, f"{where}, {key}", f"name one of: {names}")
    elif found is None:
        work.problem(f"no inquiry is called {shown(name)}", f"{where}, {key}", _which(state))
    elif found.cancelled is not None:
        work.problem(f"{found.ref} is cancelled", f"{where}, {key}", "name one that counts")
        return None
    return found


def _moment(name: str, raw: Any, where: str, work: Bench) -> str | None:
    """A moment with its date. A date alone: the beginning or the end of that day for a span, else the date itself."""
    row = field("inquiry", name)
    here = f"{where}, {row.en} ({name})"
    if blank(raw):
        return None
    text = (words(raw) or "").strip()
    if speak(text) in WRITTEN:
        return speak(text)
    found: str | Problem | None
    if _DAY.fullmatch(text):
        found = check_date(text, here)
        if isinstance(found, str) and name in ("first", "until"):
            day = date.fromisoformat(found) + timedelta(days=name == "until")
            found = check_moment(datetime.combine(day, time()), work.night, here)
    elif clock_of(raw) is None and ":" not in text:  # meant as a date; advice about the hour would be refused again
        found = check_date(text, here)
    else:
        found = check_moment(raw, Night(None, None, work.night.zone), here)
    if found is None:
        found = Problem(f"{shown(raw)} has no date", here, "write the date too, like 2026-09-03T21:30")
    kept: str | None = work.keep(found, name, raw)
    return kept


def _ends(fields: Mapping[str, Any], where: str, work: Bench) -> None:
    first, until = fields.get("first"), fields.get("until")
    if any(not isinstance(end, str) or end in WRITTEN for end in (first, until)):
        return
    if datetime.fromisoformat(str(until)) <= datetime.fromisoformat(str(first)):
        work.problem(f"it ends ({until}) before it begins ({first})", f"{where}, until", "look at both")


def _holds(raw: Any, state: State, where: str, work: Bench) -> list[str]:
    if not isinstance(raw, list | tuple) or len(raw) > MOST_ITEMS:
        work.problem(f"'holds' is {shown(raw)}, not a list of records", f"{where}, holds", 'write holds = ["..."]')
        return []
    found = []
    for name in raw:
        record = find_record(name, state, f"{where}, holds")
        if isinstance(record, Problem):
            work.problems.append(record)
        else:
            found.append(record[0])
    return list(dict.fromkeys(found))


def _line(raw: Mapping[str, Any], key: str, where: str, work: Bench) -> str:
    text = check_text(raw.get(key), f"{where}, {key}", name=True) if not blank(raw.get(key)) else ""
    if isinstance(text, Problem):
        work.problems.append(text)
        return ""
    if not text:
        work.problem(f"{key!r} is missing", f"{where}, {key}", "say to whom it was sent")
    return text


def _files(raw: Any, where: str, work: Bench) -> list[dict[str, Any]]:
    """What was sent, by the hash of its bytes."""
    here = f"{where}, files"
    step = 'write files = [{name = "letter.pdf", sha256 = "...", size = 1234}]'
    if not isinstance(raw, list | tuple) or not raw or not all(isinstance(one, Mapping) for one in raw):
        work.problem("it is not said which files were sent", here, step)
        return []
    found = []
    for one in raw:
        name, sha256, size = words(one.get("name")) or "", words(one.get("sha256")) or "", words(one.get("size")) or ""
        if not name or not _SHA256.fullmatch(sha256) or not size.isdigit():
            work.problem(f"{shown(name)} comes without its SHA-256 or its size", here, step)
        else:
            found.append({"name": name, "sha256": sha256, "size": int(size)})
    return found
