"""The keying workbook read back: every answer of the card arrives where it belongs, and nothing is taken on trust."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, datetime, time
from decimal import Decimal
from pathlib import Path
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile

import pytest
from openpyxl import Workbook, load_workbook

from compliance.intake.card_lines import FIGURE, NIGHT, STOP, TALLY, TICKS, Ask, night_ask, stop_ask
from compliance.intake.entries import entry
from compliance.intake.fromfile import Read
from compliance.intake.keyed_night import NO_REASON, Row, night_of
from compliance.intake.keying import FORM_SHEET, is_keying_workbook, read_keying
from compliance.intake.run import check_run
from compliance.intake.serial import serial_id
from compliance.intake.wording import say
from compliance.records.envelope import Record
from compliance.records.problem import Problem
from compliance.records.state import gather
from compliance.reports.model import Language
from compliance.reports.words import LANGUAGES
from compliance.water.fold import calculate
from compliance.water.volume import Volume
from tests.cases import NOW, SAMPLES, expected_of, records_of, state_of

from .keyed import CARD, OTHER, SITES, fill, night, stop

STATE = state_of()
REGISTERS = STATE.registers


def raws(path: Path) -> list[dict[str, Any]]:
    """The nights of a workbook that must have no problem."""
    read = read_keying(path, REGISTERS)
    assert all(isinstance(one, Read) for one in read), read
    return [dict(one.raw) for one in read if isinstance(one, Read)]


def told(path: Path) -> list[Problem]:
    """The problems of a workbook that must have some."""
    read = read_keying(path, REGISTERS)
    assert read
    assert all(isinstance(one, Problem) for one in read), read
    return [one for one in read if isinstance(one, Problem)]


def made(nights: dict[str, Any], *stops: dict[str, Any], registers: Any = REGISTERS) -> Any:
    """The raw entry of one card from its cells, or its problems, without a file around them."""
    cells = [{key: str(value) for key, value in one.items() if key != "card"} for one in stops]
    rows = [Row(f"stops, row {n}", one) for n, one in enumerate(cells, start=3)]
    return night_of(Row("nights, row 3", {key: str(value) for key, value in nights.items()}), rows, registers, "gal")


def lines(raw: Any, *kinds: str) -> list[dict[str, Any]]:
    """The lines of some kinds."""
    assert isinstance(raw, dict), raw
    return [line for line in raw["line"] if line["line"] in kinds]


# ---- the route night of sample case 2 --------------------------------------------------------------------------


def route_night(language: Language) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Case 2 as its crew would tick it: eight stops, one tank mark after the last, the tank dumped at dawn."""

    def tick(key: str, value: str) -> str:
        return (stop_ask(key) if key in ("on_site", "work", "drains", "covers", "got_away") else night_ask(key)).answer(
            value, language
        )

    ticks = {
        "on_site": tick("on_site", "arrived"), "work": tick("work", "done"), "drains": tick("drains", "covered"),
        "covers": tick("covers", "cover lifted"), "got_away": tick("got_away", "saw none"),
    }  # fmt: skip
    stops = [{"card": CARD, "n": n, "site": site, **ticks} for n, site in enumerate(SITES, start=1)]
    stops[-1] |= {"drains": tick("drains", "none there"), "mark": 30.5}
    nights = {
        "card": CARD, "date": date(2026, 9, 3), "rig": "Big Blue", "lead": "Tomás Ibarra", "crew": "Eli Sandoval",
        "start": "20:20", "end": time(6, 5), "tank_start": say("empty", language), "tank_now": say("empty", language),
        "supply_start": 999307, "supply_end": "999812", "handover_start": 18612, "handover_end": 19043,
        "where": "Port Alder receiving station", "ticket": "R-20914",
        "agent_use": tick("agent_use", "none used"), "sock": tick("sock", "cleaned"),
        "cartridges": tick("cartridges", "same"), "rain": tick("rain", "none"),
    }  # fmt: skip
    return [nights], stops


EXPECTED: dict[str, Any] = {
    "card": CARD, "date": "2026-09-03", "rig": "Big Blue", "lead": "Tomás Ibarra", "crew": "Eli Sandoval",
    "start": "20:20", "end": "06:05", "where": "Port Alder receiving station",
    "used": {"method": "meter", "meter": "Big Blue supply meter", "start": "999307", "end": "999812"},
    "agent_use": "none used", "sock": "cleaned", "cartridges": "same", "filters": "cleaned", "rain": "none",
    "line": [
        {"line": "reading", "of": "Big Blue recovery", "shows": "empty"},
        *({"line": "stop", "site": site, "on_site": "arrived", "work": "done", "covers": "cover lifted",
           "drains": "covered" if site != SITES[-1] else "none there", "got_away": "saw none"} for site in SITES),
        {"line": "reading", "of": "Big Blue recovery", "shows": "30.5 in"},
        {"line": "hand over", "place": "Port Alder receiving station", "tank": "Big Blue recovery",
         "amount": {"method": "meter", "meter": "Big Blue transfer meter", "start": "18612", "end": "19043"},
         "tank_after": "empty", "ticket": "R-20914"},
    ],
}  # fmt: skip


