"""Did you mean: the nearest of some names, for an error that says what to write instead."""

from __future__ import annotations

from collections.abc import Iterable

from compliance.records.names import folded

MOST_COMPARED = 5_000
"""Names compared at most: a suggestion is a courtesy and may not become a wait."""


def nearest(name: str, names: Iterable[str]) -> str | None:
    """The name most like `name`, as it is spelled in `names`, or None when none is near."""
    from difflib import get_close_matches  # only when something is wrong

    spelled = {folded(known): known for known, _ in zip(names, range(MOST_COMPARED), strict=False)}
    close = get_close_matches(folded(name[:100]), spelled, n=1, cutoff=0.7)
    return spelled[close[0]] if close else None


def did_you_mean(name: str, names: Iterable[str], otherwise: str) -> str:
    """The next step for a name that is not known: the nearest one, or `otherwise`."""
    near = nearest(name, names)
    return f"did you mean {near!r}?" if near is not None else otherwise
