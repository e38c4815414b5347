"""Kills, full disks and two writers: whole records or none, and nothing lost that was acknowledged."""

from __future__ import annotations

import os
import random
import subprocess
import sys
import time
from pathlib import Path

import pytest

from compliance.book import drafts, files, schema
from compliance.book.store import Book
from compliance.book.tree import Head
from compliance.book.verify import verify
from compliance.records.problem import ComplianceError

from .making import NOW, book_of, entry

WRITER = Path(__file__).parent / "writer.py"


def start(folder: Path, count: int, *options: str) -> subprocess.Popen[str]:
    """The writer as a process of its own."""
    command = [sys.executable, str(WRITER), str(folder), str(count), *options]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True)


def kept(lines: list[str]) -> list[list[str]]:
    """The acknowledgements among complete lines: number, id, head."""
    return [line.split()[1:] for line in lines if line.startswith("kept ") and line.endswith("\n")]


def test_a_killed_program_loses_nothing_that_it_acknowledged(tmp_path: Path) -> None:
    """24 kills at random moments, one book throughout: each acknowledged record, its file and the last draft are
    there, the book is sound, and the next program goes on with it."""
    choice = random.Random(24)
    book_of(tmp_path, 1).close()
    total = 0
    for _ in range(24):
        with start(tmp_path, 100_000, "files", "drafts") as writer:
            assert writer.stdout is not None
            lines = [writer.stdout.readline()]
            time.sleep(choice.uniform(0, 0.04))
            writer.kill()
            lines += writer.stdout.readlines()
        acknowledged = kept(lines)
        total += len(acknowledged)
        with Book.open(tmp_path) as book:
            assert set(book.by_ids(id for _, id, _ in acknowledged)) == {id for _, id, _ in acknowledged}
            named = [(record.id, record.payload["photo"]) for record in book.records(kind="run")]
        report = verify(tmp_path, deep=True, kept_head=Head.parse(acknowledged[-1][2]), named_files=named)
        assert report.sound, report.damage
        assert int(str(drafts.load(tmp_path, "night")["n"])) >= int(acknowledged[-1][0])
        assert drafts.names(tmp_path) == ["night"]
    assert total > 24  # a busy machine acknowledges few between two kills


def test_a_program_killed_while_making_a_book_leaves_a_whole_book_or_none(tmp_path: Path) -> None:
    """12 kills around the moment of making; making it again always ends in a sound book."""
    choice = random.Random(12)
    began = time.monotonic()
    with start(tmp_path / "measure", 0, "create") as writer:
        writer.wait()
    usual = time.monotonic() - began
    for number in range(12):
        folder = tmp_path / str(number)
        with start(folder, 0, "create") as writer:
            time.sleep(usual * choice.uniform(0.5, 1.0))
            writer.kill()
        try:
            Book.open(folder).close()
        except ComplianceError as error:
            assert error.exit_code == 2 and "no book here" in str(error)
            book_of(folder, 1).close()
        assert verify(folder, deep=True).head.size == 1


def test_a_full_disk_refuses_whole_batches_page_by_page(tmp_path: Path) -> None:
    """One page more at a time: each batch of three is written whole or not at all, and the message names the disk."""
    with book_of(tmp_path, 1) as book:
        pages = book._db.execute("PRAGMA page_count").fetchone()[0]
        number, refused = 1, 0
        for limit in range(pages, pages + 40):
            book._db.execute(f"PRAGMA max_page_count = {limit}")
            while True:
                batch = [entry(number + step, payload={"remark": "x" * 1500}) for step in range(3)]
                before = book.head()
                try:
                    book.append(batch, receipt_time=NOW)
                except ComplianceError as error:
                    assert "disk is full" in str(error) and error.exit_code == 2
                    assert str(tmp_path) in error.problems[0].where
                    assert book.head() == before
                    assert book.by_ids(item.id for item in batch) == {}
                    refused += 1
                    break
                number += 3
                assert book.head().size == number
        assert refused == 40 and number > 30
        book._db.execute("PRAGMA max_page_count = 100000")
        assert len(book.append(batch, receipt_time=NOW).new) == 3
    assert verify(tmp_path, deep=True).sound


@pytest.mark.skipif(os.name != "posix", reason="limits on the size of a file are POSIX only")
@pytest.mark.parametrize("limit", [1, 30_000, 60_000, 100_000, 180_000])
def test_a_file_that_may_not_grow_refuses_whole_records(tmp_path: Path, limit: int) -> None:
    """The system caps the size of files: what was acknowledged is there, the rest refused, with exit code 2."""
    import resource

    book_of(tmp_path, 1).close()
    command = [sys.executable, str(WRITER), str(tmp_path), "2000"]
    done = subprocess.run(
        command,
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit)),
    )
    acknowledged = kept(done.stdout.splitlines(keepends=True))
    assert done.returncode == 2, (done.stdout[-300:], done.stderr)
    assert "disk" in done.stdout.splitlines()[-1] and "records.sqlite" in done.stdout.splitlines()[-1]
    report = verify(tmp_path, deep=True, kept_head=Head.parse(acknowledged[-1][2]) if acknowledged else None)
    assert report.sound and report.head.size >= 1 + len(acknowledged)
    assert bool(acknowledged) == (limit > 33_000)  # below that the log has no room for its own index


def test_two_programs_writing_at_once_both_succeed(tmp_path: Path) -> None:
    """Three processes hand in the same 150 nights at once: all end well, each record is in the book once."""
    book_of(tmp_path, 1).close()
    script = (
        "import sys; from pathlib import Path; from making import NOW, entry; from compliance.book.store import Book\n"
        "with Book.open(Path(sys.argv[1])) as book:\n"
        "    done = [book.append([entry(n)], receipt_time=NOW) for n in range(1, 151)]\n"
        "print(sum(len(one.new) for one in done), sum(len(one.known) for one in done))"
    )
    environment = {**os.environ, "PYTHONPATH": str(WRITER.parent)}
    command = [sys.executable, "-c", script, str(tmp_path)]
    writers = [subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) for _ in range(3)]
    counts = [[int(word) for word in writer.communicate()[0].split()] for writer in writers]
    assert [writer.returncode for writer in writers] == [0, 0, 0]
    assert [new + known for new, known in counts] == [150, 150, 150]
    assert sum(new for new, _ in counts) == 150
    report = verify(tmp_path, deep=True)
    assert report.sound and report.head.size == 151


def test_a_writer_that_waits_too_long_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another program holds the book: nothing is written, the message says so, and it works once the other is done."""
    monkeypatch.setattr(schema, "CONNECTION", {**schema.CONNECTION, "busy_timeout": 30})
    with book_of(tmp_path, 2) as book, Book.open(tmp_path) as other:
        other._db.execute("BEGIN IMMEDIATE")
        with pytest.raises(ComplianceError, match="Another program is writing") as caught:
            book.append([entry(5)], receipt_time=NOW)
        assert caught.value.exit_code == 2
        assert [record.seq for record in book.records()] == [1, 2]
        other._db.execute("ROLLBACK")
        assert book.append([entry(5)], receipt_time=NOW).new[0].seq == 3


def test_a_file_in_the_making_is_never_taken_for_one(tmp_path: Path) -> None:
    """What a kill leaves behind among the files is not listed, not found, and in nobody's way."""
    place = tmp_path / files.FOLDER
    place.mkdir()
    (place / ".part-0011223344556677").write_bytes(b"half a ph")
    sha = files.put(tmp_path, b"half a photo")
    assert files.names(tmp_path) == [sha]
