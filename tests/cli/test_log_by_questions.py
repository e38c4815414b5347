"""`washwater log` at a terminal: a pseudo-terminal types what a tired person would."""

from __future__ import annotations

import json
import os
import re
import signal
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pexpect
import pytest

from compliance.book.store import Book
from compliance.cli.shell import whole
from compliance.intake.handin import WORDS
from compliance.intake.wording import PHRASES
from compliance.records.fields import GROUPS
from compliance.records.state import State
from tests.cli.conftest import Desk

PROMPT = "> $"
ROUTE_NIGHT = [
    ("1", "rig"), ("2", "lead"), ("\r", "tonight"),
    *[key for stop in "45678912" for key in (("1", "a stop"), (stop + "\r", "its site"), ("1", "worked"))],
    ("3", "hand over"), ("1", "where"), ("\r", "amount"), ("1", "tank empty"), ("\r", "time"), ("0", "that was all"),
    ("l\r", "the water is where the lines say"),
]  # fmt: skip
"""Rig, lead, date, eight stops on the way, the dump at dawn."""


@pytest.fixture
def terminal(book: Desk) -> Iterator[pexpect.spawn]:
    child = _start(book.folder)
    yield child
    child.close(force=True)


def _start(folder: Path, *args: str) -> pexpect.spawn:
    environment = {**os.environ, "WASHWATER_BOOK": str(folder), "TERM": "dumb"}
    command = ["-c", "from compliance.cli.main import run; run()", "log", *args]
    return pexpect.spawn(sys.executable, command, encoding="utf-8", timeout=20, dimensions=(70, 120), env=environment)


def _answer_rest(child: pexpect.spawn, typed: list[str]) -> str:
    """Pass over whatever is still asked with Enter, and hand in; returns the last screen."""
    for _ in range(40):
        found = child.expect([PROMPT, pexpect.EOF])
        screen = str(child.before)
        if found == 1:
            return screen
        key = "1" if "hand it in" in screen.lower() or "hand in" in screen.lower() else "\r"
        typed.append(key)
        child.send(key)
    raise AssertionError(f"the questions do not end: {screen}")


def test_a_route_night_of_eight_stops_takes_at_most_120_keystrokes(terminal: pexpect.spawn, book: Desk) -> None:
    """All keys are counted, the numbers that stand for names too."""
    typed: list[str] = []
    for keys, _ in ROUTE_NIGHT:
        terminal.expect(PROMPT)
        typed.append(keys)
        terminal.send(keys)
    screen = _answer_rest(terminal, typed)
    assert "handed in as" in screen, screen
    assert sum(len(keys) for keys in typed) <= 120
    run = book("show", re.search(r"handed in as (\S+)", screen)[1], "--json").json  # type: ignore[index]
    assert sum(line["line"] == "stop" for line in run["lines"]) == 8
    assert "used" not in run["fields"]
    assert "recovered" not in run["fields"]
    assert len([line for line in screen.splitlines() if line[:1].strip()]) <= 4  # a long one goes on further in


@pytest.mark.parametrize("answered", range(0, 14, 3))
def test_a_draft_survives_a_kill_and_goes_on_where_it_stopped(book: Desk, answered: int) -> None:
    """kill -9 at a prompt loses no answer, and nothing is in the book yet."""
    before = book("verify", "--json").json["records"]
    child = _start(book.folder)
    for keys, _ in ROUTE_NIGHT[:answered]:
        child.expect(PROMPT)
        child.send(keys)
    child.expect(PROMPT)
    child.kill(signal.SIGKILL)
    child.wait()
    assert book("verify", "--json").json["records"] == before
    (name,) = [row["draft"] for row in book("drafts", "--json").json]
    kept = json.loads((book.folder / "drafts" / f"{name}.json").read_text())
    assert len(kept["answers"]) == answered
    again = _start(book.folder, "--draft", name)
    for keys, _ in ROUTE_NIGHT[answered:]:
        again.expect(PROMPT)
        again.send(keys)
    assert "handed in as" in _answer_rest(again, [])
    assert book("verify", "--json").json["records"] == before + 1
    assert book("drafts").out == "No night is unfinished.\n"


