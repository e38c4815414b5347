"""The answer as text: what the records show, what they do not, and how far they reach."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.records import kinds
from compliance.reports.inquiry_letter import Demanded, answer_lines, letter_page, letter_text
from compliance.reports.model import Paragraph
from compliance.reports.words import Words
from tests.intake.making import Pages
from tests.reports.test_inquiry_search import ASKED, STOP, book, found, run, state

TOLD = {**ASKED, "asked_by": "Lena Ostrow", "case": "TC-9", "asked": "2026-09-24T16:10", "how": "by telephone",
        "alleged": "foam in the gutter"}  # fmt: skip


def text(made: Pages, said: Any = None, demanded: Demanded | None = None, language: Any = "en", **asked: Any) -> str:
    answer = found(made, said, **asked)
    inquiry = state(made).inquiries[-1]
    return letter_text(state(made), inquiry, answer, today="2026-09-25", language=language, demanded=demanded)


def fleet(*runs: dict[str, Any]) -> Pages:
    return book(*runs, rig=[{"name": "Big Blue"}, {"name": "Little Heron"}, {"name": "Slate Gull"}])


@pytest.mark.parametrize(
    ("site", "place"),
    [
        ("Alder Oven", "Alder Oven (on our register: 212 Canal Street, Port Alder; 300 ft around 40.5000, -105.1000)"),
        ("Fish Counter", "Fish Counter (on our register: 15 Slip Street; 300 ft around 40.5300, -105.1000)"),
        ("The Yard", "The Yard (of it our register holds neither an address nor coordinates)"),
        ("The Oven", "The Oven (a name that is on no register of ours)"),
    ],
)
def test_a_letter_about_a_site_says_by_what_it_was_looked_for(site: str, place: str) -> None:
    """A name alone can be spelled in two ways."""
    span = {"first": ASKED["first"], "until": ASKED["until"]}
    letter = text(fleet(run(STOP)), **span, site=site)
    assert f"Place: {place}\n" in letter
    assert f"near this place as told ({site}) between" in letter
    assert ("Distances are along the ellipsoid" in letter) == ("300 ft" in place)


def test_a_letter_of_nothing_near_says_what_the_records_show_and_of_which_rigs_they_cannot_say() -> None:
    """It never says that nobody was there."""
    made = fleet(run({**STOP, "site": "Fish Counter"}), run({**STOP, "site": "Fish Counter"}, rig="Little Heron"))
    letter = text(made, **TOLD)
    assert "To: Lena Ostrow\nYour case: TC-9\nOur reference: inquiry-1" in letter
    assert "You asked on Sep 24, 2026, 4:10 pm, by telephone." in letter
    assert (
        "show no work by our rigs near this place as told (214 Canal St) between Sep 3, 2026, 6:00 pm and "
        "Sep 4, 2026, 6:00 am." in letter
    )
    assert "Rigs Big Blue, Little Heron: elsewhere; see 2026-09-03-big-blue, 2026-09-03-little-heron." in letter
    assert "Rig Slate Gull: no record that night, so these records cannot say." in letter
    assert "Positions: typed addresses." in letter
    assert "Subcontractors are not covered" in letter
    assert "not there" not in letter


def test_a_letter_with_a_rig_near_and_one_without_a_record_says_both() -> None:
    """With what got away, the drains and their protection, and no client's name."""
    drains = [{"name": "curb inlet", "method": "cover mat", "seen": "seen entering"}, {"name": "dock drain"}]
    escape = {"line": "escape", "what": "hose came off", "reached": "storm drain", "amount": "~5 gal", "at": "22:00"}
    letter = text(
        fleet(run({**STOP, "drain_list": drains, "client": "Alder Foods"}, escape, drains="as planned")), **TOLD
    )
    assert (
        "Big Blue, run 2026-09-03-big-blue, line 1: 212 Canal Street, Port Alder (the same street, as typed)" in letter
    )
    assert "Storm drains, by the crew: as planned" in letter
    assert "Water that got away, by the crew: not recorded yet" in letter
    assert "Water got away: hose came off. Amount: ~5 gal. It reached: storm drain." in letter
    assert "Storm drain: curb inlet. Protection: cover mat. Water was seen to enter it: seen entering." in letter
    assert "Storm drain: dock drain. Protection: not recorded yet. Water entering: not recorded yet." in letter
    assert "Rigs Little Heron, Slate Gull: no record that night" in letter
    assert "Alder Foods" not in letter


