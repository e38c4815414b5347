"""What a rule saw is said in the language of the page; what somebody typed stays as it was typed."""

from __future__ import annotations

import pytest

from compliance.reports.seen import seen_text
from compliance.reports.words import Words
from compliance.rules.catalogue import ALL
from compliance.rules.rule import Finding, Missing, Rule
from compliance.rules.rule import Words as Both
from tests.reports.making import Bench, findings_of
from tests.rules.samples import found as found_in
from tests.rules.samples import read, scene

ES, EN = Words("es"), Words("en")


def finding(rule: str, seen: str, *missing: Missing) -> Finding:
    """A finding of a rule that saw this."""
    at, about, day = Both("run", "salida"), "2026-09-14-big-blue", "2026-09-14"
    return Finding(
        rule, "slug", "look at", "practice", "run", about, day, at, seen, "compared", "next", missing=missing
    )


def left_in_english(found: Finding) -> list[str]:
    """The sentences of a finding that no entry of the catalogue says; missing fields are said from themselves."""
    if found.missing:
        return []
    return [one for one in found.seen.split("; ") if seen_text(finding(found.rule, one), ES) == one]


@pytest.mark.parametrize("rule", ALL, ids=lambda rule: rule.id)
def test_what_each_rule_sees_has_its_spanish(rule: Rule) -> None:
    """The fail sample of each rule, sentence by sentence."""
    found = found_in(scene(read(rule.id, "fail")), rule.id)
    assert found
    assert [left_in_english(one) for one in found if left_in_english(one)] == []
    assert all(seen_text(one, ES) != one.seen for one in found)
    assert [seen_text(one, EN) for one in found] == [one.seen for one in found]


def test_what_the_rules_see_in_the_sample_jobs_has_its_spanish(everything: Bench) -> None:
    """The book of the demo too."""
    found = findings_of(everything)
    assert len(found) > 3
    assert [left_in_english(one) for one in found if left_in_english(one)] == []


@pytest.mark.parametrize(
    ("seen", "said"),
    [
        ("not explained: 130.7 ± 6.0 gal", "sin explicar: 130.7 ± 6.0 gal"),
        ("aboard: at least 600 gal", "a bordo: al menos 600 gal"),
        ("aboard: 507 gal, no ± stated", "a bordo: 507 gal (sin ± en el archivo)"),
        ("recovery ratio 126.0 %, stated, no ±", "proporción: 126.0 % (dicho, sin ±)"),
        ("recovery ratio 126.0 %, worked out, no ±", "proporción: 126.0 % (calculado, sin ±)"),
        (
            "recovery ratio of the run: 92.9 % (between 90.7 % and 95.1 %)",
            "proporción de la salida: 92.9 % (entre 90.7 % y 95.1 %)",
        ),
        (
            "hose burst; at the pump: it reached no storm drain that anybody saw (soil); amount not read",
            "hose burst; at the pump: nadie vio que llegara a un desagüe pluvial (tierra); cantidad: no se leyó",
        ),
        (
            "used at stop 1: -9 gal and recovered between two looks at the tank: at most -1 gal",
            "utilizada en la parada 1: -9 gal, recuperada entre dos lecturas del tanque: como máximo -1 gal",
        ),
        (
            "used: 400.0 ± 7.0 gal (meter) and 500 gal, no ± stated (declared)",
            "utilizada: 400.0 ± 7.0 gal (medidor) y 500 gal (sin ± en el archivo) (dicho)",
        ),
        (
            "'Salt and Tile' showed 30, then 20 and \"client's meter\" showed 50, then 40",
            "'Salt and Tile' marcó 30, luego 20; \"client's meter\" marcó 50, luego 40",
        ),
        (
            "water was handed over to 'Ramp and deck' with no permission named; the register holds none",
            "se entregó agua a 'Ramp and deck' sin nombrar ningún permiso; en las listas no hay ninguno",
        ),
        (
            "water of Fish Quay was carried to 'Mill', a treatment plant; designated by the sewer authority: no",
            "agua de Fish Quay: se llevó a 'Mill' (planta de tratamiento); designado por la autoridad del drenaje: no",
        ),
        ("where the water is: 'not known'; how much was recovered is not read",
         "dónde está el agua: 'no se sabe'; cuánta se recuperó: no se leyó"),
        ("what nobody foresaw", "what nobody foresaw"),
    ],
)  # fmt: skip
def test_a_sentence_is_said_with_what_stands_in_it(seen: str, said: str) -> None:
    """Figures, kinds and answers in Spanish; names and remarks as they are; an unknown sentence as it came."""
    assert seen_text(finding("water-3", seen), ES) == said
    assert seen_text(finding("water-3", seen), EN) == seen


def test_missing_fields_are_said_by_their_labels() -> None:
    """From the fields themselves, each with where it is missing."""
    missing = (
        Missing("run", "rain", "truck"), Missing("stop", "area", "office", "1"), Missing("stop", "area", "office", "2"),
        Missing("ticket", "accepted", "proof", "3", "ticket T-1"),
    )  # fmt: skip
    assert seen_text(finding("missing-1", "asked of the crew: Rain (run)", *missing), ES) == (
        "se pide a la cuadrilla: Lluvia (salida); lo completa la oficina: Área (línea 1, línea 2); "
        "falta en una hoja: Aceptado (recibo T-1)"
    )
    entry = Missing("permission", "valid_from", "office", entry="permission SA-7")
    assert (
        seen_text(finding("register-2", "not recorded yet: Valid from", entry), ES)
        == "todavía sin anotar: Válido desde"
    )
