"""Branch coverage by room: everything in the rooms that hold the figures, nine tenths elsewhere."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

WHOLE: Final = ("records", "water", "rules", "book")
"""Rooms in which no line and no branch may be untested."""
ELSEWHERE: Final = 90
"""Percent of lines, and of branches, in every other room."""


@dataclass
class Room:
    """What the tests reached of a room. missing: one line a file, for a reader."""

    name: str
    lines: int = 0
    lines_hit: int = 0
    branches: int = 0
    branches_hit: int = 0
    missing: list[str] = field(default_factory=list)

    @property
    def wanted(self) -> int:
        return 100 if self.name in WHOLE else ELSEWHERE

    @property
    def enough(self) -> bool:
        """Whether lines and branches both reach what is wanted, without rounding up."""
        pairs = ((self.lines_hit, self.lines), (self.branches_hit, self.branches))
        return all(100 * hit >= self.wanted * all_ for hit, all_ in pairs)

    def __str__(self) -> str:
        return (
            f"{self.name:<10} lines {_percent(self.lines_hit, self.lines)}  "
            f"branches {_percent(self.branches_hit, self.branches)}  wanted {self.wanted} %"
        )


def rooms(report: Mapping[str, Any]) -> Sequence[Room]:
    """The rooms of a coverage report in JSON form, in the order of their names."""
    found: dict[str, Room] = {}
    for name, file in sorted(report["files"].items()):
        parts = Path(name).parts
        at = len(parts) - 1 - parts[::-1].index("compliance")
        room = parts[at + 1] if len(parts) > at + 2 else "(top)"
        one = found.setdefault(room, Room(room))
        summary = file["summary"]
        one.lines += summary["num_statements"]
        one.lines_hit += summary["covered_lines"]
        one.branches += summary["num_branches"]
        one.branches_hit += summary["covered_branches"]
        told = _missing(file)
        if told:
            one.missing.append(f"{name}: {told}")
    return list(found.values())


def judge(file: Path) -> Iterator[tuple[Room, bool]]:
    """Each room with whether it is covered enough. Raises ValueError for a report without branches."""
    report = json.loads(file.read_text(encoding="utf-8"))
    if not report["meta"]["branch_coverage"]:
        raise ValueError(f"{file} was made without branch coverage")
    found = rooms(report)
    absent = set(WHOLE) - {room.name for room in found}
    if absent:
        raise ValueError(f"{file} holds nothing of {', '.join(sorted(absent))}")
    return iter([(room, room.enough) for room in found])


def _missing(file: Mapping[str, Any]) -> str:
    jumps: dict[int, list[str]] = defaultdict(list)
    for start, end in file.get("missing_branches", ()):
        jumps[start].append("exit" if end < 0 else str(end))
    lines = ", ".join(_spans(file["missing_lines"]))
    branches = ", ".join(f"{start}->{'/'.join(ends)}" for start, ends in sorted(jumps.items()))
    return "; ".join(text for text in (lines and f"lines {lines}", branches and f"branches {branches}") if text)


def _spans(lines: Sequence[int]) -> Iterator[str]:
    """Line numbers with neighbours drawn together."""
    runs: list[list[int]] = []
    for line in lines:
        if runs and line == runs[-1][-1] + 1:
            runs[-1].append(line)
        else:
            runs.append([line])
    for run in runs:
        yield str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}"


def _percent(hit: int, whole: int) -> str:
    return f"{100 * hit / whole:6.2f} %" if whole else "   none "
