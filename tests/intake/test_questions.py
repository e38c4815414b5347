"""The question machine behind `washwater log`, without a terminal."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from compliance.intake import night_found
from compliance.intake.asking import MOST_OFFERED, Asking, choice
from compliance.intake.entries import entry
from compliance.intake.last import last_readings
from compliance.intake.question import KEY, Question, Setting
from compliance.intake.questions import (
    Draft,
    answer,
    back,
    cautions,
    comparison,
    entry_of,
    first_figures,
    handing_in,
    new_draft,
    next_question,
    progress,
    resumed,
    summary,
)  # fmt: skip
from compliance.intake.run import check_run
from compliance.intake.validate import check
from compliance.records.envelope import Record
from compliance.records.problem import Problem
from compliance.records.state import gather
from compliance.water.fold import calculate
from tests.cases import SAMPLES, expected_of, records_of, state_of

from .making import NIGHT, REGISTERS, Pages, pages

ID = "0f" * 16
DAWN = datetime(2026, 9, 15, 6, 10, tzinfo=ZoneInfo("America/Denver"))
SITES = (
    "Canal Street Bakery", "Copper Row north", "Copper Row south", "Depot Market", "Fish Counter", "Harbor Deck",
    "Lantern Diner",
)  # fmt: skip

TRANSFER_METER = {
    "name": "Blue transfer meter", "rig": "Big Blue", "kind": "meter", "measures": "handover", "unit": "gal",
    "rolls_over_at": "1000000",
}  # fmt: skip
SUPPLY_METER = {"name": "Blue supply meter", "measures": "supply"}
METER = {"method": "meter", "meter": "Blue supply meter"}
PASSED = {"method": "meter", "meter": "Blue transfer meter", "start": "18612", "end": "19043"}

LATER: frozenset[str] = frozenset()
"""Fields that `log` came to ask after the nights below were written: they pass them over with Enter."""

ROUTE_NIGHT = (
    "1", "1", "",  # rig, lead, tonight
    "7", "1", "e",  # a reading of the recovery tank: empty
    *(key for site in "12345678" for key in ("1", site, "1")),  # eight stops, all worked
    "7", "1", "30.5",  # the tank before the dump
    "3", "1", "m", "18612", "19043", "1", "0510", "2",  # dumped through the transfer meter, empty, at 05:10 next day
    "0", "l",  # that was the last; where: see lines
    "m", "10005", "10460",  # used, by the supply meter
    "n",  # recovered: did not read
    "1", "1", "1", "2", "1",  # saw none; as planned; no agent; filters cleaned; no rain
    "l", "", "1",  # ticket later, no remark, hand in
)  # fmt: skip


def book(*nights: dict[str, Any]) -> Pages:
    made = pages(*nights)
    made.take("registers", {"site": [{"name": site, "client": "Alder Foods"} for site in SITES],
                            "instrument": [TRANSFER_METER, SUPPLY_METER]})  # fmt: skip
    return made


def setting(language: str = "en", made: Pages | None = None, **more: Any) -> Setting:
    state = (made or book()).state
    assert state is not None
    return Setting(state, language, DAWN, last_readings(state), **more)


def answered(answers: Sequence[str], at: Setting, draft: Draft | None = None) -> Draft:
    """Each text typed in its turn; what was not asked yet when these nights were written is passed over behind it."""
    draft = draft or new_draft(at.language, ID)
    for text in answers:
        draft = typed_once(draft, text, at)
        while is_later(next_question(draft, at)):
            draft = typed_once(draft, "", at)
    return draft


def typed_once(draft: Draft, text: str, at: Setting) -> Draft:
    grown = answer(draft, text, at)
    assert not isinstance(grown, Problem), (grown, next_question(draft, at))
    return grown


def is_later(question: Question | None) -> bool:
    return question is not None and question.key.rpartition("/")[2] in LATER


def keystrokes(answers: Sequence[str], at: Setting) -> int:
    """Keys pressed: one for a question that one key answers, or else the line and Enter."""
    draft, count, rest = new_draft(at.language, ID), 0, list(answers)
    while (question := next_question(draft, at)) is not None:
        text = "" if is_later(question) else rest.pop(0)
        count += 1 if question.kind == KEY else len(text) + 1
        draft = typed_once(draft, text, at)
    assert rest == []
    return count


def stored(draft: Draft, at: Setting) -> dict[str, Any]:
    found = check_run(entry_of(draft, at), state=at.state, where="the questions", now=at.now)
    assert found.problems == ()
    assert found.payload is not None
    return found.payload


def asked(draft: Draft, at: Setting) -> Question:
    question = next_question(draft, at)
    assert isinstance(question, Question)
    return question


def until(key: str, at: Setting, *, skipping: bool = True) -> Draft:
    """A small night up to the question with this key: one stop, everything else passed over."""
    draft = new_draft(at.language, ID)
    basics = {"rig": "1", "lead": "1", "date": "", "step/1": "1", "1/site": "1", "1/worked": "1", "step/2": "0",
              "where": "a"}  # fmt: skip
    while asked(draft, at).key != key:
        draft = typed_once(draft, basics.get(asked(draft, at).key, ""), at)
    return draft


def test_a_question_that_came_after_a_night_was_written_is_passed_over_and_its_keys_counted(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A new field is one name in `LATER`, and not thirty nights counted anew; a test of it can still get to it."""
    at = setting()
    night, keys = answered(ROUTE_NIGHT, at), keystrokes(ROUTE_NIGHT, at)
    monkeypatch.setattr("tests.intake.test_questions.LATER", LATER | {"rain"})
    rain = len(ROUTE_NIGHT) - 4
    without = ROUTE_NIGHT[:rain] + ROUTE_NIGHT[rain + 1 :]
    assert dict(entry_of(answered(without, at), at)) == {k: v for k, v in entry_of(night, at).items() if k != "rain"}
    assert keystrokes(without, at) == keys
    assert asked(until("rain", at), at).key == "rain"


def test_the_route_night_takes_at_most_120_keystrokes() -> None:
    """Eight stops, one load, a dump at dawn, both meters and the tank read twice: counted key by key."""
    assert keystrokes(ROUTE_NIGHT, setting()) <= 120