def test_what_was_told_of_the_place_is_said_back() -> None:
    """A drain, a site, coordinates with their distance; only words where no place is known."""
    span = {"first": ASKED["first"], "until": ASKED["until"]}
    asked = {**span, "position": "40.5, -105.1", "radius": "300 ft", "drain": "inlet", "site": "Alder Oven"}
    letter = text(fleet(run(STOP)), **asked)
    assert "Place: 300 ft around 40.5, -105.1; drain: inlet; Alder Oven" in letter
    assert "near this place as told (300 ft around 40.5, -105.1; drain: inlet; Alder Oven) between" in letter
    alone = text(fleet(run(STOP)), **span, position="40.5, -105.1", radius="300 ft")
    assert "show the following work by our rigs within 300 ft of 40.5, -105.1 between" in alone
    assert "Distances are along the ellipsoid" in letter
    assert "(0.0 ft away by coordinates; the site that was asked about)" in letter
    assert "When and how you asked, we did not write down." in letter
    assert "(who asked is not recorded)" in letter
    assert "Place: the words: foam" in text(fleet(), **span, words="foam")


@pytest.mark.parametrize(
    ("times", "said"),
    [
        ({"arrived": "21:20"}, "When: from Sep 3, 2026, 9:20 pm"),
        (
            {},
            "When: between Sep 3, 2026, 8:00 pm and Sep 4, 2026, 8:00 pm; no time was written down; whether it was in",
        ),
    ],
)
def test_a_time_that_was_not_written_down_is_told_as_such(times: dict[str, str], said: str) -> None:
    """Between what is known, and that this settles nothing."""
    assert said in text(fleet(run({"line": "stop", "site": "Alder Oven", **times})), **TOLD)


def test_what_was_near_at_another_time_or_not_worked_is_told_beside() -> None:
    """And a word that was looked for, and rows of old spreadsheets."""
    from tests.reports.test_inquiry_search import old_row

    made = fleet(run({**STOP, "not_worked": "gate locked"}, {**STOP, "site": "Fish Counter"}))
    made.take(kinds.RUN, run(STOP, rig="Little Heron", date="2026-09-02"))
    made.records.append(old_row(len(made.records) + 1, 7, "Alder Oven", "", "2026-09-03"))
    record = state(made).runs[1].record
    letter = text(made, {record: [("2", "foam")]}, **{**TOLD, "words": "foam"})
    assert "that was not worked: 2026-09-03-big-blue / 1." in letter
    assert "at another hour, or within the two days before: 2026-09-02-little-heron / 1." in letter
    assert "(foam) stand in: 2026-09-03-big-blue / 2. They do not say where." in letter
    assert "hold 1 rows for that place (2026-09-03)" in letter
    assert (
        "All or part of that time is from before these records were begun; of that they hold no more than what was "
        "entered since." in letter
    )  # the night of the bakery is of September, and the book of October


def test_a_rig_that_was_off_and_a_cancelled_record_are_told() -> None:
    """With the reasons that were given."""
    made = fleet(run(where="no water", cancelled="rain"), run(STOP, rig="Little Heron"))
    made.take(kinds.CANCEL, {"record": "2026-09-03-little-heron", "why": "entered twice"})
    letter = text(made, **TOLD)
    assert "Rig Big Blue: said not to have gone out, because: rain; see 2026-09-03-big-blue." in letter
    assert "was cancelled: 2026-09-03-little-heron (entered twice)." in letter


