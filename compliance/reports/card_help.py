"""What each column of the keying workbook takes, in a sentence a column and language."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Final

from compliance.intake.card_lines import NIGHT, STOP, Ask
from compliance.reports.model import Language

HELP: Final[Mapping[str, tuple[str, str]]] = {
    # key: (en, es)
    "card": (
        "The serial printed on the card. The same card is the same night, however often it is keyed.",
        "El número impreso en la hoja. La misma hoja es la misma noche, aunque se capture varias veces.",
    ),
    "date": (
        "The day on which the night started: year, month, day, like 2026-09-14.",
        "El día en que empezó la noche: año, mes, día, como 2026-09-14.",
    ),
    "rig": ("The name that the crew uses.", "El nombre que usa la cuadrilla."),
    "lead": ("Who led the crew that night.", "Quien dirigió la cuadrilla esa noche."),
    "crew": ("The other names, with commas.", "Los demás nombres, con comas."),
    "start": ("A time like 20:20.", "Una hora como 20:20."),
    "end": (
        "A time like 06:05; earlier than the start, it is after midnight.",
        "Una hora como 06:05; si es antes del inicio, es después de medianoche.",
    ),
    "tank": (
        "Only where the rig has several recovery tanks.",
        "Solo si el camión tiene varios tanques de recuperación.",
    ),
    "tank_start": (
        "Inches, or a volume with its unit, or: empty, full, did not read.",
        "Pulgadas, o un volumen con su unidad, o: vacío, lleno hasta el flotador, no lo leí.",
    ),
    "tank_now": (
        "As it was when the card was filled in. If the water was handed over: afterwards.",
        "Como estaba al llenar la hoja. Si el agua ya se entregó: después de la entrega.",
    ),
    "supply_meter": ("The name of the meter; as on the card.", "El nombre del medidor; como en la hoja."),
    "supply_start": (
        "The figure as it stands on the meter, or: did not read.",
        "La cifra como está en el medidor, o: no lo leí.",
    ),
    "supply_end": (
        "The figure as it stands on the meter, or: did not read.",
        "La cifra como está en el medidor, o: no lo leí.",
    ),
    "handover_meter": ("The name of the meter; as on the card.", "El nombre del medidor; como en la hoja."),
    "handover_start": (
        "The figure as it stands on the meter, or: did not read.",
        "La cifra como está en el medidor, o: no lo leí.",
    ),
    "handover_end": (
        "The figure as it stands on the meter, or: did not read.",
        "La cifra como está en el medidor, o: no lo leí.",
    ),
    "used": (
        "Only as the crew wrote it; ~450 is 'about 450'.",
        "Solo como lo escribió la cuadrilla; ~450 es 'unos 450'.",
    ),
    "where": (
        "One of the answers, or the place where the water was handed over.",
        "Una de las respuestas, o el lugar donde se entregó el agua.",
    ),
    "emptied_at": (
        "Where a tank that filled during the night was emptied; 'not known' is an answer.",
        "Dónde se vació un tanque que se llenó en la noche; 'no sé' es una respuesta.",
    ),
    "ticket": ("Its number, or: later.", "Su número, o: después."),
    "agent_use": ("A tick at 'none used', else leave blank.", "Si está marcado 'no usé ninguno'; si no, en blanco."),
    "agent_1": ("The product's name.", "El nombre del producto."),
    "agent_2": ("The product's name.", "El nombre del producto."),
    "jugs_1": ("How many jugs were used in the whole night.", "Cuántos envases se usaron en la noche."),
    "jugs_2": ("How many jugs were used in the whole night.", "Cuántos envases se usaron en la noche."),
    "size_1": ("How much is in one jug, if it is known.", "Cuánto cabe en un envase, si se sabe."),
    "size_2": ("How much is in one jug, if it is known.", "Cuánto cabe en un envase, si se sabe."),
    "sock": ("The box that is ticked.", "La casilla marcada."),
    "cartridges": ("The box that is ticked.", "La casilla marcada."),
    "rain": ("The box that is ticked.", "La casilla marcada."),
    "remark": ("As it was written.", "Como se escribió."),
    "keyed_by": ("Your name.", "Su nombre."),
    "site": (
        "The site's name. Written again on the next line after a full tank, it is the same stop, continued.",
        "El nombre del sitio. Escrito otra vez en la línea siguiente tras un tanque lleno, es la misma parada, sigue.",
    ),
    "not_worked": (
        "The reason; an x where only the box is ticked.",
        "La razón; una x si solo está marcada la casilla.",
    ),
    "on_site": ("An x, or the answer.", "Una x, o la respuesta."),
    "work": ("An x, or the answer.", "Una x, o la respuesta."),
    "covers": ("An x, or the answer.", "Una x, o la respuesta."),
    "drains": (
        "The box that is ticked; two ticks: leave blank and ask the lead.",
        "La casilla marcada; si hay dos: en blanco, y pregunte a quien dirigió.",
    ),
    "tank_filled": ("How many strokes.", "Cuántas rayas."),
    "got_away": (
        "The box that is ticked; two ticks: leave blank and ask the lead.",
        "La casilla marcada; si hay dos: en blanco, y pregunte a quien dirigió.",
    ),
    "mark": ("Inches on the tank after this stop.", "Pulgadas en el tanque después de esta parada."),
    "n": ("The number of the stop on the card.", "El número de la parada en la hoja."),
}
"""Key of a column -> what it takes (English, Spanish)."""

_FIRST: Final = (
    (
        "One row a card on the first sheet, one row a stop on the second; both have the serial of the card.",
        "Una fila por hoja en la primera página, una fila por parada en la segunda; las dos con el número de la hoja.",
    ),
    (
        "What is blank on the card stays blank here: it is not recorded yet. 0 is a figure.",
        "Lo que está en blanco en la hoja queda en blanco aquí: todavía sin anotar. 0 es una cifra.",
    ),
    (
        "Then: washwater import THIS-FILE. Nothing is written before you have seen what it found.",
        "Después: washwater import ESTE-ARCHIVO. Nada se escribe antes de que usted vea lo que encontró.",
    ),
)


def help_of(ask: Ask, language: Language) -> str:
    """What a column takes. KeyError for a column without help."""
    return HELP[ask.key][("en", "es").index(language)]


def sheet_lines(language: Language, heading: Callable[[Ask], str]) -> Iterator[tuple[str, str, bool]]:
    """The help sheet: (left, right, whether the left is a title)."""
    at = ("en", "es").index(language)
    for line in _FIRST:
        yield "", line[at], False
    for title, asks in ((("nights", "noches"), NIGHT), (("stops", "paradas"), STOP)):
        yield title[at], "", True
        for ask in asks:
            yield heading(ask), help_of(ask, language), False
