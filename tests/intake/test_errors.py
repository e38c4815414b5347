"""The error corpus: every message that a file of entries can be given has a file that provokes it."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from .errors import cases, problems, said

ROOT = Path(__file__).parent.parent.parent / "compliance"
FROM_FILES = (
    "intake/amend.py", "intake/frame.py", "intake/fromfile.py", "intake/joining.py", "intake/limits.py",
    "intake/moments.py", "intake/papers.py", "intake/registers.py", "intake/run.py", "intake/serial.py",
    "intake/spots.py", "intake/text.py", "intake/validate.py", "intake/values.py", "records/measure.py",
    "records/quantity.py",
)  # fmt: skip
"""Modules that look at what comes in a file. The words of the questions are tested with the questions."""

ELSEWHERE = {
    # of a file that is too large to keep in the corpus: test_fromfile, test_run, test_values, test_registers
    "the file is larger than .*": "test_fromfile",
    ".* lines are more than the .* that are taken": "test_run",
    ".* entries are more than the .* that are taken": "test_values",
    # of the way to a file: test_fromfile
    "there is no standard input here": "test_fromfile",
    # of what only a program can give, never a file of entries: test_values, test_papers, test_validate
    ".* came as a binary number": "test_values",
    "the file is empty": "test_papers",
    "a file of .* MB at most is kept": "test_papers",
    ".* is not a SHA-256 in hexadecimal": "test_papers",
    ".* is not a kind of file that is kept": "test_papers",
    "the file has no name": "test_papers",
    ".* is a path or no name of a file": "test_papers",
    "only a run has lines": "test_papers",
    # of a book that the corpus does not have: a list of drains, a cancelled run
    ".* has no entry .*": "test_spots",
    ".* is cancelled": "test_joining",
    ".* is not the id of a rule": "test_papers",
    "there is no finding .* about .*": "test_papers",
    "there is no book in which a .* could be looked up": "test_validate",
    "the table [business] is missing": "test_registers",
}
"""Messages with a test of their own beside the corpus."""


@pytest.mark.parametrize("path", cases(), ids=lambda path: path.stem)
def test_a_file_is_told_what_is_wrong_with_it(path: Path) -> None:
    """What is said about it, in the three parts of every message, word for word."""
    assert said(path) == path.with_suffix(".txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("path", cases(), ids=lambda path: path.stem)
def test_every_message_says_where_and_what_to_do(path: Path) -> None:
    """No message is without its place in the file and a next step, and none is given twice."""
    found = problems(path)
    assert found
    assert len(set(found)) == len(found)
    for problem in found:
        assert path.name in problem.where
        assert problem.next_step


def _templates(source: str) -> Iterator[str]:
    """The first words of every Problem in a module, as patterns: what is filled in matches anything."""
    tree = ast.parse(source)
    for function in [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]:
        named = {
            target.id: node.value
            for node in ast.walk(function)
            if isinstance(node, ast.Assign)
            for target in node.targets
            if isinstance(target, ast.Name)
        }
        for node in ast.walk(function):
            if isinstance(node, ast.Call) and node.args and _makes_a_problem(node.func):
                first = node.args[0]
                yield from _patterns(named.get(first.id, first) if isinstance(first, ast.Name) else first)


def _makes_a_problem(function: ast.expr) -> bool:
    return (isinstance(function, ast.Name) and function.id == "Problem") or (
        isinstance(function, ast.Attribute) and function.attr == "problem"
    )


def _patterns(node: ast.expr) -> Iterator[str]:
    if isinstance(node, ast.IfExp):
        yield from _patterns(node.body)
        yield from _patterns(node.orelse)
    elif isinstance(node, ast.Constant):
        yield str(node.value)
    elif isinstance(node, ast.JoinedStr):
        yield "".join(str(part.value) if isinstance(part, ast.Constant) else ".*" for part in node.values)


def _pattern(template: str) -> re.Pattern[str]:
    return re.compile(".*".join(re.escape(part) for part in template.split(".*")))


@pytest.mark.parametrize("module", FROM_FILES)
def test_every_message_of_the_validator_has_a_case(module: str) -> None:
    """A new message needs a file in tests/errors/ that makes it, or a named test elsewhere."""
    told = [problem.what for path in cases() for problem in problems(path)]
    templates = set(_templates((ROOT / module).read_text(encoding="utf-8")))
    missing = [
        template
        for template in templates - ELSEWHERE.keys()
        if not any(_pattern(template).fullmatch(what) for what in told)
    ]
    assert missing == []


def test_no_exception_outlives_its_message() -> None:
    """What is tested elsewhere is still said somewhere."""
    templates = {t for module in FROM_FILES for t in _templates((ROOT / module).read_text(encoding="utf-8"))}
    assert set(ELSEWHERE) <= templates


def test_no_expected_text_is_without_its_file() -> None:
    """A case that is renamed takes its text along."""
    assert {path.stem for path in cases()} <= {path.stem for path in cases()[0].parent.glob("*.txt")}
