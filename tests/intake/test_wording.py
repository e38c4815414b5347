"""Both languages say the same, and neither claims more than records can show."""

from __future__ import annotations

import re
import string
import subprocess
import sys

import pytest

from compliance.intake.cautions import TABLE
from compliance.intake.handin import WORDS
from compliance.intake.wording import DAYS, LANGUAGES, PHRASES, say

OVER_CLAIMS = {
    "en": r"certif\w+|complian\w+|approv\w+|guarant\w+|verif\w+|tamper\w*|zero discharge|100 ?%|no water entered"
          r"|safe\w*|eco\w*",
    "es": r"certific\w+|constancia|acredit\w+|avalad\w+|cumpl\w+|conformes?|en regla|legal\w*|aprob\w+|homolog\w+"
          r"|visto bueno|oficial\w*|garantiz\w+|asegur\w+|segur[oa]s?|sin riesgo|inofensiv\w+|inocu\w+|verific\w+"
          r"|validad\w+|comprob\w+|confirm\w+|auditad\w+|actas?|inviolable|inalterable|infalsificable|100 ?%"
          r"|cien por ciento|tod[oa]s?|total\w*|por completo|ecol\w+|verdes?|sustentable|sostenible"
          r"|biodegradable|evita\w*|impid\w+"
          r"|protege\w*",
}  # fmt: skip
"""Whole words, with their inflections, that no template of ours holds."""


def texts(language: str) -> list[str]:
    return [
        *(pair[LANGUAGES.index(language)] for pair in PHRASES.values()),
        *(caution.text(language) for caution in TABLE),
        *WORDS[language].values(),
    ]


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_template_over_claims(language: str) -> None:
    """Questions, cautions and acknowledgements, word by word."""
    claim = re.compile(rf"\b(?:{OVER_CLAIMS[language]})\b", re.IGNORECASE)
    assert [text for text in texts(language) if claim.search(text)] == []


def holes(text: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(text) if name}


@pytest.mark.parametrize("phrase", PHRASES)
def test_a_phrase_fills_the_same_holes_in_both_languages(phrase: str) -> None:
    """Nothing that one language tells is left out of the other."""
    english, spanish = PHRASES[phrase]
    assert english
    assert spanish
    assert english != spanish or phrase == "enter date"
    assert holes(english) == holes(spanish)


def test_the_acknowledgements_have_the_same_keys_and_holes() -> None:
    """In each language."""
    assert WORDS["en"].keys() == WORDS["es"].keys()
    for key, english in WORDS["en"].items():
        assert holes(english) == holes(WORDS["es"][key])


def test_a_week_has_seven_days() -> None:
    """Monday first."""
    assert (len(DAYS), DAYS[0], DAYS[6]) == (7, ("Monday", "lunes"), ("Sunday", "domingo"))


def test_a_phrase_is_said_with_its_values() -> None:
    """In the language that is asked for."""
    assert say("progress", "es", done=3, stops=2) == "3 de 5 necesarias, parada 2"


def test_the_way_of_a_night_into_the_book_imports_nothing_heavy() -> None:
    """Asking, checking and handing in start without tables, workbooks, pages or a command line."""
    program = (
        "import sys, compliance.intake.questions, compliance.intake.run, compliance.intake.handin\n"
        "import compliance.intake.fromfile, compliance.intake.validate\n"
        "print(*sorted(sys.modules.keys() & {'pandas', 'numpy', 'openpyxl', 'reportlab', 'sqlite_utils', 'click',"
        " 'difflib', 'tomllib', 'sqlite3', 'compliance.water'}))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""
