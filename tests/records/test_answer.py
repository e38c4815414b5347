"""The four kinds of not having a value."""

from __future__ import annotations

import pytest

from compliance.records.answer import NOT_APPLICABLE, NOT_READ, NOT_RECORDED, NOT_YET, SPOKEN, WRITTEN, without_value


@pytest.mark.parametrize(
    ("value", "kind"),
    [
        (None, NOT_YET), ("not read", NOT_READ), ("not applicable", NOT_APPLICABLE),
        (0, None), ("0 gal", None), ("", None), ({}, None), (["not read"], None),
    ],
)  # fmt: skip
def test_zero_and_blank_are_values(value: object, kind: str | None) -> None:
    """Only an absent field and the two written answers are without a value."""
    assert without_value(value) == kind


def test_the_four_kinds_are_four() -> None:
    """No two of them are the same word, and only two may be written down."""
    assert len({NOT_READ, NOT_APPLICABLE, NOT_YET, NOT_RECORDED}) == 4
    assert set(WRITTEN) == {NOT_READ, NOT_APPLICABLE}
    assert set(SPOKEN.values()) == set(WRITTEN)
