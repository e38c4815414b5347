"""The answer to an inquiry as text: plain sentences that the owner edits, and then a page made from what stands there.

Nothing in it says that nobody was there. It tells what is written down near the place and in the time, which rigs were
elsewhere by their records, of which rigs these records cannot say, and how far the records reach.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from compliance.records.answer import NOT_YET, without_value
from compliance.records.fields import SEEN_ENTERING
from compliance.records.inquiries import Inquiry
from compliance.records.sentences import local_permit_governs
from compliance.records.state import State
from compliance.reports import timeline
from compliance.reports.annex import EXCEPT
from compliance.reports.inquiry_found import (
    ALIKE,
    ELSEWHERE,
    NAME,
    NEAR,
    OFF,
    SILENT,
    SITE,
    UNSURE,
    WORDS,
    Found,
    Says,
    Spot,
)
from compliance.reports.inquiry_place import address_of
from compliance.reports.inquiry_time import MAY
from compliance.reports.model import Block, Footer, Language, Page, Paper, Paragraph
from compliance.reports.values import measure_text
from compliance.reports.words import Words

_MOST_DAYS = 10
"""Days of one rig that a letter names; the rest are counted."""


@dataclass(frozen=True)
class Demanded:
    """A sentence that an authority asks for in so many words. by: who signs it, with the role that allows it."""

    authority: str
    sentence: str
    by: str
    role: str


def letter_text(
    state: State,
    inquiry: Inquiry,
    found: Found,
    *,
    today: str,
    language: Language = "en",
    demanded: Demanded | None = None,
    without: Collection[str] = (),
) -> str:
    """The letter as text, paragraphs apart by an empty line.

    today: ISO date. demanded: words of an authority, only where one asks for them; else a plain statement stands there.
    without: 'drains', 'incidents' or 'remarks', to leave out what is withheld elsewhere too. No site or client is
    named, only addresses: the owner adds what the reader may know.
    """
    words = Words(language)
    parts = [
        "\n".join(_sender(state)),
        timeline.long_day(today, words),
        "\n".join(_to(state, inquiry, words)),
        "\n".join(_question(inquiry, found, words)),
        words("letter.records"),
        "\n".join(_answer(found, words)),
        *_near(found, words, without, named=False),
        "\n".join(_rigs(found, words)),
        "\n".join(_others(found, words)),
        words("letter.reach"),
        "\n".join(_reach(found, words)),
        "\n".join(_signed(state, words, demanded)),
        words("code", size=f"{found.size:,}", root=found.root),
    ]
    text = "\n\n".join(part for part in parts if part) + "\n"
    return text.replace("\u00a0", " ")  # an editor would not show it


def letter_page(
    text: str, *, issuer: str, number: str, title: str = "", language: Language = "en", paper: Paper = "letter"
) -> Page:
    """A letter's text, as the owner left it, as a page. number: of the inquiry, as people name it."""
    words = Words(language)
    parts = [part.strip("\n") for part in text.replace("\r\n", "\n").split("\n\n")]
    blocks: tuple[Block, ...] = tuple(Paragraph(part) for part in parts if part.strip())
    footer = Footer(local_permit_governs(language))
    return Page("letter", title or words("letter.title"), number, language, paper, (), blocks, footer, issuer)


def answer_lines(found: Found, words: Words) -> Iterator[str]:
    """What was found, line by line, as the letter says it: for the one who answers the telephone."""
    yield words("letter.place", place=_place(found, words))
    yield from _answer(found, words)
    for part in _near(found, words):
        yield from part.split("\n")
    yield from _rigs(found, words)
    yield from _others(found, words)
    yield from _reach(found, words)


# ---- who, what, when ---------------------------------------------------------------------------------------------


def _sender(state: State) -> list[str]:
    return [str(state.business[name]) for name in ("name", "address", "phone") if _known(state.business.get(name))]


def _known(value: object) -> bool:
    return without_value(value) is None


def _to(state: State, inquiry: Inquiry, words: Words) -> Iterator[str]:
    to = ", ".join(str(inquiry.get(name)) for name in ("asked_by", "behalf") if _known(inquiry.get(name)))
    yield words("letter.to", name=to or words("letter.to_nobody"))
    if _known(inquiry.get("case")):
        yield words("letter.case", case=inquiry.get("case"))
    yield words("letter.ours", ref=inquiry.ref)
    followed = state.inquiry(inquiry.follows) if inquiry.follows else None
    if followed is not None:
        yield words("letter.follows", ref=followed.ref)


