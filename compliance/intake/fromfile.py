"""Entries from a TOML or JSON file, or from standard input: read whole, with figures as the text they were typed in."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import IO, Any, Final

from compliance.intake.validate import FILE_KINDS, REGISTERS
from compliance.records import kinds
from compliance.records.fields import GROUPS
from compliance.records.fields import REGISTERS as REGISTER_NAMES
from compliance.records.problem import Problem
from compliance.records.quick import dataclass

LARGEST: Final = 10_000_000
"""Bytes of one file of entries: a year of nights of one rig fits several times."""

STANDARD_INPUT: Final = "-"

_OF_A_RUN: Final = frozenset({row.name for row in GROUPS["run"]} | {"line"})
_POSITION = re.compile(r"\(at (?:line (?P<line>\d+), column (?P<column>\d+)|end of document)\)")


@dataclass(frozen=True)
class Read:
    """One entry as it stood in a file. kind: one of `validate.FILE_KINDS`; where: the name to show for the file."""

    kind: str
    raw: Mapping[str, Any]
    where: str


def read_entry(name: str, stdin: IO[bytes] | None = None) -> Read | Problem:
    """Read the file of that name, or standard input for '-'. Nothing is looked up: see `validate.check`.

    A file that cannot be read, is too large or broken gives one problem, with line and column where they are known.
    """
    where = "standard input" if name == STANDARD_INPUT else Path(name).name
    if name == STANDARD_INPUT:
        if stdin is None:
            return Problem("there is no standard input here", where, "name a file instead")
        data = stdin.read(LARGEST + 1)
    else:
        try:
            with Path(name).open("rb") as file:
                data = file.read(LARGEST + 1)
        except (OSError, ValueError) as error:
            why = getattr(error, "strerror", None) or str(error)
            return Problem(f"the file cannot be read: {why}", name, "look at its name and whether it may be read")
    return parsed(data, where)


def parsed(data: bytes, where: str) -> Read | Problem:
    """What stands in the bytes of a file of entries, TOML or JSON by their look."""
    if len(data) > LARGEST:
        limit = f"{LARGEST // 1_000_000} MB"
        return Problem(f"the file is larger than {limit}", where, "hand in one night a file")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        return Problem("the file is not UTF-8 text", f"{where}, line {line}", "save it as UTF-8, then try again")
    if not text.strip():
        return Problem("the file is empty", where, "write at least rig, lead, date, where and one stop")
    raw = _json(text, where) if text.lstrip().startswith("{") or where.endswith(".json") else _toml(text, where)
    if isinstance(raw, Problem):
        return raw
    kind = _kind(raw)
    return Read(kind, raw, where)


def _toml(text: str, where: str) -> dict[str, Any] | Problem:
    import tomllib  # only for this kind of file

    try:
        return tomllib.loads(text, parse_float=str)
    except tomllib.TOMLDecodeError as error:
        said = str(error)
        found = _POSITION.search(said)
        here = where
        if found is not None:
            here = (
                f"{where}, line {found['line']}, column {found['column']}" if found["line"] else f"{where}, at its end"
            )
        what = _POSITION.sub("", said).strip().rstrip(".:")
        return Problem(f"this is not TOML: {what}", here, f"{_excerpt(text, found)}look at quotes, brackets and commas")
    except (ValueError, RecursionError) as error:
        return Problem(f"the file cannot be read: {_plain(error)}", where, "shorten the number, or nest less")


_DEEPEST: Final = 50
"""Levels of an entry: a list of an entry of a line of a night has five."""


def _json(text: str, where: str) -> dict[str, Any] | Problem:
    twice: list[str] = []

    def table(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        whole = dict(pairs)
        if len(whole) < len(pairs):
            names = [name for name, _ in pairs]
            twice.extend(name for name in whole if names.count(name) > 1)
        return whole

    try:
        raw = json.loads(text, parse_float=str, parse_int=str, parse_constant=str, object_pairs_hook=table)
    except json.JSONDecodeError as error:
        here = f"{where}, line {error.lineno}, column {error.colno}"
        return Problem(f"this is not JSON: {error.msg}", here, "look at quotes, brackets and commas")
    except RecursionError as error:
        return Problem(f"the file cannot be read: {_plain(error)}", where, "nest less")
    if not _shallow(raw):  # how deep a program may go is the interpreter's affair; how deep an entry goes is ours
        return Problem(f"the file cannot be read: {_plain(RecursionError())}", where, "nest less")
    if twice:
        return Problem(f"{twice[0]!r} stands twice in one table", where, "keep one of the two")
    if not isinstance(raw, dict):
        return Problem("the file holds no table of keys at its top", where, "hand in one entry a file")
    return raw


def _shallow(raw: Any) -> bool:
    """Whether a value is nested no deeper than any entry, counted without going deep oneself."""
    level = [raw]
    for _ in range(_DEEPEST):
        level = [
            inner
            for one in level
            if isinstance(one, dict | list)
            for inner in (one.values() if isinstance(one, dict) else one)
        ]
        if not level:
            return True
    return False


def _plain(error: Exception) -> str:
    return "it is nested too deep" if isinstance(error, RecursionError) else str(error).partition(";")[0]


def _excerpt(text: str, found: re.Match[str] | None) -> str:
    """The user's own line, for a message."""
    if found is None or found["line"] is None:
        return ""
    lines = text.splitlines()
    number = int(found["line"])
    line = lines[number - 1].strip() if number <= len(lines) else ""
    return f"it says {line[:80]!r} there; " if line else ""


def _kind(raw: Mapping[str, Any]) -> str:
    """What a file is: as its key 'kind' says, or else by what stands in it."""
    named = raw.get("kind")
    if isinstance(named, str) and named.strip():
        word = " ".join(named.casefold().replace("_", " ").split())
        return word if word in FILE_KINDS else named
    if any(name in raw for name in ("business", "same_as")) or any(_is_list(raw.get(n)) for n in REGISTER_NAMES):
        return REGISTERS
    if not _OF_A_RUN & set(raw) and any(_is_list(raw[name]) for name in raw if name != "handovers"):
        return REGISTERS  # lists of entries under a name that is misspelt
    if "handovers" in raw:
        return kinds.TICKET
    if "add_after" in raw or "line_values" in raw:
        return kinds.COMPLETE
    if "field" in raw:
        return kinds.CORRECT if "reason" in raw or "was" in raw else kinds.COMPLETE
    if "rule" in raw:
        return kinds.ACCEPT
    return kinds.RUN


def _is_list(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(item, dict) for item in value)
