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
        made += [f'### <a id="{name}"></a>{name}\n', block(helps(name), "text")]
    return "\n".join(made)


def helps(name: str = "") -> str:
    """What --help prints, of one command or of the group, as on a terminal that is `WIDTH` wide."""
    parent = _context(washwater, None, "washwater")
    if not name:
        return washwater.get_help(parent)
    command = command_named(name)
    return command.get_help(_context(command, parent, name))


def command_named(name: str) -> click.Command:
    """A command of the group; KeyError when it has none of that name."""
    found = washwater.get_command(_context(washwater, None, "washwater"), name)
    if found is None:
        raise KeyError(name)
    return found


def undocumented() -> Iterator[str]:
    """Commands and options that say nothing of themselves."""
    for name in COMMANDS:
        command = command_named(name)
        if not (command.help or "").strip():
            yield name
        for option in command.params:
            if isinstance(option, click.Option) and not (option.help or "").strip():
                yield f"{name} {option.opts[-1]}"


def _context(command: click.Command, parent: click.Context | None, name: str) -> click.Context:
    settings = {**command.context_settings, "terminal_width": WIDTH, "max_content_width": WIDTH}
    return click.Context(command, parent=parent, info_name=name, **settings)
