"""The envelope around everything that is written down.

A record is never changed. A correction, a cancellation or a completion is another record that names the one
it concerns in its payload. The header (all but the payload) holds no free text, so that a payload can be
destroyed when its retention ends without breaking the tree over the headers.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from compliance.records.quick import dataclass

SCHEMA = 1
"""The schema version that this program writes."""

Payload = Mapping[str, Any]
"""JSON values only, decimals as strings: str, int, bool, None, list and dict; never float."""


@dataclass(frozen=True)
class Entry:
    """A record on its way in: all of it but its place in the book and the time of receipt.

    id: 32 lower-case hex digits, random, made where it was entered. kind: see `records.kinds`.
    event_time: when it happened, RFC 3339 with offset, or a plain date; device_time: the clock of the device
    that made it, RFC 3339 with offset. payload: see `Payload`.
    """

    id: str
    kind: str
    event_time: str
    device_time: str
    payload: Payload
    schema: int = SCHEMA


@dataclass(frozen=True)
class Record:
    """An entry in its place. seq counts from 1; receipt_time is the clock of the machine that holds the book."""

    seq: int
    id: str
    kind: str
    schema: int
    event_time: str
    device_time: str
    receipt_time: str
    payload: Payload
