"""What a tank took up between two looks at it, by levels and by word."""

from __future__ import annotations

from compliance.water.volume import Unknown

from .nights import facts, night, stop


def test_a_second_method_that_was_not_read_stands_beside_without_a_comparison() -> None:
    """It is an answer, so it is shown; E_n cannot tell."""
    _, _, run = facts(night(stop(recovered="30 gal", recovered_also="not read")))
    (beside,) = run.stops[0].captured_beside
    assert isinstance(beside.known.figure, Unknown) and beside.known.figure.kind == "not read"
    assert beside.en is None
