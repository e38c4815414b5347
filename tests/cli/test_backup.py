"""A backup is written down in the book, so that an old one is noticed."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

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
    assert book("verify", "--head", f"{before['records']}:{before['root']}").code == 0
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


def test_the_house_may_set_its_own_number_of_days(book: Desk) -> None:
    """On the register of limits; a bare number is of days."""
    book.clock += timedelta(days=8)
    limit = ("add", "limit", "days since backup", "value=30", "whose=house policy", "--who", "Ruth Okafor")
    assert book(*limit).code == 0
    assert book("check", "--only", "backup-1").code == 0
    book.clock += timedelta(days=30)
    assert "at most 30 days old" in book("check", "--only", "backup-1").out