def test_many_days_are_told_rig_by_rig() -> None:
    """Ten by name, the rest by their number; the time that is still to come is said."""
    from datetime import UTC, datetime

    made = fleet(run(STOP))
    answer = found(
        made, now=datetime(2026, 9, 10, tzinfo=UTC), **{**ASKED, "first": "2026-09-01", "until": "2026-09-20"}
    )  # fmt: skip
    lines = list(answer_lines(answer, Words("en")))
    assert "They were looked through day by day, 20 days of that time." in lines
    assert "Big Blue, Sep 3: near, as above." in lines
    assert any(line.startswith("Slate Gull, Sep 1,") and "and 10 more days: no record" in line for line in lines)
    assert "All or part of that time had not passed yet when this was written." in lines
    weekly = text(made, **{**TOLD, "first": "2026-09-01", "until": "2026-09-30", "weekday": "Thursday"})
    assert "Thursday only" in weekly


def test_a_sentence_that_an_authority_demands_stands_with_who_signs_it() -> None:
    """Else a plain statement does."""
    made = fleet(run(STOP))
    asked_for = Demanded("Port Alder Sewer Authority", "Under penalty of law I say so.", "Ruth Okafor", "Owner")
    letter = text(made, demanded=asked_for, **TOLD)
    assert "Port Alder Sewer Authority asks for the following words:\nUnder penalty of law I say so." in letter
    assert letter.count("Ruth Okafor, Owner") == 1
    assert "where they say nothing, we do not know" not in letter
    assert "where they say nothing, we do not know" in text(made, **TOLD)


def test_a_letter_can_be_had_in_spanish() -> None:
    """The same sentences."""
    letter = text(fleet(run(STOP)), language="es", **TOLD)
    assert "Camiones Little Heron, Slate Gull: sin registro esa noche" in letter
    assert "Camión Big Blue: cerca" in letter


def test_a_page_is_made_of_the_letter_as_it_was_left() -> None:
    """A paragraph for each; whatever line ends the editor wrote."""
    page = letter_page(
        "Dear Ms Ostrow,\r\n\r\n\r\nwe <b>looked</b>.\r\n  Twice.\r\n", issuer="Bluebank", number="inquiry-1"
    )
    assert page.blocks == (Paragraph("Dear Ms Ostrow,"), Paragraph("we <b>looked</b>.\n  Twice."))
    assert (page.title, page.issuer, page.number) == ("Answer to an inquiry", "Bluebank", "inquiry-1")


@pytest.mark.parametrize(("language", "opening", "rig"), [
    ("en", "at addresses that are written much like this place as told (212 Canal Ave). Whether one of them is meant,",
     "Rig Big Blue: at an address that is written much like it, as above; whether that was near, these records"),
    ("es", "en direcciones escritas de modo muy parecido a este lugar, como se dijo (212 Canal Ave).",
     "Camión Big Blue: en una dirección escrita de modo muy parecido, como se dice arriba; si fue cerca,"),
])  # fmt: skip
def test_an_address_that_is_only_alike_is_not_told_as_near(language: Any, opening: str, rig: str) -> None:
    """Nor as elsewhere."""
    letter = text(fleet(run(STOP)), language=language, **{**ASKED, "address": "212 Canal Ave"})
    assert opening in letter
    assert rig in letter
    assert "near this place" not in letter
    assert "cerca de este lugar" not in letter


def test_a_search_for_words_alone_does_not_speak_of_a_place() -> None:
    """It says that words tell no place; and where no stop could be compared with the place, that."""
    span = {"first": ASKED["first"], "until": ASKED["until"]}
    letter = text(fleet(run(STOP)), **span, words="foam gutter")
    assert "were searched for the words foam gutter between" in letter
    assert "no work" not in letter
    letter = text(fleet(run(STOP)), **span, address="by the bakery")
    assert "None of the stops of that time has a place written down that could be compared with this one." in letter
    assert "could be compared with this one" not in text(fleet(run(STOP)), **ASKED)


