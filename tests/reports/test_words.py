"""The catalogues say the same things in both languages, and never more than the records can bear."""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from compliance import water
from compliance.records.answer import SPOKEN, WRITTEN
from compliance.records.fields import GROUPS, WHERE
from compliance.reports import words as words_module
from compliance.reports.words import LANGUAGES, Words, catalogue
from compliance.rules.catalogue import ALL
from compliance.water.volume import Unknown
from tests.reports.making import Bench

COMMAND = "washwater verify"
"""The name of a command is not a claim about a page; it comes in as a value, never from a catalogue."""

TOO_MUCH_EN = (
    r"certif\w*", r"complian\w*", r"compl(?:y|ies|ied|ying)", r"approv\w*", r"guarant\w*", r"verif\w*", r"proven",
    r"tamper[- ]?proof\w*", r"zero[- ]discharge\w*", r"100\s?%", r"one hundred percent", r"no water entered",
    r"nothing entered", r"safe(?:ly|r|st)?", r"eco(?:-?friendly|logical\w*)?", r"environment\w*", r"green",
    r"official\w*", r"audited", r"lawful\w*", r"prevents?",
)  # fmt: skip
TOO_MUCH_ES = (
    r"certific\w*", r"constancias?", r"hac(?:er|emos|e) constar", r"d(?:ar|amos|a) fe", r"acredit\w*", r"aval\w*",
    r"cumpl\w+", r"conformes?", r"conformidad", r"en regla", r"legal(?:es|mente)?", r"apegad\w+ a la norma",
    r"apr(?:ob|ueb)\w+", r"homolog\w*", r"visto bueno", r"oficial(?:es|mente)?", r"autorizad\w+", r"garant\w+",
    r"asegur\w+", r"segur[oa]s?", r"seguramente", r"sin riesgos?", r"inofensiv\w+", r"inocu\w+", r"no tóxic\w+",
    r"verific\w+", r"validad\w*", r"validamos", r"validar", r"comprob\w+", r"comprueb\w+", r"confirm\w+", r"audit\w+",
    r"inviolables?", r"inalterables?", r"a prueba de", r"infalsificables?", r"cero (?:descarga|vertido)s?",
    r"(?:descarga|vertido)s? cero", r"libres? de descargas?", r"no entró agua", r"nada llegó", r"100\s?%",
    r"cien por ciento", r"tod[oa]s?", r"total(?:es|mente)?", r"por completo", r"hasta la última gota", r"eco\w*",
    r"verdes?", r"sustentabl\w+", r"sostenibl\w+", r"amigables? con el (?:medio )?ambiente", r"biodegradabl\w+",
    r"evit\w+", r"impid\w+", r"impedi\w+", r"proteg\w+ el agua",
)  # fmt: skip
TOO_MUCH = {
    "en": re.compile(rf"(?<!\w)(?:{'|'.join(TOO_MUCH_EN)})(?!\w)", re.IGNORECASE),
    "es": re.compile(rf"(?<!\w)(?:{'|'.join(TOO_MUCH_ES)})(?!\w)", re.IGNORECASE),
}
NO_TITLE_ES = re.compile(
    r"(?<!\w)(?:pruebas?|comprobantes?|dict[aá]men(?:es)?|actas?|certificados?)(?!\w)", re.IGNORECASE
)

PLACE = re.compile(r"\{(\w*)\}")
SAME_IN_BOTH = re.compile(r"[^a-záéíóúñü]*(?:\{\w+\}[^a-záéíóúñü]*)*", re.IGNORECASE)
WRITTEN_ALIKE = {"unit.qt", "unit.um", "unit.m2", "unit.m3", "where.ph", "beside.en"}
"""Signs of units and of quantities that both languages write in one way."""


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_catalogue_says_more_than_the_records_can_bear(language: str) -> None:
    """Words that over-claim stand in no entry of a catalogue, whole words, in any inflection."""
    found = {key: TOO_MUCH[language].findall(text) for key, text in catalogue(language).items()}  # type: ignore[arg-type]
    assert {key: hits for key, hits in found.items() if hits} == {}


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_label_choice_or_rule_says_more_than_the_records_can_bear(language: str) -> None:
    """The same holds for the labels, choices and help of the field table and the titles and crew lines of rules."""
    found = {text for text in _table_texts(language) if TOO_MUCH[language].search(text)}
    assert found == set()


def _table_texts(language: str) -> Iterator[str]:
    for rows in GROUPS.values():
        for row in rows:
            yield row.es if language == "es" else row.en
            if language == "en":
                yield row.help
            for choice in row.choices:
                yield choice.es if language == "es" else choice.value
    yield from (one.es if language == "es" else one.value for one in WHERE)
    for rule in ALL:
        yield rule.title.in_(language)  # type: ignore[arg-type]
        if rule.crew is not None:
            yield rule.crew.in_(language)  # type: ignore[arg-type]