def test_the_route_night_becomes_the_night_that_was_told() -> None:
    """Every answer stands in the payload where a file would have put it."""
    at = setting()
    payload = stored(answered(ROUTE_NIGHT, at), at)
    assert payload["fields"] == {
        "rig": "Big Blue", "lead": "Rosa Iglesias", "date": "2026-09-14", "where": "see lines",
        "used": {"method": "meter", "meter": "Blue supply meter", "start": "10005", "end": "10460"},
        "recovered": "not read", "got_away": "saw none", "drains": "as planned", "agent_use": "none used",
        "filters": "cleaned", "rain": "none",
    }  # fmt: skip
    lines = payload["lines"]
    assert [line["line"] for line in lines] == ["reading", *["stop"] * 8, "reading", "hand over"]
    assert lines[0]["fields"] == {"of": "Big Blue recovery", "shows": "empty"}
    assert lines[8]["fields"] == {"site": "Harbor Deck", "client": "Alder Foods"}
    assert lines[9]["fields"] == {"of": "Big Blue recovery", "shows": "30.5 in"}
    assert lines[10]["fields"] == {
        "place": "North Yard station", "tank": "Big Blue recovery", "amount": PASSED, "tank_after": "empty",
        "at": "2026-09-15T05:10:00-06:00", "ticket": "later",
    }  # fmt: skip


def test_spanish_answers_give_the_same_payload() -> None:
    """The keys are the same in both languages, and so is what is stored."""
    english, spanish = setting(), setting("es")
    assert stored(answered(ROUTE_NIGHT, english), english) == stored(answered(ROUTE_NIGHT, spanish), spanish)


def test_spoken_spanish_is_understood_like_its_digit() -> None:
    """A typed label or 'no lo leí' means what its key means."""
    at = setting("es")
    draft = answered(["no lo leí"], at, until("used", at))
    assert entry_of(draft, at)["used"] == "not read"
    draft = answered(["Miré y no vi"], at, until("got_away", at))
    assert entry_of(draft, at)["got_away"] == "saw none"


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_question_is_asked_in_the_language(language: str) -> None:
    """No question, option or hint is empty, and no placeholder is left in it."""
    at = setting(language)
    draft = new_draft(language, ID)
    for text in ROUTE_NIGHT:
        question = asked(draft, at)
        for words in (question.text, question.hint, *(option.label for option in question.options)):
            assert words
            assert "{" not in words
        draft = answered([text], at, draft)


@settings(max_examples=40, deadline=None)
@given(cut=st.integers(0, len(ROUTE_NIGHT)), language=st.sampled_from(["en", "es"]))
def test_a_draft_saved_at_any_prompt_goes_on_identically(cut: int, language: str) -> None:
    """Any number of answers, written as the book writes drafts and read again, leads to the same questions."""
    at = setting(language, made=_BOOK)
    draft = answered(ROUTE_NIGHT[:cut], at)
    again = json.loads(json.dumps(draft, sort_keys=True))
    assert next_question(again, at) == next_question(draft, at)
    assert answered(ROUTE_NIGHT[cut:], at, again) == answered(ROUTE_NIGHT, at)


_BOOK = book()


def test_nothing_is_taken_for_granted() -> None:
    """The four questions that come first and the step to a stop have no default but the date that is shown."""
    at = setting()
    for key in ("rig", "lead", "step/1", "1/site", "1/worked", "where"):
        refused = answer(until(key, at), "", at)
        assert isinstance(refused, Problem)
        assert refused.what == "this one is needed"
    assert asked(until("date", at), at).enter == "Enter = 2026-09-14, Monday"


def test_enter_means_not_recorded_yet_and_n_means_did_not_read() -> None:
    """Passing a question over leaves its field out; saying that nobody looked is written down."""
    at = setting()
    draft = answered([""], at, until("used", at))
    assert "used" not in entry_of(draft, at)
    draft = answered(["n"], at, until("used", at))
    assert entry_of(draft, at)["used"] == "not read"


def test_a_wrong_answer_says_what_is_taken() -> None:
    """The same fault in each language, at the question it was made at."""
    english, spanish = setting(), setting("es")
    refused = answer(until("used", english), "some", english)
    assert isinstance(refused, Problem)
    assert refused == Problem("'some' is not a number with a unit", asked(until("used", english), english).text,
                              "write it like '450 gal'")  # fmt: skip
    refused = answer(until("used", spanish), "algo", spanish)
    assert isinstance(refused, Problem)
    assert refused.what == "'algo' no se entiende aquí"
    assert refused.next_step == "galones como 450 o ~450, o n = no lo leí"
    refused = answer(until("rig", english), "9", english)
    assert isinstance(refused, Problem)


def test_more_than_the_tank_holds_is_asked_again_and_both_figures_stay() -> None:
    """The figure given first stands beside the one that was kept."""
    at = setting()
    draft = answered(["600"], at, until("recovered", at))
    assert asked(draft, at).text.startswith("600 is more than Big Blue recovery holds (525 gal).")
    kept = answered([""], at, draft)
    assert entry_of(kept, at)["recovered"] == "600"
    assert first_figures(kept) == {}
    changed = answered(["480"], at, draft)
    assert entry_of(changed, at)["recovered"] == "480"
    assert entry_of(changed, at)["first"] == {"recovered": "600"}


def test_a_level_above_the_tank_is_asked_again() -> None:
    """In gallons above its capacity, in inches above its depth; a mark, or an unknown size, asks nothing."""
    made = book()
    deep = {"name": "Big Blue recovery", "shape": "rectangle", "depth": "35 in"}
    round_one = {"name": "Heron recovery", "shape": "horizontal cylinder", "diameter": "36 in"}
    made.take("registers", {"tank": [deep, round_one]})
    at = setting(made=made)
    for typed, shown in (("600 gal", "525 gal"), ("40", "35 in"), ("4 ft", "35 in")):
        draft = answered(["1", "1", "", "7", "1", typed], at)
        assert asked(draft, at).key == "1/shows/again"
        assert f"holds ({shown})" in asked(draft, at).text
        draft = answered(["12.5"], at, draft)
        assert entry_of(draft, at)["line"][0]["shows"] == "12.5"
        assert entry_of(draft, at)["first"] == {"1/shows": typed}
    draft = answered(["1", "1", "", "7", "1", "99 in"], at)
    assert asked(draft, at).enter is None
    assert isinstance(answer(draft, "", at), Problem)
    assert entry_of(answered(["99 in"], at, draft), at)["line"][0]["shows"] == "99 in"
    assert first_figures(answered(["99 in"], at, draft)) == {}
    for typed in ("f", "n", "35", "<=600 gal"):
        assert asked(answered(["1", "1", "", "7", "1", typed], at), at).key == "step/2"
    assert asked(answered(["2", "1", "", "7", "1", "37"], at), at).key == "1/shows/again"
    assert asked(answered(["2", "1", "", "7", "1", "370 gal"], at), at).key == "step/2"


