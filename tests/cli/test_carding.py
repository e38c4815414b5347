"""The card on paper, the form to key it, and the way back into the book."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from compliance.cli.main import main
from compliance.cli.shell import Shell
from compliance.intake.keying import is_keying_workbook
from compliance.intake.serial import read_serial, serial_id
from compliance.records.problem import Problem
from tests.cases import SAMPLES
from tests.cli.conftest import Desk, Said
from tests.intake.keyed import CARD, OTHER, SITES, fill, night, stop

SERIAL = re.compile(r"[2-9CDFHJKMNPRTVWXY]{4}-[2-9CDFHJKMNPRTVWXY]{4}-[2-9CDFHJKMNPRTVWXY]")


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Commands run in an empty folder, and no book is named by the surroundings."""
    folder = tmp_path / "desk"
    folder.mkdir()
    monkeypatch.chdir(folder)
    monkeypatch.delenv("WASHWATER_BOOK", raising=False)
    monkeypatch.setenv("COLUMNS", "120")
    return folder


def printed(file: Path, page: int = 0) -> str:
    """The words of a page, wherever lines break."""
    return " ".join(PdfReader(BytesIO(file.read_bytes())).pages[page].extract_text().split())


def without_a_book(capsys: pytest.CaptureFixture[str], *args: str) -> Said:
    code = main(list(args), Shell())
    told = capsys.readouterr()
    return Said(code, told.out, told.err)


# ---- card ------------------------------------------------------------------------------------------------------