def test_what_nobody_wrote_down_is_told_in_whole_sentences() -> None:
    """How it was asked without a day, in Spanish; and a book without a rig, of which no line could stand below."""
    assert "Usted preguntó by telephone; qué día, no lo anotamos." in text(
        fleet(), language="es", **ASKED, how="by telephone"
    )
    assert "No rig is on our register and none is named in these records" in text(
        book(rig=[], tank=[], instrument=[]), **ASKED
    )
    assert "No rig is on our register" not in text(fleet(), **ASKED)


@pytest.mark.parametrize(
    ("line", "others", "said"),
    [
        (
            {"drains": "except", "drain_list": [{"name": "inlet"}]},
            {},
            "not as planned at this stop; each drain is listed",
        ),
        ({"drains": "except", "remark": "mat was short"}, {}, "not as planned at this stop: mat was short"),
        ({"drains": "except"}, {}, "not as planned at this stop; what was different: not recorded yet"),
        ({}, {"drains": "except"}, "as planned at this stop; the exception that night was at another"),
        ({}, {}, "as planned with an exception; at which stop: not recorded yet"),
    ],
)
def test_an_exception_with_the_drains_is_told_and_not_only_that_there_was_one(
    line: dict[str, Any], others: dict[str, Any], said: str
) -> None:
    """'except' alone says neither what nor where."""
    other = {**STOP, "site": "Fish Counter", "arrived": "23:45", "left": "23:50", **others}
    assert f"Storm drains, by the crew: {said}" in text(fleet(run({**STOP, **line}, other, drains="except")), **ASKED)


def test_a_withheld_remark_stands_in_no_line_of_the_letter() -> None:
    """Neither as what was different with the drains nor as the words that were looked for."""
    made = fleet(run({**STOP, "drains": "except", "remark": "mat was short"}))
    record = state(made).runs[0].record
    answer = found(made, {record: [("1", "mat was short")]}, **{**ASKED, "words": "mat"})
    letter = letter_text(state(made), state(made).inquiries[-1], answer, today="2026-09-25", without=["remarks"])
    assert "mat was short" not in letter
    assert "(the same street, as typed)" in letter


def test_a_letter_that_goes_on_from_another_names_it() -> None:
    """By our reference, since both may have been answered by somebody else."""
    made = fleet(run(STOP))
    made.take(kinds.INQUIRY, {**ASKED, "case": "TC-9"})
    assert "Our reference: inquiry-2\nThis goes on from our inquiry-1.\n" in text(made, **ASKED, follows="TC-9")
    assert "goes on from" not in text(fleet(run(STOP)), **ASKED)


ESCAPE = {"line": "escape", "what": "hose came off", "at": "22:00"}
OTHER = {"line": "stop", "site": "Fish Counter", "arrived": "00:20", "left": "01:40"}


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ((STOP,), "yes"),
        ((STOP, ESCAPE, OTHER), "yes"),
        (({**STOP, "drain_list": [{"name": "inlet", "seen": "seen entering"}]}, OTHER), "yes"),
        (({**STOP, "got_away": "saw none"}, OTHER, ESCAPE), "saw none"),
        (({**STOP, "got_away": "yes"}, OTHER, ESCAPE), "yes"),
        ((STOP, OTHER, ESCAPE), "yes in this run; what is written down of it stands at another stop"),
        (
            (STOP, {**OTHER, "got_away": "yes"}),
            "yes in this run; what is written down of it stands at another stop",
        ),
        (
            (STOP, {**OTHER, "drain_list": [{"name": "inlet", "seen": "seen entering"}]}),
            "yes in this run; what is written down of it stands at another stop",
        ),
        ((STOP, OTHER), "yes in this run; at which stop: not recorded yet"),
        ((STOP, {**OTHER, "not_worked": "locked"}), "yes"),
    ],
)
def test_that_water_got_away_in_a_run_is_not_said_of_a_stop_of_which_it_was_not_said(
    lines: tuple[dict[str, Any], ...], said: str
) -> None:
    """Nor denied of it: where nobody wrote down at which stop it was, the letter says so."""
    letter = text(fleet(run(*lines, got_away="yes")))
    assert f"  Water that got away, by the crew: {said}\n" in letter


