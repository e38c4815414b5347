"""The damage corpus: one kind of tampering a function, named by it.

A *clumsy* hand changes what it came to change; a *careful* one puts the guards back and recomputes hashes as far as
its name says: the row, or the whole book. What is expected of `verify` stands in `tests/damage/<name>.txt`.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path
from typing import Any

from compliance.book import files, schema
from compliance.book.canon import canonical
from compliance.book.store import Book
from compliance.book.tree import Frontier, Head, leaf
from compliance.records.kinds import BACKUP, CLOSE, INQUIRY_STEP, ISSUE, RUN

from .making import NOW, book_of, entry, salts

SIZE = 8


@dataclass
class Scene:
    """A sound book of 8 records with two files, to be damaged; and what `verify` is given besides the folder."""

    folder: Path
    kept_head: Head | None = None
    deep: bool = False
    named_files: list[tuple[str, str]] = field(default_factory=list)

    @property
    def path(self) -> Path:
        """The database file."""
        return schema.path_of(self.folder)


def sound_scene(folder: Path) -> Scene:
    """The book as it was before somebody came."""
    book_of(folder, SIZE).close()
    named = [(entry(number).id, files.put(folder, f"photo {number}".encode())) for number in (3, 5)]
    return Scene(folder, named_files=named)


@contextmanager
def guards_off(path: Path) -> Iterator[sqlite3.Connection]:
    """Work on the file with the triggers taken off, and put them back word for word."""
    db = sqlite3.connect(path)
    try:
        for name, sql in schema.SCHEMA.items():
            if "TRIGGER" in sql:
                db.execute(f"DROP TRIGGER {name}")
        yield db
        for sql in schema.SCHEMA.values():
            if "TRIGGER" in sql:
                db.execute(sql)
        db.commit()
    finally:
        db.close()


def rehash_rows(db: sqlite3.Connection) -> None:
    """Make every row agree with itself."""
    for row in db.execute("SELECT * FROM records ORDER BY seq").fetchall():
        seq, id, kind, version, event, device, receipt, _, _, payload = row
        payload_hash = sha256(payload).digest()
        content = {"seq": seq, "id": id, "kind": kind, "schema": version, "event_time": event}
        content |= {"device_time": device, "receipt_time": receipt, "payload_hash": payload_hash.hex()}
        leaf_hash = leaf(canonical(content))
        db.execute("UPDATE records SET payload_hash = ?, leaf_hash = ? WHERE seq = ?", (payload_hash, leaf_hash, seq))


def rebuild_tree(db: sqlite3.Connection) -> None:
    """Make the running state agree with the rows."""
    frontier = Frontier()
    for (leaf_hash,) in db.execute("SELECT leaf_hash FROM records ORDER BY seq"):
        frontier.append(leaf_hash)
    db.execute("UPDATE tree_frontier SET size = ?, hashes = ?", (frontier.size, b"".join(frontier.hashes)))


def forged_payload(db: sqlite3.Connection, seq: int) -> bytes:
    """What the record said, with one figure changed."""
    content = json.loads(db.execute("SELECT payload FROM records WHERE seq = ?", (seq,)).fetchone()[0])
    return canonical({**content, "used": "999"})


def set_column(scene: Scene, seq: int, column: str, value: object) -> None:
    """Write one value of one row."""
    with guards_off(scene.path) as db:
        db.execute(f"UPDATE records SET {column} = ? WHERE seq = ?", (value, seq))


def edited_body(scene: Scene) -> None:
    with guards_off(scene.path) as db:
        db.execute("UPDATE records SET payload = ? WHERE seq = 4", (forged_payload(db, 4),))


def edited_body_and_its_hash(scene: Scene) -> None:
    with guards_off(scene.path) as db:
        payload = forged_payload(db, 4)
        changed = (payload, sha256(payload).digest())
        db.execute("UPDATE records SET payload = ?, payload_hash = ? WHERE seq = 4", changed)


def edited_body_and_its_row_rehashed(scene: Scene) -> None:
    with guards_off(scene.path) as db:
        db.execute("UPDATE records SET payload = ? WHERE seq = 4", (forged_payload(db, 4),))
        rehash_rows(db)


def swapped_bodies(scene: Scene) -> None:
    with guards_off(scene.path) as db:
        columns = "payload, payload_hash"
        (third, fourth) = db.execute(f"SELECT {columns} FROM records WHERE seq IN (3, 4) ORDER BY seq").fetchall()
        db.execute("UPDATE records SET payload = ?, payload_hash = ? WHERE seq = 3", fourth)
        db.execute("UPDATE records SET payload = ?, payload_hash = ? WHERE seq = 4", third)


def edited_header(scene: Scene) -> None:
    set_column(scene, 5, "event_time", "2026-03-03T22:15:00-05:00")


def edited_kind(scene: Scene) -> None:
    set_column(scene, 5, "kind", "cancel")


def edited_receipt_time(scene: Scene) -> None:
    set_column(scene, 5, "receipt_time", "2026-03-01T06:10:00-05:00")


def edited_leaf_hash(scene: Scene) -> None:
    set_column(scene, 5, "leaf_hash", bytes(32))


def quotes_in_the_header(scene: Scene) -> None:
    set_column(scene, 5, "kind", 'run","payload_hash":"00')


def payload_as_text(scene: Scene) -> None:
    with guards_off(scene.path) as db:
        db.execute("PRAGMA ignore_check_constraints = 1")
        db.execute("UPDATE records SET payload = CAST(payload AS TEXT) WHERE seq = 6")


def payload_as_number(scene: Scene) -> None:
    with guards_off(scene.path) as db:
        db.execute("PRAGMA ignore_check_constraints = 1")
        db.execute("UPDATE records SET payload = 42 WHERE seq = 6")


def schema_version_as_text(scene: Scene) -> None:
    with guards_off(scene.path) as db:
        db.execute("PRAGMA ignore_check_constraints = 1")
        db.execute("UPDATE records SET schema = 'one' WHERE seq = 6")


def deleted_first(scene: Scene) -> None:
    with guards_off(scene.path) as db:
        db.execute("DELETE FROM records WHERE seq = 1")


def deleted_middle(scene: Scene) -> None:
    with guards_off(scene.path) as db:
        db.execute("DELETE FROM records WHERE seq = 4")


def deleted_middle_and_closed_up(scene: Scene) -> None:
    with guards_off(scene.path) as db:
        db.execute("DELETE FROM records WHERE seq = 4")
        db.execute("UPDATE records SET seq = seq - 1 WHERE seq > 4")
        rehash_rows(db)


def truncated_tail(scene: Scene) -> None:
    with guards_off(scene.path) as db:
        db.execute("DELETE FROM records WHERE seq > 6")


def truncated_tail_with_care(scene: Scene) -> None:
    with guards_off(scene.path) as db:
        db.execute("DELETE FROM records WHERE seq > 6")
        rebuild_tree(db)


def truncated_tail_with_care_against_a_kept_head(scene: Scene) -> None:
    scene.kept_head = head_of(scene)
    truncated_tail_with_care(scene)


def truncated_tail_written_anew_against_a_kept_head(scene: Scene) -> None:
    scene.kept_head = head_of(scene)
    truncated_tail_with_care(scene)
    append(scene, 101, 102, 103)


def swapped_order(scene: Scene) -> None:
    with guards_off(scene.path) as db:
        for old, new in ((3, 99), (4, 3), (99, 4)):
            db.execute("UPDATE records SET seq = ? WHERE seq = ?", (new, old))


def swapped_order_rehashed(scene: Scene) -> None:
    swapped_order(scene)
    with guards_off(scene.path) as db:
        rehash_rows(db)


def moved_to_the_end(scene: Scene) -> None:
    with guards_off(scene.path) as db:
        db.execute("UPDATE records SET seq = 9 WHERE seq = 3")
        rehash_rows(db)


def replaced_row(scene: Scene) -> None:
    with guards_off(scene.path) as db:
        row = list(db.execute("SELECT * FROM records WHERE seq = 4").fetchone())
        row[1], row[9] = entry(400).id, canonical({"used": "1", "salt": "00" * 16})
        db.execute(f"INSERT OR REPLACE INTO records VALUES ({', '.join('?' * 10)})", row)
        rehash_rows(db)


def added_behind_the_back(scene: Scene) -> None:
    db = sqlite3.connect(scene.path)  # the guards allow a new row at the end
    row = list(db.execute("SELECT * FROM records WHERE seq = 8").fetchone())
    row[0], row[1] = 9, entry(400).id
    db.execute(f"INSERT INTO records VALUES ({', '.join('?' * 10)})", row)
    db.commit()
    db.close()


def rewritten_book(scene: Scene) -> None:
    rewrite(scene, 4, {"used": "999"})


def rewrite(scene: Scene, seq: int, change: dict[str, Any]) -> None:
    """Change what one record says, and make all hashes anew."""
    with guards_off(scene.path) as db:
        content = json.loads(db.execute("SELECT payload FROM records WHERE seq = ?", (seq,)).fetchone()[0])
        db.execute("UPDATE records SET payload = ? WHERE seq = ?", (canonical({**content, **change}), seq))
        rehash_rows(db)
        rebuild_tree(db)


def rewritten_book_against_a_kept_head(scene: Scene) -> None:
    scene.kept_head = head_of(scene)
    rewritten_book(scene)


def rewritten_book_against_a_head_kept_earlier(scene: Scene) -> None:
    with Book.open(scene.folder) as book:
        scene.kept_head = book.head_at(5)
    rewritten_book(scene)


def rewritten_after_the_kept_head(scene: Scene) -> None:
    with Book.open(scene.folder) as book:
        scene.kept_head = book.head_at(3)
    rewritten_book(scene)


def with_own_heads(scene: Scene) -> None:
    """Records 9 to 14: a page, a night, a search, a closed month, a step that is no search, a backup."""

    def at(size: int) -> dict[str, Any]:
        head = book.head_at(size)
        return {"size": head.size, "root": head.root_hex}

    with Book.open(scene.folder) as book:
        for number, kind in enumerate((ISSUE, RUN, INQUIRY_STEP, CLOSE, INQUIRY_STEP, BACKUP), start=SIZE + 1):
            said: dict[str, Any] = {
                9: {"made_from": at(2)},
                11: {"step": "searched", **at(6)},
                12: at(8),
                13: {"step": "held", "why": "asked to"},
                14: {"head": str(book.head())},
            }.get(number, {"used": "80"})
            book.append([entry(number, kind, said)], receipt_time=NOW, salts=[bytes(16)])


def rewritten_book_with_its_own_heads_forgotten(scene: Scene) -> None:
    with_own_heads(scene)
    rewritten_book(scene)


def rewritten_after_the_last_own_head(scene: Scene) -> None:
    with_own_heads(scene)
    append(scene, 301)
    rewrite(scene, 15, {"used": "999"})


def own_head_changed(scene: Scene) -> None:
    with_own_heads(scene)
    rewrite(scene, 12, {"root": "00" * 32})


def own_head_of_more_records_than_there_are(scene: Scene) -> None:
    with_own_heads(scene)
    rewrite(scene, 12, {"size": 99})


def own_heads_taken_out(scene: Scene) -> None:
    with_own_heads(scene)
    rewrite(scene, 14, {"head": None})
    rewrite(scene, 9, {"made_from": "nothing"})


def own_head_of_a_newer_program(scene: Scene) -> None:
    with_own_heads(scene)
    with Book.open(scene.folder) as book:
        newer = [entry(15, ISSUE, {"made from": "in another form"}, schema=2)]
        book.append(newer, receipt_time=NOW, salts=[bytes(16)])


def primary_key_forged_under_own_heads(scene: Scene) -> None:
    with_own_heads(scene)
    TAMPERING["primary-key-forged"](scene)


def edited_body_under_own_heads(scene: Scene) -> None:
    with_own_heads(scene)
    edited_body_and_its_row_rehashed(scene)


def rewritten_with_its_own_heads(scene: Scene) -> None:
    with_own_heads(scene)
    rewritten_book(scene)
    for seq, size in ((11, 6), (12, 8), (14, 13)):
        with Book.open(scene.folder) as book:
            head = book.head_at(size)
        rewrite(scene, seq, {"head": str(head)} if seq == 14 else {"size": size, "root": head.root_hex})


def forked_from_backup(scene: Scene) -> None:
    yesterday = scene.folder.parent / "yesterday.sqlite"
    shutil.copyfile(scene.path, yesterday)
    append(scene, 201, 202)
    scene.kept_head = head_of(scene)
    shutil.copyfile(yesterday, scene.path)
    append(scene, 301, 302, 303)


def lost_log_against_a_kept_head(scene: Scene) -> None:
    copied = scene.folder.parent / "copied.sqlite"
    with Book.open(scene.folder) as book:
        book.append([entry(201)], receipt_time=NOW, salts=[next(salts())])
        scene.kept_head = book.head()
        shutil.copyfile(scene.path, copied)  # as a plain copy of a live file does: the log stays behind
    shutil.copyfile(copied, scene.path)


def wrong_kept_head(scene: Scene) -> None:
    scene.kept_head = Head(SIZE, "00" * 32)


def missing_file(scene: Scene) -> None:
    files.get(scene.folder, scene.named_files[0][1]).unlink()


def changed_file(scene: Scene) -> None:
    scene.deep = True
    files.get(scene.folder, scene.named_files[1][1]).write_bytes(b"another photo")


def changed_file_looked_at_from_outside(scene: Scene) -> None:
    files.get(scene.folder, scene.named_files[1][1]).write_bytes(b"another photo")


def run_sql(*statements: str) -> Callable[[Scene], None]:
    """Tampering that is a few statements without taking the guards off first."""

    def tamper(scene: Scene) -> None:
        db = sqlite3.connect(scene.path, isolation_level=None)
        for statement in statements:
            db.execute(statement).fetchall()
        db.close()

    return tamper


def not_our_form(scene: Scene) -> None:
    scene.deep = True
    with guards_off(scene.path) as db:
        for seq, payload in enumerate((b'{ "used": "1" }', b"[]", b"\xff", b'{"salt":"00"}', b'{"salt":5}'), start=2):
            db.execute("UPDATE records SET payload = ? WHERE seq = ?", (payload, seq))
        rehash_rows(db)
        rebuild_tree(db)


def zeroed_page(scene: Scene) -> None:
    with scene.path.open("r+b") as file:
        file.seek(4096)
        file.write(bytes(4096))


def half_a_file(scene: Scene) -> None:
    with scene.path.open("r+b") as file:
        file.truncate(scene.path.stat().st_size // 2)


def not_a_database(scene: Scene) -> None:
    scene.path.write_bytes(b"\x89PNG and so on" * 500)


def empty_file(scene: Scene) -> None:
    scene.path.write_bytes(b"")


def no_file(scene: Scene) -> None:
    scene.path.unlink()


def head_of(scene: Scene) -> Head:
    with Book.open(scene.folder) as book:
        return book.head()


def append(scene: Scene, *numbers: int) -> None:
    source = salts()
    with Book.open(scene.folder) as book:
        book.append([entry(number) for number in numbers], receipt_time=NOW, salts=[next(source) for _ in numbers])


def untouched(scene: Scene) -> None:
    scene.deep = True
    with Book.open(scene.folder) as book:
        scene.kept_head = book.head_at(5)


TAMPERING: dict[str, Callable[[Scene], Any]] = {
    function.__name__.replace("_", "-"): function
    for function in (
        untouched,
        edited_body,
        edited_body_and_its_hash,
        edited_body_and_its_row_rehashed,
        swapped_bodies,
        edited_header,
        edited_kind,
        edited_receipt_time,
        edited_leaf_hash,
        quotes_in_the_header,
        payload_as_text,
        payload_as_number,
        schema_version_as_text,
        deleted_first,
        deleted_middle,
        deleted_middle_and_closed_up,
        truncated_tail,
        truncated_tail_with_care,
        truncated_tail_with_care_against_a_kept_head,
        truncated_tail_written_anew_against_a_kept_head,
        swapped_order,
        swapped_order_rehashed,
        moved_to_the_end,
        replaced_row,
        added_behind_the_back,
        rewritten_book,
        rewritten_book_against_a_kept_head,
        rewritten_book_against_a_head_kept_earlier,
        rewritten_after_the_kept_head,
        rewritten_book_with_its_own_heads_forgotten,
        rewritten_after_the_last_own_head,
        rewritten_with_its_own_heads,
        own_head_changed,
        own_head_of_more_records_than_there_are,
        own_heads_taken_out,
        own_head_of_a_newer_program,
        primary_key_forged_under_own_heads,
        edited_body_under_own_heads,
        forked_from_backup,
        lost_log_against_a_kept_head,
        wrong_kept_head,
        missing_file,
        changed_file,
        changed_file_looked_at_from_outside,
        not_our_form,
        zeroed_page,
        half_a_file,
        not_a_database,
        empty_file,
        no_file,
    )
} | {
    "dropped-trigger": run_sql("DROP TRIGGER records_no_update"),
    "all-triggers-dropped": run_sql(
        "DROP TRIGGER records_no_update", "DROP TRIGGER records_no_delete", "DROP TRIGGER records_no_replace"
    ),
    "blunted-trigger": run_sql(
        "DROP TRIGGER records_no_delete",
        "CREATE TRIGGER records_no_delete BEFORE DELETE ON records WHEN OLD.seq < 0 "
        "BEGIN SELECT RAISE(ABORT, 'a record is never removed'); END",
    ),
    "dropped-index": run_sql("DROP INDEX records_by_kind"),
    "added-trigger": run_sql("CREATE TRIGGER listening AFTER INSERT ON records BEGIN DELETE FROM tree_frontier; END"),
    "added-column": run_sql("ALTER TABLE records ADD COLUMN note"),
    "primary-key-forged": run_sql(
        "PRAGMA writable_schema = 1",
        "UPDATE sqlite_master SET sql = replace(sql, 'PRIMARY KEY', 'PRIMARY_KEY') WHERE name = 'records'",
    ),
    "records-dropped": run_sql("DROP TRIGGER records_no_delete", "DROP TABLE records"),
    "tree-state-emptied": run_sql("DELETE FROM tree_frontier"),
    "tree-state-garbled": run_sql("UPDATE tree_frontier SET hashes = x'00'"),
    "tree-state-of-another-type": run_sql(
        "PRAGMA ignore_check_constraints = 1", "UPDATE tree_frontier SET hashes = 7, size = 'x'"
    ),
    "tree-state-dropped": run_sql("DROP TABLE tree_frontier"),
    "journal-mode-changed": run_sql("PRAGMA journal_mode = DELETE"),
    "older-schema": run_sql("PRAGMA user_version = 0"),
    "newer-schema": run_sql("PRAGMA user_version = 2"),
    "changed-mark": run_sql("PRAGMA application_id = 7"),
    "another-programs-database": run_sql(
        "DROP TRIGGER records_no_delete", "DROP TABLE records", "PRAGMA application_id = 7"
    ),
}
