"""The serial of a paper card: eight characters and one that checks them, and the record that the card becomes.

A serial is drawn at random when a card is printed and written down nowhere else: the record's id follows from it, so
that one card is one night however often it is keyed. Characters that are mistaken for each other on paper are left
out in pairs or threes: of 0 O D Q only D is used, of 1 I L none, of 2 Z, 5 S, 6 G, 8 B only the digit, of U V only V,
and no A or E, so that no serial reads as a word.

The check is a weighted sum over a field of 23 elements. Every weight differs from zero and from every other, so one
wrong character, or any two that changed places, always shows. The weights add up to nothing and the sum has to be
one, so that a row of equal characters is never a serial.
"""

from __future__ import annotations

from typing import Final

from compliance.intake.entries import record_id
from compliance.intake.text import shown
from compliance.records.problem import Problem

ALPHABET: Final = "23456789CDFHJKMNPRTVWXY"
LENGTH: Final = 8
"""Characters before the check character."""

_SIZE: Final = len(ALPHABET)  # a prime
_WEIGHTS: Final = (1, 2, 3, 4, 5, 6, 7, 8, 10)
_SUM: Final = 1
_IGNORED: Final = " -.\u2010\u2011\u2012\u2013"


def new_serial(token: bytes) -> str:
    """A serial as it is printed, like 2345-6789-C. token: 16 random bytes."""
    number = int.from_bytes(token)
    values = []
    for _ in range(LENGTH):
        number, value = divmod(number, _SIZE)
        values.append(value)
    rest = _SUM - sum(weight * value for weight, value in zip(_WEIGHTS, values, strict=False))
    values.append(rest * pow(_WEIGHTS[LENGTH], -1, _SIZE) % _SIZE)
    return _written("".join(ALPHABET[value] for value in values))


def read_serial(text: str, where: str, language: str = "en") -> str | Problem:
    """A serial as somebody typed it, brought to the form in which it is printed; case and hyphens do not matter."""
    typed = text.strip().upper()
    plain = "".join(letter for letter in typed if letter not in _IGNORED)
    strange = [letter for letter in plain if letter not in ALPHABET]

    def problem(phrase: str, **values: object) -> Problem:
        from compliance.intake.wording import say  # only for what is wrong: every night that is handed in comes by here

        what = say(phrase, language, text=shown(text), **values)
        return Problem(what, where, say(f"{phrase} step", language, alphabet=ALPHABET))

    if strange:
        return problem("serial strange", letter=repr(strange[0]))
    if len(plain) != LENGTH + 1:
        return problem("serial length", n=len(plain), most=LENGTH)
    values = [ALPHABET.index(letter) for letter in plain]
    if sum(weight * value for weight, value in zip(_WEIGHTS, values, strict=True)) % _SIZE != _SUM:
        return problem("serial check")
    return _written(plain)


def serial_id(serial: str) -> str:
    """The id of the record that a card becomes; serial: as `read_serial` gives it back."""
    return record_id(id_text_of(serial))


def id_text_of(serial: str, *, after: str = "") -> str:
    """The id of a card as an entry carries it, before it is hashed. after: the cancelled record that it follows."""
    return f"card {serial} after {after}" if after else f"card {serial}"


def _written(plain: str) -> str:
    return f"{plain[:4]}-{plain[4:8]}-{plain[8]}"
