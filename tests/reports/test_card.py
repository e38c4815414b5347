"""The card: everything that is asked has its place, big enough for a wet glove, and nothing lies on anything else."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from itertools import combinations, pairwise

import pytest
from pypdf import PdfReader

from compliance.intake.card_lines import NIGHT, STOP, STOPS, TALLY, TICKS, Ask
from compliance.intake.cautions import TABLE
from compliance.records.fields import WHERE, field
from compliance.reports import card_back, card_front, fonts
from compliance.reports.card import SHEETS, CardPaper, cut_texts, render
from compliance.reports.card_blank import Card, printed
from compliance.reports.card_pen import MM, SIDE, SMALLEST, Pen, Place
from compliance.reports.card_words import WORDS
from compliance.reports.picture import INK, Label, Rect

from .reading import bare
from .test_words import TOO_MUCH

SERIAL = "TVX7-67W2-6"
ROUTE = (
    "Alder Oven, Canal Street", "Quillon Fish Counter", "Copperleaf Row north", "Copperleaf Row south",
    "Tern Street Laundry", "Old Depot Market", "Harbor deck", "Lantern Street Diner",
)  # fmt: skip
BLANK = Card(SERIAL)
TONIGHT = Card(
    SERIAL, "Bluebank Wash Recovery", "Big Blue", "3 sep 2026 · Sep 3, 2026", "Tomás Ibarra", ROUTE,
    "Big Blue recovery", "Big Blue supply meter", "Big Blue transfer meter",
)  # fmt: skip
LONG = Card(
    SERIAL,
    "Bluebank Wash Recovery and Tank Service of Tamarack County",
    "the long trailer with the two green tanks and the spare reel",
    "30 sep 2026 · Sep 30, 2026",
    "María de los Ángeles Iturriaga-Whitcombe y Quiñones",
    tuple(f"{n} Northeast Copperleaf Row Owners' Association, loading dock {n}" for n in range(1, 9)),
    "forward recovery tank of the long trailer",
    "supply meter on the left-hand side of the reel",
    "transfer meter behind the pump",
    "L",
)
LONGEST = Card(
    SERIAL,
    LONG.business,
    LONG.rig,
    LONG.date,
    LONG.lead,
    tuple(f"{name}, north and south side, with the stairs to the quay and the walk behind it" for name in LONG.stops),
    LONG.tank,
)
STRANGE = Card(
    SERIAL, "Bluebank 回収", "Big Blue\n2", "3 sep 2026", "Tomás 🚿", ("日本 🚿", "Café Ñandú", *ROUTE[2:]),
    "Big\u202eBlue",
)  # fmt: skip
CARDS = {"blank": BLANK, "tonight": TONIGHT, "long": LONG, "longest": LONGEST, "strange": STRANGE}
PAPERS: tuple[CardPaper, ...] = ("letter", "A4")

Area = tuple[float, float, float, float]


def half(paper: CardPaper) -> tuple[float, float]:
    """Width and height of one card, in points."""
    return SHEETS[paper][0] / 2, SHEETS[paper][1]


@pytest.fixture(params=[(name, paper) for name in CARDS for paper in PAPERS], ids="-".join)
def front(request: pytest.FixtureRequest) -> tuple[Pen, Card, CardPaper]:
    """The front of each card on each paper."""
    name, paper = request.param
    return card_front.draw(CARDS[name], *half(paper)), CARDS[name], paper


def of_boxes(ask: Ask) -> Iterator[str]:
    """The keys of the boxes of an answer, after its own key."""
    if ask.way == TALLY or ask.key == "not_worked":
        yield ""
    yield from (f"={value}" for value in ask.printed)


def has_line(ask: Ask) -> bool:
    """Whether an answer is written, alone or besides its boxes."""
    return ask.way not in (TICKS, TALLY) or ask.key in ("where", "ticket")


def inked(label: Label) -> Area:
    """Where a label puts ink: from its capitals down to its descenders."""
    wide = fonts.width(label.text, label.size, label.bold)
    left = {"start": label.x, "middle": label.x - wide / 2, "end": label.x - wide}[label.anchor]
    return left, label.y - 0.73 * label.size, left + wide, label.y + 0.2 * label.size


def area(place: Place) -> Area:
    return place.x, place.y, place.x + place.w, place.y + place.h


def apart(one: Area, other: Area) -> float:
    """The gap between two areas; negative when they overlap."""
    return max(one[0] - other[2], other[0] - one[2], one[1] - other[3], other[1] - one[3])


def test_every_answer_has_one_box_and_every_figure_a_line(front: tuple[Pen, Card, CardPaper]) -> None:
    """Of the night once, of each of eight stops once; the serial alone is printed and not written."""
    pen = front[0]
    stops = [(f"stop.{n}.", ask) for n in range(1, STOPS + 1) for ask in STOP]
    night = [("night.", ask) for ask in NIGHT if ask.paper and ask.key != "card"]
    boxes = [f"{where}{ask.key}{end}" for where, ask in (*stops, *night) for end in of_boxes(ask)]
    lines = [f"{where}{ask.key}" for where, ask in (*stops, *night) if has_line(ask)]
    assert sorted(box.key for box in pen.boxes) == sorted(boxes)
    assert sorted(line.key for line in pen.lines) == sorted(lines)
    assert len(boxes) == 8 * 11 + 18


@pytest.mark.parametrize("ask", [*STOP, *NIGHT], ids=lambda ask: ask.key)
def test_every_tick_is_an_answer_of_the_field_table(ask: Ask) -> None:
    """The field is there, the answer is one of its own or an answer without a value, in both languages."""
    row = field(ask.group, ask.name)
    known = {choice.value for choice in (WHERE if (ask.group, ask.name) == ("run", "where") else row.choices)}
    assert set(ask.printed) <= known | {"not read", "later"}
    for value in ask.printed:
        assert ask.answer(value, "en") in (value, "did not read")
        assert ask.answer(value, "es") != value
    assert ask.label("en")
    assert ask.label("es") != ask.label("en")


def test_a_box_takes_a_tick_made_with_a_wet_glove(front: tuple[Pen, Card, CardPaper]) -> None:
    """At least 5 mm each way, and at least half a millimetre of white between one box and the next."""
    pen = front[0]
    assert min(min(box.w, box.h) for box in pen.boxes) >= 5 * MM
    for one, other in combinations(pen.boxes, 2):
        assert apart(area(one), area(other)) >= 0.5 * MM, (one.key, other.key)


WRITTEN = {"site": 14, "not_worked": 9, "mark": 4, "rig": 10, "date": 10, "start": 5, "end": 5, "lead": 14, "crew": 14,
           "tank": 6, "tank_start": 6, "tank_now": 6, "supply_meter": 6, "supply_start": 6, "supply_end": 6,
           "handover_meter": 6, "handover_start": 6, "handover_end": 6, "used": 4, "where": 14, "emptied_at": 12,
           "ticket": 7, "agent_1": 6, "agent_2": 6, "jugs_1": 2, "jugs_2": 2, "remark": 14}  # fmt: skip
"""Letters and figures that a hand has to bring in: a six-digit meter, '30.5', '20:20', a place by its usual name."""


def test_a_line_takes_what_a_hand_writes_on_it(front: tuple[Pen, Card, CardPaper]) -> None:
    """3 mm for each character and 4.3 mm of height, as people write with a pencil on a clipboard."""
    for line in front[0].lines:
        key = line.key.rpartition(".")[2]
        assert line.w >= WRITTEN[key] * 3 * MM, (line.key, line.w / MM)
        assert line.h >= 4.3 * MM, (line.key, line.h / MM)


def test_nothing_is_printed_outside_the_card(front: tuple[Pen, Card, CardPaper]) -> None:
    """Within the white that no printer reaches, on all sides."""
    pen, _, paper = front
    wide, high = half(paper)
    inside = [area(place) for place in (*pen.boxes, *pen.lines)]
    inside += [inked(shape) for shape in pen.shapes if isinstance(shape, Label)]
    for left, top, right, bottom in inside:
        assert left >= SIDE - 0.1
        assert top >= SIDE - 0.1
        assert right <= wide - SIDE + 0.1
        assert bottom <= high - SIDE + 0.1


def test_no_word_lies_on_a_box_or_on_another_word(front: tuple[Pen, Card, CardPaper]) -> None:
    """Whatever the names are; what is printed on a line is the only word that stands on one."""
    pen = front[0]
    labels = [shape for shape in pen.shapes if isinstance(shape, Label)]
    for label in labels:
        assert label.size >= SMALLEST, label.text
        for box in pen.boxes:
            assert apart(inked(label), area(box)) > 0, (label.text, box.key)
    for one, other in combinations(labels, 2):
        assert apart(inked(one), inked(other)) > -0.35, (one.text, other.text)
    for line in pen.lines:
        if not any(label.bold and apart(inked(label), area(line)) < 0 for label in labels):
            continue
        on_it = [label for label in labels if apart(inked(label), area(line)) < -1.2]
        assert len({label.size for label in on_it}) <= 1, (line.key, on_it)
        assert len(on_it) <= 2, (line.key, on_it)


def test_what_is_too_long_ends_visibly_and_is_told() -> None:
    """Long names are printed whole, in two lines where one is too small; of the longest ones the printer hears."""
    for paper in PAPERS:
        for card in (TONIGHT, BLANK):
            assert cut_texts(card, paper) == []
        assert set(cut_texts(LONG, paper)) <= {LONG.business, LONG.supply_meter}
        assert set(LONGEST.stops) <= set(cut_texts(LONGEST, paper))
    printed = [shape.text for shape in card_front.draw(LONGEST, *half("letter")).shapes if isinstance(shape, Label)]
    assert sum(text.endswith("…") for text in printed) == len(cut_texts(LONGEST))


@pytest.mark.parametrize("paper", PAPERS)
def test_the_back_holds_every_caution_whole_in_both_languages(paper: CardPaper) -> None:
    """In a size that is read without glasses, on the card and not beyond it."""
    pen = card_back.draw(*half(paper))
    labels = [shape for shape in pen.shapes if isinstance(shape, Label)]
    text = bare("".join(label.text for label in labels))
    for caution in TABLE:
        assert bare(caution.es) in text
        assert bare(caution.en) in text
    assert min(label.size for label in labels if label.bold) >= 6
    assert max(inked(label)[3] for label in labels) <= half(paper)[1] - SIDE
    assert max(inked(label)[2] for label in labels) <= half(paper)[0] - SIDE + 0.1
    for one, other in combinations(labels, 2):
        assert apart(inked(one), inked(other)) > -0.35


def test_cautions_that_need_more_room_are_set_smaller_and_none_is_left_out() -> None:
    """On a card a quarter lower, every word is still there and still on the card."""
    wide, high = half("letter")
    labels = [shape for shape in card_back.draw(wide, high * 0.75).shapes if isinstance(shape, Label)]
    usual = [shape for shape in card_back.draw(wide, high).shapes if isinstance(shape, Label)]
    assert bare("".join(label.text for label in labels)) == bare("".join(label.text for label in usual))
    assert max(label.size for label in labels if label.bold and label.size < 12) < 9
    assert max(inked(label)[3] for label in labels) <= high * 0.75 - SIDE


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("count", [1, 2, 3])
def test_two_cards_are_on_a_sheet_and_their_backs_behind_them(paper: CardPaper, count: int) -> None:
    """Fronts on the odd sheets, cautions on the even ones; the paper is the one asked for."""
    cards = [Card(serial) for serial in ("TVX7-67W2-6", "6RJ5-YF55-P", "3JJC-YM3F-H")[:count]]
    pages = PdfReader(BytesIO(render(cards, paper))).pages
    assert len(pages) == {1: 2, 2: 2, 3: 4}[count]
    for i, page in enumerate(pages):
        assert [round(float(side), 2) for side in page.mediabox[2:]] == [round(side, 2) for side in SHEETS[paper]]
        text = page.extract_text()
        expected = [card.serial for card in cards[i : i + 2]] if i % 2 == 0 else []
        assert [card.serial for card in cards if card.serial in text] == expected
        assert ("NUNCA" in text) == (i % 2 == 1)


def test_the_same_cards_are_the_same_bytes() -> None:
    """No clock in the file."""
    assert render([TONIGHT, BLANK]) == render([TONIGHT, BLANK])


def test_what_the_printer_fills_in_stands_on_its_line() -> None:
    """Rig, date, lead, stops, tank and meters, each once; a card of one's own unit prints that unit."""
    for card in (TONIGHT, LONG):
        labels = [shape.text for shape in card_front.draw(card, *half("A4")).shapes if isinstance(shape, Label)]
        cut = cut_texts(card, "A4")
        given = (card.business, card.rig, card.date, card.lead, *card.stops, card.tank, card.supply_meter,
                 card.handover_meter)  # fmt: skip
        together = [*labels, *(f"{one} {two}" for one, two in pairwise(labels))]
        assert [text for text in given if text not in cut and together.count(text) != 1] == []
        assert card.unit in labels
        assert card.serial in labels


