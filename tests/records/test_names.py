"""Names are looked up and referred to alike, however they were typed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.records.names import folded, slug


@given(st.text(max_size=40))
def test_folding_a_name_twice_changes_nothing(name: str) -> None:
    """The key of a key is itself, so that lookups agree wherever they are made."""
    assert folded(folded(name)) == folded(name)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("Big Blue", "big-blue"),
        ("  Plaza  FERNÁNDEZ ", "plaza-fernandez"),
        ("No. 4 / yard", "no-4-yard"),
        ("***", "unnamed"),
    ],
)
def test_a_reference_is_made_of_letters_and_digits(name: str, said: str) -> None:
    """What is between them is one hyphen; a name of neither still has a reference."""
    assert slug(name) == said
