"""What a shell offers behind TAB: the names in the book, each where a command takes it.

The names come straight from the records, registers first: nothing is calculated, no library of tables or documents is
imported, and a book that cannot be read offers nothing and says nothing. `tabbing` prints the script of each shell.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from compliance.cli.shell import Shell
from compliance.records.answer import without_value

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

    from compliance.book.derived_index import Row
    from compliance.book.derived_lookup import Index
    from compliance.book.store import Book
    from compliance.records.state import State
    from compliance.records.views import RunView

Complete = Callable[[click.Context, "click.Parameter | None", str], list[str]]
"""(context, parameter, what was typed so far) -> what may stand there."""
Names = Callable[["Book", click.Context, str], Iterable[str]]
"""(open book, context, what was typed so far, folded) -> names, the newest first where they have a date."""

MOST_RUNS: Final = 300
"""Runs that are offered, or whose jobs are: who wants an older one types the beginning of its date."""


def _completing(names: Names) -> Complete:
    """Complete by names that the book holds."""

    def complete(ctx: click.Context, param: click.Parameter | None, incomplete: str) -> list[str]:
        begun = incomplete.casefold()
        try:
            with Shell(_folder(ctx)).open() as book:
                found = dict.fromkeys(names(book, ctx, begun))
        except Exception:  # whatever is wrong with the book, behind TAB is no place to say it
            return []
        return [name for name in found if name.casefold().startswith(begun)]

    return complete


def _folder(ctx: click.Context) -> Path | None:
    """The folder named by --book on the line that is being typed."""
    named: Any = ctx.find_root().params.get("folder")
    return Path(named).expanduser() if named is not None else None


# ---- runs and jobs -----------------------------------------------------------------------------------------------


def _newest(index: Index, begun: str) -> list[Row]:
    """The newest runs, or those of the days that begin so; the newest first."""
    from compliance.book.derived_newest import newest

    day = begun[:10]
    return newest(index, MOST_RUNS, "" if day.strip("0123456789-") else day)


def _views(book: Book, begun: str) -> list[RunView]:
    """The newest runs with their lines."""
    from compliance.book.derived_lookup import Index
    from compliance.records.state import gather

    with Index.open(book) as index:
        ids = {row.id for row in _newest(index, begun)}
        state = gather(index.records(ids))
    return [run for run in reversed(state.runs) if run.record in ids]


def _runs(book: Book, ctx: click.Context, begun: str) -> Iterable[str]:
    from compliance.book.derived_lookup import Index

    with Index.open(book) as index:
        return [index.ref(row) for row in _newest(index, begun)]


def _jobs(book: Book, ctx: click.Context, begun: str) -> Iterable[str]:
    """The stops that were jobs of their own, the jobs of the newest runs, and the jobs on the register."""
    registers = _registers(book).registers
    for run in _views(book, begun):
        for number, line in enumerate((line for line in run.lines if _begins_a_stop(line)), start=1):
            job = line.get("job")
            yield f"{run.ref}.s{number}" if without_value(job) is not None else registers.name("job", str(job))


def _begins_a_stop(line: Any) -> bool:
    return bool(line.kind == "stop" and line.get("continued") != "yes")


def _runs_and_jobs(book: Book, ctx: click.Context, begun: str) -> Iterable[str]:
    yield from _runs(book, ctx, begun)
    yield from _jobs(book, ctx, begun)


def _handovers(book: Book, ctx: click.Context, begun: str) -> Iterable[str]:
    """Handovers as `--for` takes them, RUN/LINE, and the runs."""
    for run in _views(book, begun):
        yield from (f"{run.ref}/{line.n}" for line in run.lines if line.kind == "hand over")
        yield run.ref


def _months(book: Book, ctx: click.Context, begun: str) -> Iterable[str]:
    from compliance.book.derived_lookup import Index
    from compliance.book.derived_newest import months

    with Index.open(book) as index:
        return months(index)


# ---- registers, drafts, rules ------------------------------------------------------------------------------------


def _registers(book: Book, *besides: str) -> State:
    """What the registers say, and records of other kinds; of runs nothing."""
    from compliance.records import kinds
    from compliance.records.state import gather

    wanted = (kinds.BOOK, kinds.REGISTER, kinds.SAME_AS, *besides)
    found = [record for kind in wanted for record in book.records(kind=kind)]
    return gather(sorted(found, key=lambda record: record.seq))


def _of_register(what: str) -> Names:
    def names(book: Book, ctx: click.Context, begun: str) -> Iterable[str]:
        return (str(entry["name"]) for entry in _registers(book).registers.all(what))

    return names


def _named_register(book: Book, ctx: click.Context, begun: str) -> Iterable[str]:
    """The entries of the register that stands before, as in `edit rig NAME`."""
    return _of_register(str(ctx.params.get("what")))(book, ctx, begun)


def _drafts(book: Book, ctx: click.Context, begun: str) -> Iterable[str]:
    from compliance.book import drafts

    return drafts.names(book.folder)


def _inquiries(book: Book, ctx: click.Context, begun: str) -> Iterable[str]:
    from compliance.records import kinds

    return (one.ref for one in reversed(_registers(book, kinds.INQUIRY, kinds.INQUIRY_STEP).inquiries))


def _rules(ctx: click.Context, param: click.Parameter | None, incomplete: str) -> list[str]:
    """The rules by their ids; no book is needed."""
    from compliance.rules.catalogue import ALL

    return [rule.id for rule in ALL if rule.id.startswith(incomplete)]


run_names = _completing(_runs)
job_names = _completing(_jobs)
run_or_job_names = _completing(_runs_and_jobs)
months = _completing(_months)
client_names = _completing(_of_register("client"))
_people = _completing(_of_register("person"))
_sites = _completing(_of_register("site"))

_BY_NAME: Final[dict[tuple[str, str], Complete]] = {
    ("", "--rig"): _completing(_of_register("rig")),
    ("", "--lead"): _people,
    ("", "--who"): _people,
    ("", "--signed-by"): _people,
    ("", "--stop"): _sites,
    ("", "--site"): _sites,
    ("", "--place"): _completing(_of_register("place")),
    ("", "--draft"): _completing(_drafts),
    ("", "--throw-away"): _completing(_drafts),
    ("", "--for"): _completing(_handovers),
    ("", "--only"): _rules,
    ("explain", "rule"): _rules,
    ("accept", "rule"): _rules,
    ("order", "tank"): _completing(_of_register("tank")),
    ("edit", "name"): _completing(_named_register),
    ("same-as", "name"): _completing(_named_register),
    ("same-as", "same"): _completing(_named_register),
    ("inquiry", "name"): _completing(_inquiries),
}
"""(command, or '' for all; option or argument) -> what is offered there."""


class _Offered(click.types.StringParamType):
    """A text of which the book knows which ones are likely."""

    def __init__(self, names: Complete) -> None:
        self.names = names

    def shell_complete(self, ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem[str]]:
        from click.shell_completion import CompletionItem

        return [CompletionItem(name) for name in self.names(ctx, param, incomplete)]


def offer(command: click.Command, name: str) -> None:
    """Offer names wherever this command, or one under it, takes a text that `_BY_NAME` knows."""
    for param in command.params:
        spelled = param.opts[-1] if isinstance(param, click.Option) else str(param.name)
        names = _BY_NAME.get((name, spelled)) or _BY_NAME.get(("", spelled))
        if names is not None and isinstance(param.type, click.types.StringParamType):
            param.type = _Offered(names)
    if isinstance(command, click.Group):
        for inner in command.commands.values():
            offer(inner, name)