def test_the_list_catches_what_it_must() -> None:
    """Each word that the issue names is caught, alone and inside a sentence, and near words are not."""
    for text in ("certified", "Compliant.", "approved!", "guaranteed", "verified", "tamper-proof", "zero discharge",
                 "100 %", "100\u00a0%", "no water entered", "safe", "eco", "eco-friendly"):  # fmt: skip
        assert TOO_MUCH["en"].search(f"it is {text} here"), text
    for text in ("certificado", "en cumplimiento", "aprobada", "garantizamos", "seguro", "verificado", "cero descargas",
                 "100 %", "ecológico", "todos", "totalmente", "confirmado", "avalado", "evita"):  # fmt: skip
        assert TOO_MUCH["es"].search(f"es {text} aquí"), text
    for text in ("safety data sheet", "recovery", "95 %", "second"):
        assert not TOO_MUCH["en"].search(text), text
    for text in ("hoja de datos de seguridad", "todavía", "registro", "segundo"):
        assert not TOO_MUCH["es"].search(text), text


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("answer", WRITTEN)
def test_what_a_page_prints_for_an_answer_without_a_value_is_taken_as_that_answer(answer: str, language: str) -> None:
    """A crew that read 'no se leyó' on last month's page writes it at the next question, and it was not understood."""
    assert SPOKEN[Words(language)(f"unknown.{answer}")] == answer


def test_a_spanish_page_is_never_titled_as_proof() -> None:
    """In Spanish a page is a record; the words for proof, certificate or minutes never name one."""
    titles = [text for key, text in catalogue("es").items() if key.endswith(".title")]
    assert len(titles) > 10
    assert [title for title in titles if NO_TITLE_ES.search(title)] == []
    assert catalogue("es")["proof.title"] == "Registro de recuperación de agua de lavado"


def test_both_catalogues_have_the_same_keys_and_places() -> None:
    """What one language can say the other can, about the same values."""
    en, es = catalogue("en"), catalogue("es")
    assert list(en) == list(es)
    assert {key for key in en if sorted(PLACE.findall(en[key])) != sorted(PLACE.findall(es[key]))} == set()


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_key_stands_twice_in_a_catalogue(language: str) -> None:
    """Of two, a reader of JSON keeps the later one in silence, and a new heading takes the place of another."""
    text = (Path(words_module.__file__).parent / "words" / f"{language}.json").read_text(encoding="utf-8")
    keys = json.loads(text, object_pairs_hook=lambda pairs: [key for key, _ in pairs])
    assert len(keys) == len(catalogue(language)) == len(set(keys))


def test_nothing_was_left_in_english() -> None:
    """A Spanish entry equals the English one only where a word or a sign is written alike in both."""
    en, es = catalogue("en"), catalogue("es")
    same = {key for key in en if en[key] == es[key] and not SAME_IN_BOTH.fullmatch(en[key])}
    assert same == WRITTEN_ALIKE


def test_no_entry_is_without_a_use() -> None:
    """Every entry is asked for somewhere in the builders, by its key or by the beginning of it."""
    folder = Path(words_module.__file__).parent
    code = "\n".join(path.read_text(encoding="utf-8") for path in folder.glob("*.py"))
    literal = set(re.findall(r"\"([a-z0-9_]+(?:[.][a-z0-9_ ]+)*)\"", code))
    begun = set(re.findall(r"f[\"']([a-z_.]+[.])\{", code))
    answered_by_key = {f"{key}.{end}" for key in literal for end in ("one", "many")}
    answered_by_key |= {f"{key}.all" for key in literal}
    unused = [
        key
        for key in catalogue("en")
        if key not in literal
        and key not in answered_by_key
        and not any(key.startswith(start) for start in begun)
        and not key.startswith(("clause.", "formula.", "seen."))
    ]
    assert unused == []


def test_labels_come_from_the_field_table() -> None:
    """No label of a field is copied into a catalogue: a label is that of its row, in the page's language."""
    for group, rows in GROUPS.items():
        for row in rows:
            assert Words("en").label(group, row.name) == row.en
            assert Words("es").label(group, row.name) == row.es
            for choice in row.choices:
                assert Words("es").choice(group, row.name, choice.value) == choice.es


def test_what_was_typed_is_no_choice_and_stays_as_typed() -> None:
    """A free text in a field with choices is shown as it was typed."""
    assert Words("es").choice("run", "rain", "a drizzle at nine") == "a drizzle at nine"
    with pytest.raises(KeyError):
        Words("es").choice("run", "no such field", "x")


def test_braces_in_a_persons_words_are_only_braces() -> None:
    """Values are put in place once and never read as a template."""
    assert Words("en")("answer.stop", stop="{answer}", answer="{0.__class__}") == "{answer}: {0.__class__}"


def test_one_and_many_are_told_apart() -> None:
    """A count has its own wording for one."""
    assert Words("en").count("status.awaited", 1) == "1 item awaited"
    assert Words("en").count("status.awaited", 1200) == "1,200 items awaited"
    assert Words("es").count("status.awaited", 2) == "faltan 2 datos por llegar"


