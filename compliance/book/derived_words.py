"""What people typed, record by record, for searching: what a record says never changes, so neither do its words.

Names, remarks, reasons, addresses; no figures, no choices, no times. What a correction replaced is found too, and so
is what was cancelled: it was typed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from compliance.records import fields as table
from compliance.records import kinds
from compliance.records.answer import without_value
from compliance.records.envelope import Record
from compliance.records.fields import GROUPS, WHERE_WORDS, Field
from compliance.records.upgrade import upgraded

_BETWEEN: Final = " · "
_OTHERS: Final = {
    kinds.CANCEL: ("why", "who"),
    kinds.ATTACH: ("name", "what", "who"),
    kinds.ACCEPT: ("rule", "about", "why", "who"),
    kinds.ISSUE: ("number", "page", "about", "who"),
    kinds.SAME_AS: ("name", "is", "who"),
    kinds.SAME_OUTING: ("why", "who"),
    kinds.ORDER: ("tank", "why", "who"),
    kinds.CLOSE: ("month", "page", "who"),
    kinds.REOPEN: ("month", "why", "who"),
    kinds.INQUIRY_STEP: ("to", "how", "why", "who"),
}
"""Keys of a payload that hold words, of the kinds that have no field table."""


def words_of(record: Record) -> Iterator[dict[str, Any]]:
    """A row for each part of a record in which something was typed: the run and each of its lines, a ticket, a change.

    The row's number is given to it later.
    """
    payload = upgraded(record)
    base = {"record": record.id, "seq": record.seq, "run": "", "line": "", "what": record.kind, "name": ""}
    for row in _rows(record, payload):
        if row["text"]:
            yield {**base, **row}


def _rows(record: Record, payload: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    match record.kind:
        case kinds.RUN:
            yield {"run": record.id, "text": _text("run", payload["fields"], payload.get("who"))}
            for line in payload["lines"]:
                text = _text(line["line"], line["fields"])
                yield {"run": record.id, "line": line["n"], "what": line["line"], "text": text}
        case kinds.BOOK:
            yield {"name": "business", "text": _text("business", payload["fields"], payload.get("who"))}
        case kinds.REGISTER:
            what = payload["what"]
            text = _text(what, {"name": payload["name"], **payload["fields"]}, payload.get("who"))
            yield {"name": f"{what} {payload['name']}", "text": text}
        case kinds.TICKET:
            runs = {handover["run"] for handover in payload["handovers"]}
            lines = [handover["line"] for handover in payload["handovers"]]
            yield {
                "run": runs.pop() if len(runs) == 1 else "", "line": lines[0] if len(lines) == 1 else "",
                "name": f"ticket {payload['fields'].get('number', '')}".strip(),
                "text": _text("ticket", payload["fields"], payload.get("who")),
            }  # fmt: skip
        case kinds.CORRECT | kinds.COMPLETE:
            yield {"run": payload["run"], "line": payload.get("line", ""), "text": _changed(payload)}
        case kinds.CANCEL:
            yield {"run": payload["record"], "text": _joined(payload.get(key) for key in _OTHERS[record.kind])}
        case kinds.ATTACH:
            text = _joined(payload.get(key) for key in _OTHERS[record.kind])
            yield {"run": payload["record"], "line": payload.get("line", ""), "text": text}
        case kinds.SAME_OUTING:
            yield {"run": payload["first"], "text": _joined(payload.get(key) for key in _OTHERS[record.kind])}
        case kinds.ORDER:
            yield {"name": payload["tank"], "text": _joined(payload.get(key) for key in _OTHERS[record.kind])}
        case kinds.CLOSE | kinds.REOPEN:
            yield {"name": payload["month"], "text": _joined(payload.get(key) for key in _OTHERS[record.kind])}
        case kinds.INQUIRY:
            yield {"name": "inquiry", "text": _text("inquiry", payload["fields"], payload.get("why"), payload["who"])}
        case kinds.INQUIRY_STEP:
            text = _joined(payload.get(key) for key in _OTHERS[record.kind])
            yield {"name": f"inquiry {payload['step']}", "text": text}
        case kinds.OLD_ROW:
            said = [*_typed("run", payload["fields"]), *_typed("stop", payload["fields"]), payload.get("who")]
            place = ", ".join(part for part in (payload["file"], payload["sheet"]) if part)  # a text file has no sheets
            yield {"name": f"{place}, row {payload['row']}", "text": _joined(said)}
        case kinds.ACCEPT | kinds.ISSUE | kinds.SAME_AS:
            name = payload.get("number") or payload.get("about") or f"{payload.get('what')} {payload.get('name')}"
            yield {"name": name, "text": _joined(payload.get(key) for key in _OTHERS[record.kind])}
        case _:
            return  # from a newer program


def _changed(payload: Mapping[str, Any]) -> str:
    """The words of a correction or completion: both values where they are words, why, and who says so."""
    said = [payload.get("why"), payload.get("who")]
    if "add" in payload:
        return _joined([_text(payload["add"]["line"], payload["add"]["fields"]), *said])
    values = [payload.get("was"), payload.get("value")]
    return _joined([*(value for value in values if isinstance(value, str)), *said])


def _text(group: str, fields: Mapping[str, Any], *others: Any) -> str:
    return _joined([*_typed(group, fields), *others])


def _typed(group: str, fields: Mapping[str, Any]) -> Iterator[Any]:
    for row in GROUPS.get(group, ()):
        value = fields.get(row.name)
        if row.type == table.GROUP and isinstance(value, list):
            for item in value:
                yield from _typed(row.of, item)
        elif _holds_words(row) and value not in WHERE_WORDS:
            yield value


def _holds_words(row: Field) -> bool:
    return row.type in (table.TEXT, table.REF)


def _joined(values: Any) -> str:
    """Words in one line, each said once."""
    said = [value for value in values if isinstance(value, str) and value.strip() and without_value(value) is None]
    return _BETWEEN.join(dict.fromkeys(said))
