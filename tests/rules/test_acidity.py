"""pH against the federal floor, the hazardous range and the permission; edges included."""

from __future__ import annotations

import pytest

from tests.rules.samples import found, outcome, scene


def ph(value: str, **fields: str) -> dict[str, object]:
    return {"line": {"4": {"ph": value, **fields}}}


def permit(**fields: str) -> dict[str, object]:
    return {"permission": [{"name": "SD-0417", **fields}]}


@pytest.mark.parametrize(
    ("value", "result"),
    [
        ("5.0", "silent"),
        ("4.99", "found"),
        ("<=4.9", "found"),
        ("<=5", "cannot tell"),
        ("<=5.1", "cannot tell"),
        (">=5", "silent"),
        (">=4.9", "cannot tell"),
        ("4.8..5.2", "cannot tell"),
        ("not read", "does not apply"),
    ],
)
def test_floor_of_the_sewer(value: str, result: str) -> None:
    """Below 5.0 is a fault and 5.0 is not; a bound on both sides cannot be told."""
    assert outcome(scene(ph(value)), "ph-1").startswith(result)


@pytest.mark.parametrize(
    ("value", "result"),
    [
        ("2", "found"),
        ("2.01", "silent"),
        ("12.49", "silent"),
        ("12.5", "found"),
        (">=12.5", "found"),
        (">=12", "cannot tell"),
        (">=2", "cannot tell"),
        ("<=12.5", "cannot tell"),
        ("<=2.5", "cannot tell"),
        ("not read", "does not apply"),
    ],
)
def test_hazardous_range(value: str, result: str) -> None:
    """2 and 12.5 are inside the range."""
    assert outcome(scene(ph(value)), "ph-2").startswith(result)


def test_floor_is_for_sewers_only() -> None:
    """Elsewhere the floor does not apply; where the kind is unknown it cannot be told."""
    assert outcome(scene(ph("4", place="Dock Street inlet")), "ph-1") == "does not apply"
    assert outcome(scene(ph("4", place="South Plant")), "ph-1").startswith("cannot tell")


def test_a_permit_that_goes_lower_is_a_question() -> None:
    """The local permit governs where the works is built for it: look at, and ask."""
    (finding,) = found(scene(ph("4.6"), permit(ph_low="4.5")), "ph-1")
    assert finding.severity == "look at" and "permit 'SD-0417' allows pH 4.5" in finding.compared_with
    (level,) = found(scene(ph("4.6"), permit(ph_low="5.0")), "ph-1")
    assert level.severity == "not met"
    (leave,) = found(scene(ph("4.6"), permit(ph_low="4.5", kind="written leave")), "ph-1")
    assert leave.severity == "not met"


def test_no_limit_on_file_is_said() -> None:
    """An absent limit reads 'no limit on file' and is no pass."""
    assert outcome(scene(ph("9")), "ph-3") == "silent: no limit on file"
    assert outcome(scene(ph("9"), permit(ph_high="8.5", valid_to="2026-08-31")), "ph-3") == "silent: no limit on file"


@pytest.mark.parametrize(
    ("value", "result"),
    [("6.0", "silent"), ("5.9", "found"), ("9.5", "silent"), ("9.6", "found"), (">=9", "cannot tell")],
)
def test_limits_of_the_permission(value: str, result: str) -> None:
    """The limits themselves are allowed."""
    assert outcome(scene(ph(value), permit(ph_low="6.0", ph_high="9.5")), "ph-3").startswith(result)


def test_a_limit_may_have_one_side() -> None:
    """A permission that only names a lower limit allows anything above it."""
    assert outcome(scene(ph("12"), permit(ph_low="6.0")), "ph-3") == "silent"
    assert outcome(scene(ph("<=9.5"), permit(ph_high="9.5")), "ph-3") == "silent"
    assert outcome(scene(ph("<=9.6"), permit(ph_high="9.5")), "ph-3").startswith("cannot tell")
    assert outcome(scene(ph(">=6"), permit(ph_low="6.0")), "ph-3") == "silent"
    assert outcome(scene({}), "ph-3") == "does not apply"