def _question(inquiry: Inquiry, found: Found, words: Words) -> Iterator[str]:
    asked, how, alleged = (inquiry.get(name) for name in ("asked", "how", "alleged"))
    if _known(asked):
        key = "letter.asked" if _known(how) else "letter.asked_somehow"
        yield words(key, when=timeline.moment(str(asked), words), how=how)
    else:
        yield words("letter.asked_some_day", how=how) if _known(how) else words("letter.asked_unknown")
    if _known(alleged):
        yield words("letter.alleged", what=alleged)
    yield words("letter.place", place=_place(found, words))
    yield words("letter.time", time=_time(found, words))


def _place(found: Found, words: Words, *, short: bool = False) -> str:
    """All that was told of the place; short: a site by its name alone, for within a sentence."""
    asked = found.asked
    said = [asked.place] if asked.place else []
    if asked.position:
        said.append(words("letter.around", feet=_feet(asked.radius), position=asked.position))
    said += [words("letter.drain", name=asked.drain)] if asked.drain else []
    if asked.site:
        said.append(asked.site if short else _site(found, words))
    return "; ".join(said) or words("letter.words", said=asked.words)


def _site(found: Found, words: Words) -> str:
    """A site by its name, with what it was compared by; a name alone can be spelled in two ways."""
    asked = found.asked
    if not asked.site_known:
        return words("letter.site.unknown", name=asked.site)
    at = [asked.site_address] if asked.site_address else []
    if asked.site_position:
        at.append(words("letter.around", feet=_feet(asked.radius), position=asked.site_position))
    return words("letter.site.at", name=asked.site, at="; ".join(at)) if at else words("letter.site", name=asked.site)


def _feet(feet: object) -> str:
    text = f"{feet}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _time(found: Found, words: Words) -> str:
    zone = ZoneInfo(found.asked.zone)
    start = found.asked.windows[0].start.astimezone(zone).isoformat()
    end = found.asked.windows[-1].end.astimezone(zone).isoformat()
    span = words("span", start=timeline.moment(start, words), end=timeline.moment(end, words))
    span = _on_its_day(span, found, words)
    return f"{span} ({timeline.zone([start, end], found.asked.zone)})"


def _on_its_day(span: str, found: Found, words: Words) -> str:
    """A time, with the weekday on which alone it was looked at."""
    weekday = found.asked.weekday
    return words("letter.weekday", span=span, day=words.choice("inquiry", "weekday", weekday)) if weekday else span


# ---- what the records say ----------------------------------------------------------------------------------------


def _answer(found: Found, words: Words) -> Iterator[str]:
    zone = ZoneInfo(found.asked.zone)
    entered = datetime.fromisoformat(found.entered).astimezone(zone).isoformat()
    until = timeline.moment(entered, words)
    matched = any(spot.matched for spot in found.near)
    key = "letter.near" if matched else "letter.like" if found.near else "letter.none"
    if not found.asked.placed:
        key = "letter.only_words"
    ends = [found.asked.windows[0].start, found.asked.windows[-1].end]
    start, end = (timeline.moment(one.astimezone(zone).isoformat(), words) for one in ends)
    end = _on_its_day(end, found, words)
    place = _place(found, words, short=True)
    said = found.asked.words
    yield words(key, entered=until, where=_where(found, words), place=place, start=start, end=end, said=said)
    if found.nowhere and found.asked.placed and not found.near:
        yield words("letter.nowhere")
    if not found.says:
        yield words("letter.no_rigs")
    if len(found.asked.windows) > 1:
        yield words("letter.day_by_day", n=len(found.asked.windows))
    if found.before_book:
        yield words("letter.before_book")
    if found.not_over:
        yield words("letter.not_over")


def _where(found: Found, words: Words) -> str:
    asked = found.asked
    if asked.position and not (asked.place or asked.site or asked.drain):  # else it may be near by those
        return words("letter.within", feet=_feet(asked.radius), position=asked.position)
    return words("letter.alike", place=_place(found, words, short=True))


