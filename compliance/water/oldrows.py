"""What the books from before say, summed as a block of its own: by month and client, stated, and never more than that.

Old rows are no runs. Nothing here is divided, mixed, compared or judged; a row that says nothing of an amount is
counted, never added as zero.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Final

from compliance.records.answer import NOT_RECORDED, NOT_YET, without_value
from compliance.records.kinds import OLD_METHOD
from compliance.records.quantity import stored
from compliance.records.quick import dataclass
from compliance.records.state import State
from compliance.records.views import OldRow
from compliance.water.volume import Volume, from_hundredths, hundredths, total

USED: Final = "used"
RECOVERED: Final = "recovered"


@dataclass(frozen=True)
class Stated:
    """One column of some rows, added up.

    sum: of the amounts that the rows state, in the unit of the book, without any ±; an exact zero where there are none.
    count: rows that state an amount. about: how many of these say 'about'. unknown: answer without a value -> rows.
    """

    sum: Volume
    count: int
    about: int
    unknown: Mapping[str, int]


@dataclass(frozen=True)
class OldTotal:
    """The rows of one client in one month. month: '2021-09'; client: '' where the file names none."""

    month: str
    client: str
    rows: int
    used: Stated
    recovered: Stated


def old_totals(state: State, first: str, last: str, client: str | None = None) -> tuple[OldTotal, ...]:
    """Stated totals of the old rows from day `first` to day `last`, both included, by month and client.

    first, last: dates, YYYY-MM-DD. client: only this one, in any spelling that the registers join; '' for rows that
    name none. In order of month, then of the client's name.
    """
    registers = state.registers
    wanted = None if client is None else registers.key("client", client)
    groups: dict[tuple[str, str], list[OldRow]] = {}
    for row in state.old_rows:
        key = registers.key("client", client_of(state, row))
        if first <= row.day <= last and wanted in (None, key):
            groups.setdefault((row.day[:7], key), []).append(row)
    found = [
        OldTotal(
            month,
            registers.name("client", client_of(state, rows[0])),
            len(rows),
            _stated((row.get(USED) for row in rows), state.unit),
            _stated((row.get(RECOVERED) for row in rows), state.unit),
        )
        for (month, _), rows in groups.items()
    ]
    return tuple(sorted(found, key=lambda one: (one.month, one.client.casefold())))


def client_of(state: State, row: OldRow) -> str:
    """Whose work a row is: the client it names, else that of its site on the register; '' when nobody can say."""
    client = row.get("client")
    if without_value(client) is None:
        return str(client)
    site = state.registers.find("site", row.get("site"))
    return "" if site is None else str(site.get("client", ""))


def _stated(values: Iterable[str | None], unit: str) -> Stated:
    unknown: Counter[str] = Counter()
    volumes: list[Volume] = []
    about = 0
    for value in values:
        kind = without_value(value)
        if kind is not None:
            unknown[NOT_RECORDED if kind == NOT_YET else kind] += 1
            continue
        quantity = stored(str(value))
        about += quantity.about
        there = quantity.in_unit(unit)
        volumes.append(Volume(_kept(there.low), _kept(there.high), unstated=frozenset({OLD_METHOD})))
    return Stated(total(volumes), len(volumes), about, dict(unknown))


def _kept(end: Decimal | None) -> Decimal | None:
    return None if end is None else from_hundredths(hundredths(end))
