"""`washwater log` at a terminal: a pseudo-terminal types what a tired person would."""

from __future__ import annotations

import json
import os
import re
import signal
import sys
from collections.abc import Iterator
from pathlib import Path

import pexpect
import pytest

from tests.cli.conftest import Desk

PROMPT = "> $"
ROUTE_NIGHT = [
    ("1", "rig"), ("2", "lead"), ("\r", "tonight"),
    *[key for stop in "45678912" for key in (("1", "a stop"), (stop + "\r", "its site"), ("1", "worked"))],
    ("3", "hand over"), ("1", "where"), ("\r", "amount"), ("1", "tank empty"), ("\r", "time"), ("0", "that was all"),
    ("l\r", "the water is where the lines say"),
]  # fmt: skip
"""Rig, lead, date, eight stops on the way, the dump at dawn."""


@pytest.fixture
def terminal(book: Desk) -> Iterator[pexpect.spawn]:
    child = _start(book.folder)
    yield child
    child.close(force=True)


def _start(folder: Path, *args: str) -> pexpect.spawn:
    environment = {**os.environ, "WASHWATER_BOOK": str(folder), "TERM": "dumb"}
    command = ["-c", "from compliance.cli.main import run; run()", "log", *args]
    return pexpect.spawn(sys.executable, command, encoding="utf-8", timeout=20, dimensions=(70, 120), env=environment)


def _answer_rest(child: pexpect.spawn, typed: list[str]) -> str:
    """Pass over whatever is still asked with Enter, and hand in; returns the last screen."""
    for _ in range(40):
        found = child.expect([PROMPT, pexpect.EOF])
        screen = str(child.before)
        if found == 1:
            return screen
        key = "1" if "hand it in" in screen.lower() or "hand in" in screen.lower() else "\r"
        typed.append(key)
        child.send(key)
    raise AssertionError(f"the questions do not end: {screen}")


def test_a_route_night_of_eight_stops_takes_at_most_120_keystrokes(terminal: pexpect.spawn, book: Desk) -> None:
    """All keys are counted, the numbers that stand for names too."""
    typed: list[str] = []
    for keys, _ in ROUTE_NIGHT:
        terminal.expect(PROMPT)
        typed.append(keys)
        terminal.send(keys)
    screen = _answer_rest(terminal, typed)
    assert "handed in as" in screen, screen
    assert sum(len(keys) for keys in typed) <= 120
    run = book("show", re.search(r"handed in as (\S+)", screen)[1], "--json").json  # type: ignore[index]
    assert sum(line["line"] == "stop" for line in run["lines"]) == 8
    assert "used" not in run["fields"]
    assert "recovered" not in run["fields"]
    assert len([line for line in screen.splitlines() if line.strip()]) <= 4


@pytest.mark.parametrize("answered", range(0, 14, 3))
def test_a_draft_survives_a_kill_and_goes_on_where_it_stopped(book: Desk, answered: int) -> None:
    """kill -9 at a prompt loses no answer, and nothing is in the book yet."""
    before = book("verify", "--json").json["records"]
    child = _start(book.folder)
    for keys, _ in ROUTE_NIGHT[:answered]:
        child.expect(PROMPT)
        child.send(keys)
    child.expect(PROMPT)
    child.kill(signal.SIGKILL)
    child.wait()
    assert book("verify", "--json").json["records"] == before
    (name,) = [row["draft"] for row in book("drafts", "--json").json]
    kept = json.loads((book.folder / "drafts" / f"{name}.json").read_text())
    assert len(kept["answers"]) == answered
    again = _start(book.folder, "--draft", name)
    for keys, _ in ROUTE_NIGHT[answered:]:
        again.expect(PROMPT)
        again.send(keys)
    assert "handed in as" in _answer_rest(again, [])
    assert book("verify", "--json").json["records"] == before + 1
    assert book("drafts").out == "No night is unfinished.\n"


def test_nothing_expected_is_shown_before_the_figure_is_in(book: Desk) -> None:
    """The last reading of a meter appears only after the new one was typed."""
    book.case("01")
    child = _start(book.folder)
    seen = ""
    for keys in ("1", "2", "\r", "1", "1\r", "1", "7"):
        child.expect(PROMPT)
        seen += str(child.before)
        child.send(keys)
    child.expect(PROMPT)
    listed = str(child.before)
    number = re.search(r"(\d+) Big Blue supply meter", listed)
    assert number is not None, listed
    child.send(f"{number[1]}\r")
    child.expect(PROMPT)
    assert "999307" not in seen + listed + str(child.before)
    child.send("999400\r")
    child.expect(PROMPT)
    assert "999307" in str(child.before)
    child.close(force=True)


def test_what_is_typed_ahead_is_kept_and_an_enter_behind_a_key_answers_nothing(book: Desk) -> None:
    """'1' with Enter takes the rig and leaves the lead; four keys and a line in one piece are four keys and a line."""
    child = _start(book.folder)
    child.expect(PROMPT)
    child.send("1\r")
    child.expect(PROMPT)
    assert "Crew lead" in str(child.before)
    assert "needed" not in str(child.before)
    child.send("2")
    child.expect(PROMPT)
    child.send("2026-09-01\r")
    child.expect(PROMPT)
    assert "First" in str(child.before)
    child.send("13\r1")
    child.expect("After stop 1.*" + PROMPT)
    child.close(force=True)
    (row,) = book("drafts", "--json").json
    assert row == {**row, "date": "2026-09-01", "rig": "Big Blue", "lead": "Marisol Vega", "stops": 1}
    kept = json.loads((book.folder / "drafts" / f"{row['draft']}.json").read_text())
    assert [answer for _, answer in kept["answers"]][:3] == ["Big Blue", "Marisol Vega", "2026-09-01"]
    assert [answer for _, answer in kept["answers"]][3:] == ["stop", "Harbor deck", "worked"]


def test_a_night_kept_as_a_draft_is_handed_in_later(book: Desk) -> None:
    """'Keep it as a draft' ends the call; --draft asks only the last question again."""
    child = _start(book.folder)
    for keys in ("1", "2", "\r", "1", "1\r", "1", "0", "a\r"):
        child.expect(PROMPT)
        child.send(keys)
    for _ in range(40):
        child.expect(PROMPT)
        if "hand in" in str(child.before):
            break
        child.send("\r")
    child.send("2")
    child.expect(pexpect.EOF)
    assert "Kept as draft" in str(child.before)
    (name,) = [row["draft"] for row in book("drafts", "--json").json]
    again = _start(book.folder, "--draft", name)
    assert "handed in as" in _answer_rest(again, [])