def _near(found: Found, words: Words, without: Collection[str] = (), *, named: bool = True) -> Iterator[str]:
    """One paragraph a stop that is near, those first at which water got away or a drain was reached.

    named: whether a site without an address stands there by its name, which is a client's often enough.
    """
    told = {(spot.run.record, line.n) for spot in found.near if spot.line.kind != "stop" for line in spot.escapes}
    for spot in found.near:
        elsewhere = told if spot.line.kind == "stop" else ()
        yield "\n".join(_spot(spot, _spot_place(spot, words, named), words, without, elsewhere))


def _spot_place(spot: Spot, words: Words, named: bool) -> str:
    """The address of a stop; without one its name, where it may be named or was named by who asked."""
    asked_by_name = any(known in (SITE, NAME) for known, _ in spot.how)
    typed = address_of(spot.name)  # an address in the place of a site's name
    if spot.address or named or asked_by_name or spot.line.kind != "stop" or (typed and typed.number is not None):
        return spot.address or spot.name
    return words("letter.no_address", answer=words.unknown(NOT_YET))


def _spot(
    spot: Spot, place: str, words: Words, without: Collection[str], told: Collection[tuple[str, str]]
) -> Iterator[str]:
    """told: (run, line) of water that got away at a place that is near as well, where it is told."""
    known_by = [one for one in spot.how if one[0] != WORDS or "remarks" not in without]
    how = "; ".join(words(f"letter.how.{known.replace(' ', '_')}", said=said) for known, said in known_by)
    yield words("letter.spot", rig=spot.rig, run=spot.run.ref, n=spot.line.n, place=place, how=how)
    yield words("letter.spot_time", time=spot_time(spot, words))
    answers = {"drains": "drains", "got_away": "incidents"} if spot.line.kind == "stop" else {}
    for name in (name for name, part in answers.items() if part not in without):
        answer = spot.line.get(name) if spot.line.get(name) is not None else spot.run.get(name)
        said = _chosen("stop", name, answer, words)
        if answer == EXCEPT:
            said = _excepted(spot, words, without)
        elif name == "got_away" and answer == "yes" and spot.line.get(name) is None:
            said = _of_the_run(spot, said, words)
        yield words("letter.crew", label=words.label("stop", name), answer=said)
    for line in spot.escapes if "incidents" not in without else ():
        if (spot.run.record, line.n) in told:
            continue
        reached = _chosen("escape", "reached", line.get("reached"), words)
        amount = measure_text(line.get("amount"), words)
        yield words("letter.escape", what=line.get("what"), amount=amount, reached=reached)
    for drain in spot.drains if "drains" not in without else ():
        seen = _chosen("drain", "seen", drain.get("seen"), words)
        key = "letter.drain_entered" if drain.get("seen") == SEEN_ENTERING else "letter.drain_kept"
        method = _chosen("drain", "method", drain.get("method"), words)
        yield words(key, name=drain.get("name"), method=method, seen=seen)


def _excepted(spot: Spot, words: Words, without: Collection[str]) -> str:
    """What was otherwise with the drains, where 'except' alone would say neither what nor where."""
    own = spot.line.get("drains") == EXCEPT
    if spot.drains:
        return words("drains.except.listed")
    if own:
        remark = spot.line.get("remark")
        if _known(remark) and "remarks" not in without:
            return words("drains.except.remark", remark=remark)
        return words("drains.except.unsaid", answer=words.unknown(NOT_YET))
    stops = [line for line in spot.run.lines if line.kind == "stop" and line.n != spot.line.n]
    if any(line.get("drains") == EXCEPT or line.get("drain_list") for line in stops):
        return words("drains.except.elsewhere")
    return words("drains.except.nowhere", answer=words.unknown(NOT_YET))


def _of_the_run(spot: Spot, yes: str, words: Words) -> str:
    """That water got away, where that was said of the run and not of this stop."""
    stops = [line for line in spot.run.lines if line.kind == "stop" and not _known(line.get("not_worked"))]
    if spot.heard or len(stops) < 2:
        return yes
    seen = any(one.get("seen") == SEEN_ENTERING for stop in stops for one in stop.get("drain_list") or ())
    told = any(line.kind == "escape" for line in spot.run.lines) or any(stop.get("got_away") == "yes" for stop in stops)
    if seen or told:
        return words("away.elsewhere")
    return words("letter.away.nowhere", answer=words.unknown(NOT_YET))