def dump(at: Setting, *typed: str) -> Draft:
    """A night up to its dump at the station, and what is typed from the amount on."""
    return answered(["1", "1", "", "1", "1", "1", "3", "1", *typed], at)


def test_a_dump_is_read_on_the_transfer_meter_of_the_rig() -> None:
    """The supply meter is not offered for it; how the tank was afterwards is asked all the same."""
    at = setting()
    question = asked(dump(at), at)
    assert [(option.key, option.label) for option in question.options] == [
        ("m", "meter"), ("k", "tank mark"), ("c", "a known vessel, counted"), ("n", "did not read"),
    ]  # fmt: skip
    draft = dump(at, "m", "18612", "n")
    assert asked(draft, at).key == "2/tank_after"
    assert entry_of(draft, at)["line"][1]["amount"] == {**PASSED, "end": "not read"}


def test_a_dump_is_read_on_the_marks_of_the_tank() -> None:
    """The mark after says how the tank was left, so that nobody is asked twice."""
    at = setting()
    draft = dump(at, "k", "30.5", "e")
    assert asked(draft, at).key == "2/at"
    line = entry_of(draft, at)["line"][1]
    assert line["amount"] == {"method": "mark", "tank": "Big Blue recovery", "before": "30.5", "after": "empty"}
    assert line["tank_after"] == "empty"


def test_a_dump_in_amounts_or_not_at_all_is_taken_as_before() -> None:
    """What somebody states, that nobody read it, and Enter for not recorded yet."""
    at = setting()
    for typed, kept in (("~400", "~400"), ("n", "not read"), ("", None)):
        assert entry_of(dump(at, typed), at)["line"][1].get("amount") == kept


def test_a_transfer_meter_may_be_said_to_stand_where_it_was_read_last() -> None:
    """Offered only where a last reading is known, without its figure; the remark says that nobody looked."""
    fresh = setting()
    assert [option.key for option in asked(dump(fresh, "m"), fresh).options] == ["n"]
    dumped = {**NIGHT, "line": [*NIGHT["line"][:-1], {**NIGHT["line"][-1], "amount": PASSED}]}
    at = setting(made=book(dumped))
    question = asked(dump(at, "m"), at)
    assert [(option.key, option.label) for option in question.options] == [
        ("u", "it stands where it was last read"), ("n", "did not read"),
    ]  # fmt: skip
    assert "19043" not in question.text + question.hint + question.help
    draft = dump(at, "m", "u")
    assert comparison(draft, at) == "The last reading of Blue transfer meter was 19043 (2026-09-14); 0 since then"
    assert [option.key for option in asked(draft, at).options] == ["n"]
    payload = stored(answered(["19400", "1", "", "0", "l", *[""] * 8, "late", "1"], at, draft), at)
    assert payload["lines"][1]["fields"]["amount"] == {**PASSED, "start": "19043", "end": "19400"}
    assert payload["fields"]["remark"] == (
        "Blue transfer meter at the start: not looked at, said to stand where it was last read (19043); late"
    )


def test_the_second_dump_of_a_night_goes_on_from_the_first() -> None:
    """The reading of an hour ago is the last one, not that of another night."""
    at = setting()
    draft = answered(["3", "1", "m"], at, dump(at, "m", "18612", "19043", "1", ""))
    assert asked(draft, at).options[0].key == "u"
    draft = answered(["u"], at, draft)
    assert entry_of(answered(["19400"], at, draft), at)["line"][2]["amount"]["start"] == "19043"
    assert comparison(draft, at) == "The last reading of Blue transfer meter was 19043 (2026-09-14); 0 since then"


def test_a_register_below_what_it_showed_before_is_asked_again() -> None:
    """At the start, at the end and in a reading line; kept with Enter, and one that rolled over asks nothing."""
    at = setting(made=book(NIGHT))
    draft = answered(["m", "145"], at, until("used", at))
    assert asked(draft, at).key == "used/start/again"
    assert asked(draft, at).text.startswith("145 is less than Blue supply meter showed before (1450.5 (2026-09-14)).")
    assert comparison(draft, at) == "The last reading of Blue supply meter was 1450.5 (2026-09-14)"
    draft = answered(["1455", "1400"], at, draft)
    assert asked(draft, at).text.startswith("1400 is less than Blue supply meter showed before (1455).")
    draft = answered([""], at, draft)
    assert entry_of(draft, at)["used"] == {**METER, "start": "1455", "end": "1400"}
    assert first_figures(draft) == {"used/start": "145"}
    assert asked(answered(["1", "1", "", "7", "2", "9"], at), at).key == "1/shows/again"
    assert asked(answered(["1", "1", "", "7", "2", "n"], at), at).key == "step/2"
    assert asked(dump(at, "m", "999900", "120"), at).key == "2/tank_after"
    assert asked(dump(at, "m", "500", "120"), at).key == "2/amount/end/again"


def test_what_a_tank_holds_is_no_limit_once_it_was_emptied_on_the_way() -> None:
    """A night with a dump may recover more than one tankful."""
    at = setting()
    told = ["1", "1", "", "1", "1", "1", "3", "1", "", "", "", "0", "l", "", "600"]
    assert asked(answered(told, at), at).key == "got_away"


def test_a_reading_is_compared_only_after_it_is_in_and_the_first_one_stays() -> None:
    """The last reading is in no question; taken back after it was shown, a figure is kept as the first."""
    at = setting(made=book(NIGHT))
    draft = answered(["m"], at, until("used", at))
    question = asked(draft, at)
    assert "1450.5" not in question.text + question.hint + question.help
    assert comparison(draft, at) is None
    draft = answered(["1500"], at, draft)
    assert comparison(draft, at) == "The last reading of Blue supply meter was 1450.5 (2026-09-14); 49.5 since then"
    corrected = answered(["1450.5"], at, back(draft))
    assert first_figures(corrected) == {"used/start": "1500"}
    same = answered(["1500"], at, back(draft))
    assert first_figures(same) == {}


