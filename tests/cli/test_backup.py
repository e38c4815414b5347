"""A backup is written down in the book, so that an old one is noticed."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from compliance.book import files
from tests.cli.conftest import Desk


def test_a_backup_is_remembered_and_its_age_is_judged(book: Desk, tmp_path: Path) -> None:
    """After a week without one the rule speaks, a backup silences it, and its record names the code of the copy."""
    assert book("check", "--only", "backup-1").code == 0
    book.clock += timedelta(days=8)
    said = book("check", "--only", "backup-1")
    assert said.code == 1
    assert "the book was never backed up, and was begun 9 days ago, on 2026-08-31" in said.out
    before = book("verify", "--json").json
    made = book("backup", tmp_path / "copy")
    assert made.code == 0, made.err
    assert book("check", "--only", "backup-1").code == 0
    after = book("verify", "--json").json
    assert after["records"] == before["records"] + 1
    assert book("verify", "--record-code", f"{before['records']}:{before['root']}").code == 0
    assert f"record code {before['records']}:{before['root']}" in made.out
    book.clock += timedelta(days=9)
    assert "the last backup was made 9 days ago" in book("check", "--only", "backup-1").out


def test_a_backup_that_cannot_be_made_is_not_remembered(book: Desk, tmp_path: Path) -> None:
    """A folder in use is refused, and the book stays as it is."""
    (tmp_path / "in use").mkdir()
    (tmp_path / "in use" / "something.txt").write_text("x")
    before = book("verify", "--json").json
    assert book("backup", tmp_path / "in use").code == 2
    assert book("verify", "--json").json == before


@pytest.mark.parametrize("there", [False, True])
@pytest.mark.parametrize("command", ["backup", "restore", "restore an export"])
def test_an_interrupted_copy_leaves_nothing_behind(
    book: Desk, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: str, there: bool
) -> None:
    """Half a book is nobody's backup, and the same command can be given again; a folder that was there stays, empty."""
    book.case("01")
    book("proof", "Alder Oven dock, September", "--out", tmp_path / "pages")
    assert book("backup", tmp_path / "before").code == 0
    assert book("export", tmp_path / "export").code == 0
    source = {"backup": (), "restore": (tmp_path / "before",), "restore an export": (tmp_path / "export",)}[command]
    args = (command.split()[0], *source, tmp_path / "to")
    if there:
        (tmp_path / "to").mkdir()
    before = book("verify", "--json").json

    def stop(*given: Any, **more: Any) -> Any:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(files, "copy", stop)
        said = book(*args)
    assert (said.code, said.err.strip()) == (2, "Stopped. Nothing more was handed in or issued.")
    assert (tmp_path / "to").exists() is there
    assert not there or list((tmp_path / "to").iterdir()) == []
    assert book("verify", "--json").json == before
    assert book(*args).code == 0


def test_an_interruption_takes_nothing_away_that_was_there(
    book: Desk, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A folder with something in it is not ours."""
    (tmp_path / "in use").mkdir()
    (tmp_path / "in use" / "something.txt").write_text("x")

    def stop(*given: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(files, "require_empty", stop)
    assert book("backup", tmp_path / "in use").code == 2
    assert (tmp_path / "in use" / "something.txt").read_text() == "x"


def test_the_house_may_set_its_own_number_of_days(book: Desk) -> None:
    """On the register of limits; a bare number is of days."""
    book.clock += timedelta(days=8)
    limit = ("add", "limit", "days since backup", "value=30", "whose=house policy", "--who", "Ruth Okafor")
    assert book(*limit).code == 0
    assert book("check", "--only", "backup-1").code == 0
    book.clock += timedelta(days=30)
    assert "at most 30 days old" in book("check", "--only", "backup-1").out
