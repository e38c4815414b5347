"""The front of a card, from the top: what night it is, eight stops, and how the night ended.

Everything that is asked comes from `intake.card_lines`; where it stands is decided here. Heights are fixed where a
hand needs them; what a paper has left over goes to the writing lines of the stops.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from compliance.intake.card_lines import STOP, STOPS, Ask, night_ask, stop_ask
from compliance.reports import card_words as words
from compliance.reports import fonts
from compliance.reports.card_blank import Card, printed
from compliance.reports.card_pen import BOX, GRATE, SIDE, Pen, capital
from compliance.reports.picture import INK, Rect

_TITLE: Final = 36.0
_CODE: Final = 32.0
"""Side of the square code."""
_QUIET: Final = 6.4
"""White that a reader needs around the code: four modules of the 21 of a side."""
_NOTE: Final = 6.4
_SLOTS: Final = 20.5
_HEADINGS: Final = 34.0
_WRITTEN: Final = BOX + 2.0
_BOXES: Final = BOX + 3.0
_NIGHT_HEAD: Final = 9.0
_NIGHT_ROW: Final = BOX + 1.9
_NIGHT_ROWS: Final = 9
_NUMBER: Final = 13.0
_MARK: Final = 44.0
_SMALL: Final = 5.6


def draw(card: Card, width: float, height: float) -> Pen:
    """Everything on the front of a card of this size."""
    pen = Pen()
    shown, coded = printed(card)
    front = _Front(pen, shown, width - 2 * SIDE, height - 2 * SIDE - (_NOTE if coded else 0))
    y = front.headings(front.head(SIDE))
    for n in range(1, STOPS + 1):
        y = front.stop(y, n)
    front.night(y)
    if coded:
        front.note(height - SIDE)
    return pen


@dataclass(frozen=True)
class _Column:
    """A column of boxes, with the answer that it stands for; '' for strokes that are counted."""

    ask: Ask
    value: str
    es: str
    en: str


def _columns() -> Sequence[_Column]:
    made = []
    for ask in STOP:
        for value in ask.printed:
            made.append(_Column(ask, value, capital(ask.answer(value, "es")), ask.answer(value, "en")))
        if ask.key == "tank_filled":
            made.append(_Column(ask, "", words.es("filled"), words.en("filled")))
    return made


class _Front:
    """One front while it is drawn; wide, high: the size of what may be printed on."""

    def __init__(self, pen: Pen, card: Card, wide: float, high: float) -> None:
        self.pen, self.card, self.wide = pen, card, wide
        self.x = SIDE
        self.columns = _columns()
        self.step = (wide - _NUMBER - _MARK) / len(self.columns)
        fixed = _TITLE + 2 * _SLOTS + _HEADINGS + _NIGHT_HEAD + _NIGHT_ROWS * _NIGHT_ROW
        spare = high - fixed - STOPS * (_WRITTEN + _BOXES)
        self.written = _WRITTEN + spare / 2 / STOPS
        """Height of the writing line of a stop."""
        self.row = _NIGHT_ROW + spare / 2 / _NIGHT_ROWS
        """Height of a row of the night."""

    # ---- what night it is ------------------------------------------------------------------------------------

    def head(self, y: float) -> float:
        pen, card, x = self.pen, self.card, self.x
        right = x + self.wide
        self._code(right - _CODE, y, _CODE)
        room = self.wide - _CODE - _QUIET
        wide = pen.beside(x, y + 9, words.es("title"), words.en("title"), size=9.4)
        serial = pen.right(right - _CODE - _QUIET, y + 10, card.serial, 11.5)
        pen.text(x + wide + 8, y + 9, card.business, 6.4, room=room - wide - serial - 14)
        pen.text(x, y + 18.6, words.es("how"), 5.3, room=room, bold=True)
        pen.text(x, y + 25.2, words.en("how"), 5.0, room=room)
        pen.grate(x, y + 27.4)
        pen.beside(x + GRATE + 3, y + 33, words.es("gloss"), words.en("gloss"), room=room - GRATE - 3, size=5.3)
        y = self._slots(y + _TITLE, (("rig", card.rig, 0.34), ("date", card.date, 0.32), ("start", "", 0.17),
                                     ("end", "", 0.17)))  # fmt: skip
        return self._slots(y, (("lead", card.lead, 0.5), ("crew", "", 0.5)))

    def _slots(self, y: float, slots: Sequence[tuple[str, str, float]]) -> float:
        """Labelled lines side by side: key, what is given, share of the width."""
        at = self.x
        for key, given, share in slots:
            wide, ask = self.wide * share, night_ask(key)
            self.pen.beside(at, y + 5.4, ask.label("es"), ask.label("en").lower(), room=wide - 4, size=_SMALL)
            self.pen.line(f"night.{key}", at, y + _SLOTS - 1.5, wide - 5, _SLOTS - 7.8, given)
            at += wide
        return y + _SLOTS

    def _code(self, x: float, y: float, size: float) -> None:
        """The serial for a camera: dark modules; the margin of the card is the white that a reader needs around."""
        dark = self.card.modules
        step = size / len(dark)
        for row, cells in enumerate(dark):
            for column, on in enumerate(cells):
                if on:
                    self.pen.shapes.append(Rect(x + column * step, y + row * step, step + 0.02, step + 0.02, INK))

    # ---- stops -----------------------------------------------------------------------------------------------

    def headings(self, y: float) -> float:
        pen = self.pen
        pen.rule(self.x, y + 1, self.x + self.wide, y + 1, 1.2)
        for ask in STOP:
            mine = [i for i, column in enumerate(self.columns) if column.ask is ask]
            if len(mine) > 1:
                es, en = ask.label("es"), words.en("drains") if ask.key == "drains" else ask.label("en")
                middle = self._left(mine[0]) + len(mine) * self.step / 2
                self._group(middle, y + 7.6, f"{es} · {en.lower()}", len(mine) * self.step - 3, ask.key == "drains")
        for i, column in enumerate(self.columns):
            self._heading(self._left(i) + self.step / 2, y, column.es, column.en, self.step - 1.2)
        mark = stop_ask("mark")
        es, en = f"{capital(mark.label('es'))}, pulg", f"{mark.label('en')}, in"
        self._heading(self.x + self.wide - _MARK / 2 + 1, y, es, en, _MARK - 3)
        return y + _HEADINGS

    def _left(self, column: int) -> float:
        return self.x + _NUMBER + column * self.step

    def _heading(self, middle: float, y: float, es: str, en: str, room: float) -> None:
        lines = [*((text, True) for text in _two(es, room)), *((text, False) for text in _two(en, room))]
        for k, (text, bold) in enumerate(reversed(lines)):
            self.pen.centred(middle, y + _HEADINGS - 2.4 - k * 6.0, text, _SMALL, room=room, bold=bold)

    def _group(self, middle: float, y: float, text: str, room: float, drains: bool) -> None:
        """The heading over the boxes of one answer; storm drains have their picture beside it."""
        own = GRATE + 2 if drains else 0
        wide = self.pen.centred(middle + own / 2, y, text, _SMALL, room=room - own, bold=True)
        if drains:
            self.pen.grate(middle + own / 2 - wide / 2 - own, y - 5.2)

    def stop(self, y: float, n: int) -> float:
        pen, left = self.pen, self.x + _NUMBER
        pen.rule(self.x, y, self.x + self.wide, y, 0.9)
        pen.text(self.x + 1, y + self.written + 4, str(n), 11, bold=True)
        base = y + self.written
        self._site(n, left, base, (self.wide - _NUMBER) * 0.5)
        self._not_worked(n, left + (self.wide - _NUMBER) * 0.5, y + 1.2, base)
        for i, column in enumerate(self.columns):
            key = f"stop.{n}.{column.ask.key}" + (f"={column.value}" if column.value else "")
            wide = BOX if column.value else min(self.step - 3, 1.7 * BOX)
            pen.box(key, self._left(i) + (self.step - wide) / 2, base + 1.6, wide=wide)
            if i and column.ask is not self.columns[i - 1].ask:  # so that the eye finds down to the eighth stop
                pen.rule(self._left(i), base + 1, self._left(i), base + _BOXES - 0.6, 0.4, pale=True)
        at = self.x + self.wide - _MARK + 4
        pen.line(f"stop.{n}.mark", at, base + _BOXES - 2, _MARK - 5, _BOXES - 3)
        return base + _BOXES

    def _site(self, n: int, x: float, base: float, wide: float) -> None:
        ask = stop_ask("site")
        given = self.card.stops[n - 1] if n <= len(self.card.stops) else ""
        label = 0.0 if given else self.pen.beside(x, base - 2, ask.label("es"), ask.label("en").lower(), size=5.3) + 3
        self.pen.line(f"stop.{n}.site", x + label, base, wide - label - 6, self.written - 2, given)

    def _not_worked(self, n: int, x: float, y: float, base: float) -> None:
        ask = stop_ask("not_worked")
        self.pen.box(f"stop.{n}.not_worked", x, y)
        self.pen.pair(x + BOX + 3, y + 6.8, ask.label("es"), ask.label("en").lower(), room=57, size=_SMALL)
        at = x + BOX + 62
        self.pen.line(f"stop.{n}.not_worked", at, base, self.x + self.wide - at, self.written - 2)

    # ---- the end of the night --------------------------------------------------------------------------------

    def night(self, y: float) -> None:
        self.pen.rule(self.x, y, self.x + self.wide, y, 1.2)
        self.pen.beside(self.x, y + 8, words.es("end of the night"), words.en("end of the night"), size=6.6)
        y = self._readings(y)
        for row in (self._where, self._places, self._products, self._filters, self._rain, self._ticket):
            row(y)
            y += self.row

    def _readings(self, y: float) -> float:
        """Tank and meters, at the start and now. The unit of a meter is that of its register."""
        pen, x = self.pen, self.x
        name, figure, label = self.wide * 0.44, self.wide * 0.18, 84
        for at, key in ((x + name, "at start"), (x + name + figure, "now")):
            pen.beside(at, y + 8, words.es(key), words.en(key), size=5.8)
        y += _NIGHT_HEAD
        for which, start, now in (("tank", "tank_start", "tank_now"), ("supply_meter", "supply_start", "supply_end"),
                                  ("handover_meter", "handover_start", "handover_end")):  # fmt: skip
            ask = night_ask(which)
            self._label(x, y, ask, label)
            low = y + self.row - 1
            pen.line(f"night.{which}", x + label, low, name - label - 6, BOX, getattr(self.card, which))
            pen.line(f"night.{start}", x + name, low, figure - 8, BOX)
            pen.line(f"night.{now}", x + name + figure, low, figure - 8, BOX)
            self._ticks(x + name + 2 * figure, y, night_ask(now))
            y += self.row
        return y

    def _where(self, y: float) -> None:
        x = self._ticks(self._label(self.x, y, night_ask("where"), 67), y, night_ask("where"))
        self._line("used", self._label(x + 6, y, night_ask("used"), 50), y, self.x + self.wide - 13)
        self.pen.text(self.x + self.wide - 11, y + self.row - 2, self.card.unit, 5.4)

    def _places(self, y: float) -> None:
        half = self.x + self.wide * 0.49
        self.pen.pair(self.x, y + 8.2, words.es("handed over at"), words.en("handed over at"), room=52, size=_SMALL)
        self._line("where", self.x + 55, y, half - 6)
        self._line("emptied_at", self._label(half, y, night_ask("emptied_at"), 82), y, self.x + self.wide)

    def _products(self, y: float) -> None:
        left = self._ticks(self.x, y, night_ask("agent_use"))
        wide = (self.x + self.wide - left) / 2
        for i, n in enumerate(("1", "2")):
            x, end = left + i * wide, left + (i + 1) * wide
            self._line(f"agent_{n}", self._label(x, y, night_ask(f"agent_{n}"), 34), y, end - 57)
            self._line(f"jugs_{n}", self._label(end - 54, y, night_ask(f"jugs_{n}"), 31), y, end - (5 if i == 0 else 0))

    def _filters(self, y: float) -> None:
        for i, key in enumerate(("sock", "cartridges")):
            x = self.x + i * (self.wide / 2 + 2)
            self._ticks(self._label(x, y, night_ask(key), 38), y, night_ask(key), self.wide / 2 - 40)

    def _rain(self, y: float) -> None:
        self._ticks(self._label(self.x, y, night_ask("rain"), 30), y, night_ask("rain"))

    def _ticket(self, y: float) -> None:
        ticket, half = night_ask("ticket"), self.x + self.wide * 0.5
        self.pen.pair(self.x, y + 8.2, f"{ticket.label('es')} {words.es('number')}",
                      f"{ticket.label('en').lower()} {words.en('number')}", room=44, size=_SMALL)  # fmt: skip
        at = half - 8 - self.pen.tick_width(ticket, "later")
        self._line("ticket", self.x + 43, y, at - 5)
        self._ticks(at, y, ticket)
        self._line("remark", self._label(half, y, night_ask("remark"), 47), y, self.x + self.wide)

    def note(self, low: float) -> None:
        """What a code point stands for, above the lower edge of what may be printed on."""
        es, en = words.es("code points"), words.en("code points")
        self.pen.beside(self.x, low - 1.4, es, en, room=self.wide, size=5.6)

    # ---- pieces of a row -------------------------------------------------------------------------------------

    def _label(self, x: float, y: float, ask: Ask, room: float) -> float:
        """The label of an answer in both languages; where what follows may begin."""
        es, en = capital(ask.label("es")), ask.label("en").lower()
        if max(fonts.width(es, _SMALL, True), fonts.width(en, 5.0)) <= room - 3:
            self.pen.pair(x, y + 8.2, es, en, room=room - 3, size=_SMALL)
            return x + room
        lines = [*((text, True) for text in _two(es, room - 3)), *((text, False) for text in _two(en, room - 3, False))]
        leading = min(5.8, (self.row + 0.6) / len(lines))
        for k, (text, bold) in enumerate(lines):
            self.pen.text(
                x, y + leading * (k + 0.92), text, 5.3 if bold and len(lines) < 4 else 5.0, room=room - 3, bold=bold
            )
        return x + room

    def _line(self, key: str, x: float, y: float, end: float) -> None:
        self.pen.line(f"night.{key}", x, y + self.row - 1, end - x, BOX)

    def _ticks(self, x: float, y: float, ask: Ask, room: float = 0) -> float:
        """The boxes of an answer side by side, with their words; room: what they may take at most. Where they end."""
        wide = [self.pen.tick_width(ask, value) for value in ask.printed]
        shrink = min(1.0, room / sum(wide)) if room else 1.0
        for value, own in zip(ask.printed, wide, strict=True):
            self.pen.tick(f"night.{ask.key}={value}", x, y + 1.6, ask, value, room=own * shrink)
            x += own * shrink
        return x


def _two(text: str, room: float, bold: bool = True) -> list[str]:
    """Words in one line where the room is wide enough, or in two of about the same length."""
    if fonts.width(text, _SMALL if bold else 5.0, bold) <= room:
        return [text]
    parts = text.split(" ")
    cuts = [(" ".join(parts[:i]), " ".join(parts[i:])) for i in range(1, len(parts))]
    return list(min(cuts, key=lambda cut: max(len(one) for one in cut))) if cuts else [text]
