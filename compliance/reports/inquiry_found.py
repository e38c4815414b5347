"""What is asked of a place and a time, and what the records say of it: the types that search, letter and pack share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from compliance.records.fields import SEEN_ENTERING
from compliance.records.views import Fields, LineView, OldRow, RunView
from compliance.reports.inquiry_place import LIKE
from compliance.reports.inquiry_time import Times, Window

RADIUS: Final = Decimal(300)
"""Feet around coordinates that came without a radius. House practice, no source."""

NEAR, ALIKE, UNSURE, ELSEWHERE, OFF, SILENT = "near", "alike", "unsure", "elsewhere", "off", "no record"
"""What the records say of a rig in a window. NEAR: a stop that is near and was, or may have been, worked then. ALIKE:
none, but one at an address that is only alike. UNSURE: out, and nobody wrote down where, of some stop or of that time.
ELSEWHERE: out, all stops of that time at other places. OFF: said not to have gone out. SILENT: nothing is written down,
so these records cannot say.
"""

COORDINATES, SITE, DRAIN, NAME, WORDS = "coordinates", "site", "drain", "name", "words"


@dataclass(frozen=True)
class Asked:
    """What is looked for. position: as stored, '' for none; radius: feet. words: to be looked for in what was typed.

    site_known: whether the site is on the register; site_address, site_position: what stands there of it. weekday: as
    stored, '' where every day of the time is asked about.
    """

    windows: Sequence[Window]
    zone: str
    place: str = ""
    position: str = ""
    radius: Decimal = RADIUS
    site: str = ""
    drain: str = ""
    words: str = ""
    site_known: bool = False
    site_address: str = ""
    site_position: str = ""
    weekday: str = ""

    @property
    def placed(self) -> bool:
        """Whether a place is asked about, and not words alone."""
        return bool(self.place or self.position or self.site or self.drain)

    @property
    def positions(self) -> tuple[str, ...]:
        """The coordinates around which is looked: those that were asked about, and those of the site."""
        return tuple(one for one in (self.position, self.site_position) if one)

    @property
    def told(self) -> tuple[str, ...]:
        """What was told in words of the place; a site's name too where it is on no register, for it may be a slip."""
        return tuple(one for one in (self.place, "" if self.site_known else self.site) if one)


@dataclass(frozen=True)
class Spot:
    """One line of a run that is near, or may be.

    how: by what it is known, (one of the words above, what it was compared with). feet: the distance where coordinates
    tell it. when: `YES`, `MAY` or `NO` for the windows taken together. worked: False for a stop that was not worked.
    drains: those of the stop; escapes: lines at which water got away while it lasted.
    """

    run: RunView
    line: LineView
    rig: str
    name: str
    address: str
    how: tuple[tuple[str, str], ...]
    feet: Decimal | None
    times: Times
    when: str
    worked: bool
    drains: tuple[Fields, ...] = ()
    escapes: tuple[LineView, ...] = ()

    @property
    def near(self) -> bool:
        """Whether it is near by its place; a word in a remark alone says nothing of where it was."""
        return any(known != WORDS for known, _ in self.how)

    @property
    def matched(self) -> bool:
        """Whether it is near by more than an address that is only alike."""
        return any(known not in (WORDS, LIKE) for known, _ in self.how)

    @property
    def heard(self) -> bool:
        """Whether something is written down that an answer begins with: water that got away, or entered a drain."""
        return bool(self.escapes) or any(one.get("seen") == SEEN_ENTERING for one in self.drains)


@dataclass(frozen=True)
class Says:
    """What the records say of one rig in one window. runs: off and cancelled ones too; why: of `OFF`."""

    rig: str
    window: Window
    verdict: str
    runs: tuple[RunView, ...] = ()
    spots: tuple[Spot, ...] = ()
    why: str = ""


@dataclass(frozen=True)
class Found:
    """All that was found. near: spots in a window, those with incidents and drains first.

    other: near at other times or not worked, or with no more than a word that was looked for. old: rows of spreadsheets
    from before the book, and how each is known. entered: when the last record of the book was received; size, root: of
    the book that was looked at. before_book: part of the time is from before the book was begun; not_over: part of it
    is still to come. nowhere: there are stops of that time, and none of them could be compared with the place.
    """

    asked: Asked
    says: tuple[Says, ...]
    near: tuple[Spot, ...]
    other: tuple[Spot, ...]
    old: tuple[tuple[OldRow, str], ...]
    entered: str
    size: int
    root: str
    before_book: bool
    not_over: bool
    nowhere: bool

    def rigs(self, verdict: str) -> dict[str, list[Says]]:
        """Rig -> what is said of it with this verdict, in order."""
        found: dict[str, list[Says]] = {}
        for one in self.says:
            if one.verdict == verdict:
                found.setdefault(one.rig, []).append(one)
        return found
