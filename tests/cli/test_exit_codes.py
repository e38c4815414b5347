"""Each exit code is produced once on purpose, and nothing else leaves with it."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from compliance.cli import main as cli
from tests.cases import SAMPLES
from tests.cli.conftest import Desk


def test_zero_when_a_command_is_done(book: Desk) -> None:
    """0: done."""
    assert book("list").code == 0


@pytest.mark.parametrize("words", [(), ("inquiry",), ("month",)])
def test_two_with_help_when_no_command_is_named(capsys: pytest.CaptureFixture[str], words: tuple[str, ...]) -> None:
    """The help and nothing else: it stood inside an error."""
    assert cli.main(words) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith("Usage: washwater") and "Commands:" in said.err and "do this" not in said.err


@pytest.mark.parametrize("words", [("list",), ("log",), ("log", "--lang", "es")])
def test_two_with_the_whole_path_where_no_book_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], words: tuple[str, ...]
) -> None:
    """'.' would tell nobody in which folder the program looked."""
    monkeypatch.chdir(tmp_path)
    assert cli.main(["--book", ".", *words]) == 2
    assert f": {tmp_path}\n" in capsys.readouterr().err


def test_one_when_check_finds_something(book: Desk) -> None:
    """1: `check` has a finding that nobody accepted."""
    book.case("12")
    assert book("check").code == 1


def test_zero_when_check_finds_nothing(book: Desk) -> None:
    """0: a clean case has no finding."""
    book.case("01")
    said = book("check")
    assert said.code == 0, said.out
    assert "0 findings" in said.out
    assert "The local permit governs." in said.out


def test_zero_when_every_finding_is_accepted_and_still_shown(book: Desk) -> None:
    """0: an accepted finding shows with name, reason and day, and is no longer an error."""
    book.case("08")
    assert book("check").code == 1
    about = book("check", "--json").json["findings"][0]["about"]
    accept = ("accept", "ticket-2", about, "--why", "their scale counts the hose", "--who", "Ruth Okafor")
    assert book(*accept, "--until", "2026-12-31").code == 0
    said = book("check")
    assert said.code == 0
    assert "accepted by Ruth Okafor until 2026-12-31: their scale counts the hose" in said.out


@pytest.mark.parametrize(
    "args",
    [
        ("list", "--nothing-like-that"),
        ("lsit",),
        ("show", "2026-01-01-nobody"),
        ("check", "--only", "no-such-rule"),
        ("explain", "no-such-rule"),
        ("balance", "nothing"),
        ("log", "--from", "no-such-file.toml"),
        ("add", "place", "Ridge Road", "kinds=hauler"),
        ("edit", "place", "Nowhere", "kind=hauler"),
        ("correct", "2026-01-01-nobody", "used", "4 gal", "--who", "R", "--why", "w", "--reason", "keyed wrong"),
        ("cancel", "2026-01-01-nobody", "--who", "R", "--why", "w"),
        ("ticket", "T-1", "--for", "2026-01-01-nobody/3"),
    ],
    ids=lambda args: args[0],
)
def test_two_when_a_command_cannot_be_carried_out(book: Desk, args: tuple[str, ...]) -> None:
    """2: usage, or something that is not there; nothing is written and stderr says what to do."""
    before = book("verify", "--json").json["records"]
    said = book(*args)
    assert said.code == 2
    assert said.out == ""
    assert said.err.strip()
    assert book("verify", "--json").json["records"] == before


def test_two_without_a_book(desk: Desk) -> None:
    """2: no book there, and the way to one is named."""
    said = desk("list")
    assert said.code == 2
    assert "washwater init" in said.err


def test_two_when_the_program_itself_fails(book: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """2, never 1: an unexpected error is no finding; --debug lets it through."""
    monkeypatch.setattr("compliance.cli.looking.whole", lambda _: 1 / 0)
    said = book("list")
    assert said.code == 2
    assert "--debug" in said.err
    with pytest.raises(ZeroDivisionError):
        book("--debug", "list")


def test_three_when_the_book_is_damaged(book: Desk) -> None:
    """3: damage, with the four answers."""
    import sqlite3

    db = sqlite3.connect(book.folder / "records.sqlite")
    triggers = [name for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")]
    for name in triggers:
        db.execute(f"DROP TRIGGER {name}")
    db.execute("UPDATE records SET payload = CAST(replace(CAST(payload AS TEXT), 'who', 'wha') AS BLOB) WHERE seq = 20")
    db.commit()
    db.close()
    said = book("verify")
    assert said.code == 3
    assert "how serious" in said.out
    assert "may I go on" in said.out


def test_three_and_no_page_when_a_record_was_changed_behind_the_back(book: Desk, tmp_path: Path) -> None:
    """A page that prints a figure nobody entered is worse than none."""
    book.case("01")
    with closing(sqlite3.connect(book.folder / "records.sqlite")) as db, db:
        db.execute("DROP TRIGGER records_no_update")
        db.execute(
            "UPDATE records SET payload = CAST(replace(payload, '26.5 in', '27.5 in') AS BLOB) WHERE kind = 'run'"
        )
    for command in (("proof", "Alder Oven dock, September"), ("month", "2026-09")):
        said = book(*command, "--out", tmp_path / "pages")
        assert (said.code, said.out) == (3, "")
        assert "What the record says is not what was written" in said.err and "washwater verify" in said.err
    assert not (tmp_path / "pages").exists()


def test_the_console_script_hands_its_code_on() -> None:
    """The installed command leaves with what `main` says."""
    done = subprocess.run([sys.executable, "-c", "from compliance.cli.main import run; run()", "nothing"],
                          capture_output=True, check=False)  # fmt: skip
    assert done.returncode == 2


def test_help_of_every_command_says_what_its_row_says() -> None:
    """The one line of help stands in one place."""
    context = cli.click.Context(cli.washwater)
    for name, (_, line) in cli.COMMANDS.items():
        command = cli.washwater.get_command(context, name)
        assert command is not None
        assert command.name == name
        assert command.short_help == line
        assert command.help


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("shwo",), "there is no command 'shwo'\n  where: washwater\n  do this: did you mean `washwater show`?\n"),
        (
            ("import", "old.csv", "--take-back"),
            "option '--take-back' requires an argument\n  where: washwater import\n"
            "  do this: `washwater import --help` says what it takes\n",
        ),
        (("zzz",), "there is no command 'zzz'\n  where: washwater\n  do this: `washwater --help` lists the commands\n"),
        (("list", "--jsn"), "there is no option --jsn\n  where: washwater list\n  do this: did you mean --json?\n"),
        (("list", "--zzz"), "there is no option --zzz\n  where: washwater list\n"
                            "  do this: `washwater list --help` says what it takes\n"),
        (("correct", "a-run", "used"), "these are missing: VALUE, --who, --reason, --why\n  where: washwater correct\n"
                                       "  do this: add them; `washwater correct --help` says what it takes\n"),
        (("month", "reopen", "2026-09", "--why", "x"),
         "missing option '--who'\n  where: washwater month reopen\n"
         "  do this: `washwater month reopen --help` says what it takes\n"),
    ],
)  # fmt: skip
def test_a_command_line_that_cannot_be_read_says_what_to_type_instead(
    desk: Desk, args: tuple[str, ...], said: str
) -> None:
    """In the three parts of every error, with all that is missing at once."""
    found = desk(*args)
    assert (found.code, found.out, found.err) == (2, "", said)


def test_a_program_that_asks_for_json_is_told_in_json_what_is_wrong(book: Desk, tmp_path: Path) -> None:
    """Every problem in its three parts on stdout, and the words for people on stderr as ever."""
    night = tmp_path / "night.toml"
    night.write_text('rig = "Big Blue"\nused = "some"\n')
    said = book("log", "--from", night, "--json")
    assert said.code == 2
    problems = said.json["problems"]
    assert {"what": "no stop was given", "where": "night.toml"}.items() <= problems[-1].items()
    assert all(set(problem) == {"what", "where", "next_step"} for problem in problems)
    assert all(problem["what"] in said.err for problem in problems)
    assert book("show", "nobody", "--json").json["problems"][0]["what"] == "no run or record is called 'nobody'"
    assert book("log", "--from", night).out == ""


def test_a_preview_is_told_in_json_too(book: Desk) -> None:
    """What would be new, with what is to be looked at; nothing is written."""
    (folder,) = SAMPLES.glob("case-01-*")
    said = book("log", "--from", folder / "1-run.toml", "--preview", "--json")
    assert said.code == 0
    assert said.json["written"] == 0
    assert [(one["kind"], one["new"]) for one in said.json["entries"]] == [("run", True)]
    assert book("list").out == "No runs there.\n"