def test_the_ratio_is_shown_once_both_figures_are_in() -> None:
    """Used and recovered as they were told, and what was expected."""
    at = setting(usual={"recovered": "about 90 %"})
    draft = answered(["500"], at, until("used", at))
    assert comparison(draft, at) is None
    draft = answered([">=400"], at, draft)
    assert comparison(draft, at) == "Expected: about 90 %. That is at least 80 % of the water used"


def test_nothing_is_compared_with_what_was_not_read() -> None:
    """An answer without a value brings no comparison, and no draft has one before its first answer."""
    at = setting(usual={"recovered": "about 90 %"})
    assert comparison(answered(["n"], at, until("recovered", at)), at) is None
    assert comparison(new_draft("en", ID), at) is None


def test_a_name_that_is_near_one_of_the_register_is_asked_back() -> None:
    """A slip of one letter does not make a second site, unless it is meant."""
    at = setting()
    draft = answered(["Fernwod Plaza"], at, until("1/site", at))
    assert [option.label for option in asked(draft, at).options] == ["Fernwood Plaza is meant", "keep Fernwod Plaza"]
    meant = answered(["1"], at, draft)
    assert entry_of(meant, at)["line"][0]["site"] == "Fernwood Plaza"
    other = answered(["2"], at, draft)
    assert entry_of(other, at)["line"][0]["site"] == "Fernwod Plaza"
    new = answered(["Old Mill"], at, until("1/site", at))
    assert asked(new, at).key == "1/worked"


def test_a_rig_that_is_on_no_register_is_typed() -> None:
    """'o' and its name; it becomes a finding later, never a gate."""
    at = setting()
    draft = answered(["o", "The Loaner"], at)
    assert entry_of(draft, at)["rig"] == "The Loaner"
    assert asked(draft, at).key == "lead"


def test_water_lines_come_in_their_order() -> None:
    """A fill, a full tank, water used again, an escape and a reading between two stops."""
    at = setting()
    told = [
        "1", "1", "", "2", "yard hydrant", "300", "1", "1", "1", "4", "5", "120", "6", "hose came off", "1", "~15",
        "7", "2", "10200", "1", "2", "2", "gate locked", "0", "a",
    ]  # fmt: skip
    lines = entry_of(answered(told, at), at)["line"]
    assert lines == [
        {"line": "take on", "place": "yard hydrant", "amount": "300"},
        {"line": "stop", "site": "Fernwood Plaza", "client": "Alder Foods"},
        {"line": "tank full", "tank": "Big Blue recovery"},
        {"line": "use again", "tank": "Big Blue recovery", "amount": "120"},
        {"line": "escape", "what": "hose came off", "reached": "storm drain", "amount": "~15"},
        {"line": "reading", "of": "Blue supply meter", "shows": "10200"},
        {"line": "stop", "site": "Dock Street Market", "not_worked": "gate locked"},
    ]


def test_a_cancelled_run_needs_no_stop() -> None:
    """The reason, where the water is, a remark; then it may be handed in."""
    at = setting()
    draft = answered(["1", "1", "", "c", "storm warning", "x", "", "1"], at)
    assert next_question(draft, at) is None
    assert stored(draft, at)["fields"]["cancelled"] == "storm warning"


def test_water_that_was_recovered_is_somewhere() -> None:
    """'No water' and then 60 gal: where it is is asked once more, without that answer; 0 gal asks nothing."""
    at = setting()
    told = ["1", "1", "", "1", "1", "1", "0", "x", ""]
    for typed in (["60"], ["k", "e", "12 gal"]):
        draft = answered([*told, *typed], at)
        assert asked(draft, at).key == "where/again"
        assert "no water" not in [option.value for option in asked(draft, at).options]
        draft = answered(["a"], at, draft)
        assert entry_of(draft, at)["where"] == "aboard"
        assert entry_of(draft, at)["first"] == {"where": "no water"}
        assert asked(draft, at).key == "got_away"
    for typed in (["0"], [""], ["n"], ["<=60"]):
        assert asked(answered([*told, *typed], at), at).key == "got_away"
    dumped = ["1", "1", "", "1", "1", "1", "3", "1", "", "", "", "0", "x", "", "60"]
    assert asked(answered(dumped, at), at).key == "got_away"


def test_water_that_got_away_is_asked_for_when_it_is_first_heard_of_at_the_end() -> None:
    """'yes' without a line of its own leads to one."""
    at = setting()
    draft = answered(["2", "overflow at the ramp", "2", "n"], at, until("got_away", at))
    assert entry_of(draft, at)["line"][-1] == {
        "line": "escape", "what": "overflow at the ramp", "reached": "gutter or street", "amount": "not read",
    }  # fmt: skip
    assert asked(draft, at).key == "drains"


def test_water_that_was_told_already_is_not_asked_for_again() -> None:
    """'Saw none' above an escape that was told would deny it: asked is whether there was more, and that answers for
    the other stops that were worked.
    """
    at = setting()
    told = ["1", "1", "", "1", "1", "1", "6", "hose came off", "1", "~15", "1", "2", "1", "0", "a", "", ""]
    draft = answered(told, at)
    other = "Other water that got away, beside what was told"
    assert (asked(draft, at).key, asked(draft, at).text) == ("got_away", other)
    for typed, of_the_other in (("1", "saw none"), ("3", "did not look"), ("", None)):
        entry = entry_of(answered([typed], at, draft), at)
        assert entry["got_away"] == "yes"
        of_stops = [line.get("got_away") for line in entry["line"] if line["line"] == "stop"]
        assert of_stops == [None, of_the_other]
        assert asked(answered([typed], at, draft), at).key == "drains"
    idle = [*told[:11], "2", "2", "gate locked", *told[13:]]
    assert "got_away" not in entry_of(answered([*idle, "1"], at), at)["line"][-1]
    draft = answered(["2", "2", "drip at the lid", "5", "n"], at, draft)
    escapes = [line["what"] for line in entry_of(draft, at)["line"] if line["line"] == "escape"]
    assert sorted(escapes) == ["drip at the lid", "hose came off"]
    assert asked(draft, at).key == "drains"


