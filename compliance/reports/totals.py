"""Totals for the month and client summaries: what was measured, stated and worked out is summed apart, never together.

pandas groups and pivots; the figures in its cells stay volumes with their sources, or whole hundredths, so that a sum
carries its correlations and is exact. It is imported only where a frame is made.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from compliance.reports.model import NO_ANSWER, Cell, Column, Series, Table
from compliance.reports.numbers import column_cell, hundredths_text, mark
from compliance.reports.words import Words
from compliance.water.volume import Figure, Unknown, Volume, from_hundredths, in_hundredths, total

KINDS = ("measured", "stated", "worked_out", "bounds")
"""The ways in which a figure is known, each with a column of its own."""

_KIND_OF_MARK = {
    "": "measured",
    "mark.none": "stated",
    "mark.stated": "stated",
    "mark.partly_stated": "stated",
    "mark.worked_out": "worked_out",
    "mark.partly": "worked_out",
}


@dataclass(frozen=True)
class Split:
    """Figures summed by how they are known. sums: kind -> sum; counts: kind -> how many; silent: no figure, by kind."""

    sums: Mapping[str, Volume]
    counts: Mapping[str, int]
    silent: Mapping[str, int]


def kind_of(volume: Volume) -> str:
    """Which of `KINDS` a figure belongs to."""
    return _KIND_OF_MARK[mark(volume)] if volume.is_point else "bounds"


def split(figures: Iterable[Figure]) -> Split:
    """Sum figures by how they are known; an answer without a value is counted, never added."""
    found: dict[str, list[Volume]] = {}
    silent: Counter[str] = Counter()
    for figure in figures:
        if isinstance(figure, Unknown):
            silent[figure.kind] += 1
        else:
            found.setdefault(kind_of(figure), []).append(figure)
    return Split(
        {kind: total(volumes) for kind, volumes in found.items()},
        {kind: len(volumes) for kind, volumes in found.items()},
        dict(silent),
    )


def columns(words: Words, unit: str, kinds: Sequence[str] = KINDS, prefix: str = "") -> tuple[Column, ...]:
    """The columns of a split; the last says what has no figure. prefix: what they are of, where that is not plain."""
    heads = [words(f"split.{kind}") for kind in (*kinds, "silent")]
    if prefix:
        heads = [words("split.of", what=prefix, kind=head) for head in heads]
    made = [
        Column(head, "right", 4) if kind == "bounds" else Column(head, "right", 4, True, unit)
        for head, kind in zip(heads[:-1], kinds, strict=True)
    ]
    return (*made, Column(heads[-1], width=4))


def cells(one: Split, words: Words, unit: str, kinds: Sequence[str] = KINDS) -> tuple[Cell, ...]:
    """One row of a split, under `columns`."""
    found = []
    for kind in kinds:
        if kind not in one.sums:
            found.append(NO_ANSWER)
        elif kind == "worked_out":
            found.append(_share(one.sums[kind], unit))
        elif kind == "bounds":
            found.append(Cell(f"{column_cell(one.sums[kind], unit, words).text} {unit}"))
        else:
            found.append(column_cell(one.sums[kind], unit, words))
    silent = ", ".join(words("split.count", n=n, kind=words.unknown(kind)) for kind, n in one.silent.items())
    return (*found, Cell(silent or "–", tone="muted"))


def text(one: Split, words: Words, unit: str) -> str:
    """A split in one line: '5,120 ± 44 gal, measured; 280 gal, no ±; 2 not read'."""
    told = [
        words("split.of", what=cell.text if kind == "bounds" else f"{cell.text} {unit}", kind=words(f"split.{kind}"))
        for kind, cell in zip(KINDS, cells(one, words, unit), strict=False)
        if kind in one.sums
    ]
    silent = cells(one, words, unit)[-1].text if one.silent else ""
    return "; ".join([*told, *([silent] if silent else [])]) or "–"


def _share(volume: Volume, unit: str) -> Cell:
    """A sum of shares: its digits to the hundredth, without any ±."""
    exact = in_hundredths(volume) or 0
    return Cell(hundredths_text(exact, unit).removesuffix(f" {unit}"), str(from_hundredths(exact)), unit)


def kinds_in(splits: Iterable[Split]) -> tuple[str, ...]:
    """The kinds that occur at all, in their order; 'measured' always."""
    seen = {kind for one in splits for kind in one.sums}
    return tuple(kind for kind in KINDS if kind in seen or kind == "measured")


# ---- frames --------------------------------------------------------------------------------------------------


def frame(rows: Sequence[Mapping[str, Any]], names: Sequence[str]) -> Any:
    """Rows as a data frame with these columns; figures are kept as the objects that they are."""
    import pandas

    return pandas.DataFrame({name: pandas.Series([row[name] for row in rows], dtype=object) for name in names})


def groups(data: Any, key: str) -> Iterator[tuple[str, Any]]:
    """(name, rows) for each value of a column, in the order of the names as people sort them."""
    if len(data):
        yield from sorted(data.groupby(key, sort=False), key=lambda group: str(group[0]).casefold())


def pivot(rows: Sequence[tuple[str, str, int]], labels: Sequence[str]) -> Mapping[str, Sequence[int]]:
    """(label, name, hundredths) rows summed into name -> one sum a label, names with the largest sum first."""
    import pandas

    data = pandas.DataFrame(rows, columns=["label", "name", "amount"])
    if data.empty:
        return {}
    table = data.pivot_table(index="name", columns="label", values="amount", aggfunc="sum", fill_value=0)
    table = table.reindex(columns=list(labels), fill_value=0)
    order = table.sum(axis="columns").sort_values(ascending=False, kind="stable").index
    return {str(name): [int(amount) for amount in table.loc[name]] for name in order}


def group_table(
    data: Any,
    key: str,
    label: str,
    measures: Sequence[tuple[str, str]],
    words: Words,
    unit: str,
    *,
    count: str,
    besides: Sequence[tuple[str, str, Iterable[Figure]]] = (),
) -> Table:
    """A row a group and measure: how many, then the measure split by how it is known.

    measures: (column of the frame, its name in the row). count: the heading of the count. besides: (name, measure,
    figures) of what is of no group; it comes last, so that the rows add up to the whole.
    """
    found: list[tuple[str, int | None, str, Split]] = [
        (name, len(rows), heading, split(rows[column]))
        for name, rows in groups(data, key)
        for column, heading in measures
    ]
    found += [(name, None, heading, split(figures)) for name, heading, figures in besides]
    kinds = kinds_in(one for *_, one in found)
    heads = (Column(label, width=6), Column(count, "right", 2, True), Column(words("split.what"), width=4))
    rows = [(Cell(name), _count(n), Cell(heading), *cells(one, words, unit, kinds)) for name, n, heading, one in found]
    return Table((*heads, *columns(words, unit, kinds)), tuple(rows))


def _count(n: int | None) -> Cell:
    return NO_ANSWER if n is None else Cell(str(n), str(n))


def series(table: Mapping[str, Sequence[int]], unit: str, most: int, rest: str) -> tuple[Series, ...]:
    """A pivot as the series of a stacked chart; names beyond `most` are drawn together under `rest`."""
    names = list(table)
    made = [(name, list(table[name])) for name in names[:most]]
    if len(names) > most:
        made.append((rest, [sum(table[name][at] for name in names[most:]) for at in range(len(table[names[0]]))]))
    return tuple(
        Series(name, tuple(Cell(hundredths_text(a, unit), str(from_hundredths(a)), unit) for a in amounts))
        for name, amounts in made
    )
