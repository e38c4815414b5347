"""The columns that old books have, and the words that stand over them, in English and Spanish.

A heading is compared word by word, whole, in any order, without filling words ('Meter reading at start' is 'start
meter reading'); nothing is recognised because it looks alike. What is not recognised is left aside and named, and a
mapping file says what it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import cache
from itertools import product
from typing import Final

from compliance.records.fields import field
from compliance.records.names import folded
from compliance.records.quantity import UNITS, VOLUME, unit_named
from compliance.records.quick import dataclass

DAY, NAME, ID, VOLUME_OF, REGISTER, LEVEL, REMARK = "day", "name", "id", "volume", "register", "level", "remark"
"""How the cells of a column are read."""

NOT_USED: Final = "not used"
"""What a mapping says of a column that is left aside."""


@dataclass(frozen=True)
class Column:
    """One column that an old book may have. name: its key in a mapping and in a record; reads: how its cells are read.

    like: (group, field) of the field table whose labels are headings too; None where the table has no such field.
    """

    name: str
    reads: str
    like: tuple[str, str] | None = None


COLUMNS: Final = (
    Column("date", DAY, ("run", "date")),
    Column("rig", NAME, ("run", "rig")),
    Column("lead", NAME, ("run", "lead")),
    Column("client", NAME, ("stop", "client")),
    Column("site", NAME, ("stop", "site")),
    Column("job", ID, ("stop", "job")),
    Column("used", VOLUME_OF, ("run", "used")),
    Column("recovered", VOLUME_OF, ("run", "recovered")),
    Column("meter_start", REGISTER),
    Column("meter_end", REGISTER),
    Column("tank_start", LEVEL),
    Column("tank_end", LEVEL),
    Column("destination", NAME, ("run", "where")),
    Column("ticket", ID, ("hand over", "ticket")),
    Column("accepted", VOLUME_OF, ("hand over", "accepted")),
    Column("remarks", REMARK, ("run", "remark")),
)
BY_NAME: Final[Mapping[str, Column]] = {column.name: column for column in COLUMNS}

_FILLING: Final = frozenset((
    "a", "agua", "al", "an", "and", "at", "de", "del", "el", "en", "for", "la", "las", "lavado", "los", "no", "num",
    "numero", "number", "of", "on", "que", "se", "the", "total", "to", "un", "una", "wash", "water", "y", "amount",
    "cantidad", "qty", "quantity", "vol", "volume", "volumen",
))  # fmt: skip
_UNIT_WORDS: Final = frozenset((
    "gal", "gals", "gallon", "gallons", "galon", "galones", "gls", "litre", "litres", "liter", "liters", "litro",
    "litros", "l", "lt", "lts", "ltr", "ltrs", "inch", "inches", "pulgada", "pulgadas", "pulg", "m3", "ft3",
))  # fmt: skip
_UNIT_AS_WRITTEN: Final = {"gls": "gal", "galon": "gal", "l": "L", "lt": "L", "lts": "L", "ltr": "L", "ltrs": "L"}

_WORDS: Final[Mapping[str, str]] = {
    "date": "date; when; work date; service date; job date; date worked; date washed; date service; fecha;"
            " fecha trabajo; fecha servicio; fecha salida; dia",
    "rig": "rig; truck; trailer; vehicle; rig name; truck trailer; rig truck; camion; troca; remolque; camion remolque;"
           " vehiculo",
    "lead": "lead; crew lead; crew leader; foreman; operator; driver; tech; technician; done by; washed by; encargado;"
            " encargada; operador; operadora; chofer; responsable; jefe cuadrilla",
    "client": "client; customer; cust; account; client name; customer name; cliente; nombre cliente",
    "site": "site; location; loc; property; job site; address; store; site name; sitio; ubicacion; propiedad;"
            " direccion; tienda",
    "job": "job; job name; job id; work order; wo; order; project; trabajo; orden; orden trabajo; proyecto",
    "used": "used; applied; fresh; fresh used; drawn; consumed; clean used; usada; usado; usados; utilizada; utilizado;"
            " utilizados; consumida; consumidos; gastada; gastados; limpia usada; limpia utilizada",
    "recovered": "recovered; recov; reclaimed; captured; collected; vacuumed; vacuumed up; picked up; waste recovered;"
                 " recuperada; recup; recuperado; recuperados; recogida; recogidos; aspirada; aspirados; captada;"
                 " recolectada",
    "destination": "destination; disposal; disposal site; disposal location; dump; dump site; dump location; dumped;"
                   " where dumped; where disposed; disposed; where went; where it went; went;"
                   " taken; taken where; hauled; hauled where; delivered; handed over; discharge"
                   " point; discharge location; dest; destino; entrega; entregada; donde entrego; lugar entrega;"
                   " lugar descarga; donde descargo; donde tiro; tirada; tiradero; descarga; descargado; descargada;"
                   " descargado donde; donde fue; donde llevo; llevada; llevado",
    "ticket": "ticket; tickets; tkt; tkts; slip; receipt; manifest; dump ticket; load ticket; disposal ticket; bol;"
              " recibo; boleta; boleto; comprobante; manifiesto; folio; nota entrega",
    "accepted": "accepted; accepted by them; accepted by station; aceptada; aceptado; aceptados; aceptado por ellos",
    "remarks": "remarks; remark; obs; notes; note; comments; comment; observaciones; observacion; notas; nota;"
               " comentarios; comentario",
}  # fmt: skip
_WITH_A_UNIT: Final[Mapping[str, str]] = {
    "accepted": "ticket; receipt; manifest; recibo; boleta; boleto; manifiesto; received; recibida; recibidos"
}
"""Over a column of volumes these words mean something else: 'ticket (gal)' is no number of a ticket."""

_BELOW: Final = frozenset((
    "day", "dd", "mm", "yy", "yyyy", "d", "m", "y", "mo", "mdy", "dmy", "dia", "mes", "name", "nombre", "where",
    "donde", "place", "lugar", "who", "quien", "id",
))  # fmt: skip
"""What the lower of two headings may say without making another column of the upper one: 'Date / mm/dd'."""
_ABOVE: Final = frozenset((
    "job", "jobs", "work", "service", "info", "information", "details", "detail", "data", "general", "night", "tonight",
    "trabajo", "trabajos", "servicio", "datos", "informacion", "detalles", "detalle", "noche", *_FILLING,
))  # fmt: skip
"""What the upper of two headings may say over columns of any kind: 'Job info / Client'."""

_METERS: Final = "meter; meter reading; reading; medidor; lectura medidor; lectura; contador; lectura contador"
_TANKS: Final = (
    "tank; tank mark; tank level; level; mark; stick; dip; tank stick; recovery tank; tank reading; tanque; nivel;"
    " marca; nivel tanque; marca tanque; tanque recuperacion; regla"
)
_STARTS: Final = (
    "start; started; beg; begin; beginning; before; opening; initial; first; inicio; inicial; antes; comienzo"
)
_ENDS: Final = "end; ended; ending; finish; final; after; closing; last; stop; fin; despues; termino; termina"


def _phrases(text: str) -> list[str]:
    return [phrase.strip() for phrase in text.split(";")]


def _known() -> dict[tuple[str, ...], str]:
    found: dict[tuple[str, ...], str] = {}
    for name, text in _WORDS.items():
        row = field(*like) if (like := BY_NAME[name].like) else None
        labels = [" ".join(_split(label)) for label in (row.en, row.es)] if row else []
        for phrase in [*_phrases(text), *labels]:
            found[_key(phrase)] = name
    for name, things in (("meter", _METERS), ("tank", _TANKS)):
        for end, words in (("start", _STARTS), ("end", _ENDS)):
            for thing, word in product(_phrases(things), _phrases(words)):
                found[_key(f"{thing} {word}")] = f"{name}_{end}"
                if name == "tank":  # 'Tank in. before'; a lone 'in' elsewhere may be water that went in
                    found[_key(f"{thing} in {word}")] = f"{name}_{end}"
    for end, words in (("start", _STARTS), ("end", _ENDS)):
        for word in _phrases(words):
            found[_key(f"inches {word}", keep_units=True)] = f"tank_{end}"
            found[_key(f"pulgadas {word}", keep_units=True)] = f"tank_{end}"
    return found


def _key(phrase: str, *, keep_units: bool = False) -> tuple[str, ...]:
    words = [word for word in phrase.split() if word not in _FILLING]
    return tuple(sorted({word for word in words if keep_units or word not in _UNIT_WORDS}))


UNDER: Final = " / "
"""Between the upper and the lower of two headings."""
_LONGEST: Final = 80
_IN_BRACKETS: Final = re.compile(r"[(\[]\s*([^)\]]*?)\s*[)\]]")
_BETWEEN: Final = re.compile(r"[^\w]+")


@cache
def recognised(heading: str) -> str:
    """The name of the column that a heading stands over, '' when it is not known."""
    if not heading or len(heading) > _LONGEST:
        return ""
    words = _split(heading)
    unit = unit_in(heading)
    if unit and UNITS[unit][0] == VOLUME and (key := _key(" ".join(words))) in _KNOWN_WITH_A_UNIT:
        return _KNOWN_WITH_A_UNIT[key]
    for keep_units in (True, False):
        name = _KNOWN.get(_key(" ".join(words), keep_units=keep_units), "")
        if name:
            return name if _may_carry(name, unit) else ""
    return ""


@cache
def half_recognised(heading: str) -> str:
    """The name of the column over which two headings stand, one above the other, of which one alone is known.

    The other has to say nothing that could make another column of it; 'Date / paid' is not known.
    """
    above, stroke, below = heading.partition(UNDER)
    if not stroke:
        return ""
    if _only(below, _BELOW):
        return recognised(above)
    return recognised(below) if _only(above, _ABOVE) else ""


def _only(heading: str, words: frozenset[str]) -> bool:
    return all(word in words for word in _split(heading[:_LONGEST]))


def _may_carry(name: str, unit: str) -> bool:
    """Whether a column can be counted in that unit: 'client (gal)' is something else."""
    reads = BY_NAME[name].reads
    if not unit or reads == REGISTER:
        return True
    dimension = UNITS[unit][0]
    return dimension == VOLUME if reads == VOLUME_OF else reads == LEVEL and dimension in (VOLUME, "length")


@cache
def unit_in(heading: str) -> str:
    """The unit that a heading names, as the units are spelled here; '' when it names none."""
    if len(heading) > _LONGEST:
        return ""
    for inside in _IN_BRACKETS.findall(heading):
        found = unit_named(inside.rstrip("."))
        if found is not None and found != "count":
            return found
    for word in _split(heading):
        if word in _UNIT_WORDS:
            return _UNIT_AS_WRITTEN.get(word) or unit_named(word) or ("in" if word.startswith("pulg") else "")
    return ""


def _split(heading: str) -> list[str]:
    """The words of a heading, without those in brackets that only name a unit."""
    bare = _IN_BRACKETS.sub(lambda m: " " if unit_named(m[1].rstrip(".")) else f" {m[1]} ", heading)
    return [word for word in _BETWEEN.split(folded(bare)) if word]


_OF_UNITS: Final = frozenset(
    ("unit", "units", "uom", "u m", "unit of measure", "unidad", "unidades", "unidad de medida")
)


def names_units(heading: str) -> bool:
    """Whether a column says row by row in which unit the figures beside it are."""
    return len(heading) <= _LONGEST and " ".join(_split(heading)) in _OF_UNITS


def known_headings(texts: Iterable[str]) -> int:
    """How many different columns are recognised in a row of texts."""
    return len({name for text in texts if (name := recognised(" ".join(text.split()))) != ""})


_KNOWN: Final = _known()
_KNOWN_WITH_A_UNIT: Final = {_key(p): name for name, text in _WITH_A_UNIT.items() for p in _phrases(text)}