def in_words_of_the_table(raw: dict[str, Any]) -> dict[str, Any]:
    """What the validator makes of it: 'vacío' and 'empty' are one word there."""
    checked = check_run(raw, state=STATE, where="here", now=NOW)
    assert checked.problems == ()
    assert checked.payload is not None
    return checked.payload


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_route_night_comes_back_from_either_language(tmp_path: Path, language: Language) -> None:
    """Card values, keyed, read and checked: the payload of the night, the same from either form."""
    (raw,) = raws(fill(tmp_path / "keyed.xlsx", *route_night(language), language, REGISTERS))
    if language == "en":
        assert raw == EXPECTED
    payload, expected = in_words_of_the_table(raw), in_words_of_the_table(EXPECTED)
    assert payload["fields"] == expected["fields"]
    assert payload["lines"] == expected["lines"]


def test_a_night_from_a_card_has_the_figures_of_the_same_night_in_full() -> None:
    """Used, captured, ratio and handover are those of the worked case; the shares stand on what the card knows."""
    records = records_of()
    checked = check_run(EXPECTED, state=gather(records), where="here", now=NOW)
    new = entry(checked, now=NOW.isoformat(), token=bytes)
    assert new.id == serial_id(CARD)
    received = NOW.isoformat()
    records.append(
        Record(len(records) + 1, new.id, new.kind, new.schema, new.event_time, received, received, new.payload)
    )
    (run,) = calculate(gather(records)).runs.values()
    known = expected_of(SAMPLES / "case-02-route-night")["run"]["2026-09-03-big-blue"]
    for figure, key in ((run.used.figure, "used"), (run.captured.figure, "captured")):
        assert isinstance(figure, Volume)
        assert f"{figure.best:.2f}" == known[key]
    assert run.ratio.value is not None
    assert f"{run.ratio.value:.4f}" == known["ratio"]["value"]
    shares = [one.captured.figure for one in run.stops]
    assert all(isinstance(share, Volume) for share in shares)
    assert sum(share.best or Decimal(0) for share in shares if isinstance(share, Volume)) == Decimal("435.71")
    assert {one.captured_basis for one in run.stops} == {"equal parts"}


# ---- every answer of the card ----------------------------------------------------------------------------------

_TYPED = {"card": OTHER, "date": "2026-09-04", "start": "19:50", "end": "23:55", "jugs_1": "2", "jugs_2": "3"}
_BESIDE: dict[str, dict[str, str]] = {
    "supply_start": {"supply_end": "7"}, "supply_end": {"supply_start": "7"}, "supply_meter": {"supply_end": "7"},
    "handover_start": {"handover_end": "7", "where": "Cleanout"}, "handover_end": {"handover_start": "7"},
    "handover_meter": {"handover_end": "7"}, "jugs_1": {"agent_1": "soap"}, "jugs_2": {"agent_2": "soap"},
    "size_1": {"agent_1": "soap"}, "size_2": {"agent_2": "soap"}, "tank": {"tank_now": "5 in"},
}  # fmt: skip
"""What has to be keyed too, for an answer to have its meaning."""


def answers(ask: Ask) -> Sequence[str]:
    """Every answer that the card has a box for, or something written."""
    if ask.way == TICKS or ask.printed:
        return [*ask.printed, *(["Dry Fork"] if ask.key == "where" else [])]
    if ask.way in (FIGURE, TALLY):
        return ["2"]
    return [_TYPED.get(ask.key, "something written")]


def holds(value: Any, wanted: str, name: str) -> bool:
    """Whether a field of that name, or a part of its measure, holds an answer anywhere in an entry."""
    if isinstance(value, dict):
        own = value.get(name)
        mine = own.values() if isinstance(own, dict) else [own]
        return any(str(part).split(" ")[0] == wanted or part == wanted for part in mine) or any(
            holds(part, wanted, name) for part in value.values()
        )
    return isinstance(value, list) and any(holds(part, wanted, name) for part in value)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("ask", NIGHT, ids=lambda ask: ask.key)
def test_every_answer_of_the_night_comes_back(ask: Ask, language: Language) -> None:
    """Keyed alone beside what is needed, in the words of the form, each lands in a field of its own name."""
    for answer in answers(ask):
        keyed = ask.answer(answer, language) if answer in ask.printed else answer
        cells = {**night(), **_BESIDE.get(ask.key, {}), ask.key: keyed}
        stops = [stop(tank_filled="1"), stop(site=SITES[1])] if ask.key == "emptied_at" else [stop()]
        raw = made(cells, *stops)
        names = {"amount", "of", "shows", ask.name} if ask.group in ("hand over", "reading", "run") else {ask.name}
        kept = "no lo leí" if keyed == "no lo leí" else "did not read" if keyed == "did not read" else answer
        assert any(holds(raw, kept, name) for name in names), (raw, kept)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("ask", STOP, ids=lambda ask: ask.key)
