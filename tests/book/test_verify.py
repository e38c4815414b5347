"""What a check needs besides damage: one state while others write, and the words for each kind."""

from __future__ import annotations

import threading
import time
from pathlib import Path

from compliance.book import files
from compliance.book.store import Book
from compliance.book.verify import ANSWERS, Report, verify

from .damaging import TAMPERING, sound_scene
from .making import NOW, book_of, entry


def test_a_check_during_writing_sees_one_state(tmp_path: Path) -> None:
    """While another program appends without pause, every check finds a sound book that only grows."""
    book_of(tmp_path, 5).close()
    stop = threading.Event()

    def write() -> None:
        with Book.open(tmp_path) as book:
            number = 1000
            while not stop.is_set():
                book.append([entry(number)], receipt_time=NOW)
                number += 1

    writer = threading.Thread(target=write)
    writer.start()
    until = time.monotonic() + 30  # on a busy machine the writer may wait for its turn
    reports: list[Report] = []
    try:
        while len(reports) < 25 or (reports[-1].head == reports[0].head and time.monotonic() < until):
            reports.append(verify(tmp_path, deep=True))
    finally:
        stop.set()
        writer.join()
    assert all(report.sound for report in reports)
    sizes = [report.head.size for report in reports]
    assert sizes == sorted(sizes) and sizes[-1] > sizes[0]


def test_a_file_that_many_records_name_is_one_file(tmp_path: Path) -> None:
    """Six thousand old rows name one spreadsheet: it is looked at and counted once, and its loss is told once."""
    scene = sound_scene(tmp_path)
    (first, sha), *others = scene.named_files
    named = [(first, sha), ("another record", sha), ("a third", sha), *others]
    assert verify(tmp_path, deep=True, named_files=named).files == 1 + len(others)
    files.get(tmp_path, sha).unlink()
    (damage,) = verify(tmp_path, deep=True, named_files=named).damage
    assert damage.where.endswith(f"named by {first} and 2 more")


def test_each_kind_of_damage_answers_all_questions() -> None:
    """How serious, what next, may I go on: none is empty, and going on is answered with yes or no."""
    for answers in ANSWERS.values():
        assert len(answers) == 3 and all(answer.endswith(".") for answer in answers)
        assert answers[2].startswith(("Yes", "No"))


def test_checking_a_book_changes_nothing(tmp_path: Path) -> None:
    """A check of a sound and of a damaged book leaves every byte as it was."""
    for name in ("untouched", "edited-body", "journal-mode-changed", "newer-schema"):
        scene = sound_scene(tmp_path / name)
        TAMPERING[name](scene)
        before = scene.path.read_bytes()
        try:
            verify(scene.folder, deep=True)
        except Exception as error:
            assert name == "newer-schema", error
        assert scene.path.read_bytes() == before
        assert {path.name for path in scene.folder.iterdir()} == {"records.sqlite", "files"}
