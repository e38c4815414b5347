"""Names as people type them, and as they are looked up and referred to."""

from __future__ import annotations

import re
import unicodedata
from functools import cache


@cache
def folded(name: str) -> str:
    """A name without case, accents and doubled spaces, for looking things up; what was typed is what is kept."""
    plain = unicodedata.normalize("NFKD", name)
    return " ".join("".join(c for c in plain if not unicodedata.combining(c)).casefold().split())


def slug(name: str) -> str:
    """A name as part of a reference: lower case, hyphens, ASCII where the letter allows it."""
    return re.sub(r"[^\w]+", "-", folded(name)).strip("-") or "unnamed"
