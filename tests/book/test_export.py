"""An export is the whole book, a stranger can check it, and it can be made a book again."""

from __future__ import annotations

import ast
import csv
import io
import json
import os
import random
import runpy
import shutil
import sqlite3
import subprocess
import sys
import zipfile
from collections.abc import Callable
from contextlib import closing, redirect_stderr, redirect_stdout
from hashlib import sha256
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from compliance.book import check_export, dictionary, files, rebuild
from compliance.book.canon import canonical
from compliance.book.export import Exported, export
from compliance.book.incoming import SALT
from compliance.book.store import Book
from compliance.book.tree import Frontier, leaf
from compliance.book.verify import verify
from compliance.records.problem import BookDamaged, ComplianceError

from .deriving import FIRST, NOW, REGISTERS, id_of, made

PHOTO, SMALL, SHEET, MAP, PAGE = KEPT = [b"a photo", b"its copy", b"an old sheet", b"how it was read", b"a page"]


def sha(data: bytes) -> str:
    return sha256(data).hexdigest()


def book_of(folder: Path) -> Path:
    """A book with registers, a night of one stop, and files of every kind that a record can name."""
    for data in KEPT:
        files.put(folder, data)
    lines = [{"n": "1", "line": "stop", "fields": {"client": "Alderside Owners", "site": "Quay"}}]
    night = {
        "fields": {"rig": "Alder", "date": "2026-09-01", "lead": "Ana", "remark": "=1+1, ‹öil›\nsecond line"},
        "lines": lines,
        "typed": {},
        "who": "Ana",
    }
    photo = {"record": id_of("night"), "line": "1", "name": "dock.jpg", "sha256": sha(PHOTO), "size": len(PHOTO)}
    photo |= {"media": "image/jpeg", "what": "the dock", "who": "Ana", "copy": {"sha256": sha(SMALL), "size": 5}}
    row = {"fields": {"date": "2025-09-01"}, "typed": {}, "method": "declared", "file": "old.csv", "sha256": sha(SHEET)}
    row |= {"sheet": "", "row": 2, "mapping": sha(MAP), "who": "Ruth"}
    page = {"page": "proof", "number": "q-1", "about": "Quay", "date": "2026-09-02", "files": {"pdf": sha(PAGE)}}
    with Book.create(folder, FIRST, now=NOW) as book:
        made_from = {"size": 1, "root": book.head().root_hex}
        page |= {"made_from": made_from, "figures": {}, "replaces": "", "who": "Ruth"}
        entries = [*REGISTERS, made("night", "run", night), made("photo", "attach", photo)]
        entries += [made("row", "old row", row), made("page", "issue", page)]
        book.append(entries, receipt_time="2026-10-02T12:00:00-06:00")
    return folder


