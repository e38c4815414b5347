"""How a reader can check a proof: the sizes of the tanks, what the instruments and floats state, how a ± is made."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from compliance.records.fields import TANK_SIZES
from compliance.records.measure import METHODS
from compliance.records.views import Fields
from compliance.reports.awaited import own_lines, own_runs
from compliance.reports.model import Block, Bullets
from compliance.reports.numbers import answered
from compliance.reports.refs import Source
from compliance.reports.values import value_text
from compliance.water.results import JobFacts, Line

SHOW_COMMAND: Final = "washwater verify --page FILE"
"""What the contractor runs to say whether a file is a page of its book."""
_SIZES: Final = (*TANK_SIZES, "mark_step", "accuracy")
_TO_THE_FLOAT: Final = ("capacity", "float_repeat", "accuracy")
_MEASURES_BY: Final = {
    "meter": ("accuracy", "step"), "scale": ("accuracy", "step"), "flow test": ("rate", "accuracy"),
    "vessel": ("size", "accuracy"),
}  # fmt: skip
"""Kind of instrument -> what a figure of it and its ± are made of, besides what was read."""


def blocks(source: Source, job: JobFacts, number: str) -> list[Block]:
    """What to redo, with the sizes and limits of all that measured, and what a page does not show. number: its own."""
    words = source.words
    name = str(source.state.business.get("name") or words("check.us"))
    return [
        Bullets(
            (
                words("check.sums"),
                *_tanks(source, job),
                *_floats(source, job),
                *_instruments(source, job),
                words("check.plus_minus"),
                words("check.film"),
                words("check.readings"),
                words("check.page", business=name, command=SHOW_COMMAND, number=number or words("number.preview")),
                words("check.shows"),
                words("check.not"),
            )
        )
    ]


def _tanks(source: Source, job: JobFacts) -> Iterable[str]:
    """The sizes of each tank in which marks were read, as its register has them."""
    words = source.words
    names = [load.tank for stop in job.stops for load in source.loads_by_stop.get(stop.ref, ())]
    for name in dict.fromkeys(names):
        entry = source.state.registers.find("tank", name) or {}
        if answered(entry.get("shape")):
            sizes = [value_text(source, "tank", "shape", entry["shape"])]
            for key in _SIZES:
                if answered(entry.get(key)):
                    sizes.append(f"{_in_a_row(words.label('tank', key))} {value_text(source, 'tank', key, entry[key])}")
            yield words(f"check.tank.{source.unit}", tank=name, sizes=", ".join(sizes))


def _floats(source: Source, job: JobFacts) -> Iterable[str]:
    """Each tank that was filled to its float, or seen full: what that holds, and what its ± is made of."""
    words, behind = source.words, _behind(source, job)
    said = [measure for fields in behind for measure in _measures(fields)]
    named = [str(one["tank"]) for one in said if one["method"] == "fills"]
    if _seen_full(source, job) or any("full" in values.values() for values in (*behind, *said)):
        named += [load.tank for stop in job.stops for load in source.loads_by_stop.get(stop.ref, ())]
    told = []
    for name in dict.fromkeys(named):
        if (entry := source.state.registers.find("tank", name)) is not None:
            by = [
                f"{_in_a_row(words.label('tank', key))} {value_text(source, 'tank', key, entry.get(key))}"
                for key in _TO_THE_FLOAT
            ]
            told.append(words("check.instrument", name=entry["name"], by="; ".join(by)))
    if told:
        yield words("check.float", tanks=", ".join(told))


def _instruments(source: Source, job: JobFacts) -> Iterable[str]:
    """Each instrument by which water of this job was measured, with what its figures are made of.

    A meter of somebody else's site is not named, though the run as a whole was measured by it.
    """
    words, sites = source.words, {stop.site for stop in job.stops}
    told = []
    for name in dict.fromkeys(_read_by(source, job)):
        entry = source.state.registers.find("instrument", name)
        if entry is not None and (not answered(entry.get("site")) or source.name("site", entry["site"]) in sites):
            by = [
                f"{_in_a_row(words.label('instrument', key))} {_stated(source, entry, key)}"
                for key in _MEASURES_BY[entry["kind"]]
            ]
            told.append(words("check.instrument", name=entry["name"], by="; ".join(by)))
    if told:
        yield words("check.instruments", instruments=", ".join(told))


def _in_a_row(label: str) -> str:
    """A label in the middle of a line."""
    return f"{label[0].lower()}{label[1:]}"


def _stated(source: Source, entry: Fields, key: str) -> str:
    """A value of an instrument in words; a bare step is in the unit of its register."""
    value = entry.get(key)
    text = value_text(source, "instrument", key, value)
    return f"{text} {entry['unit']}" if key == "step" and answered(value) and answered(entry.get("unit")) else text


def _read_by(source: Source, job: JobFacts) -> Iterable[str]:
    """The names of the instruments that the job's stops, its handovers, and the runs of both name."""
    for fields in _behind(source, job):
        if answered(fields.get("of")):
            yield str(fields["of"])
        for value in _measures(fields):
            refs = (key.name for key in METHODS[value["method"]] if key.holds == "ref")
            yield from (str(value[key]) for key in refs if key in value)


def _measures(fields: Fields) -> list[Mapping[str, Any]]:
    """The values that say by which method an amount was read."""
    return [one for one in fields.values() if isinstance(one, Mapping) and one.get("method") in METHODS]


def _behind(source: Source, job: JobFacts) -> list[Fields]:
    """What the lines of the job's stops, its handovers and its figures say, and the runs of all these."""
    where = _where(source, job)
    records = dict.fromkeys([*own_runs(job), *(one.record for one in where)])
    lines = [line for one in where if (line := source.line(one)) is not None]
    return [*(line.fields for line in lines), *(source.runs[one].fields for one in records)]


def _seen_full(source: Source, job: JobFacts) -> bool:
    return any((line := source.line(one)) is not None and line.kind == "tank full" for one in _where(source, job))


def _where(source: Source, job: JobFacts) -> list[Line]:
    figures = [figure for stop in job.stops for figure in (stop.used, stop.captured)]
    figures += [use.known for use in job.at_site]
    where = [*own_lines(source, job), *(line for figure in figures for line in figure.how.lines if line.record)]
    return list(dict.fromkeys(where))