def test_an_unfinished_night_goes_on_by_one_key(book: Desk) -> None:
    """The newest first, by what a crew knows it by; Enter settles nothing, and another key begins a new night."""
    (book.folder / "drafts").mkdir()
    begun = {"id": "1" * 32, "language": "es", "answers": [["rig", "Big Blue"], ["lead", "Marisol Vega"]]}
    for name, more in (("night-2026-08-30-aaaaaa", []), ("night-2026-08-31-bbbbbb", [["date", "2026-08-31"]])):
        draft = {**begun, "answers": [*begun["answers"], *more]}
        (book.folder / "drafts" / f"{name}.json").write_text(json.dumps(draft), encoding="utf-8")
    child = _start(book.folder, "--lang", "es")
    child.expect(PROMPT)
    asked = " ".join(str(child.before).split())
    assert "1 2026-08-31, Big Blue, Marisol Vega, paradas hasta ahora: 0 2 Big Blue, Marisol Vega," in asked
    assert asked.endswith("n una noche nueva")
    for key in ("\r", "7"):
        child.send(key)
        child.expect(PROMPT)
        assert "no se entiende aquí" in str(child.before)
    child.send("1")
    child.expect(PROMPT)
    assert "Primero" in str(child.before)  # its first three answers are there
    child.send("\x03")
    child.expect("--draft night-2026-08-31-bbbbbb")
    anew = _start(book.folder)
    anew.expect(PROMPT)
    anew.send("n")
    anew.expect(PROMPT)
    assert "Rig" in str(anew.before)
    anew.close(force=True)
    assert len(book("drafts", "--json").json) == 3
    stopped = _start(book.folder, "--lang", "es")
    stopped.expect(PROMPT)
    stopped.send("\x03")
    stopped.expect("Detenido. No se envió nada.")
    stopped.expect(pexpect.EOF)


def test_of_many_unfinished_nights_the_newest_have_a_key(book: Desk) -> None:
    """One digit tells nine apart; the oldest is reached by its name."""
    (book.folder / "drafts").mkdir()
    for day in range(10, 20):
        draft = {"id": f"{day}" * 16, "language": "en", "answers": [["rig", f"Rig {day}"]]}
        (book.folder / "drafts" / f"night-2026-08-{day}-aaaaaa.json").write_text(json.dumps(draft), encoding="utf-8")
    child = _start(book.folder)
    child.expect(PROMPT)
    assert re.findall(r"^  (\w+) (?:Rig (\d+)|a new night)", str(child.before).replace("\r", ""), re.M) == [
        *((str(n), str(20 - n)) for n in range(1, 10)),
        ("n", ""),
    ]
    child.close(force=True)


def test_a_program_is_told_of_unfinished_nights_and_begins_a_new_one(book: Desk, typed: Callable[[str], None]) -> None:
    """Standard input that is no terminal holds the answers to the questions, in their order."""
    (book.folder / "drafts").mkdir()
    (book.folder / "drafts" / "night-a.json").write_text('{"answers": []}', encoding="utf-8")
    typed("1\n")
    assert "Unfinished: night-a." in book("log").err


def test_nothing_expected_is_shown_before_the_figure_is_in(book: Desk) -> None:
    """The last reading of a meter appears only after the new one was typed."""
    book.case("01")
    child = _start(book.folder)
    seen = ""
    for keys in ("1", "2", "\r", "1", "1\r", "1", "7"):
        child.expect(PROMPT)
        seen += str(child.before)
        child.send(keys)
    child.expect(PROMPT)
    listed = str(child.before)
    number = re.search(r"(\d+) Big Blue supply meter", listed)
    assert number is not None, listed
    child.send(f"{number[1]}\r")
    child.expect(PROMPT)
    assert "999307" not in seen + listed + str(child.before)
    child.send("999400\r")
    child.expect(PROMPT)
    assert "999307" in str(child.before)
    child.close(force=True)


