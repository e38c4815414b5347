"""What a check needs besides damage: one state while others write, and the words for each kind."""

from __future__ import annotations

import threading
from pathlib import Path

from compliance.book.store import Book
from compliance.book.verify import ANSWERS, verify

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
    try:
        reports = [verify(tmp_path, deep=True) for _ in range(25)]
    finally:
        stop.set()
        writer.join()
    assert all(report.sound for report in reports)
    sizes = [report.head.size for report in reports]
    assert sizes == sorted(sizes) and sizes[-1] > sizes[0]


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
