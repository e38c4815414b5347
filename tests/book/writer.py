"""A program of its own that appends records and says so on its output, to be killed, starved or traced.

writer.py FOLDER COUNT [create] [files] [drafts] [sync-off | sync-normal] [few-pages]
"""

from __future__ import annotations

import sys
from pathlib import Path

from making import NOW, entry

from compliance.book import drafts, files, schema
from compliance.book.store import Book
from compliance.records.problem import ComplianceError


def say(*words: object) -> None:
    """One line, in one piece, at once: what was said before a kill was true."""
    sys.stdout.write(" ".join(str(word) for word in words) + "\n")
    sys.stdout.flush()


def main(folder: Path, count: int, options: set[str]) -> int:
    """Append `count` records, one a transaction, and acknowledge each with the head after it."""
    for number, name in enumerate(("sync-off", "sync-normal")):
        if name in options:
            schema.CONNECTION = {**schema.CONNECTION, "synchronous": number}
    try:
        if "create" in options:
            book = Book.create(folder, entry(0, "book", {}), now=NOW, salt=bytes(16))
            say("started", book.head())
        else:
            book = Book.open(folder)
        if "few-pages" in options:  # move the log into the database every few records
            book._db.execute("PRAGMA wal_autocheckpoint = 20")
        with book:
            first = book.head().size
            for number in range(first, first + count):
                payload = {"n": number, "remark": "x" * (number * 37 % 900)}
                if "files" in options:
                    payload["photo"] = files.put(folder, str(number).encode())
                if "drafts" in options:
                    drafts.save(folder, "night", {"n": number, "remark": "y" * 3000})
                book.append([entry(number, payload=payload)], receipt_time=NOW)
                say("kept", number, entry(number).id, book.head())
    except ComplianceError as error:
        say("refused", *(" / ".join(str(problem).splitlines()) for problem in error.problems))
        return error.exit_code
    return 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), int(sys.argv[2]), set(sys.argv[3:])))