def test_what_is_typed_ahead_is_kept_and_an_enter_behind_a_key_answers_nothing(book: Desk) -> None:
    """'1' with Enter takes the rig and leaves the lead; four keys and a line in one piece are four keys and a line."""
    child = _start(book.folder)
    child.expect(PROMPT)
    child.send("1\r")
    child.expect(PROMPT)
    assert "Crew lead" in str(child.before)
    assert "needed" not in str(child.before)
    child.send("2")
    child.expect(PROMPT)
    child.send("2026-09-01\r")
    child.expect(PROMPT)
    assert "First" in str(child.before)
    child.send("13\r1")
    child.expect("After stop 1.*" + PROMPT)
    child.close(force=True)
    (row,) = book("drafts", "--json").json
    assert row == {**row, "date": "2026-09-01", "rig": "Big Blue", "lead": "Marisol Vega", "stops": 1}
    kept = json.loads((book.folder / "drafts" / f"{row['draft']}.json").read_text())
    assert [answer for _, answer in kept["answers"]][:3] == ["Big Blue", "Marisol Vega", "2026-09-01"]
    assert [answer for _, answer in kept["answers"]][3:] == ["stop", "Harbor deck", "worked"]


def test_a_draft_is_told_by_the_name_that_was_typed(book: Desk) -> None:
    """A lead who is on no list stands with the draft by name; before it is typed, nothing does."""
    child = _start(book.folder)
    shown = []
    for keys in ("1", "o", "Jabier Solano\r"):
        child.expect(PROMPT)
        shown.append([row["lead"] for row in book("drafts", "--json").json])
        child.send(keys)
    child.expect(PROMPT)
    shown.append([row["lead"] for row in book("drafts", "--json").json])
    child.kill(signal.SIGKILL)
    child.wait()
    assert shown[2:] == [[""], ["Jabier Solano"]]


def test_a_night_kept_as_a_draft_is_handed_in_later(book: Desk) -> None:
    """'Keep it as a draft' ends the call; --draft asks only the last question again."""
    child = _start(book.folder)
    for keys in ("1", "2", "\r", "1", "1\r", "1", "0", "a\r"):
        child.expect(PROMPT)
        child.send(keys)
    for _ in range(40):
        child.expect(PROMPT)
        if "hand in" in str(child.before):
            break
        child.send("\r")
    child.send("2")
    child.expect(pexpect.EOF)
    assert "Kept as draft" in str(child.before)
    (name,) = [row["draft"] for row in book("drafts", "--json").json]
    again = _start(book.folder, "--draft", name)
    assert "handed in as" in _answer_rest(again, [])


# ---- in Spanish ------------------------------------------------------------------------------------------------

CASE_2 = {
    "Camión de lavado": ["9", "1"],
    "Quien dirige la cuadrilla": ["3"],
    "Fecha en que empezó la noche": ["3/9/2026\r", "2026-09-03\r"],
    "Primero": ["7"],
    "Tanque o instrumento": ["1", "1"],
    "Lo que marca": ["12,5\r", "400 in\r", "30.5\r"],
    "400 in es más de lo que cabe": ["e\r"],
    "Y después": ["1", "3", "0"],
    "Parada 1: qué sitio": ["77\r", "1\r"],
    "Parada 2: qué sitio": ["Quilon Fish Counter\r"],
    "Quilon Fish Counter no está en": ["1"],
    **{f"Parada {n}: qué sitio": [f"{k}\r"] for n, k in ((3, 4), (4, 5), (5, 7), (6, 8), (7, 3), (8, 9))},
    **{f"Parada {n}, ": ["1"] for n in range(1, 9)},
    **{f"Después de la parada {n}": ["1"] for n in range(1, 8)},
    "Después de la parada 8": ["7"],
    "Lugar": ["1"],
    "Cuánta agua se entregó": ["m\r"],
    "Big Blue transfer meter al empezar": ["18,612\r", "18612\r"],
    "Big Blue transfer meter al terminar": ["18000\r"],
    "18000 es menos de lo que": ["19043\r"],
    "Cómo quedó el tanque": ["1"],
    "A qué hora": ["25:00\r", "5:50\r"],
    "Qué día": ["2"],
    "Dónde está el agua ahora": ["l\r"],
    "Agua utilizada en el lavado": ["m\r"],
    "Big Blue supply meter al empezar": ["999307\r"],
    "Big Blue supply meter al terminar": ["999812\r"],
    "Agua recuperada": ["435 gal\r"],
    "Agua que se escapó": ["1"],
    "Desagües pluviales": ["1"],
    "Producto de limpieza": ["1"],
    "Filtros": ["2"],
    "Lluvia": ["1"],
    "Recibo de Port Alder": ["R-20914\r"],
    "Listo para enviar": ["1"],
}  # fmt: skip
"""How the questions of sample case 2 begin, and what is answered to each, slips among it; else Enter."""