def _chosen(group: str, name: str, value: object, words: Words) -> str:
    """An answer in the letter's language, a typed text as typed, or that there is none."""
    return words.choice(group, name, str(value)) if _known(value) else words.unknown(without_value(value) or "")


def spot_time(spot: Spot, words: Words) -> str:
    """When a stop was worked, as stated or between what is known; and whether that settles it."""
    times = spot.times
    if times.start and times.start == times.end:
        text = timeline.moment(times.start, words)
    elif times.start or times.end:
        text = timeline.span(times.start, times.end, words)
    else:
        low, high = (one.isoformat() for one in (times.low, times.high))
        text = words("letter.between", start=timeline.moment(low, words), end=timeline.moment(high, words))
    return words("letter.may", time=text) if spot.when == MAY else text


def _rigs(found: Found, words: Words) -> Iterator[str]:
    """Rig by rig, those of one answer together where there is one night to tell of."""
    for verdict in (NEAR, ALIKE, ELSEWHERE, UNSURE, OFF, SILENT):
        rigs = found.rigs(verdict)
        if not rigs:
            continue
        if len(found.asked.windows) == 1:
            yield from _one_night(verdict, rigs, words)
        else:
            yield from (_days(verdict, rig, said, words) for rig, said in rigs.items())


def _one_night(verdict: str, rigs: Mapping[str, Sequence[Says]], words: Words) -> Iterator[str]:
    said = [one for each in rigs.values() for one in each]
    runs = "" if verdict == SILENT else _runs(said)
    label = words("letter.rig.one" if len(rigs) == 1 else "letter.rig.several", names=", ".join(rigs))
    key = f"letter.says.{verdict.replace(' ', '_')}"
    why = "; ".join(dict.fromkeys(one.why for one in said if one.why))
    yield words(key, rig=label, runs=runs, why=why)
    cancelled = [run for one in said for run in one.runs if run.cancelled is not None]
    if verdict == SILENT and cancelled:
        yield words("letter.cancelled", runs="; ".join(f"{run.ref} ({run.cancelled})" for run in cancelled))


def _runs(said: Iterable[Says]) -> str:
    return ", ".join(dict.fromkeys(run.ref for one in said for run in one.runs if run.cancelled is None))


def _days(verdict: str, rig: str, said: Sequence[Says], words: Words) -> str:
    days = [timeline.short_day(one.window.start.date().isoformat(), words) for one in said]
    named = ", ".join(days[:_MOST_DAYS])
    if len(days) > _MOST_DAYS:
        named = words("letter.more_days", days=named, n=len(days) - _MOST_DAYS)
    return words(f"letter.days.{verdict.replace(' ', '_')}", rig=rig, days=named)


def _others(found: Found, words: Words) -> Iterator[str]:
    """What is near and not counted: at other times, not worked, by a word alone, in old files."""
    near = [spot for spot in found.other if spot.near]
    unworked = [spot for spot in near if not spot.worked]
    later = [spot for spot in near if spot.worked]
    said = [spot for spot in found.other if not spot.near]
    if unworked:
        yield words("letter.unworked", runs=_named(unworked))
    if later:
        yield words("letter.other_times", runs=_named(later))
    if said:
        yield words("letter.said", said=found.asked.words, runs=_named(said))
    if found.old:
        yield words("letter.old", n=len(found.old), days=", ".join(dict.fromkeys(row.day for row, _ in found.old)))


def _named(spots: Iterable[Spot]) -> str:
    return ", ".join(dict.fromkeys(f"{spot.run.ref} / {spot.line.n}" for spot in spots))


def _reach(found: Found, words: Words) -> Iterator[str]:
    yield words("letter.positions_measured") if found.asked.positions else words("letter.positions_typed")
    yield words("letter.subcontractors")
    yield words("letter.claims")


def _signed(state: State, words: Words, demanded: Demanded | None) -> Iterator[str]:
    if demanded is None:
        yield words("letter.statement")
        name, role = (str(state.business.get(one) or "") for one in ("signer", "signer_role"))
    else:
        yield words("letter.demanded", authority=demanded.authority)
        yield demanded.sentence
        name, role = demanded.by, demanded.role
    yield ""
    yield "_" * 32
    yield ", ".join(part for part in (name, role) if part)