def exported(book: Path, to: Path, **options: Any) -> Exported:
    return export(book, to, now=NOW, cell=lambda text: f"'{text}" if text.startswith("=") else text, **options)


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An export that nobody may change; its book lies beside it."""
    place = tmp_path_factory.mktemp("sound")
    return exported(book_of(place / "book"), place / "out").folder


@pytest.fixture
def out(sound: Path, tmp_path: Path) -> Path:
    """A copy of the export, to be damaged."""
    return Path(shutil.copytree(sound, tmp_path / "out"))


class Said(NamedTuple):
    returncode: int
    stdout: str
    stderr: str


def told(folder: Path, *args: str) -> Said:
    """What the checker says of a folder."""
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        code = check_export.main([*args] if "/" in "".join(args) else [str(folder), *args])
    return Said(code, out.getvalue(), err.getvalue())


def alone(folder: Path) -> Said:
    """The checker of an export, run as a stranger would: no package, no site, no environment."""
    command = [sys.executable, "-I", "-S", str(folder / "check_export.py")]
    done = subprocess.run(command, capture_output=True, text=True, check=False, cwd=folder.parent)
    return Said(done.returncode, done.stdout, done.stderr)


def test_the_checker_needs_nothing_but_python(sound: Path) -> None:
    """Alone in isolated mode it says sound, what it showed and what it did not; its language is that of Python 3.9."""
    said = alone(sound)
    assert said.returncode == 0, said.stderr + said.stdout
    assert said.stdout.startswith("SOUND: ")
    assert "What this shows" in said.stdout and "What this does not show" in said.stdout
    assert said == told(sound)
    source = (sound / "check_export.py").read_text(encoding="utf-8")
    tree = ast.parse(source, feature_version=(3, 9))
    roots = {
        (node.module or "") if isinstance(node, ast.ImportFrom) else node.names[0].name
        for node in ast.walk(tree)
        if isinstance(node, ast.Import | ast.ImportFrom)
    }
    assert roots <= sys.stdlib_module_names | {"collections.abc"}
    assert source.isascii()


def test_an_export_holds_the_stored_bytes_and_every_file(sound: Path) -> None:
    """Header, hash and payload of each line are those in the database; the five files that records name are there."""
    with closing(sqlite3.connect(sound.parent / "book" / "records.sqlite")) as db, db:
        rows = db.execute("SELECT leaf_hash, payload FROM records ORDER BY seq").fetchall()
    lines = [line for _, line in check_export.lines(sound / "records.jsonl")]
    assert [(bytes.fromhex(line.leaf_hash), line.payload) for line in lines if line] == rows
    assert all(line and leaf(line.header).hex() == line.leaf_hash for line in lines)
    assert all(json.loads(raw)["payload"] for raw in (sound / "records.jsonl").read_bytes().splitlines())
    assert {path.name for path in (sound / "files").iterdir()} == set(map(sha, KEPT))
    assert (sound / "record-code.txt").read_text() == f"{verify(sound.parent / 'book').head}\n"


def test_every_query_table_is_there_with_a_meaning_for_each_column(sound: Path) -> None:
    """Headings are those of the dictionary; text survives but for an apostrophe before what looks like a formula."""
    meant = json.loads((sound / "dictionary.json").read_bytes())
    text = (sound / "dictionary.txt").read_text(encoding="utf-8")
    assert {table["name"] for table in meant["tables"]} == {path.stem for path in (sound / "tables").iterdir()}
    for table in meant["tables"]:
        with (sound / "tables" / f"{table['name']}.csv").open(encoding="utf-8", newline="") as file:
            heads, *rows = csv.reader(file)
        assert heads == [column["name"] for column in table["columns"]]
        assert all(column["about"] in text for column in table["columns"])
        if table["name"] == "runs":
            assert [row[heads.index("remark")] for row in rows] == ["'=1+1, ‹öil›\nsecond line"]
            assert [row[heads.index("used")] for row in rows] == [""]
            assert [row[heads.index("used_state")] for row in rows] == ["not recorded yet"]
    assert meant["fields"]["stop"] and len(dictionary.EXPORTED) == len(meant["tables"])


def test_the_readme_is_for_somebody_who_never_saw_the_program(sound: Path) -> None:
    """It names the business, the code, and the command that checks."""
    said = (sound / "README.txt").read_text(encoding="utf-8")
    assert "RECORDS OF Bluebank" in said
    assert "python3 check_export.py" in said
    assert (sound / "record-code.txt").read_text().strip() in said
    assert "Every file that a record names is here." in said


def test_an_export_becomes_a_book_with_the_same_root(sound: Path, tmp_path: Path) -> None:
    """Every column of every record is the old one, files come along, and the book can be written to."""
    report = rebuild.rebuild(sound, tmp_path / "again")
    assert report.sound and report.files == 5
    books = (sound.parent / "book", tmp_path / "again")
    assert report.head == verify(books[0]).head

    def rows(book: Path) -> list[Any]:
        with closing(sqlite3.connect(book / "records.sqlite")) as db, db:
            return db.execute("SELECT * FROM records ORDER BY seq").fetchall()

    assert rows(books[0]) == rows(books[1])
    assert files.names(books[0]) == files.names(books[1])
    with Book.open(tmp_path / "again") as book:
        book.append([made("more", "remark", {"x": "y"})], receipt_time=NOW)
    assert verify(tmp_path / "again", kept_head=report.head).sound


def test_the_same_book_gives_the_same_export_and_archive(sound: Path, tmp_path: Path) -> None:
    """But for nothing: same records, same moment, same bytes; the archive holds what the folder holds."""
    zips = []
    for name in ("one", "two"):
        (tmp_path / name / "out").mkdir(parents=True)  # an empty folder will do
        done = exported(sound.parent / "book", tmp_path / name / "out", pack=True)
        assert done.zipped is not None
        zips.append(done.zipped.read_bytes())
        assert {path.name for path in (tmp_path / name).iterdir()} == {"out", "out.zip"}
    assert zips[0] == zips[1]
    with zipfile.ZipFile(tmp_path / "one" / "out.zip") as archive:
        for inside in archive.namelist():
            assert archive.read(inside) == (tmp_path / "one" / inside).read_bytes()
            assert archive.read(inside) == (sound.parent / inside).read_bytes()


@pytest.mark.parametrize(
    "part", ["records.jsonl", "record-code.txt", "files", "tables", "dictionary.txt", "README.txt"]
)
def test_one_changed_byte_anywhere_is_refused(out: Path, part: str) -> None:
    """Some hundred places of each part, another byte at each; the checker says damaged, and no book is made of it."""
    choose = random.Random(part)
    path = out / part if part.count(".") else sorted((out / part).iterdir())[-1]
    sound = path.read_bytes()
    for at in sorted({0, len(sound) - 1, *(choose.randrange(len(sound)) for _ in range(120))}):
        changed = bytearray(sound)
        changed[at] ^= choose.randrange(1, 256)
        path.write_bytes(changed)
        assert check_export.main([str(out)]) == 3, (part, at)
    with pytest.raises(BookDamaged):
        rebuild.rebuild(out, out.parent / "none")
    assert not (out.parent / "none").exists()


def test_every_byte_of_a_record_counts(out: Path) -> None:
    """All of the first line, byte by byte, its line end too."""
    path = out / "records.jsonl"
    sound = path.read_bytes()
    for at in range(sound.index(b"\n") + 1):
        changed = bytearray(sound)
        changed[at] ^= 1
        path.write_bytes(changed)
        assert check_export.check(out).faults, at


def cut_last(out: Path) -> None:
    path = out / "records.jsonl"
    path.write_bytes(b"".join(path.read_bytes().splitlines(keepends=True)[:-1]))


def rewrite_head(out: Path) -> None:
    """Records are cut off and all else is made to agree: a careful hand."""
    cut_last(out)
    code = check_export.check(out).code
    (out / "record-code.txt").write_bytes(f"{code}\n".encode())
    contents = json.loads((out / "contents.json").read_bytes())
    (out / "contents.json").write_text(json.dumps({**contents, "head": code}))


def swap(out: Path) -> None:
    path = out / "records.jsonl"
    first, second, *rest = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join([second, first, *rest]))


def garble_many(out: Path) -> None:
    path = out / "records.jsonl"
    path.write_bytes(path.read_bytes().replace(b'"who"', b'"Who"'))


def listed(value: object) -> Callable[[Path], None]:
    def change(out: Path) -> None:
        contents = json.loads((out / "contents.json").read_bytes())
        (out / "contents.json").write_text(json.dumps({**contents, "files": value}))

    return change


@pytest.mark.parametrize(
    ("tamper", "words"),
    [
        (cut_last, "have the record code"),
        (swap, "some are missing or were moved"),
        (garble_many, " more: what was written is not what stands here"),
        (lambda out: (out / "records.jsonl").unlink(), "records.jsonl is not here"),
        (lambda out: (out / "record-code.txt").unlink(), "record-code.txt is not here"),
        (lambda out: (out / "contents.json").write_text("[1]"), "contents.json cannot be read"),
        (lambda out: (out / "contents.json").write_text("{"), "contents.json cannot be read"),
        (lambda out: (out / "contents.json").write_text("{}"), "tells of other records"),
        (listed([{"path": "../book/records.sqlite"}]), "in a way that cannot be read"),
        (listed("README.txt"), "in a way that cannot be read"),
        (lambda out: (out / "tables" / "runs.csv").unlink(), "tables/runs.csv is not here"),
        (lambda out: (out / "files" / sha(PHOTO)).unlink(), "is not here, and nothing says why"),
    ],
)
def test_each_tampering_is_named(out: Path, tamper: Callable[[Path], object], words: str) -> None:
    """The checker says what is wrong and leaves with 3."""
    tamper(out)
    said = told(out)
    assert said.returncode == 3, said.stderr
    assert said.stdout.startswith("DAMAGED") and words in said.stdout, said.stdout


def test_only_a_code_from_elsewhere_shows_a_careful_hand(sound: Path, out: Path) -> None:
    """An export whose tail was cut off with care looks sound until a kept code is given, an older one included."""
    code = (sound / "record-code.txt").read_text().strip()
    with Book.open(sound.parent / "book") as book:
        older = str(book.head_at(3))
    for kept in (code, older, f"0:{sha(b'')}"):
        said = told(sound, "--record-code", kept)
        assert said.returncode == 0 and kept in said.stdout
    rewrite_head(out)
    assert told(out).returncode == 0
    assert "counts" in told(out, "--record-code", code).stdout
    assert "are not those of the record code" in told(out, "--record-code", f"3:{'0' * 64}").stdout
    assert "are not those of the record code" in told(out, "--record-code", f"0:{'0' * 64}").stdout


def test_what_is_no_export_leaves_with_two(out: Path, tmp_path: Path) -> None:
    """An empty folder, no folder, and no code; one that was asked for and is empty was compared with nothing."""
    for args in ([str(tmp_path / "nothing")], [str(out), "--record-code", "3"], [str(out), "--record-code", ""]):
        said = told(out, *args)
        assert said.returncode == 2 and "cannot be read" in said.stderr
    with pytest.raises(ComplianceError, match="cannot be read"):
        rebuild.rebuild(tmp_path / "nothing", tmp_path / "none")


def test_a_reader_who_stops_early_gets_no_traceback(sound: Path) -> None:
    """A pipe that is closed before anything is said; the exit code is the checker's own."""
    read, write = os.pipe()
    os.close(read)
    command = [sys.executable, "-I", "-S", str(sound / "check_export.py")]
    with os.fdopen(write, "w") as closed:
        done = subprocess.run(command, stdout=closed, stderr=subprocess.PIPE, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


class _Closed(io.StringIO):
    """What nobody reads any more."""

    def write(self, said: str) -> int:
        raise BrokenPipeError


def test_the_exit_code_is_kept_when_nobody_reads_what_is_said(sound: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is written after that goes nowhere, and complains of nothing."""
    monkeypatch.setattr("sys.stdout", _Closed())
    assert check_export.main([str(sound)]) == 0
    with sys.stdout as nowhere:
        assert str(nowhere.name) == os.devnull


def test_what_does_not_belong_is_said_and_does_no_harm(out: Path) -> None:
    """A note of a reader's own is no damage."""
    (out / "my notes.txt").write_text("seen")
    said = told(out)
    assert said.returncode == 0 and "not looked at: 1 files ('my notes.txt')" in said.stdout


def test_missing_and_changed_files_are_told_and_hold_nothing_up(tmp_path: Path) -> None:
    """In the result, in the texts and by the checker; the records of such an export make a book all the same."""
    book = book_of(tmp_path / "book")
    (book / "files" / sha(PHOTO)).unlink()
    (book / "files" / sha(PAGE)).write_bytes(b"another page")
    done = exported(book, tmp_path / "out")
    assert set(done.not_here) == {sha(PHOTO), sha(PAGE)} and done.files == 3
    said = told(done.folder)
    assert said.returncode == 3
    assert "the export says so itself: 'it was missing in the book already'" in said.stdout
    assert "The records themselves are whole" in said.stdout
    assert sha(PHOTO) in (done.folder / "README.txt").read_text(encoding="utf-8")
    report = rebuild.rebuild(done.folder, tmp_path / "again")
    assert report.head == done.head
    assert {damage.kind for damage in report.damage} == {"missing-file"} and len(report.damage) == 2


def test_a_damaged_book_is_not_exported(tmp_path: Path) -> None:
    """Nothing is written, not even in part."""
    book = book_of(tmp_path / "book")
    with closing(sqlite3.connect(book / "records.sqlite")) as db, db:
        db.execute("DROP TRIGGER records_no_update")
        db.execute("UPDATE records SET payload = ? WHERE seq = 3", (b"{}",))
    with pytest.raises(BookDamaged):
        exported(book, tmp_path / "out")
    assert [path.name for path in tmp_path.iterdir()] == ["book"]


def test_an_export_that_comes_out_wrong_is_thrown_away(tmp_path: Path) -> None:
    """What was written is read again before it gets its name; a disk that alters it is noticed."""
    book = book_of(tmp_path / "book")

    def alter(what: str) -> None:
        for path in tmp_path.glob("out.unfinished-*/tables/runs.csv"):
            if what.startswith("hashing"):
                path.write_bytes(b"other")

    with pytest.raises(BookDamaged, match=r"tables/runs.csv"):
        exported(book, tmp_path / "out", say=alter)
    assert [path.name for path in tmp_path.iterdir()] == ["book"]


def test_a_disk_that_fails_leaves_nothing_behind(tmp_path: Path) -> None:
    """Here the folder is taken away while it is packed."""
    book = book_of(tmp_path / "book")

    def take_away(what: str) -> None:
        if what.startswith("packing"):
            for path in tmp_path.glob("out.unfinished-*/"):
                shutil.rmtree(path, ignore_errors=True)

    with pytest.raises(ComplianceError, match="disk"):
        exported(book, tmp_path / "out", say=take_away, pack=True)
    assert [path.name for path in tmp_path.iterdir()] == ["book"]


def test_what_comes_in_meanwhile_waits_for_the_next_export(tmp_path: Path) -> None:
    """Records and tables are of one moment, that of the figures."""
    book = book_of(tmp_path / "book")
    size = verify(book).head.size

    def hand_in(what: str) -> None:
        if what == "writing the table runs":
            with Book.open(book) as other:
                other.append([made("late", "register", {"what": "person", "name": "Zoe", "fields": {}, "who": ""})],
                             receipt_time=NOW)  # fmt: skip

    done = exported(book, tmp_path / "out", say=hand_in)
    assert done.head.size == size == verify(book).head.size - 1
    assert told(done.folder).returncode == 0


def test_a_place_in_use_is_refused(sound: Path, tmp_path: Path) -> None:
    """Neither a folder with something in it nor an archive of that name is overwritten."""
    (tmp_path / "out.zip").write_bytes(b"mine")
    with pytest.raises(ComplianceError, match="in use"):
        exported(sound.parent / "book", tmp_path / "out", pack=True)
    with pytest.raises(ComplianceError, match="in use"):
        exported(sound.parent / "book", tmp_path)


def forged(out: Path, payload: bytes, kind: str) -> None:
    """An export of one more record that agrees with itself, as only somebody who rewrites it all can make."""
    path = out / "records.jsonl"
    lines = [line for _, line in check_export.lines(path)]
    header = lines[0].header.replace(b'"seq":1}', b'"seq":%d}' % (len(lines) + 1)).replace(b'"book"', kind.encode())
    header = header.replace(lines[0].payload_hash.encode(), sha(payload).encode())
    header = header.replace(lines[0].id.encode(), b"f" * 32)
    with path.open("ab") as file:
        file.write(b'{"header":%b,"leaf_hash":"%b","payload":%b}\n' % (header, leaf(header).hex().encode(), payload))
    code = check_export.check(out).code
    (out / "record-code.txt").write_bytes(f"{code}\n".encode())
    contents = json.loads((out / "contents.json").read_bytes())
    (out / "contents.json").write_text(json.dumps({**contents, "head": code, "not_here": [1]}))


@pytest.mark.parametrize("payload", [b"{not json}", canonical({"a": 1}), canonical({SALT: "00"}), b'{"salt":1}'])
def test_forged_records_make_no_book(out: Path, payload: bytes) -> None:
    """They agree with their hashes, so the checker cannot tell; what this program never wrote is no record of it."""
    forged(out, payload, '"attach"')
    assert told(out).returncode == 0
    with pytest.raises(BookDamaged, match="not written by this program"):
        rebuild.rebuild(out, out.parent / "again")
    with pytest.raises(ComplianceError, match="no book"):
        Book.open(out.parent / "again")


def test_files_named_in_an_unexpected_way_are_not_followed() -> None:
    """Only a SHA-256 in hex is the name of a file: no path, no number."""
    named = check_export.files_named
    assert named("attach", {"sha256": "../../secret", "copy": 5}) == []
    assert named("attach", {"sha256": sha(PHOTO), "copy": {"sha256": sha(SMALL)}}) == [sha(PHOTO), sha(SMALL)]
    assert named("issue", {"files": [sha(PAGE)]}) == []
    assert named("inquiry step", {"files": [{"sha256": sha(PAGE)}, "x"]}) == [sha(PAGE)]
    assert named("inquiry step", {"files": 3}) == named("inquiry step", {"step": "held"}) == []
    assert named("run", {"sha256": sha(PAGE)}) == []


def test_the_checker_and_the_book_build_the_same_tree() -> None:
    """The rules are said twice; the roots are the same at every size up to 70."""
    one, other = check_export.Tree(), Frontier()
    for number in range(71):
        assert one.root() == other.root().hex()
        one.add(leaf(bytes([number])))
        other.append(leaf(bytes([number])))


def test_a_checker_at_a_terminal_says_how_far_it_is(
    sound: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """On stderr, every so many records, and only where somebody watches."""
    monkeypatch.setattr(check_export, "_OFTEN", 5)
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    assert check_export.main([str(sound)]) == 0
    assert "hashing records, 5" in capsys.readouterr().err
    monkeypatch.undo()
    assert check_export.main([str(sound)]) == 0
    assert capsys.readouterr().err == ""


def test_a_long_export_says_how_far_it_is(sound: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each part of the work is told."""
    monkeypatch.setattr("compliance.book.export._OFTEN", 5)
    said: list[str] = []
    exported(sound.parent / "book", tmp_path / "out", say=said.append, pack=True)
    assert {one.split(",")[0].split(" ")[0] for one in said} >= {"checking", "making", "writing", "copying", "packing"}
    assert any(one.startswith("writing records, 5 of") for one in said)


def test_the_checker_is_a_program(sound: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Run as a file it takes its arguments and leaves with its code."""
    monkeypatch.setattr(sys, "argv", ["check_export.py", str(sound)])
    with pytest.raises(SystemExit) as left:
        runpy.run_path(check_export.__file__, run_name="__main__")
    assert left.value.code == 0


def test_an_export_is_told_from_a_backup(sound: Path) -> None:
    """By the files that only an export has."""
    assert rebuild.is_export(sound)
    assert not rebuild.is_export(sound.parent / "book")
