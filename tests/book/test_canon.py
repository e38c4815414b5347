"""Canonical bytes, against published vectors and an outside implementation."""

from __future__ import annotations

import json
from collections import OrderedDict
from decimal import Decimal
from hashlib import sha256
from typing import Any

import pytest
import rfc8785
from hypothesis import given, settings
from hypothesis import strategies as st

from compliance.book.canon import DEEPEST, WIDEST, canonical, header

# cyberphone/json-canonicalization 19d51d7fe467, testdata; fractions are outside our form, so 56.0 stands as 56
PUBLISHED = {
    "arrays": (
        [56, {"d": True, "10": None, "1": []}],
        "099601b171cafed97c333f8878d68e7f8c8f795412adb34b2fdcf0e7c7beac42",
    ),
    "structures": (
        {
            "1": {"f": {"f": "hi", "F": 5}, "\n": 56},
            "10": {},
            "": "empty",
            "a": {},
            "111": [{"e": "yes", "E": "no"}],
            "A": {},
        },
        "605f65004ec2db7692522a0852c22f1c989e036d547e88963d1a3143cf3195d5",
    ),
    "french": (
        {
            "sin": "ignore locale",
            "péché": "is wrong according to French",
            "peach": "This sorting order",
            "pêche": "but canonicalization MUST",
        },
        "d99d0ebdcb0033cb858cfa830ae46bc0fb3309413b271f1da828c89901a27ed5",
    ),
    "unicode": (
        {"Unnormalized Unicode": "A\u030a"},
        "0d99aad92a125196ff887876643fd3206786a84ddce2cee52ba4ad256d2381d3",
    ),
}

json_values = st.recursive(
    st.none() | st.booleans() | st.integers(-(WIDEST - 1), WIDEST - 1) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=12,
)


@pytest.mark.parametrize("name", PUBLISHED)
def test_published_vectors_come_out_byte_for_byte(name: str) -> None:
    """The published files without fractions have the published hashes."""
    value, expected = PUBLISHED[name]
    assert sha256(canonical(value)).hexdigest() == expected


def test_the_published_string_vector_is_escaped_as_published() -> None:
    """The string and the literals of the published file 'values'; its numbers are fractions."""
    value = {"string": "\u20ac$\u000f\u000aA'\u0042\u0022\u005c\\\"/", "literals": [None, True, False]}
    assert canonical(value).decode() == ('{"literals":[null,true,false],"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}')


def test_keys_are_ordered_by_utf_16_code_unit_and_not_by_code_point() -> None:
    """A key outside the basic plane comes before one at its end, as RFC 8785 3.2.3 has it."""
    assert canonical({"\ufb33": 1, "\U0001f600": 2}).decode() == '{"\U0001f600":2,"\ufb33":1}'
    assert sorted(["\ufb33", "\U0001f600"]) == ["\ufb33", "\U0001f600"]


@settings(max_examples=200, deadline=None)
@given(json_values)
def test_any_value_comes_out_as_an_outside_implementation_writes_it(value: Any) -> None:
    """Ours and rfc8785 agree, and reading the bytes gives the value back."""
    ours = canonical(value)
    assert ours == rfc8785.dumps(value)
    assert json.loads(ours) == value


@pytest.mark.parametrize(
    ("value", "message"),
    [
        ({"a": [1, {"b": 1.5}]}, "a[1].b: float"),
        (1.0, "value: float"),
        ({"a": Decimal("1")}, "a: Decimal"),
        ({"a": (1, 2)}, "a: tuple"),
        ({"a": b"x"}, "a: bytes"),
        (OrderedDict(a=1), "value: OrderedDict"),
        ({"a": {1: "x"}}, "a: the key 1 is int"),
        ({None: "x"}, "value: the key None is NoneType"),
    ],
)
def test_any_other_type_is_refused_with_its_path(value: Any, message: str) -> None:
    """A float, a subclass or a key that is not text says where it stands."""
    with pytest.raises(TypeError) as caught:
        canonical(value)
    assert str(caught.value).startswith(message)


@pytest.mark.parametrize(
    ("value", "message"),
    [
        ({"a": [WIDEST]}, "a[0]: 9007199254740992 is too large"),
        (-WIDEST, "value: -9007199254740992 is too large"),
        ({"a": "half \ud83d"}, 'text that is not Unicode, at the end of \'{"a":"half \\\\ud83d\''),
        ({"\udc00": 1}, "text that is not Unicode"),
    ],
)
def test_values_that_other_readers_would_change_are_refused(value: Any, message: str) -> None:
    """A whole number of 2**53 and a lone surrogate are errors, not approximations."""
    with pytest.raises(ValueError) as caught:
        canonical(value)
    assert str(caught.value).startswith(message)


def test_nesting_is_bounded_before_the_stack_is() -> None:
    """The deepest allowed value is written, one level more is refused, and so is a value that holds itself."""
    value: Any = "end"
    for _ in range(DEEPEST):
        value = [value]
    assert canonical(value) == b"[" * DEEPEST + b'"end"' + b"]" * DEEPEST
    with pytest.raises(ValueError, match=r"^a(\[0\]){63}: nested more than 64 levels"):
        canonical({"a": value})
    loop: list[Any] = []
    loop.append(loop)
    with pytest.raises(ValueError, match="nested more than 64 levels"):
        canonical(loop)


def test_the_fixed_form_of_a_header_is_its_canonical_form() -> None:
    """The header written for speed is the canonical object, key for key."""
    expected = {
        "seq": 12,
        "id": "ab" * 16,
        "kind": "run",
        "schema": 1,
        "event_time": "2026-03-04",
        "device_time": "2026-03-05T05:58:41-05:00",
        "receipt_time": "2026-03-05T06:10:00-05:00",
        "payload_hash": "0f" * 32,
    }
    times = (expected["event_time"], expected["device_time"], expected["receipt_time"])
    event, device, receipt = (str(time).encode() for time in times)
    assert header(12, b"ab" * 16, b"run", 1, event, device, receipt, b"\x0f" * 32) == canonical(expected)
