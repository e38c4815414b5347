"""Rows that are new, into the book: all of them or none, with the file they came from and the way it was read."""

from __future__ import annotations

from collections.abc import Sequence
from hashlib import sha256
from typing import TYPE_CHECKING

from compliance.intake.checked import Checked
from compliance.intake.entries import Token
from compliance.intake.handin import hand_in_all
from compliance.intake.oldbooks.filemap import written
from compliance.intake.oldbooks.lines import NEW, Line
from compliance.intake.oldbooks.preview import Preview
from compliance.intake.oldbooks.telling import Say, unsaid
from compliance.intake.text import check_text
from compliance.records.kinds import CANCEL, OLD_METHOD, OLD_ROW
from compliance.records.problem import ComplianceError, Problem
from compliance.records.quick import dataclass
from compliance.records.state import State

if TYPE_CHECKING:
    from compliance.book.store import Book


@dataclass(frozen=True)
class Imported:
    """What was written. records: how many; mapping: SHA-256 of the kept mapping, '' when nothing was new."""

    records: int
    mapping: str


def new_rows(found: Preview, *, who: str) -> list[Checked]:
    """The rows of a preview that are new, as entries; all others stay out."""
    mapping = sha256(written(found.settled).encode()).hexdigest()
    return [
        Checked(OLD_ROW, _payload(line, found, mapping, who), line.fields["date"])
        for line in found.lines
        if line.state == NEW
    ]


def commit(book: Book, data: bytes, found: Preview, *, who: str, now: str, token: Token, say: Say = unsaid) -> Imported:
    """Write what is new in one transaction; file and mapping are on the disk before the records that name them.

    data: the bytes that were previewed. now: the clock, RFC 3339. say: is told what is being done. Raises
    ComplianceError when the disk or the book cannot take it; nothing of it is in the book then.
    """
    from compliance.book import files

    checked = new_rows(found, who=who)
    if not checked:
        return Imported(0, "")
    say(f"writing {len(checked):,} rows, all or none")
    files.put(book.folder, data)
    mapping = files.put(book.folder, written(found.settled).encode())
    return Imported(len(hand_in_all(book, checked, now=now, token=token)), mapping)


def take_back(
    book: Book, state: State, sha256: str, *, why: str, who: str, now: str, token: Token, only: Sequence[str] = ()
) -> int:
    """Cancel the rows of one file, all or none; they stay in the book, marked, and may be imported again.

    sha256: of the file. why, who: as for any cancellation. only: of these sheets, of all when there are none. Returns
    how many were cancelled. Raises ComplianceError when it is not said why, or by whom.
    """
    said = {"why": check_text(why, "--take-back"), "who": check_text(who, "--who", name=True)}
    problems = [one for one in said.values() if isinstance(one, Problem)]
    if not said["why"]:
        problems.append(Problem("it is not said why", "--take-back", "a cancelled row still shows, with its reason"))
    if not said["who"]:
        problems.append(Problem("it is not said who says so", "--who", "add --who NAME"))
    if problems:
        raise ComplianceError(*problems)
    rows = [row for row in state.old_rows if row.sha256 == sha256 and (not only or row.sheet in only)]
    checked = [Checked(CANCEL, {"record": row.record, **said}, now[:10]) for row in rows]
    return len(hand_in_all(book, checked, now=now, token=token))


def _payload(line: Line, found: Preview, mapping: str, who: str) -> dict[str, object]:
    return {
        "fields": line.fields,
        "typed": line.typed,
        "method": OLD_METHOD,
        "file": found.book.name,
        "sha256": found.book.sha256,
        "sheet": line.sheet,
        "row": line.number,
        "mapping": mapping,
        "who": who,
    }
