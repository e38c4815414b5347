"""Readers for what older programs wrote: pure functions from one schema version to the next.

Stored bytes are never rewritten. A new schema version adds one function to `STEPS` and one fixture to
tests/records/old/.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from compliance.records.envelope import SCHEMA, Payload, Record
from compliance.records.problem import BookDamaged, Problem

STEPS: Final[Mapping[int, Callable[[str, Payload], Payload]]] = {}
"""Schema version n -> the function (kind, payload) that turns it into version n + 1."""


def upgraded(record: Record) -> Payload:
    """The payload as this program understands it. Raises BookDamaged for a version from a newer program."""
    if record.schema > SCHEMA:
        raise BookDamaged(
            Problem(
                f"record {record.seq} was written by a newer program (schema {record.schema})",
                f"record {record.id}",
                "install the newer washwater; nothing is lost",
            )
        )
    payload = record.payload
    for version in range(record.schema, SCHEMA):
        payload = STEPS[version](record.kind, payload)
    return payload
