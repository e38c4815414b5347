"""The damage corpus: every tampering is reported in the expected words, every sound book is accepted.

After a change of words, run once with WRITE_DAMAGE_CORPUS=1 and read the difference before keeping it.
"""

from __future__ import annotations

import os
import random
import re
import shutil
from pathlib import Path

import pytest

from compliance.book import schema
from compliance.book.store import Book
from compliance.book.verify import ANSWERS, check_content, verify
from compliance.records.problem import BookDamaged, ComplianceError

from .damaging import TAMPERING, Scene, guards_off, sound_scene
from .making import book_of

CORPUS = Path(__file__).parent.parent / "damage"

# What only a head kept elsewhere, or a deeper look, can show: these look sound, and the corpus says so.
LOOKS_SOUND = {
    "untouched",
    "truncated-tail-with-care",
    "rewritten-book",
    "rewritten-after-the-kept-head",
    "rewritten-after-the-last-own-head",
    "rewritten-with-its-own-heads",
    "own-head-of-a-newer-program",
    "changed-file-looked-at-from-outside",
}
REFUSED = {"newer-schema", "another-programs-database", "empty-file", "no-file"}


def said(scene: Scene) -> str:
    """What `verify` says, with the folder of the test and SQLite's own words left out."""
    try:
        report = verify(scene.folder, deep=scene.deep, kept_head=scene.kept_head, named_files=scene.named_files)
    except ComplianceError as error:
        text = f"refused, exit {error.exit_code}\n" + "\n".join(str(problem) for problem in error.problems)
    else:
        lines = [f"[{found.kind}] {found}" for found in report.damage]
        text = "\n".join(lines) if lines else f"no damage found, head {report.head}"
        assert report.sound == (not lines)
    text = text.replace(str(scene.folder), "BOOK").replace(os.sep, "/")
    text = re.sub(r"SQLite says: .*?\)(?=[;\n]|$)", "SQLite says: ...)", text)
    return re.sub(r"(does not hold together: ).*", r"\1...", text) + "\n"


@pytest.mark.parametrize("name", TAMPERING)
def test_tampering_is_reported_as_expected(name: str, tmp_path: Path) -> None:
    """The four answers for each kind of tampering, word for word."""
    scene = sound_scene(tmp_path / "book")
    TAMPERING[name](scene)
    answer = said(scene)
    expected = CORPUS / f"{name}.txt"
    if os.environ.get("WRITE_DAMAGE_CORPUS"):
        expected.write_text(answer, encoding="utf-8")
    assert answer == expected.read_text(encoding="utf-8")


def test_the_corpus_is_whole() -> None:
    """Every tampering has its expected words and every kind of damage its tampering; nothing passes but what must."""
    words = {path.stem: path.read_text(encoding="utf-8") for path in CORPUS.glob("*.txt")}
    assert words.keys() == TAMPERING.keys()
    assert {name for name, text in words.items() if text.startswith("no damage found")} == LOOKS_SOUND
    assert {name for name, text in words.items() if text.startswith("refused")} == REFUSED
    assert {kind for text in words.values() for kind in re.findall(r"^\[(.+?)\]", text, re.M)} == set(ANSWERS)


@pytest.mark.parametrize("size", [1, 2, 3, 7, 8, 9, 64, 100])
def test_a_sound_book_is_accepted_with_every_head_it_ever_had(size: int, tmp_path: Path) -> None:
    """Books of several sizes, shallow and deep, against each earlier head."""
    with book_of(tmp_path, size) as book:
        heads = [book.head_at(earlier) for earlier in range(size + 1)]
        for kept in (*heads, None):
            report = verify(tmp_path, deep=True, kept_head=kept)
            assert report.sound and report.head == heads[-1]
        assert verify(tmp_path).sound


def test_damage_can_be_raised_with_all_that_was_found(tmp_path: Path) -> None:
    """A sound report passes; a damaged one raises every finding, with exit code 3."""
    scene = sound_scene(tmp_path / "book")
    verify(scene.folder).require_sound()
    TAMPERING["edited-body-and-its-hash"](scene)
    report = verify(scene.folder)
    with pytest.raises(BookDamaged) as caught:
        report.require_sound()
    assert [problem.what for problem in caught.value.problems] == [found.what for found in report.damage]
    assert caught.value.exit_code == 3


