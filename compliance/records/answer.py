"""The four kinds of not having a value, which are never zero and never each other.

In a payload the first two are written as the words below; a field that nobody has answered is simply absent.
"""

from __future__ import annotations

from typing import Any, Final

NOT_READ: Final = "not read"
"""Somebody was asked and did not look."""
NOT_APPLICABLE: Final = "not applicable"
"""The question does not arise here."""
NOT_YET: Final = "not recorded yet"
"""Nobody has answered; never written down, it is what an absent field means."""
NOT_RECORDED: Final = "not recorded"
"""What 'not recorded yet' becomes once its month is closed."""

WRITTEN: Final = (NOT_READ, NOT_APPLICABLE)
"""The answers without a value that may stand in a payload, in any field."""

SPOKEN: Final = {
    "not read": NOT_READ,
    "did not read": NOT_READ,
    "did not look": NOT_READ,
    "no lo leí": NOT_READ,
    "no lo lei": NOT_READ,
    "no se leyó": NOT_READ,
    "no se leyo": NOT_READ,
    "no miré": NOT_READ,
    "no mire": NOT_READ,
    "no se miró": NOT_READ,
    "no se miro": NOT_READ,
    "not applicable": NOT_APPLICABLE,
    "n/a": NOT_APPLICABLE,
    "no aplica": NOT_APPLICABLE,
}
"""What people type for them, lower case."""


def without_value(value: Any) -> str | None:
    """Which kind of no-value `value` is, or None when it is a value (0 included)."""
    if value is None:
        return NOT_YET
    if isinstance(value, str) and value in WRITTEN:
        return value
    return None
