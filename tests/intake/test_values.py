"""One value of one field: stored forms, answers without a value, figures that cannot be meant."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.intake.checked import Bench, bench
from compliance.intake.near import MOST_COMPARED, nearest
from compliance.intake.values import MOST_GUESSES, MOST_ITEMS, check_fields, check_value, speak
from compliance.records.answer import SPOKEN
from compliance.records.fields import CHOICE, GROUPS, REQUIRED, field
from compliance.records.measure import LEVEL_WORDS

from .making import NOW, pages

STATE = pages().state


def looked_at(group: str, name: str, raw: Any, /, **beside: Any) -> tuple[Any, Bench]:
    work = bench(STATE, NOW)
    return check_value(group, field(group, name), raw, name, "here", work, beside), work


def value(group: str, name: str, raw: Any, /, **beside: Any) -> Any:
    found, work = looked_at(group, name, raw, **beside)
    assert work.problems == []
    return found


def refused(group: str, name: str, raw: Any, /, **beside: Any) -> str:
    found, work = looked_at(group, name, raw, **beside)
    assert found is None
    assert len(work.problems) == 1
    return work.problems[0].what


CHOICES = [(group, row) for group, rows in GROUPS.items() for row in rows if row.type == CHOICE]


@pytest.mark.parametrize(("group", "row"), CHOICES, ids=lambda x: x if isinstance(x, str) else x.name)
def test_a_choice_is_taken_in_either_language_and_any_case(group: str, row: Any) -> None:
    """English and Spanish labels, capitals, accents left out: the English word is stored, nothing typed beside it."""
    for choice in row.choices:
        plain = choice.es.translate(str.maketrans("áéíóúñü", "aeiounu"))
        said = choice.said or choice.es
        for word in (choice.value, choice.es, said, said.upper(), choice.value.upper(), plain, f" {choice.es} "):
            found, work = looked_at(group, row.name, word)
            assert found == choice.value
            assert work.typed == {}


@pytest.mark.parametrize(("spoken", "written"), SPOKEN.items())
def test_a_spoken_answer_is_written_down_in_any_field(spoken: str, written: str) -> None:
    """In text, figures, names, dates and lists of answers alike; it is no value and keeps no typed text."""
    for group, name in (("run", "ticket"), ("run", "used"), ("stop", "area"), ("stop", "job"), ("stop", "arrived"),
                        ("ticket", "date"), ("reading", "shows")):  # fmt: skip
        found, work = looked_at(group, name, spoken.upper())
        assert (found, work.typed) == (written, {})
    assert speak(spoken) == written
    assert value("run", "filters", "no aplica") == "not applicable"


def test_did_not_look_is_an_answer_of_its_own_where_the_field_offers_it() -> None:
    """Of water that got away, 'did not look' is one of its three answers, in Spanish too."""
    assert value("run", "got_away", "no miré") == "did not look"
    assert value("run", "got_away", "not read") == "not read"


def test_yes_and_no_of_a_file_are_the_words() -> None:
    """true is 'yes' where 'yes' is an answer, and none anywhere else."""
    assert value("stop", "hot", True) == "yes"
    assert value("stop", "hot", False) == "no"
    assert refused("run", "rain", True) == "true without quotes is not an answer here"
    assert refused("run", "rain", ["none"]) == "a list is not an answer here"


@pytest.mark.parametrize("raw", [None, "", "   ", "\n"])
def test_silence_is_no_value(raw: Any) -> None:
    """Left out, null, blank: not recorded yet, whatever the type."""
    for group, rows in GROUPS.items():
        for row in rows:
            assert looked_at(group, row.name, raw)[0] is None


def test_zero_is_a_value() -> None:
    """0 gallons, 0 drains: somebody counted."""
    assert value("run", "used", 0) == "0 gal"
    assert value("site", "drains", "0") == 0


def test_what_was_needed_cannot_be_an_answer_without_value() -> None:
    """A rig is not 'not read', a role not 'not applicable'."""
    assert refused("run", "rig", "not read") == "'Rig' cannot be 'not read'"
    assert refused("tank", "role", "n/a").endswith("is not an answer here")


@pytest.mark.parametrize(
    ("raw", "stored"),
    [("450", "450 gal"), (450, "450 gal"), ("12.50", "12.50 gal"), ("~450 galones", "~450 gal"), ("450 L", "450 L")],
)
def test_a_figure_keeps_its_digits_and_what_was_typed(raw: Any, stored: str) -> None:
    """The stored form has its unit; the text as it came stands beside it."""
    found, work = looked_at("run", "used", raw)
    assert found == stored
    assert work.typed == ({} if raw == stored else {"used": str(raw)})


def test_a_binary_number_is_refused() -> None:
    """A float has lost what was typed before it came here."""
    assert refused("run", "used", 0.1) == "0.1 came as a binary number"
    assert refused("run", "used", {"method": "fills", "tank": "T", "times": 1.5}).startswith("1.5 is not a text")


@pytest.mark.parametrize(
    ("of", "raw", "stored"),
    [
        ("Big Blue recovery", "12.5", "12.5 in"),
        ("big blue recovery", "VACÍO", "empty"),
        ("Big Blue recovery", "lleno", "full"),
        ("Big Blue recovery", "140 gal", "140 gal"),
        ("Blue supply meter", "1450.50", "1450.50 count"),
        ("Blue supply meter", "1450 gal", "1450 count"),
        ("Something else", "1450", "1450 count"),
        ("Something else", "12.5 in", "12.5 in"),
    ],
)
def test_a_reading_is_read_as_what_it_was_read_from(of: str, raw: str, stored: str) -> None:
    """A tank shows a level, a meter its own figure; of an unknown thing a bare figure stays a bare figure."""
    assert value("reading", "shows", raw, of=of) == stored


@pytest.mark.parametrize(
    ("of", "raw"),
    [("Blue supply meter", "1450 L"), ("Blue supply meter", ">=1450"), ("Big Blue recovery", "half"),
     ("Something else", "much"), ("Big Blue recovery", "9999 in")],
)  # fmt: skip
def test_a_reading_that_cannot_be_is_refused(of: str, raw: str) -> None:
    """A register has one unit and one figure."""
    refused("reading", "shows", raw, of=of)


def test_the_tank_afterwards_is_a_mark_or_a_level() -> None:
    """'empty' in either language, inches, a volume."""
    assert value("hand over", "tank_after", "vacío") == "empty"
    assert value("hand over", "tank_after", "3") == "3 in"
    assert value("hand over", "tank_after", "not read") == "not read"
    assert refused("hand over", "tank_after", "nearly") == "'nearly' is not a tank level"


def test_a_step_of_an_instrument_is_in_its_own_unit() -> None:
    """'0.1 gal' on a meter of gallons is 0.1; litres on it are refused."""
    assert value("instrument", "step", "0.1 gal", unit="gal") == "0.1 count"
    assert value("instrument", "rolls_over_at", "100000 ft3", unit="ft3") == "100000 count"
    assert refused("instrument", "step", "0.1 L", unit="gal") == "'0.1 L' is a volume, a number is asked for"


def test_a_limit_of_days_aboard_is_in_days() -> None:
    """A bare number is percent for a ratio, days for a time aboard."""
    assert value("limit", "value", "85", name="recovery ratio") == "85 %"
    assert value("limit", "value", "5", name="Days aboard") == "5 days"


def test_a_bare_number_is_in_the_unit_of_the_book() -> None:
    """Volumes and flows; an inch stays an inch."""
    work = bench(STATE, NOW)
    work.unit = "L"
    assert check_value("tank", field("tank", "capacity"), "2000", "", "", work, {}) == "2000 L"
    assert check_value("instrument", field("instrument", "rate"), "18", "", "", work, {}) == "18 L/min"
    assert check_value("tank", field("tank", "length"), "66", "", "", work, {}) == "66 in"


@pytest.mark.parametrize(
    ("group", "name", "raw"),
    [("run", "used", "1000001 gal"), ("run", "used", "4000000 L"), ("hand over", "ph", "14.1"),
     ("stop", "area", ">=99999999 ft2"), ("permission", "longest_aboard", "9999"), ("tank", "accuracy", "1001 %"),
     ("run", "used", {"method": "meter", "meter": "M", "start": "0", "end": "9999999999999"})],
)  # fmt: skip
def test_a_figure_that_cannot_be_meant_is_refused(group: str, name: str, raw: Any) -> None:
    """A telephone number in the wrong field is not a volume."""
    assert "is more than can be meant" in refused(group, name, raw)


def test_a_bound_that_is_open_above_is_looked_at_below() -> None:
    """'at least 500' has no upper figure to judge."""
    assert value("run", "used", ">=500") == ">=500 gal"
    assert value("run", "used", "<=500") == "<=500 gal"


def test_names_within_a_measure_are_spelled_as_their_register_does() -> None:
    """The method in any case, the meter in any spelling; both texts are kept."""
    found, work = looked_at(
        "run", "used", {"method": "Meter", "meter": "BLUE supply meter", "start": 5, "end": "no lo leí"}
    )
    assert found == {"method": "meter", "meter": "Blue supply meter", "start": "5", "end": "not read"}
    assert work.typed == {"used/meter": "BLUE supply meter"}


def test_a_measure_is_refused_with_what_no_page_prints() -> None:
    """A ticket number within it is a text like any other."""
    raw = {"method": "ticket", "ticket": "NY\x07", "amount": "5 gal", "meter": None}
    assert "cannot be printed" in refused("run", "used", raw)
    assert value("run", "used", "no aplica") == "not applicable"
    assert refused("run", "used", "5" * 300).startswith("this is 300 characters long")


@pytest.mark.parametrize("word", LEVEL_WORDS)
def test_marks_within_a_measure_are_taken_in_spanish(word: str) -> None:
    """'vacío' and 'lleno' are marks that everybody reads the same way."""
    spanish = {"empty": "vacío", "full": "LLENO"}[word]
    raw = {"method": "mark", "tank": "Big Blue recovery", "before": spanish, "after": "3"}
    assert value("run", "recovered", raw)["before"] == word


def test_a_name_on_no_register_is_kept_with_a_note_of_what_is_near() -> None:
    """Never a gate; a name that is near nothing brings no note."""
    found, work = looked_at("run", "rig", "Big Bleu")
    assert found == "Big Bleu"
    assert work.notes == ["here, Rig (rig): 'Big Bleu' is not on the register; 'Big Blue' is"]
    assert looked_at("run", "rig", "Slate Gull")[1].notes == []


def test_guessing_among_names_has_an_end() -> None:
    """A file of nothing but unknown names is read without a wait."""
    work = bench(STATE, NOW)
    for n in range(MOST_GUESSES + 20):
        check_value("run", field("run", "rig"), f"Big Blu{n}", "", "", work, {})
    assert len([near for near in work.near.values() if near is not None]) <= MOST_GUESSES
    assert nearest("x", (str(n) for n in range(MOST_COMPARED + 5))) is None


def test_where_is_a_word_or_a_place() -> None:
    """Its words in either language, or a place as its register spells it."""
    assert value("run", "where", "A BORDO") == "aboard"
    assert value("run", "where", "north yard STATION") == "North Yard station"


def test_lists_of_entries_are_looked_at_one_by_one() -> None:
    """Each entry by its number; an empty list is silence; too many are refused."""
    drains = [{"name": "NE inlet", "seen": "se vio entrar"}, {"method": "mat"}]
    found, work = looked_at("stop", "drain_list", drains)
    assert [p.where for p in work.problems] == ["here, Drain by drain (drain_list) no. 2"]
    assert found == [{"name": "NE inlet", "seen": "seen entering"}, {"method": "mat"}]
    assert value("stop", "drain_list", []) is None
    assert refused("stop", "drain_list", [{"name": "x"}] * (MOST_ITEMS + 1)).startswith("501 entries are more than")
    assert refused("stop", "drain_list", ["NE inlet"]) == "a list is not a list of entries"


def test_an_entry_that_is_only_changed_needs_nothing_again() -> None:
    """Fields that stand there already are not missing."""
    work = bench(STATE, NOW)
    assert check_fields("tank", {"capacity": "500"}, "", "here", work, required=False) == {"capacity": "500 gal"}
    assert work.problems == []


NEEDED = [(group, row.name) for group, rows in GROUPS.items() for row in rows if row.need == REQUIRED]


@pytest.mark.parametrize(("group", "name"), NEEDED)
def test_what_is_needed_and_missing_is_said_by_its_key(group: str, name: str) -> None:
    """The next step is what to add."""
    work = bench(STATE, NOW)
    check_fields(group, {}, "", "here", work)
    assert any(problem.next_step.startswith(f"add {name} = ...") for problem in work.problems)


PLAIN = st.none() | st.booleans() | st.integers() | st.text(max_size=30)
KEYS = st.sampled_from(["method", "tank", "x", "name"])
JSON = st.recursive(
    PLAIN | st.sampled_from(["450 gal", "21:30", "not read"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3),
    max_leaves=6,
)
FIELDS = [(group, row) for group, rows in GROUPS.items() for row in rows]


@given(st.sampled_from(FIELDS), JSON)
def test_nothing_that_a_file_can_hold_breaks_the_validator(where: tuple[str, Any], raw: Any) -> None:
    """Any JSON value in any field is stored, silent, or refused with a problem."""
    group, row = where
    work = bench(STATE, NOW)
    found = check_value(group, row, raw, row.name, "here", work, {})
    if work.problems and row.type != "group":
        assert found is None
    for problem in work.problems:
        assert problem.what
        assert problem.next_step
        assert len(problem.what) < 400