def test_water_that_got_away_is_put_at_the_stop_that_is_named() -> None:
    """Heard of after two stops, it stands behind the one at which it was; lines after it keep their first figures."""
    at = setting()
    told = ["1", "1", "", "1", "1", "1", "7", "1", "600 gal", "12.5", "1", "2", "1", "0", "a", "", ""]
    draft = answered([*told, "2"], at)
    assert asked(draft, at).key == "got_away/stop"
    assert [(option.key, option.label) for option in asked(draft, at).options] == [
        ("1", "Fernwood Plaza"), ("2", "Dock Street Market"), ("n", "not known"),
    ]  # fmt: skip
    assert isinstance(answer(draft, "", at), Problem)
    draft = answered(["1", "hose came off", "1", "15"], at, draft)
    assert asked(draft, at).key == "drains"
    entry = entry_of(answered(["", "", "", "", "", "1"], at, draft), at)
    assert [line["line"] for line in entry["line"]] == ["stop", "escape", "reading", "stop"]
    assert entry["line"][1] == {"line": "escape", "what": "hose came off", "reached": "storm drain", "amount": "15"}
    assert entry["first"] == {"3/shows": "600 gal"}


def test_water_that_got_away_nobody_knows_where_is_put_on_no_client() -> None:
    """'Not known' is an answer: no line, 'yes' for the night, and what happened in the remark before any other."""
    at = setting()
    told = ["1", "1", "", "1", "1", "1", "1", "2", "1", "0", "a", "", "", "2", "n", "wet street", "", "", "", "",
            "late", "1"]  # fmt: skip
    entry = entry_of(answered(told, at), at)
    assert [line["line"] for line in entry["line"]] == ["stop", "stop"]
    assert entry["got_away"] == "yes"
    assert entry["remark"] == "water got away, at which stop is not known: wet street; late"


@pytest.mark.parametrize(("language", "unknown"), [("en", "not known"), ("es", "no sé")])
def test_what_is_needed_in_words_may_be_not_known(language: str, unknown: str) -> None:
    """Nobody is held at a question that they cannot answer; Enter alone is still no answer."""
    at = setting(language)
    draft = answered(["2"], at, until("got_away", at))
    assert isinstance(answer(draft, "", at), Problem)
    assert entry_of(answered(["n"], at, draft), at)["line"][-1]["what"] == unknown
    draft = answered(["1", "1", "", "c", "n"], at)
    assert entry_of(draft, at)["cancelled"] == unknown


def test_drains_that_differ_are_told_stop_by_stop() -> None:
    """'except' asks where and what; Enter ends it once one is named, and the other stops were as planned."""
    at = setting()
    none_named = ["1", "1", "", "1", "1", "1", "1", "2", "1", "0", "a", "", "", "1", "3"]
    assert isinstance(answer(answered(none_named, at), "", at), Problem)
    told = ["1", "1", "", "1", "1", "1", "1", "2", "1", "0", "a", "", "", "1", "3", "2", "mat was short", "2",
            "lifted once", ""]  # fmt: skip
    draft = answered(told, at)
    assert entry_of(draft, at)["line"][1]["drains"] == "except"
    assert entry_of(draft, at)["line"][1]["remark"] == "mat was short; lifted once"
    assert entry_of(draft, at)["line"][0]["drains"] == "as planned"
    assert asked(draft, at).key == "agent_use"


def test_drains_that_differed_nobody_knows_where_are_put_on_no_stop() -> None:
    """The night keeps its answer and says what was different."""
    at = setting()
    told = ["1", "1", "", "1", "1", "1", "1", "2", "1", "0", "a", "", "", "1", "3", "n", "a mat was short"]
    draft = answered(told, at)
    entry = entry_of(draft, at)
    assert entry["drains"] == "except"
    assert entry["remark"] == "storm drains not as planned, at which stop is not known: a mat was short"
    assert not any("drains" in line for line in entry["line"])
    assert asked(draft, at).key == "agent_use"


def test_drains_that_differed_at_the_only_stop_ask_no_number() -> None:
    """What was different is asked at once; with no stop worked there is nothing to ask."""
    at = setting()
    draft = answered(["3"], at, until("drains", at))
    assert asked(draft, at).key == "drains/1/what"
    draft = answered(["mat was short"], at, draft)
    assert entry_of(draft, at)["line"][0] == {
        "line": "stop", "site": "Fernwood Plaza", "client": "Alder Foods", "drains": "except",
        "remark": "mat was short",
    }  # fmt: skip
    assert asked(draft, at).key == "agent_use"
    told = ["1", "1", "", "1", "1", "2", "locked", "0", "x", "", "", "1", "3"]
    assert asked(answered(told, at), at).key == "agent_use"


def test_a_product_that_nobody_names_is_not_recorded_yet() -> None:
    """It was used, and which one may be told later: the question lets go."""
    at = setting()
    draft = answered(["2", ""], at, until("agent_use", at))
    assert asked(draft, at).key == "filters"
    assert entry_of(draft, at)["agent_use"] == "used"


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        (["6", "1", "2"], "2026-09-15T06:00"), (["12", "2", "1"], "2026-09-14T12:00"),
        (["22", "1"], "2026-09-14T22:00"), (["0", "2"], "2026-09-15T00:00"), (["n"], "not read"),
        (["21:30", "1"], "2026-09-14T21:30"),
    ],
)  # fmt: skip
def test_an_hour_alone_is_asked_back_and_a_clock_that_nobody_saw_is_an_answer(typed: list[str], kept: str) -> None:
    """'6' may be of the morning or of the evening; '22' is of one only."""
    at = setting()
    draft = answered(typed, at, dump(at, "400", "1"))
    assert entry_of(draft, at)["line"][1]["at"] == kept
    assert asked(draft, at).key == "step/3"


def test_a_time_that_is_none_is_refused() -> None:
    """An hour that no clock has, and words."""
    at = setting()
    for typed in ("24", "99", "late"):
        assert isinstance(answer(dump(at, "400", "1"), typed, at), Problem)


def test_a_number_that_is_in_no_list_is_no_name() -> None:
    """A site is not called '9'; with no site on file, a name is asked for and no number offered."""
    at = setting()
    refused = answer(until("1/site", at), "12", at)
    assert isinstance(refused, Problem)
    assert refused.what == "12 is no number of a list here"
    made = Pages()
    made.take("registers", {"business": REGISTERS["business"]})
    at = setting(made=made)
    draft = answered(["Big Blue", "Rosa", "", "1"], at)
    assert asked(draft, at).hint == "write its name, then Enter"
    refused = answer(draft, "1", at)
    assert isinstance(refused, Problem)
    assert refused.next_step == "write its name, then Enter"


