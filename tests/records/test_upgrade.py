"""Readers for what older programs wrote."""

from __future__ import annotations

from pathlib import Path

import pytest

from compliance.records import upgrade
from compliance.records.envelope import SCHEMA, Payload, Record


def of_version(schema: int) -> Record:
    return Record(7, "0" * 32, "run", schema, "2026-09-14", "", "", {"fields": {"a": 1}})


def test_a_record_of_this_version_is_read_as_it_stands() -> None:
    """No step, no copy."""
    record = of_version(SCHEMA)
    assert upgrade.upgraded(record) is record.payload


def test_an_older_record_goes_through_every_step(monkeypatch: pytest.MonkeyPatch) -> None:
    """From its version to the one before this program's, each with the kind of the record."""

    def renamed(kind: str, payload: Payload) -> Payload:
        return {"fields": {f"{kind} b": payload["fields"]["a"]}}

    monkeypatch.setattr(upgrade, "STEPS", {SCHEMA: renamed})
    monkeypatch.setattr(upgrade, "SCHEMA", SCHEMA + 1)
    assert upgrade.upgraded(of_version(SCHEMA)) == {"fields": {"run b": 1}}


def test_every_older_version_has_a_step_and_a_fixture() -> None:
    """A version that this program writes no more can still be read, and one record of it is kept to show that."""
    assert set(upgrade.STEPS) == set(range(1, SCHEMA))
    old = Path(__file__).parent / "old"
    assert {path.stem for path in old.glob("*.json")} == {str(version) for version in upgrade.STEPS}