def test_the_code_is_the_serial_as_a_square_of_modules() -> None:
    """21 modules a side with the three corners that a reader looks for; another serial is another code."""
    modules = BLANK.modules
    assert len(modules) == 21
    assert all(len(row) == 21 for row in modules)
    rings = [[max(abs(i - 3), abs(k - 3)) for k in range(7)] for i in range(7)]
    finder = [[ring != 2 for ring in row] for row in rings]
    for down, across in ((0, 0), (0, 14), (14, 0)):
        assert [list(row[across : across + 7]) for row in modules[down : down + 7]] == finder
    assert Card("6RJ5-YF55-P").modules != modules


def test_the_code_has_the_white_around_it_that_a_camera_needs(front: tuple[Pen, Card, CardPaper]) -> None:
    """Four modules on each side, beside words as beside lines."""
    pen, _, paper = front
    modules = [shape for shape in pen.shapes if isinstance(shape, Rect) and shape.fill == INK and shape.w < 3]
    left, top = min(one.x for one in modules), min(one.y for one in modules)
    right, bottom = max(one.x + one.w for one in modules), max(one.y + one.h for one in modules)
    white = 4 * (right - left) / 21
    code = (left, top, right, bottom)
    for shape in pen.shapes:
        if isinstance(shape, Label):
            assert apart(inked(shape), code) >= white - 0.1, shape.text
    for place in (*pen.boxes, *pen.lines):
        assert apart(area(place), code) >= white - 0.1, place.key
    assert half(paper)[0] - right >= white
    assert top >= white