def test_every_answer_of_a_stop_comes_back(ask: Ask, language: Language) -> None:
    """As above, for one stop."""
    for answer in answers(ask):
        keyed = ask.answer(answer, language) if answer in ask.printed else answer
        more = {"emptied_at": "Dry Fork"} if ask.key == "tank_filled" else {}
        raw = made(night(**more), {"site": SITES[0], "on_site": "x", ask.key: keyed})
        assert holds(raw, answer, ask.name), (raw, answer)


@pytest.mark.parametrize("tick", ["x", "X", "✓", "1", "yes", "sí", "Llegué", "arrived", "se llegó"])
def test_one_box_takes_a_bare_tick_or_its_answer(tick: str) -> None:
    """Whatever an office writes for a cross."""
    assert lines(made(night(), stop(on_site=tick)), "stop")[0]["on_site"] == "arrived"


def test_a_bare_tick_is_no_answer_where_there_are_several_boxes() -> None:
    """Which of three it was is not guessed; the boxes are named, with the row."""
    (problem,) = made(night(), stop(drains="x"))
    assert problem.what == "'x' is no answer to 'Storm drains'"
    assert problem.where == "stops, row 3"
    assert problem.next_step == "use one of the boxes: covered, none there, did not cover"


@pytest.mark.parametrize(("strokes", "kept"), [("1", "1"), ("2", "2"), ("x", "1"), ("0", "0")])
def test_strokes_are_counted(strokes: str, kept: str) -> None:
    """One each time that the tank filled; a single cross is one."""
    filled = {"emptied_at": "Dry Fork"} if kept != "0" else {}
    assert lines(made(night(**filled), stop(tank_filled=strokes)), "stop")[0]["tank_filled"] == kept


def test_what_is_no_count_of_strokes_is_asked_back() -> None:
    """Ten fills of a tank at one stop are a slip."""
    for strokes in ("10", "two", "-1"):
        (problem,) = made(night(), stop(tank_filled=strokes))
        assert "no number of strokes" in problem.what


# ---- what ticks mean for the water -----------------------------------------------------------------------------


def test_a_mark_is_a_look_after_its_stop() -> None:
    """In the order of the card, in inches; other units are kept as written."""
    raw = made(night(), stop(mark="12.5"), stop(site=SITES[1], mark="40 cm"), stop(site=SITES[2], mark="no lo leí"))
    assert [line.get("shows") or line["site"] for line in raw["line"]] == [
        SITES[0], "12.5 in", SITES[1], "40 cm", SITES[2], "no lo leí",
    ]  # fmt: skip


def test_a_tank_that_filled_was_emptied_before_the_work_went_on() -> None:
    """A look at the float, then a handover that left it empty; the next stop begins a new load."""
    raw = made(night(emptied_at="Alder Oven cleanout"), stop(tank_filled="1"), stop(site=SITES[1]))
    assert [line["line"] for line in raw["line"]] == ["stop", "tank full", "hand over", "stop"]
    assert raw["line"][1] == {"line": "tank full", "tank": "Big Blue recovery"}
    assert raw["line"][2] == {
        "line": "hand over", "place": "Alder Oven cleanout", "tank": "Big Blue recovery", "tank_after": "empty",
    }  # fmt: skip


def test_where_a_full_tank_was_emptied_is_asked_and_not_known_is_an_answer() -> None:
    """Without it, all that was captured before would vanish from the account of the night."""
    (problem,) = made(night(), stop(tank_filled="1"), stop(site=SITES[1]))
    assert "does not say where it was emptied" in problem.what
    assert "'not known' is an answer" in problem.next_step
    for answer in ("not known", "no sé", "No se sabe"):
        raw = made(night(emptied_at=answer), stop(tank_filled="1"), stop(site=SITES[1]))
        assert lines(raw, "hand over")[0]["place"] == "not known"


def test_a_tank_that_filled_at_the_last_worked_stop_is_where_the_water_is_now() -> None:
    """No emptying is asked for; a stop that was not worked afterwards changes nothing."""
    closed = stop(site=SITES[1], on_site="x", not_worked="gate locked")
    raw = made(night(tank_now="lleno"), stop(tank_filled="1"), closed)
    assert [line["line"] for line in raw["line"]] == ["stop", "tank full", "stop", "reading"]
    gone = made(night(where="Dry Fork Hauling", tank_now="empty"), stop(tank_filled="1"))
    assert [line["line"] for line in gone["line"]] == ["stop", "tank full", "hand over"]


def test_a_stop_that_filled_the_tank_twice_is_continued_between() -> None:
    """Two loads of one stop; the second look belongs to it as well."""
    raw = made(night(emptied_at="Dry Fork Hauling"), stop(tank_filled="2"), stop(site=SITES[1]))
    assert [line["line"] for line in raw["line"]] == [
        "stop", "tank full", "hand over", "stop", "tank full", "hand over", "stop",
    ]  # fmt: skip
    assert raw["line"][3] == {"line": "stop", "site": SITES[0], "continued": "yes"}
    assert "continued" not in raw["line"][6]


