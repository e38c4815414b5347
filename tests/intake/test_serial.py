"""The serial of a card: no slip of one character or of two neighbours passes, and a card is one record."""

from __future__ import annotations

import random
from hashlib import sha256
from itertools import combinations

import pytest

from compliance.intake.serial import ALPHABET, new_serial, read_serial, serial_id
from compliance.records.problem import Problem

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
