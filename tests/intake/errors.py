"""The error corpus: what a file of tests/errors/ is told by the validator, against one book in memory."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from compliance.intake.fromfile import read_entry
from compliance.intake.validate import check
from compliance.records.problem import Problem
from compliance.records.state import State

from .making import NIGHT, NOW, pages

FOLDER = Path(__file__).parent.parent / "errors"

THREE_NUMBERS = {
    "rig": "Little Heron", "lead": "Tom Adlow", "date": "2026-09-16", "where": "North Yard station",
    "used": "300 gal", "recovered": "270 gal", "line": [{"line": "stop", "site": "Dock Street Market"}],
}  # fmt: skip
TWO_DUMPS = {
    **NIGHT, "date": "2026-09-17",
    "line": [
        {"line": "stop", "site": "Fernwood Plaza"}, {"line": "hand over", "place": "North Yard station"},
        {"line": "hand over", "place": "Fernwood cleanout"},
    ],
}  # fmt: skip
ABOARD = {**NIGHT, "date": "2026-09-18", "where": "aboard", "line": [{"line": "stop", "site": "Fernwood Plaza"}]}


def cases() -> list[Path]:
    """The files of the corpus that are entries, by name."""
    return sorted(path for path in FOLDER.iterdir() if path.suffix in (".toml", ".json"))


@cache
def book() -> State:
    """Four nights, tickets and a correction; every entry of the corpus is looked at against them."""
    made = pages(NIGHT, THREE_NUMBERS, TWO_DUMPS, ABOARD)
    made.take("ticket", {"number": "NY-2231", "handovers": [{"run": "2026-09-14-big-blue", "line": "4"}]})
    for sheet, accepted in (("first", "380 gal"), ("second", "330 gal")):  # one number, two amounts
        made.take("ticket", {"number": "NY-2240", "place": "North Yard station", "accepted": accepted, "id": sheet})
    made.take("correct", {"run": "2026-09-14-big-blue", "line": "2", "field": "area", "value": "4300 ft2",
                          "reason": "read wrong"})  # fmt: skip
    state = made.state
    assert state is not None
    return state


def problems(path: Path) -> tuple[Problem, ...]:
    """All that is said about one file."""
    read = read_entry(str(path))
    if isinstance(read, Problem):
        return (read,)
    found = check(read.kind, read.raw, state=book(), where=read.where, now=NOW)
    return tuple(problem for checked in found for problem in checked.problems)


def said(path: Path) -> str:
    """The text that the file beside it holds."""
    return "".join(f"{problem}\n" for problem in problems(path))


def rewrite() -> None:
    """Write down what is said now; read every difference before it is kept."""
    for path in cases():
        path.with_suffix(".txt").write_text(said(path), encoding="utf-8")


if __name__ == "__main__":
    rewrite()