def test_a_site_written_again_after_a_full_tank_is_the_same_stop() -> None:
    """On the next line of the card; without a full tank before it, it is another stop."""
    raw = made(night(emptied_at="Dry Fork Hauling"), stop(tank_filled="1"), stop(site=SITES[0].upper()))
    assert [line.get("continued") for line in lines(raw, "stop")] == [None, "yes"]
    assert [line.get("continued") for line in lines(made(night(), stop(), stop()), "stop")] == [None, None]


def test_an_emptied_tank_that_never_filled_is_asked_back() -> None:
    """One of the two answers is wrong, and only the lead knows which."""
    (problem,) = made(night(emptied_at="Dry Fork Hauling"), stop())
    assert "at no stop it is ticked" in problem.what


def test_the_tank_now_is_how_the_handover_left_it_or_a_reading() -> None:
    """By where the water is: at a place, or still aboard."""
    gone = made(night(where="Dry Fork Hauling", tank_now="3", ticket="DF-1"), stop())
    assert gone["line"][-1] == {
        "line": "hand over", "place": "Dry Fork Hauling", "tank": "Big Blue recovery", "tank_after": "3 in",
        "ticket": "DF-1",
    }  # fmt: skip
    assert "ticket" not in gone
    aboard = made(night(tank_now="3", ticket="después"), stop())
    assert aboard["line"][-1] == {"line": "reading", "of": "Big Blue recovery", "shows": "3 in"}
    assert aboard["ticket"] == "later"


@pytest.mark.parametrize("where", ["aboard", "a bordo", "no water", "no hubo agua", "not known", "no sé", "no se sabe"])
def test_a_word_for_where_the_water_is_is_no_place(where: str) -> None:
    """In either language, and in the crew's own."""
    raw = made(night(where=where), stop())
    assert raw["where"] in ("aboard", "no water", "not known")
    assert lines(raw, "hand over") == []


def test_one_reading_of_a_meter_is_kept_and_makes_no_volume() -> None:
    """The start stands before the stops, the end behind them; 'did not read' is a reading of its own."""
    raw = made(night(supply_start="100.0"), stop())
    assert raw["line"][0] == {"line": "reading", "of": "Big Blue supply meter", "shows": "100.0"}
    assert "used" not in raw
    raw = made(night(supply_end="200"), stop())
    assert raw["line"][-1] == {"line": "reading", "of": "Big Blue supply meter", "shows": "200"}
    raw = made(night(supply_start="100", supply_end="did not read"), stop())
    assert raw["used"] == {"method": "meter", "meter": "Big Blue supply meter", "start": "100", "end": "did not read"}


def test_a_meter_that_nobody_read_is_the_answer_to_what_went_through_it() -> None:
    """Of the supply, what was used; of a handover, our volume; no name is needed of what was not read."""
    raw = made(night(supply_end="no lo leí", handover_end="did not read", where="Dry Fork Hauling"), stop())
    assert raw["used"] == "no lo leí"
    assert raw["line"][-1]["amount"] == "did not read"
    assert lines(raw, "reading") == []
    nameless = made(night(handover_end="did not read", where="Dry Fork Hauling"), stop(), registers=None)
    assert nameless["line"][-1]["amount"] == "did not read"
    aboard = made(night(handover_end="did not read"), stop())
    assert aboard["line"][-1] == {"line": "reading", "of": "Big Blue transfer meter", "shows": "did not read"}


def test_a_crews_own_figure_is_what_was_used_where_the_meter_was_not_read() -> None:
    """The reading that there is stays, and nothing stands beside a figure that nobody has."""
    raw = made(night(supply_start="100", supply_end="did not read", used="~450"), stop())
    assert raw["used"] == "~450 gal"
    assert "used_also" not in raw
    assert [line["shows"] for line in lines(raw, "reading")] == ["100", "did not read"]


def test_a_tank_that_nobody_read_at_the_end_is_the_answer_to_what_was_recovered() -> None:
    """Unless the last worked stop has a look of its own, which tells it; a night without work recovers nothing."""
    assert made(night(tank_now="no lo leí"), stop(mark="12"), stop(site=SITES[1]))["recovered"] == "no lo leí"
    assert made(night(tank_now="did not read"), stop(mark="did not read"))["recovered"] == "did not read"
    for last in (stop(mark="12"), stop(tank_filled="1")):
        off = {"site": SITES[2], "not_worked": "gate locked"}
        assert "recovered" not in made(night(tank_now="did not read"), stop(site=SITES[1]), last, off)
    assert "recovered" not in made(night(tank_now="did not read"), {"site": SITES[0], "not_worked": "x"})
    assert "recovered" not in made(night(tank_now="3"), stop())


def test_a_transfer_meter_without_a_handover_is_two_readings() -> None:
    """What it ran is not called handed over, when the card says that the water is aboard."""
    raw = made(night(handover_start="10", handover_end="10"), stop())
    assert raw["line"][-2:] == [{"line": "reading", "of": "Big Blue transfer meter", "shows": "10"}] * 2