def test_water_that_got_away_is_told_once_where_the_stop_and_the_place_are_both_near() -> None:
    """At the place behind whose line it stands."""
    over = {"line": "hand over", "place": "North Yard station", "amount": "10 gal", "at": "23:50"}
    place = [{"name": "North Yard station", "address": "220 Canal Street"}]
    made = book(run(STOP, over, {**ESCAPE, "at": "23:55"}), place=place, permission=[])
    letter = text(made)
    assert letter.count("Water got away: hose came off") == 1
    assert letter.index("220 Canal Street") < letter.index("Water got away: hose came off")


def test_a_letter_does_not_name_a_site_of_which_no_address_is_written_down() -> None:
    """A site is called after its client often enough; one that was asked about by its name is named, and a place is."""
    site = [{"name": "Quillon Fish", "position": "40.5000, -105.1000"}]
    over = {"line": "hand over", "place": "North Yard station", "amount": "10 gal", "at": "23:50"}
    made = book(run({**STOP, "site": "Quillon Fish"}, over), site=site, place=[{"name": "North Yard station"}])
    span = {"first": ASKED["first"], "until": ASKED["until"]}
    letter = text(made, **span, position="40.5, -105.1")
    assert "line 1: address: not recorded yet (0.0 ft away by coordinates)" in letter
    assert "Quillon" not in letter
    assert "Quillon Fish (0.0 ft" in "\n".join(answer_lines(found(made, **span, position="40.5, -105.1"), Words("en")))
    assert "line 1: Quillon Fish (" in text(made, **span, site="quillon fish")
    typed = book(run({**STOP, "site": "212 Canal Ave"}))
    assert "line 1: 212 Canal Ave (written much like it" in text(typed)
    assert "line 1: Quillon Fish (by its name)" in text(made, **span, address="at the Quillon fish place")
    assert "line 2: North Yard station (by its name)" in text(made, **span, address="north yard station")


def test_a_radius_in_metres_is_told_with_no_more_figures_than_distances_have() -> None:
    """Sooner a little wider."""
    span = {"first": ASKED["first"], "until": ASKED["until"]}
    assert "Place: 328.1 ft around 40.5, -105.1" in text(
        fleet(run(STOP)), **span, position="40.5, -105.1", radius="100 m"
    )
    assert "Place: 0.1 ft around" in text(fleet(run(STOP)), **span, position="40.5, -105.1", radius="1 mm")
    assert "Place: 12.5 ft around" in text(fleet(run(STOP)), **span, position="40.5, -105.1", radius="12.5 ft")


@pytest.mark.parametrize(
    ("language", "said"),
    [
        ("en", "show no work by our rigs near this place as told (214 Canal St) between Sep 2, 2026, 12:00 am and "
               "Sep 24, 2026, 12:00 am, Wednesday only."),
        ("es", "y el 24 sep 2026, 12:00 a.\u00a0m., solo en mi\u00e9rcoles, nuestros registros"),
    ],
)  # fmt: skip
def test_work_is_told_to_be_absent_only_on_the_days_that_were_looked_at(language: Any, said: str) -> None:
    """The rig was near on a Thursday, and Wednesdays were asked about."""
    asked = {"address": "214 Canal St", "first": "2026-09-01", "until": "2026-09-28", "weekday": "Wednesday"}
    letter = text(fleet(run(STOP)), language=language, **asked)
    assert said.replace("\u00a0", " ") in letter
    assert "2026-09-03-big-blue / 1" in letter
