"""Text as people type it: kept, in one Unicode form, without what no page can print.

Refused rather than removed: control characters and marks that turn the direction of writing (they can make a page
read otherwise than it was written), text beyond `LONGEST`, names beyond `LONGEST_NAME` or of more than one line.
"""

from __future__ import annotations

import re
import unicodedata
from typing import Any, Final

from compliance.records.problem import Problem

LONGEST: Final = 20_000
"""Characters of one text; every page is tried with a remark of this length."""
LONGEST_NAME: Final = 200
"""Characters of a name, a number or another text of one line."""

_UNPRINTABLE = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]")


def words(raw: Any) -> str | None:
    """`raw` as the text that was typed: a text, or a whole number or date that a file reader made of one."""
    if isinstance(raw, str):
        return raw
    if isinstance(raw, int) and not isinstance(raw, bool):
        return str(raw) if raw.bit_length() <= 64 else None  # hexadecimal in a file may be of any length
    return raw.isoformat() if hasattr(raw, "isoformat") else None


def check_text(raw: Any, where: str, *, name: bool = False) -> str | Problem:
    """A text as stored: NFC, line ends as one newline; a `name` without spaces around it. '' when it is blank."""
    text = words(raw)
    if text is None:
        return Problem(f"{shown(raw)} is not a text", where, "put it in quotes")
    text = unicodedata.normalize("NFC", text.replace("\r\n", "\n"))
    found = _UNPRINTABLE.search(text)
    if found is not None:
        code = f"U+{ord(found[0]):04X}"
        return Problem(
            f"there is a character that cannot be printed ({code}) after {found.start()} others", where, "take it out"
        )
    longest = LONGEST_NAME if name else LONGEST
    if len(text) > longest:
        return Problem(
            f"this is {len(text):,} characters long, {longest:,} are kept",
            where,
            "shorten it, or attach the rest as a file",
        )
    if not name:
        return text if text.strip() else ""
    text = text.strip()
    if "\n" in text or "\t" in text:
        return Problem(f"{shown(text)} is more than one line", where, "write it on one line, without tabs")
    return text


def shown(raw: Any) -> str:
    """What came in, in quotes and cut short, for an error message."""
    text = words(raw)
    if text is None:
        if isinstance(raw, bool):
            return f"{str(raw).lower()} without quotes"
        return {int: "a number of more than 19 digits", list: "a list"}.get(type(raw), "a table of keys")
    return repr(text if len(text) <= 60 else text[:57] + "...")