def test_a_meter_governs_and_the_crews_own_figure_stands_beside_it() -> None:
    """Alone, it is what was used; bare figures are of the book's unit, a sign of doubt stays."""
    both = made(night(supply_start="1", supply_end="9", used="~450"), stop())
    assert both["used"]["method"] == "meter"
    assert both["used_also"] == "~450 gal"
    assert made(night(used="~450"), stop())["used"] == "~450 gal"
    assert made(night(used="1700 L"), stop())["used"] == "1700 L"


def test_a_tank_or_meter_that_only_the_card_could_name_is_asked_for() -> None:
    """Once for the night; with the register of a rig that has one, nobody is asked."""
    alone = made(night(tank_now="5", supply_end="7"), stop(mark="4"), registers=None)
    assert sorted(problem.what for problem in alone) == [
        "a supply meter was read, and it is not said which", "a tank was read, and it is not said which",
    ]  # fmt: skip
    named = {"tank": "T", "supply_meter": "M", "tank_now": "5", "supply_end": "7"}
    assert isinstance(made(night(**named), stop(), registers=None), dict)
    other_rig = made(night(rig="Hired rig", tank_now="5"), stop())
    assert lines(other_rig, "reading")[0]["of"] == "recovery tank"
    assert lines(made(night(), stop(tank_filled="1"), registers=None), "tank full") == [{"line": "tank full"}]


def test_jugs_are_counted_by_product() -> None:
    """A product makes 'used'; its name without a count is kept, a count without a name is asked back."""
    raw = made(night(agent_1="Mild detergent", jugs_1="2", size_1="5", agent_2="house degreaser"), stop())
    assert raw["agent_use"] == "used"
    assert lines(raw, "agent jugs") == [
        {"line": "agent jugs", "agent": "Mild detergent", "jugs": "2", "size": "5 gal"},
        {"line": "agent jugs", "agent": "house degreaser"},
    ]
    (problem,) = made(night(jugs_2="1"), stop())
    assert problem.what == "jugs are counted for product 2, and its name is missing"
    (problem,) = made(night(agent_1="soap", agent_2="foam", agent_use="none used"), stop())
    assert problem.what == "'none used' is ticked, and jugs of soap and foam are counted"


@pytest.mark.parametrize(
    ("sock", "cartridges", "filters"),
    [("same", "same", "same"), ("cleaned", "same", "cleaned"), ("same", "changed", "changed"),
     ("changed", "cleaned", "changed"), ("cleaned", None, None), (None, "same", None), ("cleaned", "not read", None)],
)  # fmt: skip
def test_the_filters_as_a_whole_follow_once_both_are_answered(
    sock: str | None, cartridges: str | None, filters: str | None
) -> None:
    """The most that was done to either; one answer alone leaves the whole unanswered."""
    cells = {key: value for key, value in (("sock", sock), ("cartridges", cartridges)) if value is not None}
    assert made(night(**cells), stop()).get("filters") == filters


# ---- stops that are no plain work ------------------------------------------------------------------------------


def test_a_stop_that_nobody_ticked_is_asked_back() -> None:
    """Printed on the card beforehand is not worked; silence is no work and no 'not worked' either."""
    (problem,) = made(night(), {"site": SITES[0]})
    assert problem.what == "nothing is ticked for this stop, so nobody said that it was worked"


@pytest.mark.parametrize(("keyed", "kept"), [("x", NO_REASON), ("portón cerrado", "portón cerrado")])
def test_a_stop_not_worked_keeps_its_reason_or_says_that_there_is_none(keyed: str, kept: str) -> None:
    """A tick alone is a complete answer."""
    assert lines(made(night(), {"site": SITES[0], "not_worked": keyed}), "stop")[0]["not_worked"] == kept


@pytest.mark.parametrize("more", [{"work": "x"}, {"tank_filled": "1"}])
def test_a_stop_cannot_be_worked_and_not_worked(more: dict[str, str]) -> None:
    """To have arrived is no contradiction; to have finished is one."""
    (problem, *_) = made(night(), {"site": SITES[0], "not_worked": "rain", **more})
    assert "both as worked and as not worked" in problem.what
    assert isinstance(made(night(), stop(not_worked="rain")), dict)


# ---- the workbook ----------------------------------------------------------------------------------------------


def test_only_a_form_of_ours_is_a_keying_workbook(tmp_path: Path) -> None:
    """Another workbook, a text, an archive without a list of sheets and a missing file are none."""
    assert is_keying_workbook(fill(tmp_path / "keyed.xlsx", [], []))
    other = Workbook()
    other.save(tmp_path / "other.xlsx")
    (tmp_path / "text.xlsx").write_text("not a workbook")
    with ZipFile(tmp_path / "archive.xlsx", "w") as archive:
        archive.writestr("readme.txt", FORM_SHEET)
    for name in ("other.xlsx", "text.xlsx", "archive.xlsx", "missing.xlsx"):
        assert not is_keying_workbook(tmp_path / name)
    assert told(tmp_path / "other.xlsx")[0].what == "this is no keying workbook"


