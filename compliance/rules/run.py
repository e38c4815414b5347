"""Put every rule to everything it is about, and count: how many ran, applied, were silent, could not tell."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final

from compliance.records.fields import TRUCK, field
from compliance.records.problem import Problem
from compliance.records.quick import dataclass
from compliance.records.views import Acceptance
from compliance.rules.catalogue import ALL, named
from compliance.rules.rule import (
    SEVERITIES,
    CannotTell,
    DoesNotApply,
    Fault,
    Finding,
    Language,
    Rule,
    Scope,
    Silent,
    Words,
)
from compliance.rules.scene import Scene
from compliance.rules.subjects import Entry, Handover, Run, Stop, Subject

CREW_HEARS: Final = 3
"""How many things a tired crew is told at most."""


@dataclass(frozen=True)
class Count:
    """What became of one rule. applied = silent + cannot_tell + found. notes: why it was silent or could not tell."""

    rule: str
    asked: int
    applied: int
    silent: int
    cannot_tell: int
    found: int
    notes: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True)
class Untold:
    """Something that a rule asked and the records do not answer."""

    rule: str
    about: str
    why: str


@dataclass(frozen=True)
class Report:
    """Findings, the most urgent first; what could not be told; one count a rule that ran."""

    findings: tuple[Finding, ...]
    untold: tuple[Untold, ...]
    counts: tuple[Count, ...]

    @property
    def applied(self) -> int:
        """How many rules applied to something."""
        return sum(count.applied > 0 for count in self.counts)

    @property
    def silent(self) -> int:
        """How many rules applied and found nothing at all."""
        return sum(count.applied > 0 and count.found == 0 for count in self.counts)

    @property
    def not_accepted(self) -> tuple[Finding, ...]:
        """The findings that nobody has accepted."""
        return tuple(finding for finding in self.findings if finding.accepted is None)


def check(scene: Scene, *, only: Sequence[str] | None = None, rules: tuple[Rule, ...] = ALL) -> Report | Problem:
    """Every rule over the whole book. only: ids or slugs; one that is unknown, or none at all, is a Problem."""
    chosen = _chosen(only, rules)
    return chosen if isinstance(chosen, Problem) else _report(scene, chosen, scene.runs, whole=True, business=True)


def check_between(
    scene: Scene, first: str, last: str, *, only: Sequence[str] | None = None, rules: tuple[Rule, ...] = ALL
) -> Report | Problem:
    """Every rule over the runs of some days, ISO, both included; a register entry with the first of them that names it.

    Nothing of the book as a whole: what comes out rests on these runs and on what rules look at around them.
    """
    chosen = _chosen(only, rules)
    runs = [run for run in scene.runs if first <= run.day <= last]
    return chosen if isinstance(chosen, Problem) else _report(scene, chosen, runs, whole=True, business=False)


def check_run(
    scene: Scene, ref: str, *, only: Sequence[str] | None = None, rules: tuple[Rule, ...] = ALL
) -> Report | Problem:
    """Every rule over one run: itself, its stops, handovers and loads, and the register entries that it names."""
    chosen = _chosen(only, rules)
    if isinstance(chosen, Problem):
        return chosen
    view = scene.state.run(ref)
    if view is None:
        return Problem(f"no run is named {ref!r}", "the book's runs", "look at the list of runs for its name")
    run = scene.judged(view)
    return _report(scene, chosen, () if run is None else (run,), whole=False, business=False)


def _chosen(only: Sequence[str] | None, rules: tuple[Rule, ...]) -> tuple[Rule, ...] | Problem:
    """The rules that are to run, in catalogue order; running none is a mistake, never a clean result."""
    if only is not None:
        for name in only:
            if named(name, rules) is None:
                return Problem(f"no rule is called {name!r}", "--only", "see `washwater rules` for their ids")
        rules = tuple(rule for rule in rules if rule.id in only or rule.slug in only)
    if not rules:
        return Problem("no rule would run", "--only", "name at least one rule, or leave it out to run them all")
    return rules


class _Tally:
    """The workbench of one report."""

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        self.findings: list[Finding] = []
        self.untold: list[Untold] = []
        self.accepted: dict[tuple[str, str], Acceptance] = {}
        today = scene.today.isoformat()
        for one in scene.state.acceptances:
            if one.until >= today:
                self.accepted[one.rule, one.about.rstrip("/")] = one  # a handover without a line was once named so

    def ask(self, rule: Rule, subjects: Iterable[Subject]) -> Count:
        """Put one rule to all its subjects."""
        params = rule.params
        asked = silent = cannot_tell = found = away = 0
        notes: Counter[str] = Counter()
        for subject in subjects:
            asked += 1
            if rule.applies_from > subject.day:
                away += 1
                continue
            outcome = rule.judge(self.scene, subject, params)
            match outcome:
                case Silent():
                    silent += 1
                    if outcome.why:
                        notes[outcome.why] += 1
                case DoesNotApply():
                    away += 1
                case CannotTell():
                    cannot_tell += 1
                    self.untold.append(Untold(rule.id, subject.ref, outcome.why))
                case Fault():
                    found += 1
                    self._found(rule, subject, outcome)
                case _:
                    found += 1
                    for fault in outcome:
                        self._found(rule, subject, fault)
        return Count(rule.id, asked, asked - away, silent, cannot_tell, found, tuple(sorted(notes.items())))

    def _found(self, rule: Rule, subject: Subject, fault: Fault) -> None:
        about = fault.about or subject.ref
        self.findings.append(
            Finding(
                rule=rule.id,
                slug=rule.slug,
                severity=fault.severity or rule.severity,
                basis=fault.basis or rule.basis,
                scope=rule.scope,
                about=about,
                day=subject.day,
                at=fault.at or _at(subject),
                seen=fault.seen,
                compared_with=fault.compared_with,
                next_step=fault.next_step or rule.next_step,
                lines=fault.lines or subject.at,
                missing=fault.missing,
                accepted=self.accepted.get((rule.id, about)) or self.accepted.get((rule.slug, about)),
            )
        )


def _report(scene: Scene, rules: tuple[Rule, ...], runs: Sequence[Run], *, whole: bool, business: bool) -> Report:
    """whole: the runs are all there are to tell of; then a load is told with the run that opened it, and only there."""
    subjects = _subjects(scene, runs, {rule.scope for rule in rules}, whole=whole, business=business)
    tally = _Tally(scene)
    counts = tuple(tally.ask(rule, subjects[rule.scope]) for rule in rules)
    order = {rule.id: at for at, rule in enumerate(rules)}
    tally.findings.sort(key=lambda one: (SEVERITIES.index(one.severity), one.day, one.about, order[one.rule]))
    return Report(tuple(tally.findings), tuple(tally.untold), counts)


def _subjects(
    scene: Scene, runs: Sequence[Run], scopes: Iterable[Scope], *, whole: bool, business: bool
) -> Mapping[Scope, Sequence[Subject]]:
    """What each scope is about. For one run, its loads are also those that an earlier run opened."""
    found: dict[Scope, Sequence[Subject]] = {}
    for scope in scopes:
        match scope:
            case "run" | "rig":
                found[scope] = runs
            case "stop":
                found[scope] = [stop for run in runs for stop in run.stops]
            case "handover":
                found[scope] = [handover for run in runs for handover in run.handovers]
            case "load":
                found[scope] = [load for run in runs for load in scene.loads_of(run, opened_here=whole)]
            case _:
                found[scope] = list(_entries(scene, runs, business=business))
    return found


def _entries(scene: Scene, runs: Sequence[Run], *, business: bool) -> Iterator[Entry]:
    """Each register entry once, with the first run that names it; the business itself with the whole book."""
    if business:
        yield Entry("business", scene.state.business, None)
    seen: set[tuple[str, str]] = set()
    for run in runs:
        for entry in scene.entries_of(run):
            key = (entry.what, str(entry.fields["name"]))
            if key not in seen:
                seen.add(key)
                yield entry


def _at(subject: Subject) -> Words:
    """Where on a run, for somebody who stands beside it."""
    match subject:
        case Stop():
            return Words(f"stop {subject.number}", f"parada {subject.number}")
        case Handover():
            return Words(f"at {subject.place}", f"en {subject.place}")
        case Entry():
            return Words(str(subject.fields["name"]), str(subject.fields["name"]))
        case _:
            return Words("", "")


def for_crew(
    findings: Iterable[Finding], language: Language = "en", *, rules: tuple[Rule, ...] = ALL
) -> tuple[str, ...]:
    """At most three lines for the crew, most urgent first, one a rule; what only the office can do is left out.

    Findings that somebody accepted are left out too.
    """
    by_rule: dict[str, list[Finding]] = {}
    for one in sorted(findings, key=lambda one: SEVERITIES.index(one.severity)):
        if one.accepted is None:
            by_rule.setdefault(one.rule, []).append(one)
    lines = []
    for name, found in by_rule.items():
        rule = named(name, rules)
        if rule is not None and rule.crew is not None:
            line = _crew_line(rule.crew.in_(language), found, language)
            if line:
                lines.append(line)
    return tuple(lines[:CREW_HEARS])


def _crew_line(words: str, found: Sequence[Finding], language: Language) -> str:
    """A rule's words with where they hold, or with the fields that the crew can still fill in."""
    if any(one.missing for one in found):
        rows = [field(one.group, one.field) for f in found for one in f.missing if one.need == TRUCK]
        labels = dict.fromkeys(row.es if language == "es" else row.en for row in rows)
        return f"{words} {', '.join(labels)}." if labels else ""
    places = [where for where in dict.fromkeys(one.at.in_(language) for one in found) if where]
    return f"{words.rstrip('.')} ({', '.join(places)})." if places else words
