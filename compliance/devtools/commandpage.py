"""docs/commands.md: what every command says of itself, at a fixed width."""

from __future__ import annotations

from collections.abc import Iterator

import click

from compliance.cli.main import COMMANDS, washwater
from compliance.devtools.markdown import block, code, table

WIDTH = 100


def part() -> str:
    """A table of the commands, then the help of each; the group's own first."""
    rows = [(f"[{code(name)}](#{name})", line) for name, (_, line) in COMMANDS.items()]
    made = [table(("command", "what it does"), rows), "### washwater\n", block(helps(), "text")]
    for name in COMMANDS:
        made += [f'### <a id="{name}"></a>{name}\n', *(block(helps(one), "text") for one in words_of(name))]
    return "\n".join(made)


def helps(name: str = "") -> str:
    """What --help prints, of one command ('month close') or of the whole, as on a terminal that is `WIDTH` wide."""
    command, context = _walked(name)
    return command.get_help(context)


def words_of(name: str) -> list[str]:
    """A command and, where it has commands of its own, each of these: 'month', 'month close' ..."""
    command = command_named(name)
    own = sorted(command.commands) if isinstance(command, click.Group) else []
    return [name, *(f"{name} {one}" for one in own)]


def command_named(name: str) -> click.Command:
    """A command by its words; KeyError when there is none."""
    return _walked(name)[0]


def _walked(name: str) -> tuple[click.Command, click.Context]:
    command: click.Command = washwater
    context = _context(command, None, "washwater")
    for word in name.split():
        found = command.get_command(context, word) if isinstance(command, click.Group) else None
        if found is None:
            raise KeyError(name)
        command, context = found, _context(found, context, word)
    return command, context


def undocumented() -> Iterator[str]:
    """Commands and options that say nothing of themselves."""
    for name in (words for command in COMMANDS for words in words_of(command)):
        command = command_named(name)
        if not (command.help or "").strip():
            yield name
        for option in command.params:
            if isinstance(option, click.Option) and not (option.help or "").strip():
                yield f"{name} {option.opts[-1]}"


def _context(command: click.Command, parent: click.Context | None, name: str) -> click.Context:
    settings = {**command.context_settings, "terminal_width": WIDTH, "max_content_width": WIDTH}
    return click.Context(command, parent=parent, info_name=name, **settings)