def change(path: Path, edit: Callable[[Any], None]) -> Path:
    book = load_workbook(path)
    edit(book)
    book.save(path)
    return path


@pytest.mark.parametrize(
    ("cell", "value", "shown"), [("B1", 2, "2"), ("B1", "new", "unknown"), ("A1", "form", "1"), ("B2", "barrel", "1")]
)
def test_a_form_of_another_version_is_refused_politely(tmp_path: Path, cell: str, value: Any, shown: str) -> None:
    """It says which version it is, which one is read, and how the rows are saved."""
    path = fill(tmp_path / "keyed.xlsx", [night()], [stop()])
    (problem,) = told(change(path, lambda book: book[FORM_SHEET].__setitem__(cell, value)))
    assert problem.what == f"this keying workbook is of version {shown}, and this program reads version 1"
    assert "copy the rows into it" in problem.next_step


def test_columns_may_be_moved_and_rows_left_empty(tmp_path: Path) -> None:
    """The hidden row names them; an order of one's own and gaps change nothing."""

    def turn_around(book: Any) -> None:
        for sheet in (book["nights"], book["stops"]):
            rows = [[cell.value for cell in row] for row in sheet.iter_rows()]
            sheet.delete_rows(1, len(rows))
            for n, row in enumerate(rows, start=1):
                for column, value in enumerate(reversed(row), start=1):
                    sheet.cell(n if n < 3 else 4 * n, column).value = value

    path = fill(tmp_path / "keyed.xlsx", [night(remark="gate 4")], [stop(n=1), stop(n=2, site=SITES[1])])
    before = raws(path)
    assert raws(change(path, turn_around)) == before


def test_stops_come_in_the_order_of_their_numbers(tmp_path: Path) -> None:
    """However they stand in the sheet; those without a number follow the one above."""
    rows = [stop(n=3, site="c"), stop(n=1, site="a"), stop(n=2, site="b"), stop(site="d")]
    (raw,) = raws(fill(tmp_path / "keyed.xlsx", [night()], rows))
    assert [line["site"] for line in lines(raw, "stop")] == ["a", "b", "c", "d"]


@pytest.mark.parametrize("n", [0, 9, 14, "4a", "-1"])
def test_a_stop_that_the_card_does_not_have_is_asked_back(tmp_path: Path, n: Any) -> None:
    """A card has eight; a ninth is a slip of the number, or of a second card."""
    (problem,) = told(fill(tmp_path / "keyed.xlsx", [night()], [stop(), stop(n=n, site=SITES[1])]))
    assert problem.what == f"'{n}' is not the number of a stop: a card has stops 1 to 8"
    assert "second card" in problem.next_step
    assert problem.where == "keyed.xlsx, sheet stops, row 4"


def test_stops_without_numbers_run_out_at_the_eighth(tmp_path: Path) -> None:
    """Nine rows under one serial cannot all be of one card."""
    eight = [stop(site=site) for site in SITES]
    assert len(lines(raws(fill(tmp_path / "eight.xlsx", [night()], eight))[0], "stop")) == 8
    (problem,) = told(fill(tmp_path / "keyed.xlsx", [night()], [*eight, stop(site="one more")]))
    assert problem.what.startswith("9 is not the number of a stop")


def test_a_wrong_serial_is_told_once_with_its_rows(tmp_path: Path) -> None:
    """However often it stands, and however it is typed there; another wrong one is another problem."""
    wrong = "TVX7-67W2-7"
    rows = [stop(card=wrong, site=SITES[0]), stop(card=wrong.lower(), site=SITES[1]), stop(card=wrong, site=SITES[2])]
    rows += [stop(card=OTHER), stop(card=wrong, site=SITES[3]), {"site": "x"}, stop(card="12", site=SITES[4])]
    found = told(fill(tmp_path / "keyed.xlsx", [night(card=wrong), night(card=OTHER)], rows))
    assert [(problem.what[:20], problem.where) for problem in found] == [
        ("the check character ", "keyed.xlsx, sheet stops, rows 3 to 5, 7; keyed.xlsx, sheet nights, row 3"),
        ("the serial of the ca", "keyed.xlsx, sheet stops, row 8"),
        ("'12' is not the seri", "keyed.xlsx, sheet stops, row 9"),
    ]


def test_two_cards_of_one_workbook_are_two_nights(tmp_path: Path) -> None:
    """Each with the stops of its own serial, however it is typed; the row of each is named."""
    nights = [night(), night(card=OTHER.lower(), date="2026-09-04")]
    rows = [stop(site="a"), stop(card=OTHER.replace("-", ""), site="b"), stop(site="c")]
    read = read_keying(fill(tmp_path / "keyed.xlsx", nights, rows), REGISTERS)
    assert [one.where for one in read] == [
        f"keyed.xlsx, sheet nights, row 3 (card {CARD})", f"keyed.xlsx, sheet nights, row 4 (card {OTHER})",
    ]  # fmt: skip
    found = [[line["site"] for line in one.raw["line"]] for one in read if isinstance(one, Read)]
    assert found == [["a", "c"], ["b"]]