@pytest.mark.parametrize("language", ["en", "es"])
def test_a_comma_in_a_figure_is_named(language: str) -> None:
    """12,5 may be twelve and a half or half of a thousand: what to write instead is said in the language."""
    at = setting(language)
    refused = answer(answered(["1", "1", "", "7", "1"], at), "12,5 in", at)
    assert isinstance(refused, Problem)
    assert refused.next_step.endswith(" 12.5 in")


@pytest.mark.parametrize("language", ["en", "es"])
def test_a_comma_of_thousands_is_asked_back_with_both_readings(language: str) -> None:
    """'18,612' may be eighteen thousand; the advice to write 18.612 made it eighteen."""
    at = setting(language)
    refused = answer(answered(["1", "1", "", "7", "1"], at), "18,612", at)
    assert isinstance(refused, Problem)
    assert " 18612;" in refused.next_step
    assert refused.next_step.endswith(" 18.612")


@pytest.mark.parametrize(
    ("typed", "step"),
    [
        ("1.250", "escríbalo sin punto, 1250; o así si son decimales, 1.25"),
        ("~1.255 gal", "escríbalo sin punto, ~1255 gal; o así si son decimales, ~1.2550 gal"),
        ("1,250", "escríbalo sin coma, 1250; o con punto si son decimales, 1.25"),
    ],
)
def test_a_thousand_with_a_point_is_asked_back_with_figures_that_are_taken(typed: str, step: str) -> None:
    """'1.250' is a thousand to many; either figure of the advice is taken when it is typed."""
    at = setting("es")
    draft = until("used", at)
    refused = answer(draft, typed, at)
    assert isinstance(refused, Problem)
    assert refused.next_step == step
    for figure in (typed.replace(".", "").replace(",", ""), step.rpartition(", ")[2]):
        assert not isinstance(answer(draft, figure, at), Problem), figure


@pytest.mark.parametrize("typed", ["26.125 in", "12,5 in", "1.250 buckets"])
def test_no_figure_is_advised_that_would_be_refused_again(typed: str) -> None:
    """Inches are no volume, with whichever mark they are written: what is wrong is the unit, and the units are told."""
    at = setting("en")
    refused = answer(until("used", at), typed, at)
    assert isinstance(refused, Problem)
    assert refused.next_step.startswith("use L, gal, ")
    at = setting("es")
    refused = answer(until("used", at), typed, at)
    assert isinstance(refused, Problem)
    assert refused.next_step.startswith("galones como 450")


def test_a_letter_alone_is_no_name_until_it_is_said_again() -> None:
    """A key of another list, pressed where a site is asked, became a site."""
    at = setting("es")
    draft = answered(["x"], at, until("1/site", at))
    assert asked(draft, at).text.startswith("x no está en ")
    assert [option.label for option in asked(draft, at).options] == ["sí, es x"]
    assert entry_of(answered(["1"], at, draft), at)["line"][0]["site"] == "x"
    assert asked(back(draft), at).key == "1/site"
    made = Pages()
    made.take("registers", {"business": REGISTERS["business"]})
    fresh = setting(made=made)
    assert asked(answered(["B"], fresh), fresh).key == "lead"  # no rig is on file: it may well be called that


def test_the_spanish_questions_speak_of_what_a_crew_sees() -> None:
    """No word of the record's own, the unit of the figure beside it, and letters of Spanish words."""
    at = setting("es")
    assert asked(until("date", at), at).hint.endswith("a = ayer")
    assert asked(until("used", at), at).hint.startswith("galones como ")
    took = answered(["1", "1", "", "2"], at)
    assert asked(took, at).text == "De dónde vino el agua limpia"
    assert asked(answered([""], at, took), at).text == "Cuánta agua limpia"
    gone = answered(["1", "1", "", "6", "n"], at)
    assert asked(gone, at).text == "Hasta dónde llegó"
    day = asked(answered(["22"], at, dump(at, "400", "1")), at)
    assert day.text == "Qué día"
    assert [option.label for option in day.options] == ["2026-09-14 22:00, lunes", "2026-09-15 22:00, martes"]
    dumped = answered(["", "0"], at, dump(at, "400", "1"))
    assert "se entregó, como ya dije" in [option.label for option in asked(dumped, at).options]


def test_a_ticket_that_comes_later_is_told_in_the_language() -> None:
    """The last screen of a Spanish night said 'later'."""
    at = setting("es")
    told = ["1", "1", "", "1", "1", "1", "0", "1", "450", "430", "", "", "", "", ""]
    draft = answered(told, at)
    assert asked(draft, at).hint == "su número, y Enter"
    assert summary(answered(["l"], at, draft), at)[-1] == ("Recibo", "después")


def test_a_product_is_put_where_it_was_used() -> None:
    """At one stop with its amount, or at each that was worked without one."""
    at = setting()
    told = ["1", "1", "", "1", "1", "1", "1", "2", "1", "1", "3", "2", "locked", "0", "a", "", "", "1", "1", "2",
            "1", "2", "0.5", "2", "", ""]  # fmt: skip
    draft = answered(told, at)
    lines = entry_of(draft, at)["line"]
    assert lines[0]["agents"] == [{"agent": "Bright bleach"}]
    assert lines[1]["agents"] == [{"agent": "Citrus degreaser", "amount": "0.5"}, {"agent": "Bright bleach"}]
    assert "agents" not in lines[2]
    assert stored(draft, at)["lines"][1]["fields"]["agents"][0]["amount"] == "0.5 gal"


def test_the_only_stop_needs_no_number() -> None:
    """With one stop worked, the product was used there."""
    at = setting()
    draft = answered(["2", "1", "n"], at, until("agent_use", at))
    assert entry_of(draft, at)["line"][0]["agents"] == [{"agent": "Citrus degreaser", "amount": "not read"}]


def test_cautions_are_shown_once_where_the_danger_is_entered() -> None:
    """A tank reading, then a product: each brings its own words, and none comes twice."""
    at = setting()
    draft = answered(["1", "1", "", "7"], at)
    assert [text[:21] for text in cautions(draft, at)] == ["Read tanks from outsi"]
    draft = answered(["1"], at, draft)
    assert cautions(draft, at) == ()
    draft = answered(["2", "2", "n"], at, until("agent_use", at))
    assert any(text.startswith("NEVER let bleach meet acid") for text in cautions(draft, at))
    es = setting("es")
    draft = answered(["k"], es, until("recovered", es))
    assert any(text.startswith("Lea el tanque desde afuera.") for text in cautions(draft, es))


