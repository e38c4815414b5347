"""A command line that cannot be read: what is wrong with it, all at once, and what to type instead."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches

import click

from compliance.records.problem import Problem


def help_asked(error: click.UsageError) -> str:
    """The help of a command that was called without any of its commands; '' where something else is wrong."""
    help = error.ctx.get_help() if error.ctx is not None else ""
    return help if error.format_message() == help else ""


def usage_problem(error: click.UsageError, args: Sequence[str], group: click.Group) -> Problem:
    """The problem with a command line, in the words of every other one. args: as typed; group: of all commands."""
    where = error.ctx.command_path if error.ctx is not None else _called(group, args)
    see = f"`{where} --help` says what it takes"
    if isinstance(error, click.MissingParameter) and error.ctx is not None:
        missing = _missing(error.ctx, args)
        if len(missing) > 1:
            return Problem(f"these are missing: {', '.join(missing)}", where, f"add them; {see}")
    message = error.format_message().rstrip(".")
    if isinstance(error, click.NoSuchOption):
        near = get_close_matches(error.option_name, error.possibilities or (), 1)
        return Problem(f"there is no option {error.option_name}", where, f"did you mean {near[0]}?" if near else see)
    if message.startswith("No such command"):
        return _no_such_command(message, where, _words_of(error.ctx))
    return Problem(message[:1].lower() + message[1:], where, see)


def _called(group: click.Group, args: Sequence[str]) -> str:
    """The command that was called, by its words; click does not say it where an option lacks its argument."""
    context = click.Context(group, info_name="washwater")
    for word in args:
        command = context.command.get_command(context, word) if isinstance(context.command, click.Group) else None
        context = context if command is None else click.Context(command, parent=context, info_name=word)
    return context.command_path


def _no_such_command(message: str, where: str, known: Sequence[str]) -> Problem:
    typed = message.split("'")[1]
    near = get_close_matches(typed, known, 1, 0.6)
    step = f"did you mean `{where} {near[0]}`?" if near else f"`{where} --help` lists the commands"
    return Problem(f"there is no command {typed!r}", where, step)


def _words_of(ctx: click.Context | None) -> Sequence[str]:
    group = ctx.command if ctx is not None else None
    return group.list_commands(ctx) if ctx is not None and isinstance(group, click.Group) else ()


def _missing(ctx: click.Context, args: Sequence[str]) -> list[str]:
    """Every parameter that is needed and was not typed: click itself stops at the first."""
    rest = list(args)
    for word in ctx.command_path.split()[1:]:
        rest = rest[rest.index(word) + 1 :] if word in rest else rest
    found, _, _ = ctx.command.make_parser(ctx).parse_args(rest)
    return [
        param.opts[0] if isinstance(param, click.Option) else param.make_metavar(ctx)
        for param in ctx.command.get_params(ctx)
        if param.required and not (isinstance(given := found.get(str(param.name)), str | list | tuple) and given)
    ]
