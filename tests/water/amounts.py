"""Amounts of any kind, for laws that hold of every one."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import strategies as st

from compliance.water.volume import Volume, with_limits

D = Decimal
FIGURES = st.decimals(min_value=-9999, max_value=9999, places=2, allow_nan=False)


@st.composite
def volumes(draw: st.DrawFn) -> Volume:
    """Points, ranges and bounds with a few sources out of a small pool, so that they often share some."""
    ends = sorted((draw(FIGURES), draw(FIGURES)))
    low = ends[0] if draw(st.booleans()) else None
    high = draw(st.sampled_from((None, low if low is not None else ends[1], ends[1])))
    keys = draw(st.lists(st.sampled_from(["cal:a", "cal:b", "res:1", "res:2"]), unique=True, max_size=3))
    limits = with_limits(D(0), {key: draw(FIGURES) for key in keys})
    names = draw(st.frozensets(st.sampled_from(["foreman", "driver"]), max_size=1))
    return Volume(low, high, limits.parts, names)