def test_a_blank_card_needs_no_book(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two to the sheet, each with a serial of its own that reads back; names are taken as they are."""
    said = without_a_book(capsys, "card", "--rig", "Any rig")
    assert said.code == 0, said.err
    serials = SERIAL.findall(said.out)
    assert len(set(serials)) == 2
    assert not any(isinstance(read_serial(serial, ""), Problem) for serial in serials)
    text = printed(here / "card-any-rig.pdf")
    assert all(serial in text for serial in serials)
    assert text.count("Any rig") == 2


def test_tonights_card_is_filled_in_from_the_registers(book: Desk, here: Path) -> None:
    """Rig, tank and meters as the register spells them, the day in both languages, the stops in their order."""
    said = book("card", "--rig", "big blue", "--date", "2026-09-03", "--lead", "tomás ibarra",
                *(word for site in SITES for word in ("--stop", site.lower())))  # fmt: skip
    assert said.code == 0, said.err
    assert said.err == ""
    assert said.out.startswith("card-2026-09-03-big-blue.pdf: 1 card, ")
    text = printed(here / "card-2026-09-03-big-blue.pdf")
    for wanted in ("Bluebank Wash Recovery", "Big Blue recovery", "Big Blue supply meter", "Big Blue transfer meter",
                   "3 sep 2026 · Sep 3, 2026", "Tomás Ibarra", *SITES):  # fmt: skip
        assert wanted in text
    assert text.index(SITES[0]) < text.index(SITES[1])


def test_a_rig_with_no_meter_leaves_its_line_blank(book: Desk, here: Path) -> None:
    """Nothing is printed that the register does not tell."""
    assert book("card", "--rig", "Little Heron", "--out", "cards/heron.pdf", "--paper", "A4").code == 0
    text = printed(here / "cards" / "heron.pdf")
    assert "Little Heron recovery" in text
    assert "supply meter" not in text


@pytest.mark.parametrize(
    ("args", "what", "step"),
    [
        (("--rig", "Big Bleu"), "no rig is called 'Big Bleu'", "did you mean 'Big Blue'?"),
        (("--rig", "Tugboat"), "no rig is called 'Tugboat'", "`washwater registers rig` shows"),
        (("--date", "9/3/2026"), "is not written as dates are here", "like 2026-09-14"),
        (["--stop", "S"] * 10, "a card has 8 stops, and 10 are named", "last 2 off"),
    ],
)
def test_a_card_that_cannot_be_printed_says_why(book: Desk, here: Path, args: list[str], what: str, step: str) -> None:
    """And no file is made."""
    said = book("card", *args)
    assert said.code == 2
    assert what in said.err
    assert step in said.err
    assert list(here.iterdir()) == []


def test_a_site_that_no_register_has_is_printed_and_told(book: Desk, here: Path) -> None:
    """A new client tonight is no reason to hold the card back; one that is too long is cut and told."""
    long = "The arcade behind the old depot" + ", and the stairs to the quay" * 5
    said = book("card", "--stop", "Harbor dek", "--stop", long)
    assert said.code == 0
    assert "'Harbor dek' is not on the register of sites; did you mean 'Harbor deck'?" in said.err
    assert f"too long for the card, cut there: {long}" in said.err
    assert "Harbor dek" in printed(here / "card.pdf")


def test_characters_that_the_card_cannot_print_are_told(book: Desk, here: Path) -> None:
    """Whoever prints hears of it before the crew does."""
    said = book("card", "--rig", "Big Blue", "--stop", "日本", "--out", "x.pdf")
    assert said.code == 0
    assert (
        "look again: the card prints characters of '日本' that its typeface lacks by their Unicode numbers" in said.err
    )
    assert "[U+65E5][U+672C]" in printed(here / "x.pdf")


def test_as_many_cards_as_asked_for(book: Desk, here: Path) -> None:
    """Five cards are three sheets of paper, printed on both sides."""
    said = book("card", "--count", "5")
    assert len(set(SERIAL.findall(said.out))) == 5
    assert len(PdfReader(here / "card.pdf").pages) == 6
    assert book("card", "--count", "0").code == 2


def test_a_book_that_was_named_has_to_be_there(desk: Desk) -> None:
    """A slip in --book must not print blank cards in silence."""
    assert desk("card").code == 2
    assert desk("template").code == 2


# ---- template --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("language", ["en", "es"])
def test_a_form_is_written_and_never_over_another(book: Desk, here: Path, language: str) -> None:
    """What is keyed in a form would be lost."""
    said = book("template", "--lang", language, "--paper", "A4")
    assert said.code == 0, said.err
    assert said.out == "keying.xlsx: key each card on its two sheets, then `washwater import keying.xlsx`\n"
    assert is_keying_workbook(here / "keying.xlsx")
    again = book("template")
    assert again.code == 2
    assert "would be lost" in again.err


def test_a_form_needs_no_book(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its lists of names are empty then."""
    assert without_a_book(capsys, "template", "blank.xlsx").code == 0
    assert is_keying_workbook(here / "blank.xlsx")


# ---- import ----------------------------------------------------------------------------------------------------


def keyed(here: Path, *nights: dict[str, object], **more: object) -> Path:
    """A workbook with one stop for each night."""
    rows = [stop(card=one["card"], **more) for one in nights]
    return fill(here / "keyed.xlsx", nights, rows)


def test_cards_are_looked_at_first_and_written_when_asked(book: Desk, here: Path) -> None:
    """The preview writes nothing; --commit hands in; the same again changes nothing, whoever keyed it."""
    file = keyed(here, night(tank_now="5", keyed_by="Priya Lund"), night(card=OTHER, date="2026-09-04"))
    said = book("import", file)
    assert said.code == 0, said.err
    assert f"{CARD}  2026-09-03 Big Blue  new\n" in said.out
    assert "cards: 2 new, 0 in the book already, 0 differs from the book" in said.out
    assert "Nothing was written; the same with --commit hands them in." in said.out
    assert book("list", "--json").json == []
    done = book("import", file, "--commit")
    assert done.out.endswith("Handed in: 2.\n")
    assert [run["run"] for run in book("list", "--json").json] == ["2026-09-03-big-blue", "2026-09-04-big-blue"]
    assert "caution: Read tanks from outside" in done.err
    again = keyed(here, night(tank_now="5", keyed_by="Ruth Okafor"), night(card=OTHER, date="2026-09-04"))
    said = book("import", again, "--commit", "--json")
    assert said.code == 0
    assert said.json["counts"] == {"new": 0, "in the book already": 2, "differs from the book": 0}
    assert said.json["written"] == []
    assert said.json["cards"][0]["ref"] == "2026-09-03-big-blue"


def test_what_a_crew_did_not_read_is_not_asked_for_again(book: Desk, here: Path) -> None:
    """Tank and meters ticked 'did not read' are answers in every listing, and nobody is asked for their amounts."""
    unread = dict.fromkeys(("tank_now", "supply_end", "handover_end"), "no lo leí")
    file = keyed(here, night(where="Port Alder receiving station", tank_start="empty", **unread))
    assert book("import", file, "--commit").code == 0
    (run,) = book("list", "--json").json
    assert (run["used"], run["captured"], run["aboard at the end"]) == ("not read", "not read", "not read")
    (handover,) = book("list", "handovers", "--json").json
    assert handover["our volume"] == "not read"
    balance = book("balance", "2026-09-03-big-blue").out
    assert "- handed over: not read" in balance
    assert "\n  captured: not read" in balance
    needed = book("complete", "--list").out
    assert not any(name in needed for name in ("Used", "Recovered", "Our volume"))


def test_a_card_with_other_values_is_shown_with_both_sides(book: Desk, here: Path) -> None:
    """Never a second night; and with it, nothing else of the workbook is written."""
    assert book("import", keyed(here, night(used="60")), "--commit").code == 0
    size = book("verify", "--json").json["records"]
    said = book("import", keyed(here, night(used="600"), night(card=OTHER)), "--commit")
    assert said.code == 2
    assert re.search(r"^    field +the book has +this says$", said.out, re.MULTILINE)
    assert re.search(r"^    Used \(fresh water drawn\) +60 gal +600 gal$", said.out, re.MULTILINE)
    assert "fields." not in said.out + said.err
    assert said.out.endswith("Nothing was written.\n")
    assert f"card {CARD} is in the book as 2026-09-03-big-blue and says something else there" in said.err
    assert "washwater correct" in said.err
    assert book("verify", "--json").json["records"] == size


def test_both_sides_are_in_the_language_of_the_form(book: Desk, here: Path) -> None:
    """Whoever keys in Spanish reads both sides in Spanish; a program reads them as data."""
    night_of = night(supply_start="100", supply_end="520")
    assert book("import", keyed(here, night_of), "--commit").code == 0
    spanish = fill(here / "noches.xlsx", [night_of | {"supply_end": "502"}], [stop()], "es")
    said = book("import", spanish)
    assert re.search(r"^    dato +el libro dice +aquí dice$", said.out, re.MULTILINE)
    assert re.search(r"^    Agua utilizada en el lavado, fin +520 +502$", said.out, re.MULTILINE)
    (card,) = json.loads(book("import", spanish, "--json").out.partition("\n}\n")[0] + "}")["cards"]
    assert card["differences"] == [{"field": "Agua utilizada en el lavado, fin", "book": "520", "here": "502"}]


def test_a_long_difference_is_broken_and_never_cut(book: Desk, here: Path) -> None:
    """A remark of any length stays readable beside the other."""
    long = " ".join(f"word{n}" for n in range(60))
    assert book("import", keyed(here, night(remark="short")), "--commit").code == 0
    out = book("import", keyed(here, night(remark=long))).out
    assert all(f"word{n}" in out for n in range(60))
    assert max(map(len, out.splitlines())) <= 120


def test_a_card_is_compared_with_the_night_as_it_stands(book: Desk, here: Path) -> None:
    """What was corrected since, keyed from the card, is nothing new; what was corrected away is shown so."""
    assert book("import", keyed(here, night(used="600")), "--commit").code == 0
    ref = "2026-09-03-big-blue"
    done = book("correct", ref, "used", "60", "--reason", "keyed wrong", "--why", "the card says 60", "--who", "Ruth")
    assert done.code == 0, done.err
    said = book("import", keyed(here, night(used="60")), "--json").json
    assert said["counts"]["in the book already"] == 1
    out = book("import", keyed(here, night(used="70"))).out
    assert re.search(r"^    Used \(fresh water drawn\) +60 gal +70 gal$", out, re.MULTILINE)


def test_a_cancelled_card_that_is_keyed_again_is_a_new_night_after_it(book: Desk, here: Path) -> None:
    """It says which one it follows, who cancelled that and why; keyed once more it is known, with others a conflict."""
    assert book("import", keyed(here, night(rig="Little Heron")), "--commit").code == 0
    ref = "2026-09-03-little-heron"
    assert book("cancel", ref, "--why", "keyed for the wrong rig", "--who", "Ruth Okafor").code == 0
    right = keyed(here, night(used="60"))
    said = book("import", right, "--commit")
    assert said.code == 0, said.err
    assert f"{CARD}  2026-09-03 Big Blue  new\n" in said.out
    assert f"follows {ref}, which Ruth Okafor cancelled on 2026-09-01: keyed for the wrong rig" in said.out
    shown = book("show", "2026-09-03-big-blue")
    assert f"FOLLOWS {ref}, which was cancelled: its card was keyed again" in shown.out
    assert book("show", "2026-09-03-big-blue", "--json").json["follows"] == ref
    assert len(book("list", "--json").json) == 2
    assert book("import", right, "--json").json["cards"][0]["ref"] == "2026-09-03-big-blue"
    differs = book("import", keyed(here, night(used="70")))
    assert differs.code == 2
    assert f"card {CARD} is in the book as 2026-09-03-big-blue" in differs.err
    assert book("verify").code == 0


def test_a_cancelled_card_with_the_same_values_stays_cancelled(book: Desk, here: Path) -> None:
    """An old workbook that is imported once more brings nothing back, and says why."""
    same = keyed(here, night())
    assert book("import", same, "--commit").code == 0
    assert book("cancel", "2026-09-03-big-blue", "--why", "came in twice", "--who", "Ruth Okafor").code == 0
    said = book("import", same, "--commit")
    assert said.code == 0
    assert "in the book already as 2026-09-03-big-blue" in said.out
    assert "Ruth Okafor cancelled it on 2026-09-01: came in twice" in said.out
    assert "Nothing was written." in said.out
    assert len(book("list", "--json").json) == 1


def test_a_cancelled_card_may_be_keyed_again_by_the_questions(book: Desk, typed: Callable[[str], None]) -> None:
    """The same law at every door."""
    typed(NIGHT_KEYS)
    assert book("log", "--card", CARD).code == 0
    assert book("cancel", "2026-09-03-big-blue", "--why", "another night", "--who", "Ruth Okafor").code == 0
    typed(NIGHT_KEYS.replace("0\na\n", "0\nx\n"))
    said = book("log", "--card", CARD)
    assert said.code == 0, said.err
    assert said.err.startswith("2026-09-03-big-blue of this card was cancelled (another night): with other answers")
    assert "follows 2026-09-03-big-blue, which Ruth Okafor cancelled" in said.err
    assert book("show", "2026-09-03-big-blue-2", "--json").json["follows"] == "2026-09-03-big-blue"


def test_an_id_of_ones_own_with_other_values_is_shown_side_by_side(book: Desk, here: Path) -> None:
    """A file that was handed in under an id and changed since."""
    (folder,) = SAMPLES.glob("case-02-*")
    text = next(iter(sorted(folder.glob("[0-9]*.toml")))).read_text(encoding="utf-8")
    (here / "night.toml").write_text(text, encoding="utf-8")
    assert book("log", "--from", here / "night.toml").code == 0
    (here / "night.toml").write_text(text.replace("Harbor deck", "Harbor dock"), encoding="utf-8")
    said = book("log", "--from", here / "night.toml")
    assert said.code == 2
    assert "a night with the id case 02, run is in the book as 2026-09-03-big-blue" in said.err
    assert re.search(r"^    Stop 7, Harbor deck: Site +Harbor deck +Harbor dock$", said.err, re.MULTILINE)


def test_a_night_that_came_in_by_another_door_is_pointed_out(book: Desk, here: Path) -> None:
    """The same rig on the same day may be one outing, entered twice; whoever keys it decides."""
    book.case("02")
    said = book("import", keyed(here, night()))
    assert said.code == 0
    assert "look again: the book has a run of this rig and day already: 2026-09-03-big-blue" in said.out
    assert "rig and day" not in book("import", keyed(here, night(rig="Little Heron"))).out


def test_two_cards_of_one_rig_and_day_are_pointed_out(book: Desk, here: Path) -> None:
    """A second card of a long night, or one night keyed twice from two cards: whoever keys it decides."""
    said = book("import", keyed(here, night(), night(card=OTHER)))
    assert said.code == 0
    assert said.out.count(f"look again: this workbook has a card of this rig and day already: {CARD}") == 1
    assert "this workbook has" not in book("import", keyed(here, night(), night(card=OTHER, date="2026-09-04"))).out


def test_a_place_that_no_register_has_is_told_once(book: Desk, here: Path) -> None:
    """The card asks for it in one place, and the record has it in two."""
    said = book("import", keyed(here, night(where="Port Alder station", remark="x")))
    assert said.out.count("'Port Alder station' is not on the register") == 1
    assert "Where the water is (where): 'Port Alder station'" in said.out


def test_what_is_wrong_with_a_card_is_told_by_its_row(book: Desk, here: Path) -> None:
    """Faults of the workbook, and those that only the validator finds."""
    said = book("import", keyed(here, night(), drains="x"))
    assert said.code == 2
    assert "where: keyed.xlsx, sheet stops, row 3" in said.err
    said = book("import", keyed(here, night(date="2026-09-31")), "--commit")
    assert said.code == 2
    assert f"where: keyed.xlsx, sheet nights, row 3 (card {CARD}), Date of the start (date)" in said.err
    assert "Nothing was written." in said.out
    assert book("list", "--json").json == []


def test_a_keying_workbook_is_read_in_one_way_only(book: Desk, here: Path) -> None:
    """What an old spreadsheet has to be told by a mapping, this one says itself."""
    said = book("import", keyed(here, night()), "--sheet", "nights")
    assert said.code == 2
    assert "a keying workbook needs no --sheet" in said.err


def test_a_card_keyed_by_file_and_by_workbook_is_one_night(book: Desk, here: Path) -> None:
    """`card = ...` in a file makes the same record."""
    (here / "night.toml").write_text(
        f'card = "{CARD.lower()}"\nrig = "Big Blue"\nlead = "Tomás Ibarra"\ndate = "2026-09-03"\nwhere = "aboard"\n'
        f'[[line]]\nline = "stop"\nsite = "{SITES[0]}"\non_site = "arrived"\n',
        encoding="utf-8",
    )
    done = book("log", "--from", here / "night.toml", "--json")
    assert done.code == 0, done.err
    assert done.json["record"] == serial_id(CARD)
    said = book("import", keyed(here, night()), "--json").json
    assert said["counts"]["in the book already"] == 1


# ---- log --card ------------------------------------------------------------------------------------------------

NIGHT_KEYS = "1\n2\n2026-09-03\n1\n4\n1\n0\na\n" + "\n" * 8 + "1\n"
"""Big Blue, its lead, the day, one stop that was worked, water aboard, nothing else, hand in."""


def test_a_card_can_be_keyed_by_the_questions(book: Desk, typed: Callable[[str], None]) -> None:
    """The night has the card's id; keyed again with the same answers it is known, with others it is a conflict."""
    typed(NIGHT_KEYS)
    said = book("log", "--card", CARD.lower())
    assert said.code == 0, said.err
    assert book("show", "2026-09-03-big-blue", "--json").json["fields"]["card"] == CARD
    typed(NIGHT_KEYS)
    said = book("log", "--card", CARD)
    assert "handed in before as 2026-09-03-big-blue; nothing was changed" in said.out
    assert said.err.startswith("this card is in the book as 2026-09-03-big-blue: the same answers change nothing")
    typed(NIGHT_KEYS.replace("0\na\n", "0\nx\n"))
    said = book("log", "--card", CARD)
    assert said.code == 2
    assert re.search(r"^    Where the water is +aboard +no water$", said.err, re.MULTILINE)
    assert f"card {CARD} is in the book as 2026-09-03-big-blue and says something else there" in said.err
    typed(NIGHT_KEYS.replace("0\na\n", "0\nx\n"))
    said = book("log", "--card", CARD, "--lang", "es")
    assert re.search(r"^    Dónde está el agua +a bordo +no hubo agua$", said.err, re.MULTILINE)
    assert f"la hoja {CARD} ya está en el libro como 2026-09-03-big-blue" in said.err
    assert len(book("list", "--json").json) == 1


def test_a_serial_is_looked_at_before_the_first_question(book: Desk) -> None:
    """And with a file it belongs into the file."""
    said = book("log", "--card", "TVX7-67W2-7")
    assert said.code == 2
    assert "check character" in said.err
    assert "> " not in said.out
    said = book("log", "--from", "night.toml", "--card", CARD)
    assert said.code == 2
    assert "write card = ... into the file" in said.err
