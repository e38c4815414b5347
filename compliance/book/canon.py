"""One canonical form for what is stored and hashed: RFC 8785 (JCS) without fractions.

Used once for each record, at writing: the bytes that come out are the bytes that are stored and hashed, so that
no later reader needs to reproduce them. Floats are refused rather than formatted: a volume that passed through a
float is no longer what was typed.
"""

from __future__ import annotations

import json
from typing import Any

WIDEST = 2**53
"""Whole numbers must stay below this in size: beyond it other JSON readers round (RFC 8785, 3.2.2.3)."""

DEEPEST = 64
"""Levels of nesting: far more than a record needs, far less than exhausts the stack of the interpreter."""

# The escapes of the standard encoder, without ASCII-only output, are those of RFC 8785 3.2.2.2; tests compare both.
_encoder = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), allow_nan=False, check_circular=False)


def canonical(value: Any) -> bytes:
    """The RFC 8785 bytes of a value made of str, int, bool, None, list and dict.

    Raises TypeError for any other type (subclasses included) and ValueError for a whole number of 2**53 or more,
    text that is not Unicode (a lone surrogate) and nesting beyond `DEEPEST`; the message starts with the path.
    """
    text = _encoder.encode(_ordered(value, "", 0))
    try:
        return text.encode("utf-8")
    except UnicodeEncodeError as error:
        piece = text[max(0, error.start - 20) : error.end].encode("ascii", "backslashreplace").decode()
        raise ValueError(f"text that is not Unicode, at the end of {piece!r}") from error


def _ordered(value: Any, path: str, depth: int) -> Any:
    """The value with every dict in the order of RFC 8785 3.2.3, once its types are known to be allowed."""
    kind = type(value)
    if kind is str or kind is bool or value is None:
        return value
    if kind is int:
        if -WIDEST < value < WIDEST:
            return value
        raise ValueError(f"{path or 'value'}: {value} is too large a whole number to be kept exactly")
    if depth >= DEEPEST:
        raise ValueError(f"{path or 'value'}: nested more than {DEEPEST} levels deep")
    if kind is list:
        return [_ordered(item, f"{path}[{number}]", depth + 1) for number, item in enumerate(value)]
    if kind is dict:
        for key in value:
            if type(key) is not str:
                raise TypeError(f"{path or 'value'}: the key {key!r} is {type(key).__name__}, not text")
        return {
            key: _ordered(value[key], f"{path}.{key}" if path else key, depth + 1) for key in sorted(value, key=_utf16)
        }
    raise TypeError(f"{path or 'value'}: {kind.__name__} is not stored; text, whole numbers, true, false and null are")


def _utf16(key: str) -> bytes:
    """Order by UTF-16 code unit; it differs from the order by code point outside the basic plane."""
    return key.encode("utf-16-be", "surrogatepass")


# Keys stand in canonical order. Every value is plain ASCII without quotes (`store` refuses all else), so that two
# rows with the same header bytes have the same columns: each label occurs exactly once.
_HEADER = (
    b'{"device_time":"%b","event_time":"%b","id":"%b","kind":"%b",'
    b'"payload_hash":"%b","receipt_time":"%b","schema":%d,"seq":%d}'
)


def header(
    seq: int,
    id: bytes,
    kind: bytes,
    schema: int,
    event_time: bytes,
    device_time: bytes,
    receipt_time: bytes,
    payload_hash: bytes,
) -> bytes:
    """The canonical bytes of a record's header, which are the input of its leaf. payload_hash: 32 raw bytes.

    Text comes as the bytes that are stored, so that a damaged row can be hashed too. Filled into a fixed form
    because this is the inner loop of verifying; a test holds it equal to `canonical` of the same header.
    """
    return _HEADER % (
        device_time,
        event_time,
        id,
        kind,
        payload_hash.hex().encode(),
        receipt_time,
        schema,
        seq,
    )
