"""What is wrong, in three parts."""

from __future__ import annotations

from compliance.records.problem import BookDamaged, ComplianceError, Problem


def test_a_problem_says_what_where_and_what_to_do() -> None:
    """Three lines, for a person."""
    assert str(Problem("it leaks", "tank 2", "tighten it")) == "it leaks\n  where: tank 2\n  do this: tighten it"


def test_an_error_carries_its_problems_and_its_exit_code() -> None:
    """2 for what was refused, 3 for a damaged book."""
    error = ComplianceError.one("a", "b", "c")
    assert error.problems == (Problem("a", "b", "c"),)
    assert str(ComplianceError(Problem("a", "", ""), Problem("d", "", ""))) == "a; d"
    assert (error.exit_code, BookDamaged.one("a", "b", "c").exit_code) == (2, 3)