def test_the_four_ways_of_having_no_value_are_four_words() -> None:
    """'not read', 'not applicable', 'not recorded yet' and, in a closed month, 'not recorded' are never one word."""
    for language in LANGUAGES:
        open_, closed = Words(language), Words(language, closed=True)
        said = [open_.unknown(kind) for kind in ("not read", "not applicable", "not recorded yet", "not known")]
        assert len({*said, closed.unknown("not recorded yet")}) == 5
        assert closed.unknown("not read") == open_.unknown("not read")


def test_every_reason_of_the_calculator_has_its_spanish(everything: Bench) -> None:
    """No clause that the calculator gives for the sample jobs is left in English on a Spanish page."""
    night = everything.night
    reasons = {
        figure.reason
        for run in night.runs.values()
        for stop in run.stops
        for figure in (stop.used.figure, stop.captured.figure, stop.not_explained, run.not_explained)
        if isinstance(figure, Unknown)
    }
    reasons |= {stop.why for run in night.runs.values() for stop in run.stops if stop.why}
    reasons |= {load.why for load in night.loads.values() if load.why}
    for run in night.runs.values():
        reasons.add(getattr(run.ratio, "why", "") or getattr(run.ratio, "note", ""))
    reasons.discard("")
    assert len(reasons) > 5
    assert {reason for reason in reasons if Words("es").clause(reason) == reason} == set()
    assert all(Words("en").clause(reason) == reason for reason in reasons)


def _filled(node: ast.expr) -> str:
    """A reason as the source has it, with a letter for each place of it; '' for one that is made elsewhere."""
    if isinstance(node, ast.Constant):
        return str(node.value)
    if isinstance(node, ast.JoinedStr):
        return "".join(str(part.value) if isinstance(part, ast.Constant) else "Z" for part in node.values)
    return ""


def test_every_reason_in_the_source_of_the_calculator_has_its_spanish() -> None:
    """Those that no sample job meets too: a night from an opening that nobody read was told half in English."""
    called = [
        node
        for path in Path(water.__file__).parent.glob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and node.args and ast.unparse(node.func).rpartition(".")[2].lower() == "unknown"
    ]
    reasons = {_filled(part) for node in called for part in node.args} - {""}
    reasons = {
        reason for reason in reasons if " " in reason.strip() and reason not in WRITTEN and reason != "not known"
    }
    assert len(reasons) > 15
    english = re.compile(r"\b(?:the|of|was|were|is|there|said|than|which|how|not|and)\b")
    assert {reason for reason in reasons if english.search(Words("es").clause(reason))} == set()


@pytest.mark.parametrize(
    ("english", "spanish"),
    [
        ("used was not read", "agua utilizada: no se leyó"),
        ("what was captured is not read: used was not read", "lo recuperado: no se leyó: agua utilizada: no se leyó"),
        ("stated, no ±; not distinguishable from all of it", "dicho, sin ±; no se distingue de la cantidad entera"),
        ("the flow of pump 3 is a range", "el caudal de pump 3 es un intervalo"),
        ("something that nobody foresaw", "something that nobody foresaw"),
        (
            "how much there is of agent, earlier loads was not read",
            "no se leyó cuánto hay: producto, agua de cargas anteriores",
        ),
        (
            "M showed 5, then 3: had it rolled over, 9 would have gone through, half or more of what it counts",
            "M marcó 5, después 3: si dio la vuelta, habrían pasado 9, la mitad o más de lo que cuenta",
        ),
    ],
)
def test_a_clause_is_put_together_from_its_parts(english: str, spanish: str) -> None:
    """A clause is looked up whole, then part by part, then by its pattern; an unknown one is shown as it came."""
    assert Words("es").clause(english) == spanish


def test_in_a_closed_month_no_clause_says_that_something_is_still_to_come() -> None:
    """'Not recorded yet' inside a reason becomes 'not recorded', in both languages; everything else stays."""
    for language in LANGUAGES:
        open_, closed = Words(language), Words(language, closed=True)
        text = "what was captured is not recorded yet"
        assert open_.unknown("not recorded yet") in open_.clause(text)
        assert closed.clause(text) == open_.clause(text).replace(
            open_.unknown("not recorded yet"), open_.unknown("not recorded")
        )
        assert closed.clause("used was not read") == open_.clause("used was not read")


def test_a_formula_keeps_its_digits() -> None:
    """A line to redo by hand has the same digits in both languages, inches in words, and a minus that is one."""
    line = "from 26.0 in (245.35) to empty (0.00) = 245.35 - 0.00 gal"
    assert Words("en").formula(line) == "from 26.0 in (245.35) to empty (0.00) = 245.35 − 0.00 gal"
    assert Words("es").formula(line) == "de 26.0 pulg (245.35) a vacío (0.00) = 245.35 − 0.00 gal"