def test_many_damaged_records_are_counted_and_not_listed_without_end(tmp_path: Path) -> None:
    """One finding a kind; eight numbers, then how many more."""
    book_of(tmp_path, 30).close()
    with guards_off(schema.path_of(tmp_path)) as db:
        db.execute("UPDATE records SET event_time = '2026-01-01' WHERE seq > 10")
    (header, _tree) = verify(tmp_path).damage
    assert "records 11, 12, 13, 14, 15, 16, 17, 18 and 12 more" in header.what


def test_a_file_that_cannot_be_read_is_damage(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk fails under an attachment: the report says so and goes on to the next."""
    scene = sound_scene(tmp_path / "book")
    real = Path.open

    def failing(self: Path, *how: object, **more: object) -> object:
        if self.name == scene.named_files[0][1]:
            raise OSError(5, "Input/output error")
        return real(self, *how, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(Path, "open", failing)
    report = verify(scene.folder, deep=True, named_files=scene.named_files)
    (found,) = report.damage
    assert found.kind == "changed-file" and "Input/output error" in found.what
    assert report.files == 2


def test_one_bit_in_any_byte_of_any_column_is_found(tmp_path: Path) -> None:
    """In a book of 50, one flipped bit in every stored byte of every record: found in all cases, and in its record.

    The guards stand as they should at each check, so that it is the content which gives the change away.
    """
    book_of(tmp_path, 50).close()
    path = schema.path_of(tmp_path)
    choice = random.Random(50)
    db = schema.connect(path)
    columns = [column[1] for column in db.execute("PRAGMA table_info(records)")]
    assert len(columns) == 10
    for name in GUARDS:
        db.execute(f"DROP TRIGGER {name}")
    flips = 0
    for row in db.execute("SELECT * FROM records").fetchall():
        for column, value in zip(columns, row, strict=True):
            for changed in flipped(value, choice):
                db.execute("BEGIN")
                try:
                    db.execute(f"UPDATE OR ABORT records SET {column} = ? WHERE seq = ?", (changed, row[0]))
                    found = check_content(db, path).damage
                finally:
                    db.execute("ROLLBACK")
                flips += 1
                assert {damage.kind for damage in found} & {"body", "header", "sequence"}, (
                    row[0],
                    column,
                    changed,
                )
    assert check_content(db, path).damage == []
    db.close()
    assert flips > 12_000


GUARDS = [name for name, sql in schema.SCHEMA.items() if "TRIGGER" in sql]


def flipped(value: object, choice: random.Random) -> list[object]:
    """The value with one bit changed in each of its bytes: text stays text, even if no longer Unicode."""
    if isinstance(value, int):
        return [value ^ (1 << bit) for bit in (6, 9, 17, 30, 62)]  # each byte that a larger number would have
    raw = value.encode() if isinstance(value, str) else value
    assert isinstance(raw, bytes)
    out: list[object] = []
    for position in range(len(raw)):
        bit = 1 << choice.randrange(7 if isinstance(value, str) else 8)
        changed = raw[:position] + bytes([raw[position] ^ bit]) + raw[position + 1 :]
        out.append(changed.decode() if isinstance(value, str) else changed)
    return out


def test_a_bit_flipped_anywhere_in_the_file_is_found_or_harmless(tmp_path: Path) -> None:
    """400 random bits of the file: reported, or every record still reads back as it was."""
    original = tmp_path / "book"
    book_of(original, 50).close()
    with Book.open(original) as book:
        expected = list(book.records())
    data = schema.path_of(original).read_bytes()
    choice = random.Random(400)
    found = 0
    for trial in range(400):
        folder = tmp_path / "flipped"
        folder.mkdir()
        bit = choice.randrange(len(data) * 8)
        spoilt = bytearray(data)
        spoilt[bit // 8] ^= 1 << bit % 8
        schema.path_of(folder).write_bytes(spoilt)
        try:
            sound = verify(folder).sound
        except ComplianceError:
            sound = False
        if sound:
            with Book.open(folder) as book:
                assert list(book.records()) == expected, (trial, bit)
        found += not sound
        shutil.rmtree(folder)
    assert found > 150  # the rest of this file is mostly unused bytes
