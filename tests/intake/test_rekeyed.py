"""A card that comes again: one card is one night at a time, whatever was cancelled in between."""

from __future__ import annotations

from typing import Any

from compliance.book.store import Book
from compliance.intake.handin import hand_in
from compliance.intake.rekeyed import DIFFERS, KNOWN, NEW, Came, look_up
from compliance.intake.run import check_run
from compliance.intake.serial import serial_id
from compliance.intake.validate import check

from .desk import clock, state, token
from .keyed import CARD
from .making import NIGHT, NOW


def came(book: Book, language: str = "en", **more: Any) -> Came:
    """A night of the card as the book knows it."""
    checked = check_run({**NIGHT, "card": CARD, **more}, state=state(book), where="night", now=NOW)
    return look_up(book, checked, lambda: state(book), language)


def put(book: Book, found: Came) -> str:
    """Hand it in; the id of its record."""
    done = hand_in(book, found.checked, state=state(book), now=clock(), token=token)
    assert done.record is not None
    return done.record.id


def cancel(book: Book, record: str, why: str = "keyed wrong") -> None:
    (checked,) = check("cancel", {"record": record, "why": why}, state=state(book), where="c", now=NOW, who="Ruth")
    hand_in(book, checked, state=state(book), now=clock(), token=token)


def test_a_card_is_new_then_known_then_different(book: Book) -> None:
    """By its serial, whatever door it came by."""
    first = came(book)
    assert (first.became, first.ref, first.cancelled) == (NEW, "", "")
    assert put(book, first) == serial_id(CARD)
    assert came(book, keyed_by="Tom Adlow").became == KNOWN
    other = came(book, rain="heavy")
    assert (other.became, other.ref) == (DIFFERS, "2026-09-14-big-blue")
    assert other.stands is not None
    assert "rain" not in other.stands["fields"]


def test_a_night_without_an_id_is_new(book: Book) -> None:
    """Nothing is looked for."""
    checked = check_run(NIGHT, state=state(book), where="night", now=NOW)
    assert look_up(book, checked, lambda: state(book)) == Came(NEW, checked)


def test_each_cancelled_night_of_a_card_is_followed_by_one(book: Book) -> None:
    """Twice cancelled, the third follows the second; what was cancelled comes back under no name."""
    ids = []
    for rain in ("none", "some", "heavy"):
        found = came(book, rain=rain)
        assert found.became == NEW
        assert found.checked.payload is not None
        assert found.checked.payload.get("follows") == (ids[-1] if ids else None)
        ids.append(put(book, found))
        assert came(book, rain=rain).became == KNOWN
        cancel(book, ids[-1], f"no {rain}")
    assert len(set(ids)) == 3
    for rain, id in zip(("none", "some", "heavy"), ids, strict=True):
        found = came(book, rain=rain)
        assert found.became == KNOWN
        assert found.checked.payload is not None
        assert put(book, found) == id
        assert f"no {rain}" in found.cancelled
    assert sum(record.kind == "run" for record in book.records()) == 3


def test_what_is_told_of_a_cancelled_one_is_in_the_language(book: Book) -> None:
    """Who, when and why."""
    cancel(book, put(book, came(book)), "otra noche")
    assert came(book, rain="heavy").cancelled.startswith("follows 2026-09-14-big-blue, which Ruth cancelled on")
    told = came(book, "es", rain="heavy").cancelled
    assert told.startswith("sigue a 2026-09-14-big-blue, que se canceló el 2026-10-01 (lo dijo Ruth): otra noche")
    assert "dice lo mismo" in came(book, "es").cancelled


def test_an_id_that_is_no_card_is_followed_by_nothing(book: Book) -> None:
    """Whoever gives an id can give another one."""
    checked = check_run({**NIGHT, "id": "mine"}, state=state(book), where="night", now=NOW)
    cancel(book, put(book, look_up(book, checked, lambda: state(book))))
    other = check_run({**NIGHT, "id": "mine", "rain": "heavy"}, state=state(book), where="night", now=NOW)
    assert look_up(book, other, lambda: state(book)).became == DIFFERS


def test_an_id_of_another_kind_of_record_is_left_to_the_book(book: Book) -> None:
    """It refuses the id itself."""
    (ticket,) = check(
        "ticket",
        {"id": "mine", "number": "1", "place": "North Yard station"},
        state=state(book),
        where="t",
        now=NOW,
        who="Ruth",
    )
    hand_in(book, ticket, state=state(book), now=clock(), token=token)
    checked = check_run({**NIGHT, "id": "mine"}, state=state(book), where="night", now=NOW)
    assert look_up(book, checked, lambda: state(book)).became == NEW
