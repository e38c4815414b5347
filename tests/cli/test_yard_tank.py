"""A tank in the yard that several rigs pump into: on the register of a rig that never goes out, as the docs say."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import Desk

_TANKS = {"Big Blue": ("Blue tank", "North", 280), "Little Heron": ("Heron tank", "South", 180)}
BLUE, HERON = "2026-09-05-big-blue", "2026-09-05-little-heron"
WHO = ("--why", "the yard man saw it", "--who", "Ruth Okafor")


def night(desk: Desk, rig: str, *more: str) -> None:
    """A night of one rig whose water is pumped into the yard tank, and lines that follow."""
    tank, site, captured = _TANKS[rig]
    lines = [
        f'line = "reading"\nof = "{tank}"\nshows = "empty"',
        f'line = "stop"\nsite = "{site}"\nused = "{captured + 20} gal"',
        f'line = "reading"\nof = "{tank}"\nshows = "{captured} gal"',
        f'line = "move"\ntank = "{tank}"\nto = "Yard tank"\namount = "{captured} gal"\ntank_after = "empty"',
        *more,
    ]
    file = desk.folder.parent / "night.toml"
    head = f'rig = "{rig}"\nlead = "Marisol Vega"\ndate = "2026-09-05"\nwhere = "see lines"\n'
    file.write_text(head + "".join(f"[[line]]\n{line}\n" for line in lines), encoding="utf-8")
    said = desk("log", "--from", file)
    assert said.code == 0, said.err


@pytest.fixture
def yard(desk: Desk, tmp_path: Path) -> Desk:
    """Two rigs, a yard, and a night on which both came to its tank; Big Blue's crew handed 200 gallons of it over."""
    bare = tmp_path / "bare.toml"
    bare.write_text('[business]\nname = "B"\nunit = "gal"\nzone = "America/Denver"\n', encoding="utf-8")
    assert desk("init", "--from", bare).code == 0
    for rig in ("Big Blue", "Little Heron", "Yard"):
        assert desk("add", "rig", rig).code == 0
    for rig, (tank, _, _) in _TANKS.items():
        assert desk("add", "tank", tank, f"rig={rig}", "role=recovery", "capacity=500 gal").code == 0
    assert desk("add", "tank", "Yard tank", "rig=Yard", "role=holding", "capacity=1500 gal").code == 0
    assert desk("add", "place", "Plant", "kind=receiving station").code == 0
    empty = 'line = "reading"\nof = "Yard tank"\nshows = "empty"'
    handed = 'line = "hand over"\nplace = "Plant"\ntank = "Yard tank"\namount = "200 gal"'
    before = desk.folder.parent / "before.toml"
    before.write_text('rig = "Yard"\nlead = "Ruth Okafor"\ndate = "2026-09-04"\nwhere = "aboard"\n'
                      f'[[line]]\nline = "stop"\nsite = "yard"\nnot_worked = "none"\n[[line]]\n{empty}\n',
                      encoding="utf-8")  # fmt: skip
    assert desk("log", "--from", before).code == 0
    night(desk, "Big Blue", handed)
    night(desk, "Little Heron")
    return desk


def handed_over(desk: Desk) -> dict[str, str]:
    """Whose water the handover took: stop -> amount."""
    (load,) = [row["load"] for row in desk("list", "loads", "--json").json if row["tank"] == "Yard tank"]
    draws = desk("balance", load, "--json").json["draws"]
    (whose,) = [draw["whose"] for draw in draws if draw["way"] == "handed over"]
    return {one["owner"].partition(" (")[0]: one["value"] for one in whose}


def test_the_order_of_the_runs_says_whose_water_was_handed_over(yard: Desk) -> None:
    """Heron first: of 460 gallons of both. Big Blue first: of its own alone."""
    assert yard("order", "Yard tank", HERON, BLUE, *WHO).code == 0
    assert handed_over(yard) == {f"{HERON}.s1": "78.26", f"{BLUE}.s1": "121.74"}
    assert yard("order", "Yard tank", BLUE, HERON, *WHO).code == 0
    assert handed_over(yard) == {f"{BLUE}.s1": "200.00"}


def test_what_is_in_the_yard_is_aboard_no_rig(yard: Desk) -> None:
    """Each rig came home empty; what is left stands in the lists under the tank."""
    assert yard("order", "Yard tank", HERON, BLUE, *WHO).code == 0
    aboard = {row["run"]: row["aboard at the end"] for row in yard("list", "runs", "--json").json}
    assert (aboard[BLUE], aboard[HERON]) == ("0 gal", "0 gal")
    assert "260 gal" in {row["detail"].removesuffix(", no ±") for row in yard("list", "open", "--json").json}
