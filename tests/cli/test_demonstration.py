"""The demo is there whole, or not at all."""

from __future__ import annotations

import sys
from typing import Any

import pytest

from compliance.cli import demonstration, issuing
from compliance.intake import samples
from tests.cli.conftest import Desk


@pytest.mark.parametrize("thrown", [KeyboardInterrupt, OSError("the disk is full")])
def test_an_interrupted_demo_leaves_nothing_behind(desk: Desk, monkeypatch: Any, thrown: Any) -> None:
    """Neither the folder nor what was in the making; a folder that was there before stays, and is empty."""
    calls = iter(range(100))
    real = issuing.rendered

    def tired(*args: Any) -> Any:
        if next(calls) == 2:
            raise thrown
        return real(*args)

    to = desk.folder.parent / "demo"
    to.mkdir()
    with monkeypatch.context() as patched:
        patched.setattr(samples, "nights", lambda: iter(list(real_nights())[:12]))
        patched.setattr(issuing, "rendered", tired)
        assert desk("demo", to).code == 2
    assert list(desk.folder.parent.iterdir()) == [to]
    assert list(to.iterdir()) == []


real_nights = samples.nights


def test_a_demo_takes_the_name_of_the_folder_that_was_asked_for(desk: Desk, monkeypatch: Any) -> None:
    """Also of an empty one that is there already; the commands it proposes name it."""
    monkeypatch.setattr(samples, "nights", lambda: iter(list(real_nights())[:12]))
    for name in ("demo", "a/b/demo"):
        to = desk.folder.parent / name
        if name == "demo":
            to.mkdir()
        said = desk("demo", to)
        assert said.code == 0, said.err
        assert {path.name for path in to.iterdir()} == {"book", "pages", "letters"}
        assert [path for path in to.parent.iterdir() if path.name.startswith(".")] == []
        *_, last, _ = said.out.splitlines()
        assert last.strip().startswith(f"washwater --book {to / 'book'} verify --page {to / 'pages'}")
    assert desk("demo", desk.folder.parent / "demo").code == 2


def test_the_demo_proposes_commands_as_it_was_called(desk: Desk, monkeypatch: Any) -> None:
    """By its path where the shell would not find it by its name; each client named gets a summary."""
    monkeypatch.setattr(samples, "nights", lambda: iter(list(real_nights())[:12]))
    monkeypatch.setattr(demonstration, "which", lambda name: None)
    monkeypatch.setattr(sys, "argv", [".venv/bin/washwater", "demo", "demo"])
    to = desk.folder.parent / "demo"
    said = desk("demo", to)
    assert said.out.splitlines()[-2].strip().startswith(f".venv/bin/washwater --book {to / 'book'} verify --page ")
    desk.folder = to / "book"
    clients = [page["about"] for page in desk("pages", "--json").json if page["page"] == "client"]
    assert [about.rpartition(" ")[0] for about in clients] == list(demonstration.CLIENTS)


def test_the_letter_of_the_demo_says_which_rig_was_near_and_of_which_the_records_cannot_say(desk: Desk) -> None:
    """The address that was asked about is no site; the question, the search and what is on hold are in the book."""
    to = desk.folder.parent / "demo"
    said = desk("demo", to)
    assert said.code == 0, said.err
    letter = (to / "letters" / "inquiry-1.en.txt").read_text(encoding="utf-8")
    assert (
        "Big Blue, run 2026-09-03-big-blue, line 2: 212 Canal Street, Port Alder (the same street, as typed)" in letter
    )
    assert "Rigs Little Heron, Slate Gull: no record that night, so these records cannot say." in letter
    assert "Positions: typed addresses." in letter
    assert "Subcontractors are not covered" in letter
    assert (to / "letters" / "inquiry-1.en.pdf").read_bytes().startswith(b"%PDF")
    desk.folder = to / "book"
    assert "on hold: 2026-09-01-big-blue, 2026-09-03-big-blue" in desk("inquiry", "show", "TC-2026-117").out
