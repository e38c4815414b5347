"""inquiry search: what the records say of a place and a time, in a book of any size."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import click

from compliance.cli.asked import NO_DAY, named, question_options, say, write_down
from compliance.cli.shell import Shell, refused
from compliance.cli.show import print_json
from compliance.cli.writing import given
from compliance.records.inquiries import SEARCHED
from compliance.records.kinds import INQUIRY_STEP, RUN
from compliance.records.problem import ComplianceError, Problem

if TYPE_CHECKING:
    from compliance.book.store import Book
    from compliance.intake.handin import HandedIn
    from compliance.records.inquiries import Inquiry
    from compliance.records.state import State
    from compliance.reports.inquiry_found import Found

_LAST = 500
"""Records at the end of the book in which its last night is looked for first."""


@click.command("search", short_help="Search the records near in place and time.")
@click.argument("name", required=False)
@question_options
@click.option("--keep", is_flag=True, help="Write the search down with the inquiry; what is near is then on hold.")
@click.option("--who", default="", help="Who searches, with --keep.")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def search_command(
    shell: Shell, /, name: str | None, keep: bool, who: str, as_json: bool, **fields: str | None
) -> None:
    """Search for stops near in place and time: for the inquiry NAME, or without one for what the options say.

    What got away and drains stand first. Then rig by rig: near, elsewhere, off, or no record, of which the records
    cannot say anything.
    """
    asked = given(**fields)
    if (name is None) == (not asked):
        raise refused("it is not said what to search for", "NAME", "name an inquiry, or say place and time by options")
    if keep and (name is None or not who):
        raise refused("a search is kept with an inquiry, by somebody", "--keep", "name the inquiry, and --who")
    state, inquiry, found = searched(shell, name, asked)
    if keep:
        done = keep_search(shell, state, inquiry, found, who)
        if not as_json:
            say(done)
    if as_json:
        print_json(document(found))
        return
    for line in told(found):
        click.echo(line)


def searched(shell: Shell, name: str | None, asked: Mapping[str, Any]) -> tuple[State, Inquiry, Found]:
    """Search a book of any size: only the records of the days in question are read, and the state holds no more."""
    from compliance.book.derived_lookup import Index
    from compliance.book.near import records_around, said_in
    from compliance.intake.inquiries import check_inquiry
    from compliance.records.inquiries import Inquiry
    from compliance.records.state import gather
    from compliance.reports.inquiry_search import asked_of, days_of, search

    with shell.open() as book, Index.open(book) as index:
        known = gather(records_around(index, NO_DAY, NO_DAY))
        if name is None:
            raw = {**asked, "id": "this question"}  # with an id of its own it is another than one that says the same
            checked = check_inquiry(raw, state=known, where="the command line", now=shell.now(), who="-")
            if checked.payload is None:
                raise ComplianceError(*checked.problems)
            inquiry = Inquiry("", "this question", 0, "", "", checked.payload["fields"])
        else:
            inquiry = named(known, name)
        wanted = asked_of(inquiry, known)
        if isinstance(wanted, Problem):
            raise ComplianceError(wanted)
        state = gather(records_around(index, *days_of(wanted)))
        records = [one.record for run in state.runs for one in run.handed_in_as]
        said = said_in(book, wanted.words, records) if wanted.words else {}
        head = book.head()
        found = search(
            state,
            wanted,
            said=said,
            entered=_entered(book, head.size),
            size=head.size,
            root=head.root_hex,
            now=shell.now(),
        )
    return state, inquiry, found


def _entered(book: Book, size: int) -> str:
    """When the last night was handed in, or the book begun where none was: nothing else tells of more work."""
    span = _LAST
    while True:
        runs = list(book.records(after=max(0, size - span), kind=RUN))
        if runs or span >= size:
            return (runs[-1] if runs else next(book.records())).receipt_time
        span *= 8


def _touched(found: Found) -> list[str]:
    return list(dict.fromkeys(spot.run.record for spot in (*found.near, *found.other)))


def _kept(found: Found) -> dict[str, Any]:
    """What is written down of a search: what was looked for, in which book, and what these records say."""
    rigs: dict[str, list[str]] = {}
    for one in found.says:
        rigs.setdefault(one.rig, []).append(f"{one.window.start.date().isoformat()} {one.verdict}")
    asked = found.asked
    looked = {
        "place": asked.place, "position": asked.position, "radius": f"{asked.radius} ft" if asked.positions else "",
        "site": asked.site, "site_address": asked.site_address, "site_position": asked.site_position,
        "drain": asked.drain, "words": asked.words,
        "from": asked.windows[0].start.isoformat(), "until": asked.windows[-1].end.isoformat(),
        "windows": len(asked.windows),
    }  # fmt: skip
    stops = [
        {"run": one.run.ref, "line": one.line.n, "how": list(dict.fromkeys(known for known, _ in one.how)),
         "in_time": one.when}
        for one in found.near
    ]  # fmt: skip
    return {
        "size": found.size, "root": found.root, "entered": found.entered, "asked": looked, "found": rigs,
        "stops": stops,
    }  # fmt: skip


def document(found: Found) -> dict[str, Any]:
    """What was found, for programs."""

    def spot(one: Any) -> dict[str, Any]:
        return {
            "rig": one.rig, "run": one.run.ref, "line": one.line.n, "name": one.name, "address": one.address,
            "how": [list(how) for how in one.how], "feet": None if one.feet is None else str(one.feet),
            "start": one.times.start, "end": one.times.end, "not_before": one.times.low.isoformat(),
            "not_after": one.times.high.isoformat(), "in_time": one.when, "worked": one.worked,
            "escapes": [line.fields for line in one.escapes], "drains": list(one.drains),
        }  # fmt: skip

    return {
        **_kept(found),
        "near": [spot(one) for one in found.near],
        "other": [spot(one) for one in found.other],
        "rigs": [
            {"rig": one.rig, "from": one.window.start.isoformat(), "until": one.window.end.isoformat(),
             "says": one.verdict, "runs": [run.ref for run in one.runs], "why": one.why}
            for one in found.says
        ],
        "old_rows": [{"file": row.file, "sheet": row.sheet, "row": row.row, "how": how} for row, how in found.old],
        "begins_before_the_book": found.before_book,
        "not_over": found.not_over,
    }  # fmt: skip


def told(found: Found) -> Sequence[str]:
    """What was found, for people."""
    from compliance.reports.inquiry_letter import answer_lines
    from compliance.reports.words import Words

    return list(answer_lines(found, Words("en")))


def keep_search(shell: Shell, state: State, inquiry: Inquiry, found: Found, who: str) -> HandedIn:
    """Write a search down with its inquiry; what is near is on hold from then on."""
    raw = {"inquiry": inquiry.ref, "step": SEARCHED, "holds": _touched(found), "search": _kept(found), "who": who}
    return write_down(shell, INQUIRY_STEP, raw, state)
