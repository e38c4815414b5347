"""What the paper card asks, once: the card is drawn from it, the keying workbook is written and read by it.

Labels and answers are those of the field table; what stands here besides is the few words that tell one reading
from another ('at start', 'now'), which no field can.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from compliance.intake.wording import LANGUAGES, say
from compliance.records import fields as table
from compliance.records.fields import Choice, Field, field
from compliance.records.quick import dataclass

STOPS: Final = 8
"""Stops of one card: as many boxes as a wet glove can hit on half a sheet."""

TEXT, TICKS, TALLY, FIGURE = "text", "ticks", "tally", "figure"
"""How an answer is given: in words, by one box of several, by a stroke each time, by a figure."""


@dataclass(frozen=True)
class Ask:
    """One thing that the card asks.

    key: its column in the workbook. group, name: the row of the field table that the answer goes to; part: the key of
    a measure within it. printed: the answers that have a box on the card, as stored. unit: what a bare figure means;
    'gal' stands for the unit of the book. words: label (en, es) where that of the field does not tell enough.
    paper: whether it stands on the card, and is not only for whoever keys it.
    """

    key: str
    group: str
    name: str
    way: str = TEXT
    printed: tuple[str, ...] = ()
    part: str = ""
    unit: str = ""
    words: tuple[str, str] = ("", "")
    paper: bool = True

    @property
    def row(self) -> Field:
        """Its row of the field table."""
        return field(self.group, self.name)

    @property
    def choices(self) -> tuple[Choice, ...]:
        """All answers that the table knows for it."""
        return table.WHERE if (self.group, self.name) == ("run", "where") else self.row.choices

    def label(self, language: str) -> str:
        """What it is called on the card, in 'en' or 'es' (as the crew says it)."""
        own = self.words[LANGUAGES.index(language)]
        return own or (self.row.en if language == "en" else self.row.said or self.row.es)

    def answer(self, value: str, language: str) -> str:
        """A printed answer in words."""
        for choice in self.choices:
            if choice.value == value:
                return value if language == "en" else choice.said or choice.es
        return say(value, language)


def _tank() -> tuple[str, str]:
    role = table.ROLE_OF_TANK[0]
    return f"{role.value} tank", role.es


def _meter(measures: str) -> tuple[str, str]:
    """The kind of instrument and what passes through it, as the register calls them."""
    kind = table.INSTRUMENT_KINDS[0]
    of = next(choice for choice in table.MEASURES_WHAT if choice.value == measures)
    return f"{kind.value}, {of.value}", f"{kind.es}, {of.es}"


_AT_START: Final = ("at start", "al salir")
_NOW: Final = ("now", "ahora")


def _of(words: tuple[str, str], when: tuple[str, str]) -> tuple[str, str]:
    return f"{words[0]}, {when[0]}", f"{words[1]}, {when[1]}"


def _values(choices: Sequence[Choice]) -> tuple[str, ...]:
    return tuple(choice.value for choice in choices)


STOP: Final[Sequence[Ask]] = (
    Ask("site", "stop", "site"),
    Ask("not_worked", "stop", "not_worked"),
    Ask("on_site", "stop", "on_site", TICKS, ("arrived",)),
    Ask("work", "stop", "work", TICKS, ("done",)),
    Ask("drains", "stop", "drains", TICKS, ("covered", "none there", "did not cover")),
    Ask("covers", "stop", "covers", TICKS, ("cover lifted",)),
    Ask("tank_filled", "stop", "tank_filled", TALLY),
    Ask("got_away", "stop", "got_away", TICKS, _values(table.SAW)),
    Ask("mark", "reading", "shows", FIGURE, unit="in", words=("tank mark", "marca del tanque")),
)
"""Of each stop. A mark becomes a reading of the recovery tank after the stop."""

NIGHT: Final[Sequence[Ask]] = (
    Ask("card", "run", "card"),
    Ask("date", "run", "date"),
    Ask("rig", "run", "rig"),
    Ask("lead", "run", "lead"),
    Ask("crew", "run", "crew"),
    Ask("start", "run", "start"),
    Ask("end", "run", "end"),
    Ask("tank", "reading", "of", words=_tank()),
    Ask("tank_start", "reading", "shows", FIGURE, unit="in", words=_of(_tank(), _AT_START)),
    Ask("tank_now", "reading", "shows", FIGURE, ("not read",), unit="in", words=_of(_tank(), _NOW)),
    Ask("supply_meter", "run", "used", part="meter", words=_meter("supply")),
    Ask("supply_start", "run", "used", FIGURE, part="start", words=_of(_meter("supply"), _AT_START)),
    Ask("supply_end", "run", "used", FIGURE, ("not read",), part="end", words=_of(_meter("supply"), _NOW)),
    Ask("handover_meter", "hand over", "amount", part="meter", words=_meter("handover")),
    Ask("handover_start", "hand over", "amount", FIGURE, part="start", words=_of(_meter("handover"), _AT_START)),
    Ask("handover_end", "hand over", "amount", FIGURE, ("not read",), part="end", words=_of(_meter("handover"), _NOW)),
    Ask("used", "run", "used", FIGURE, unit="gal", words=("water used, if no meter", "agua utilizada, sin medidor")),
    Ask("where", "run", "where", TICKS, ("aboard", "no water", "not known")),
    Ask("emptied_at", "hand over", "place", words=("full tank emptied at", "vacié el tanque lleno en")),
    Ask("ticket", "run", "ticket", TICKS, ("later",)),
    Ask("agent_use", "run", "agent_use", TICKS, ("none used",)),
    Ask("agent_1", "agent jugs", "agent"),
    Ask("jugs_1", "agent jugs", "jugs", FIGURE),
    Ask("size_1", "agent jugs", "size", FIGURE, unit="gal", paper=False),
    Ask("agent_2", "agent jugs", "agent"),
    Ask("jugs_2", "agent jugs", "jugs", FIGURE),
    Ask("size_2", "agent jugs", "size", FIGURE, unit="gal", paper=False),
    Ask("sock", "run", "sock", TICKS, _values(table.FILTERS_DONE)),
    Ask("cartridges", "run", "cartridges", TICKS, _values(table.FILTERS_DONE)),
    Ask("rain", "run", "rain", TICKS, _values(table.RAIN)),
    Ask("remark", "run", "remark"),
    Ask("keyed_by", "run", "keyed_by", paper=False),
)
"""Of the whole night."""

OPEN: Final = ("where", "ticket")
"""Of what has boxes, what may be written out as well."""

PRODUCTS: Final = ("1", "2")
"""How many products a card counts jugs of."""


def stop_ask(key: str) -> Ask:
    """What a stop is asked under a key. Raises KeyError for a key that it is not."""
    return {ask.key: ask for ask in STOP}[key]


def night_ask(key: str) -> Ask:
    """What the night is asked under a key. Raises KeyError for a key that it is not."""
    return {ask.key: ask for ask in NIGHT}[key]
