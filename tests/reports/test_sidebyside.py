"""Two hand-ins of one night side by side, in the words of the field table."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.records.fields import LINE_KINDS
from compliance.reports.sidebyside import Side, side_by_side
from compliance.reports.words import Words

EN, ES = Words("en"), Words("es")


def night(*lines: dict[str, Any], **fields: Any) -> dict[str, Any]:
    """The payload of a run as far as two are compared."""
    numbered = [
        {"n": str(n), "line": line["line"], "fields": {k: v for k, v in line.items() if k != "line"}}
        for n, line in enumerate(lines, start=1)
    ]
    return {"fields": fields, "lines": numbered}


def stop(site: str, **fields: Any) -> dict[str, Any]:
    return {"line": "stop", "site": site, **fields}


def told(held: dict[str, Any], came: dict[str, Any], words: Words = EN) -> list[tuple[str, str, str]]:
    return [(side.field, side.book, side.here) for side in side_by_side(held, came, words)]


def test_nights_that_say_the_same_have_nothing_to_show() -> None:
    """Whoever keyed them."""
    one = night(stop("Harbor deck"), rig="Big Blue", keyed_by="Priya Lund")
    assert told(one, night(stop("Harbor deck"), rig="Big Blue")) == []


def test_a_field_is_named_by_its_label_and_an_answer_by_its_words() -> None:
    """In either language; 'not read' and nothing at all are two things."""
    held = night(where="aboard", rain="none", used="not read", date="2026-09-03", start="2026-09-03T20:20:00-07:00")
    came = night(where="North Plant", rain="heavy", date="2026-09-04", start="2026-09-03T21:20:00-07:00")
    assert told(held, came, ES) == [
        ("Fecha de inicio", "3 sep 2026", "4 sep 2026"),
        ("Dónde está el agua", "a bordo", "North Plant"),
        ("Inicio", "3 sep 2026, 8:20\u00a0p.\u00a0m.", "3 sep 2026, 9:20\u00a0p.\u00a0m."),
        ("Agua utilizada en el lavado", "no se leyó", "nada"),
        ("Lluvia", "no llovió", "llovió fuerte"),
    ]
    assert ("Where the water is", "aboard", "North Plant") in told(held, came)


def test_two_readings_of_one_meter_differ_by_the_reading_alone() -> None:
    """Of another meter, or by another method, the whole of it is shown."""
    read = {"method": "meter", "meter": "Blue", "start": "41290", "end": "41790"}
    assert told(night(used=read), night(used=read | {"end": "41970"})) == [
        ("Used (fresh water drawn), end", "41790", "41970")
    ]
    (other,) = told(night(used=read), night(used=read | {"meter": "Red"}))
    assert other == (
        "Used (fresh water drawn)",
        "meter: Blue, start 41290, end 41790",
        "meter: Red, start 41290, end 41790",
    )
    assert told(night(used=read), night(used="~450 gal"))[0][2] == "~450 gal"


def test_a_line_is_named_by_what_it_is_about() -> None:
    """A stop by its place among the stops, any other by its kind."""
    held = night(
        {"line": "reading", "of": "Blue tank", "shows": "empty"},
        stop("A"),
        stop("B", drains="covered"),
        {"line": "hand over", "place": "North Plant", "tank_after": "3 in"},
    )
    came = night(
        {"line": "reading", "of": "Blue tank", "shows": "5 in"},
        stop("A"),
        stop("B", drains="none there"),
        {"line": "hand over", "place": "North Plant", "tank_after": "empty"},
    )
    assert told(held, came) == [
        ("Reading, Blue tank: It shows", "empty", "5 in"),
        ("Stop 2, B: Storm drains", "covered", "none there"),
        ("Handover, North Plant: Tank afterwards", "3 in", "empty"),
    ]


def test_a_line_more_does_not_make_the_others_look_different() -> None:
    """On either side; it stands alone with all that it says."""
    short, long = night(stop("A"), stop("C")), night(stop("A"), stop("B", drains="covered"), stop("C"))
    assert told(short, long) == [("Stop 2, B", "nothing", "Site: B; Storm drains: covered")]
    assert told(long, short, ES) == [("Parada 2, B", "Sitio: B; Desagües pluviales: se cubrieron", "nada")]


def test_a_stop_at_another_site_is_the_same_stop_told_otherwise() -> None:
    """By its place in the order."""
    assert told(night(stop("A"), stop("B")), night(stop("A"), stop("C"))) == [("Stop 2, B: Site", "B", "C")]


def test_the_entries_of_a_list_are_shown_whole() -> None:
    """One list beside the other."""
    held = night(stop("A", drain_list=[{"name": "NE inlet", "seen": "none seen"}, {"name": "SW inlet"}]))
    (side,) = side_by_side(held, night(stop("A", drain_list=[])), EN)
    assert side == Side(
        "Stop 1, A: Drain by drain", "Drain: NE inlet; Water seen entering: none seen / Drain: SW inlet", "nothing"
    )


@pytest.mark.parametrize("words", [EN, ES], ids=["en", "es"])
@pytest.mark.parametrize("kind", LINE_KINDS)
def test_every_kind_of_line_has_a_name(kind: str, words: Words) -> None:
    """In both languages."""
    (side,) = side_by_side(night(), night({"line": kind}), words)
    assert side.field
