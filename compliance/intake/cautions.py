"""What to mind for one's own sake, shown where the danger is entered. One table, both languages.

Hazards are named, not managed: each line defers to the data sheet, the local code or a licensed practice. Spanish
phrases and their sources: docs/spanish.md, section 3. Bleach with acids or ammonia sets free toxic gas (health
ministries and consumer offices say so in the same words); 1978: EPA's lead guidance; tanks: OSHA's confined-space
teaching; exhaust: the joint NIOSH, OSHA and EPA alert 96-118. Hot water and vehicles: common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, Final

from compliance.records.names import folded
from compliance.records.quick import dataclass
from compliance.records.registers import Registers

LOOKED_THROUGH: Final = 2_000
"""Characters of one text in which words of danger are looked for."""

Lines = Sequence[Mapping[str, Any]]


@dataclass(frozen=True)
class Danger:
    """What an entry says that bears on somebody's safety.

    agents: kinds of agent named, '' for one on no register. ground: what was washed and remarked, folded; place: that
    and the names of the sites, in which a street is an address and no danger.
    """

    agents: frozenset[str]
    lines: Lines
    ground: str
    place: str
    run: Mapping[str, Any]

    def any(self, kind: str, name: str, *values: str) -> bool:
        """Whether a field of a kind of line ('' for any) has one of these values."""
        return any(kind in ("", line["line"]) and line["fields"].get(name) in values for line in self.lines)

    def marks(self) -> bool:
        """Whether a volume was learned from the marks of a tank."""
        tables = (self.run, *(line["fields"] for line in self.lines))
        values = (value for table in tables for value in table.values())
        return any(isinstance(value, Mapping) and value.get("method") == "mark" for value in values)

    def has(self, *kinds: str) -> bool:
        """Whether there is a line of one of these kinds."""
        return any(line["line"] in kinds for line in self.lines)


@dataclass(frozen=True)
class Caution:
    """One danger: how it is seen in an entry, and what is said in each language."""

    name: str
    seen: Callable[[Danger], bool]
    en: str
    es: str

    def text(self, language: str) -> str:
        """In 'en' or 'es'."""
        return self.es if language == "es" else self.en


_INDOORS = re.compile(r"\b(garage|indoors?|inside|basement|parking structure|warehouse|tunnel|cochera|sotano|adentro"
                      r"|bodega|tunel|estacionamiento techado)\b")  # fmt: skip
_VEHICLES = re.compile(r"\b(street|road|alley|drive-?thr(u|ough)|parking|curb|sidewalk|calle|banqueta|acera"
                       r"|estacionamiento|callejon)\b")  # fmt: skip

TABLE: Final = (
    Caution(
        "bleach and acid",
        lambda d: bool(d.agents & {"bleach", "acid"}),
        "NEVER let bleach meet acid, ammonia or another cleaner, in a bucket and in the tank too: the gas can kill. "
        "No bleach with hot water. Go by the data sheets.",
        "NUNCA mezcle cloro con ácido, amoníaco ni otro limpiador, tampoco en la cubeta ni en el tanque: sale un gas "
        "que puede matar. No use cloro con agua caliente. Siga las hojas de datos de seguridad (HDS).",
    ),
    Caution(
        "unknown product",
        lambda d: "" in d.agents,
        "A product without a data sheet on file: read its data sheet first. If there is none, do not use it.",
        "Lea la hoja de datos de seguridad. Si no está, no use el producto.",
    ),
    Caution(
        "old paint",
        lambda d: d.any("stop", "old_paint", "yes", "not known"),
        "Paint from before 1978 may hold lead. Do not wash it: ask first. A licensed inspector and the local code "
        "decide.",
        "La pintura de antes de 1978 puede tener plomo. No la lave: pregunte primero. Deciden un inspector con "
        "licencia y el código local.",
    ),
    Caution(
        "hot water",
        lambda d: d.any("stop", "hot", "yes"),
        "Hot water burns and the jet cuts. Let the pressure off and let it cool before a coupling is opened. Never "
        "aim at anyone. Follow the maker's manual.",
        "El agua caliente quema y el chorro corta. Suelte la presión y deje enfriar antes de desconectar. No apunte a "
        "nadie. Siga el manual del fabricante.",
    ),
    Caution(
        "tank",
        lambda d: d.has("reading", "solids", "tank full") or d.marks(),
        "Read tanks from outside. NEVER go in or lean in, even if someone has fallen in: call 911. Entry is work for "
        "trained people under the confined-space code.",
        "Lea el tanque desde afuera. NUNCA entre al tanque ni meta la cabeza, aunque alguien haya caído adentro. Llame "
        "al 911. Entrar es trabajo de personal capacitado, según el código de espacios confinados.",
    ),
    Caution(
        "exhaust",
        lambda d: bool(_INDOORS.search(d.place)),
        "Engine exhaust holds carbon monoxide: it has no smell and it kills. Never run an engine in a closed or "
        "half-closed place. The local code decides what may run there.",
        "El humo del motor trae monóxido de carbono: no huele y mata. No prenda el motor en un lugar cerrado o medio "
        "cerrado. El código local decide qué motor puede usarse ahí.",
    ),
    Caution(
        "traffic",
        lambda d: (
            bool(_VEHICLES.search(d.ground)) or d.any("escape", "reached", "gutter or street") or _public(d.lines)
        ),
        "Mind the vehicles: vest on and cones out before you start. Closing a lane needs leave under the local code.",
        "Cuidado con los vehículos. Póngase el chaleco y ponga los conos antes de empezar. Para cerrar un carril hace "
        "falta permiso según el código local.",
    ),
    Caution(
        "escape",
        lambda d: d.has("escape") or d.run.get("got_away") == "yes" or d.any("", "got_away", "yes"),
        "Water got away: STOP. CONTAIN it with a barrier. CALL the office; in an emergency 911. Whom else to tell "
        "stands in the local code and the permit.",
        "Se escapó agua: PARE. CONTENGA (ponga una barrera). LLAME a la oficina; en una emergencia, al 911. A quién "
        "más avisar está en el código local y en el permiso.",
    ),
)


def cautions_for(
    run: Mapping[str, Any], lines: Lines, registers: Registers, language: str, only: frozenset[str] | None = None
) -> tuple[str, ...]:
    """The cautions that an entry calls for, each once, in the order of the table. only: names to choose from."""
    ground = list(_texts(run, lines, "surface", "remark", "text"))
    place = [*ground, *_texts({}, lines, "site")]
    danger = Danger(frozenset(_agent_kinds(lines, registers)), lines, _folded(ground), _folded(place), run)
    return tuple(c.text(language) for c in TABLE if (only is None or c.name in only) and c.seen(danger))


def _agent_kinds(lines: Lines, registers: Registers) -> Iterator[str]:
    for line in lines:
        fields = line["fields"]
        named = [fields["agent"]] if "agent" in fields else [use.get("agent", "") for use in fields.get("agents", ())]
        for name in named:
            yield agent_kind(str(name), registers)


def agent_kind(name: str, registers: Registers) -> str:
    """The kind of a product: by its register, or plain from its own words; '' when neither tells."""
    entry = registers.find("agent", name)
    if entry is not None and "kind" in entry:
        return str(entry["kind"]) if entry.get("data_sheet") != "no" or entry["kind"] in ("bleach", "acid") else ""
    plain = folded(name)
    if re.search(r"\b(bleach|hypochlorite|cloro|hipoclorito|blanqueador|lejia)\b", plain):
        return "bleach"
    return "acid" if re.search(r"\b(acid|acido|muriatic|muriatico)\b", plain) else ""


def _public(lines: Lines) -> bool:
    return any(drain.get("public") == "yes" for line in lines for drain in line["fields"].get("drain_list", ()))


def _texts(run: Mapping[str, Any], lines: Lines, *names: str) -> Iterator[str]:
    for fields in (run, *(line["fields"] for line in lines)):
        yield from (str(fields[name]) for name in names if name in fields)


def _folded(texts: Sequence[str]) -> str:
    return folded(" ; ".join(text[:LOOKED_THROUGH] for text in texts))
