"""Completing behind TAB: the shell's script, and the names that the book holds, quickly and without a word."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from click.shell_completion import ShellComplete

from compliance.cli.main import COMMANDS, washwater
from tests.cli.conftest import Desk


def offered(book: Desk, *typed: str, last: str = "") -> list[str]:
    """What stands behind TAB after these words."""
    complete = ShellComplete(washwater, {}, "washwater", "_WASHWATER_COMPLETE")
    return [item.value for item in complete.get_completions(["--book", str(book.folder), *typed], last)]


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_the_script_of_each_shell_is_printed(desk: Desk, shell: str) -> None:
    """Without a book; it asks the command itself."""
    said = desk("completion", shell)
    assert said.code == 0
    assert "_WASHWATER_COMPLETE" in said.out and "washwater" in said.out
    assert f"{shell}_complete" in said.out


def test_a_shell_that_is_not_known_is_refused(desk: Desk) -> None:
    """The three are named."""
    said = desk("completion", "tcsh")
    assert said.code == 2 and "fish" in said.err


def test_commands_complete(book: Desk) -> None:
    """Every command, and those of month."""
    assert offered(book) == list(COMMANDS)
    assert offered(book, last="re") == ["registers", "restore"]
    book.case("01")
    assert offered(book, "month") == ["close", "list", "reopen", "summary", "2026-09"]
    assert offered(book, "month", "close") == ["2026-09"]


def test_jobs_and_runs_complete_from_the_book(book: Desk) -> None:
    """Names of jobs, stops that are jobs of their own, runs; the newest first, in any case of letters."""
    book.case("01")
    book.case("02")
    book.case("03")
    jobs = offered(book, "proof")
    assert jobs[-1] == "Alder Oven dock, September"
    assert "2026-09-03-big-blue.s8" in jobs and "Harbor deck, three nights" in jobs
    assert len(jobs) == len(set(jobs))
    listed = [row["job"] for row in book("list", "jobs", "--json").json]
    assert set(jobs) == set(listed)
    assert offered(book, "proof", last="alder") == ["Alder Oven dock, September"]
    runs = ["2026-09-10-little-heron", "2026-09-09-little-heron", "2026-09-08-little-heron", "2026-09-03-big-blue",
            "2026-09-01-big-blue"]  # fmt: skip
    for command in ("show", "check", "correct", "complete", "cancel", "attach"):
        assert offered(book, command) == runs, command
    assert offered(book, "balance") == [*runs, *jobs]
    assert offered(book, "client", last="Alder") == ["Alder Oven Bakery"]


@pytest.mark.parametrize(
    ("typed", "last", "names"),
    [
        (["card", "--rig"], "b", ["Big Blue"]),
        (["card", "--stop"], "Harbor", ["Harbor deck"]),
        (["card", "--lead"], "Mar", ["Marisol Vega"]),
        (["inquiry", "open", "--site"], "Harbor", ["Harbor deck"]),
        (["correct", "2026-09-01-big-blue", "--who"], "Mar", ["Marisol Vega"]),
        (["ticket", "T-1", "--place"], "Port", ["Port Alder receiving station"]),
        (["ticket", "T-1", "--for"], "", ["2026-09-01-big-blue/4", "2026-09-01-big-blue"]),
        (["order"], "big blue r", ["Big Blue recovery"]),
        (["order", "Big Blue recovery"], "2026", ["2026-09-01-big-blue"]),
        (["edit", "rig"], "Big", ["Big Blue"]),
        (["edit", "business"], "", []),
        (["same-as", "client"], "Hill", ["Hillrow Hospital"]),
        (["same-as", "client", "Hillrow Hospital"], "Quill", ["Quillon Fish Counter"]),
        (["explain"], "escape", ["escape-1"]),
        (["accept"], "escape", ["escape-1"]),
        (["check", "--only"], "escape", ["escape-1"]),
        (["inquiry", "show"], "", ["inquiry-1"]),
        (["log", "--draft"], "", ["night-a"]),
        (["drafts", "--throw-away"], "nig", ["night-a"]),
        (["show"], "2026-09", ["2026-09-01-big-blue"]),
        (["show"], "2026-10", []),
    ],
)
def test_what_the_book_knows_is_offered_where_it_is_taken(
    book: Desk, typed: list[str], last: str, names: list[str]
) -> None:
    """Options and arguments alike; a rule is offered by its id, a draft by its name."""
    book.case("01")
    (book.folder / "drafts").mkdir()
    (book.folder / "drafts" / "night-a.json").write_text("{}", encoding="utf-8")
    asked = book("inquiry", "open", "--asked-by", "Lena Ostrow", "--asked", "2026-09-02",
                 "--address", "214 Canal Street", "--first", "2026-09-01", "--until", "2026-09-02",
                 "--who", "Ruth Okafor")  # fmt: skip
    assert asked.code == 0, asked.err
    assert offered(book, *typed, last=last) == names


def test_a_continued_stop_is_one_job(book: Desk) -> None:
    """Its second line is no stop of its own."""
    book.case("23")
    listed = [row["job"] for row in book("list", "jobs", "--json").json]
    assert set(offered(book, "proof")) == set(listed)


def test_without_a_book_nothing_is_offered_and_nothing_said(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    """Behind TAB is no place for an error."""
    assert offered(desk, "proof") == []
    (desk.folder).mkdir()
    (desk.folder / "records.sqlite").write_bytes(b"not a database at all" * 100)
    assert offered(desk, "proof") == []
    assert capsys.readouterr() == ("", "")


def test_the_book_is_found_as_by_the_command(book: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """By --book, else by WASHWATER_BOOK."""
    book.case("01")
    monkeypatch.setenv("WASHWATER_BOOK", str(book.folder))
    complete = ShellComplete(washwater, {}, "washwater", "_WASHWATER_COMPLETE")
    assert [item.value for item in complete.get_completions(["show"], "")] == ["2026-09-01-big-blue"]


def test_completing_a_job_imports_nothing_heavy(book: Desk) -> None:
    """No tables, documents or calculator: names come straight from the records, in a process of its own."""
    book.case("01")
    source = (
        "import os, sys\n"
        "os.environ.update(_WASHWATER_COMPLETE='bash_complete', COMP_WORDS=f'washwater --book {sys.argv[1]} proof ',\n"
        "                  COMP_CWORD='4')\n"
        "from compliance.cli.main import main\n"
        "try:\n"
        "    main([])\n"
        "finally:\n"
        "    heavy = {'pandas', 'openpyxl', 'reportlab', 'sqlite_utils', 'compliance.water.fold'} & set(sys.modules)\n"
        "    print('heavy', sorted(heavy))\n"
    )
    made = subprocess.run(
        [sys.executable, "-c", source, str(book.folder)], capture_output=True, text=True, check=False,
        cwd=Path(__file__).parents[2],
    )  # fmt: skip
    assert made.stderr == ""
    assert made.stdout.splitlines() == ["plain,Alder Oven dock, September", "heavy []"]
