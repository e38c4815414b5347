"""Whatever lists something lists it for programs too."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from compliance.cli.looking import _loads, _open
from compliance.cli.main import COMMANDS
from compliance.devtools.commandpage import command_named, words_of
from tests.cli.conftest import Desk
from tests.reports.making import book as bench_of

LISTS = ("list", "drafts", "find", "query", "registers", "rules", "check", "complete", "pages", "month list",
         "inquiry list")  # fmt: skip
EVERY = [words for name in COMMANDS for words in words_of(name)]


def options(words: str) -> set[str]:
    return {option for param in command_named(words).params for option in param.opts}


@pytest.mark.parametrize("words", LISTS)
def test_every_listing_can_be_had_as_json_and_as_csv(words: str) -> None:
    """One spelling everywhere."""
    assert {"--json", "--csv"} <= options(words)


def test_no_listing_was_left_out() -> None:
    """A command that says of itself that it lists, or that takes one form for programs, takes both."""
    lists = {words for words in EVERY if (command_named(words).help or "").lower().startswith("list")}
    assert {"list", "drafts", "rules", "pages", "month list"} <= lists
    assert [words for words in lists if not {"--json", "--csv"} <= options(words)] == []
    assert [words for words in EVERY if "--csv" in options(words) and "--json" not in options(words)] == []


def test_drafts_are_listed_for_people_and_for_programs(book: Desk) -> None:
    """None, and some."""
    assert book("drafts", "--json").json == []
    columns = ["draft", "date", "rig", "lead", "stops"]
    assert list(csv.reader(io.StringIO(book("drafts", "--csv").out))) == [columns]
    folder = book.folder / "drafts"
    folder.mkdir()
    begun = {"answers": [["rig", "Big Blue"], ["date", "2026-09-01"], ["step/1", "stop"], ["step/2", "done"]]}
    for name, draft in (("night-a", begun), ("night-b", {}), ("night-c", [])):
        (folder / f"{name}.json").write_text(json.dumps(draft), encoding="utf-8")
    rows = [["night-a", "2026-09-01", "Big Blue", "", "1"], ["night-b", "", "", "", "0"],
            ["night-c", "", "cannot be read", "", ""]]  # fmt: skip
    assert list(csv.reader(io.StringIO(book("drafts", "--csv").out))) == [columns, *rows]
    assert book("drafts", "--json").json[0] == dict(zip(columns, [*rows[0][:-1], 1], strict=True))
    assert "night-a  2026-09-01  Big Blue" in book("drafts").out


@pytest.mark.parametrize(
    "words",
    ["list runs", "list jobs", "list loads", "list handovers", "list pages", "list open", "drafts", "find zzz",
     "query select*from|runs", "pages", "pages --touched", "month list", "inquiry list", "registers job"],
)  # fmt: skip
def test_a_listing_without_rows_has_the_columns_of_one_with_rows(desk: Desk, tmp_path: Path, words: str) -> None:
    """A program that reads it needs no second way for a book in which nothing is yet."""
    bare, book = tmp_path / "bare.toml", desk
    bare.write_text('[business]\nname = "B"\nunit = "gal"\nzone = "America/Denver"\n', encoding="utf-8")
    assert book("init", "--from", bare).code == 0
    args = [word.replace("|", " ") for word in words.split()]
    assert book(*args, "--json").json == []
    (columns,) = csv.reader(io.StringIO(book(*args, "--csv").out))
    assert len(columns) > 2
    if words == "find zzz":
        book("add", "client", "Alder Oven Bakery")
        found = book("find", "alder", "--csv").out
        assert len(found.splitlines()) > 1
        assert next(csv.reader(io.StringIO(found))) == columns == list(book("find", "alder", "--json").json[0])


@pytest.mark.parametrize("option", ["--from", "--to"])
def test_a_listing_is_not_cut_at_what_is_no_day(book: Desk, option: str) -> None:
    """It would have been empty without a word."""
    book.case("01")
    said = book("list", option, "Sept 1")
    assert (said.code, "'Sept 1' is not written as dates are here" in said.err) == (2, True)
    assert book("list", option, "20260901").code == 2  # a day in another form of the standard sorts elsewhere
    assert len(book("list", option, "2026-09-01", "--json").json) == 1


@pytest.mark.parametrize("words", ["list", "check", "client Nobody"])
def test_a_span_that_ends_before_it_begins_is_no_empty_one(book: Desk, words: str) -> None:
    """'0 findings' about two days in the wrong order would read as a clean bill."""
    book.case("01")
    said = book(*words.split(), "--from", "2026-11-01", "--to", "2026-01-01")
    assert (said.code, said.out) == (2, "")
    assert said.err.startswith("the first day, 2026-11-01, is after the last, 2026-01-01\n  where: --from, --to")
    assert "is after the last" not in book(*words.split(), "--from", "2026-11-01", "--to", "2026-11-01").err


def test_an_interruption_says_that_nothing_more_was_done(book: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever was being done; exit code 2."""
    from compliance.cli import issuing

    book.case("01")

    def stop(*args: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(issuing, "rendered", stop)
    said = book("month", "2026-09", "--out", book.folder.parent / "pages")
    assert said.code == 2
    assert said.err.strip() == "Stopped. Nothing more was handed in or issued."
    assert book("pages").out == "No page was issued yet.\n"


def test_a_load_that_was_handed_over_unread_is_not_said_to_be_aboard() -> None:
    """Nobody looked into the tank afterwards; both listings say that it is not known."""
    stop, dump = {"line": "stop", "site": "yard"}, {"line": "hand over", "place": "plant", "amount": "not read"}
    night = {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "see lines"}
    registers = {"business": {"name": "B", "unit": "gal", "zone": "America/Denver"}, "rig": [{"name": "Big Blue"}]}
    bench = bench_of(registers, {**night, "recovered": "not read", "line": [stop, dump]})
    (load,) = _loads(bench.state, bench.night)[1]
    assert load[-3:] == ("not read", "not read", "not known")
    assert [row[1:] for row in _open(bench.state, bench.night)[1]] == [
        ("water aboard, not known whether", "2026-09-01-big-blue.l1", "not read")
    ]
    empty = bench_of(registers, {**night, "recovered": "not read", "line": [stop, {**dump, "tank_after": "empty"}]})
    assert _open(empty.state, empty.night)[1] == []
