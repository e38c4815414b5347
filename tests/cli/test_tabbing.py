"""TAB in a real shell: a name of several words, with whatever signs are in it, arrives as one word."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterator
from pathlib import Path

import pexpect
import pytest

from tests.cli.conftest import Desk

RIGS = ("Big Blue two", "Moth's (old) rig", "Cost $5: north", 'Tomás "B" rig', "A=B one", "back\\slash x")
_READY = "READY> "


@pytest.fixture(scope="module")
def shell(tmp_path_factory: pytest.TempPathFactory) -> Iterator[pexpect.spawn]:
    """An interactive bash that has taken over the script; `show` prints the words that it is given."""
    folder = tmp_path_factory.mktemp("tab")
    from compliance.cli.main import main
    from tests.cases import SAMPLES

    book = str(folder / "book")
    assert main(["--book", book, "init", "--from", str(SAMPLES / "registers.toml")]) == 0
    for rig in RIGS:
        assert main(["--book", book, "add", "rig", rig]) == 0
    (case,) = SAMPLES.glob("case-01-*")
    for file in sorted(case.glob("[0-9]*.toml")):
        assert main(["--book", book, "log", "--from", str(file)]) == 0
    command = folder / "washwater"
    command.write_text(
        f'#!{sys.executable}\nimport sys\nsys.path.insert(0, {str(Path(__file__).parents[2])!r})\n'
        "from compliance.cli.main import run\nrun()\n", encoding="utf-8",
    )  # fmt: skip
    command.chmod(0o755)
    told = {**os.environ, "PATH": f"{folder}:{os.environ['PATH']}", "TERM": "dumb", "WASHWATER_BOOK": book,
            "LC_ALL": "C.UTF-8"}  # fmt: skip
    child = pexpect.spawn(
        "bash", ["--norc", "--noprofile", "-i"], env=told, encoding="utf-8", timeout=20, dimensions=(60, 400)
    )
    child.sendline("bind 'set bell-style none'; bind 'set enable-bracketed-paste off'; PS1='READ''Y> '")
    child.expect(_READY)
    child.sendline('eval "$(washwater completion bash)"; show() { printf "@@"; printf "[%s]" "$@"; echo "@@"; }')
    child.expect(_READY)
    yield child
    child.close(force=True)


def words(shell: pexpect.spawn, typed: str, close: str = "") -> list[str]:
    """The words of a command line after TAB. close: what ends a quotation that is still open."""
    # readline carries out one key after the other: the line is shown once TAB has done its work
    shell.send(f"{typed}\t{close}\x01show \r")
    shell.expect(r"@@(\[[^\r\n]*)@@\r\n")
    found = str(shell.match[1])
    shell.expect(_READY)
    return re.findall(r"\[([^\]]*)\]", found)


@pytest.mark.parametrize(
    ("typed", "last"),
    [
        ("washwater card --rig Big\\ Blue\\ ", "Big Blue two"),
        ("washwater card --rig Moth", "Moth's (old) rig"),
        ("washwater card --rig 'Moth", "Moth's (old) rig"),
        ("washwater card --rig moth", "Moth's (old) rig"),
        ("washwater card --rig Cost", "Cost $5: north"),
        ('washwater card --rig "Cost', "Cost $5: north"),
        ("washwater card --rig Cost\\ \\$5:", "Cost $5: north"),
        ("washwater card --rig Cost\\ \\$5:\\ n", "Cost $5: north"),
        ("washwater card --rig Tom", 'Tomás "B" rig'),
        ('washwater card --rig "Tom', 'Tomás "B" rig'),
        ("washwater card --rig A", "A=B one"),
        ("washwater card --rig A=", "A=B one"),
        ("washwater card --rig back", "back\\slash x"),
        ('washwater card --rig "back', "back\\slash x"),
        ("washwater card --rig=Moth", "--rig=Moth's (old) rig"),
        ("washwater card --rig=A=B\\ o", "--rig=A=B one"),
        ("washwater card --stop 'Alder", "Alder Oven, Canal Street"),
        ("washwater proof Alder", "Alder Oven dock, September"),
        ('washwater proof "alder oven', "Alder Oven dock, September"),
        ("washwater show 2026", "2026-09-01-big-blue"),
        ("washwater explain esc", "escape-1"),
        ("washwater month reo", "reopen"),
        ("washwater card --ri", "--rig"),
    ],
)
def test_what_stands_behind_tab_is_one_word(shell: pexpect.spawn, typed: str, last: str) -> None:
    """Escaped or in quotes; after a colon or '=', at which bash begins a new word; in any case of letters."""
    assert words(shell, typed)[-1] == last


def test_several_names_are_completed_as_far_as_they_agree(shell: pexpect.spawn) -> None:
    """Nothing is chosen for who has not chosen."""
    assert words(shell, "washwater card --rig Big") == ["washwater", "card", "--rig", "Big Blue"]
    assert words(shell, "washwater card --rig 'Big", "'") == ["washwater", "card", "--rig", "Big Blue"]


def test_where_there_is_nothing_to_offer_the_line_stays(shell: pexpect.spawn) -> None:
    """And nothing is said in the middle of it."""
    assert words(shell, "washwater card --rig Zzz") == ["washwater", "card", "--rig", "Zzz"]


def test_folders_and_files_are_completed_by_the_shell(shell: pexpect.spawn, tmp_path: Path) -> None:
    """With their own spaces."""
    (tmp_path / "old books").mkdir()
    (tmp_path / "old books" / "2021 nights.csv").write_text("x", encoding="utf-8")
    assert words(shell, f"washwater --book {tmp_path}/ol")[-1].rstrip("/") == f"{tmp_path}/old books"
    assert words(shell, f"washwater import {tmp_path}/old\\ books/20")[-1] == f"{tmp_path}/old books/2021 nights.csv"


@pytest.mark.parametrize("name", ["bash", "zsh", "fish"])
def test_the_script_asks_the_command_in_the_words_of_its_shell(desk: Desk, name: str) -> None:
    """One script a shell; what goes wrong behind TAB is not written into the line."""
    said = desk("completion", name).out
    assert f"_WASHWATER_COMPLETE={name}_complete" in said
    assert "2>/dev/null" in said