def _english() -> re.Pattern[str]:
    """Every English phrase, label and answer that Spanish says in other words."""
    pairs = list(PHRASES.values())
    pairs += [(row.en, row.said or row.es) for rows in GROUPS.values() for row in rows]
    pairs += [(one.value, one.said or one.es) for rows in GROUPS.values() for row in rows for one in row.choices]
    pairs += list(zip(WORDS["en"].values(), WORDS["es"].values(), strict=True))
    said = {part.strip(" .;:,()'") for en, es in pairs if en != es for part in re.split(r"\{[a-z]*\}", en)}
    spanish = " ".join(es.casefold() for _, es in pairs)
    own = sorted((part for part in said if len(part) > 3 and part.casefold() not in spanish), key=len, reverse=True)
    return re.compile(rf"\b(?:{'|'.join(map(re.escape, own))})\b", re.IGNORECASE)


def whole_book(book: Desk) -> State:
    """All that the book of a desk says."""
    with Book.open(book.folder) as opened:
        return whole(opened)


def _spoken(child: pexpect.spawn, answers: dict[str, list[str]]) -> str:
    """All that is said until the end, each question answered by how it begins."""
    left = {begins: list(typed) for begins, typed in answers.items()}
    said = ""
    for _ in range(120):
        found = child.expect([PROMPT, pexpect.EOF])
        screen = str(child.before).replace("\r\n", "\n")
        said += screen
        if found == 1:
            assert not any(left.values()), (left, said)
            return said
        asked = next(line for line in reversed(screen.split("\n")) if line and not line.startswith((" ", ">")))
        typed = next((typed for begins, typed in left.items() if asked.startswith(begins) and typed), None)
        child.send("\r" if typed is None else typed.pop(0))
    raise AssertionError(f"the questions do not end: {said}")


def test_who_reads_only_spanish_hands_in_case_2(book: Desk) -> None:
    """Slips and cautions included, no line that is read holds an English phrase of ours."""
    book.case("01")
    child = _start(book.folder, "--lang", "es")
    said = _spoken(child, CASE_2)
    assert "enviado como 2026-09-03-big-blue" in said
    names = [
        str(entry["name"]) for entries in whole_book(book).registers.entries.values() for entry in entries.values()
    ]
    for name in sorted(names, key=len, reverse=True):
        said = said.replace(name, "-")
    assert _english().findall(said.replace("Quilon Fish Counter", "-")) == []
    assert said.casefold().count("antes de irse") <= 1
    assert not re.search(r"\bse (?:trabajó|miró|sabe)\b", said)  # the crew answers in the first person
    run = book("show", "2026-09-03-big-blue", "--json").json
    assert run["fields"]["used"]["end"] == "999812"
    assert sum(line["line"] == "stop" for line in run["lines"]) == 8


def test_an_english_phrase_would_be_seen() -> None:
    """What the test above looks for is found where it is."""
    assert _english().findall("caution: x\n  do this: y\nStop 3: which site\nnot recorded yet")


def test_a_comma_in_a_reading_is_not_made_a_point(terminal: pexpect.spawn) -> None:
    """'18,612' may be eighteen thousand: both ways to write it are named."""
    for keys in ("1", "2", "\r", "7", "3\r"):
        terminal.expect(PROMPT)
        terminal.send(keys)
    terminal.expect(PROMPT)
    terminal.send("18,612\r")
    terminal.expect(PROMPT)
    assert "without a comma, 18612; or with a point if these are decimals, 18.612" in " ".join(
        str(terminal.before).split()
    )


