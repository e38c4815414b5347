"""The kinds of question of which a night is made: a choice, a name, an amount, a level, a time, a text.

Each is a generator that yields its questions and returns the raw value for the validator: None when it was passed
over (not recorded yet), 'not read' when somebody says so.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any, Final

from compliance.intake.last import went_on
from compliance.intake.moments import Night, check_moment, clock_of, clock_time
from compliance.intake.near import nearest
from compliance.intake.question import FEW, KEY, LINE, Option, Question, Setting, numbered
from compliance.intake.text import check_text
from compliance.intake.values import check_value, speak
from compliance.intake.wording import weekday
from compliance.records.answer import NOT_READ, WRITTEN
from compliance.records.fields import HEIGHT_OF_SHAPE, Field, field
from compliance.records.measure import LEVEL_WORDS
from compliance.records.names import folded
from compliance.records.problem import Problem
from compliance.records.quantity import VOLUME, stored
from compliance.records.views import Fields

Asking = Generator[Question, str, Any]
"""Yields questions, takes their answers, returns a raw value."""

TYPED: Final = "\0other"
"""Stands for 'another, by name' until the name is there."""

AS_LEFT: Final = " count"
"""Ends a register figure of which somebody says that it stands where it was read last; who typed one gave none."""

MOST_OFFERED: Final = 30
"""Names offered by number: more than that are searched longer than one is typed."""

Reader = Callable[[str], "str | Problem"]


def ask(question: Question) -> Generator[Question, str, str]:
    """One question; its answer as it is kept."""
    answer = yield question
    return answer


def choice(
    setting: Setting, key: str, group: str, name: str, *, text: str = "", labels: Mapping[str, str] | None = None
) -> Asking:
    """One of the answers of a field by a digit; Enter passes it over. labels: of answers that say more here."""
    row = field(group, name)
    said = labels or {}
    options = numbered([(option.value, said.get(option.value, setting.label(option))) for option in row.choices])
    answer = yield from ask(
        Question(
            key,
            text or setting.label(row),
            KEY,
            options,
            setting.say("enter not yet"),
            hint=setting.say("hint key"),
            help=row.help,
        )
    )
    return answer or None


def name(
    setting: Setting,
    key: str,
    text: str,
    known: Sequence[str],
    *,
    more: Sequence[Option] = (),
    needed: bool = True,
    enter: str = "",
    one_key: bool = True,
    recent: Sequence[str] = (),
) -> Asking:
    """A name of a register by its number, or any other as it is typed; more: answers besides names.

    A few are told apart by one key; where many are, or `one_key` is off, number or name are typed. Of a long register
    the names used of late are offered, and any other is typed; one that is near a known name is asked back once.
    """
    few = one_key and 0 < len(known) <= FEW
    offered = known if len(known) <= MOST_OFFERED else list(dict.fromkeys([*recent, *known]))[:MOST_OFFERED]
    options = (*numbered([(entry, entry) for entry in offered]), *more)
    passed = None if needed else enter or setting.say("enter not yet")
    if few:
        options = (*options, Option("o", TYPED, setting.say("other")))
        answer = yield from ask(Question(key, text, KEY, options, passed, hint=setting.say("hint key")))
        if answer != TYPED:
            return answer or None
        key, passed = f"{key}/name", None
        options = tuple(more)
    hint = setting.say("hint name" if options else "hint new name")
    read = _name_reader(setting, text, hint)
    answer = yield from ask(Question(key, text, LINE, options, passed, hint=hint, read=read))
    if not answer:
        return None
    return (yield from _asked_back(setting, key, answer, [*known, *(option.value for option in more)]))


def _asked_back(setting: Setting, key: str, answer: str, known: Sequence[str]) -> Asking:
    if any(folded(answer) == folded(entry) for entry in known):
        return answer
    near = nearest(answer, known)
    if near is not None:
        options = numbered([(near, setting.say("near yes", near=near)), (answer, setting.say("near no", name=answer))])
    elif known and len(answer.strip()) == 1:  # a key of another list, pressed here
        options = numbered([(answer, setting.say("near alone", name=answer))])
    else:
        return answer
    text = setting.say("near", name=answer)
    return (yield from ask(Question(f"{key}/near", text, KEY, options, hint=setting.say("hint key"))))


def _name_reader(setting: Setting, where: str, hint: str) -> Reader:
    """Takes a name; digits alone are a number that is not in the list, and no rig, person or site is called that."""

    def read(typed: str) -> str | Problem:
        if typed.strip().isdecimal():
            return Problem(setting.say("no such number", number=typed.strip()), where, hint)
        return check_text(typed, where, name=True)

    return read


def text(setting: Setting, key: str, group: str, name: str, *, label: str = "", needed: bool = False) -> Asking:
    """A text of one line; Enter passes it over unless it is needed, and then 'not known' is an answer too."""
    row = field(group, name)
    label = label or setting.label(row)

    def read(typed: str) -> str | Problem:
        found = check_text(typed, label)
        return found if isinstance(found, Problem) else found.strip()

    passed = None if needed else setting.say("enter not yet")
    unknown = setting.say("not known")  # a text like any other, in the words of who says so
    options = (Option("n", unknown, unknown),) if needed else ()
    question = Question(key, label, LINE, options, passed, hint=setting.say("hint text"), help=row.help, read=read)
    return (yield from ask(question)) or None


def moment(setting: Setting, key: str, night: Night) -> Asking:
    """A time of the night, or that nobody looked; Enter passes it over.

    An hour alone may be of the morning or of the evening, and is asked back; the first time is asked for its day,
    which nothing else tells.
    """
    label = setting.say("at")

    def read(typed: str) -> str | Problem:
        hours = _hours(typed)
        found = check_moment(hours[-1], night, label) if hours else check_moment(typed, night, label)
        return found if isinstance(found, Problem) else typed.strip()

    unseen, hint = (_not_looked(setting),), setting.say("hint time")
    typed = yield from ask(Question(key, label, LINE, unseen, setting.say("enter not yet"), hint=hint, read=read))
    hours = _hours(typed)
    if len(hours) > 1:
        halves = numbered([(hour, hour) for hour in hours])
        typed = yield from ask(Question(f"{key}/half", label, KEY, halves, hint=setting.say("hint key")))
    elif hours:
        typed = hours[0]
    clock = clock_time(typed)
    if clock is None or night.first is not None or night.day is None:
        return typed or None
    days = [night.day + timedelta(days=after) for after in (0, 1)]
    options = numbered(
        [(f"{day}T{clock:%H:%M}", f"{day} {clock:%H:%M}, {weekday(day, setting.language)}") for day in days]
    )
    return (yield from ask(Question(f"{key}/day", setting.say("on day"), KEY, options, hint=setting.say("hint key"))))


def _hours(typed: str) -> list[str]:
    """The times that an hour without minutes may mean: '6' is 06:00 or 18:00, '22' is 22:00 alone."""
    text = typed.strip()
    if not (text.isascii() and text.isdecimal() and len(text) <= 2 and int(text) < 24):
        return []
    hour = int(text)
    return [f"{hour % 12:02}:00", f"{hour % 12 + 12:02}:00"] if 1 <= hour <= 12 else [f"{hour:02}:00"]


def after_first(night: Night, answer: Any) -> Night:
    """The night from its first time on: what comes earlier on the clock is after midnight."""
    clock = clock_of(answer) if answer is not None and night.first is None else None
    return night if clock is None else replace(night, day=clock[0], first=clock[1])


def night(setting: Setting, day: str) -> Night:
    """The night of a run, before any time is known."""
    return Night(date.fromisoformat(day), None, setting.bench().night.zone)


def amount_hint(setting: Setting) -> str:
    """What is taken for a volume, with the unit that a bare figure is read in."""
    return setting.say("hint amount", unit=setting.say(f"in {setting.state.unit}"))


def amount(setting: Setting, key: str, row: Field, *, label: str, holds: Fields | None = None) -> Asking:
    """A volume in figures, 'not read', or nothing yet; more than the tank `holds` is asked again."""
    hint, passed = amount_hint(setting), setting.say("enter not yet")
    read = reader(setting, "run", row, label, {})
    question = Question(key, label, LINE, (_not_read(setting),), passed, hint=hint, help=row.help, read=read)
    answer = yield from ask(question)
    return (yield from again(setting, question, answer, row, holds)) or None


def figure(
    setting: Setting,
    key: str,
    label: str,
    *,
    beside: Mapping[str, Any],
    level: bool,
    needed: bool = False,
    before: str | None = None,
    left: bool = False,
) -> Asking:
    """What an instrument or a tank shows, 'not read', or nothing yet unless it is needed.

    A level above what the tank of that name holds is asked again, and a register below what it showed before. before:
    that figure, where it was typed just now; else the last reading. left: offer that it stands where it was read last.
    """
    row, of = field("reading", "shows"), str(beside.get("of") or "")
    last = before or (None if level else setting.last.get(folded(of)))
    passed = None if needed else setting.say("enter not yet")
    marks = [Option(word[0], word, setting.say(word)) for word in LEVEL_WORDS] if level else []
    stands = [Option("u", last.partition(" ")[0] + AS_LEFT, setting.say("as left"))] if left and last else []
    hint = setting.say("hint level" if level else "hint figure")
    read = reader(setting, "reading", row, label, beside)
    question = Question(key, label, LINE, (*marks, *stands, _not_read(setting)), passed, hint=hint, read=read)
    answer = yield from ask(question)
    if last is not None:
        return (yield from _backwards(setting, question, answer, of, last)) or None
    holds = setting.registers.find("tank", of) if level else None
    return (yield from again(setting, question, answer, row, holds)) or None


def _backwards(setting: Setting, question: Question, answer: str, of: str, last: str) -> Asking:
    """A register figure once more where it is below the one before; Enter keeps it, for the meter may be a new one."""
    went = went_on(setting.registers, of, last, answer)
    if went is None or went >= 0:
        return answer
    label = setting.say("backwards", given=answer, name=of, last=last)
    return (yield from ask(_once_more(setting, question, label, answer)))


def _once_more(setting: Setting, question: Question, label: str, answer: str) -> Question:
    keep = setting.say("enter keep")
    return replace(question, key=f"{question.key}/again", text=label, enter=keep, enter_value=answer)


def again(setting: Setting, question: Question, answer: str, row: Field, holds: Fields | None) -> Asking:
    """The figure once more when it is above what the tank holds; both stay (see `questions`).

    Enter keeps an amount; a level above the rim is kept only by typing it again.
    """
    room = None if holds is None else room_exceeded(answer, row, holds, setting)
    if holds is None or room is None:
        return answer
    label = setting.say("over", given=answer, tank=holds["name"], room=room)
    more = _once_more(setting, question, label, answer)
    if stored(room).dimension != VOLUME:  # a float may let in a little more; no level stands above the rim
        more = replace(more, enter=None, hint=setting.say("hint over"))
    return (yield from ask(more))


def room_exceeded(answer: str, row: Field, holds: Fields, setting: Setting) -> str | None:
    """What a tank holds, where a figure as it was typed is surely above it: '525 gal', '35 in'."""
    form = check_value("reading", row, answer, "", "", setting.bench(), {"of": holds["name"]})
    if not isinstance(form, str) or form in (*WRITTEN, *LEVEL_WORDS):
        return None
    given = stored(form)
    high = HEIGHT_OF_SHAPE.get(str(holds.get("shape")), "depth")
    room = holds.get("capacity" if given.dimension == VOLUME else high)
    if room is None or room in WRITTEN:
        return None
    most, least = stored(room), given.in_unit(stored(room).unit).low
    return str(room) if least is not None and most.high is not None and least > most.high else None


def _not_looked(setting: Setting) -> Option:
    return Option("n", NOT_READ, setting.say("not looked"))


def _not_read(setting: Setting) -> Option:
    return Option("n", NOT_READ, setting.say("not read"))


def reader(setting: Setting, group: str, row: Field, label: str, beside: Mapping[str, Any]) -> Reader:
    """Takes a text that the validator takes, as it was typed; a spoken answer as it is written down."""

    def read(typed: str) -> str | Problem:
        work = setting.bench()
        check_value(group, row, typed, "", label, work, beside)
        return work.problems[0] if work.problems else speak(typed.strip())

    return read