def test_the_ticket_of_a_place_without_a_line_is_asked_for_the_run() -> None:
    """Three numbers and a place are a whole night; its ticket stands with the run."""
    at = setting()
    told = ["1", "1", "", "1", "1", "1", "0", "1", "450", "430", "", "", "", "", "", "NY-2231", "", "1"]
    draft = answered(told, at)
    fields = stored(draft, at)["fields"]
    assert (fields["where"], fields["ticket"]) == ("North Yard station", "NY-2231")


def test_where_offers_the_lines_only_when_there_is_one() -> None:
    """'see lines' is no answer on a night without a handover."""
    at = setting()
    assert "see lines" not in [option.value for option in asked(until("where", at), at).options]


@pytest.mark.parametrize(
    ("keys", "form"),
    [
        (["k", "2", "30.5"], {"method": "mark", "tank": "Big Blue recovery", "before": "2", "after": "30.5"}),
        (["k", "e", "n"], {"method": "mark", "tank": "Big Blue recovery", "before": "empty", "after": "not read"}),
        (["f", "1"], {"method": "fills", "tank": "Big Blue recovery", "times": "1"}),
        (["c", "3"], {"method": "count", "vessel": "Blue drum", "times": "3"}),
    ],
)  # fmt: skip
def test_recovered_water_is_told_by_the_ways_that_the_rig_has(keys: list[str], form: dict[str, str]) -> None:
    """A tank's marks, fills to its float, a vessel: whatever stands on the registers."""
    at = setting()
    draft = answered(keys, at, until("recovered", at))
    assert entry_of(draft, at)["recovered"] == form


def test_used_water_may_be_run_time_times_a_flow_test() -> None:
    """Minutes, or that nobody looked at the clock."""
    at = setting()
    draft = answered(["t", "95"], at, until("used", at))
    assert entry_of(draft, at)["used"] == {"method": "time", "flow": "Bucket test", "minutes": "95"}
    assert isinstance(answer(answered(["t"], at, until("used", at)), "an hour", at), Problem)
    assert isinstance(answer(answered(["t"], at, until("used", at)), "", at), Problem)


def test_one_of_several_instruments_is_chosen() -> None:
    """Two meters for the supply are told apart by one key."""
    made = book()
    made.take("registers", {"instrument": [{"name": "Spare meter", "rig": "Big Blue", "kind": "meter"}]})
    at = setting(made=made)
    draft = answered(["m", "2", "5", "9"], at, until("used", at))
    assert entry_of(draft, at)["used"]["meter"] == "Spare meter"


def test_one_of_several_tanks_is_chosen() -> None:
    """A rig with two recovery tanks is asked which; a rig with none on its register is not."""
    made = book()
    made.take("registers", {"tank": [{"name": "Blue side tank", "rig": "Big Blue", "role": "recovery"}]})
    at = setting(made=made)
    told = ["1", "1", "", "1", "1", "1", "4", "2", "5", "", ""]
    lines = entry_of(answered(told, at), at)["line"]
    assert lines[1:] == [{"line": "tank full", "tank": "Blue side tank"}, {"line": "use again"}]
    told = ["o", "The Loaner", "1", "", "1", "1", "1", "4", "0", "a"]
    assert entry_of(answered(told, at), at)["line"][1] == {"line": "tank full"}


def test_a_tank_may_be_left_at_a_level() -> None:
    """After a dump in part, the level is typed; Enter leaves it open."""
    at = setting()
    told = ["1", "1", "", "1", "1", "1", "3", "1", "700", "600", "2", "12.5", "", "3", "2", "n", "", "0500"]
    draft = answered(told, at)
    assert asked(draft, at).key == "3/at/day"
    draft = answered(["2", "3", "1", "", "n", "0600"], at, draft)
    lines = entry_of(draft, at)["line"]
    assert lines[1]["tank_after"] == "12.5"
    assert lines[1]["amount"] == "600"
    assert "tank_after" not in lines[2]
    assert lines[2]["at"] == "2026-09-15T05:00"
    assert lines[3]["at"] == "0600"


@pytest.mark.parametrize(
    ("typed", "day"), [("y", "2026-09-14"), ("ayer", "2026-09-14"), ("2026-09-11", "2026-09-11"), ("", "2026-09-14")]
)
def test_the_date_is_typed_or_taken_as_shown(typed: str, day: str) -> None:
    """Before noon, the night that is meant began yesterday."""
    at = setting()
    assert entry_of(answered([typed], at, until("date", at)), at)["date"] == day


def test_after_noon_tonight_is_today() -> None:
    """At seven in the evening the night has today's date."""
    state = book().state
    assert state is not None
    at = Setting(state, "es", datetime(2026, 9, 14, 19, 0, tzinfo=ZoneInfo("America/Denver")))
    assert asked(answered(["1", "1"], at), at).enter == "Enter = 2026-09-14, lunes"


def test_progress_counts_the_five_that_are_needed() -> None:
    """Rig, lead, date, a stop, and where the water is."""
    at = setting()
    assert progress(new_draft("en", ID), at).needed == 0
    told = answered(["1", "1", "", "1", "1", "1"], at)
    assert progress(told, at).text == "4 of 5 needed, stop 1"
    assert progress(answered(ROUTE_NIGHT, at), at).needed == 5


def test_the_summary_says_what_was_passed_over() -> None:
    """Labels in the language, answers in its words, 'not recorded yet' where Enter was pressed."""
    at = setting("es")
    draft = answered(ROUTE_NIGHT[:-1], at)
    assert summary(draft, at) == [
        ("Camión de lavado", "Big Blue"),
        ("Quien dirige la cuadrilla", "Rosa Iglesias"),
        ("Fecha de inicio", "2026-09-14"),
        ("Paradas", "trabajadas: 8, no trabajadas: 0"),
        ("Dónde está el agua", "se entregó, como ya dije"),
        ("Agua utilizada en el lavado", "Blue supply meter, 10005, 10460"),
        ("Agua recuperada", "no lo leí"),
        ("Agua que se escapó", "miré y no vi"),
        ("Desagües pluviales", "como estaba previsto"),
        ("Producto de limpieza", "no usé ninguno"),
        ("Filtros", "lo limpié"),
        ("Lluvia", "no llovió"),
    ]
    assert summary(new_draft("en", ID), setting())[0] == ("Rig", "not recorded yet")


