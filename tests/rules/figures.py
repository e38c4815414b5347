"""Figures as the calculator would have made them, to be put into the clean night."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from compliance.water.ratio import Ratio
from compliance.water.results import How, Known, Line
from compliance.water.volume import Figure, Unknown, Volume

RUN = "2026-09-14-big-blue"
LOAD = f"{RUN}.l1"
D = Decimal


def about(x: str, plus_minus: str = "0") -> Volume:
    """x ± plus_minus, as the calculator would have measured it."""
    half = D(plus_minus) / 2
    return Volume(D(x), D(x), {"cal:m": half} if half else {})


def stated(x: str) -> Volume:
    return Volume(D(x), D(x), unstated=frozenset({"declared"}))


UNREAD = Unknown("nobody looked", "not read")


def known(figure: Figure, method: str = "meter") -> Known:
    return Known(figure, How(method, lines=(Line("r", "1"),)))


def ratio(value: str, low: str, high: str, kind: Any = "measured") -> Ratio:
    return Ratio(D(value), D(low), D(high), kind)