@pytest.mark.parametrize(("language", "kept", "nothing"), [
    ("en", "Stopped. What was answered is kept as draft", "Stopped. Nothing was handed in."),
    ("es", "Detenido. Lo que contestó queda guardado como borrador", "Detenido. No se envió nada."),
])  # fmt: skip
def test_who_stops_is_told_what_is_kept(book: Desk, language: str, kept: str, nothing: str) -> None:
    """In the language of the questions; a draft without an answer is none."""
    child = _start(book.folder, "--lang", language)
    child.expect(PROMPT)
    child.send("\x03")
    child.expect(pexpect.EOF)
    assert nothing in str(child.before)
    assert book("drafts", "--json").json == []
    child = _start(book.folder, "--lang", language)
    child.expect(PROMPT)
    child.send("1")
    child.expect(PROMPT)
    child.send("\x03")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 2
    assert kept in str(child.before)
    (row,) = book("drafts", "--json").json
    assert f"washwater log --draft {row['draft']}" in str(child.before)


def test_what_is_wrong_before_the_first_question_is_told_in_spanish(book: Desk, desk: Desk, tmp_path: Path) -> None:
    """No book, a misread serial, a draft that is not there or cannot be read."""
    for args, what in (
        (("--card", "TVX7-67W2-7"), "el carácter de control de 'TVX7-67W2-7' no va con los demás"),
        (("--card", "12"), "'12' no es el número de una hoja: '1' no aparece en ninguno"),
        (("--card", "2345"), "'2345' tiene 4 caracteres; el número de una hoja tiene 8 y uno de control"),
        (("--draft", "zz"), "No hay ningún borrador zz"),
    ):
        said = book("log", "--lang", "es", *args)
        assert said.code == 2
        assert said.err.startswith(what)
        assert "\n  dónde: " in said.err
        assert "\n  qué hacer: " in said.err
    (book.folder / "drafts").mkdir(exist_ok=True)
    (book.folder / "drafts" / "bad.json").write_text("{", encoding="utf-8")
    assert book("log", "--lang", "es", "--draft", "bad").err.startswith("El borrador bad no se puede leer")
    assert "cannot be read" in book("log", "--draft", "bad").err
    assert "no se puede leer" in book("drafts", "--lang", "es").out
    assert book("drafts", "--lang", "es").out.startswith("borrador  fecha  camión")
    assert "Hay estos: bad." in book("drafts", "--lang", "es", "--throw-away", "zz").err
    assert book("drafts", "--lang", "es", "--throw-away", "bad").out == "El borrador bad ya no está.\n"
    assert book("drafts", "--lang", "es").out == "No hay ninguna noche sin terminar.\n"
    assert json.loads(book("log", "--lang", "es", "--draft", "zz", "--json").out)["problems"]
    nowhere = Desk(tmp_path / "nowhere", desk.capture)
    assert nowhere("log", "--lang", "es").err.startswith("Aquí no hay ningún libro")
    assert nowhere("log").err.startswith("There is no book here")


def test_what_to_look_at_again_is_told_in_spanish(book: Desk, typed: Callable[[str], None]) -> None:
    """A day that is still to come, and more recovered than the tank holds."""
    typed("1\n2\n2027-01-05\n1\n4\n1\n0\na\n~900\n~900\n" + "\n" * 7 + "1\n")
    said = book("log", "--lang", "es")
    assert said.code == 0, said.err
    assert "la fecha 2027-01-05 es posterior a la de este reloj" in said.err
    assert "~900 gal es más de lo que cabe en el tanque (500 gal); mire la cifra otra vez" in said.err
    assert "look again" not in said.err


def test_a_night_that_is_not_taken_stays_a_draft_and_says_so(book: Desk, typed: Callable[[str], None]) -> None:
    """Somebody has changed the file of a draft; what is wrong is passed on to the office."""
    typed("1\n2\n2026-09-01\n1\n4\n1\n0\na\n" + "\n" * 9 + "2\n")
    assert book("log", "--lang", "es").out.rstrip().split("\n")[-1].startswith("> Guardado como borrador")
    (file,) = (book.folder / "drafts").iterdir()
    file.write_text(json.dumps(json.loads(file.read_text()) | {"card": "nonsense"}), encoding="utf-8")
    typed("1\n")
    said = book("log", "--draft", file.stem)
    assert said.code == 2
    assert said.err.startswith(f"La noche todavía no se envió; queda guardada como borrador {file.stem}.")
    assert "\n  qué hacer: " in said.err
    assert [row["draft"] for row in book("drafts", "--json").json] == [file.stem]
