"""check, rules, explain, accept."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

import click

from compliance.cli.completing import run_names
from compliance.cli.shell import Shell, days_given, long_work, reckoned, refused, whole
from compliance.cli.show import listing, listing_options, print_json
from compliance.records.problem import FINDINGS, ComplianceError, Problem

if TYPE_CHECKING:
    from compliance.records.state import State
    from compliance.rules.rule import Finding
    from compliance.rules.run import Count, Report, Untold
    from compliance.rules.scene import Scene


def scene_of(shell: Shell, state: State) -> Scene:
    """What the rules look at, as of today where the business is."""
    from compliance.rules.scene import Scene

    return Scene(state, reckoned(state), date.fromisoformat(shell.zone_today(state)))


@click.command("check")
@click.argument("run", required=False, shell_complete=run_names)
@click.option("--only", multiple=True, metavar="RULE", help="Only this rule, by id or slug; may be repeated.")
@click.option("--from", "start", metavar="DATE", help="Only nights of this day or later.")
@click.option("--to", "end", metavar="DATE", help="Only nights of this day or earlier.")
@click.option("--counts", is_flag=True, help="What became of each rule.")
@listing_options
@click.pass_obj
def check_command(
    shell: Shell,
    run: str | None,
    only: tuple[str, ...],
    start: str | None,
    end: str | None,
    counts: bool,
    form: str | None,
) -> int:
    """Judge the whole book, the nights of some days, or one RUN, by the rules. Exit 1 when there is a finding that
    nobody accepted.

    It says what was seen, what it was compared with and what to do next; it never says that a permit is met.
    """
    from compliance.cli.nearby import around, around_run, runs_between
    from compliance.rules.run import check, check_between, check_run

    start, end = days_given(start, end)
    first, last = start or "", end or "9999"
    wanted = list(only) or None
    with shell.open() as book:
        if run is None and (start or end):
            scene = scene_of(shell, around(book, runs_between(book, first, last)))
            report = check_between(scene, first, last, only=wanted)
        elif run is None:
            scene = scene_of(shell, whole(book))
            with long_work(scene.state, "judging by the rules"):
                report = check(scene, only=wanted)
        else:
            found_run = around_run(book, run)
            if found_run is None:
                raise refused(f"no run is called {run!r}", "RUN", "see `washwater list runs`")
            state, record = found_run
            scene = scene_of(shell, state)
            report = check_run(scene, record, only=wanted)
    if isinstance(report, Problem):
        raise ComplianceError(report)
    if form is None:
        _tell(report, counts)
        _tell_unjudged(scene, first, last)
    elif form == "json":
        print_json(_document(report))
    else:
        listing(_COLUMNS, [_row(f) for f in report.findings], form, none="")
    return FINDINGS if report.not_accepted else 0


_COLUMNS = ("severity", "rule", "slug", "about", "seen", "compared with", "next step", "basis", "accepted")


def _row(f: Finding) -> tuple[str, ...]:
    accepted = "" if f.accepted is None else f"{f.accepted.who}, until {f.accepted.until}: {f.accepted.why}"
    return (f.severity, f.rule, f.slug, f.about, f.seen, f.compared_with, f.next_step, f.basis, accepted)


def _tell(report: Report, counts: bool) -> None:
    from compliance.records.sentences import local_permit_governs
    from compliance.rules.scene import NO_LIMIT

    for f in report.findings:
        click.echo(f"{f.severity.upper()}  {f.rule} {f.slug}  {f.about}")
        click.echo(f"  seen: {f.seen}")
        click.echo(f"  compared with: {f.compared_with} ({f.basis})")
        click.echo(f"  do this: {f.next_step}")
        if f.accepted is not None:
            click.echo(f"  accepted by {f.accepted.who} until {f.accepted.until}: {f.accepted.why}")
        click.echo()
    for (rule, why), abouts in _grouped(report.untold).items():
        first = abouts[0] if len(abouts) == 1 else f"{abouts[0]} and {len(abouts) - 1} more"
        click.echo(f"cannot tell: {rule} about {first}: {why}")
    if report.untold:
        click.echo()
    applied = sum(count.applied > 0 for count in report.counts)
    silent = sum(count.applied > 0 and count.applied == count.silent for count in report.counts)
    found, ran = _number(len(report.findings), "finding"), _number(len(report.counts), "rule")
    click.echo(f"{found}; {ran} ran, {applied} had something to judge, {silent} of them found nothing.")
    unlimited = [c.rule for c in report.counts if any(note.startswith(NO_LIMIT) for note, _ in c.notes)]
    if unlimited:
        rules = ", ".join(unlimited)
        click.echo(f"{NO_LIMIT.capitalize()} for some of what was asked by {rules}: silent there, which is no pass.")
    if counts:
        rows = [(c.rule, c.asked, c.applied, c.silent, c.cannot_tell, c.found, _notes(c)) for c in report.counts]
        click.echo()
        listing(("rule", "asked", "applied", "silent", "cannot tell", "found", "notes"), rows, None, none="")
    click.echo(local_permit_governs("en"))


def _grouped(untold: Sequence[Untold]) -> dict[tuple[str, str], list[str]]:
    """What could not be told, by rule and reason: one line for each, however many runs it holds for."""
    groups: dict[tuple[str, str], list[str]] = {}
    for one in untold:
        groups.setdefault((one.rule, one.why), []).append(one.about)
    return groups


def _tell_unjudged(scene: Scene, first: str, last: str) -> None:
    """Nights from before the book was begun are kept and shown, and not judged; that is said."""
    since = scene.state.judged_from
    before = sum(first <= run.day <= last and run.day < since for run in scene.state.runs)
    if before:
        begun = f"as this book was begun on {scene.state.opens_on}"
        click.echo(f"Not judged: {_number(before, 'run')} from before {since}, {begun}.")


def _notes(count: Count) -> str:
    return "; ".join(f"{note} ({n})" for note, n in count.notes)


def _number(n: int, what: str) -> str:
    return f"{n} {what}" if n == 1 else f"{n} {what}s"


def _document(report: Report) -> dict[str, Any]:
    from compliance.records.sentences import local_permit_governs

    return {
        "findings": [dict(zip(_COLUMNS, _row(f), strict=True)) | {"day": f.day} for f in report.findings],
        "cannot_tell": [vars(one) for one in report.untold],
        "rules": [
            {
                "rule": c.rule,
                "asked": c.asked,
                "applied": c.applied,
                "silent": c.silent,
                "cannot_tell": c.cannot_tell,
                "found": c.found,
                "notes": dict(c.notes),
            }
            for c in report.counts
        ],
        "note": local_permit_governs("en"),
    }


@click.command("rules")
@listing_options
@click.pass_obj
def rules_command(shell: Shell, form: str | None) -> None:
    """List the rules: id, slug, severity, basis."""
    from compliance.rules.catalogue import ALL
    from compliance.rules.explain import rules_json

    if form == "json":
        print_json(rules_json())
        return
    rows = [(r.id, r.slug, r.severity, r.basis, r.title.en) for r in ALL]
    listing(("id", "slug", "severity", "basis", "title"), rows, form, none="")


@click.command("explain")
@click.argument("rule")
@click.pass_obj
def explain_command(shell: Shell, rule: str) -> None:
    """Explain one RULE, by id or slug: what it looks for, why, on what basis, what to do."""
    from compliance.rules.explain import explain

    click.echo(explain(_rule(rule)))


def _rule(name: str) -> Any:
    from difflib import get_close_matches

    from compliance.rules.catalogue import ALL, named

    found = named(name, ALL)
    if found is None:
        near = get_close_matches(name, [n for r in ALL for n in (r.id, r.slug)], 1)
        hint = f"did you mean {near[0]}?" if near else "see `washwater rules`"
        raise refused(f"no rule is called {name!r}", "RULE", hint)
    return found


@click.command("accept")
@click.argument("rule")
@click.argument("about")
@click.option("--why", required=True, help="The reason.")
@click.option("--until", required=True, metavar="DATE", help="The day until which it is accepted.")
@click.option("--who", required=True, help="Who accepts it.")
@click.pass_obj
def accept_command(shell: Shell, rule: str, about: str, why: str, until: str, who: str) -> None:
    """Accept the finding of RULE about ABOUT (a run, stop, handover ...). It still shows, with name and reason."""
    from compliance.cli.writing import write

    raw = {"rule": _rule(rule).id, "about": about, "why": why, "until": until, "who": who}
    write(shell, "accept", raw)
