"""Products: the sheet, and bleach with acid."""

from __future__ import annotations

from typing import Any

import pytest

from tests.rules.samples import base, found, outcome, scene

ACID = {"agent": [{"name": "Dulcrust 9", "kind": "acid"}]}


def used(*names: str) -> dict[str, Any]:
    return {"line": {"2": {"agents": [{"agent": name, "amount": "0.5 gal"} for name in names]}}}


@pytest.mark.parametrize("answer", [None, "no", "not known", "not read"])
def test_anything_but_yes_is_not_on_file(answer: str | None) -> None:
    """Only 'yes' says that the sheet is there."""
    entry = {"name": "Brightener", "kind": "acid", **({} if answer is None else {"data_sheet": answer})}
    (finding,) = found(scene({"agent": [entry]}, used("Brightener")), "agent-1")
    assert finding.about == "agent Brightener"
    assert finding.seen == f"data sheet on file: {answer or 'not recorded yet'}"


def test_a_product_is_told_once() -> None:
    """Two nights with one product make one finding."""
    entry = {"agent": [{"name": "Foamcut 7", "data_sheet": "no"}]}
    twice = {"nights": [{"date": "2026-09-15", "handed_in": "2026-09-16T06:40-06:00"}]}
    assert len(found(scene(entry, twice), "agent-1")) == 1


def test_bleach_and_acid_meet_in_the_tank_too() -> None:
    """A product poured into the tank meets what was washed in."""
    pour = {"line": "agent in tank", "agent": "dulcrust 9", "amount": "0.2 gal"}
    made = scene(ACID, used("Whitewash 12"), {"lines": [*base()["lines"][:2], pour, *base()["lines"][2:]]})
    assert found(made, "agent-2") == ()
    lines = base()["lines"]
    lines[1]["agents"] = [{"agent": "Whitewash 12", "amount": "1 gal"}]
    (finding,) = found(scene(ACID, {"lines": [*lines[:2], pour, *lines[2:]]}), "agent-2")
    assert finding.seen == "bleach (Whitewash 12) and acid (Dulcrust 9) on one run"
    assert [line.line for line in finding.lines] == ["2", "3"]


def test_bleach_and_acid_meet_on_a_card_that_only_counts_jugs() -> None:
    """Jugs of the night are named for no stop, and still both products were aboard."""
    jugs = {"line": "agent jugs", "agent": "dulcrust 9", "jugs": "1"}
    lines = base()["lines"]
    lines[1]["agents"] = [{"agent": "Whitewash 12", "amount": "1 gal"}]
    (finding,) = found(scene(ACID, {"lines": [*lines, jugs]}), "agent-2")
    assert finding.seen == "bleach (Whitewash 12) and acid (Dulcrust 9) on one run"


@pytest.mark.parametrize(
    ("names", "result"),
    [
        (("Whitewash 12", "Foamcut 7"), "silent"),
        (("Whitewash 12", "Whitewash 12"), "silent"),
        (("Whitewash 12", "Mystery"), "cannot tell: the kind of Mystery is not on file"),
        (("Mystery",), "silent"),
        (("Whitewash 12", "Dulcrust 9", "Mystery"), "found"),
    ],
)
def test_a_product_of_unknown_kind_beside_another_cannot_be_told(names: tuple[str, ...], result: str) -> None:
    """One product alone meets nothing; beside another, its kind matters."""
    assert outcome(scene(ACID, used(*names)), "agent-2").startswith(result)


def test_without_products_there_is_nothing_to_ask() -> None:
    """A night without a product named, or answered without a value, is not asked."""
    lines = base()["lines"]
    lines[1].pop("agents")
    assert outcome(scene({"lines": lines}), "agent-2") == "does not apply"
    assert outcome(scene({"lines": lines}), "agent-1") == "does not apply"