def test_the_summary_says_whatever_else_a_night_is_asked_to_choose(monkeypatch: pytest.MonkeyPatch) -> None:
    """A question that came later is not handed in unseen."""

    def sock(setting: Setting, raw: dict[str, Any]) -> Asking:
        raw["sock"] = yield from choice(setting, "sock", "run", "sock")

    monkeypatch.setattr(night_found, "_tickets", sock)
    at = setting()
    told = answered([*ROUTE_NIGHT[:-3], "2"], at)
    assert ("Strainer sock", "cleaned") in summary(told, at)


def test_the_summary_says_what_got_away() -> None:
    """Each escape with what it reached and how much, as it was told."""
    at = setting("es")
    told = [
        "1",
        "1",
        "",
        "1",
        "1",
        "1",
        "6",
        "se soltó la manga",
        "2",
        "0",
        "6",
        "goteo",
        "",
        "n",
        "0",
        "a",
        "",
        "",
        "3",
    ]
    rows = summary(answered(told, at), at)
    here = rows.index(("Agua que se escapó", "sí, vi"))
    assert rows[here + 1 : here + 3] == [
        ("  Qué pasó", "se soltó la manga, cuneta o calle, 0"),
        ("  Qué pasó", "goteo, no lo leí"),
    ]
    assert not any(label == "  Qué pasó" for label, _ in summary(answered(ROUTE_NIGHT, at), at))


def test_the_last_question_hands_in_or_keeps() -> None:
    """Nothing follows it."""
    at = setting()
    draft = answered(ROUTE_NIGHT, at)
    assert handing_in(draft) == "hand in"
    assert handing_in(answered([*ROUTE_NIGHT[:-1], "2"], at)) == "keep"
    assert handing_in(back(draft)) is None
    assert isinstance(answer(draft, "1", at), Problem)


def test_many_names_are_picked_by_number_and_enter() -> None:
    """More rigs than digits: the number is typed."""
    made = book()
    made.take("registers", {"rig": [{"name": f"Truck {n}"} for n in range(3, 14)]})
    at = setting(made=made)
    assert entry_of(answered(["12"], at), at)["rig"] == "Truck 12"


def test_a_kept_draft_is_asked_its_last_question_again() -> None:
    """Taken up another day, it may be handed in."""
    at = setting()
    kept = answered([*ROUTE_NIGHT[:-1], "2"], at)
    assert next_question(kept, at) is None
    again = resumed(kept)
    assert asked(again, at).key == "do"
    assert handing_in(answered(["1"], at, again)) == "hand in"
    begun = answered(ROUTE_NIGHT[:5], at)
    assert resumed(begun) == begun


def test_of_a_long_register_the_sites_worked_last_are_offered() -> None:
    """Thirty at most; any other is typed, and found in spite of its case."""
    visited = [{"line": "stop", "site": site} for site in ("Dock Street Market", "Off the list")]
    made = book({**NIGHT, "line": visited})
    made.take("registers", {"site": [{"name": f"Lot {n}"} for n in range(200)]})
    at = setting(made=made)
    options = asked(until("1/site", at), at).options
    assert [option.value for option in options[:2]] == ["Dock Street Market", "Fernwood Plaza"]
    assert len(options) == MOST_OFFERED
    draft = answered(["LOT 199"], at, until("1/site", at))
    assert asked(draft, at).key == "1/worked"
    assert stored(answered(["1", "0", "a", *[""] * 8, "1"], at, draft), at)["lines"][0]["fields"]["site"] == "Lot 199"


def test_a_whole_night_of_known_sites_is_offered_from_its_first_stop() -> None:
    """Where the latest night fills the list, no earlier one is looked at."""
    lots = [{"line": "stop", "site": f"Lot {n}"} for n in range(40)]
    many = book(*({**NIGHT, "date": f"2026-08-{day:02}", "line": lots} for day in (1, 2)))
    many.take("registers", {"site": [{"name": f"Lot {n}"} for n in range(40)]})
    at = setting(made=many)
    assert asked(until("1/site", at), at).options[0].value == "Lot 0"


CASE_1 = (
    "1", "2", "2026-09-01", "7", "1", "e", "1", "1", "1", "7", "1", "26.5", "3", "2", "m", "18240", "18612", "1",
    "22:45", "1", "0", "l", "m", "998870", "999307", "380", "1", "1", "1", "2", "1", "x", "", "1",
)  # fmt: skip
CASE_2 = (
    "1", "3", "2026-09-03", "7", "1", "e", *(key for site in "16458739" for key in ("1", site, "1")), "7", "1", "30.5",
    "3", "1", "m", "18612", "19043", "1", "05:20", "2", "0", "l", "m", "999307", "999812", "435", "1", "1", "1", "2",
    "1", "R-20914", "", "1",
)  # fmt: skip


@pytest.mark.parametrize(("case", "typed"), [("01", CASE_1), ("02", CASE_2)])
def test_a_sample_night_can_be_typed_as_it_was_measured(case: str, typed: tuple[str, ...]) -> None:
    """The water of the night is the one that was worked out by hand, whichever door the night came through."""
    (folder,) = SAMPLES.glob(f"case-{case}-*")
    at = Setting(state_of(), "en", DAWN, {})
    (checked,) = check("run", entry_of(answered(typed, at), at), state=at.state, where="the questions", now=at.now)
    made = entry(checked, now=at.now.isoformat(), token=lambda: b"0" * 16)
    record = Record(99, made.id, made.kind, made.schema, made.event_time, made.device_time, "", made.payload)
    found = calculate(gather([*records_of(), record]))
    ((ref, wanted),) = expected_of(folder)["run"].items()
    run = next(run for run in found.runs.values() if run.ref == ref)
    for name in ("used", "captured"):
        figure = getattr(run, name).figure
        assert (str(figure.best), f"{figure.expanded():.2f}") == (wanted[name], wanted[f"{name}_pm"])
    (load,) = found.loads.values()
    handed = expected_of(folder)["load"][load.name]["handed_over"]
    assert str(load.handed_over.best) == handed and load.closing.best == 0