def test_what_the_typeface_lacks_is_a_code_point_with_a_note() -> None:
    """Never an empty box; accents are printed as they are, and a card without such characters has no note."""
    for paper in PAPERS:
        labels = [shape.text for shape in card_front.draw(STRANGE, *half(paper)).shapes if isinstance(shape, Label)]
        assert "[U+65E5][U+672C] [U+1F6BF]" in labels
        assert "Café Ñandú" in labels
        assert "Big Blue 2" in labels
        assert set(WORDS["code points"]) <= set(labels)
        plain = [shape.text for shape in card_front.draw(LONG, *half(paper)).shapes if isinstance(shape, Label)]
        assert not set(WORDS["code points"]) & set(plain)
    assert printed(STRANGE)[1] == ["Bluebank 回収", "Tomás 🚿", "Big\u202eBlue", "日本 🚿"]
    assert "[U+65E5]" in PdfReader(BytesIO(render([STRANGE]))).pages[0].extract_text()


def test_a_storm_drain_has_its_picture_and_its_gloss_on_the_card() -> None:
    """A street inlet and the sanitary pipe share words in many places, so the noun never stands alone."""
    text = " ".join(shape.text for shape in card_front.draw(BLANK, *half("letter")).shapes if isinstance(shape, Label))
    assert "Desagües pluviales" in text
    assert "el de la lluvia (coladera, tragante)" in text
    assert "alcantarilla" not in text


@pytest.mark.parametrize("key", WORDS)
def test_the_cards_own_words_claim_nothing_and_are_in_both_languages(key: str) -> None:
    """Two different texts, and no word that records cannot bear."""
    es, en = WORDS[key]
    assert es
    assert en
    assert es != en
    assert TOO_MUCH["es"].findall(es) == []
    assert TOO_MUCH["en"].findall(en) == []
