"""Drafts: kept whole under a plain name, never in the book."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from compliance.book import drafts
from compliance.records.problem import ComplianceError

from .making import book_of


def test_a_draft_comes_back_as_it_was_saved_and_is_no_part_of_the_book(tmp_path: Path) -> None:
    """Saved, saved over, listed, loaded, deleted; the head of the book does not move."""
    with book_of(tmp_path, 2) as book:
        head = book.head()
        drafts.save(tmp_path, "2026-03-04-rig-1", {"used": None})
        drafts.save(tmp_path, "2026-03-04-rig-1", {"used": "412", "remark": "ñ\n€"})
        drafts.save(tmp_path, "another", {})
        assert drafts.names(tmp_path) == ["2026-03-04-rig-1", "another"]
        assert drafts.load(tmp_path, "2026-03-04-rig-1") == {"used": "412", "remark": "ñ\n€"}
        drafts.delete(tmp_path, "another")
        drafts.delete(tmp_path, "another")
        assert drafts.names(tmp_path) == ["2026-03-04-rig-1"]
        assert book.head() == head


def test_without_a_drafts_folder_there_are_no_drafts(tmp_path: Path) -> None:
    """Listing needs no folder, loading says what is there."""
    assert drafts.names(tmp_path) == []
    with pytest.raises(ComplianceError, match="no draft 'x'") as caught:
        drafts.load(tmp_path, "x")
    assert "none" in caught.value.problems[0].next_step
    drafts.save(tmp_path, "night", {})
    with pytest.raises(ComplianceError) as caught:
        drafts.load(tmp_path, "x")
    assert "night" in caught.value.problems[0].next_step


@pytest.mark.parametrize(
    "name",
    [
        "",
        "../x",
        "a/b",
        "a\\b",
        ".x",
        "A",
        "con",
        "con.1",
        "lpt1",
        "a\0b",
        "x" * 81,
        "é",
        "a b",
        "a\n",
        "a:b",
    ],
)
def test_a_name_that_some_disk_would_misread_is_refused(tmp_path: Path, name: str) -> None:
    """Paths, reserved names, capitals and long names are refused by every door."""
    for door in (drafts.load, drafts.delete, lambda folder, name: drafts.save(folder, name, {})):
        with pytest.raises(ComplianceError, match="cannot be the name of a draft"):
            door(tmp_path, name)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["contents", "com10", "x" * 80, "a.b-c_d"])
def test_an_innocent_name_is_taken(tmp_path: Path, name: str) -> None:
    """Names that only look reserved are kept."""
    drafts.save(tmp_path, name, {"a": 1})
    assert drafts.names(tmp_path) == [name]


@pytest.mark.parametrize("value", [1.5, "\ud800", 2**60])
def test_a_value_that_cannot_be_kept_leaves_the_earlier_draft(tmp_path: Path, value: Any) -> None:
    """The refusal names the draft, and what was saved before is still there."""
    drafts.save(tmp_path, "night", {"used": "412"})
    with pytest.raises(ComplianceError, match="cannot be kept"):
        drafts.save(tmp_path, "night", {"used": value})
    assert drafts.load(tmp_path, "night") == {"used": "412"}


@pytest.mark.parametrize("content", [b"", b'{"used": "4', b"[1]", b"\xff"])
def test_a_draft_that_cannot_be_read_is_named_and_kept(tmp_path: Path, content: bytes) -> None:
    """The message says where it is, and the file stays for an editor."""
    path = drafts.save(tmp_path, "night", {})
    path.write_bytes(content)
    with pytest.raises(ComplianceError, match="'night' cannot be read"):
        drafts.load(tmp_path, "night")
    assert path.read_bytes() == content


def test_errors_of_the_disk_name_the_path(tmp_path: Path) -> None:
    """A folder stands where the draft should be."""
    (tmp_path / "drafts" / "night.json" / "inside").mkdir(parents=True)
    for door in (drafts.load, drafts.delete, lambda folder, name: drafts.save(folder, name, {})):
        with pytest.raises(ComplianceError) as caught:
            door(tmp_path, "night")
        assert "night.json" in caught.value.problems[0].where
    assert [path.name for path in (tmp_path / "drafts").iterdir()] == ["night.json"]


def test_a_stray_file_among_the_drafts_is_left_alone(tmp_path: Path) -> None:
    """A file in the making, left by a crash, and other people's files are not drafts."""
    drafts.save(tmp_path, "night", {})
    for name in (".part-00ff", "notes.txt", "Bad Name.json"):
        (tmp_path / "drafts" / name).write_text("{}")
    assert drafts.names(tmp_path) == ["night"]
