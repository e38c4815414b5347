"""The published schema and the validator agree on what is an entry."""

from __future__ import annotations

import copy
from collections.abc import Callable
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from jsonschema import Draft202012Validator

from compliance.intake.fromfile import Read, read_entry
from compliance.intake.registers import check_registers
from compliance.intake.run import check_run
from compliance.intake.schema import registers_schema, run_schema

from .making import NIGHT, NOW, REGISTERS, pages
from .strategies import registers, runs

RUN = Draft202012Validator(run_schema())
FILE = Draft202012Validator(registers_schema())
SAMPLES = Path(__file__).parent.parent.parent / "sample_jobs"
SLOW = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
STATE = pages().state


def plain(raw: Any) -> Any:
    """What a TOML file holds as JSON would hold it: dates and times as text."""
    if isinstance(raw, dict):
        return {key: plain(value) for key, value in raw.items()}
    if isinstance(raw, list):
        return [plain(value) for value in raw]
    return raw.isoformat() if isinstance(raw, date | datetime | time) else raw


def run_problems(raw: dict[str, Any]) -> list[str]:
    return [problem.what for problem in check_run(raw, state=STATE, where="f", now=NOW).problems]


def file_problems(raw: dict[str, Any]) -> list[str]:
    found = check_registers(raw, state=None, where="f", now=NOW)
    return [problem.what for checked in found for problem in checked.problems]


@pytest.mark.parametrize("schema", [run_schema(), registers_schema()])
def test_the_schema_is_a_schema(schema: dict[str, Any]) -> None:
    """By the rules of its own dialect."""
    Draft202012Validator.check_schema(schema)


@pytest.mark.parametrize(
    "path", sorted(SAMPLES.glob("**/*run.toml")), ids=lambda path: f"{path.parent.name}-{path.stem}"
)
def test_every_sample_night_is_valid(path: Path) -> None:
    """The files that a contractor copies from."""
    read = read_entry(str(path))
    assert isinstance(read, Read)
    assert list(RUN.iter_errors(plain(read.raw))) == []


def test_the_sample_registers_are_valid() -> None:
    """One file of every register."""
    read = read_entry(str(SAMPLES / "registers.toml"))
    assert isinstance(read, Read)
    assert list(FILE.iter_errors(plain(read.raw))) == []


@SLOW
@given(runs())
def test_a_night_of_any_shape_is_valid_for_both(raw: dict[str, Any]) -> None:
    """Whatever the field table allows, schema and validator take."""
    assert run_problems(raw) == []
    assert list(RUN.iter_errors(plain(raw))) == []


@SLOW
@given(registers())
def test_registers_of_any_shape_are_valid_for_both(raw: dict[str, Any]) -> None:
    """A business and any entries."""
    assert file_problems(raw) == []
    assert list(FILE.iter_errors(plain(raw))) == []


Spoil = Callable[[dict[str, Any]], None]


def _set(*path: Any, to: Any) -> Spoil:
    def spoil(raw: dict[str, Any]) -> None:
        at: Any = raw
        for key in path[:-1]:
            at = at[key]
        at[path[-1]] = to

    return spoil


def _drop(*path: Any) -> Spoil:
    def spoil(raw: dict[str, Any]) -> None:
        at: Any = raw
        for key in path[:-1]:
            at = at[key]
        del at[path[-1]]

    return spoil


@pytest.mark.parametrize(
    "spoil",
    [
        *(_drop(key) for key in ("rig", "lead", "date", "where", "line")),
        *(_set(key, to="") for key in ("rig", "lead", "date", "where")),
        _set("rig", to="not read"), _set("recoverd", to="5 gal"), _set("rain", to="drizzle"), _set("rain", to=True),
        _set("used", to=-5), _set("used", to="plenty"), _set("used", to=["450"]), _set("used", to={"method": "guess"}),
        _set("used", to={"method": "meter", "meter": "M", "start": "1"}), _set("used", to={"amount": "5", "x": "y"}),
        _set("date", to="09/14/2026"), _set("start", to="late"), _set("remark", to="x" * 20_001),
        _set("crew", to={"a": 1}), _set("lead", to="x" * 201), _set("line", to="stop"), _set("line", to=[]),
        _set("line", 0, "line", to="weather"), _drop("line", 1, "site"), _drop("line", 0, "line"),
        _set("line", 1, "sit", to="x"), _set("line", 1, "drain_list", to="covered"),
        _set("line", 1, "drain_list", to=[{"method": "mat"}]), _set("line", 1, "agents", to=[{"agent": 5, "x": 1}]),
        _set("line", 0, "shows", to="half"), _set("first", to="450"),
    ],
)  # fmt: skip
def test_a_night_that_is_none_is_refused_by_both(spoil: Spoil) -> None:
    """One fault each in an otherwise good night."""
    raw = copy.deepcopy(NIGHT)
    assert run_problems(raw) == []
    assert RUN.is_valid(raw)
    spoil(raw)
    assert run_problems(raw) != []
    assert not RUN.is_valid(raw)


@pytest.mark.parametrize(
    "spoil",
    [
        _set("boats", to=[]), _set("rig", to={"name": "X"}), _drop("tank", 0, "name"), _set("site", 0, "drains", to=-1),
        _set("site", 0, "drains", to="many"), _set("tank", 0, "role", to="spare"), _set("tank", 0, "rols", to="fresh"),
        _set("business", "zone", to="America Denver"), _set("business", "unit", to="barrels"),
        _set("same_as", to=[{"what": "client", "name": "A"}]),
        _set("same_as", to=[{"what": "x", "name": "A", "is": "B"}]),
    ],
)  # fmt: skip
def test_registers_that_are_none_are_refused_by_both(spoil: Spoil) -> None:
    """One fault each in an otherwise good file."""
    raw = copy.deepcopy(REGISTERS)
    assert file_problems(raw) == []
    assert FILE.is_valid(raw)
    spoil(raw)
    assert file_problems(raw) != []
    assert not FILE.is_valid(raw)


def test_a_cancelled_night_needs_no_stop_in_either() -> None:
    """The reason stands in its place."""
    raw = {**NIGHT, "line": [], "cancelled": "storm warning"}
    assert run_problems(raw) == []
    assert RUN.is_valid(raw)
