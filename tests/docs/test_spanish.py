"""One thing has one word in Spanish, wherever it is said: in questions, on pages, on the card and in the workbook."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from compliance.intake.cautions import TABLE
from compliance.intake.handin import WORDS
from compliance.intake.wording import PHRASES
from compliance.records.fields import GROUPS, WHERE
from compliance.reports import card_words, sidebyside, text
from compliance.reports.card_help import HELP, sheet_lines
from compliance.reports.words import catalogue
from compliance.rules.catalogue import ALL

OTHER_WORDS = {
    "the book is 'libro', a record 'registro'": r"ningún registro\W*$|en el registro como|el registro (?:ya lo )?dice"
    r"|el registro está mal",
    "a register is 'lista'": r"(?:según el|en (?:el|nuestro)) registro(?! como)|está en el archivo$",
    "a drain is 'desagüe pluvial', noun with adjective": r"desagües?\b(?! pluvial)",
    "what was used is 'utilizada'": r"\b(?:agua )?usadas?\b",
    "cancelled is 'cancelado'": r"\banul\w+",
    "a figure that somebody stated is 'dicha'": r"cifras? declarad\w+|ninguna declarada",
    "a row is 'fila'": r"\breng?l\w*",
    "an open item is 'pendiente'": r"\basuntos?\b",
    "at most is 'como máximo', which an entry takes too": r"a lo (?:más|mucho)|cuando mucho",
    "not recorded yet is 'todavía sin anotar'": r"no se registró|sin registrar",
    "a page is 'hoja'; 'página' only counts its sheets": r"esta página",
    "a hand over is 'entrega'": r"\bdescarg\w+",
}
"""What a thing is called, and the words by which it is called nowhere."""


def spanish() -> Iterator[str]:
    """Every Spanish text that the program has ready."""
    for rows in GROUPS.values():
        for row in rows:
            yield row.es
            yield from (one for choice in row.choices for one in (choice.es, choice.said) if one)
    yield from (choice.es for choice in WHERE)
    yield from (es for _, es in PHRASES.values())
    yield from WORDS["es"].values()
    yield from (caution.es for caution in TABLE)
    yield from catalogue("es").values()
    yield from (said["es"] for said in text._WORDS.values())
    yield from sidebyside.HEADINGS["es"]
    yield from (es for es, _ in card_words.WORDS.values())
    yield from (es for _, es in HELP.values())
    yield from (left for left, _, _ in sheet_lines("es", lambda ask: ask.label("es")))
    yield from (right for _, right, _ in sheet_lines("es", lambda ask: ask.label("es")))
    for rule in ALL:
        yield rule.title.es
        if rule.crew is not None:
            yield rule.crew.es


@pytest.mark.parametrize("thing", OTHER_WORDS)
def test_a_thing_has_one_word_in_spanish(thing: str) -> None:
    """No text says it by another."""
    other = re.compile(OTHER_WORDS[thing], re.IGNORECASE)
    assert [said for said in spanish() if other.search(said)] == []


def test_the_list_of_texts_is_not_empty_and_the_patterns_find_what_they_are_for() -> None:
    """The test can fail."""
    assert len(list(spanish())) > 1_000
    for wrong in ("Aquí no hay ningún registro", "no está en nuestro registro", "un desagüe", "+ usada +", "se anuló",
                  "cifras declaradas propias", "Renglones", "3 asuntos abiertos", "a lo más 400 gal",
                  "todavía no se registró", "en esta página", "la descarga"):  # fmt: skip
        assert any(re.search(other, wrong, re.IGNORECASE) for other in OTHER_WORDS.values()), wrong
    for right in ("con el registro", "Código de registro", "Desagüe pluvial", "utilizada", "se canceló", "filas"):
        assert not any(re.search(other, right, re.IGNORECASE) for other in OTHER_WORDS.values()), right
