"""One small book, with an entry of every kind that the query tables tell of."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from compliance.book import derived
from compliance.book.store import Book
from compliance.records.envelope import Entry

from .deriving import NOW, made


def night(name: str, *lines: dict[str, Any], **fields: Any) -> Entry:
    """A night of Birch, from its lines without their numbers."""
    numbered = [{"n": str(n), **line} for n, line in enumerate(lines, start=1)]
    given = {"rig": "Birch", "lead": "Rosa Iglesias", "date": "2026-09-04", "where": "see lines", **fields}
    return made(name, "run", {"fields": given, "lines": numbered, "typed": {}, "who": "Rosa Iglesias"})


def line(kind: str, **fields: Any) -> dict[str, Any]:
    return {"line": kind, "fields": fields}


PLAIN = night(
    "plain",
    line("reading", of="Birch recovery", shows="empty"),
    line("stop", site="Quay", surface="Señal pintada", area="900 ft2"),
    line("hand over", place="Station", amount="200 gal", tank_after="empty", ticket="later"),
    used="240 gal", recovered="200 gal", remark="Fuga en el desagüe, \"curb\" side", got_away="saw none",
)  # fmt: skip
ALL = [
    PLAIN,
    night("unread", line("stop", site="Hill"), date="2026-09-05", used="not read", recovered=">=50 gal"),
    made("fix", "correct", {
        "run": PLAIN.id, "line": "2", "field": "surface", "value": "brick", "was": "Señal pintada",
        "reason": "keyed wrong", "why": "the sheet says ladrillo", "who": "Priya",
    }),
    made("full", "complete", {"run": PLAIN.id, "line": "", "field": "supply", "value": "hydrant 12", "who": "Priya"}),
    made("more", "complete", {
        "run": PLAIN.id, "after": "2", "add": {"line": "escape", "fields": {"what": "mat leaked", "reached": "soil"}},
        "who": "Priya",
    }),
    made("slip", "ticket", {
        "fields": {"number": "R-20914", "accepted": "198 gal", "received_by": "Orla Benning"},
        "handovers": [{"run": PLAIN.id, "line": "3"}], "who": "Priya",
    }),
    made("photo", "attach", {
        "record": PLAIN.id, "line": "2", "name": "drain.jpg", "sha256": "0" * 64, "size": 10, "media": "image/jpeg",
        "what": "the curb inlet", "who": "Priya",
    }),
    made("ok", "accept", {
        "rule": "ticket-2", "about": "2026-09-04-birch/3", "why": "known difference", "until": "2026-12-31",
        "who": "Ruth",
    }),
    made("page", "issue", {
        "page": "proof", "number": "P-7", "about": "2026-09-04-birch.s1", "date": "2026-09-20", "files": {},
        "made_from": {"size": 3, "root": "ab"}, "figures": {"used": "240"}, "replaces": "", "who": "Ruth",
    }),
    made("to come", "same outing", {"first": "0" * 32, "second": PLAIN.id, "why": "two phones", "who": "Priya"}),
    made("alone", "order", {"tank": "Birch recovery", "runs": [PLAIN.id], "why": "the crews say so", "who": "Ruth"}),
    made("closed once", "close", {"month": "2026-09", "page": "M-1", "size": 1, "root": "", "figures": {}, "who": ""}),
    made("again", "reopen", {"month": "2026-09", "why": "a late ticket", "who": "Ruth"}),
    made("backed up", "backup", {"made": NOW, "head": "", "sha256": "", "files": 0, "spoilt": 0}),
    made("new", "weather", {"from": "a newer program"}),
]  # fmt: skip


def more(folder: Path, *given: Entry) -> None:
    with Book.open(folder) as book:
        book.append(given, receipt_time=NOW)


def asked(folder: Path, sql: str, *params: Any) -> list[Any]:
    return derived.query(folder, sql, params)[1]