@pytest.mark.parametrize(
    ("nights", "stops", "what"),
    [
        ([], [], "no card is keyed in this workbook"),
        ([night()], [], f"card {CARD} has no stop"),
        ([], [stop()], f"the card {CARD} of this stop has no row of its own on the sheet 'nights'"),
        ([night(), night()], [stop()],
         f"card {CARD} is keyed in this workbook already (keyed.xlsx, sheet nights, row 3)"),
        ([night(), {"rig": "Big Blue"}], [stop()], "the serial of the card is missing"),
        ([night(card="TVX7-67W2-7")], [stop(card="TVX7-67W2-7")],
         "the check character of 'TVX7-67W2-7' does not fit the others"),
        ([night()], [stop(n=1), stop(n=1)], f"card {CARD} has stop 1 twice"),
        ([night()], [stop(n="first")], "'first' is not the number of a stop: a card has stops 1 to 8"),
        ([night(remark="=1+1")], [stop()], "there is a formula in a cell"),
        ([night(remark="#REF!")], [stop()], "the cell holds an error, #REF!"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_workbook_is_told(
    tmp_path: Path, nights: list[dict[str, Any]], stops: list[dict[str, Any]], what: str
) -> None:
    """By sheet and row, with the next step; nothing of it is read."""
    found = told(fill(tmp_path / "keyed.xlsx", nights, stops))
    assert what in [problem.what for problem in found]
    assert all("keyed.xlsx" in problem.where and problem.next_step for problem in found)


def test_a_problem_names_headings_and_boxes_of_the_form_that_was_keyed(tmp_path: Path) -> None:
    """Who keys in Spanish finds the sheet, the column and the answers in Spanish."""
    stops = [stop(drains="x"), stop(tank_filled="1", site=SITES[1]), stop(site=SITES[2])]
    found = told(fill(tmp_path / "keyed.xlsx", [night(handover_end="7", rig="Hired rig", rain="x")], stops, "es"))
    assert [(problem.what, problem.next_step) for problem in found] == [
        ("'x' is no answer to 'Lluvia'", "use one of the boxes: no llovió, llovió un poco, llovió fuerte, no sé"),
        ("'x' is no answer to 'Desagües pluviales'", "use one of the boxes: lo cubrí, no había, no lo cubrí"),
        ("the tank filled here and the work went on, and the card does not say where it was emptied",
         "ask the lead and fill in 'Vacié el tanque lleno en'; 'no sé' is an answer"),
        ("a handover meter was read, and it is not said which", "fill in 'Medidor, agua entregada'"),
    ]  # fmt: skip
    (problem,) = told(fill(tmp_path / "keyed.xlsx", [night()], [], "es"))
    assert problem.next_step == "add its stops on the sheet 'paradas'"


def test_all_that_is_wrong_is_told_at_once(tmp_path: Path) -> None:
    """Four faults on three rows, each with its place."""
    rows = [stop(drains="x"), stop(card="2345")]
    found = told(fill(tmp_path / "keyed.xlsx", [night(sock="washed", remark="=A1")], rows))
    assert [problem.where.removeprefix("keyed.xlsx, ") for problem in found] == [
        "sheet nights, row 3, column AE", "sheet stops, row 4", "sheet nights, row 3", "sheet stops, row 3",
    ]  # fmt: skip


def test_notes_in_a_column_of_ones_own_are_not_lost_in_silence(tmp_path: Path) -> None:
    """A cell that the form has no column for is named, with its text."""
    path = fill(tmp_path / "keyed.xlsx", [night()], [stop()])
    (problem,) = told(change(path, lambda book: book["nights"].cell(3, 40, "call the client")))
    assert problem.what == "'call the client' stands in a column that the form does not have"
    assert problem.where.endswith("row 3, column AN")


@pytest.mark.parametrize(
    ("edit", "what"),
    [
        (lambda book: book["nights"].delete_rows(1), "the hidden first row of the sheet was changed"),
        (lambda book: book["stops"].__setitem__("A1", "serial"), "the hidden first row of the sheet was changed"),
        (lambda book: book.remove(book["stops"]), "the sheet 'stops' is missing"),
    ],
)
def test_a_form_that_was_taken_apart_is_refused(tmp_path: Path, edit: Callable[[Any], None], what: str) -> None:
    """What a column means is never guessed from its place."""
    path = fill(tmp_path / "keyed.xlsx", [night()], [stop()])
    assert what in [problem.what for problem in told(change(path, edit))]


@pytest.mark.parametrize(
    ("value", "kept"),
    [(30.5, "30.5 in"), (30, "30 in"), ("30.50", "30.50 in"), (" 12 ", "12 in"), ("12 1/2", "12 1/2"), (0, "0 in"),
     (True, "true"), (datetime.fromisoformat("2026-09-03T04:10"), "2026-09-03T04:10")],
)  # fmt: skip
def test_a_cell_is_read_as_it_was_typed(tmp_path: Path, value: Any, kept: str) -> None:
    """A figure by its digits, never through a binary fraction; zero is a figure; the rest the validator judges."""
    (raw,) = raws(fill(tmp_path / "keyed.xlsx", [night(tank_now=value)], [stop()]))
    assert lines(raw, "reading")[0]["shows"] == kept


@pytest.mark.parametrize("value", [date(2026, 9, 3), datetime.fromisoformat("2026-09-03"), "2026-09-03"])
def test_a_day_may_be_typed_or_be_a_date_of_the_spreadsheet(tmp_path: Path, value: Any) -> None:
    """All three are the same day."""
    (raw,) = raws(fill(tmp_path / "keyed.xlsx", [night(date=value)], [stop()]))
    assert raw["date"] == "2026-09-03"


def test_the_unit_of_the_book_is_that_of_the_headings(tmp_path: Path) -> None:
    """A form made for a book of litres says litres."""
    path = fill(tmp_path / "keyed.xlsx", [night(used="450", agent_1="soap", size_1=5)], [stop()], unit="L")
    (raw,) = raws(path)
    assert raw["used"] == "450 L"
    assert lines(raw, "agent jugs")[0]["size"] == "5 L"


def test_text_that_looks_like_a_formula_stays_text(tmp_path: Path) -> None:
    """As some offices type it, with an apostrophe or a sign before it."""

    def write(book: Any) -> None:
        cell = next(c for c in book["nights"][3] if book["nights"].cell(1, c.column).value == "remark")
        cell._value, cell.data_type = "=gate 4 open", "s"

    path = change(fill(tmp_path / "keyed.xlsx", [night(remark="-")], [stop()]), write)
    (raw,) = raws(path)
    assert raw["remark"] == "=gate 4 open"


# ---- files that mean harm --------------------------------------------------------------------------------------


def test_a_file_that_cannot_be_read_is_one_problem(tmp_path: Path) -> None:
    """A missing file, and one that is larger than a workbook of cards can be."""
    (problem,) = told(tmp_path / "missing.xlsx")
    assert "cannot be read" in problem.what
    with (tmp_path / "large.xlsx").open("wb") as file:
        file.truncate(10_000_001)
    (problem,) = told(tmp_path / "large.xlsx")
    assert problem.what == "the file is larger than 10 MB"


def repacked(path: Path, part: str, edit: Callable[[bytes], bytes]) -> Path:
    """The same workbook with one part changed."""
    with ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    with ZipFile(path, "w", ZIP_DEFLATED) as archive:
        for name, data in parts.items():
            archive.writestr(name, edit(data) if name == part else data)
    return path


@pytest.mark.parametrize(
    ("part", "edit", "what"),
    [
        ("xl/worksheets/sheet1.xml", lambda data: data[: len(data) // 2], "damaged or no workbook"),
        ("xl/workbook.xml", lambda data: b'<!DOCTYPE x [<!ENTITY a "b">]>' + data, "document type"),
        ("xl/styles.xml", lambda data: data + b" " * 30_000_000, "too large"),
    ],
)
def test_a_workbook_that_was_tampered_with_is_refused(
    tmp_path: Path, part: str, edit: Callable[[bytes], bytes], what: str
) -> None:
    """Cut off, with texts of its own, or much larger inside than outside: one problem and no crash."""
    path = repacked(fill(tmp_path / "keyed.xlsx", [night()], [stop()]), part, edit)
    (problem,) = told(path)
    assert what in problem.what


def test_a_claimed_size_is_not_believed(tmp_path: Path) -> None:
    """A sheet that says it has a million rows is read as far as it has any."""

    def claim(data: bytes) -> bytes:
        start = data.index(b"<dimension")
        return data[:start] + b'<dimension ref="A1:XFD1048576"/>' + data[data.index(b"/>", start) + 2 :]

    path = repacked(fill(tmp_path / "keyed.xlsx", [night()], [stop()]), "xl/worksheets/sheet1.xml", claim)
    assert len(raws(path)) == 1


def test_more_rows_than_an_office_keys_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Counted while reading."""
    monkeypatch.setattr("compliance.intake.keying.MOST_ROWS", 3)
    path = fill(tmp_path / "keyed.xlsx", [night()], [stop(n=n) for n in range(1, 6)])
    assert "more than 3 rows are filled in" in [problem.what for problem in told(path)]


def test_a_fault_of_the_program_is_not_told_as_a_damaged_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Only the parser's troubles are the file's: an office would repair a sound workbook for ever."""

    def wrong(*_: object) -> dict[str, str]:
        raise TypeError("ours")

    path = fill(tmp_path / "keyed.xlsx", [night()], [stop()])
    monkeypatch.setattr("compliance.intake.keying._cells", wrong)
    with pytest.raises(TypeError, match="ours"):
        read_keying(path, REGISTERS)
