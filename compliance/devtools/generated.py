"""All that is made from code, in one list: written, or compared with what stands on the disk."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from compliance.devtools import (
    cautionpage,
    commandpage,
    errorpage,
    fieldpage,
    outside,
    pictures,
    rulepage,
    schemas,
    tablepage,
)
from compliance.devtools.here import DOCS

COMMAND: Final = "python -m compliance.devtools docs"


@dataclass(frozen=True)
class Generated:
    """A document made by a function. part: the name of its marked part, '' when the whole file is made."""

    file: str
    make: Callable[[], str]
    part: str = ""

    @property
    def path(self) -> Path:
        return DOCS / self.file

    def wanted(self) -> str:
        """What the file should hold. ValueError when it lacks the marks of its part."""
        made = self.make()
        if not self.part:
            return made if self.file.endswith((".json", ".svg")) else f"{_NOTE}\n{made}"
        begin, end = f"<!-- generated: {self.part} -->\n", f"<!-- end: {self.part} -->\n"
        before, found, rest = self.path.read_text(encoding="utf-8").partition(begin)
        _, closed, after = rest.partition(end)
        if not found or not closed:
            raise ValueError(f"{self.path} has no part marked {self.part!r}")
        return f"{before}{begin}\n{made}\n{end}{after}"

    def stands(self) -> str:
        """What the file holds, '' when there is none."""
        return self.path.read_text(encoding="utf-8") if self.path.is_file() else ""


_NOTE: Final = f"<!-- Made by `{COMMAND}`; change the code it comes from, not this file. -->"

ALL: Final[Sequence[Generated]] = (
    Generated("fields.md", fieldpage.page),
    Generated("rules.md", rulepage.page),
    Generated("commands.md", commandpage.part, "commands"),
    Generated("errors.md", errorpage.part, "errors"),
    Generated("cautions.md", cautionpage.part, "cautions"),
    Generated("tables.md", tablepage.part, "tables"),
    Generated("schema-run.json", schemas.run),
    Generated("schema-registers.json", schemas.registers),
    Generated("outside-checks.md", outside.page),
    Generated("balance.svg", pictures.balance),
)


def stale() -> Iterator[str]:
    """The documents that are not what the code makes of them."""
    for one in ALL:
        if one.stands() != one.wanted():
            yield one.file


def write() -> Iterator[str]:
    """Write what is stale; yields the names of what was written."""
    for one in ALL:
        wanted = one.wanted()
        if one.stands() != wanted:
            one.path.parent.mkdir(parents=True, exist_ok=True)
            one.path.write_text(wanted, encoding="utf-8", newline="\n")
            yield one.file
