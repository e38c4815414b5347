"""The serial of a card: no slip of one character or of two neighbours passes, and a card is one record."""

from __future__ import annotations

import random
from hashlib import sha256
from itertools import combinations, count
from pathlib import Path

import pytest

from compliance.book.store import Book
from compliance.intake.checked import Checked
from compliance.intake.entries import entry
from compliance.intake.handin import HandedIn, hand_in, start_book
from compliance.intake.run import check_run
from compliance.intake.serial import ALPHABET, new_serial, read_serial, serial_id
from compliance.intake.validate import check
from compliance.records.problem import Problem
from compliance.records.state import gather

from .making import NIGHT, NOW, REGISTERS, pages

SAMPLES = [new_serial(sha256(bytes([n])).digest()[:16]) for n in range(60)]


def plain(serial: str) -> str:
    return serial.replace("-", "")


def accepted(text: str) -> bool:
    return not isinstance(read_serial(text, "here"), Problem)


@pytest.mark.parametrize("serial", SAMPLES[:8])
def test_a_new_serial_is_read_back_however_it_is_typed(serial: str) -> None:
    """Hyphens, blanks and case are for the eye."""
    for typed in (serial, serial.lower(), plain(serial), f" {plain(serial)[:4]} {plain(serial)[4:]} ", f"{serial}."):
        assert read_serial(typed, "here") == serial


def test_the_alphabet_holds_no_two_that_look_alike() -> None:
    """At most one of each group that is mistaken for each other on paper; and 23 is a prime, which the check needs."""
    assert len(ALPHABET) == len(set(ALPHABET)) == 23
    for alike in ("0ODQ", "1IL", "2Z", "5S", "6G", "8B", "UV"):
        assert sum(letter in ALPHABET for letter in alike) <= 1
    assert not set("AEIOU") & set(ALPHABET)


def test_every_single_wrong_character_is_caught() -> None:
    """All 22 others at each of the nine places of sixty serials, the check character's own place included."""
    tried = 0
    for serial in map(plain, SAMPLES):
        for i, right in enumerate(serial):
            for wrong in ALPHABET:
                if wrong != right:
                    tried += 1
                    assert not accepted(serial[:i] + wrong + serial[i + 1 :])
    assert tried == 60 * 9 * 22


def test_every_swap_of_two_characters_is_caught() -> None:
    """Of neighbours, and of any other two; the same two characters swapped are the same serial."""
    tried = 0
    for serial in map(plain, SAMPLES):
        for i, j in combinations(range(9), 2):
            swapped = list(serial)
            swapped[i], swapped[j] = swapped[j], swapped[i]
            if swapped != list(serial):
                tried += 1
                assert not accepted("".join(swapped))
    assert tried > 1900


def test_one_in_twenty_three_strangers_passes_and_no_more() -> None:
    """What is no slip but another text altogether is caught as often as one character can catch it."""
    dice = random.Random(7)
    passed = sum(accepted("".join(dice.choices(ALPHABET, k=9))) for _ in range(23_000))
    assert 900 < passed < 1100


def test_a_row_of_one_character_is_no_serial() -> None:
    """A key held down is not a card."""
    assert not any(accepted(letter * 9) for letter in ALPHABET)


@pytest.mark.parametrize(
    ("typed", "what"),
    [
        ("2345-6789-O", "'O' does not occur"),
        ("2345-678", "has 7 characters"),
        (SAMPLES[0] + "2", "has 10 characters"),
        ("", "has 0 characters"),
        ("2345-6789-ñ", "'Ñ' does not occur"),
    ],
)
def test_a_text_that_is_no_serial_says_why(typed: str, what: str) -> None:
    """The card lies on the desk: the message says where to look on it."""
    found = read_serial(typed, "nights, row 3")
    assert isinstance(found, Problem)
    assert what in found.what
    assert found.where == "nights, row 3"
    assert "again" in found.next_step


