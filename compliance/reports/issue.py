"""What an issued page is called, what it replaces, which version of its matter it is, and which months are closed.

Pure: the book writes the record and keeps the bytes. Report numbers count per client, so that they tell a client
nothing about anybody else.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from compliance.records.names import slug
from compliance.records.state import State
from compliance.records.views import Issued

PROOF, MONTH, CLIENT = "proof", "month", "client"
OWNER: Final = "summary"
"""What the owner's own pages are counted under."""


@dataclass(frozen=True)
class Head:
    """The record code: how many records the book held when a page was made, and the root over them."""

    size: int
    root: str


@dataclass(frozen=True)
class Prepared:
    """The number of a page about to be issued, and the number of the page that it replaces ('' for none)."""

    number: str
    replaces: str


def prepare(page: str, about: str, counted_under: str, issued: Iterable[Issued]) -> Prepared:
    """Number a page. page: its kind; about: what it is of (a job, a span, a client and span).

    counted_under: the client's name, or `OWNER`; the number is its slug and a running number of its own.
    """
    stem = slug(counted_under)
    taken = [_count(one.number, stem) for one in issued]
    before = _before(issued, page, about)
    return Prepared(f"{stem}-{max(taken, default=0) + 1}", before[-1].number if before else "")


def _count(number: str, stem: str) -> int:
    head, _, tail = number.rpartition("-")
    return int(tail) if head == stem and tail.isdecimal() else 0


def about_span(first: str, last: str, client: str = "") -> str:
    """What a summary is of, as its record says it."""
    return f"{client} {first}..{last}".strip()


def span_in(about: str) -> tuple[str, str, str]:
    """(client, first, last) of what a summary's record says; the client is '' on the owner's."""
    client, _, days = about.rpartition(" ")
    first, _, last = days.partition("..")
    return client, first, last


def in_form(kind: str, language: str, paper: str) -> str:
    """The kind of a page in another language or on other paper: a page of its own, which replaces no other."""
    return " ".join([kind, *([] if language == "en" else [language]), *([] if paper == "letter" else [paper])])


def base_of(kind: str) -> str:
    """'proof', 'month' or 'client', whatever the language and the paper of the page."""
    return kind.split(" ")[0]


def versions(state: State, kind: str, about: str) -> Sequence[Issued]:
    """The pages of one kind and matter in the order of issue: the first is version 1.

    Version 1 of a month's summary is the one that the month was (first) closed with; while a month was never closed,
    it is the first one issued.
    """
    pages = _before(state.issued, kind, about)
    if base_of(kind) != MONTH:
        return pages
    month = span_in(about)[1][:7]
    closed = next((one.seq for one in state.closings if one.month == month), 0)
    return [one for one in pages if one.seq > closed]


def _before(issued: Iterable[Issued], kind: str, about: str) -> Sequence[Issued]:
    return [one for one in issued if one.page == kind and one.about == about]


def closes(state: State, day: str) -> bool:
    """Whether the month of an ISO day is closed, so that what was 'not recorded yet' there is 'not recorded'."""
    return state.closing_of(day[:7]) is not None


# ---- the record ----------------------------------------------------------------------------------------------


def payload(
    page: str,
    about: str,
    prepared: Prepared,
    *,
    date: str,
    files: Mapping[str, str],
    head: Head,
    figures: Mapping[str, str],
    who: str,
) -> Mapping[str, Any]:
    """The payload of an 'issue' record (`records.kinds`). files: media type -> SHA-256 of the bytes."""
    return {
        "page": page,
        "number": prepared.number,
        "about": about,
        "date": date,
        "files": dict(files),
        "made_from": {"size": head.size, "root": head.root},
        "figures": dict(figures),
        "replaces": prepared.replaces,
        "who": who,
    }


def replaced_by(page: Issued, issued: Iterable[Issued]) -> Issued | None:
    """The page that replaced this one, None while it is in force."""
    return next((one for one in issued if one.replaces == page.number), None)
