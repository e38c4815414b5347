"""Entries on their way in: refused with every reason, or told apart from what is there already."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from compliance.book.incoming import Conflict
from compliance.records.problem import ComplianceError

from .making import NOW, book_of, entry, stored


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        (
            replace(entry(2), payload={"used": "103", "remark": "curb side"}),
            'payload.used: the book has "102", this',
        ),
        (
            replace(entry(2), payload={"used": "102"}),
            'remark: the book has "curb side", this entry has nothing',
        ),
        (
            replace(entry(2), payload={**entry(2).payload, "x": True}),
            "payload.x: the book has nothing, this entry has",
        ),
        (replace(entry(2), kind="stop"), 'kind: the book has "run", this entry has "stop"'),
        (replace(entry(2), schema=2), "schema: the book has 1, this entry has 2"),
        (
            replace(entry(2), event_time="2026-03-04"),
            'event_time: the book has "2026-03-04T22:15:00-05:00", this',
        ),
        (
            replace(entry(2), device_time="2026-03-04"),
            'device_time: the book has "2026-03-05T05:58:41-05:00", this',
        ),
    ],
)
def test_the_same_id_with_other_content_is_refused_and_shows_both_sides(
    tmp_path: Path, changed: Any, words: str
) -> None:
    """A conflict refuses the whole batch, names the field and both values."""
    with book_of(tmp_path, 3) as book:
        before = stored(book)
        with pytest.raises(Conflict) as caught:
            book.append([entry(7), changed, entry(8)], receipt_time=NOW)
        assert words in caught.value.problems[0].what
        assert entry(2).id in caught.value.problems[0].where
        assert stored(book) == before and book.head().size == 3
        assert book.append([entry(7)], receipt_time=NOW).new[0].seq == 4


def test_one_and_true_are_different_content(tmp_path: Path) -> None:
    """Python holds 1 equal to True; the book does not."""
    with book_of(tmp_path, 1) as book:
        book.append([entry(1, payload={"a": 1})], receipt_time=NOW)
        with pytest.raises(Conflict, match="the book has 1, this entry has true"):
            book.append([entry(1, payload={"a": True})], receipt_time=NOW)


def test_lists_are_compared_item_by_item_whether_typed_or_read_back(tmp_path: Path) -> None:
    """Only the item that differs is told, by its place; a list that is equal is no conflict."""
    lines = {"lines": [{"n": "1", "used": "4"}, {"n": "2", "used": "5"}], "none": []}
    with book_of(tmp_path, 1) as book:
        book.append([entry(1, payload=lines)], receipt_time=NOW)
        assert book.append([entry(1, payload=lines)], receipt_time=NOW).known == (entry(1).id,)
        other = {**lines, "lines": [{"n": "1", "used": "4"}, {"n": "2", "used": "6"}]}
        with pytest.raises(Conflict) as caught:
            book.append([entry(1, payload=other)], receipt_time=NOW)
    assert caught.value.problems[0].what.endswith('written: payload.lines.2.used: the book has "5", this entry has "6"')


def test_every_conflict_of_a_batch_is_told_and_long_values_say_how_long_they_are(tmp_path: Path) -> None:
    """Two conflicts, two problems; a long remark is cut visibly."""
    with book_of(tmp_path, 3) as book:
        bad = [replace(entry(1), payload={"remark": "x" * 5000}), replace(entry(2), payload={})]
        with pytest.raises(Conflict) as caught:
            book.append(bad, receipt_time=NOW)
        assert len(caught.value.problems) == 2
        assert "... (5002 characters)" in caught.value.problems[0].what
        assert len(caught.value.problems[0].what) < 700
        for length, cut in ((198, False), (199, True)):  # two more with the quotes
            with pytest.raises(Conflict) as caught:
                book.append([replace(entry(1), payload={"remark": "x" * length})], receipt_time=NOW)
            assert ("characters)" in caught.value.problems[0].what) == cut


@pytest.mark.parametrize(
    ("bad", "words"),
    [
        (replace(entry(1), id="AB" * 16), "its id is not 32"),
        (replace(entry(1), id=""), "its id is not 32"),
        (replace(entry(1), kind='a","seq":9'), "its kind is not"),
        (replace(entry(1), schema=0), "its schema version is 0"),
        (replace(entry(1), schema=True), "its schema version is True"),
        (replace(entry(1), event_time="yesterday"), "event_time 'yesterday' is neither"),
        (replace(entry(1), event_time="2026-03-04T22:15:00"), "event_time '2026-03-04T22:15:00' is neither"),
        (replace(entry(1), device_time='2026-03-04"'), "device_time"),
        (replace(entry(1), payload={"salt": "x"}), "its payload has a field 'salt'"),
        (replace(entry(1), payload={"a": 1.5}), "its payload cannot be stored: a: float"),
        (
            replace(entry(1), payload={"a": "\ud800"}),
            "its payload cannot be stored: text that is not Unicode",
        ),
    ],
)
def test_an_entry_that_cannot_be_stored_is_refused_with_the_reason(tmp_path: Path, bad: Any, words: str) -> None:
    """The whole batch is refused and nothing is written."""
    with book_of(tmp_path, 1) as book:
        with pytest.raises(ComplianceError) as caught:
            book.append([entry(5), bad], receipt_time=NOW)
        assert words in caught.value.problems[0].what
        assert book.head().size == 1


def test_every_fault_of_a_batch_is_told_at_once(tmp_path: Path) -> None:
    """Three faults in two entries and a bad time of receipt are all there."""
    with book_of(tmp_path, 1) as book:
        with pytest.raises(ComplianceError) as caught:
            book.append(
                [replace(entry(1), id="x", kind="X"), replace(entry(2), payload={"a": 0.1})],
                receipt_time="now",
            )
        assert len(caught.value.problems) == 5
        assert sum("receipt_time 'now'" in problem.what for problem in caught.value.problems) == 2


@pytest.mark.parametrize("given_salts", [[], [b"short"], [bytes(16)] * 2])
def test_salts_must_fit_the_entries(tmp_path: Path, given_salts: list[bytes]) -> None:
    """One of 16 bytes each; anything else is a fault of the calling program."""
    with book_of(tmp_path, 1) as book, pytest.raises(ValueError, match="16 bytes for each entry"):
        book.append([entry(1)], receipt_time=NOW, salts=given_salts)