def test_a_wrong_check_character_is_told_apart() -> None:
    """All nine are of the alphabet, and still one of them is wrong."""
    serial = plain(SAMPLES[3])
    wrong = ALPHABET[(ALPHABET.index(serial[8]) + 1) % 23]
    found = read_serial(serial[:8] + wrong, "here")
    assert isinstance(found, Problem)
    assert "check character" in found.what
    assert "one by one" in found.next_step


def test_the_same_card_is_the_same_record_and_another_is_another() -> None:
    """32 hex digits, a function of the serial alone."""
    ids = {serial_id(serial) for serial in SAMPLES}
    assert len(ids) == len(set(SAMPLES)) == 60
    assert all(len(id) == 32 and set(id) <= set("0123456789abcdef") for id in ids)


def test_cards_that_are_printed_already_keep_their_record() -> None:
    """Serial and id of one known draw: a change of either would part every card on paper from its night."""
    assert new_serial(bytes(range(16))) == "TVX7-67W2-6"
    assert serial_id("TVX7-67W2-6") == "7e8a7cf853dacba723ad9377b47e08bb"


# ---- a night that was written on a card ------------------------------------------------------------------------

CARD = "TVX7-67W2-6"


def looked_at(**more: str) -> Checked:
    return check_run({**NIGHT, **more}, state=pages().state, where="night.toml", now=NOW)


@pytest.mark.parametrize("typed", [CARD, "tvx767w26", "TVX7 67W2 6"])
def test_a_card_is_the_id_of_its_night(typed: str) -> None:
    """However it is typed, it is kept as it is printed, and the record's id follows from it."""
    checked = looked_at(card=typed)
    assert checked.problems == ()
    assert checked.payload is not None
    assert checked.payload["fields"]["card"] == CARD
    assert entry(checked, now=NOW.isoformat(), token=bytes).id == serial_id(CARD)


def test_a_card_with_a_wrong_check_character_is_refused() -> None:
    """Before anything is written, and saying where."""
    (problem,) = looked_at(card="TVX7-67W2-7").problems
    assert "check character" in problem.what
    assert problem.where == "night.toml, Card (card)"


def test_a_card_beside_another_id_is_refused() -> None:
    """One night has one id; the card's own, written out, is no other."""
    (problem,) = looked_at(card=CARD, id="night 12").problems
    assert problem.what == "both a card (TVX7-67W2-6) and an id ('night 12') are given"
    assert looked_at(card=CARD, id=f"card {CARD}").problems == ()
    assert looked_at(card="not applicable", id="night 12").id_text == "night 12"


def hand_in_with(book: Book, **more: str) -> HandedIn:
    state = gather(book.records())
    checked = check_run({**NIGHT, **more}, state=state, where="night.toml", now=NOW)
    return hand_in(book, checked, state=state, now=NOW.isoformat(), token=lambda: bytes(16))


def test_one_card_is_one_night_in_the_book(tmp_path: Path) -> None:
    """The same again changes nothing, whoever keys it; other values are a conflict with both sides, no second night."""
    from compliance.book.incoming import Conflict

    tokens = count(1)
    first = check("registers", REGISTERS, state=None, where="registers", now=NOW)
    token = lambda: next(tokens).to_bytes(16, "big")  # noqa: E731
    with start_book(tmp_path / "book", first, now=NOW.isoformat(), token=token) as book:
        done = hand_in_with(book, card=CARD, remark="gate code 4", keyed_by="Tom Adlow")
        size = book.head().size
        again = hand_in_with(book, card=CARD.lower(), remark="gate code 4", keyed_by="Rosa Iglesias")
        assert (done.new, again.new, again.ref) == (True, False, done.ref)
        with pytest.raises(Conflict) as caught:
            hand_in_with(book, card=CARD, remark="gate code 7", keyed_by="Tom Adlow")
        (problem,) = caught.value.problems
        assert 'payload.fields.remark: the book has "gate code 4", this entry has "gate code 7"' in problem.what
        assert book.head().size == size
        assert hand_in_with(book, card=SAMPLES[0], remark="gate code 4").new
