"""The words of the card and of the keying workbook that are no label of a field: Spanish first, as on the card.

Terms follow docs/spanish.md: usted in every instruction, answers in the first person, a form is handed in to the
office ('entregada a la oficina'), water is 'entregada' to a place.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, tuple[str, str]]] = {
    # key: (es, en)
    "title": ("Hoja de la noche", "Night card"),
    "how": (
        "Una hoja por camión y por noche. Marque ☒ lo que es cierto; lo demás, en blanco: lo completa la oficina.",
        "One card per rig and night. Tick ☒ what is so; leave the rest blank: the office completes it.",
    ),
    "gloss": (
        "Desagüe pluvial: el de la lluvia (coladera, tragante), no el de aguas negras.",
        "Storm drain: for rain, not sewage.",
    ),
    "code points": (
        "[U+...]: carácter que no se imprime, por su número en Unicode.",
        "A character not printed, by its Unicode number.",
    ),
    "drains": ("Desagües pluviales", "Storm drains"),
    "at start": ("al salir", "at start"),
    "now": ("ahora", "now"),
    "handed over at": ("o entregada en", "or handed over at"),
    "filled": ("Se llenó +1", "tank filled +1"),
    "number": ("núm.", "no."),
    "end of the night": ("Al final de la noche", "End of the night"),
    "cautions": ("Cuidado", "Mind this"),
    "cautions why": (
        "Cada aviso nombra un peligro y remite a quien decide; no es una instrucción de trabajo.",
        "Each line names a danger and says who decides; none is an instruction for the work.",
    ),
    "left": ("Antes de irse: hoja entregada a la oficina.", "Before you leave: card handed in to the office."),
}
"""Key -> (Spanish, English)."""


def es(key: str) -> str:
    """A phrase in Spanish."""
    return WORDS[key][0]


def en(key: str) -> str:
    """A phrase in English."""
    return WORDS[key][1]
