"""Old paint: yes, no, not known, not asked."""

from __future__ import annotations

import pytest

from tests.rules.samples import base, outcome, scene


@pytest.mark.parametrize(
    ("answer", "result"),
    [
        ("yes", "found: paint from before 1978 was disturbed at 'Alder Mall'"),
        ("no", "silent"),
        ("not known", "cannot tell"),
        ("not applicable", "does not apply"),
        ("not read", "does not apply"),
    ],
)
def test_only_an_answer_counts(answer: str, result: str) -> None:
    """'Not known' is no pass, and a question that nobody asked is none."""
    assert outcome(scene({"line": {"2": {"old_paint": answer}}}), "paint-1").startswith(result)


def test_a_stop_that_was_not_worked_disturbed_nothing() -> None:
    """The plan of a stop is no work."""
    stop = {"line": "stop", "site": "Alder Mall", "not_worked": "gate locked", "old_paint": "yes"}
    assert outcome(scene({"lines": [stop, *base()["lines"][1:]]}), "paint-1") == "does not apply"
