"""show: one run as it stands with everything that changed it, or any record as it is written down."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import click

from compliance.cli.completing import run_names
from compliance.cli.shell import Shell, near_name, refused, whole
from compliance.cli.show import print_json

if TYPE_CHECKING:
    from compliance.book.store import Book
    from compliance.records.state import State
    from compliance.records.views import Attachment, Change, RunView, TicketView


@click.command("show")
@click.argument("name", shell_complete=run_names)
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def show_command(shell: Shell, name: str, as_json: bool) -> None:
    """Show a run or 'ticket 4711' as it stands, with everything that changed it, or any record by its id (six digits
    or more) as it is written down."""
    from compliance.intake.spots import tickets_named

    with shell.open() as book:
        state = whole(book)
        run = state.run(name)
        if run is not None:
            first = _first_figures(book, run)
            follows = _follows(book, run, state)
        elif tickets := [one for one in tickets_named(name, state) if not one.record.startswith(name)]:
            if as_json:
                print_json([_ticket(one, state) for one in tickets])
            else:
                click.echo("\n\n".join("\n".join(_ticket_lines(one, state)) for one in tickets))
            return
        else:
            found = [r for r in book.records() if len(name) >= 6 and r.id.startswith(name)]
            if len(found) != 1:
                refs = [r.ref for r in state.runs]
                raise refused(f"no run or record is called {name!r}", "NAME", near_name(name, refs))
            print_json(vars(found[0]))
            return
    held = _held_by((one.record for one in run.handed_in_as), run.changes, state)
    files = [one for one in state.attachments if one.about == run.record]
    if as_json:
        print_json({**_document(run, first, follows, held), "files": [vars(one) for one in files]})
    else:
        click.echo("\n".join([*_lines(run, first, follows, held), *map(_file, files)]))


def _file(one: Attachment) -> str:
    """A file kept with the run, by the name that people know it by."""
    line = f", line {one.line}" if one.line else ""
    return f"  file {one.name}{line}: {one.what}; SHA-256 {one.sha256}"


def _held_by(own: Iterable[str], changes: Iterable[Change], state: State) -> list[str]:
    """The open inquiries that keep records, or changes of them, on hold."""
    from compliance.records.inquiries import holds

    return [one.ref for one in holds(state.inquiries, [*own, *(change.record for change in changes)])]


def _on_hold(held: Sequence[str]) -> Iterator[str]:
    if held:
        yield f"ON HOLD for {', '.join(held)}: nothing of it may be destroyed until that is closed"


def _first_figures(book: Book, run: RunView) -> dict[str, str]:
    """Path of a field of the run -> the figure given before a comparison was shown, which another one replaced."""
    found: dict[str, str] = {}
    parts = {part.view.record: part.lines for part in run.parts} or {run.record: {}}
    for record, lines in parts.items():
        for path, value in book.record(record).payload.get("first", {}).items():
            n, slash, rest = path.partition("/")
            found[f"{lines.get(n, n)}{slash}{rest}"] = value
    return found


def _follows(book: Book, run: RunView, state: State) -> str:
    """The cancelled night after which a card was keyed again as this one; '' for any other."""
    record = str(book.record(run.record).payload.get("follows", ""))
    before = state.run(record) if record else None
    return record if before is None else before.ref


def _document(run: RunView, first: Mapping[str, str], follows: str, held: list[str]) -> dict[str, Any]:
    return {
        "run": run.ref,
        "record": run.record,
        "handed_in": run.handed_in,
        "received": run.received,
        "cancelled": run.cancelled,
        "follows": follows or None,
        "on_hold": held,
        "fields": run.fields,
        "lines": [{"n": line.n, "line": line.kind, **line.fields} for line in run.lines],
        "first": dict(first),
        "changes": [vars(change) for change in run.changes],
    }


def _lines(run: RunView, first: Mapping[str, str], follows: str, held: list[str]) -> Iterator[str]:
    yield f"run {run.ref}   record {run.record[:12]}   handed in {run.handed_in}, received {run.received}"
    if run.cancelled is not None:
        yield f"CANCELLED: {run.cancelled}"
    if follows:
        yield f"FOLLOWS {follows}, which was cancelled: its card was keyed again"
    yield from _on_hold(held)
    yield from _fields("run", run.fields, "", first, "  ")
    for line in run.lines:
        yield f"  {line.n}. {line.kind}"
        yield from _fields(line.kind, line.fields, f"{line.n}/", first, "      ")
    yield from _changes(run.changes)


def _ticket(ticket: TicketView, state: State) -> dict[str, Any]:
    changes, held = [vars(change) for change in ticket.changes], _held_by([ticket.record], ticket.changes, state)
    return {**vars(ticket), "changes": changes, "on_hold": held}


def _ticket_lines(ticket: TicketView, state: State) -> Iterator[str]:
    yield f"ticket {ticket.fields.get('number')}   record {ticket.record[:12]}   received {ticket.received}"
    yield from _on_hold(_held_by([ticket.record], ticket.changes, state))
    yield from _fields("ticket", ticket.fields, "", {}, "  ")
    how = ", found by its number" if ticket.by_number else ""
    for record, line in ticket.handovers:
        run = state.run(record)
        yield f"  for: {record if run is None else run.ref}{f'/{line}' if line else ''}{how}"
    if ticket.waits:
        yield f"  for no handover yet: {ticket.waits}"
    yield from _changes(ticket.changes)


def _changes(changes: Iterable[Change]) -> Iterator[str]:
    for change in changes:
        where = ", ".join(part for part in (f"line {change.line}" if change.line else "", change.field) if part)
        yield f"  {change.kind} {change.received} by {change.who}: {where}"
        was, now = ("nothing yet" if said is None else _plain(said) for said in (change.was, change.now))
        yield f"      said {was}, says {now}"
        if change.reason or change.why:
            yield f"      {': '.join(part for part in (change.reason, change.why) if part)}"


def _fields(group: str, fields: Mapping[str, Any], path: str, first: Mapping[str, str], indent: str) -> Iterator[str]:
    """Each field by its label, in the order of the field table; the entries of a list each on a line of its own."""
    from compliance.records.fields import GROUPS

    for row in GROUPS.get(group, ()):
        value = fields.get(row.name)
        if value is None:
            continue
        if isinstance(value, list):
            yield f"{indent}{row.en}:"
            for n, entry in enumerate(value, start=1):
                rows = [one for one in GROUPS[row.of] if one.name in entry]
                said = "; ".join(f"{one.en}: {_plain(entry[one.name])}" for one in rows)
                yield f"{indent}  {n}. {said}"
        else:
            yield f"{indent}{row.en}: {_plain(value)}"
        for at, before in first.items():
            if at == path + row.name or at.startswith(f"{path}{row.name}/"):
                part = at.removeprefix(path + row.name).strip("/")
                yield f"{indent}  given first{f' ({part})' if part else ''}: {before}, before a comparison was shown"


def _plain(value: Any) -> str:
    """A value in one line; a measure as 'meter: Big Blue supply meter, start 5100, end 5388'."""
    from compliance.records.measure import METHODS

    if isinstance(value, Mapping) and value.get("method") in METHODS:
        method = str(value["method"])
        known = [(key.name, value[key.name]) for key in METHODS[method] if key.name in value]
        parts = [str(part) if name == method else f"{name} {part}" for name, part in known]
        return f"{method}: {', '.join(parts)}"
    if isinstance(value, Mapping):
        return ", ".join(f"{name} {part}" for name, part in value.items())
    if isinstance(value, list):
        return "; ".join(_plain(one) for one in value)
    return str(value)
