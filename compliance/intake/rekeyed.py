"""A card, or any night with an id of its own, that comes again: known, different, or a new night after a cancelled one.

A cancelled record keeps its id for good, so the night that is keyed after it has an id made of the serial and of the
record that it follows. That one is found in the same way however often the card is keyed: it is one night again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from compliance.intake.checked import Checked
from compliance.intake.entries import record_id
from compliance.intake.handin import as_typed
from compliance.intake.serial import id_text_of
from compliance.intake.wording import say
from compliance.records import kinds
from compliance.records.answer import NOT_APPLICABLE, WRITTEN
from compliance.records.envelope import Record
from compliance.records.quick import dataclass
from compliance.records.state import State
from compliance.records.views import RunView

if TYPE_CHECKING:
    from compliance.book.store import Book

NEW, KNOWN, DIFFERS = "new", "in the book already", "differs from the book"


@dataclass(frozen=True)
class Came:
    """What a night is to the book. became: one of the words above.

    checked: as it is to be handed in. ref: of the run that has its id, or that it follows. stands: fields and lines of
    the run that has its id, as they stand now. cancelled: that the run was cancelled, by whom and why; '' where not.
    """

    became: str
    checked: Checked
    ref: str = ""
    stands: Mapping[str, Any] | None = None
    cancelled: str = ""


def nights_beside(state: State, fields: Mapping[str, Any]) -> list[str]:
    """Refs of the nights of a rig on a day that are in the book and not cancelled. fields: of a night."""

    def key(rig: Any) -> str:
        return state.registers.key("rig", str(rig))

    mine = [run for run in state.runs if run.day == fields["date"] and run.cancelled is None]
    return [run.ref for run in mine if key(run.get("rig")) == key(fields["rig"])]


def look_up(book: Book, checked: Checked, whole: Callable[[], State], language: str = "en") -> Came:
    """Find a checked night in the book by the id that it came with; one without an id is new here.

    Only a card is followed by a new night: whoever gives an id of another kind can give another id. whole: all that
    the book says, asked for only when a record has the id.
    """
    assert checked.payload is not None
    card = checked.payload["fields"].get("card", NOT_APPLICABLE)
    text, follows, ref, told = checked.id_text, "", "", ""
    while text:
        held = book.by_ids([record_id(text)]).get(record_id(text))
        if held is None or held.kind != checked.kind:
            break
        run = next(one for run in whole().runs for one in run.handed_in_as if one.record == held.id)
        stands, cancel = _as_it_stands(run), _cancelled(book, held.id)
        if as_typed(held.payload) == as_typed(checked.payload) or _kept(checked.payload) in (
            _kept(stands),
            _kept(held.payload),
        ):
            known = replace(checked, payload=dict(held.payload), event_time=held.event_time, id_text=text)
            told = "" if cancel is None else _told("card cancelled", run.ref, cancel, language)
            return Came(KNOWN, known, run.ref, stands, told)
        if cancel is None or card in WRITTEN:
            return Came(DIFFERS, checked, run.ref, stands)
        text, follows, ref = id_text_of(card, after=held.id), held.id, run.ref
        told = _told("card follows", ref, cancel, language)
    if not follows:
        return Came(NEW, checked)
    return Came(NEW, replace(checked, payload={**checked.payload, "follows": follows}, id_text=text), ref, None, told)


def _cancelled(book: Book, id: str) -> Record | None:
    """The last cancellation of a record."""
    found = [record for record in book.records(kind=kinds.CANCEL) if record.payload["record"] == id]
    return found[-1] if found else None


def _told(phrase: str, ref: str, cancel: Record, language: str) -> str:
    p = cancel.payload
    return say(phrase, language, ref=ref, who=p["who"], day=cancel.receipt_time[:10], why=p["why"])


def _as_it_stands(run: RunView) -> Mapping[str, Any]:
    lines = [{"n": line.n, "line": line.kind, "fields": line.fields} for line in run.lines]
    return {"fields": run.fields, "lines": lines}


def _kept(payload: Mapping[str, Any]) -> tuple[Mapping[str, Any], Sequence[Any]]:
    """What a night says, whoever keyed it and however its lines are numbered."""
    fields = {name: value for name, value in payload["fields"].items() if name != "keyed_by"}
    return fields, [(line["line"], line["fields"]) for line in payload["lines"]]
