"""Quick frozen classes behave as those of the standard module, and anything else is the standard module's own."""

from __future__ import annotations

import copy
import dataclasses
import pickle
from collections.abc import Callable
from dataclasses import FrozenInstanceError, field
from functools import cached_property
from typing import Any

import pytest

from compliance.records.quick import dataclass


def point(decorate: Callable[[type], type]) -> Any:
    """The same class, made by one decorator or the other."""

    class Point:
        x: int
        y: str = "none"
        seen: list[int] = field(default_factory=list, compare=False)
        note: str = field(default="", repr=False, hash=False)

        def __post_init__(self) -> None:
            if self.x < 0:
                raise ValueError("below zero")

        @cached_property
        def double(self) -> int:
            return self.x * 2

    return decorate(Point)


OURS, THEIRS = point(dataclass(frozen=True)), point(dataclasses.dataclass(frozen=True))
BOTH = pytest.mark.parametrize("made", [OURS, THEIRS], ids=["ours", "theirs"])


@BOTH
def test_values_by_place_by_name_and_by_default(made: Any) -> None:
    """What is missing or too much is refused as in any call; a factory makes a new value each time."""
    one = made(1, note="n")
    assert (one.x, one.y, one.seen, one.note) == (1, "none", [], "n")
    assert made(1).seen is not made(1).seen
    for wrong in ((), (1, "a", [], "", 5)):
        with pytest.raises(TypeError):
            made(*wrong)
    with pytest.raises(ValueError, match="below zero"):
        made(-1)


@BOTH
def test_equal_by_what_is_compared_and_hashed_by_what_counts(made: Any) -> None:
    """A list that is left out does not matter, and a value of another class is never equal."""
    assert made(1, seen=[1]) == made(1) != made(1, note="x")
    assert hash(made(1, seen=[1], note="x")) == hash(made(1))
    assert made(1) != (OURS if made is THEIRS else THEIRS)(1)
    assert len({made(1), made(1), made(2)}) == 2


@BOTH
def test_nothing_can_be_changed_or_removed(made: Any) -> None:
    """Not even a new attribute can be hung on; a cached property is kept all the same."""
    one = made(3)
    for name in ("x", "other"):
        with pytest.raises(FrozenInstanceError, match=f"cannot assign to field '{name}'"):
            setattr(one, name, 1)
    with pytest.raises(FrozenInstanceError, match="cannot delete field 'x'"):
        del one.x
    assert one.double == 6 and one.__dict__["double"] == 6


@BOTH
def test_the_tools_of_the_standard_module_know_it(made: Any) -> None:
    """fields, replace, asdict, copy, match, and how it shows itself."""
    one = made(1, "a", [2], "n")
    assert [each.name for each in dataclasses.fields(one)] == ["x", "y", "seen", "note"]
    assert dataclasses.replace(one, x=4) == made(4, "a", [2], "n")
    assert dataclasses.asdict(one) == {"x": 1, "y": "a", "seen": [2], "note": "n"}
    assert copy.deepcopy(one) == one and copy.copy(one) == one
    assert repr(one) == "point.<locals>.Point(x=1, y='a', seen=[2])"
    match one:
        case made(x, y):
            assert (x, y) == (1, "a")
        case _:
            pytest.fail("no match")


@dataclass(frozen=True)
class Nothing:
    """Without a field."""


@dataclass(frozen=True)
class Kept:
    """At the top of a module, where pickle finds it."""

    text: str


def test_a_class_without_fields_and_one_that_is_pickled() -> None:
    """All of the first are equal; the second comes back the same."""
    assert Nothing() == Nothing() and hash(Nothing()) == hash(Nothing()) and repr(Nothing()) == "Nothing()"
    assert pickle.loads(pickle.dumps(Kept("a"))) == Kept("a") != Kept("b")


def test_any_other_form_is_the_standard_one() -> None:
    """Bare, with slots, or not frozen."""

    @dataclass
    class Bare:
        x: int

    @dataclass(frozen=True, slots=True)
    class Slim:
        x: int

    bare = Bare(1)
    bare.x = 2
    assert bare == Bare(2) and not hasattr(Slim(1), "__dict__")
    assert Bare.__init__.__qualname__.endswith("Bare.__init__")
