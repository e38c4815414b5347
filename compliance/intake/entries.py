"""What was checked becomes an entry: with an id made here, and the clock of this device."""

from __future__ import annotations

from collections.abc import Callable
from hashlib import sha256

from compliance.intake.checked import Checked
from compliance.records.envelope import Entry

Token = Callable[[], bytes]
"""Gives 16 random bytes; passed in, so that a book can be made the same twice."""


def record_id(text: str) -> str:
    """The record id that an id as people write it stands for: 32 hex digits of its hash, or itself if it is one."""
    if len(text) == 32 and set(text) <= set("0123456789abcdef"):
        return text
    return sha256(b"washwater id\0" + text.encode()).hexdigest()[:32]


def entry(checked: Checked, *, now: str, token: Token) -> Entry:
    """The entry of a checked payload. now: the device's clock, RFC 3339 with offset.

    Raises ValueError when there is nothing to hand in (problems, or nothing new).
    """
    if checked.payload is None:
        raise ValueError("there is nothing to hand in")
    id = record_id(checked.id_text) if checked.id_text else token().hex()
    device_time = checked.device_time or now
    return Entry(id, checked.kind, checked.event_time or device_time, device_time, checked.payload)
