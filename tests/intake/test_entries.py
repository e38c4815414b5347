"""What was checked becomes an entry."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.intake.checked import Checked
from compliance.intake.entries import entry, record_id

NOW = "2026-10-01T09:00:00-06:00"


def made(**more: Any) -> Any:
    checked = Checked("run", {"a": "b"}, **{"event_time": "2026-09-14", **more})
    return entry(checked, now=NOW, token=lambda: bytes(range(16)))


def test_an_entry_gets_a_random_id_of_its_own() -> None:
    """128 bits from the generator that is passed in."""
    assert made().id == bytes(range(16)).hex()


def test_an_id_of_its_own_text_is_the_same_every_time() -> None:
    """Any text is hashed; 32 hex digits are an id already."""
    assert made(id_text="case 02, run").id == record_id("case 02, run")
    assert record_id("case 02, run") != record_id("case 02, run ")
    assert record_id("0f" * 16) == "0f" * 16
    assert record_id("0F" * 16) != "0F" * 16


def test_times_are_those_of_the_entry_or_of_the_device() -> None:
    """When it happened, when it was handed in."""
    assert (made().event_time, made().device_time) == ("2026-09-14", NOW)
    assert made(event_time="").event_time == NOW
    dated = made(event_time="", device_time="2026-09-15T06:40:00-06:00")
    assert (dated.event_time, dated.device_time) == ("2026-09-15T06:40:00-06:00",) * 2


def test_nothing_is_made_of_nothing() -> None:
    """An entry with problems, or with nothing new, has no payload."""
    with pytest.raises(ValueError, match="nothing to hand in"):
        entry(Checked("run", None, ""), now=NOW, token=bytes)
